/* store.c - see store.h: opening, transactions, meta, states. */
#define _GNU_SOURCE /* flock */
#include "store/store_private.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include "base/log.h"
#include "store/schema.h"

static enum rc take_lock(struct store *s)
{
    struct buf name = {0};
    buf_printf(&name, "%s.lock", s->path);
    if (name.failed)
        return RC_NOMEM;
    enum rc rc = RC_OK;
    s->lock = open(name.data, O_RDWR | O_CREAT | O_CLOEXEC, 0640);
    if (s->lock < 0) {
        log_err("cannot write in the store's folder (%s): %s; make the folder, or name another "
                "one under [store] path",
                name.data, strerror(errno));
        rc = RC_READ_ONLY;
    } else if (flock(s->lock, LOCK_EX | LOCK_NB) != 0) {
        log_err("another process is recording into %s; stop it first, or give this one a store "
                "of its own",
                s->path);
        rc = RC_BUSY;
    }
    buf_free(&name);
    return rc;
}

static enum rc set_up(struct store *s)
{
    enum rc rc = schema_bring_up(&s->db);
    if (rc != RC_OK)
        return rc;
    /* FULL: a commit that was announced must survive a power cut, not only a kill. */
    rc = db_script(&s->db, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
                           "PRAGMA foreign_keys = ON; PRAGMA cache_size = -2048;"
                           "PRAGMA journal_size_limit = 8388608;");
    if (rc != RC_OK)
        return rc;
    int64_t seq;
    rc = db_int(&s->db, "SELECT max(seq) FROM tail", 0, &seq);
    if (rc == RC_OK)
        s->next_seq = seq + 1;
    return rc;
}

enum rc store_open(const char *path, struct store **out)
{
    struct store *s = calloc(1, sizeof *s);
    if (s == NULL)
        return RC_NOMEM;
    s->lock = -1;
    s->path = strdup(path);
    enum rc rc = s->path == NULL ? RC_NOMEM : take_lock(s);
    if (rc != RC_OK)
        goto fail;
    rc = db_open(path, DB_WRITER, &s->db);
    if (rc != RC_OK) {
        log_err("cannot open the database %s", path);
        goto fail;
    }
    rc = set_up(s);
    if (rc != RC_OK)
        goto fail;
    *out = s;
    return RC_OK;
fail:
    store_close(s);
    return rc;
}

void store_close(struct store *s)
{
    if (s == NULL)
        return;
    db_close(&s->db);
    if (s->lock >= 0)
        close(s->lock);
    buf_free(&s->scratch);
    free(s->path);
    free(s);
}

enum rc store_begin(struct store *s)
{
    return db_run(&s->db, "BEGIN IMMEDIATE", "");
}

enum rc store_commit(struct store *s)
{
    return db_run(&s->db, "COMMIT", "");
}

void store_rollback(struct store *s)
{
    if (!sqlite3_get_autocommit(s->db.handle) && db_run(&s->db, "ROLLBACK", "") != RC_OK)
        log_warn("a transaction could not be rolled back");
    /* The numbers given out in it are free again. */
    int64_t seq;
    if (db_int(&s->db, "SELECT max(seq) FROM tail", 0, &seq) == RC_OK)
        s->next_seq = seq + 1;
}

enum rc store_meta_get(struct store *s, const char *key, int64_t missing, int64_t *out)
{
    sqlite3_stmt *stmt = db_sql(&s->db, "SELECT value FROM meta WHERE key = ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "t", key);
    bool row;
    enum rc rc = db_step(&s->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    *out = row ? sqlite3_column_int64(stmt, 0) : missing;
    sqlite3_reset(stmt);
    return RC_OK;
}

enum rc store_meta_put(struct store *s, const char *key, int64_t value)
{
    return db_run(&s->db, "INSERT OR REPLACE INTO meta(key, value) VALUES(?, ?)", "ti", key,
                  value);
}

enum rc store_state_put(struct store *s, const char *kind, const char *scope, int64_t t_s,
                        const double *values, size_t count)
{
    return db_run(&s->db, "INSERT OR REPLACE INTO state(kind, scope, t, data) VALUES(?,?,?,?)",
                  "ttib", kind, scope, t_s, (const void *)values,
                  (int)(count * sizeof *values));
}

enum rc store_state_get(struct store *s, const char *kind, const char *scope, int64_t *out_t_s,
                        double *out, size_t max, size_t *out_count)
{
    sqlite3_stmt *stmt =
        db_sql(&s->db, "SELECT t, data FROM state WHERE kind = ? AND scope = ?");
    if (stmt == NULL)
        return RC_CORRUPT;
    db_bind(stmt, "tt", kind, scope);
    bool row;
    enum rc rc = db_step(&s->db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    *out_count = 0;
    if (row) {
        size_t have = (size_t)sqlite3_column_bytes(stmt, 1) / sizeof *out;
        *out_count = have < max ? have : max;
        *out_t_s = sqlite3_column_int64(stmt, 0);
        if (*out_count > 0)
            memcpy(out, sqlite3_column_blob(stmt, 1), *out_count * sizeof *out);
        sqlite3_reset(stmt);
    }
    return RC_OK;
}

bool store_space(struct store *s, int64_t *out_free, int64_t *out_all)
{
    struct statvfs v;
    if (statvfs(s->path, &v) != 0)
        return false;
    *out_free = (int64_t)v.f_bavail * (int64_t)v.f_frsize;
    *out_all = (int64_t)v.f_blocks * (int64_t)v.f_frsize;
    return true;
}
