/* test_backlog.c - a recorder that was held up: what waited in the queue over midnight belongs to
 * the day it was measured in, however many failures stand between the readings. */
#include "support/studio.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

static const char site_text[] =
    "[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"
    "[store]\npath = %s\n[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 1 s\nzone = room\n"
    "read = humidity input 1 uint16 x0.1\n"
    "[instrument i2]\nbus = b\nunit = 2\nserial = 2\nevery = 1 s\nzone = room\n"
    "read = humidity input 1 uint16 x0.1\n"
    "[zone room]\ntitle = Room\npurpose = drying\n";

enum {
    HELD_UP_S = 3600
};
static const int64_t midnight_s = 1767225600; /* 2026-01-01T00:00:00Z */

static void a_backlog_over_midnight_is_recorded_before_the_day_is_closed(void **state)
{
    (void)state;
    struct studio s;
    int64_t from_s = midnight_s - HELD_UP_S;
    studio_make(&s, site_text, from_s);
    studio_start(&s);
    for (int64_t t_s = from_s; t_s < midnight_s; t_s++) {
        studio_put(&s, 0, 0, t_s, 50 + (double)(t_s % 100) / 100);
        studio_fail(&s, 1, 0, t_s, GAP_NO_ANSWER);
    }
    s.now.utc_ms += (HELD_UP_S + 120) * 1000;
    s.now.mono_ms += (HELD_UP_S + 120) * 1000;
    studio_until(&s, midnight_s + 125);
    studio_stop(&s);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM signed_day"), 1);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM late"), 0);
    assert_int_equal(studio_int(&s, "SELECT n FROM day"), HELD_UP_S);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM gap WHERE reason <> 1"), 0);
    studio_remove(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_backlog_over_midnight_is_recorded_before_the_day_is_closed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
