/* judge.c - one drained reading, and what follows from it, into the batch (recorder_private.h). */
#include "recorder/recorder_private.h"

#include <math.h>
#include <stdio.h>

#include "base/log.h"

static void put_derived(void *context, int zone, enum quantity q, int64_t t_s, int32_t value)
{
    struct recorder *r = context;
    struct batch_derived *d = batch_derived_add(&r->batch);
    if (d == NULL)
        live_miss(r->live);
    else
        *d = (struct batch_derived){.zone = zone, .q = q, .value = value, .t_s = t_s};
}

static void put_edge(void *context, size_t limit, enum condition_edge edge, int64_t t_s,
                     const struct condition *c)
{
    /* The event that ends it carries the worst it was: nothing else remembers that for good. */
    bool raised = edge == EDGE_RAISED;
    judge_edge(context, limit, raised ? ALARM_RAISE : ALARM_CLEAR, t_s,
               raised ? c->value : c->worst, c->worst, raised ? c->breach_since_s : 0, NULL,
               NULL, 0);
}

static void drop_derived(void *context, int zone, enum quantity q, int64_t t_s, int32_t value)
{
    (void)context, (void)zone, (void)q, (void)t_s, (void)value;
}

static void drop_edge(void *context, size_t limit, enum condition_edge edge, int64_t t_s,
                      const struct condition *c)
{
    (void)context, (void)limit, (void)edge, (void)t_s, (void)c;
}

const struct engine_out judge_nothing = {.derived = drop_derived, .edge = drop_edge};

void judge_reading(struct recorder *r, const struct reading *reading)
{
    int channel = roster_find(r->roster, reading->channel);
    if (channel < 0)
        return; /* of a source that is being stopped */
    if (reading->gap != GAP_NONE) {
        outage_failed(r, channel, reading);
        return;
    }
    struct batch_reading *b = &r->batch.readings[r->batch.reading_count++];
    int64_t last_s = engine_last_s(r->engine, channel);
    bool doubtful = live_status_draft(r->live)->clock == LIVE_CLOCK_IMPLAUSIBLE;
    *b = (struct batch_reading){.channel = channel,
                                .flags = reading->flags,
                                .value = reading->value,
                                .t_s = reading->t_s};
    /* What is not newer than the channel's last, or lies in a closed day, or bears a stamp that
     * cannot be right, is kept apart: it must not hold up all that comes after it. */
    b->late = doubtful || reading->t_s <= last_s || clock_day_of(reading->t_s) < r->open_day;
    if (b->late) {
        b->flags |= doubtful ? READING_CLOCK : 0;
        return;
    }
    outage_over(r, channel, last_s, reading->t_s);
    const struct engine_out out = {.context = r, .derived = put_derived, .edge = put_edge};
    b->flags = engine_feed(r->engine, channel, b->t_s, b->value, b->flags, &out);
}

static uint32_t zone_id(const struct recorder *r, const struct site_limit *l)
{
    const struct site_zone *zone = l->zone != NULL         ? l->zone
                                   : l->instrument != NULL ? l->instrument->zone
                                                           : NULL;
    return zone == NULL ? 0 : r->roster->zones[zone - r->site->zones].id;
}

/* Writes a transition down; the memory of the alarm has been brought to the new state. */
static void put_transition(struct recorder *r, size_t limit, enum alarm_state from, bool fresh,
                           int64_t t_s, double value, const char *person, const char *reason)
{
    const struct alarm_memory *m = &r->alarms[limit];
    const struct site_limit *l = &r->site->limits[limit];
    struct batch_alarm *b = batch_alarm_add(&r->batch);
    if (b == NULL)
        return;
    b->limit = limit;
    b->fresh = fresh;
    b->alarm = (struct store_alarm){.limit = l->name,
                                    .state = m->state,
                                    .priority = l->priority,
                                    .occurrence = m->occurrence,
                                    .since_s = m->since_s,
                                    .until_s = m->until_s,
                                    .shelved_until_s = m->shelved_until_s,
                                    .worst = m->worst};
    b->event = (struct store_alarm_event){
        .zone = zone_id(r, l), .t_s = t_s, .from = from, .to = m->state, .value = value};
    snprintf(b->person, sizeof b->person, "%s", person == NULL ? "" : person);
    snprintf(b->reason, sizeof b->reason, "%s", reason == NULL ? "" : reason);
}

