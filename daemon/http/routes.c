/* routes.c - see routes.h. */
#include "http/routes.h"

#include <string.h>

#include "http/handlers.h"
#include "http/query.h"

static const struct route_parameter none[] = {{.name = NULL}};

static const struct route_parameter of_series[] = {
    {"quantity", "{'$ref':'#/components/schemas/Quantity'}", "What to draw.", true},
    {"from", "{'$ref':'#/components/schemas/Moment'}",
     "First moment of the span; seven days before its end if not given.", false},
    {"to", "{'$ref':'#/components/schemas/Moment'}",
     "Moment behind the span's last; now if not given.", false},
    {"points", "{'type':'integer','minimum':2,'maximum':4000,'default':1000}",
     "The most buckets to give.", false},
    {.name = NULL},
};

static const struct route_parameter of_alarms[] = {
    {"state", "{'enum':['active','all'],'default':'active'}",
     "active: those that are not normal now; all: those that were raised in the span too.",
     false},
    {"from", "{'$ref':'#/components/schemas/Moment'}",
     "Only alarms that touch the span from here on.", false},
    {"to", "{'$ref':'#/components/schemas/Moment'}", "Only alarms raised before this moment.",
     false},
    {"zone", "{'type':'string'}", "Only alarms of the zone with this id.", false},
    {.name = NULL},
};

#define JSON_TYPE "application/json"
#define METRICS_TYPE "application/openmetrics-text; version=1.0.0; charset=utf-8"

const struct route routes_table[] = {
    {"GET", "/api/v1/studio", api_studio_get, "studio",
     "The studio, its clock and the state of recording.", JSON_TYPE, "Studio", none},
    {"GET", "/api/v1/zones", api_zones_list, "zones",
     "Every zone with its latest readings, limits and alarms.", JSON_TYPE, "Zones", none},
    {"GET", "/api/v1/zones/{id}", api_zones_one, "zone", "One zone.", JSON_TYPE, "Zone", none},
    {"GET", "/api/v1/zones/{id}/series", api_series_get, "series",
     "One quantity of a zone over a span, as an envelope of buckets, with its gaps.", JSON_TYPE,
     "Series", of_series},
    {"GET", "/api/v1/alarms", api_alarms_list, "alarms", "Alarms, newest first, at most 500.",
     JSON_TYPE, "Alarms", of_alarms},
    {"GET", "/api/v1/alarms/{id}/history", api_alarms_history, "alarm_history",
     "The changes of state of one alarm, in order.", JSON_TYPE, "AlarmHistory", none},
    {"GET", "/api/v1/instruments", api_instruments_list, "instruments",
     "Every instrument, and whether it answers.", JSON_TYPE, "Instruments", none},
    {"GET", "/api/v1/events", events_get, "events",
     "Server-Sent Events: hello at once, readings after each commit (data as in Readings), "
     "alarm at each change (data as in Alarm), a comment every 15 s.",
     "text/event-stream", NULL, none},
    {"GET", "/api/v1/openapi.json", openapi_get, "openapi", "This document.", JSON_TYPE,
     "Document", none},
    {"GET", "/metrics", metrics_get, "metrics", "Figures for monitoring, as OpenMetrics text.",
     METRICS_TYPE, NULL, none},
    {"GET", "/healthz", api_studio_health, "health",
     "200 while readings are recorded, else 503.", JSON_TYPE, "Health", none},
};
const size_t routes_count = sizeof routes_table / sizeof routes_table[0];

/* Compares segment by segment; *id is the segment that stood for {id}. */
static bool matches(const char *pattern, const char *path, const char **id, size_t *id_len)
{
    while (*pattern == '/' && *path == '/') {
        pattern++;
        path++;
        size_t wanted = strcspn(pattern, "/"), got = strcspn(path, "/");
        if (pattern[0] == '{') {
            if (got == 0)
                return false;
            *id = path;
            *id_len = got;
        } else if (wanted != got || strncmp(pattern, path, got) != 0) {
            return false;
        }
        pattern += wanted;
        path += got;
    }
    return *pattern == '\0' && *path == '\0';
}

static bool answers(const struct route *route, const char *method)
{
    return strcmp(route->method, method) == 0 ||
           (strcmp(method, "HEAD") == 0 && strcmp(route->method, "GET") == 0);
}

const struct route *routes_find(const char *method, const char *path, char *id, size_t id_size,
                                bool *out_known)
{
    bool known = false;
    for (size_t i = 0; i < routes_count; i++) {
        const struct route *route = &routes_table[i];
        const char *raw = "";
        size_t raw_len = 0;
        if (!matches(route->pattern, path, &raw, &raw_len) ||
            !query_unescape(raw, raw_len, id, id_size))
            continue;
        if (answers(route, method))
            return route;
        known = true;
    }
    *out_known = known;
    return NULL;
}
