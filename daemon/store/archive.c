/* archive.c - see archive.h. */
#include "store/archive.h"

#include <string.h>

#include "base/clock.h"
#include "store/listing.h"
#include "store/pack.h"
#include "store/reader.h"

/* No day file comes near it: a reading a second is two megabytes. A larger size is a lie, which
 * must not take the machine's memory. */
static const int64_t size_most = 64 << 20;

enum rc archive_begin(struct reader *r)
{
    return db_run(&r->db, "BEGIN", "");
}

void archive_end(struct reader *r)
{
    if (!sqlite3_get_autocommit(r->db.handle))
        sqlite3_exec(r->db.handle, "ROLLBACK", NULL, NULL, NULL);
}

static struct archive_bytes bytes(sqlite3_stmt *stmt, int column)
{
    struct archive_bytes b = {.data = sqlite3_column_blob(stmt, column)};
    b.len = (size_t)sqlite3_column_bytes(stmt, column);
    return b;
}

enum rc archive_signed_days(struct reader *r, int64_t from, int64_t to,
                            enum rc (*each)(void *context, const struct archive_signed *day),
                            void *context)
{
    sqlite3_stmt *stmt =
        db_sql(&r->db, "SELECT day, number, manifest, text, signature, digest, key FROM"
                       " signed_day WHERE day >= ? AND day <= ? ORDER BY day");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "ii", from, to);
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        struct archive_signed day = {.day = sqlite3_column_int64(stmt, 0),
                                     .number = sqlite3_column_int64(stmt, 1),
                                     .manifest = bytes(stmt, 2),
                                     .text = bytes(stmt, 3),
                                     .signature = bytes(stmt, 4),
                                     .digest = bytes(stmt, 5),
                                     .key = bytes(stmt, 6)};
        rc = each(context, &day);
        if (rc != RC_OK) {
            sqlite3_reset(stmt);
            return rc;
        }
    }
}

/* Columns 0 and 1 of the row the statement stands on: size and packed bytes. */
static enum rc inflate(sqlite3_stmt *stmt, struct buf *out)
{
    int64_t size = sqlite3_column_int64(stmt, 0);
    struct archive_bytes packed = bytes(stmt, 1);
    if (size < 0 || size > size_most)
        return RC_CORRUPT;
    return pack_undo(packed.data, packed.len, (size_t)size, out);
}

enum rc archive_text(struct reader *r, const uint8_t digest[SEAL_DIGEST], struct buf *out)
{
    sqlite3_stmt *stmt = db_sql(&r->db, "SELECT size, data FROM text WHERE digest = ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "b", (const void *)digest, SEAL_DIGEST);
    bool row;
    enum rc rc = db_step(&r->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    rc = row ? inflate(stmt, out) : RC_NOT_FOUND;
    sqlite3_reset(stmt);
    return rc;
}

enum rc archive_day_file(struct reader *r, uint32_t channel, int64_t day, struct buf *out,
                         struct archive_claim *out_claim)
{
    sqlite3_stmt *stmt =
        db_sql(&r->db, "SELECT size, data, n, digest FROM day WHERE channel = ? AND day = ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "ii", (int64_t)channel, day);
    bool row;
    enum rc rc = db_step(&r->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    rc = row ? inflate(stmt, out) : RC_NOT_FOUND;
    if (rc == RC_OK) {
        struct archive_bytes digest = bytes(stmt, 3);
        *out_claim = (struct archive_claim){.readings = sqlite3_column_int64(stmt, 2)};
        if (digest.len == SEAL_DIGEST)
            memcpy(out_claim->digest, digest.data, SEAL_DIGEST);
    }
    sqlite3_reset(stmt);
    return rc;
}

enum rc archive_day_files(struct reader *r,
                          void (*each)(void *context, int64_t day, int64_t channel),
                          void *context)
{
    sqlite3_stmt *stmt = db_sql(&r->db, "SELECT day, channel FROM day ORDER BY day, channel");
    if (stmt == NULL)
        return RC_CORRUPT;
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        each(context, sqlite3_column_int64(stmt, 0), sqlite3_column_int64(stmt, 1));
    }
}

enum rc archive_texts(struct reader *r,
                      void (*each)(void *context, const struct archive_bytes *digest),
                      void *context)
{
    sqlite3_stmt *stmt = db_sql(&r->db, "SELECT digest FROM text WHERE digest NOT IN"
                                        " (SELECT digest FROM site_file)");
    if (stmt == NULL)
        return RC_CORRUPT;
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        struct archive_bytes digest = bytes(stmt, 0);
        each(context, &digest);
    }
}

enum rc archive_rollups(struct reader *r, uint32_t channel, unsigned level, int64_t day,
                        void (*each)(void *context, const struct archive_rollup *row),
                        void *context)
{
    /* CROSS holds the order: beginning with rollups would read all of a level for each day. */
    sqlite3_stmt *stmt = db_sql(
        &r->db, "SELECT r.slot, r.n, r.min, r.max, r.sum FROM series s CROSS JOIN rollup r ON"
                " r.series = s.id AND r.level = ? AND r.slot >= ? AND r.slot < ?"
                " WHERE s.channel = ? AND s.zone = 0");
    if (stmt == NULL)
        return RC_CORRUPT;
    int64_t a_day = CLOCK_DAY_S / store_step_s[level];
    db_bind(stmt, "iiii", (int64_t)level, day * a_day, (day + 1) * a_day, (int64_t)channel);
    for (;;) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        const struct archive_rollup rollup = {.slot = sqlite3_column_int64(stmt, 0),
                                              .n = sqlite3_column_int64(stmt, 1),
                                              .min = sqlite3_column_int64(stmt, 2),
                                              .max = sqlite3_column_int64(stmt, 3),
                                              .sum = sqlite3_column_int64(stmt, 4)};
        each(context, &rollup);
    }
}

enum rc archive_levels(struct reader *r, uint32_t channel, int64_t day, unsigned *out)
{
    sqlite3_stmt *stmt =
        db_sql(&r->db, "SELECT steps FROM series WHERE channel = ? AND zone = 0"
                       " AND (to_t IS NULL OR to_t > ?)");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "ii", (int64_t)channel, day * CLOCK_DAY_S);
    unsigned levels = (1U << STORE_STEPS) - 1;
    for (bool any = false;; any = true) {
        bool row;
        enum rc rc = db_step(&r->db, stmt, &row);
        if (rc != RC_OK)
            return rc;
        if (!row) {
            *out = any ? levels : 0;
            return RC_OK;
        }
        levels &= (unsigned)sqlite3_column_int64(stmt, 0);
    }
}

enum rc archive_listing(struct reader *r, enum store_listing kind, int64_t day, struct buf *out)
{
    return listing_make(&r->db, kind, day, out);
}

enum rc archive_site_files(struct reader *r, int64_t day,
                           void (*each)(void *context, const uint8_t *digest), void *context)
{
    return listing_site_files(&r->db, day, each, context);
}

enum rc archive_late_unsigned(struct reader *r, int64_t *out_count)
{
    return db_int(&r->db,
                  "SELECT count(*) FROM late WHERE day < (SELECT value FROM meta WHERE key ="
                  " 'open_day') AND day NOT IN (SELECT day FROM signed_day)",
                  0, out_count);
}

enum rc archive_open_day(struct reader *r, int64_t *out)
{
    return db_int(&r->db, "SELECT value FROM meta WHERE key = 'open_day'", 0, out);
}

enum rc archive_store_id(struct reader *r, int64_t *out)
{
    return db_int(&r->db, "SELECT value FROM meta WHERE key = 'store_id'", 0, out);
}
