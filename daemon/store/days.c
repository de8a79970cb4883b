/* days.c - closed days: day files, rollups, what MANIFESTs list, signed days (store.h). */
#include "store/store_private.h"

#include <string.h>

#include "base/clock.h"
#include "store/pack.h"

const char *const store_listing_name[LISTING_COUNT] = {
    [LISTING_CHANNELS] = "channels.csv", [LISTING_GAPS] = "gaps.csv",
    [LISTING_LATE] = "late.csv",         [LISTING_ALARMS] = "alarms.csv",
    [LISTING_CLOCK] = "clock.csv",
};

enum rc store_last_closed(struct store *s, uint32_t channel, int64_t *out_s)
{
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT day, size, data FROM day WHERE channel = ?"
                                        " ORDER BY day DESC LIMIT 1");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "i", (int64_t)channel);
    bool row;
    enum rc rc = db_step(&s->db, stmt, &row);
    *out_s = 0;
    if (rc != RC_OK || !row)
        return rc;
    rc = pack_undo(sqlite3_column_blob(stmt, 2), (size_t)sqlite3_column_bytes(stmt, 2),
                   (size_t)sqlite3_column_int64(stmt, 1), &s->scratch);
    sqlite3_reset(stmt);
    if (rc != RC_OK)
        return rc;
    /* The last line begins after the last but one line feed. */
    size_t at = s->scratch.len > 0 ? s->scratch.len - 1 : 0;
    while (at > 0 && s->scratch.data[at - 1] != '\n')
        at--;
    for (; at < s->scratch.len && s->scratch.data[at] >= '0' && s->scratch.data[at] <= '9';
         at++)
        *out_s = *out_s * 10 + (s->scratch.data[at] - '0');
    return RC_OK;
}

enum rc store_day_put(struct store *s, uint32_t channel, int64_t day, size_t n,
                      const struct buf *text, uint8_t out_digest[SEAL_DIGEST])
{
    enum rc rc = pack_do(text->data, text->len, &s->scratch);
    if (rc != RC_OK)
        return rc;
    seal_sha256(text->data, text->len, out_digest);
    return db_run(&s->db,
                  "INSERT OR REPLACE INTO day(channel, day, n, size, digest, data)"
                  " VALUES(?,?,?,?,?,?)",
                  "iiiibb", (int64_t)channel, day, (int64_t)n, (int64_t)text->len,
                  (const void *)out_digest, SEAL_DIGEST, (const void *)s->scratch.data,
                  (int)s->scratch.len);
}

enum rc store_rollup_put(struct store *s, unsigned step, uint32_t series, int64_t t_s,
                         int64_t n, int64_t min, int64_t max, int64_t sum)
{
    return db_run(&s->db,
                  "INSERT OR REPLACE INTO rollup(level, series, slot, n, min, max, sum)"
                  " VALUES(?,?,?,?,?,?,?)",
                  "iiiiiii", (int64_t)step, (int64_t)series, t_s / store_step_s[step], n, min,
                  max, sum);
}

enum rc store_text_put(struct store *s, const void *data, size_t len,
                       uint8_t out_digest[SEAL_DIGEST])
{
    enum rc rc = pack_do(data, len, &s->scratch);
    if (rc != RC_OK)
        return rc;
    seal_sha256(data, len, out_digest);
    return db_run(&s->db, "INSERT OR IGNORE INTO text(digest, size, data) VALUES(?,?,?)", "bib",
                  (const void *)out_digest, SEAL_DIGEST, (int64_t)len,
                  (const void *)s->scratch.data, (int)s->scratch.len);
}

/* The questions behind the listings. Times are cut to the day (?1 its start, ?2 its end), so
 * that what is signed today does not change when a gap ends tomorrow. */
