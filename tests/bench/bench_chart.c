/* bench_chart.c - a chart of ten years of minutes at 2,000 points, from rollups, against GROUP
 * BY on plain rows; and the 95th percentile of charts of any span. Processor time, so that a
 * busy machine does not count.  Argument: "short" for two months. */
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bench/bench.h"
#include "store/series.h"

enum {
    DAY_S = 86400,
    POINTS = 2000,
    SPANS = 400
};
static const int64_t start_s = 1767225600;

static double chart(struct reader *reader, enum quantity q, int64_t from_s, int64_t to_s)
{
    struct series s;
    double begin = bench_cpu_seconds();
    if (series_begin(&s, q, from_s, to_s, POINTS, 60) != RC_OK ||
        store_series_fill(reader, 1, &s) != RC_OK)
        fprintf(stderr, "the chart failed\n");
    series_end(&s);
    double took = bench_cpu_seconds() - begin;
    series_free(&s);
    return took;
}

/* Plain rows clustered by channel and time, grouped into the same buckets. */
static double grouped(const char *path, int days)
{
    sqlite3 *db;
    sqlite3_stmt *put, *ask;
    sqlite3_open(path, &db);
    sqlite3_exec(db,
                 "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;"
                 "CREATE TABLE r(channel INTEGER, t INTEGER, value INTEGER, flags INTEGER,"
                 " PRIMARY KEY(channel, t)) WITHOUT ROWID; BEGIN",
                 NULL, NULL, NULL);
    sqlite3_prepare_v2(db, "INSERT INTO r VALUES(1,?,?,0)", -1, &put, NULL);
    for (int64_t t_s = start_s; t_s < start_s + (int64_t)days * DAY_S; t_s += 60) {
        int32_t air[2];
        house_air(0, t_s, &air[0], &air[1]);
        sqlite3_bind_int64(put, 1, t_s);
        sqlite3_bind_int64(put, 2, air[1]);
        sqlite3_step(put);
        sqlite3_reset(put);
    }
    sqlite3_exec(db, "COMMIT", NULL, NULL, NULL);
    sqlite3_prepare_v2(db,
                       "SELECT (t - ?1) / ?2, min(value), max(value), avg(value) FROM r WHERE"
                       " channel = 1 AND t >= ?1 GROUP BY 1",
                       -1, &ask, NULL);
    double best = 1e9;
    for (int round = 0; round < 3; round++) {
        double begin = bench_cpu_seconds();
        sqlite3_bind_int64(ask, 1, start_s);
        sqlite3_bind_int64(ask, 2, (int64_t)days * DAY_S / POINTS);
        while (sqlite3_step(ask) == SQLITE_ROW)
            ;
        sqlite3_reset(ask);
        double took = bench_cpu_seconds() - begin;
        best = took < best ? took : best;
    }
    sqlite3_finalize(put);
    sqlite3_finalize(ask);
    sqlite3_close(db);
    return best;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/* Any span of any length, as a person drags: lengths spread evenly over their logarithm. */
static double p95(struct reader *reader, int days)
{
    static const enum quantity asked[] = {QUANTITY_TEMPERATURE, QUANTITY_HUMIDITY,
                                          QUANTITY_DEW_POINT, QUANTITY_EMC};
    double took[SPANS];
    uint32_t seed = 1;
    for (int i = 0; i < SPANS; i++) {
        seed = seed * 1664525U + 1013904223U;
        int64_t length = 3600;
        for (uint32_t k = 0; k < (seed >> 8) % 100 && length < (int64_t)days * DAY_S; k++)
            length += length / 8;
        length = length < (int64_t)days * DAY_S ? length : (int64_t)days * DAY_S;
        seed = seed * 1664525U + 1013904223U;
        int64_t room = (int64_t)days * DAY_S - length;
        int64_t from_s = start_s + (room > 0 ? (int64_t)(seed >> 4) % room : 0);
        took[i] = chart(reader, asked[i % 4], from_s, from_s + length);
    }
    qsort(took, SPANS, sizeof *took, ascending);
    return took[SPANS * 95 / 100];
}

int main(int argc, char **argv)
{
    bool brief = argc > 1 && strcmp(argv[1], "short") == 0;
    int days = brief ? 60 : 3652;
    struct house h;
    struct reader *reader;
    char plain[128];
    if (!house_make(&h, 1, 60, start_s))
        return 4;
    int64_t end_s = start_s + (int64_t)days * DAY_S;
    house_record(&h, start_s, end_s + 300);
    snprintf(plain, sizeof plain, "%s/plain.db", h.folder);
    double base = grouped(plain, days);
    if (reader_open(h.db, &reader) != RC_OK)
        return 4;
    double best = 1e9;
    for (int round = 0; round < 9; round++) {
        double took = chart(reader, QUANTITY_HUMIDITY, start_s, end_s);
        best = took < best ? took : best;
    }
    bench_row(brief ? "chart of two months, 2,000 points" : "chart of ten years, 2,000 points",
              best * 1e3, base * 1e3, "ms", base / best, brief ? 2 : 200, true);
    double slow = p95(reader, days) * 1e3;
    bench_row("chart of any span, 95th percentile", slow, 10, "ms", slow / 10, 1, false);
    reader_close(reader);
    house_remove(&h);
    return 0;
}
