/* questions.c - gaps, alarms and sums that pages and reports ask for (series.h). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store/reader.h"
#include "store/store.h"

static int longest_first(const void *a, const void *b)
{
    const struct series_gap *x = a, *y = b;
    int64_t lx = x->to_s == 0 ? INT64_MAX : x->to_s - x->from_s;
    int64_t ly = y->to_s == 0 ? INT64_MAX : y->to_s - y->from_s;
    return lx < ly ? 1 : lx > ly ? -1 : 0;
}

static int earliest_first(const void *a, const void *b)
{
    const struct series_gap *x = a, *y = b;
    if (x->from_s != y->from_s)
        return x->from_s < y->from_s ? -1 : 1;
    if (x->to_s != y->to_s)
        return x->to_s < y->to_s ? -1 : 1;
    return (int)x->reason - (int)y->reason;
}

/* A gap over the seam of two stretches is met in both. */
static size_t drop_doubles(struct series_gap *gaps, size_t count)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        if (kept == 0 || earliest_first(&gaps[kept - 1], &gaps[i]) != 0)
            gaps[kept++] = gaps[i];
    return kept;
}

struct gap_list {
    struct series_gap *items; /* owned */
    size_t count, cap;
};

static enum rc gap_add(struct gap_list *l, const struct series_gap *gap)
{
    if (l->count == l->cap) {
        size_t cap = l->cap == 0 ? 64 : 2 * l->cap;
        struct series_gap *more = realloc(l->items, cap * sizeof *more);
        if (more == NULL)
            return RC_NOMEM;
        l->items = more;
        l->cap = cap;
    }
    l->items[l->count++] = *gap;
    return RC_OK;
}

static enum rc gaps_of_channel(struct reader *r, const struct reader_span *span,
                               struct gap_list *l)
{
    sqlite3_stmt *stmt =
        db_sql(&r->db, "SELECT from_t, coalesce(to_t, 0), reason, detail FROM"
                       " gap WHERE channel = ? AND from_t < ? AND (to_t IS NULL"
                       " OR to_t > ?) ORDER BY from_t");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "iii", (int64_t)span->channel, span->to_s, span->from_s);
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        struct series_gap g = {.from_s = sqlite3_column_int64(stmt, 0),
                               .to_s = sqlite3_column_int64(stmt, 1),
                               .reason = (uint8_t)sqlite3_column_int64(stmt, 2),
                               .detail = (uint8_t)sqlite3_column_int64(stmt, 3)};
        rc = gap_add(l, &g);
        if (rc != RC_OK) {
            sqlite3_reset(stmt);
            return rc;
        }
    }
}

enum rc store_gaps(struct reader *r, uint32_t zone, enum quantity quantity, int64_t from_s,
                   int64_t to_s, size_t max, struct series_gap *out, size_t *out_count)
{
    reader_ask(r);
    /* What is derived from the air is missing where the humidity is. */
    enum quantity measured =
        quantity_info(quantity)->kind == QUANTITY_DERIVED ? QUANTITY_HUMIDITY : quantity;
    struct reader_span spans[READER_SPANS];
    size_t count;
    struct gap_list l = {0};
    enum rc rc = reader_spans(r, zone, measured, from_s, to_s, spans, &count);
    for (size_t i = 0; rc == RC_OK && i < count; i++)
        rc = gaps_of_channel(r, &spans[i], &l);
    if (rc == RC_OK) {
        if (l.count > 0)
            qsort(l.items, l.count, sizeof *l.items, earliest_first);
        l.count = drop_doubles(l.items, l.count);
        if (l.count > max) {
            qsort(l.items, l.count, sizeof *l.items, longest_first);
            l.count = max;
            qsort(l.items, l.count, sizeof *l.items, earliest_first);
        }
        for (size_t i = 0; i < l.count; i++)
            out[i] = l.items[i];
        *out_count = l.count;
    }
    free(l.items);
    return rc;
}

static void copy_text(sqlite3_stmt *stmt, int column, char *out, size_t size)
{
    const char *text = (const char *)sqlite3_column_text(stmt, column);
    snprintf(out, size, "%s", text == NULL ? "" : text);
}

static double real_or_nan(sqlite3_stmt *stmt, int column)
{
    if (sqlite3_column_type(stmt, column) == SQLITE_NULL)
        return (double)NAN;
    return sqlite3_column_double(stmt, column);
}

enum rc store_alarms(struct reader *r, uint32_t zone, int64_t from_s, int64_t to_s, size_t max,
                     struct series_alarm *out, size_t *out_count)
{
    reader_ask(r);
    /* An occurrence begins with the event whose id it bears; it lasts until the condition is
     * over (state returned or normal), whoever acknowledged what in between. The worst value
     * is the furthest that any of its events saw. */
    sqlite3_stmt *stmt = db_sql(
        &r->db,
        "SELECT f.id, f.t, (SELECT min(e.t) FROM alarm_event e WHERE e.occurrence = f.id AND"
        " e.to_state IN (0, 3)), f.limit_name, coalesce(f.zone, 0), f.priority,"
        " (SELECT e.to_state FROM alarm_event e WHERE e.occurrence = f.id ORDER BY e.id DESC"
        " LIMIT 1), coalesce((SELECT a.worst FROM alarm a WHERE a.occurrence = f.id),"
        " (SELECT e.value FROM alarm_event e WHERE e.occurrence = f.id AND e.to_state IN (0, 3)"
        " ORDER BY e.id DESC LIMIT 1), f.value)"
        " FROM alarm_event f WHERE f.occurrence = f.id AND f.t < ?2 AND (?3 = 0 OR f.zone = ?3)"
        " AND (f.t >= ?1 OR coalesce((SELECT min(e.t) FROM alarm_event e WHERE e.occurrence ="
        " f.id AND e.to_state IN (0, 3)), ?2) > ?1) ORDER BY f.t DESC, f.id DESC LIMIT ?4");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "iiii", from_s, to_s, (int64_t)zone, (int64_t)max);
    size_t count = 0;
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK)
            return rc;
        if (!row)
            break;
        struct series_alarm *a = &out[count++];
        *a = (struct series_alarm){.id = sqlite3_column_int64(stmt, 0),
                                   .since_s = sqlite3_column_int64(stmt, 1),
                                   .until_s = sqlite3_column_int64(stmt, 2),
                                   .zone = (uint32_t)sqlite3_column_int64(stmt, 4),
                                   .priority = (uint8_t)sqlite3_column_int64(stmt, 5),
                                   .state = (uint8_t)sqlite3_column_int64(stmt, 6),
                                   .worst = real_or_nan(stmt, 7)};
        copy_text(stmt, 3, a->limit, sizeof a->limit);
    }
    *out_count = count;
    return RC_OK;
}

