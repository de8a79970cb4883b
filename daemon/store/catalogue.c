/* catalogue.c - zones, instruments, channels, where they stand, and their series (store.h). */
#include "store/store_private.h"

#include <string.h>

const int store_step_s[STORE_STEPS] = {900, 3600, 21600, 86400};

unsigned store_steps_for(enum quantity quantity, int every_s)
{
    /* A mould index moves by hundredths a day: quarters of an hour would only fill the disk. */
    int finest = quantity == QUANTITY_MOULD_INDEX ? 2 : 0;
    unsigned steps = 0;
    for (int i = finest; i < STORE_STEPS; i++)
        if (store_step_s[i] >= 8 * every_s)
            steps |= 1U << i;
    return steps;
}

/* Steps a bound statement once; the id in its first column, or 0 if there is no row. */
static enum rc find(struct store *s, sqlite3_stmt *stmt, int64_t *out)
{
    bool row;
    enum rc rc = db_step(&s->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    *out = row ? sqlite3_column_int64(stmt, 0) : 0;
    sqlite3_reset(stmt);
    return RC_OK;
}

enum rc store_zone(struct store *s, const char *name, const char *title, const char *purpose,
                   uint32_t *out_id)
{
    enum rc rc = db_run(&s->db,
                        "INSERT INTO zone(name, title, purpose) VALUES(?1, ?2, ?3) ON CONFLICT"
                        "(name) DO UPDATE SET title = ?2, purpose = ?3"
                        " WHERE title <> ?2 OR purpose <> ?3",
                        "ttt", name, title, purpose);
    if (rc != RC_OK)
        return rc;
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT id FROM zone WHERE name = ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "t", name);
    int64_t id;
    rc = find(s, stmt, &id);
    if (rc == RC_OK)
        *out_id = (uint32_t)id;
    return rc;
}

enum rc store_instrument(struct store *s, const char *name, const char *serial,
                         uint32_t *out_id)
{
    enum rc rc = db_run(&s->db, "INSERT OR IGNORE INTO instrument(name, serial) VALUES(?, ?)",
                        "tt", name, serial);
    if (rc != RC_OK)
        return rc;
    sqlite3_stmt *stmt =
        db_sql(&s->db, "SELECT id FROM instrument WHERE name = ? AND serial = ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "tt", name, serial);
    int64_t id;
    rc = find(s, stmt, &id);
    if (rc == RC_OK)
        *out_id = (uint32_t)id;
    return rc;
}

enum rc store_channel(struct store *s, uint32_t instrument, enum quantity quantity,
                      uint32_t *out_id)
{
    const struct quantity_info *q = quantity_info(quantity);
    sqlite3_stmt *stmt =
        db_sql(&s->db, "SELECT id FROM channel WHERE instrument = ? AND quantity = ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "it", (int64_t)instrument, q->name);
    int64_t id;
    enum rc rc = find(s, stmt, &id);
    if (rc == RC_OK && id == 0) {
        rc = db_run(&s->db, "INSERT INTO channel(instrument, quantity, decimals) VALUES(?,?,?)",
                    "iti", (int64_t)instrument, q->name, (int64_t)q->decimals);
        id = sqlite3_last_insert_rowid(s->db.handle);
    }
    if (rc == RC_OK)
        *out_id = (uint32_t)id;
    return rc;
}

enum rc store_place(struct store *s, uint32_t instrument, uint32_t zone, const char *words,
                    int64_t t_s)
{
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT id, zone, words FROM placement WHERE"
                                        " instrument = ? AND to_t IS NULL");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "i", (int64_t)instrument);
    bool row;
    enum rc rc = db_step(&s->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    if (row) {
        int64_t id = sqlite3_column_int64(stmt, 0);
        bool same = sqlite3_column_int64(stmt, 1) == zone &&
                    strcmp((const char *)sqlite3_column_text(stmt, 2), words) == 0;
        sqlite3_reset(stmt);
        if (same)
            return RC_OK;
        rc = db_run(&s->db, "UPDATE placement SET to_t = ? WHERE id = ?", "ii", t_s, id);
    }
    if (rc == RC_OK)
        rc = db_run(&s->db,
                    "INSERT INTO placement(instrument, zone, words, from_t) VALUES(?,?,?,?)",
                    "iiti", (int64_t)instrument, (int64_t)zone, words, t_s);
    return rc;
}

enum rc store_lead(struct store *s, uint32_t zone, enum quantity quantity, uint32_t channel,
                   int64_t t_s)
{
    const char *name = quantity_info(quantity)->name;
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT channel FROM zone_channel WHERE zone = ? AND"
                                        " quantity = ? AND to_t IS NULL");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "it", (int64_t)zone, name);
    int64_t now;
    enum rc rc = find(s, stmt, &now);
    if (rc != RC_OK || now == channel)
        return rc;
    rc = db_run(&s->db,
                "UPDATE zone_channel SET to_t = ? WHERE zone = ? AND quantity = ? AND"
                " to_t IS NULL",
                "iit", t_s, (int64_t)zone, name);
    if (rc == RC_OK && channel != 0)
        rc = db_run(&s->db,
                    "INSERT INTO zone_channel(zone, quantity, channel, from_t)"
                    " VALUES(?,?,?,?)",
                    "itii", (int64_t)zone, name, (int64_t)channel, t_s);
    return rc;
}

