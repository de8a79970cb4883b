/* closing.c - closes a day: day files, rollups, states, MANIFEST, signature
 * (recorder_private.h).
 *
 * The channels go first, some to a transaction, so that readings wait for moments only; they
 * may be written twice if the program ends in between. The last transaction alone moves the
 * open day on, and with it everything that a reader takes from closed days.
 */
#include "recorder/recorder_private.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/log.h"
#include "recorder/daybuf.h"
#include "recorder/quarters.h"
#include "store/dayfile.h"

enum {
    GRACE_S = 60, /* for what was measured before midnight and is still on its way */
    CHANNELS_A_TRANSACTION = 16,
    DAYS_A_STEP = 7, /* after a year switched off the queue must be drained in between */
};

struct closing {
    struct recorder *r;
    int64_t day, from_s, to_s;
    struct buf text, manifest;
};

/* A channel that fell silent without a word before midnight gets its gap before it is signed. */
static void note_holes(struct recorder *r, int64_t to_s)
{
    for (size_t i = 0; i < r->roster->channel_count; i++) {
        int64_t last_s = engine_last_s(r->engine, (int)i);
        int every_s = r->roster->channels[i].every_s;
        if (r->roster->channels[i].instrument < 0 || last_s == 0 || r->channels[i].gap_open ||
            2 * (to_s - last_s) <= 3 * every_s)
            continue;
        struct reading missing = {.gap = (uint8_t)r->channels[i].hole, .t_s = last_s + every_s};
        outage_failed(r, (int)i, &missing);
    }
}

static size_t day_text(struct closing *c, int channel)
{
    struct daybuf_cursor cursor;
    size_t n = 0;
    buf_clear(&c->text);
    daybuf_start(live_daybuf(c->r->live, channel), &cursor);
    while (daybuf_next(&cursor))
        if (cursor.t_s >= c->from_s && cursor.t_s < c->to_s) {
            dayfile_line(&c->text, cursor.t_s, cursor.value, cursor.flags);
            n++;
        }
    return n;
}

/* One step of one series: quarters of the day summed into buckets of that step. */
static enum rc put_rollup(struct closing *c, uint32_t series, unsigned step,
                          const struct quarters *q)
{
    int64_t t_s = 0, n = 0, sum = 0;
    int32_t min = 0, max = 0;
    enum rc rc = RC_OK;
    for (uint32_t i = 0; rc == RC_OK && i <= q->count; i++) {
        const struct quarter *item = i < q->count ? &q->items[i] : NULL;
        if (item != NULL && (item->t_s < c->from_s || item->t_s >= c->to_s))
            continue;
        int64_t start = item == NULL ? 0 : item->t_s - item->t_s % store_step_s[step];
        if (n > 0 && (item == NULL || start != t_s)) {
            rc = store_rollup_put(c->r->store, step, series, t_s, n, min, max, sum);
            n = 0;
        }
        if (item == NULL)
            break;
        if (n == 0) {
            t_s = start;
            min = item->min;
            max = item->max;
            sum = 0;
        }
        min = item->min < min ? item->min : min;
        max = item->max > max ? item->max : max;
        sum += item->sum;
        n += item->n;
    }
    return rc;
}

static enum rc put_rollups(struct closing *c, uint32_t series, unsigned steps,
                           const struct quarters *q)
{
    enum rc rc = RC_OK;
    for (unsigned step = 0; rc == RC_OK && step < STORE_STEPS; step++)
        if ((steps & (1U << step)) != 0)
            rc = put_rollup(c, series, step, q);
    return rc;
}

static enum rc close_channel(struct closing *c, int channel)
{
    const struct roster_channel *rc_channel = &c->r->roster->channels[channel];
    size_t n = day_text(c, channel);
    if (n == 0)
        return RC_OK;
    if (c->text.failed)
        return RC_NOMEM;
    uint8_t digest[SEAL_DIGEST];
    enum rc rc = store_day_put(c->r->store, rc_channel->id, c->day, n, &c->text, digest);
    if (rc != RC_OK)
        return rc;
    char name[32];
    snprintf(name, sizeof name, "channel-%u.csv", (unsigned)rc_channel->id);
    sign_manifest_line(&c->manifest, digest, name);
    return put_rollups(c, rc_channel->series, rc_channel->steps,
                       live_channel_quarters(c->r->live, channel));
}

static enum rc close_channels(struct closing *c)
{
    size_t count = c->r->roster->channel_count;
    for (size_t i = 0; i < count;) {
        enum rc rc = store_begin(c->r->store);
        for (int k = 0; rc == RC_OK && k < CHANNELS_A_TRANSACTION && i < count; k++, i++)
            rc = close_channel(c, (int)i);
        if (rc == RC_OK)
            rc = store_commit(c->r->store);
        if (rc != RC_OK) {
            store_rollback(c->r->store);
            return rc;
        }
    }
    return RC_OK;
}

static enum rc close_zones(struct closing *c)
{
    const struct roster *roster = c->r->roster;
    enum rc rc = RC_OK;
    for (size_t i = 0; i < roster->zone_count; i++)
        for (int q = 0; rc == RC_OK && q < QUANTITY_COUNT; q++)
            if (roster->zones[i].series[q] != 0)
                rc = put_rollups(c, roster->zones[i].series[q], roster->zones[i].steps[q],
                                 live_zone_quarters(c->r->live, (int)i, (enum quantity)q));
    return rc;
}

