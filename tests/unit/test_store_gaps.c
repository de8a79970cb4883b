/* Gaps as a chart shows them: each once, whatever the series under it went through. */
#include "support/studio.h"

#include <stdio.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include "store/series.h"

#define SITE(path, every)                                                                      \
    "[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"                  \
    "[store]\npath = " path "\n"                                                               \
    "[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"                                   \
    "[zone room]\ntitle = Room\npurpose = drying\n"                                            \
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = " every "\nzone = room\n"         \
    "read = temperature input 0 int16 x0.1\nread = humidity input 1 uint16 x0.1\n"

static const int64_t start_s = 1767225600; /* 2026-01-01T00:00:00Z */

static void put_minutes(struct studio *s, int64_t from_s, int minutes)
{
    for (int64_t t_s = from_s; t_s < from_s + (int64_t)minutes * 60; t_s += 60) {
        studio_put(s, 0, 0, t_s, 20);
        studio_put(s, 0, 1, t_s, 50);
        studio_until(s, t_s + 30);
    }
}

static struct site *site_of(const struct studio *s, const char *format)
{
    char text[512];
    struct buf mistakes = {0};
    struct site *site = NULL;
    const char *hole = strstr(format, "%s");
    int n =
        snprintf(text, sizeof text, "%.*s%s%s", (int)(hole - format), format, s->db, hole + 2);
    assert_int_equal(site_parse("test.ini", text, (size_t)n, &mistakes, &site), RC_OK);
    buf_free(&mistakes);
    return site;
}

static void a_stop_in_which_the_interval_was_changed_is_one_gap(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, SITE("%s", "5 min"), start_s);
    studio_start(&s);
    put_minutes(&s, start_s, 10);
    studio_stop(&s);
    site_free(s.site);
    s.site = site_of(&s, SITE("%s", "60 s"));
    s.now.utc_ms += 3600 * 1000;
    s.now.mono_ms += 3600 * 1000;
    studio_start(&s);
    put_minutes(&s, clock_utc_s(s.now) / 60 * 60 + 60, 10);

    struct reader *reader = NULL;
    struct series_gap gaps[8];
    size_t count = 0;
    assert_int_equal(reader_open(s.db, &reader), RC_OK);
    assert_int_equal(
        store_gaps(reader, 1, QUANTITY_DEW_POINT, start_s, start_s + 86400, 8, gaps, &count),
        RC_OK);
    reader_close(reader);
    assert_int_equal(count, 1);
    assert_int_equal(gaps[0].reason, GAP_STOPPED);
    assert_true(gaps[0].to_s - gaps[0].from_s >= 3600);
    studio_remove(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stop_in_which_the_interval_was_changed_is_one_gap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
