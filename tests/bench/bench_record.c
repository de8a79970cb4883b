/* bench_record.c - recording: check, derived quantities, limits, day files, rollups, digests and
 * signature, against a bare loop of prepared statements into a table clustered by channel; and
 * what a reading costs at rest.  Argument: "short" for a run that only proves it works. */
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

#include "bench/bench.h"

enum {
    CHANNELS = 200,
    DAY_S = 86400
};
static const int64_t start_s = 1767225600;

/* Readings a second of the recorder, whole days with their closing. */
static double project(int days)
{
    struct house h;
    if (!house_make(&h, CHANNELS / 2, 60, start_s))
        return 0;
    double begin = bench_seconds();
    int64_t n = house_record(&h, start_s, start_s + days * DAY_S + 180);
    double took = bench_seconds() - begin;
    house_remove(&h);
    return (double)n / took;
}

/* The same readings, the same transactions of a thousand, the same settings of the database. */
static double baseline(int days)
{
    struct house h;
    sqlite3 *db;
    sqlite3_stmt *put;
    char path[128];
    if (!house_make(&h, 1, 60, start_s))
        return 0;
    snprintf(path, sizeof path, "%s/plain.db", h.folder);
    sqlite3_open(path, &db);
    sqlite3_exec(db,
                 "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
                 "CREATE TABLE r(channel INTEGER, t INTEGER, value INTEGER, flags INTEGER,"
                 " PRIMARY KEY(channel, t)) WITHOUT ROWID",
                 NULL, NULL, NULL);
    sqlite3_prepare_v2(db, "INSERT INTO r VALUES(?,?,?,?)", -1, &put, NULL);
    double begin = bench_seconds();
    int64_t n = 0;
    sqlite3_exec(db, "BEGIN", NULL, NULL, NULL);
    for (int64_t t_s = start_s; t_s < start_s + days * DAY_S; t_s += 60)
        for (int c = 0; c < CHANNELS; c++) {
            int32_t air[2];
            house_air(c / 2, t_s, &air[0], &air[1]);
            sqlite3_bind_int64(put, 1, c);
            sqlite3_bind_int64(put, 2, t_s);
            sqlite3_bind_int64(put, 3, air[c % 2]);
            sqlite3_bind_int64(put, 4, 0);
            sqlite3_step(put);
            sqlite3_reset(put);
            if (++n % 1000 == 0)
                sqlite3_exec(db, "COMMIT; BEGIN", NULL, NULL, NULL);
        }
    sqlite3_exec(db, "COMMIT", NULL, NULL, NULL);
    double took = bench_seconds() - begin;
    sqlite3_finalize(put);
    sqlite3_close(db);
    house_remove(&h);
    return (double)n / took;
}

/* Bytes a reading at rest, once the tail was cut and its pages are used again. */
static double at_rest(int instruments, int every_s, int days)
{
    struct house h;
    if (!house_make(&h, instruments, every_s, start_s))
        return 0;
    int64_t n = house_record(&h, start_s, start_s + days * DAY_S + 2 * every_s + 120);
    recorder_close(h.recorder, h.now);
    h.recorder = NULL;
    double bytes = (double)bench_size(h.db) / (double)n;
    house_remove(&h);
    return bytes;
}

int main(int argc, char **argv)
{
    bool brief = argc > 1 && strcmp(argv[1], "short") == 0;
    int days = brief ? 1 : 3;
    double base = baseline(days), ours = project(days);
    bench_row("recording, 200 channels a minute", ours, base, "readings/s", ours / base, 1.0,
              true);
    double minute = at_rest(brief ? 5 : 20, 60, brief ? 10 : 60);
    bench_row("bytes a reading, one a minute", minute, 10, "B", minute / 10, 1.0, false);
    double ten = at_rest(brief ? 5 : 20, 600, brief ? 30 : 365);
    bench_row("bytes a reading, one in ten minutes", ten, 20, "B", ten / 20, 1.0, false);
    return 0;
}
