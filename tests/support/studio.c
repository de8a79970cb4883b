/* studio.c - see studio.h. */
#define _GNU_SOURCE /* mkdtemp */
#include "support/studio.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

static void read_site(struct studio *s, const char *site_text)
{
    struct buf text = {0}, mistakes = {0};
    const char *hole = strstr(site_text, "%s");
    assert_non_null(hole);
    buf_add(&text, site_text, (size_t)(hole - site_text));
    buf_str(&text, s->db);
    buf_str(&text, hole + 2);
    enum rc rc = site_parse("test.ini", text.data, text.len, &mistakes, &s->site);
    if (rc != RC_OK)
        print_error("%s\n", mistakes.data == NULL ? rc_text(rc) : mistakes.data);
    assert_int_equal(rc, RC_OK);
    buf_free(&text);
    buf_free(&mistakes);
}

void studio_make(struct studio *s, const char *site_text, int64_t start_s)
{
    *s = (struct studio){.now = {.mono_ms = 1000, .utc_ms = start_s * 1000}};
    snprintf(s->folder, sizeof s->folder, "/tmp/stillroom-test-XXXXXX");
    assert_non_null(mkdtemp(s->folder));
    snprintf(s->db, sizeof s->db, "%s/stillroom.db", s->folder);
    read_site(s, site_text);
}

void studio_change(struct studio *s, const char *site_text)
{
    studio_stop(s);
    site_free(s->site);
    read_site(s, site_text);
    studio_start(s);
}

void studio_start(struct studio *s)
{
    struct recorder_cfg cfg = {
        .site = s->site, .commit_ms = s->commit_ms, .courier = s->courier};
    assert_int_equal(recorder_open(&cfg, s->now, &s->recorder), RC_OK);
}

void studio_stop(struct studio *s)
{
    recorder_close(s->recorder, s->now);
    s->recorder = NULL;
}

void studio_remove(struct studio *s)
{
    char command[128];
    studio_stop(s);
    site_free(s->site);
    snprintf(command, sizeof command, "rm -rf '%s'", s->folder);
    assert_int_equal(system(command), 0);
}

void studio_until(struct studio *s, int64_t to_s)
{
    while (clock_utc_s(s->now) < to_s) {
        recorder_step(s->recorder, s->now);
        int64_t left_ms = to_s * 1000 - s->now.utc_ms;
        int64_t step_ms = left_ms < 1000 ? left_ms : 1000;
        s->now.utc_ms += step_ms;
        s->now.mono_ms += step_ms;
    }
    recorder_step(s->recorder, s->now);
}

void studio_put(struct studio *s, size_t instrument, size_t read, int64_t t_s, double value)
{
    struct reading r = {.channel = recorder_channel(s->recorder, instrument, read), .t_s = t_s};
    assert_true(quantity_encode(s->site->instruments[instrument].reads[read].quantity, value,
                                &r.value));
    struct sink *sink = recorder_sink(s->recorder);
    sink->put(sink, &r, 1);
}

void studio_fail(struct studio *s, size_t instrument, size_t read, int64_t t_s,
                 enum gap_reason reason)
{
    struct reading r = {.channel = recorder_channel(s->recorder, instrument, read),
                        .gap = (uint8_t)reason,
                        .t_s = t_s};
    struct sink *sink = recorder_sink(s->recorder);
    sink->put(sink, &r, 1);
}

static sqlite3_stmt *ask(const struct studio *s, const char *sql, sqlite3 **db)
{
    sqlite3_stmt *stmt;
    assert_int_equal(sqlite3_open_v2(s->db, db, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
    int code = sqlite3_prepare_v2(*db, sql, -1, &stmt, NULL);
    if (code != SQLITE_OK)
        print_error("%s: %s\n", sql, sqlite3_errmsg(*db));
    assert_int_equal(code, SQLITE_OK);
    assert_int_equal(sqlite3_step(stmt), SQLITE_ROW);
    return stmt;
}

int64_t studio_int(const struct studio *s, const char *sql)
{
    sqlite3 *db;
    sqlite3_stmt *stmt = ask(s, sql, &db);
    int64_t v = sqlite3_column_int64(stmt, 0);
    sqlite3_finalize(stmt);
    sqlite3_close(db);
    return v;
}

void studio_text(const struct studio *s, const char *sql, char *out, size_t size)
{
    sqlite3 *db;
    sqlite3_stmt *stmt = ask(s, sql, &db);
    const unsigned char *text = sqlite3_column_text(stmt, 0);
    snprintf(out, size, "%s", text == NULL ? "" : (const char *)text);
    sqlite3_finalize(stmt);
    sqlite3_close(db);
}

void studio_run(const struct studio *s, const char *sql)
{
    sqlite3 *db;
    assert_int_equal(sqlite3_open_v2(s->db, &db, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
}

static const char *const compared[] = {
    "SELECT group_concat(channel || ':' || day || ':' || hex(digest), ' ') FROM"
    " (SELECT * FROM day ORDER BY channel, day)",
    "SELECT group_concat(step || ':' || series || ':' || t || ':' || n || ':' || min || ':' ||"
    " max || ':' || sum, ' ') FROM (SELECT * FROM rollup_row WHERE step >= 3600 ORDER BY "
    "1,2,3)",
    "SELECT group_concat(kind || scope || t || hex(data), ' ') FROM"
    " (SELECT * FROM state ORDER BY kind, scope)",
    "SELECT group_concat(limit_name || t || from_state || to_state || value, ' ') FROM"
    " (SELECT * FROM alarm_event ORDER BY id)",
    "SELECT group_concat(channel || ':' || t || ':' || value, ' ') FROM"
    " (SELECT * FROM tail ORDER BY seq)",
};

bool studio_same(const struct studio *a, const struct studio *b)
{
    enum {
        TEXT = 1 << 20
    };
    char *want = malloc(TEXT), *got = malloc(TEXT);
    assert_non_null(want);
    assert_non_null(got);
    bool same = true;
    for (size_t i = 0; i < sizeof compared / sizeof *compared; i++) {
        studio_text(a, compared[i], want, TEXT);
        studio_text(b, compared[i], got, TEXT);
        assert_true(strlen(want) > 10 && strlen(want) < TEXT - 1);
        if (strcmp(want, got) != 0) {
            print_error("%s\nwas %.300s ...\nis  %.300s ...\n", compared[i], want, got);
            same = false;
        }
    }
    free(want);
    free(got);
    return same;
}
