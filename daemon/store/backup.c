/* backup.c - see backup.h. */
#include "store/backup.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#include "base/log.h"
#include "store/db.h"

static enum rc copy(struct db *from, struct db *to)
{
    sqlite3_backup *b = sqlite3_backup_init(to->handle, "main", from->handle, "main");
    if (b == NULL)
        return db_error(to, sqlite3_errcode(to->handle), "beginning a copy");
    /* In one step: it reads one moment of the database, and a writer is not held up by it. */
    int code = sqlite3_backup_step(b, -1);
    sqlite3_backup_finish(b);
    return code == SQLITE_DONE ? RC_OK : db_error(to, code, "copying");
}

static enum rc check(struct db *db)
{
    sqlite3_stmt *stmt = db_sql(db, "PRAGMA integrity_check");
    bool row;
    if (stmt == NULL)
        return RC_CORRUPT;
    enum rc rc = db_step(db, stmt, &row);
    if (rc != RC_OK)
        return rc;
    bool ok = row && strcmp((const char *)sqlite3_column_text(stmt, 0), "ok") == 0;
    sqlite3_reset(stmt);
    if (!ok)
        log_err("the copy is damaged, and so perhaps is the database itself");
    return ok ? RC_OK : RC_CORRUPT;
}

enum rc backup_write(const char *from, const char *to)
{
    struct db source, target;
    enum rc rc = db_open(from, DB_READER, &source);
    if (rc != RC_OK)
        return rc;
    int fd = open(to, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0640);
    if (fd < 0) {
        rc = errno == EEXIST ? RC_CONFLICT : errno == ENOSPC ? RC_FULL : RC_READ_ONLY;
        db_close(&source);
        return rc;
    }
    close(fd);
    rc = db_open(to, DB_WRITER, &target);
    if (rc == RC_OK) {
        rc = copy(&source, &target);
        if (rc == RC_OK)
            rc = check(&target);
        db_close(&target);
        if (rc != RC_OK)
            unlink(to);
    }
    db_close(&source);
    return rc;
}
