/* resume.c - a start stands where the run before stood (recorder_private.h).
 *
 * The states of the last closed day are loaded, then today's readings are fed again in the
 * order they came: the same doubles come out, and today's chart with them.
 */
#include "recorder/recorder_private.h"

#include <math.h>
#include <string.h>

#include "base/json.h"

static void derived_again(void *context, int zone, enum quantity q, int64_t t_s, int32_t value)
{
    struct recorder *r = context;
    live_put_derived(r->live, zone, q, t_s, value);
}

static void edge_again(void *context, size_t limit, enum condition_edge edge, int64_t t_s,
                       const struct condition *c)
{
    /* The alarm's own state was stored when it changed; only what it rests on comes back. */
    (void)context, (void)limit, (void)edge, (void)t_s, (void)c;
}

struct feeding {
    struct recorder *r;
    struct engine *engine;
};

static void feed_again(void *context, const struct store_reading *reading)
{
    const struct feeding *f = context;
    struct recorder *r = f->r;
    int channel = roster_find(r->roster, reading->channel);
    if (channel < 0)
        return;
    const struct engine_out out = {.context = r, .derived = derived_again, .edge = edge_again};
    live_put_reading(r->live, channel, reading->t_s, reading->value, reading->flags);
    (void)engine_feed(f->engine, channel, reading->t_s, reading->value, reading->flags, &out);
}

/* Loads the states of the last closed day and feeds what came since. */
static enum rc feed_open(struct recorder *r, struct engine *engine)
{
    struct feeding f = {.r = r, .engine = engine};
    enum rc rc = engine_load(engine, r->store, r->open_day * CLOCK_DAY_S);
    return rc != RC_OK ? rc
                       : store_tail_each(r->store, r->open_day * CLOCK_DAY_S, feed_again, &f);
}

enum rc resume_open_days(struct recorder *r)
{
    struct engine *fresh;
    enum rc rc = engine_open(r->roster, &fresh);
    if (rc != RC_OK)
        return rc;
    live_begin(r->live);
    live_forget_open(r->live);
    rc = feed_open(r, fresh);
    if (rc != RC_OK)
        live_miss(r->live);
    live_end(r->live);
    engine_close(fresh);
    return rc != RC_OK || live_whole(r->live) ? rc : RC_NOMEM;
}

static void alarm_again(void *context, const struct store_alarm *alarm)
{
    struct recorder *r = context;
    for (size_t i = 0; i < r->site->limit_count; i++) {
        if (strcmp(r->site->limits[i].name, alarm->limit) != 0)
            continue;
        r->alarms[i] = (struct alarm_memory){.state = (enum alarm_state)alarm->state,
                                             .occurrence = alarm->occurrence,
                                             .since_s = alarm->since_s,
                                             .until_s = alarm->until_s,
                                             .shelved_until_s = alarm->shelved_until_s,
                                             .worst = alarm->worst};
    }
}

/* Whether each condition lasts: its rule says so, or, for silence, the alarm's own state. Where
 * the two differ the rule is new or was changed, and is judged anew: what lasts already is
 * alarmed now, or nobody would ever be told of it. */
static void settle(struct recorder *r)
{
    for (size_t i = 0; i < r->site->limit_count; i++) {
        struct alarm_memory *m = &r->alarms[i];
        const struct condition *c = engine_condition(r->engine, i);
        bool stands = m->state == ALARM_UNACKNOWLEDGED || m->state == ALARM_ACKNOWLEDGED;
        m->condition = r->site->limits[i].rule == RULE_SILENT ? stands : c->raised;
        if (stands && !m->condition)
            judge_edge(r, i, ALARM_CLEAR, r->in_force_s, (double)NAN, m->worst, 0, NULL,
                       "the rule was changed", 0);
        else if (m->condition && !stands)
            judge_edge(r, i, ALARM_RAISE, r->in_force_s, c->value, c->worst, c->breach_since_s,
                       NULL, "the rule is new or was changed", 0);
    }
}

/* An alarm whose limit was taken out of the site file could never end by itself. */
static enum rc end_gone(struct recorder *r)
{
    struct buf names = {0};
    json_t *list = json_array();
    for (size_t i = 0; i < r->site->limit_count; i++)
        if (json_array_append_new(list, json_string(r->site->limits[i].name)) != 0)
            names.failed = true;
    json_put(&names, list);
    json_decref(list);
    enum rc rc = names.failed ? RC_NOMEM : store_begin(r->store);
    if (rc == RC_OK)
        rc = store_alarms_gone(r->store, names.data, r->in_force_s);
    if (rc == RC_OK)
        rc = store_commit(r->store);
    if (rc != RC_OK)
        store_rollback(r->store);
    buf_free(&names);
    return rc;
}

enum rc resume(struct recorder *r)
{
    enum rc rc = end_gone(r);
    if (rc != RC_OK)
        return rc;
    live_begin(r->live);
    live_cut(r->live, r->open_day * CLOCK_DAY_S);
    rc = feed_open(r, r->engine);
    if (rc == RC_OK)
        rc = store_alarms_each(r->store, alarm_again, r);
    live_end(r->live);
    if (rc == RC_OK)
        settle(r);
    return rc;
}
