/* fill.c - fills a chart from closed days and from the tail (series.h).
 *
 * Each stretch of a series is read at the coarsest rollup no wider than a bucket; where even
 * the finest is wider, from the day files. Derived quantities of the air alone are worked out
 * again from temperature and humidity there; the others keep to their finest rollup.
 */
#include <stdlib.h>

#include "base/derive.h"
#include "store/reader.h"
#include "store/store.h"

struct pairs {
    struct series *series;
    struct store_reading *t; /* owned: temperatures in order */
    size_t count, cap, at;
};

static enum rc add_reading(void *context, int64_t t_s, int32_t value, unsigned flags)
{
    (void)flags;
    return series_add(context, t_s, 1, value, value, value);
}

static enum rc keep_temperature(void *context, int64_t t_s, int32_t value, unsigned flags)
{
    struct pairs *p = context;
    if (p->count == p->cap) {
        size_t cap = p->cap == 0 ? 4096 : 2 * p->cap;
        struct store_reading *more = realloc(p->t, cap * sizeof *more);
        if (more == NULL)
            return RC_NOMEM;
        p->t = more;
        p->cap = cap;
    }
    p->t[p->count++] =
        (struct store_reading){.t_s = t_s, .value = value, .flags = (uint16_t)flags};
    return RC_OK;
}

static enum rc add_derived(void *context, int64_t t_s, int32_t value, unsigned flags)
{
    struct pairs *p = context;
    (void)flags;
    while (p->at < p->count && p->t[p->at].t_s < t_s)
        p->at++;
    int32_t derived;
    if (p->at >= p->count || p->t[p->at].t_s != t_s ||
        !derive_air(p->series->quantity, p->t[p->at].value, value, &derived))
        return RC_OK;
    return series_add(p->series, t_s, 1, derived, derived, derived);
}

/* Function types, for two readers that differ only in where they read. */
typedef enum rc each_reading(void *context, int64_t t_s, int32_t value, unsigned flags);

/* The rows of a question bound to a channel and a span, through a callback. */
static enum rc rows(struct reader *r, const char *sql, uint32_t channel, int64_t from_s,
                    int64_t to_s, unsigned more_flags, each_reading *each, void *context)
{
    sqlite3_stmt *stmt = db_sql(&r->db, sql);
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "iii", (int64_t)channel, from_s, to_s);
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        rc =
            each(context, sqlite3_column_int64(stmt, 0), (int32_t)sqlite3_column_int64(stmt, 1),
                 (unsigned)sqlite3_column_int64(stmt, 2) | more_flags);
        if (rc != RC_OK) {
            sqlite3_reset(stmt);
            return rc;
        }
    }
}

static enum rc tail_readings(struct reader *r, uint32_t channel, int64_t from_s, int64_t to_s,
                             each_reading *each, void *context)
{
    return rows(r,
                "SELECT t, value, flags FROM tail WHERE channel = ? AND t >= ? AND t < ?"
                " ORDER BY t",
                channel, from_s, to_s, 0, each, context);
}

static enum rc late_readings(struct reader *r, uint32_t channel, int64_t from_s, int64_t to_s,
                             each_reading *each, void *context)
{
    return rows(r,
                "SELECT t, value, flags FROM late WHERE channel = ? AND t >= ? AND t < ?"
                " ORDER BY t",
                channel, from_s, to_s, STORE_LATE, each, context);
}

typedef enum rc read_channel(struct reader *r, uint32_t channel, int64_t from_s, int64_t to_s,
                             each_reading *each, void *context);

/* Every stretch of a measured quantity, through one callback. */
static enum rc read_quantity(struct reader *r, uint32_t zone, enum quantity quantity,
                             int64_t from_s, int64_t to_s, read_channel *read,
                             each_reading *each, void *context)
{
    struct reader_span spans[READER_SPANS];
    size_t count;
    enum rc rc = reader_spans(r, zone, quantity, from_s, to_s, spans, &count);
    for (size_t i = 0; rc == RC_OK && i < count; i++)
        rc = read(r, spans[i].channel, spans[i].from_s, spans[i].to_s, each, context);
    return rc;
}

static enum rc fill_derived(struct reader *r, uint32_t zone, struct series *s, int64_t from_s,
                            int64_t to_s, read_channel *read)
{
    struct pairs p = {.series = s};
    enum rc rc =
        read_quantity(r, zone, QUANTITY_TEMPERATURE, from_s, to_s, read, keep_temperature, &p);
    if (rc == RC_OK)
        rc = read_quantity(r, zone, QUANTITY_HUMIDITY, from_s, to_s, read, add_derived, &p);
    free(p.t);
    return rc;
}

