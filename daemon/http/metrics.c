/* metrics.c - the figures for monitoring, as OpenMetrics 1.0 text. */
#include <math.h>
#include <stdlib.h>

#include "base/clock.h"
#include "http/guard.h"
#include "http/handlers.h"
#include "http/view.h"
#include "recorder/live.h"

#define PREFIX "stillroom_"

static void family(struct buf *out, const char *name, const char *type, const char *unit,
                   const char *help)
{
    buf_printf(out, "# TYPE " PREFIX "%s %s\n", name, type);
    if (unit != NULL)
        buf_printf(out, "# UNIT " PREFIX "%s %s\n", name, unit);
    buf_printf(out, "# HELP " PREFIX "%s %s\n", name, help);
}

static void gauge(struct buf *out, const char *name, const char *unit, const char *help,
                  int64_t value)
{
    family(out, name, "gauge", unit, help);
    buf_printf(out, PREFIX "%s %lld\n", name, (long long)value);
}

static void counter(struct buf *out, const char *name, const char *help, uint64_t value)
{
    family(out, name, "counter", NULL, help);
    buf_printf(out, PREFIX "%s_total %llu\n", name, (unsigned long long)value);
}

/* name="value" with what the format wants escaped. */
static void label(struct buf *out, const char *before, const char *name, const char *value)
{
    buf_printf(out, "%s%s=\"", before, name);
    for (; *value != '\0'; value++) {
        if (*value == '\n')
            buf_str(out, "\\n");
        else if (*value == '"' || *value == '\\')
            buf_printf(out, "\\%c", *value);
        else
            buf_add(out, value, 1);
    }
    buf_str(out, "\"");
}

static void recording(struct buf *out, const struct live_status *s)
{
    counter(out, "readings", "Readings recorded since the start.", s->readings);
    counter(out, "gaps", "Gaps begun since the start.", s->gaps);
    counter(out, "late_readings", "Readings that came with a time already passed.", s->late);
    counter(out, "overflowed_readings",
            "Readings lost since they could not be written in time.", s->overflowed);
    counter(out, "commits", "Times that what was recorded became visible.", s->generation);
    gauge(out, "queue_readings", NULL, "Readings waiting for the recorder.",
          (int64_t)s->queued);
    gauge(out, "writing", NULL, "1 while readings can be written, else 0.", s->writing);
    gauge(out, "clock_good", NULL, "1 while the clock is kept right or trusted, else 0.",
          s->clock == LIVE_CLOCK_GOOD || s->clock == LIVE_CLOCK_TRUSTED);
    gauge(out, "start_timestamp_seconds", "seconds", "When recording began, UTC.",
          s->started_s);
    gauge(out, "last_commit_timestamp_seconds", "seconds",
          "When readings were last written, UTC.", s->last_commit_s);
    gauge(out, "signed_days", NULL, "Days that are closed and signed.",
          (int64_t)s->signed_days);
    gauge(out, "messages_waiting", NULL, "Messages that wait to be sent.",
          (int64_t)s->messages_waiting);
    gauge(out, "messages_given_up", NULL,
          "Messages of the last thirty days that a week of tries did not deliver.",
          (int64_t)s->messages_given_up);
}

static void instrument_labels(struct buf *out, const struct live_instrument *in)
{
    label(out, "{", "instrument", in->site->name);
    label(out, ",", "zone", in->site->zone->name);
    label(out, ",", "bus", in->site->bus->name);
    buf_str(out, "} ");
}

enum instrument_figure {
    FIGURE_POLLS,
    FIGURE_FAILURES,
    FIGURE_READING,
    FIGURE_AGE
};

static void instruments(struct buf *out, struct live *live, enum instrument_figure figure,
                        int64_t now_s)
{
    static const struct {
        const char *name, *suffix, *type, *unit, *help;
    } rows[] = {
        [FIGURE_POLLS] = {"instrument_polls", "_total", "counter", NULL,
                          "Times the instrument was asked since the start."},
        [FIGURE_FAILURES] = {"instrument_failures", "_total", "counter", NULL,
                             "Times it gave no value since the start."},
        [FIGURE_READING] = {"instrument_reading", "", "gauge", NULL,
                            "1 while it gives its values, else 0."},
        [FIGURE_AGE] = {"instrument_last_reading_age_seconds", "", "gauge", "seconds",
                        "Age of its last reading; absent if there never was one."},
    };
    family(out, rows[figure].name, rows[figure].type, rows[figure].unit, rows[figure].help);
    for (size_t i = 0; i < live_instrument_count(live); i++) {
        struct live_instrument in;
        live_instrument(live, i, &in);
        int64_t value = 0;
        switch (figure) {
        case FIGURE_POLLS:
            value = (int64_t)in.polls;
            break;
        case FIGURE_FAILURES:
            value = (int64_t)in.failures;
            break;
        case FIGURE_READING:
            value = in.quiet == GAP_NONE && in.last_s != 0;
            break;
        case FIGURE_AGE:
            value = now_s - in.last_s;
            break;
        }
        if (figure == FIGURE_AGE && in.last_s == 0)
            continue;
        buf_printf(out, PREFIX "%s%s", rows[figure].name, rows[figure].suffix);
        instrument_labels(out, &in);
        buf_printf(out, "%lld\n", (long long)value);
    }
}