/* The states at the day's end: those of its start, and the day's readings fed to them. */
struct shadow {
    struct engine *engine;
    const struct roster *roster;
    int64_t to_s;
};

static void feed_shadow(void *context, const struct store_reading *reading)
{
    struct shadow *s = context;
    int channel = roster_find(s->roster, reading->channel);
    if (channel >= 0 && reading->t_s < s->to_s)
        (void)engine_feed(s->engine, channel, reading->t_s, reading->value, reading->flags,
                          &judge_nothing);
}

static enum rc save_states(struct closing *c)
{
    struct shadow s = {.roster = c->r->roster, .to_s = c->to_s};
    enum rc rc = engine_open(s.roster, &s.engine);
    if (rc == RC_OK)
        rc = engine_load(s.engine, c->r->store, c->from_s);
    if (rc == RC_OK)
        rc = store_tail_each(c->r->store, c->from_s, feed_shadow, &s);
    if (rc == RC_OK)
        rc = engine_save(s.engine, c->r->store, c->to_s);
    engine_close(s.engine);
    return rc;
}

static enum rc list_texts(struct closing *c)
{
    enum rc rc = RC_OK;
    for (int kind = 0; rc == RC_OK && kind < LISTING_COUNT; kind++) {
        uint8_t digest[SEAL_DIGEST];
        rc = store_listing(c->r->store, (enum store_listing)kind, c->day, &c->text);
        if (rc != RC_OK || c->text.len == 0)
            continue;
        rc = store_text_put(c->r->store, c->text.data, c->text.len, digest);
        if (rc == RC_OK)
            sign_manifest_line(&c->manifest, digest, store_listing_name[kind]);
    }
    return rc;
}

static void list_site_file(void *context, const uint8_t *digest)
{
    struct closing *c = context;
    char hex[SEAL_HEX], name[32];
    seal_hex(digest, hex);
    snprintf(name, sizeof name, "site-%.8s.ini", hex);
    sign_manifest_line(&c->manifest, digest, name);
}

static enum rc sign_it(struct closing *c)
{
    struct sign_place place = {.key = &c->r->key, .head_path = c->r->head_path.data};
    enum rc rc = list_texts(c);
    if (rc == RC_OK)
        rc = store_site_files(c->r->store, c->day, list_site_file, c);
    if (rc == RC_OK && (c->text.failed || c->manifest.failed))
        rc = RC_NOMEM;
    if (rc == RC_OK)
        rc = sign_day(c->r->store, &place, c->day, &c->manifest);
    return rc;
}

static enum rc finish(struct closing *c)
{
    struct store *store = c->r->store;
    enum rc rc = store_begin(store);
    if (rc == RC_OK)
        rc = close_zones(c);
    if (rc == RC_OK)
        rc = save_states(c);
    if (rc == RC_OK)
        rc = sign_it(c);
    if (rc == RC_OK)
        rc = store_tail_cut(store, c->to_s);
    if (rc == RC_OK)
        rc = store_meta_put(store, "open_day", c->day + 1);
    if (rc == RC_OK)
        rc = store_commit(store);
    if (rc != RC_OK)
        store_rollback(store);
    return rc;
}

static void publish(struct recorder *r)
{
    struct live_status *s = live_status_draft(r->live);
    live_begin(r->live);
    live_cut(r->live, r->open_day * CLOCK_DAY_S);
    s->open_day = r->open_day;
    s->last_signed_day = r->open_day - 1;
    s->signed_days++;
    live_end(r->live);
}

static enum rc close_day(struct recorder *r, int64_t day, struct tick now)
{
    struct closing c = {
        .r = r, .day = day, .from_s = day * CLOCK_DAY_S, .to_s = (day + 1) * CLOCK_DAY_S};
    note_holes(r, c.to_s);
    enum rc rc = recorder_flush(r, now);
    /* The day is closed from memory: nothing may be missing there. */
    if (rc == RC_OK && !live_whole(r->live))
        rc = resume_open_days(r);
    if (rc == RC_OK)
        rc = close_channels(&c);
    if (rc == RC_OK)
        rc = finish(&c);
    buf_free(&c.text);
    buf_free(&c.manifest);
    if (rc != RC_OK)
        return rc;
    r->open_day = day + 1;
    publish(r);
    struct sign_place place = {.key = &r->key, .head_path = r->head_path.data};
    if (sign_head_write(r->store, &place) != RC_OK)
        log_warn("the signed day stands; its number will be written down with the next one");
    return RC_OK;
}

enum rc closing_run(struct recorder *r, struct tick now)
{
    int64_t now_s = clock_utc_s(now);
    enum rc rc = RC_OK;
    for (int i = 0; rc == RC_OK && i < DAYS_A_STEP; i++) {
        if (now_s < (r->open_day + 1) * CLOCK_DAY_S + GRACE_S)
            break;
        rc = close_day(r, r->open_day, now);
    }
    return rc;
}
