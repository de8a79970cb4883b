/* outage.c - no silent gap: every stretch without readings gets its reason (recorder_private.h).
 *
 * A gap runs from the first slot that was missed to the first reading after it, so it begins
 * in the day in which the missed slot lies and never reaches back into a closed one.
 */
#include "recorder/recorder_private.h"

#include <stdlib.h>

#include "base/log.h"

static const char *name_of(const struct recorder *r, int channel)
{
    int i = r->roster->channels[channel].instrument;
    return i < 0 ? "a former instrument" : r->site->instruments[i].name;
}

static void begin(struct recorder *r, int channel, int64_t from_s, enum gap_reason reason,
                  uint8_t detail)
{
    struct channel_memory *m = &r->channels[channel];
    struct batch_gap *g = batch_gap_add(&r->batch);
    if (g == NULL)
        return; /* the next failure tries again */
    *g = (struct batch_gap){.channel = channel,
                            .begins = true,
                            .from_s = from_s,
                            .reason = reason,
                            .detail = detail};
    m->gap_open = true;
    m->gap_in_batch = (int)(g - r->batch.gaps);
    m->gap_from_s = from_s;
    m->gap_reason = reason;
    m->gap_detail = detail;
}

static void end(struct recorder *r, int channel, int64_t to_s)
{
    struct channel_memory *m = &r->channels[channel];
    m->gap_open = false;
    if (m->gap_in_batch != NO_BATCH_GAP) {
        struct batch_gap *same = &r->batch.gaps[m->gap_in_batch];
        same->to_s = to_s;
        same->forget = to_s <= same->from_s;
        m->gap_in_batch = NO_BATCH_GAP;
        return;
    }
    struct batch_gap *g = batch_gap_add(&r->batch);
    if (g == NULL) {
        m->gap_open = true; /* the next reading tries again */
        return;
    }
    *g = (struct batch_gap){.channel = channel,
                            .id = m->gap_id,
                            .from_s = m->gap_from_s,
                            .to_s = to_s,
                            .reason = m->gap_reason,
                            .detail = m->gap_detail,
                            .forget = to_s <= m->gap_from_s};
}

void outage_failed(struct recorder *r, int channel, const struct reading *reading)
{
    struct channel_memory *m = &r->channels[channel];
    if (m->gap_open || reading->t_s <= engine_last_s(r->engine, channel))
        return;
    begin(r, channel, reading->t_s, (enum gap_reason)reading->gap, reading->detail);
    if (r->roster->channels[channel].leads)
        log_warn("%s: no %s: %s; asking on", name_of(r, channel),
                 quantity_info(r->roster->channels[channel].quantity)->name,
                 gap_reason_text((enum gap_reason)reading->gap));
}

void outage_over(struct recorder *r, int channel, int64_t last_s, int64_t t_s)
{
    struct channel_memory *m = &r->channels[channel];
    int every_s = r->roster->channels[channel].every_s;
    if (m->gap_open) {
        if (r->roster->channels[channel].leads && m->gap_reason != GAP_STOPPED &&
            m->gap_reason != GAP_UNCLEAN)
            log_info("%s: reading %s again", name_of(r, channel),
                     quantity_info(r->roster->channels[channel].quantity)->name);
        end(r, channel, t_s);
    } else if (last_s != 0 && 2 * (t_s - last_s) > 3 * every_s) {
        begin(r, channel, last_s + every_s, m->hole, 0);
        end(r, channel, t_s);
    }
    m->hole = GAP_OVERFLOW;
}

/* A gap that was open when the run before ended is cut where that run was last alive. */
struct cutter {
    struct recorder *r;
    int64_t alive_s;
    enum rc rc;
    struct store_gap *gaps; /* owned by outage_begin */
    size_t count, cap;
};

static void note_open(void *context, const struct store_gap *gap)
{
    struct cutter *c = context;
    if (c->count < c->cap)
        c->gaps[c->count++] = *gap;
}

static void keep(struct channel_memory *m, const struct store_gap *gap)
{
    m->gap_open = true;
    m->gap_id = gap->id;
    m->gap_from_s = gap->from_s;
    m->gap_reason = (enum gap_reason)gap->reason;
    m->gap_detail = (uint8_t)gap->detail;
}