static void zones(struct buf *out, struct live *live)
{
    static const struct {
        enum quantity quantity;
        const char *name, *unit, *help;
    } rows[] = {
        {QUANTITY_TEMPERATURE, "zone_temperature_celsius", "celsius", "Air temperature."},
        {QUANTITY_HUMIDITY, "zone_humidity_percent", "percent", "Relative humidity."},
        {QUANTITY_SURFACE_TEMPERATURE, "zone_surface_temperature_celsius", "celsius",
         "Surface temperature."},
        {QUANTITY_WOOD_MOISTURE, "zone_wood_moisture_percent", "percent",
         "Wood moisture as metered."},
        {QUANTITY_DEW_POINT, "zone_dew_point_celsius", "celsius", "Dew point, calculated."},
        {QUANTITY_MOULD_INDEX, "zone_mould_index", NULL,
         "Mould index, calculated for clean material; not a clearance."},
    };
    for (size_t r = 0; r < sizeof rows / sizeof *rows; r++) {
        family(out, rows[r].name, "gauge", rows[r].unit, rows[r].help);
        for (size_t i = 0; i < live_zone_count(live); i++) {
            struct live_zone zone;
            live_zone(live, i, &zone);
            const struct live_value *v = &zone.now[rows[r].quantity];
            if (!v->known || !v->fresh)
                continue;
            buf_printf(out, PREFIX "%s", rows[r].name);
            label(out, "{", "zone", zone.site->name);
            buf_printf(out, "} %.9g\n", quantity_decode(rows[r].quantity, v->value));
        }
    }
}

static void alarms(struct buf *out, const struct live_alarm *list, size_t count)
{
    size_t by_state[ALARM_OUT_OF_SERVICE + 1] = {0};
    for (size_t i = 0; i < count; i++)
        by_state[list[i].state]++;
    family(out, "alarms", "gauge", NULL, "Alarms that are not normal, by their state.");
    for (int s = ALARM_UNACKNOWLEDGED; s <= ALARM_OUT_OF_SERVICE; s++)
        buf_printf(out, PREFIX "alarms{state=\"%s\"} %zu\n",
                   alarm_state_word((enum alarm_state)s), by_state[s]);

    family(out, "alarm_since_timestamp_seconds", "gauge", "seconds",
           "Since when an alarm is not normal, UTC.");
    for (size_t i = 0; i < count; i++) {
        const struct live_alarm *a = &list[i];
        const struct site_zone *zone = view_limit_zone(a->limit);
        buf_str(out, PREFIX "alarm_since_timestamp_seconds");
        label(out, "{", "limit", a->limit->name);
        label(out, ",", "zone", zone != NULL ? zone->name : "");
        label(out, ",", "priority", site_priority_word(a->limit->priority));
        label(out, ",", "state", alarm_state_word(a->state));
        buf_printf(out, "} %lld\n", (long long)a->since_s);
    }
}

static void server(struct buf *out, struct context *context)
{
    struct guard_counts counts;
    guard_counts(context->guard, &counts);
    gauge(out, "http_connections", NULL, "Open connections.", (int64_t)counts.connections);
    gauge(out, "http_event_streams", NULL, "Open event streams.", (int64_t)counts.streams);
    counter(out, "http_accepted_connections", "Connections accepted since the start.",
            counts.accepted);
    counter(out, "http_shut_connections",
            "Connections shut since the start for being slow or too many.", counts.shut);
    family(out, "http_answers", "counter", NULL, "Answers since the start, by first digit.");
    for (int c = 2; c <= 5; c++)
        buf_printf(out, PREFIX "http_answers_total{status=\"%dxx\"} %llu\n", c,
                   atomic_load(&context->answered[c]));
}

void metrics_get(struct context *context, const struct request *request, struct reply *reply)
{
    (void)request;
    struct live_alarm *list = NULL;
    size_t count = 0;
    enum rc rc = view_alarms_now(context->live, &list, &count);
    if (rc != RC_OK) {
        reply_rc(reply, rc);
        return;
    }
    struct live_status status;
    live_status(context->live, &status);
    struct buf *out = &reply->body;
    family(out, "build", "info", NULL, "What runs here.");
    buf_str(out, PREFIX "build_info");
    label(out, "{", "version", context->version);
    buf_str(out, "} 1\n");
    recording(out, &status);
    for (int f = FIGURE_POLLS; f <= FIGURE_AGE; f++)
        instruments(out, context->live, (enum instrument_figure)f, clock_utc_s(clock_now()));
    zones(out, context->live);
    alarms(out, list, count);
    server(out, context);
    buf_str(out, "# EOF\n");
    reply_text(reply, "application/openmetrics-text; version=1.0.0; charset=utf-8");
    free(list);
}