static const struct {
    const char *head;
    const char *sql;
} listings[LISTING_COUNT] = {
    [LISTING_CHANNELS] =
        {"channel,quantity,decimals,instrument,serial,zone\n",
         "SELECT c.id || ',' || c.quantity || ',' || c.decimals || ',\"' ||"
         " replace(i.name,'\"','\"\"') || '\",\"' || replace(i.serial,'\"','\"\"') || '\",' ||"
         " coalesce((SELECT '\"' || replace(z.name,'\"','\"\"') || '\"' FROM placement p"
         " JOIN zone z ON z.id = p.zone WHERE p.instrument = i.id AND p.from_t < ?2 AND"
         " (p.to_t IS NULL OR p.to_t > ?1) ORDER BY p.from_t DESC LIMIT 1), '')"
         " FROM channel c JOIN instrument i ON i.id = c.instrument ORDER BY c.id"},
    [LISTING_GAPS] = {"channel,from,to,reason,detail\n",
                      "SELECT channel || ',' || max(from_t, ?1) || ',' ||"
                      " min(coalesce(to_t, ?2), ?2) || ',' || reason || ',' || detail FROM gap"
                      " WHERE from_t < ?2 AND (to_t IS NULL OR to_t > ?1) ORDER BY channel,"
                      " from_t, id"},
    [LISTING_LATE] = {"channel,t,value,flags,received\n",
                      "SELECT channel || ',' || t || ',' || value || ',' || flags || ',' ||"
                      " received FROM late WHERE day = ?1 / 86400 AND ?2 > 0 ORDER BY seq"},
    [LISTING_ALARMS] =
        {"occurrence,limit,t,from,to,value\n",
         "SELECT occurrence || ',\"' || replace(limit_name,'\"','\"\"') || '\",'"
         " || t || ',' || from_state || ',' || to_state || ',' ||"
         " coalesce(printf('%.4f', value), '') FROM alarm_event WHERE t >= ?1 AND"
         " t < ?2 ORDER BY id"},
    [LISTING_CLOCK] = {"t,step_ms\n",
                       "SELECT t || ',' || step_ms FROM clock_step WHERE t >= ?1 AND t < ?2"
                       " ORDER BY id"},
};

enum rc store_listing(struct store *s, enum store_listing kind, int64_t day, struct buf *out)
{
    sqlite3_stmt *stmt = db_sql(&s->db, listings[kind].sql);
    if (stmt == NULL)
        return RC_CORRUPT;
    buf_clear(out);
    db_bind(stmt, "ii", day * CLOCK_DAY_S, (day + 1) * CLOCK_DAY_S);
    for (;;) {
        bool row;
        enum rc rc = db_step(&s->db, stmt, &row);
        if (rc != RC_OK)
            return rc;
        if (!row)
            return out->failed ? RC_NOMEM : RC_OK;
        if (out->len == 0)
            buf_str(out, listings[kind].head);
        buf_str(out, (const char *)sqlite3_column_text(stmt, 0));
        buf_str(out, "\n");
    }
}

enum rc store_site_files(struct store *s, int64_t day,
                         void (*each)(void *context, const uint8_t *digest), void *context)
{
    /* The last one that began before the day, and all that began in it. */
    sqlite3_stmt *stmt = db_sql(
        &s->db, "SELECT digest FROM site_file WHERE t < ?2 AND id >= coalesce((SELECT max(id)"
                " FROM site_file WHERE t <= ?1), 0) ORDER BY id");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "ii", day * CLOCK_DAY_S, (day + 1) * CLOCK_DAY_S);
    for (;;) {
        bool row;
        enum rc rc = db_step(&s->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        if (sqlite3_column_bytes(stmt, 0) == SEAL_DIGEST)
            each(context, sqlite3_column_blob(stmt, 0));
    }
}

enum rc store_signed_put(struct store *s, const struct store_signed_day *d)
{
    return db_run(&s->db,
                  "INSERT INTO signed_day(day, number, manifest, text, signature, digest, key)"
                  " VALUES(?,?,?,?,?,?,?)",
                  "iibtbbb", d->day, d->number, (const void *)d->manifest, SEAL_DIGEST, d->text,
                  (const void *)d->signature, SEAL_SIGNATURE, (const void *)d->digest,
                  SEAL_DIGEST, (const void *)d->key, SEAL_PUBLIC);
}

enum rc store_signed_last(struct store *s, int64_t *out_number, int64_t *out_day,
                          uint8_t out_digest[SEAL_DIGEST])
{
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT number, day, digest FROM signed_day"
                                        " ORDER BY number DESC LIMIT 1");
    if (stmt == NULL)
        return RC_CORRUPT;
    bool row;
    enum rc rc = db_step(&s->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    *out_number = 0;
    if (!row)
        return RC_OK;
    *out_number = sqlite3_column_int64(stmt, 0);
    *out_day = sqlite3_column_int64(stmt, 1);
    if (sqlite3_column_bytes(stmt, 2) == SEAL_DIGEST)
        memcpy(out_digest, sqlite3_column_blob(stmt, 2), SEAL_DIGEST);
    sqlite3_reset(stmt);
    return RC_OK;
}

enum rc store_signed_digest(struct store *s, int64_t number, uint8_t out_digest[SEAL_DIGEST])
{
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT digest FROM signed_day WHERE number = ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "i", number);
    bool row;
    enum rc rc = db_step(&s->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    bool good = row && sqlite3_column_bytes(stmt, 0) == SEAL_DIGEST;
    if (good)
        memcpy(out_digest, sqlite3_column_blob(stmt, 0), SEAL_DIGEST);
    sqlite3_reset(stmt);
    return good ? RC_OK : RC_NOT_FOUND;
}
