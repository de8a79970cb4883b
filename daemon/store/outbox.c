/* outbox.c - see store.h: messages that wait to leave.
 *
 * "Held" is what has not been tried and is not due yet: it may still be joined or taken back. What
 * is due more than eight days ahead was written under a clock that was wrong, and is not held.
 */
#include <stdio.h>

#include "store/store_private.h"

enum rc store_outbox_put(struct store *s, const struct store_message *m)
{
    return db_run(&s->db,
                  "INSERT INTO outbox(message_id, person, occurrence, zone, kind, priority,"
                  " created, due, subject, body) VALUES(?,?,?,nullif(?,0),?,?,?,?,?,?)",
                  "ttiiiiiitt", m->message_id, m->person, m->occurrence, (int64_t)m->zone,
                  (int64_t)m->kind, (int64_t)m->priority, m->created_s, m->due_s, m->subject,
                  m->body);
}

static void copy(sqlite3_stmt *stmt, int column, char *out, size_t size)
{
    const unsigned char *text = sqlite3_column_text(stmt, column);
    snprintf(out, size, "%s", text == NULL ? "" : (const char *)text);
}

enum rc store_outbox_join(struct store *s, const struct store_message *m,
                          char out_id[STORE_MESSAGE_ID], int64_t *out_due_s)
{
    out_id[0] = '\0';
    sqlite3_stmt *stmt =
        db_sql(&s->db, "SELECT message_id, due FROM outbox WHERE sent IS NULL AND given_up IS"
                       " NULL AND tries = 0 AND person = ? AND zone = ? AND kind = ? AND"
                       " due > ?4 AND due < ?4 + 691200 ORDER BY id DESC LIMIT 1");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "tiii", m->person, (int64_t)m->zone, (int64_t)m->kind, m->created_s);
    bool row;
    enum rc rc = db_step(&s->db, stmt, &row);
    if (rc != RC_OK || !row)
        return rc;
    copy(stmt, 0, out_id, STORE_MESSAGE_ID);
    int64_t due_s = sqlite3_column_int64(stmt, 1);
    sqlite3_reset(stmt);
    *out_due_s = due_s < m->due_s ? due_s : m->due_s;
    return db_run(&s->db, "UPDATE outbox SET due = ? WHERE message_id = ?", "it", *out_due_s,
                  out_id);
}

enum rc store_outbox_told(struct store *s, int64_t occurrence, unsigned kind,
                          char (*out)[STORE_NAME], size_t max, size_t *out_count)
{
    *out_count = 0;
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT person FROM outbox WHERE occurrence = ? AND"
                                        " kind = ? GROUP BY person ORDER BY min(id)");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "ii", occurrence, (int64_t)kind);
    for (;;) {
        bool row;
        enum rc rc = db_step(&s->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        if (*out_count < max)
            copy(stmt, 0, out[(*out_count)++], STORE_NAME);
    }
}

enum rc store_outbox_withdraw(struct store *s, int64_t occurrence, int64_t t_s)
{
    return db_run(&s->db,
                  "DELETE FROM outbox WHERE occurrence = ? AND sent IS NULL AND tries = 0 AND"
                  " due > ?",
                  "ii", occurrence, t_s);
}

enum rc store_outbox_hurry(struct store *s, const char *person, int64_t t_s)
{
    return db_run(&s->db,
                  "UPDATE outbox SET due = ?1 WHERE sent IS NULL AND given_up IS NULL AND"
                  " tries > 0 AND due > ?1 AND (?2 IS NULL OR person = ?2)",
                  "it", t_s, person);
}

static enum rc each_row(struct store *s, sqlite3_stmt *stmt,
                        bool (*each)(void *context, const struct store_message *m),
                        void *context)
{
    for (;;) {
        bool row;
        enum rc rc = db_step(&s->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        struct store_message m = {
            .message_id = (const char *)sqlite3_column_text(stmt, 0),
            .person = (const char *)sqlite3_column_text(stmt, 1),
            .occurrence = sqlite3_column_int64(stmt, 2),
            .zone = (uint32_t)sqlite3_column_int64(stmt, 3),
            .kind = (unsigned)sqlite3_column_int64(stmt, 4),
            .priority = (unsigned)sqlite3_column_int64(stmt, 5),
            .created_s = sqlite3_column_int64(stmt, 6),
            .due_s = sqlite3_column_int64(stmt, 7),
            .tries = (unsigned)sqlite3_column_int64(stmt, 8),
            .refused = sqlite3_column_int64(stmt, 9) != 0,
            .subject = (const char *)sqlite3_column_text(stmt, 10),
            .body = (const char *)sqlite3_column_text(stmt, 11),
        };
        if (m.message_id != NULL && m.person != NULL && !each(context, &m)) {
            sqlite3_reset(stmt);
            return RC_OK;
        }
    }
}

enum rc store_outbox_waiting(struct store *s,
                             bool (*each)(void *context, const struct store_message *m),
                             void *context)
{
    sqlite3_stmt *stmt =
        db_sql(&s->db, "SELECT message_id, person, occurrence, zone, kind, priority, created,"
                       " due, tries, refused, NULL, NULL FROM outbox WHERE sent IS NULL AND"
                       " given_up IS NULL ORDER BY id");
    return stmt == NULL ? RC_CORRUPT : each_row(s, stmt, each, context);
}

enum rc store_outbox_parts(struct store *s, const char *message_id,
                           bool (*each)(void *context, const struct store_message *m),
                           void *context)
{
    sqlite3_stmt *stmt =
        db_sql(&s->db, "SELECT message_id, person, occurrence, zone, kind, priority, created,"
                       " due, tries, refused, subject, body FROM outbox WHERE message_id = ?"
                       " ORDER BY id");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "t", message_id);
    return each_row(s, stmt, each, context);
}

enum rc store_outbox_sent(struct store *s, const char *message_id, int64_t t_s)
{
    return db_run(&s->db,
                  "UPDATE outbox SET sent = ?, tries = tries + 1, last_error = NULL WHERE"
                  " message_id = ?",
                  "it", t_s, message_id);
}

enum rc store_outbox_failed(struct store *s, const char *message_id, int64_t due_s,
                            bool refused, const char *error)
{
    return db_run(&s->db,
                  "UPDATE outbox SET tries = tries + 1, due = ?, refused = ?, last_error = ?"
                  " WHERE message_id = ?",
                  "iitt", due_s, (int64_t)refused, error, message_id);
}

enum rc store_outbox_give_up(struct store *s, const char *message_id, int64_t t_s,
                             const char *error)
{
    return db_run(&s->db,
                  "UPDATE outbox SET given_up = ?, tries = tries + 1, last_error = ? WHERE"
                  " message_id = ?",
                  "itt", t_s, error, message_id);
}

enum rc store_outbox_count(struct store *s, int64_t since_s, int64_t *out_waiting,
                           int64_t *out_given_up)
{
    enum rc rc = db_int(&s->db,
                        "SELECT count(DISTINCT message_id) FROM outbox WHERE sent IS NULL AND"
                        " given_up IS NULL",
                        0, out_waiting);
    if (rc != RC_OK)
        return rc;
    sqlite3_stmt *stmt =
        db_sql(&s->db, "SELECT count(DISTINCT message_id) FROM outbox WHERE given_up >= ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "i", since_s);
    bool row;
    rc = db_step(&s->db, stmt, &row);
    if (rc == RC_OK && row) {
        *out_given_up = sqlite3_column_int64(stmt, 0);
        sqlite3_reset(stmt);
    }
    return rc;
}