enum rc store_alarm_history(struct reader *r, int64_t id, size_t max,
                            struct series_transition *out, size_t *out_count)
{
    reader_ask(r);
    sqlite3_stmt *stmt = db_sql(&r->db, "SELECT t, from_state, to_state, value, person, reason"
                                        " FROM alarm_event WHERE occurrence = ? ORDER BY id"
                                        " LIMIT ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "ii", id, (int64_t)max);
    size_t count = 0;
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK)
            return rc;
        if (!row)
            break;
        struct series_transition *t = &out[count++];
        *t = (struct series_transition){.t_s = sqlite3_column_int64(stmt, 0),
                                        .from = (uint8_t)sqlite3_column_int64(stmt, 1),
                                        .to = (uint8_t)sqlite3_column_int64(stmt, 2),
                                        .value = real_or_nan(stmt, 3)};
        copy_text(stmt, 4, t->person, sizeof t->person);
        copy_text(stmt, 5, t->reason, sizeof t->reason);
    }
    if (count == 0)
        return RC_NOT_FOUND;
    *out_count = count;
    return RC_OK;
}

enum rc store_zone_first(struct reader *r, uint32_t zone, int64_t *out_s)
{
    reader_ask(r);
    sqlite3_stmt *stmt = db_sql(
        &r->db, "SELECT min(coalesce((SELECT min(day) * 86400 FROM day d WHERE d.channel ="
                " z.channel AND (d.day + 1) * 86400 > z.from_t AND d.n > 0),"
                " (SELECT min(t) FROM tail t WHERE t.channel = z.channel AND t.t >= z.from_t)))"
                " FROM zone_channel z WHERE z.zone = ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "i", (int64_t)zone);
    bool row;
    enum rc rc = db_step(&r->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    *out_s = row ? sqlite3_column_int64(stmt, 0) : 0;
    sqlite3_reset(stmt);
    return RC_OK;
}

/* Hours of one stretch: rollups of a finest step, each weighted by how full it is. */
static enum rc damp_of_span(struct reader *r, const struct reader_span *span, double hours[3],
                            double *covered)
{
    int level = STORE_STEPS - 1;
    for (int i = STORE_STEPS - 1; i >= 0; i--)
        if ((span->steps & (1U << i)) != 0)
            level = i;
    sqlite3_stmt *stmt =
        db_sql(&r->db, "SELECT total(n * (sum >= 6500 * n)), total(n * (sum >= 7500 * n)),"
                       " total(n * (sum >= 8000 * n)), total(n) FROM rollup"
                       " WHERE level = ? AND series = ? AND slot >= ? AND slot < ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "iiii", (int64_t)level, (int64_t)span->series,
            span->from_s / store_step_s[level], span->to_s / store_step_s[level]);
    bool row;
    enum rc rc = db_step(&r->db, stmt, &row);
    if (rc != RC_OK || !row)
        return rc;
    double per_reading_h = span->every_s / 3600.0;
    for (int i = 0; i < 3; i++)
        hours[i] += sqlite3_column_double(stmt, i) * per_reading_h;
    *covered += sqlite3_column_double(stmt, 3) * per_reading_h;
    sqlite3_reset(stmt);
    return RC_OK;
}

enum rc store_damp_hours(struct reader *r, uint32_t zone, int64_t from_s, int64_t to_s,
                         double out_hours[3], double *out_covered)
{
    reader_ask(r);
    struct reader_span spans[READER_SPANS];
    size_t count;
    double hours[3] = {0}, covered = 0;
    enum rc rc = reader_spans(r, zone, QUANTITY_HUMIDITY, from_s, to_s, spans, &count);
    for (size_t i = 0; rc == RC_OK && i < count; i++)
        rc = damp_of_span(r, &spans[i], hours, &covered);
    if (rc != RC_OK)
        return rc;
    for (int i = 0; i < 3; i++)
        out_hours[i] = hours[i];
    *out_covered = covered;
    return RC_OK;
}

enum rc store_zone_id(struct reader *r, const char *name, uint32_t *out_id, struct buf *names)
{
    reader_ask(r);
    sqlite3_stmt *stmt = db_sql(&r->db, "SELECT id, name FROM zone ORDER BY id");
    bool found = false;
    if (stmt == NULL)
        return RC_CORRUPT;
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK)
            return rc;
        if (!row)
            return found ? RC_OK : RC_NOT_FOUND;
        const char *this_name = (const char *)sqlite3_column_text(stmt, 1);
        if (strcmp(this_name, name) == 0) {
            *out_id = (uint32_t)sqlite3_column_int64(stmt, 0);
            found = true;
        }
        buf_printf(names, "%s%s", names->len > 0 ? ", " : "", this_name);
    }
}
