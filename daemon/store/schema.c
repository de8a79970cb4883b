/* schema.c - see schema.h.
 *
 * Readings of open days lie in `tail` in the order they came: an append touches one page, where
 * a table clustered by channel would touch one page a channel. A closed day of a channel is one
 * row of `day`: its signed text, deflated as the sqlite3 shell's sqlar_uncompress() takes it.
 */
#include "store/schema.h"

#include <stddef.h>

#include "base/log.h"

enum {
    APPLICATION_ID = 1400140914 /* "Sttr" */
};

static const char version_1[] =
    "CREATE TABLE meta(key TEXT PRIMARY KEY, value) WITHOUT ROWID;"

    "CREATE TABLE zone(id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, title TEXT NOT NULL,"
    " purpose TEXT NOT NULL);"
    "CREATE TABLE instrument(id INTEGER PRIMARY KEY, name TEXT NOT NULL, serial TEXT NOT NULL,"
    " UNIQUE(name, serial));"
    /* AUTOINCREMENT: the number of a channel is never used again. */
    "CREATE TABLE channel(id INTEGER PRIMARY KEY AUTOINCREMENT, instrument INTEGER NOT NULL"
    " REFERENCES instrument, quantity TEXT NOT NULL, decimals INTEGER NOT NULL,"
    " UNIQUE(instrument, quantity));"
    "CREATE TABLE placement(id INTEGER PRIMARY KEY, instrument INTEGER NOT NULL REFERENCES"
    " instrument, zone INTEGER NOT NULL REFERENCES zone, words TEXT NOT NULL,"
    " from_t INTEGER NOT NULL, to_t INTEGER);"
    /* Which channel gives a zone's quantity, from when to when. */
    "CREATE TABLE zone_channel(zone INTEGER NOT NULL, quantity TEXT NOT NULL,"
    " channel INTEGER NOT NULL, from_t INTEGER NOT NULL, to_t INTEGER);"
    "CREATE INDEX zone_channel_by ON zone_channel(zone, quantity, from_t);"
    /* What rollups belong to: a channel, or a derived quantity of a zone; a new one begins
     * when the interval changes, at the start of the day that is open then. */
    "CREATE TABLE series(id INTEGER PRIMARY KEY, channel INTEGER, zone INTEGER,"
    " quantity TEXT NOT NULL, steps INTEGER NOT NULL, every_s INTEGER NOT NULL,"
    " from_t INTEGER NOT NULL, to_t INTEGER);"

    "CREATE TABLE tail(seq INTEGER PRIMARY KEY, channel INTEGER NOT NULL, t INTEGER NOT NULL,"
    " value INTEGER NOT NULL, flags INTEGER NOT NULL);"
    "CREATE TABLE late(seq INTEGER PRIMARY KEY, channel INTEGER NOT NULL, t INTEGER NOT NULL,"
    " value INTEGER NOT NULL, flags INTEGER NOT NULL, received INTEGER NOT NULL,"
    " day INTEGER NOT NULL);"
    "CREATE TABLE day(channel INTEGER NOT NULL, day INTEGER NOT NULL, n INTEGER NOT NULL,"
    " size INTEGER NOT NULL, digest BLOB NOT NULL, data BLOB NOT NULL,"
    " PRIMARY KEY(channel, day));"
    /* level 0 to 3: 900, 3600, 21600, 86400 s; slot: t / step. Written so, a row is a ninth
     * smaller, and rollups are most of the database; the view shows steps and times. */
    "CREATE TABLE rollup(level INTEGER, series INTEGER, slot INTEGER, n INTEGER NOT NULL,"
    " min INTEGER NOT NULL, max INTEGER NOT NULL, sum INTEGER NOT NULL,"
    " PRIMARY KEY(level, series, slot)) WITHOUT ROWID;"
    "CREATE VIEW rollup_row AS SELECT step, series, slot * step AS t, n, min, max, sum FROM"
    " (SELECT CASE level WHEN 0 THEN 900 WHEN 1 THEN 3600 WHEN 2 THEN 21600 ELSE 86400 END AS"
    " step, * FROM rollup);"
    "CREATE TABLE state(kind TEXT, scope TEXT, t INTEGER NOT NULL, data BLOB NOT NULL,"
    " PRIMARY KEY(kind, scope)) WITHOUT ROWID;"

    "CREATE TABLE gap(id INTEGER PRIMARY KEY, channel INTEGER NOT NULL, from_t INTEGER NOT "
    "NULL,"
    " to_t INTEGER, reason INTEGER NOT NULL, detail INTEGER NOT NULL);"
    "CREATE INDEX gap_by ON gap(channel, from_t);"
    "CREATE INDEX gap_open ON gap(channel) WHERE to_t IS NULL;"
    /* A day's MANIFEST lists the gaps that touch it: decades of older ones must not be read. */
    "CREATE INDEX gap_to ON gap(to_t);"
    "CREATE TABLE clock_step(id INTEGER PRIMARY KEY, t INTEGER NOT NULL,"
    " step_ms INTEGER NOT NULL);"

    "CREATE TABLE alarm(limit_name TEXT PRIMARY KEY, state INTEGER NOT NULL,"
    " occurrence INTEGER NOT NULL, since_t INTEGER NOT NULL, until_t INTEGER,"
    " shelved_until INTEGER, worst REAL) WITHOUT ROWID;"
    "CREATE TABLE alarm_event(id INTEGER PRIMARY KEY, occurrence INTEGER NOT NULL,"
    " limit_name TEXT NOT NULL, zone INTEGER, priority INTEGER NOT NULL, t INTEGER NOT NULL,"
    " from_state INTEGER NOT NULL, to_state INTEGER NOT NULL, value REAL, person TEXT,"
    " reason TEXT);"
    "CREATE INDEX alarm_event_by ON alarm_event(occurrence);"
    "CREATE INDEX alarm_event_t ON alarm_event(t);"

    /* Texts that are signed, by their SHA-256: site files, MANIFESTs and what they list. */
    "CREATE TABLE text(digest BLOB PRIMARY KEY, size INTEGER NOT NULL, data BLOB NOT NULL)"
    " WITHOUT ROWID;"
    "CREATE TABLE site_file(id INTEGER PRIMARY KEY, t INTEGER NOT NULL, digest BLOB NOT NULL);"
    "CREATE TABLE signed_day(day INTEGER PRIMARY KEY, number INTEGER NOT NULL,"
    " manifest BLOB NOT NULL, text TEXT NOT NULL, signature BLOB NOT NULL,"
    " digest BLOB NOT NULL, key BLOB NOT NULL);"

    /* All readings as one stream. json_each splits a day's lines; slow, and meant for people. */
    "CREATE VIEW reading AS"
    " SELECT channel, t, value, flags, 'day' AS found FROM ("
    "  SELECT day.channel AS channel, json_extract(line.value, '$[0]') AS t,"
    "  json_extract(line.value, '$[1]') AS value, json_extract(line.value, '$[2]') AS flags"
    "  FROM day, json_each('[[' || replace(rtrim(CAST(sqlar_uncompress(day.data, day.size) AS"
    "  TEXT), char(10)), char(10), '],[') || ']]') AS line)"
    " UNION ALL SELECT channel, t, value, flags, 'tail' FROM tail WHERE t >="
    "  86400 * (SELECT value FROM meta WHERE key = 'open_day')"
    " UNION ALL SELECT channel, t, value, flags, 'late' FROM late;"

    "PRAGMA application_id = 1400140914;" /* "Sttr" */
    "PRAGMA user_version = 1;";

