/* test_engine_scope.c - which readings a limit is fed by: its zone's leading instrument, its own
 * instrument, or every contact in the zone. */
#include "support/studio.h"

#include <stdio.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include "watch/alarm.h"

static const char site_text[] =
    "[studio]\ntimezone = UTC\nclock = trusted\ndefaults = no\n[store]\npath = %s\n"
    "[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
    "[instrument one]\nbus = b\nzone = room\n"
    "read = temperature input 0 int16\nread = leak coil 0 bit\nread = mains coil 1 bit\n"
    "[instrument two]\nbus = b\nzone = room\n"
    "read = temperature input 1 int16\nread = leak coil 2 bit\nread = mains coil 3 bit\n"
    "[instrument three]\nbus = b\nzone = cellar\nread = leak coil 4 bit\n"
    "[zone room]\nlead = one\n[zone cellar]\n"
    "[limit warm]\nzone = room\nrule = temperature above 25\non_delay = 0 s\n"
    "[limit warm-two]\ninstrument = two\nrule = temperature above 25\non_delay = 0 s\n"
    "[limit wet]\nzone = room\nrule = leak is on\n"
    "[limit wet-one]\ninstrument = one\nrule = leak is on\n"
    "[limit dark]\nzone = room\nrule = mains is off\n"
    "[limit wet-cellar]\nzone = cellar\nrule = leak is on\n";

enum {
    ONE,
    TWO,
    THREE
};
enum {
    TEMPERATURE,
    LEAK,
    MAINS
};
static const int64_t start_s = 1767225600; /* 2026-01-01T00:00:00Z */

static void is_up(const struct studio *s, const char *limit, bool want)
{
    char sql[160];
    snprintf(sql, sizeof sql,
             "SELECT coalesce((SELECT state FROM alarm WHERE limit_name = '%s'), 0)", limit);
    int64_t state = studio_int(s, sql);
    if ((state == ALARM_UNACKNOWLEDGED) != want)
        print_error("limit %s: state %d\n", limit, (int)state);
    assert_true((state == ALARM_UNACKNOWLEDGED) == want);
}

/* A reading in the next minute, and time for the recorder to judge it. */
static void put(struct studio *s, size_t instrument, size_t read, double value)
{
    int64_t t_s = s->now.utc_ms / 60000 * 60 + 60;
    studio_put(s, instrument, read, t_s, value);
    studio_until(s, t_s + 30);
}

static void a_zone_is_judged_by_its_leading_instrument_and_another_by_itself(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    put(&s, TWO, TEMPERATURE, 30);
    is_up(&s, "warm", false);
    is_up(&s, "warm-two", true);
    put(&s, ONE, TEMPERATURE, 31);
    is_up(&s, "warm", true);
    put(&s, TWO, TEMPERATURE, 20);
    is_up(&s, "warm", true);
    is_up(&s, "warm-two", false);
    studio_remove(&s);
}

static void one_wet_sensor_of_several_is_enough_and_all_must_be_dry_again(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    put(&s, ONE, LEAK, 0);
    put(&s, TWO, LEAK, 0);
    put(&s, THREE, 0, 0);
    is_up(&s, "wet", false);
    put(&s, TWO, LEAK, 1);
    is_up(&s, "wet", true);
    is_up(&s, "wet-one", false);
    is_up(&s, "wet-cellar", false);
    put(&s, ONE, LEAK, 0); /* a dry one does not speak for the wet one */
    is_up(&s, "wet", true);
    put(&s, ONE, LEAK, 1);
    is_up(&s, "wet-one", true);
    put(&s, TWO, LEAK, 0);
    is_up(&s, "wet", true);
    put(&s, ONE, LEAK, 0);
    is_up(&s, "wet", false);
    is_up(&s, "wet-one", false);
    put(&s, THREE, 0, 1);
    is_up(&s, "wet-cellar", true);
    is_up(&s, "wet", false);
    studio_remove(&s);
}

static void a_contact_that_fears_off_is_up_while_any_is_off(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    put(&s, ONE, MAINS, 1);
    put(&s, TWO, MAINS, 1);
    is_up(&s, "dark", false);
    put(&s, TWO, MAINS, 0);
    put(&s, ONE, MAINS, 1);
    is_up(&s, "dark", true);
    put(&s, TWO, MAINS, 1);
    is_up(&s, "dark", false);
    studio_remove(&s);
}

static void a_wet_sensor_is_remembered_over_a_restart(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    put(&s, TWO, LEAK, 1);
    is_up(&s, "wet", true);
    studio_stop(&s);
    studio_start(&s);
    put(&s, ONE, LEAK, 0);
    is_up(&s, "wet", true);
    studio_remove(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_zone_is_judged_by_its_leading_instrument_and_another_by_itself),
        cmocka_unit_test(one_wet_sensor_of_several_is_enough_and_all_must_be_dry_again),
        cmocka_unit_test(a_contact_that_fears_off_is_up_while_any_is_off),
        cmocka_unit_test(a_wet_sensor_is_remembered_over_a_restart),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