enum rc store_former_leads(struct store *s, int64_t since_s,
                           void (*each)(void *context, uint32_t zone, uint32_t channel,
                                        int64_t from_s, int64_t to_s),
                           void *context)
{
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT zone, channel, from_t, to_t FROM zone_channel"
                                        " WHERE to_t > ? ORDER BY from_t, rowid");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "i", since_s);
    for (;;) {
        bool row;
        enum rc rc = db_step(&s->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        each(context, (uint32_t)sqlite3_column_int64(stmt, 0),
             (uint32_t)sqlite3_column_int64(stmt, 1), sqlite3_column_int64(stmt, 2),
             sqlite3_column_int64(stmt, 3));
    }
}

enum rc store_gone(struct store *s, const char *zones, const char *instruments, int64_t t_s)
{
    enum rc rc = db_run(&s->db,
                        "UPDATE zone_channel SET to_t = ? WHERE to_t IS NULL AND zone NOT IN"
                        " (SELECT value FROM json_each(?))",
                        "it", t_s, zones);
    if (rc == RC_OK)
        rc = db_run(&s->db,
                    "UPDATE placement SET to_t = ? WHERE to_t IS NULL AND instrument NOT IN"
                    " (SELECT value FROM json_each(?))",
                    "it", t_s, instruments);
    return rc;
}

enum rc store_series(struct store *s, uint32_t channel, uint32_t zone, enum quantity quantity,
                     int every_s, int64_t t_s, uint32_t *out_id, unsigned *out_steps)
{
    const char *name = quantity_info(quantity)->name;
    unsigned steps = store_steps_for(quantity, every_s);
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT id, every_s FROM series WHERE channel = ? AND"
                                        " zone = ? AND quantity = ? AND to_t IS NULL");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "iit", (int64_t)channel, (int64_t)zone, name);
    bool row;
    enum rc rc = db_step(&s->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    int64_t id = 0;
    if (row) {
        id = sqlite3_column_int64(stmt, 0);
        bool same = sqlite3_column_int64(stmt, 1) == every_s;
        sqlite3_reset(stmt);
        if (same)
            goto found;
        rc = db_run(&s->db, "UPDATE series SET to_t = ? WHERE id = ?", "ii", t_s, id);
    }
    if (rc == RC_OK)
        rc = db_run(&s->db,
                    "INSERT INTO series(channel, zone, quantity, steps, every_s, from_t)"
                    " VALUES(?,?,?,?,?,?)",
                    "iitiii", (int64_t)channel, (int64_t)zone, name, (int64_t)steps,
                    (int64_t)every_s, t_s);
    if (rc != RC_OK)
        return rc;
    id = sqlite3_last_insert_rowid(s->db.handle);
found:
    *out_id = (uint32_t)id;
    *out_steps = steps;
    return RC_OK;
}

enum rc store_site_file(struct store *s, const void *text, size_t len, int64_t t_s)
{
    uint8_t digest[SEAL_DIGEST];
    enum rc rc = store_text_put(s, text, len, digest);
    if (rc != RC_OK)
        return rc;
    sqlite3_stmt *stmt =
        db_sql(&s->db, "SELECT digest FROM site_file ORDER BY id DESC LIMIT 1");
    if (stmt == NULL)
        return RC_CORRUPT;
    bool row;
    rc = db_step(&s->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    if (row) {
        bool same = sqlite3_column_bytes(stmt, 0) == SEAL_DIGEST &&
                    memcmp(sqlite3_column_blob(stmt, 0), digest, SEAL_DIGEST) == 0;
        sqlite3_reset(stmt);
        if (same)
            return RC_OK;
    }
    return db_run(&s->db, "INSERT INTO site_file(t, digest) VALUES(?, ?)", "ib", t_s,
                  (const void *)digest, SEAL_DIGEST);
}
