/* listing.c - see listing.h. */
#include "store/listing.h"

#include "base/clock.h"
#include "base/seal.h"

const char *const store_listing_name[LISTING_COUNT] = {
    [LISTING_CHANNELS] = "channels.csv", [LISTING_GAPS] = "gaps.csv",
    [LISTING_LATE] = "late.csv",         [LISTING_ALARMS] = "alarms.csv",
    [LISTING_CLOCK] = "clock.csv",
};

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

enum rc listing_make(struct db *db, enum store_listing kind, int64_t day, struct buf *out)
{
    sqlite3_stmt *stmt = db_sql(db, listings[kind].sql);
    if (stmt == NULL)
        return RC_CORRUPT;
    buf_clear(out);
    db_bind(stmt, "ii", day * CLOCK_DAY_S, (day + 1) * CLOCK_DAY_S);
    for (;;) {
        bool row;
        enum rc rc = db_step(db, stmt, &row);
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

enum rc listing_site_files(struct db *db, int64_t day,
                           void (*each)(void *context, const uint8_t *digest), void *context)
{
    /* The last one that began before the day, and all that began in it. */
    sqlite3_stmt *stmt = db_sql(
        db, "SELECT digest FROM site_file WHERE t < ?2 AND id >= coalesce((SELECT max(id)"
            " FROM site_file WHERE t <= ?1), 0) ORDER BY id");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "ii", day * CLOCK_DAY_S, (day + 1) * CLOCK_DAY_S);
    for (;;) {
        bool row;
        enum rc rc = db_step(db, stmt, &row);
        if (rc != RC_OK || !row)
            return rc;
        if (sqlite3_column_bytes(stmt, 0) == SEAL_DIGEST)
            each(context, sqlite3_column_blob(stmt, 0));
    }
}
