/* api_zones.c - zones with their latest readings, limits and alarms. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "http/facts.h"
#include "http/fitness.h"
#include "http/handlers.h"
#include "http/view.h"
#include "recorder/live.h"

/* What one answer asks for once, though it shows many zones. */
struct scene {
    struct context *context;   /* borrowed */
    struct live_alarm *alarms; /* owned */
    size_t alarm_count;
    int64_t open_day;
    int64_t now_s;
};

static enum rc scene_open(struct context *context, struct scene *scene)
{
    struct live_status status;
    live_status(context->live, &status);
    *scene = (struct scene){
        .context = context, .open_day = status.open_day, .now_s = clock_utc_s(clock_now())};
    return view_alarms_now(context->live, &scene->alarms, &scene->alarm_count);
}

static json_t *instruments(const struct scene *scene, const struct site_zone *zone)
{
    struct live *live = scene->context->live;
    json_t *list = json_array();
    for (size_t i = 0; i < live_instrument_count(live); i++) {
        struct live_instrument in;
        live_instrument(live, i, &in);
        if (in.site->zone != zone)
            continue;
        json_t *row = json_object();
        json_object_set_new(row, "name", json_string(in.site->name));
        json_object_set_new(row, "serial", json_string(in.site->serial));
        json_object_set_new(row, "quantities", view_reads(in.site));
        json_object_set_new(row, "every_s", json_integer(in.site->every_s));
        json_object_set_new(row, "last", view_time(in.last_s));
        json_array_append_new(list, row);
    }
    return list;
}

static json_t *quantities(const struct live_zone *zone)
{
    json_t *list = json_array();
    for (int q = 0; q < QUANTITY_COUNT; q++)
        if (zone->has[q])
            json_array_append_new(list, json_string(quantity_info((enum quantity)q)->name));
    return list;
}

/* A slope from noisy readings has no more than two honest digits. */
static json_t *trend(const struct live_zone *zone)
{
    json_t *t = json_object();
    json_object_set_new(t, "humidity_per_hour",
                        view_number(round(zone->humidity_per_h * 100) / 100));
    json_object_set_new(t, "temperature_per_hour",
                        view_number(round(zone->temperature_per_h * 100) / 100));
    return t;
}

static json_t *quiet(const struct live_zone *zone)
{
    if (zone->quiet == GAP_NONE)
        return json_null();
    json_t *q = json_object();
    json_object_set_new(q, "since", json_integer(zone->quiet_since_s));
    json_object_set_new(q, "reason", json_string(gap_reason_word(zone->quiet)));
    json_object_set_new(q, "text", view_gap_text(zone->quiet, 0));
    return q;
}

static json_t *limits(const struct site *site, const struct site_zone *zone)
{
    static const char *const rules[] = {
        [RULE_ABOVE] = "above",           [RULE_BELOW] = "below",     [RULE_RANGE] = "range",
        [RULE_DEW_MARGIN] = "dew_margin", [RULE_CONTACT] = "contact", [RULE_SILENT] = "silent"};
    json_t *list = json_array();
    for (size_t i = 0; i < site->limit_count; i++) {
        const struct site_limit *limit = &site->limits[i];
        if (view_limit_zone(limit) != zone)
            continue;
        struct buf text = {0};
        site_limit_text(limit, &text);
        bool silent = limit->rule == RULE_SILENT;
        json_t *row = json_object();
        json_object_set_new(row, "name", json_string(limit->name));
        json_object_set_new(row, "text", json_string(text.data != NULL ? text.data : ""));
        json_object_set_new(row, "quantity",
                            view_text(silent ? NULL : quantity_info(limit->quantity)->name));
        json_object_set_new(row, "rule", json_string(rules[limit->rule]));
        json_object_set_new(row, "value", view_threshold(limit));
        json_object_set_new(row, "priority", json_string(site_priority_word(limit->priority)));
        json_object_set_new(row, "source", json_string(limit->source));
        json_array_append_new(list, row);
        buf_free(&text);
    }
    return list;
}

static json_t *alarms(const struct scene *scene, const struct site_zone *zone)
{
    json_t *list = json_array();
    for (size_t i = 0; i < scene->alarm_count; i++)
        if (view_limit_zone(scene->alarms[i].limit) == zone)
            json_array_append_new(list, view_alarm(&scene->alarms[i], scene->now_s));
    return list;
}

static json_t *damp_hours(const struct facts_zone *facts)
{
    if (!(facts->covered_h > 0))
        return json_null();
    json_t *h = json_object();
    json_object_set_new(h, "65", json_real(facts->damp_h[0]));
    json_object_set_new(h, "75", json_real(facts->damp_h[1]));
    json_object_set_new(h, "80", json_real(facts->damp_h[2]));
    json_object_set_new(h, "covered", json_real(facts->covered_h));
    return h;
}

static json_t *zone_json(const struct scene *scene, size_t index, const struct live_zone *zone)
{
    const struct site_zone *site = zone->site;
    struct facts_zone facts;
    facts_of(scene->context->facts, scene->context->pool, index, zone->id, scene->open_day,
             &facts);
    json_t *z = json_object();
    json_object_set_new(z, "id", json_string(site->name));
    json_object_set_new(z, "title", json_string(site->title));
    json_object_set_new(z, "purpose", json_string(site_purpose_word(site->purpose)));
    json_object_set_new(z, "lead", view_text(site->lead != NULL ? site->lead->name : NULL));
    json_object_set_new(z, "instruments", instruments(scene, site));
    json_object_set_new(z, "quantities", quantities(zone));
    json_object_set_new(z, "first", view_time(facts.first_s));
    json_object_set_new(z, "now", view_now(zone));
    json_object_set_new(z, "trend", trend(zone));
    json_object_set_new(z, "quiet", quiet(zone));
    json_object_set_new(z, "limits", limits(scene->context->site, site));
    json_object_set_new(z, "alarms", alarms(scene, site));
    json_object_set_new(z, "damp_hours", damp_hours(&facts));
    json_object_set_new(z, "fitness", fitness_json(scene->context, index, zone, scene->now_s));
    return z;
}

void api_zones_list(struct context *context, const struct request *request, struct reply *reply)
{
    (void)request;
    struct scene scene;
    enum rc rc = scene_open(context, &scene);
    if (rc != RC_OK) {
        reply_rc(reply, rc);
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < live_zone_count(context->live); i++) {
        struct live_zone zone;
        live_zone(context->live, i, &zone);
        json_array_append_new(list, zone_json(&scene, i, &zone));
    }
    json_t *zones = json_object();
    json_object_set_new(zones, "zones", list);
    reply_json(reply, zones);
    free(scene.alarms);
}

void api_zones_one(struct context *context, const struct request *request, struct reply *reply)
{
    struct live_zone zone;
    size_t count = live_zone_count(context->live), index = 0;
    for (; index < count; index++) {
        live_zone(context->live, index, &zone);
        if (strcmp(zone.site->name, request->id) == 0)
            break;
    }
    if (index == count) {
        reply_problem(reply, 404, "there is no zone '%s'", request->id);
        return;
    }
    struct scene scene;
    enum rc rc = scene_open(context, &scene);
    if (rc != RC_OK) {
        reply_rc(reply, rc);
        return;
    }
    reply_json(reply, zone_json(&scene, index, &zone));
    free(scene.alarms);
}
