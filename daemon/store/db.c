/* db.c - see db.h. */
#include "store/db.h"

#include <fcntl.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <unistd.h>
#include <zlib.h>

#include "base/clock.h"
#include "base/log.h"

enum {
    SAY_AGAIN_MS = 600000
};

enum rc db_error(struct db *db, int code, const char *doing)
{
    const char *text = db->handle != NULL ? sqlite3_errmsg(db->handle) : sqlite3_errstr(code);
    enum rc rc = RC_IO;
    switch (code & 0xff) {
    case SQLITE_NOMEM:
        rc = RC_NOMEM;
        break;
    case SQLITE_FULL:
        rc = RC_FULL;
        break;
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
        rc = RC_READ_ONLY;
        break;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        rc = RC_BUSY;
        break;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        rc = RC_CORRUPT;
        break;
    case SQLITE_INTERRUPT:
        rc = RC_TIMEOUT;
        break;
    default:
        break;
    }
    int64_t now_ms = clock_now().mono_ms;
    bool again =
        code == db->said_code && doing == db->said_doing && now_ms - db->said_ms < SAY_AGAIN_MS;
    if (rc == RC_TIMEOUT || again)
        return rc;
    db->said_code = code;
    db->said_doing = doing;
    db->said_ms = now_ms;
    log_err("database, %s: %s", doing, text);
    return rc;
}

static int out_of_time(void *arg)
{
    struct db *db = arg;
    return db->deadline_ms != 0 && clock_now().mono_ms > db->deadline_ms;
}

/* The shell's function of this name, so that our own connections can read the view too. */
static void uncompress_sql(sqlite3_context *context, int count, sqlite3_value **args)
{
    (void)count;
    int have = sqlite3_value_bytes(args[0]);
    int64_t size = sqlite3_value_int64(args[1]);
    if (size <= have) {
        sqlite3_result_value(context, args[0]);
        return;
    }
    uLongf len = (uLongf)size;
    unsigned char *out = sqlite3_malloc64((sqlite3_uint64)size);
    if (out != NULL && uncompress(out, &len, sqlite3_value_blob(args[0]), (uLong)have) == Z_OK)
        sqlite3_result_blob64(context, out, len, SQLITE_TRANSIENT);
    else
        sqlite3_result_error(context, "damaged day file", -1);
    sqlite3_free(out);
}

static enum rc open_as(const char *path, int flags, struct db *db)
{
    int code = sqlite3_open_v2(path, &db->handle, flags | SQLITE_OPEN_NOMUTEX, NULL);
    if (code != SQLITE_OK) {
        sqlite3_close(db->handle);
        db->handle = NULL;
        return RC_READ_ONLY;
    }
    sqlite3_busy_timeout(db->handle, 5000);
    return RC_OK;
}

/* SQLite would make a file that every user of the machine may read; its companions get the mode
 * of the file itself. What goes wrong here, it meets again and says. */
static enum rc open_writer(const char *path, struct db *db)
{
    int fd = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0640);
    if (fd >= 0)
        close(fd);
    return open_as(path, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, db);
}

static enum rc open_reader(const char *path, struct db *db)
{
    enum rc rc = open_as(path, SQLITE_OPEN_READONLY, db);
    int64_t version;
    if (rc == RC_OK && sqlite3_exec(db->handle, "SELECT count(*) FROM sqlite_schema", NULL,
                                    NULL, NULL) == SQLITE_OK)
        return db_script(db, "PRAGMA query_only = ON; PRAGMA cache_size = -512;");
    /* A WAL database needs its shared memory file, which a reader may have to make. */
    sqlite3_close(db->handle);
    db->handle = NULL;
    rc = open_as(path, SQLITE_OPEN_READWRITE, db);
    if (rc == RC_OK)
        rc = db_int(db, "PRAGMA user_version", 0, &version);
    return rc != RC_OK ? rc
                       : db_script(db, "PRAGMA query_only = ON; PRAGMA cache_size = -512;");
}

