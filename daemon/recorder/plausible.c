/* plausible.c - what to think of the clock (recorder_private.h).
 *
 * A board without a clock chip starts in 1970, or at some odd date. Readings stamped then are
 * kept apart, and no day is closed, until the clock is believable again.
 */
#include "recorder/recorder_private.h"

#include <stdlib.h>

#include "base/log.h"

enum {
    STEP_LEAST_MS = 2000,       /* what a well-kept clock is never put right by at once */
    AHEAD_MOST_S = 400 * 86400, /* nobody leaves a studio alone for so long */
    DAY_MS = 86400000,
};

/* 2025-01-01: before this program was written. */
static const int64_t floor_s = 1735689600;
/* 2075-01-01: half a century later (project choice). */
static const int64_t ceiling_s = 3313526400;

static int64_t newest_s(const struct recorder *r)
{
    int64_t newest = r->open_day * CLOCK_DAY_S;
    for (size_t i = 0; i < r->roster->channel_count; i++)
        if (engine_last_s(r->engine, (int)i) > newest)
            newest = engine_last_s(r->engine, (int)i);
    return newest;
}

static void note_step(struct recorder *r, struct tick now)
{
    if (r->last_tick.utc_ms == 0)
        return;
    int64_t step_ms = (now.utc_ms - r->last_tick.utc_ms) - (now.mono_ms - r->last_tick.mono_ms);
    if (llabs(step_ms) < STEP_LEAST_MS)
        return;
    log_warn("the clock was put %s by %lld s", step_ms > 0 ? "forward" : "back",
             (long long)llabs(step_ms / 1000));
    r->batch.clock_step_ms += step_ms;
    r->batch.clock_step_s = clock_utc_s(now);
    for (size_t i = 0; step_ms > 0 && i < r->roster->channel_count; i++)
        r->channels[i].hole = GAP_CLOCK;
}

static bool kept(const struct recorder *r)
{
    return r->site->clock_trusted || !clock_kernel_unsynchronised();
}

bool plausible_date(const struct recorder *r, int64_t utc_s, int64_t newest_reading_s)
{
    if (utc_s < floor_s)
        return false; /* however much a site file trusts its clock */
    return kept(r) || (utc_s <= ceiling_s &&
                       (r->open_day == 0 || utc_s <= newest_reading_s + AHEAD_MOST_S));
}

/* Without a time server no day is ever closed and memory grows: said once a day until somebody
 * hears it. */
static void warn_of_held_days(struct recorder *r, struct tick now)
{
    int64_t over = clock_day_of(clock_utc_s(now)) - r->open_day;
    if (over < 1 || (r->held_said_ms != 0 && now.mono_ms < r->held_said_ms + DAY_MS))
        return;
    r->held_said_ms = now.mono_ms;
    log_warn("%lld days wait to be closed and signed, since nobody keeps this machine's clock "
             "right: let it reach a time server, or, if you keep it yourself, say clock = "
             "trusted under [studio]",
             (long long)over);
}

void plausible_clock(struct recorder *r, struct tick now)
{
    struct live_status *s = live_status_draft(r->live);
    int64_t utc_s = clock_utc_s(now);
    note_step(r, now);
    r->last_tick = now;
    bool before = s->clock == LIVE_CLOCK_IMPLAUSIBLE;
    if (!plausible_date(r, utc_s, newest_s(r)))
        s->clock = LIVE_CLOCK_IMPLAUSIBLE;
    else if (r->site->clock_trusted)
        s->clock = LIVE_CLOCK_TRUSTED;
    else
        s->clock = kept(r) ? LIVE_CLOCK_GOOD : LIVE_CLOCK_UNSYNCHRONISED;
    if (s->clock == LIVE_CLOCK_UNSYNCHRONISED)
        warn_of_held_days(r, now);
    if (s->clock == LIVE_CLOCK_IMPLAUSIBLE && !before)
        log_err(
            "the clock cannot be right: readings are kept apart until it is; set it, or let "
            "the machine reach a time server");
}
