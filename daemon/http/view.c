/* view.c - see view.h. */
#include "http/view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "watch/words.h"

json_t *view_time(int64_t utc_s)
{
    return utc_s == 0 ? json_null() : json_integer(utc_s);
}

json_t *view_number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

json_t *view_text(const char *text)
{
    return text == NULL || text[0] == '\0' ? json_null() : json_string(text);
}

json_t *view_gap_text(enum gap_reason reason, uint8_t detail)
{
    if (reason == GAP_EXCEPTION && detail != 0)
        return json_sprintf("%s (Modbus exception %d)", gap_reason_text(reason), detail);
    return json_string(gap_reason_text(reason));
}

static json_t *flags(uint16_t bits)
{
    static const struct {
        uint16_t bit;
        const char *word;
    } rows[] = {
        {READING_OUT_OF_RANGE, "out_of_range"},
        {READING_JUMP, "jump"},
        {READING_STUCK, "stuck"},
        {READING_SUSPECT, "suspect"},
        {READING_CLOCK, "clock"},
        {READING_IMPORTED, "imported"},
        {READING_IN_CHECK, "in_check"},
    };
    json_t *list = json_array();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if ((bits & rows[i].bit) != 0)
            json_array_append_new(list, json_string(rows[i].word));
    return list;
}

json_t *view_now(const struct live_zone *zone)
{
    if (zone->last_s == 0)
        return json_null();
    json_t *now = json_object();
    json_object_set_new(now, "t", json_integer(zone->last_s));
    for (int q = 0; q < QUANTITY_COUNT; q++) {
        const struct live_value *v = &zone->now[q];
        if (!v->known || !v->fresh)
            continue;
        json_t *value = json_object();
        json_object_set_new(value, "value", json_quantity((enum quantity)q, v->value, true));
        json_object_set_new(value, "t", json_integer(v->t_s));
        json_object_set_new(value, "flags", flags(v->flags));
        json_object_set_new(now, quantity_info((enum quantity)q)->name, value);
    }
    return now;
}

json_t *view_reads(const struct site_instrument *instrument)
{
    json_t *list = json_array();
    for (size_t i = 0; i < instrument->read_count; i++)
        json_array_append_new(list,
                              json_string(quantity_info(instrument->reads[i].quantity)->name));
    return list;
}

const struct site_zone *view_limit_zone(const struct site_limit *limit)
{
    if (limit->zone != NULL)
        return limit->zone;
    return limit->instrument != NULL ? limit->instrument->zone : NULL;
}

json_t *view_threshold(const struct site_limit *limit)
{
    bool none = limit->rule == RULE_CONTACT || limit->rule == RULE_SILENT;
    return none ? json_null() : view_number(limit->value);
}

/* What both kinds of alarm say of their limit. `now` is NaN where it is not known. */
static json_t *of_limit(const struct site_limit *limit, int64_t since_s, int64_t until_s,
                        double now, double worst, int64_t now_s)
{
    struct words_alarm said = {
        .limit = limit, .since_s = since_s, .until_s = until_s, .now = now, .worst = worst};
    struct buf text = {0};
    words_alarm(&said, now_s, &text);
    const struct site_zone *zone = view_limit_zone(limit);
    bool silent = limit->rule == RULE_SILENT;
    json_t *alarm = json_object();
    json_object_set_new(alarm, "limit", json_string(limit->name));
    json_object_set_new(alarm, "zone", view_text(zone != NULL ? zone->name : NULL));
    json_object_set_new(alarm, "zone_title", view_text(zone != NULL ? zone->title : NULL));
    json_object_set_new(alarm, "instrument",
                        view_text(limit->instrument != NULL ? limit->instrument->name : NULL));
    json_object_set_new(alarm, "quantity",
                        view_text(silent ? NULL : quantity_info(limit->quantity)->name));
    json_object_set_new(alarm, "threshold", view_threshold(limit));
    json_object_set_new(alarm, "text", view_text(text.data));
    buf_free(&text);
    return alarm;
}

static void of_occurrence(json_t *alarm, int64_t id, uint8_t state, enum site_priority priority,
                          int64_t since_s, int64_t until_s, double worst)
{
    json_object_set_new(alarm, "id", json_integer(id));
    json_object_set_new(alarm, "state", json_string(alarm_state_word((enum alarm_state)state)));
    json_object_set_new(alarm, "priority", json_string(site_priority_word(priority)));
    json_object_set_new(alarm, "since", json_integer(since_s));
    json_object_set_new(alarm, "until", view_time(until_s));
    json_object_set_new(alarm, "value", view_number(worst));
}

json_t *view_alarm(const struct live_alarm *a, int64_t now_s)
{
    json_t *alarm = of_limit(a->limit, a->since_s, a->until_s, a->value, a->worst, now_s);
    of_occurrence(alarm, a->id, (uint8_t)a->state, a->limit->priority, a->since_s, a->until_s,
                  a->worst);
    return alarm;
}

static const struct site_limit *limit_named(const struct site *site, const char *name)
{
    for (size_t i = 0; i < site->limit_count; i++)
        if (strcmp(site->limits[i].name, name) == 0)
            return &site->limits[i];
    return NULL;
}

/* An alarm of a limit that is no longer in the site file. */
static json_t *of_lost_limit(struct live *live, const struct series_alarm *a, int64_t now_s)
{
    const struct site_zone *zone = NULL;
    for (size_t i = 0; i < live_zone_count(live) && zone == NULL; i++) {
        struct live_zone z;
        live_zone(live, i, &z);
        if (z.id == a->zone)
            zone = z.site;
    }
    struct buf text = {0};
    buf_printf(&text, "Limit %s, no longer in the site file, was passed", a->limit);
    buf_str(&text, a->until_s != 0 ? " from " : " since ");
    words_time(a->since_s, now_s, &text);
    if (a->until_s != 0) {
        buf_str(&text, " to ");
        words_time(a->until_s, now_s, &text);
    }
    json_t *alarm = json_object();
    json_object_set_new(alarm, "limit", json_string(a->limit));
    json_object_set_new(alarm, "zone", view_text(zone != NULL ? zone->name : NULL));
    json_object_set_new(alarm, "zone_title", view_text(zone != NULL ? zone->title : NULL));
    json_object_set_new(alarm, "instrument", json_null());
    json_object_set_new(alarm, "quantity", json_null());
    json_object_set_new(alarm, "threshold", json_null());
    json_object_set_new(alarm, "text", view_text(text.data));
    buf_free(&text);
    return alarm;
}

json_t *view_past_alarm(const struct site *site, struct live *live,
                        const struct series_alarm *a, int64_t now_s)
{
    const struct site_limit *limit = limit_named(site, a->limit);
    json_t *alarm = limit == NULL
                        ? of_lost_limit(live, a, now_s)
                        : of_limit(limit, a->since_s, a->until_s, (double)NAN, a->worst, now_s);
    of_occurrence(alarm, a->id, a->state, (enum site_priority)a->priority, a->since_s,
                  a->until_s, a->worst);
    return alarm;
}

enum rc view_alarms_now(struct live *live, struct live_alarm **out, size_t *out_count)
{
    struct live_alarm *alarms = calloc(VIEW_ALARMS_MOST, sizeof *alarms);
    if (alarms == NULL)
        return RC_NOMEM;
    *out_count = live_alarms(live, alarms, VIEW_ALARMS_MOST);
    *out = alarms;
    return RC_OK;
}
