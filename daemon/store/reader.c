/* reader.c - read-only connections and the stretches of a zone's series (series.h, reader.h). */
#include "store/reader.h"

#include <stdlib.h>

#include "base/clock.h"
#include "store/dayfile.h"
#include "store/pack.h"

enum rc reader_open(const char *path, struct reader **out)
{
    struct reader *r = calloc(1, sizeof *r);
    if (r == NULL)
        return RC_NOMEM;
    enum rc rc = db_open(path, DB_READER, &r->db);
    if (rc != RC_OK) {
        reader_close(r);
        return rc;
    }
    *out = r;
    return RC_OK;
}

void reader_close(struct reader *r)
{
    if (r == NULL)
        return;
    db_close(&r->db);
    buf_free(&r->text);
    buf_free(&r->other);
    free(r);
}

void reader_bound_ms(struct reader *r, int64_t ms)
{
    r->bound_ms = ms;
}

void reader_ask(struct reader *r)
{
    r->db.deadline_ms = r->bound_ms == 0 ? 0 : clock_now().mono_ms + r->bound_ms;
}

enum rc reader_open_from(struct reader *r, int64_t *out_s)
{
    int64_t day;
    enum rc rc = db_int(&r->db, "SELECT value FROM meta WHERE key = 'open_day'", 0, &day);
    if (rc == RC_OK)
        *out_s = day * CLOCK_DAY_S;
    return rc;
}

/* One row of the question below into a span; false if there is room for no more. */
static bool take(sqlite3_stmt *stmt, int64_t from_s, int64_t to_s, struct reader_span *out)
{
    *out = (struct reader_span){.series = (uint32_t)sqlite3_column_int64(stmt, 0),
                                .channel = (uint32_t)sqlite3_column_int64(stmt, 1),
                                .steps = (unsigned)sqlite3_column_int64(stmt, 2),
                                .every_s = (int)sqlite3_column_int64(stmt, 3),
                                .from_s = sqlite3_column_int64(stmt, 4),
                                .to_s = sqlite3_column_int64(stmt, 5)};
    out->from_s = out->from_s > from_s ? out->from_s : from_s;
    out->to_s = out->to_s < to_s ? out->to_s : to_s;
    return out->to_s > out->from_s;
}

enum rc reader_spans(struct reader *r, uint32_t zone, enum quantity quantity, int64_t from_s,
                     int64_t to_s, struct reader_span *out, size_t *out_count)
{
    static const char measured[] =
        "SELECT s.id, s.channel, s.steps, s.every_s, max(z.from_t, s.from_t),"
        " min(coalesce(z.to_t, 1 << 60), coalesce(s.to_t, 1 << 60))"
        " FROM zone_channel z JOIN series s ON s.channel = z.channel AND s.zone = 0"
        " WHERE z.zone = ?1 AND z.quantity = ?2 ORDER BY 5";
    static const char derived[] =
        "SELECT id, 0, steps, every_s, from_t, coalesce(to_t, 1 << 60) FROM series"
        " WHERE zone = ?1 AND quantity = ?2 AND channel = 0 ORDER BY 5";
    const struct quantity_info *q = quantity_info(quantity);
    sqlite3_stmt *stmt = db_sql(&r->db, q->kind == QUANTITY_DERIVED ? derived : measured);
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "it", (int64_t)zone, q->name);
    size_t seen = 0, count = 0;
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK)
            return rc;
        if (!row)
            break;
        seen++;
        if (count < READER_SPANS && take(stmt, from_s, to_s, &out[count]))
            count++;
    }
    if (seen == 0)
        return RC_NOT_FOUND;
    *out_count = count;
    return RC_OK;
}

enum rc reader_days(struct reader *r, uint32_t channel, int64_t from_s, int64_t to_s,
                    enum rc (*each)(void *context, int64_t t_s, int32_t value, unsigned flags),
                    void *context)
{
    sqlite3_stmt *stmt = db_sql(&r->db, "SELECT size, data FROM day WHERE channel = ? AND day"
                                        " >= ? AND day <= ? ORDER BY day");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "iii", (int64_t)channel, clock_day_of(from_s), clock_day_of(to_s - 1));
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        rc = pack_undo(sqlite3_column_blob(stmt, 1), (size_t)sqlite3_column_bytes(stmt, 1),
                       (size_t)sqlite3_column_int64(stmt, 0), &r->text);
        struct dayfile_cursor c = {.at = r->text.data, .end = r->text.data + r->text.len};
        int64_t t;
        int32_t value;
        unsigned flags;
        while (rc == RC_OK && dayfile_next(&c, &t, &value, &flags))
            if (t >= from_s && t < to_s)
                rc = each(context, t, value, flags);
        if (rc == RC_OK && c.bad)
            rc = RC_CORRUPT;
        if (rc != RC_OK) {
            sqlite3_reset(stmt);
            return rc;
        }
    }
}