static const char version_2[] =
    /* What persons are told, a row an alarm and person; rows with one message id leave as one
     * message. AUTOINCREMENT keeps the order in which they were written. */
    "CREATE TABLE outbox(id INTEGER PRIMARY KEY AUTOINCREMENT, message_id TEXT NOT NULL,"
    " person TEXT NOT NULL, occurrence INTEGER NOT NULL, zone INTEGER, kind INTEGER NOT NULL,"
    " priority INTEGER NOT NULL, created INTEGER NOT NULL, due INTEGER NOT NULL,"
    " tries INTEGER NOT NULL DEFAULT 0, refused INTEGER NOT NULL DEFAULT 0, sent INTEGER,"
    " given_up INTEGER, last_error TEXT, subject TEXT NOT NULL, body TEXT NOT NULL);"
    "CREATE INDEX outbox_waiting ON outbox(id) WHERE sent IS NULL AND given_up IS NULL;"
    "CREATE INDEX outbox_message ON outbox(message_id);"
    "CREATE INDEX outbox_occurrence ON outbox(occurrence);"
    "PRAGMA user_version = 2;";

/* From one version to the next, the first of them from nothing. */
static const char *const steps[SCHEMA_VERSION] = {version_1, version_2};

enum rc schema_bring_up(struct db *db)
{
    int64_t application, version, tables;
    enum rc rc = db_int(db, "PRAGMA application_id", 0, &application);
    if (rc == RC_OK)
        rc = db_int(db, "PRAGMA user_version", 0, &version);
    if (rc == RC_OK)
        rc = db_int(db, "SELECT count(*) FROM sqlite_schema", 0, &tables);
    if (rc != RC_OK)
        return rc;
    /* Others number their versions too: only the id tells whose tables these are. */
    if (tables != 0 && application != APPLICATION_ID) {
        log_err("the file is a database, but not one of Stillroom's: nothing was touched");
        return RC_CORRUPT;
    }
    if (version > SCHEMA_VERSION) {
        log_err("the database was written by a newer version (its format is %lld, this program "
                "knows up to %d): nothing was touched",
                (long long)version, SCHEMA_VERSION);
        return RC_NEWER;
    }
    if (version == SCHEMA_VERSION)
        return RC_OK;
    rc = db_script(db, "BEGIN IMMEDIATE;");
    for (int64_t v = version; rc == RC_OK && v < SCHEMA_VERSION; v++)
        rc = db_script(db, steps[v]);
    if (rc == RC_OK)
        return db_script(db, "COMMIT;");
    sqlite3_exec(db->handle, "ROLLBACK", NULL, NULL, NULL);
    return rc;
}
