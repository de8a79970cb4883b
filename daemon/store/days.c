/* days.c - closed days: day files, rollups, signed days (store.h). */
#include "store/store_private.h"

#include <string.h>

#include "base/clock.h"
#include "store/listing.h"
#include "store/pack.h"

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

enum rc store_listing(struct store *s, enum store_listing kind, int64_t day, struct buf *out)
{
    return listing_make(&s->db, kind, day, out);
}

enum rc store_site_files(struct store *s, int64_t day,
                         void (*each)(void *context, const uint8_t *digest), void *context)
{
    return listing_site_files(&s->db, day, each, context);
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