enum rc db_open(const char *path, enum db_mode mode, struct db *out)
{
    memset(out, 0, sizeof *out);
    enum rc rc = mode == DB_READER ? open_reader(path, out) : open_writer(path, out);
    if (rc != RC_OK) {
        db_close(out);
        return rc;
    }
    sqlite3_create_function(out->handle, "sqlar_uncompress", 2,
                            SQLITE_UTF8 | SQLITE_DETERMINISTIC, NULL, uncompress_sql, NULL,
                            NULL);
    sqlite3_progress_handler(out->handle, 20000, out_of_time, out);
    return RC_OK;
}

void db_close(struct db *db)
{
    for (int i = 0; i < DB_STATEMENTS; i++)
        sqlite3_finalize(db->cache[i].stmt);
    sqlite3_close(db->handle);
    memset(db, 0, sizeof *db);
}

sqlite3_stmt *db_sql(struct db *db, const char *sql)
{
    int i = 0;
    while (i < DB_STATEMENTS - 1 && db->cache[i].sql != NULL && db->cache[i].sql != sql)
        i++;
    if (db->cache[i].sql == sql) {
        sqlite3_reset(db->cache[i].stmt);
        return db->cache[i].stmt;
    }
    sqlite3_finalize(db->cache[i].stmt);
    db->cache[i].stmt = NULL;
    db->cache[i].sql = NULL;
    int code = sqlite3_prepare_v3(db->handle, sql, -1, SQLITE_PREPARE_PERSISTENT,
                                  &db->cache[i].stmt, NULL);
    if (code != SQLITE_OK) {
        db_error(db, code, sql);
        return NULL;
    }
    db->cache[i].sql = sql;
    return db->cache[i].stmt;
}

static void bind(sqlite3_stmt *stmt, const char *format, va_list args)
{
    for (int i = 1; *format != '\0'; format++, i++) {
        const void *data;
        switch (*format) {
        case 'i':
            sqlite3_bind_int64(stmt, i, va_arg(args, int64_t));
            break;
        case 'd':
            sqlite3_bind_double(stmt, i, va_arg(args, double));
            break;
        case 't':
            sqlite3_bind_text(stmt, i, va_arg(args, const char *), -1, SQLITE_TRANSIENT);
            break;
        case 'b':
            data = va_arg(args, const void *);
            sqlite3_bind_blob(stmt, i, data, va_arg(args, int), SQLITE_STATIC);
            break;
        default:
            sqlite3_bind_null(stmt, i);
        }
    }
}

void db_bind(sqlite3_stmt *stmt, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    bind(stmt, format, args);
    va_end(args);
}

enum rc db_run(struct db *db, const char *sql, const char *format, ...)
{
    sqlite3_stmt *stmt = db_sql(db, sql);
    if (stmt == NULL)
        return RC_CORRUPT;
    va_list args;
    va_start(args, format);
    bind(stmt, format, args);
    va_end(args);
    int code;
    do
        code = sqlite3_step(stmt);
    while (code == SQLITE_ROW);
    enum rc rc = code == SQLITE_DONE ? RC_OK : db_error(db, code, sql);
    sqlite3_reset(stmt);
    return rc;
}

enum rc db_script(struct db *db, const char *sql)
{
    int code = sqlite3_exec(db->handle, sql, NULL, NULL, NULL);
    return code == SQLITE_OK ? RC_OK : db_error(db, code, "script");
}

enum rc db_step(struct db *db, sqlite3_stmt *stmt, bool *out_row)
{
    int code = sqlite3_step(stmt);
    if (code == SQLITE_ROW) {
        *out_row = true;
        return RC_OK;
    }
    enum rc rc = code == SQLITE_DONE ? RC_OK : db_error(db, code, sqlite3_sql(stmt));
    sqlite3_reset(stmt);
    *out_row = false;
    return rc;
}

enum rc db_int(struct db *db, const char *sql, int64_t missing, int64_t *out)
{
    sqlite3_stmt *stmt = db_sql(db, sql);
    bool row;
    if (stmt == NULL)
        return RC_CORRUPT;
    enum rc rc = db_step(db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    *out = row ? sqlite3_column_int64(stmt, 0) : missing;
    sqlite3_reset(stmt);
    return RC_OK;
}
