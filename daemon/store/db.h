/* db.h - one SQLite connection, its statements, and what its errors mean.
 *
 * Owner:   db_close releases the connection and every statement prepared by db_sql.
 * Threads: a connection belongs to one thread at a time.
 */
#ifndef STORE_DB_H
#define STORE_DB_H

#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

#include "base/rc.h"

enum {
    DB_STATEMENTS = 96
};

struct db {
    sqlite3 *handle;
    struct {
        const char *sql; /* the address of the text is the key: use string literals */
        sqlite3_stmt *stmt;
    } cache[DB_STATEMENTS];
    int64_t deadline_ms; /* monotonic; 0: none */
    int said_code;       /* the error last told, so that each try of a full disk is not */
    const char *said_doing;
    int64_t said_ms;
};

enum db_mode {
    DB_WRITER,
    DB_READER
};

MUST_USE enum rc db_open(const char *path, enum db_mode mode, struct db *out);
void db_close(struct db *db);

/* What an SQLite code means to us; logs it with what we were doing. */
enum rc db_error(struct db *db, int code, const char *doing);

/* A prepared, reset statement for a string literal; NULL after an error that was logged. */
sqlite3_stmt *db_sql(struct db *db, const char *sql);

/* Binds by a format, a letter a parameter: i int64_t, d double, t const char *, b (const void *,
 * int) blob, n null (no argument). */
void db_bind(sqlite3_stmt *stmt, const char *format, ...);

/* Runs a statement to its end: binds, steps, resets. */
MUST_USE enum rc db_run(struct db *db, const char *sql, const char *format, ...);

/* Runs a script of statements without parameters. */
MUST_USE enum rc db_script(struct db *db, const char *sql);

/* Steps: RC_OK with *out_row true for a row, false at the end (the statement is then reset). */
MUST_USE enum rc db_step(struct db *db, sqlite3_stmt *stmt, bool *out_row);

/* One integer, or `missing` if there is no row. */
MUST_USE enum rc db_int(struct db *db, const char *sql, int64_t missing, int64_t *out);

#endif