static void cut(struct cutter *c, const struct store_gap *gap)
{
    int64_t to_s = c->alive_s > gap->from_s ? c->alive_s : gap->from_s;
    int channel = roster_find(c->r->roster, gap->channel);
    bool gone = channel < 0 || c->r->roster->channels[channel].instrument < 0;
    if (gone && gap->reason == GAP_REMOVED) { /* it is still taken out */
        if (channel >= 0)
            keep(&c->r->channels[channel], gap);
        return;
    }
    if (channel >= 0)
        c->r->channels[channel].gap_from_s = to_s; /* what comes after is not told of yet */
    c->rc = to_s > gap->from_s ? store_gap_close(c->r->store, gap->id, to_s)
                               : store_gap_forget(c->r->store, gap->id);
}

/* One channel at the start: what is missing between its last reading and now. */
static enum rc begin_channel(struct recorder *r, int channel, int64_t now_s, int64_t alive_s,
                             enum gap_reason reason)
{
    struct channel_memory *m = &r->channels[channel];
    const struct roster_channel *c = &r->roster->channels[channel];
    int64_t last_s = engine_last_s(r->engine, channel);
    m->hole = reason;
    if (c->instrument < 0)
        reason = GAP_REMOVED;
    if (m->gap_open || (last_s == 0 && m->gap_from_s == 0))
        return RC_OK;
    int64_t from_s = last_s == 0 ? 0 : last_s + c->every_s;
    if (from_s < r->open_day * CLOCK_DAY_S && from_s < alive_s)
        from_s = alive_s; /* never back into a closed day */
    if (from_s < m->gap_from_s)
        from_s = m->gap_from_s; /* it was failing before the stop: that gap was cut there */
    if (from_s > now_s)
        return RC_OK;
    enum rc rc = store_gap_open(r->store, c->id, from_s, reason, 0, &m->gap_id);
    if (rc == RC_OK) {
        m->gap_open = true;
        m->gap_from_s = from_s;
        m->gap_reason = reason;
    }
    return rc;
}

enum rc outage_begin(struct recorder *r, int64_t now_s)
{
    enum {
        OPEN_MOST = 8192
    };
    int64_t clean_s, alive_s;
    enum rc rc = store_meta_get(r->store, "clean", 0, &clean_s);
    if (rc == RC_OK)
        rc = store_meta_get(r->store, "alive", 0, &alive_s);
    if (rc != RC_OK)
        return rc;
    if (clean_s > alive_s)
        alive_s = clean_s;
    if (alive_s > now_s)
        alive_s = 0; /* marked by a clock that was ahead: it must not hide the outage */
    for (size_t i = 0; i < r->roster->channel_count; i++)
        if (engine_last_s(r->engine, (int)i) > alive_s)
            alive_s = engine_last_s(r->engine, (int)i);
    for (size_t i = 0; i < r->roster->channel_count; i++) {
        r->channels[i].gap_open = false; /* of an attempt that could not be written */
        r->channels[i].gap_from_s = 0;
    }
    struct cutter c = {.r = r, .alive_s = alive_s, .cap = OPEN_MOST};
    c.gaps = malloc(OPEN_MOST * sizeof *c.gaps);
    if (c.gaps == NULL)
        return RC_NOMEM;
    rc = store_gaps_open(r->store, note_open, &c);
    for (size_t i = 0; rc == RC_OK && i < c.count; i++) {
        cut(&c, &c.gaps[i]);
        rc = c.rc;
    }
    free(c.gaps);
    for (size_t i = 0; rc == RC_OK && i < r->roster->channel_count; i++)
        rc = begin_channel(r, (int)i, now_s, alive_s, clean_s != 0 ? GAP_STOPPED : GAP_UNCLEAN);
    if (rc == RC_OK)
        rc = store_meta_put(r->store, "clean", 0);
    return rc;
}

void outage_numbered(struct recorder *r)
{
    for (size_t i = 0; i < r->batch.gap_count; i++) {
        const struct batch_gap *g = &r->batch.gaps[i];
        struct channel_memory *m = &r->channels[g->channel];
        if (m->gap_in_batch == (int)i) {
            m->gap_id = g->id;
            m->gap_in_batch = NO_BATCH_GAP;
        }
    }
}
