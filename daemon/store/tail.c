/* tail.c - readings of open days, gaps, alarms: what a batch writes (store.h). */
#include "store/store_private.h"

#include <math.h>

enum rc store_tail_put(struct store *s, const struct store_reading *r)
{
    /* Bound by hand: this is the line that runs for every reading of every instrument. */
    sqlite3_stmt *stmt =
        db_sql(&s->db, "INSERT INTO tail(seq, channel, t, value, flags) VALUES(?, ?, ?, ?, ?)");
    if (stmt == NULL)
        return RC_CORRUPT;
    sqlite3_bind_int64(stmt, 1, s->next_seq);
    sqlite3_bind_int64(stmt, 2, r->channel);
    sqlite3_bind_int64(stmt, 3, r->t_s);
    sqlite3_bind_int64(stmt, 4, r->value);
    sqlite3_bind_int64(stmt, 5, r->flags);
    int code = sqlite3_step(stmt);
    if (code != SQLITE_DONE)
        return db_error(&s->db, code, "writing a reading");
    s->next_seq++;
    return RC_OK;
}

enum rc store_late_put(struct store *s, const struct store_reading *r, int64_t received_s,
                       int64_t day)
{
    return db_run(&s->db,
                  "INSERT INTO late(channel, t, value, flags, received, day)"
                  " VALUES(?,?,?,?,?,?)",
                  "iiiiii", (int64_t)r->channel, r->t_s, (int64_t)r->value, (int64_t)r->flags,
                  received_s, day);
}

enum rc store_late_adopt(struct store *s, int64_t day)
{
    return db_run(&s->db, "UPDATE late SET day = ? WHERE day = 0", "i", day);
}

enum rc store_tail_each(struct store *s, int64_t from_s,
                        void (*each)(void *context, const struct store_reading *r),
                        void *context)
{
    sqlite3_stmt *stmt =
        db_sql(&s->db, "SELECT channel, t, value, flags FROM tail WHERE t >= ? ORDER BY seq");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "i", from_s);
    for (;;) {
        bool row;
        enum rc rc = db_step(&s->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        struct store_reading r = {.channel = (uint32_t)sqlite3_column_int64(stmt, 0),
                                  .t_s = sqlite3_column_int64(stmt, 1),
                                  .value = (int32_t)sqlite3_column_int64(stmt, 2),
                                  .flags = (uint16_t)sqlite3_column_int64(stmt, 3)};
        each(context, &r);
    }
}