void judge_edge(struct recorder *r, size_t limit, enum alarm_input input, int64_t t_s,
                double value, double worst, int64_t since_s, const char *person,
                const char *reason, int64_t until_s)
{
    struct alarm_memory *m = &r->alarms[limit];
    enum alarm_state from = m->state, to;
    if (alarm_next(from, input, m->condition, &to) != RC_OK)
        return;
    if (input == ALARM_RAISE || input == ALARM_CLEAR)
        m->condition = input == ALARM_RAISE;
    if (to == from)
        return;
    /* One that was raised in this same batch has no number yet, and is not fresh either. */
    bool fresh = input == ALARM_RAISE || (m->occurrence == 0 && from == ALARM_NORMAL);
    if (fresh) {
        m->since_s = since_s != 0 ? since_s : t_s;
        m->until_s = 0;
        m->occurrence = 0;
    }
    if (input == ALARM_CLEAR)
        m->until_s = t_s;
    m->worst = worst;
    m->state = to;
    m->shelved_until_s = to == ALARM_SHELVED ? until_s : 0;
    put_transition(r, limit, from, fresh, t_s, value, person, reason);
    log_info("alarm %s: %s to %s", r->site->limits[limit].name, alarm_state_word(from),
             alarm_state_word(to));
}

/* Newest reading of what a limit of silence watches; *grace_s is how long a start may take. */
static int64_t heard_s(const struct recorder *r, const struct site_limit *l, int *grace_s)
{
    int64_t last_s = 0;
    *grace_s = 10;
    for (size_t i = 0; i < r->roster->channel_count; i++) {
        const struct roster_channel *c = &r->roster->channels[i];
        if (c->instrument < 0)
            continue;
        bool mine = l->instrument != NULL
                        ? &r->site->instruments[c->instrument] == l->instrument
                        : c->zone >= 0 && &r->site->zones[c->zone] == l->zone;
        if (!mine)
            continue;
        int64_t t_s = engine_last_s(r->engine, (int)i);
        last_s = t_s > last_s ? t_s : last_s;
        if (10 + 2 * c->every_s > *grace_s)
            *grace_s = 10 + 2 * c->every_s;
    }
    return last_s;
}

void judge_silence(struct recorder *r, int64_t now_s)
{
    for (size_t i = 0; i < r->site->limit_count; i++) {
        const struct site_limit *l = &r->site->limits[i];
        if (l->rule != RULE_SILENT)
            continue;
        int grace_s;
        int64_t last_s = heard_s(r, l, &grace_s);
        int64_t since_s = last_s > 0 ? last_s : r->started_s;
        bool silent = now_s - since_s > l->on_delay_s && now_s - r->started_s > grace_s;
        if (silent && !r->alarms[i].condition)
            judge_edge(r, i, ALARM_RAISE, now_s, (double)NAN, (double)NAN, since_s, NULL, NULL,
                       0);
        else if (r->alarms[i].condition && last_s > r->alarms[i].since_s)
            judge_edge(r, i, ALARM_CLEAR, last_s, (double)NAN, (double)NAN, 0, NULL, NULL, 0);
    }
}

void judge_shelves(struct recorder *r, int64_t now_s)
{
    for (size_t i = 0; i < r->site->limit_count; i++)
        if (r->alarms[i].state == ALARM_SHELVED && now_s >= r->alarms[i].shelved_until_s)
            judge_edge(r, i, ALARM_UNSHELVE, now_s, (double)NAN, r->alarms[i].worst, 0, NULL,
                       "the pause is over", 0);
}
