/* api_series.c - a chart: one quantity of a zone over any span, and its gaps.
 *
 * Four thousand buckets are sixteen thousand numbers; they are written straight into the body,
 * as exact decimals of the stored integers, since a tree of JSON values would cost more than
 * reading them from the store.
 */
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "http/chart.h"
#include "http/handlers.h"
#include "http/pool.h"
#include "http/view.h"
#include "recorder/live.h"

enum {
    POINTS_DEFAULT = 1000,
    POINTS_MOST = 4000,
    SPAN_DEFAULT_S = 7 * CLOCK_DAY_S,
    GAPS_MOST = 1000
};

struct question {
    struct live_zone zone;
    struct chart_question chart; /* of that zone */
};

static bool parse_span(const struct query *query, struct chart_question *out,
                       struct reply *reply)
{
    const char *from = query_get(query, "from"), *to = query_get(query, "to");
    const char *points = query_get(query, "points");
    int64_t most = POINTS_DEFAULT;
    out->to_s = clock_utc_s(clock_now());
    if (to != NULL && !query_time(to, &out->to_s)) {
        reply_problem(reply, 400, "to must be UTC seconds or ISO 8601, not '%.40s'", to);
        return false;
    }
    out->from_s = out->to_s - SPAN_DEFAULT_S;
    if (from != NULL && !query_time(from, &out->from_s)) {
        reply_problem(reply, 400, "from must be UTC seconds or ISO 8601, not '%.40s'", from);
        return false;
    }
    if (out->from_s >= out->to_s) {
        reply_problem(reply, 400, "from must lie before to");
        return false;
    }
    if (points != NULL && !query_int(points, 2, POINTS_MOST, &most)) {
        reply_problem(reply, 400, "points must be a whole number from 2 to %d, not '%.40s'",
                      POINTS_MOST, points);
        return false;
    }
    out->points = (int)most;
    return true;
}

static void refuse_quantity(const char *given, struct reply *reply)
{
    struct buf names = {0};
    for (int q = 0; q < QUANTITY_COUNT; q++)
        buf_printf(&names, "%s%s", q == 0 ? "" : ", ", quantity_info((enum quantity)q)->name);
    reply_problem(reply, 400, "quantity must be one of %s; %s'%.40s'",
                  names.data != NULL ? names.data : "",
                  given != NULL ? "not " : "it is missing: ", given != NULL ? given : "");
    buf_free(&names);
}

static bool parse(struct context *context, const struct request *request, struct question *out,
                  struct reply *reply)
{
    *out = (struct question){0};
    if (!live_zone_find(context->live, request->id, &out->zone)) {
        reply_problem(reply, 404, "there is no zone '%s'", request->id);
        return false;
    }
    const char *quantity = query_get(&request->query, "quantity");
    if (quantity == NULL || !quantity_by_name(quantity, &out->chart.quantity)) {
        refuse_quantity(quantity, reply);
        return false;
    }
    if (!out->zone.has[out->chart.quantity]) {
        reply_problem(reply, 404, "the zone '%s' has no %s", request->id, quantity);
        return false;
    }
    out->chart.zone = &out->zone;
    out->chart.wait_ms = POOL_WAIT_MS;
    return parse_span(&request->query, &out->chart, reply);
}

/* 5820 with two decimals is 58.2. */
static void put_decimal(struct buf *out, int64_t value, int decimals)
{
    uint64_t u = value < 0 ? -(uint64_t)value : (uint64_t)value;
    char text[32];
    size_t at = sizeof text;
    bool begun = false;
    for (int i = 0; i < decimals; i++, u /= 10) {
        begun = begun || u % 10 != 0;
        if (begun)
            text[--at] = (char)('0' + u % 10);
    }
    if (begun)
        text[--at] = '.';
    do {
        text[--at] = (char)('0' + u % 10);
        u /= 10;
    } while (u != 0);
    if (value < 0)
        text[--at] = '-';
    buf_add(out, text + at, sizeof text - at);
}

/* Half away from zero, as values are rounded everywhere. */
static int64_t mean(const struct series_bucket *b)
{
    int64_t twice = 2 * b->sum;
    return (twice < 0 ? twice - b->n : twice + b->n) / (2 * b->n);
}

enum column {
    COLUMN_T,
    COLUMN_MIN,
    COLUMN_MEAN,
    COLUMN_MAX
};

static void put_column(struct buf *out, const struct series *s, enum column column)
{
    static const char *const names[] = {"t", "min", "mean", "max"};
    int decimals = quantity_info(s->quantity)->decimals;
    buf_printf(out, ",\"%s\":[", names[column]);
    for (size_t i = 0; i < s->count; i++) {
        const struct series_bucket *b = &s->buckets[i];
        if (i > 0)
            buf_add(out, ",", 1);
        if (column == COLUMN_T)
            buf_int(out, b->t_s);
        else
            put_decimal(out,
                        column == COLUMN_MIN    ? b->min
                        : column == COLUMN_MEAN ? mean(b)
                                                : b->max,
                        decimals);
    }
    buf_add(out, "]", 1);
}

static void put_text(struct buf *out, const char *text)
{
    json_t *string = json_string(text);
    if (string == NULL)
        out->failed = true;
    else
        json_put(out, string);
    json_decref(string);
}

static void put_gaps(struct buf *out, const struct series_gap *gaps, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        enum gap_reason reason = (enum gap_reason)gaps[i].reason;
        json_t *gap = json_object();
        json_object_set_new(gap, "from", json_integer(gaps[i].from_s));
        json_object_set_new(gap, "to", view_time(gaps[i].to_s));
        json_object_set_new(gap, "reason", json_string(gap_reason_word(reason)));
        json_object_set_new(gap, "text", view_gap_text(reason, gaps[i].detail));
        json_array_append_new(list, gap);
    }
    if (list == NULL)
        out->failed = true;
    else
        json_put(out, list);
    json_decref(list);
}

static void put_series(struct buf *out, const struct question *ask, const struct series *s,
                       const struct series_gap *gaps, size_t gap_count)
{
    const struct quantity_info *info = quantity_info(s->quantity);
    buf_str(out, "{\"zone\":");
    put_text(out, ask->zone.site->name);
    buf_printf(out, ",\"quantity\":\"%s\",\"unit\":", info->name);
    put_text(out, info->unit);
    buf_str(out, ",\"from\":");
    buf_int(out, s->from_s);
    buf_str(out, ",\"to\":");
    buf_int(out, s->to_s);
    buf_str(out, ",\"step\":");
    buf_int(out, s->width_s);
    put_column(out, s, COLUMN_T);
    put_column(out, s, COLUMN_MIN);
    put_column(out, s, COLUMN_MEAN);
    put_column(out, s, COLUMN_MAX);
    buf_str(out, ",\"gaps\":");
    put_gaps(out, gaps, gap_count);
    buf_str(out, "}");
}

void api_series_get(struct context *context, const struct request *request, struct reply *reply)
{
    struct question ask;
    if (!parse(context, request, &ask, reply))
        return;
    struct series series = {0};
    struct series_gap *gaps = calloc(GAPS_MOST, sizeof *gaps);
    size_t gap_count = 0;
    enum rc rc = gaps == NULL
                     ? RC_NOMEM
                     : chart_fetch(context, &ask.chart, &series, gaps, GAPS_MOST, &gap_count);
    if (rc == RC_OK) {
        put_series(&reply->body, &ask, &series, gaps, gap_count);
        reply_text(reply, "application/json");
    } else {
        reply_rc(reply, rc);
    }
    series_free(&series);
    free(gaps);
}
