/* api_alarms.c - alarms that are not normal now, those of a span, and the life of one. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "http/handlers.h"
#include "http/pool.h"
#include "http/view.h"
#include "recorder/live.h"

enum {
    HISTORY_MOST = 500
};

struct filter {
    int64_t from_s, to_s;
    bool all;
    bool by_zone;
    struct live_zone zone;
};

/* False after the reply has said what is allowed. */
static bool parse(struct context *context, const struct query *query, struct filter *out,
                  struct reply *reply)
{
    const char *state = query_get(query, "state");
    const char *from = query_get(query, "from"), *to = query_get(query, "to");
    const char *zone = query_get(query, "zone");
    /* No end by default: after the clock was put back, alarms seem to come from the future. */
    *out = (struct filter){.from_s = 0, .to_s = INT64_MAX};
    if (state != NULL && strcmp(state, "active") != 0 && strcmp(state, "all") != 0) {
        reply_problem(reply, 400, "state must be active or all, not '%.40s'", state);
        return false;
    }
    if ((from != NULL && !query_time(from, &out->from_s)) ||
        (to != NULL && !query_time(to, &out->to_s)) || out->from_s >= out->to_s) {
        reply_problem(reply, 400,
                      "from and to must be UTC seconds or ISO 8601, from before to");
        return false;
    }
    if (zone != NULL && !live_zone_find(context->live, zone, &out->zone)) {
        reply_problem(reply, 400, "zone must be the id of a zone; there is no '%.64s'", zone);
        return false;
    }
    out->all = state != NULL && strcmp(state, "all") == 0;
    out->by_zone = zone != NULL;
    return true;
}

static bool touches(const struct filter *filter, const struct live_alarm *alarm)
{
    return alarm->since_s < filter->to_s &&
           (alarm->until_s == 0 || alarm->until_s >= filter->from_s) &&
           (!filter->by_zone || view_limit_zone(alarm->limit) == filter->zone.site);
}

static void reply_alarms(struct reply *reply, json_t *list)
{
    json_t *all = json_object();
    json_object_set_new(all, "alarms", list);
    reply_json(reply, all);
}

static void list_active(const struct filter *filter, const struct live_alarm *now, size_t count,
                        int64_t now_s, struct reply *reply)
{
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++)
        if (touches(filter, &now[i]))
            json_array_append_new(list, view_alarm(&now[i], now_s));
    reply_alarms(reply, list);
}

static const struct live_alarm *with_id(const struct live_alarm *now, size_t count, int64_t id)
{
    for (size_t i = 0; i < count; i++)
        if (now[i].id == id)
            return &now[i];
    return NULL;
}

/* What the store remembers; those that last are shown as they are now. */
static void list_all(struct context *context, const struct filter *filter,
                     const struct live_alarm *now, size_t count, int64_t now_s,
                     struct reply *reply)
{
    struct series_alarm *found = calloc(VIEW_ALARMS_MOST, sizeof *found);
    struct reader *reader = NULL;
    size_t n = 0;
    enum rc rc = found == NULL ? RC_NOMEM : pool_take(context->pool, POOL_WAIT_MS, &reader);
    if (rc == RC_OK) {
        rc = store_alarms(reader, filter->by_zone ? filter->zone.id : 0, filter->from_s,
                          filter->to_s, VIEW_ALARMS_MOST, found, &n);
        pool_give(context->pool, reader, rc);
    }
    if (rc != RC_OK) {
        reply_rc(reply, rc);
        free(found);
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < n; i++) {
        const struct live_alarm *lasting = with_id(now, count, found[i].id);
        json_array_append_new(
            list, lasting != NULL
                      ? view_alarm(lasting, now_s)
                      : view_past_alarm(context->site, context->live, &found[i], now_s));
    }
    reply_alarms(reply, list);
    free(found);
}

void api_alarms_list(struct context *context, const struct request *request,
                     struct reply *reply)
{
    int64_t now_s = clock_utc_s(clock_now());
    struct filter filter;
    if (!parse(context, &request->query, &filter, reply))
        return;
    struct live_alarm *now = NULL;
    size_t count = 0;
    enum rc rc = view_alarms_now(context->live, &now, &count);
    if (rc != RC_OK)
        reply_rc(reply, rc);
    else if (filter.all)
        list_all(context, &filter, now, count, now_s, reply);
    else
        list_active(&filter, now, count, now_s, reply);
    free(now);
}

static json_t *transition(const struct series_transition *t)
{
    json_t *row = json_object();
    json_object_set_new(row, "t", json_integer(t->t_s));
    json_object_set_new(row, "from", json_string(alarm_state_word((enum alarm_state)t->from)));
    json_object_set_new(row, "to", json_string(alarm_state_word((enum alarm_state)t->to)));
    json_object_set_new(row, "value", view_number(t->value));
    json_object_set_new(row, "person", view_text(t->person));
    json_object_set_new(row, "reason", view_text(t->reason));
    return row;
}

void api_alarms_history(struct context *context, const struct request *request,
                        struct reply *reply)
{
    int64_t id;
    if (!query_int(request->id, 1, INT64_MAX, &id)) {
        reply_problem(reply, 404, "an alarm's id is a whole number, not '%s'", request->id);
        return;
    }
    struct series_transition *found = calloc(HISTORY_MOST, sizeof *found);
    struct reader *reader = NULL;
    size_t n = 0;
    enum rc rc = found == NULL ? RC_NOMEM : pool_take(context->pool, POOL_WAIT_MS, &reader);
    if (rc == RC_OK) {
        rc = store_alarm_history(reader, id, HISTORY_MOST, found, &n);
        pool_give(context->pool, reader, rc);
    }
    if (rc == RC_NOT_FOUND || (rc == RC_OK && n == 0)) {
        reply_problem(reply, 404, "there is no alarm %s", request->id);
    } else if (rc != RC_OK) {
        reply_rc(reply, rc);
    } else {
        json_t *list = json_array();
        for (size_t i = 0; i < n; i++)
            json_array_append_new(list, transition(&found[i]));
        json_t *history = json_object();
        json_object_set_new(history, "events", list);
        reply_json(reply, history);
    }
    free(found);
}