static enum rc fill_rollup(struct reader *r, struct series *s, const struct reader_span *span,
                           int level)
{
    int step_s = store_step_s[level];
    sqlite3_stmt *stmt =
        db_sql(&r->db, "SELECT slot, n, min, max, sum FROM rollup WHERE level ="
                       " ? AND series = ? AND slot >= ? AND slot < ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    /* A step that the span begins inside of belongs to it: its readings are this series'. */
    db_bind(stmt, "iiii", (int64_t)level, (int64_t)span->series, span->from_s / step_s,
            (span->to_s + step_s - 1) / step_s);
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        int64_t t = sqlite3_column_int64(stmt, 0) * step_s;
        rc = series_add(s, t < s->from_s ? s->from_s : t, sqlite3_column_int64(stmt, 1),
                        sqlite3_column_int64(stmt, 2), sqlite3_column_int64(stmt, 3),
                        sqlite3_column_int64(stmt, 4));
        if (rc != RC_OK) {
            sqlite3_reset(stmt);
            return rc;
        }
    }
}

enum {
    LEVEL_READINGS = -1
};

/* The coarsest level of a span not wider than a bucket, or the readings themselves. */
static int choose_level(const struct series *s, const struct reader_span *span)
{
    int finest = LEVEL_READINGS;
    for (int i = STORE_STEPS - 1; i >= 0; i--) {
        if ((span->steps & (1U << i)) == 0)
            continue;
        if (store_step_s[i] <= s->width_s)
            return i;
        finest = i;
    }
    bool from_air = s->quantity == QUANTITY_DEW_POINT ||
                    s->quantity == QUANTITY_ABSOLUTE_HUMIDITY || s->quantity == QUANTITY_EMC;
    return span->channel != 0 || from_air ? LEVEL_READINGS : finest;
}

enum rc store_series_fill(struct reader *r, uint32_t zone, struct series *s)
{
    reader_ask(r);
    struct reader_span spans[READER_SPANS];
    size_t count;
    int64_t open_s;
    enum rc rc = reader_open_from(r, &open_s);
    if (rc == RC_OK) {
        s->closed_to_s = open_s;
        rc = reader_spans(r, zone, s->quantity, s->from_s, s->to_s, spans, &count);
    }
    for (size_t i = 0; rc == RC_OK && i < count; i++) {
        struct reader_span *span = &spans[i];
        span->to_s = span->to_s < open_s ? span->to_s : open_s;
        if (span->to_s <= span->from_s)
            continue;
        int level = choose_level(s, span);
        if (level != LEVEL_READINGS && store_step_s[level] > s->step_s)
            s->step_s = store_step_s[level];
        if (level != LEVEL_READINGS)
            rc = fill_rollup(r, s, span, level);
        else if (span->channel != 0)
            rc = reader_days(r, span->channel, span->from_s, span->to_s, add_reading, s);
        else
            rc = fill_derived(r, zone, s, span->from_s, span->to_s, reader_days);
    }
    return rc;
}

enum rc store_series_tail(struct reader *r, uint32_t zone, struct series *s)
{
    reader_ask(r);
    int64_t open_s;
    enum rc rc = reader_open_from(r, &open_s);
    if (rc != RC_OK)
        return rc;
    int64_t from_s = s->from_s > open_s ? s->from_s : open_s;
    if (from_s >= s->to_s)
        return RC_OK;
    if (quantity_info(s->quantity)->kind == QUANTITY_DERIVED)
        return fill_derived(r, zone, s, from_s, s->to_s, tail_readings);
    return read_quantity(r, zone, s->quantity, from_s, s->to_s, tail_readings, add_reading, s);
}

enum rc store_readings(struct reader *r, uint32_t zone, enum quantity quantity, int64_t from_s,
                       int64_t to_s, each_reading *each, void *context)
{
    reader_ask(r);
    int64_t open_s;
    enum rc rc = reader_open_from(r, &open_s);
    int64_t closed_to = to_s < open_s ? to_s : open_s;
    if (rc == RC_OK && from_s < closed_to)
        rc = read_quantity(r, zone, quantity, from_s, closed_to, reader_days, each, context);
    int64_t open_from = from_s > open_s ? from_s : open_s;
    if (rc == RC_OK && open_from < to_s)
        rc = read_quantity(r, zone, quantity, open_from, to_s, tail_readings, each, context);
    if (rc == RC_OK)
        rc = read_quantity(r, zone, quantity, from_s, to_s, late_readings, each, context);
    return rc;
}