enum rc store_tail_channels(struct store *s,
                            void (*each)(void *context, uint32_t channel,
                                         enum quantity quantity, uint32_t series,
                                         unsigned steps, int every_s),
                            void *context)
{
    sqlite3_stmt *stmt = db_sql(
        &s->db, "SELECT c.id, c.quantity, s.id, s.steps, s.every_s FROM channel c JOIN series s"
                " ON s.channel = c.id AND s.zone = 0 AND s.to_t IS NULL WHERE c.id IN"
                " (SELECT DISTINCT channel FROM tail) ORDER BY c.id");
    if (stmt == NULL)
        return RC_CORRUPT;
    for (;;) {
        bool row;
        enum rc rc = db_step(&s->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        enum quantity q;
        if (quantity_by_name((const char *)sqlite3_column_text(stmt, 1), &q))
            each(context, (uint32_t)sqlite3_column_int64(stmt, 0), q,
                 (uint32_t)sqlite3_column_int64(stmt, 2),
                 (unsigned)sqlite3_column_int64(stmt, 3), (int)sqlite3_column_int64(stmt, 4));
    }
}

enum rc store_tail_cut(struct store *s, int64_t before_s)
{
    return db_run(&s->db, "DELETE FROM tail WHERE t < ?", "i", before_s);
}

enum rc store_gap_open(struct store *s, uint32_t channel, int64_t from_s, unsigned reason,
                       unsigned detail, int64_t *out_id)
{
    enum rc rc =
        db_run(&s->db, "INSERT INTO gap(channel, from_t, reason, detail) VALUES(?,?,?,?)",
               "iiii", (int64_t)channel, from_s, (int64_t)reason, (int64_t)detail);
    if (rc == RC_OK)
        *out_id = sqlite3_last_insert_rowid(s->db.handle);
    return rc;
}

enum rc store_gap_close(struct store *s, int64_t id, int64_t to_s)
{
    return db_run(&s->db, "UPDATE gap SET to_t = ? WHERE id = ?", "ii", to_s, id);
}

enum rc store_gap_forget(struct store *s, int64_t id)
{
    return db_run(&s->db, "DELETE FROM gap WHERE id = ? AND to_t IS NULL", "i", id);
}

enum rc store_gaps_open(struct store *s,
                        void (*each)(void *context, const struct store_gap *gap), void *context)
{
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT id, channel, from_t, reason, detail FROM gap"
                                        " WHERE to_t IS NULL ORDER BY id");
    if (stmt == NULL)
        return RC_CORRUPT;
    for (;;) {
        bool row;
        enum rc rc = db_step(&s->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        struct store_gap g = {.id = sqlite3_column_int64(stmt, 0),
                              .channel = (uint32_t)sqlite3_column_int64(stmt, 1),
                              .from_s = sqlite3_column_int64(stmt, 2),
                              .reason = (unsigned)sqlite3_column_int64(stmt, 3),
                              .detail = (unsigned)sqlite3_column_int64(stmt, 4)};
        each(context, &g);
    }
}

enum rc store_clock_step(struct store *s, int64_t t_s, int64_t step_ms)
{
    return db_run(&s->db, "INSERT INTO clock_step(t, step_ms) VALUES(?, ?)", "ii", t_s,
                  step_ms);
}

/* SQLite keeps NaN as NULL, which is what "no value" is here. */
enum rc store_alarm_put(struct store *s, struct store_alarm *a,
                        const struct store_alarm_event *e)
{
    enum rc rc =
        db_run(&s->db,
               "INSERT INTO alarm_event(occurrence, limit_name, zone, priority, t,"
               " from_state, to_state, value, person, reason)"
               " VALUES(?,?,nullif(?,0),?,?,?,?,?,?,?)",
               "itiiiiidtt", a->occurrence, a->limit, (int64_t)e->zone, (int64_t)a->priority,
               e->t_s, (int64_t)e->from, (int64_t)e->to, e->value, e->person, e->reason);
    if (rc != RC_OK)
        return rc;
    if (a->occurrence == 0) {
        a->occurrence = sqlite3_last_insert_rowid(s->db.handle);
        rc = db_run(&s->db, "UPDATE alarm_event SET occurrence = id WHERE id = ?", "i",
                    a->occurrence);
        if (rc != RC_OK)
            return rc;
    }
    return db_run(
        &s->db,
        "INSERT OR REPLACE INTO alarm(limit_name, state, occurrence, since_t, until_t,"
        " shelved_until, worst) VALUES(?,?,?,?,nullif(?,0),nullif(?,0),?)",
        "tiiiiid", a->limit, (int64_t)a->state, a->occurrence, a->since_s, a->until_s,
        a->shelved_until_s, a->worst);
}

enum rc store_alarms_each(struct store *s,
                          void (*each)(void *context, const struct store_alarm *alarm),
                          void *context)
{
    sqlite3_stmt *stmt =
        db_sql(&s->db, "SELECT limit_name, state, occurrence, since_t, until_t,"
                       " shelved_until, worst FROM alarm");
    if (stmt == NULL)
        return RC_CORRUPT;
    for (;;) {
        bool row;
        enum rc rc = db_step(&s->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        bool no_worst = sqlite3_column_type(stmt, 6) == SQLITE_NULL;
        struct store_alarm a = {.limit = (const char *)sqlite3_column_text(stmt, 0),
                                .state = (unsigned)sqlite3_column_int64(stmt, 1),
                                .occurrence = sqlite3_column_int64(stmt, 2),
                                .since_s = sqlite3_column_int64(stmt, 3),
                                .until_s = sqlite3_column_int64(stmt, 4),
                                .shelved_until_s = sqlite3_column_int64(stmt, 5),
                                .worst = sqlite3_column_double(stmt, 6)};
        if (no_worst)
            a.worst = NAN;
        each(context, &a);
    }
}

enum rc store_alarms_gone(struct store *s, const char *limits, int64_t t_s)
{
    enum rc rc = db_run(
        &s->db,
        "INSERT INTO alarm_event(occurrence, limit_name, zone, priority, t, from_state,"
        " to_state, value, reason) SELECT a.occurrence, a.limit_name, f.zone, f.priority, ?1,"
        " a.state, 0, a.worst, 'the limit was taken out of the site file' FROM alarm a"
        " JOIN alarm_event f ON f.id = a.occurrence WHERE a.state <> 0 AND a.limit_name NOT IN"
        " (SELECT value FROM json_each(?2)) ORDER BY a.limit_name",
        "it", t_s, limits);
    if (rc != RC_OK)
        return rc;
    return db_run(&s->db,
                  "UPDATE alarm SET state = 0, until_t = coalesce(until_t, ?1), shelved_until ="
                  " NULL WHERE state <> 0 AND limit_name NOT IN"
                  " (SELECT value FROM json_each(?2))",
                  "it", t_s, limits);
}
