/* test_clock.c - clocks that jump, start in 1970 or in 2099, or change for summer: no reading
 * lost, none under a stamp that cannot be right, no gap without its reason, no day closed by a
 * clock that nobody keeps. */
#include "support/studio.h"

#include <stdio.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

/* "checked": what the kernel says of its clock counts; here it says what we let it say. */
#define SITE(clock, zone)                                                                      \
    "[studio]\nname = Test\ntimezone = " zone "\nclock = " clock "\ndefaults = no\n"           \
    "[store]\npath = %s\n"                                                                     \
    "[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"                                   \
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 10 min\nzone = room\n"            \
    "read = humidity input 1 uint16 x0.1\n"                                                    \
    "[zone room]\ntitle = Room\npurpose = drying\n"
static const char trusted[] = SITE("trusted", "UTC");
static const char checked[] = SITE("checked", "UTC");
static const char london[] = SITE("trusted", "Europe/London");

enum {
    DAY = 86400,
    HOUR = 3600,
    EVERY = 600
};
static const int64_t start_s = 1767225600 + 12 * HOUR; /* 2026-01-01T12:00:00Z */

static bool unsynchronised;

/* Put in the place of the kernel's word by the linker. */
bool __wrap_clock_kernel_unsynchronised(void);
bool __wrap_clock_kernel_unsynchronised(void)
{
    return unsynchronised;
}

/* Reads every ten minutes for a while; each reading is a new value. */
static void record(struct studio *s, int64_t span_s)
{
    static const int64_t ms = 1000;
    for (int64_t passed = 0; passed < span_s; passed += EVERY) {
        int64_t t_s = clock_utc_s(s->now);
        studio_put(s, 0, 0, t_s, 40 + (double)(s->now.mono_ms / ms / EVERY % 3000) / 100);
        for (int step = 0; step < 3; step++) {
            s->now.utc_ms += EVERY / 3 * ms;
            s->now.mono_ms += EVERY / 3 * ms;
            recorder_step(s->recorder, s->now);
        }
    }
}

static void put_clock(struct studio *s, int64_t utc_s)
{
    s->now.utc_ms = utc_s * 1000;
    recorder_step(s->recorder, s->now);
}

static void begin(struct studio *s, const char *site, int64_t utc_s)
{
    unsynchronised = false;
    studio_make(s, site, utc_s);
    studio_start(s);
}

static void gap_is(const struct studio *s, int64_t from_s, int64_t to_s, int reason)
{
    assert_int_equal(studio_int(s, "SELECT count(*) FROM gap"), 1);
    assert_int_equal(studio_int(s, "SELECT from_t FROM gap"), from_s);
    assert_int_equal(studio_int(s, "SELECT to_t FROM gap"), to_s);
    assert_int_equal(studio_int(s, "SELECT reason FROM gap"), reason);
}

static int64_t count(const struct studio *s, const char *table)
{
    char sql[64];
    snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", table);
    return studio_int(s, sql);
}

static void back_by_hours_keeps_readings_apart_until_time_has_caught_up(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, trusted, start_s);
    record(&s, 4 * HOUR);
    put_clock(&s, start_s + HOUR);
    record(&s, 6 * HOUR);
    studio_stop(&s);
    assert_int_equal(count(&s, "late"), 3 * 6);
    assert_int_equal(count(&s, "tail"), (4 + 3) * 6);
    assert_int_equal(studio_int(&s, "SELECT max(t) FROM late"), start_s + 4 * HOUR - EVERY);
    assert_int_equal(count(&s, "gap"), 0);
    assert_int_equal(studio_int(&s, "SELECT step_ms FROM clock_step"), -3 * HOUR * 1000);
    studio_remove(&s);
}

static void back_into_a_closed_day_is_signed_with_the_day_it_came(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, trusted, start_s);
    record(&s, 14 * HOUR);
    assert_int_equal(count(&s, "signed_day"), 1);
    int64_t closed = studio_int(&s, "SELECT sum(n) FROM day");
    put_clock(&s, start_s + 10 * HOUR);
    record(&s, 4 * HOUR + DAY);
    studio_stop(&s);
    assert_int_equal(count(&s, "signed_day"), 2);
    assert_int_equal(count(&s, "late"), 4 * 6);
    assert_int_equal(studio_int(&s, "SELECT count(DISTINCT day) FROM late"), 1);
    assert_int_equal(studio_int(&s, "SELECT day FROM late"), start_s / DAY + 1);
    assert_int_equal(studio_int(&s, "SELECT n FROM day ORDER BY day"), closed);
    studio_remove(&s);
}

static void forward_by_hours_is_a_gap_that_says_so(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, trusted, start_s);
    record(&s, HOUR);
    put_clock(&s, start_s + 6 * HOUR);
    record(&s, HOUR);
    studio_stop(&s);
    gap_is(&s, start_s + HOUR, start_s + 6 * HOUR, GAP_CLOCK);
    assert_int_equal(count(&s, "tail"), 12);
    assert_int_equal(studio_int(&s, "SELECT step_ms FROM clock_step"), 5 * HOUR * 1000);
    studio_remove(&s);
}

static void forward_over_midnight_is_a_gap_in_the_day_that_is_signed(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, trusted, start_s);
    record(&s, HOUR);
    put_clock(&s, start_s + DAY);
    record(&s, HOUR);
    studio_stop(&s);
    gap_is(&s, start_s + HOUR, start_s + DAY, GAP_CLOCK);
    assert_int_equal(count(&s, "signed_day"), 1);
    assert_int_equal(studio_int(&s, "SELECT n FROM day"), 6);
    studio_remove(&s);
}

static void no_day_is_closed_while_nobody_keeps_the_clock(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, checked, start_s);
    unsynchronised = true;
    record(&s, 3 * DAY);
    assert_int_equal(count(&s, "signed_day"), 0);
    assert_int_equal(count(&s, "tail"), 3 * 144);
    unsynchronised = false;
    record(&s, HOUR);
    studio_stop(&s);
    assert_int_equal(count(&s, "signed_day"), 3);
    assert_int_equal(studio_int(&s, "SELECT sum(n) FROM day") + count(&s, "tail"), 3 * 144 + 6);
    assert_int_equal(count(&s, "gap"), 0);
    studio_remove(&s);
}

/* A board that was recording comes up at a date that cannot be right, and is put right. */
static void boots_at(int64_t odd_s, bool killed, bool again)
{
    struct studio s;
    begin(&s, checked, start_s);
    record(&s, HOUR);
    studio_stop(&s);
    if (killed) /* then there is no mark of a clean stop */
        studio_run(&s, "UPDATE meta SET value = 0 WHERE key = 'clean'");
    unsynchronised = true;
    s.now.utc_ms = odd_s * 1000;
    s.now.mono_ms = 1000;
    studio_start(&s);
    record(&s, 2 * HOUR);
    struct live_status status;
    live_status(recorder_live(s.recorder), &status);
    assert_int_equal(status.clock, LIVE_CLOCK_IMPLAUSIBLE);
    assert_int_equal(count(&s, "late"), 12);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM late WHERE flags & 16 = 0"), 0);
    assert_int_equal(count(&s, "signed_day"), 0);
    int64_t back_s = start_s + 3 * HOUR + 2 * DAY;
    unsynchronised = false;
    if (again) { /* and is started once more, with its clock right from the first moment */
        studio_stop(&s);
        s.now.utc_ms = back_s * 1000;
        studio_start(&s);
    } else {
        put_clock(&s, back_s);
    }
    record(&s, HOUR);
    live_status(recorder_live(s.recorder), &status);
    assert_int_equal(status.clock, LIVE_CLOCK_GOOD);
    assert_int_equal(status.open_day, back_s / DAY);
    assert_int_equal(count(&s, "signed_day"), 2);
    assert_int_equal(count(&s, "late"), 12);
    assert_int_equal(studio_int(&s, "SELECT sum(n) FROM day") +
                         studio_int(&s, "SELECT count(*) FROM tail"),
                     12);
    /* The outage is one gap, to the first reading under a right stamp. */
    gap_is(&s, start_s + HOUR, back_s, killed ? GAP_UNCLEAN : GAP_STOPPED);
    /* And what ends it is not taken for a clean stop later. */
    assert_int_equal(studio_int(&s, "SELECT value FROM meta WHERE key = 'clean'"), 0);
    studio_remove(&s);
}

static void a_board_that_boots_in_1970_goes_on_when_its_clock_is_right(void **state)
{
    (void)state;
    boots_at(100, false, false);
    boots_at(5 * DAY, true, false);
    boots_at(100, true, true);
}

static void a_board_that_boots_in_2099_goes_on_when_its_clock_is_right(void **state)
{
    (void)state;
    boots_at(INT64_C(4070908800) + HOUR, false, false); /* 2099-01-01T01:00:00Z */
    boots_at(INT64_C(4070908800) + HOUR, true, false);
    boots_at(INT64_C(4070908800) + HOUR, true, true);
}

/* The very first start, at a date that cannot be right: no thousands of empty days, and the
 * readings of the right clock are no late ones. */
static void first_boot_at(int64_t odd_s)
{
    struct studio s;
    unsynchronised = true;
    studio_make(&s, checked, odd_s);
    studio_start(&s);
    record(&s, HOUR);
    assert_int_equal(count(&s, "late"), 6);
    assert_int_equal(count(&s, "tail"), 0);
    studio_stop(&s);
    studio_start(&s);
    record(&s, HOUR);
    unsynchronised = false;
    put_clock(&s, start_s);
    record(&s, DAY);
    struct live_status status;
    live_status(recorder_live(s.recorder), &status);
    assert_int_equal(status.open_day, start_s / DAY + 1);
    studio_stop(&s);
    assert_int_equal(count(&s, "signed_day"), 1);
    assert_int_equal(count(&s, "late"), 12);
    /* What the site file says holds then. */
    assert_true(studio_int(&s, "SELECT max(from_t) FROM placement") <= start_s);
    assert_true(studio_int(&s, "SELECT max(from_t) FROM zone_channel") <= start_s);
    assert_true(studio_int(&s, "SELECT max(t) FROM site_file") <= start_s);
    /* They are signed with the first day that there is. */
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM late WHERE day <> (SELECT min(day)"
                                    " FROM signed_day)"),
                     0);
    assert_int_equal(studio_int(&s, "SELECT sum(n) FROM day") + count(&s, "tail"), 144);
    studio_remove(&s);
}

static void a_first_start_in_1970_begins_when_the_clock_is_right(void **state)
{
    (void)state;
    first_boot_at(100);
    first_boot_at(5 * DAY + 100);
}

static void a_first_start_in_2099_begins_when_the_clock_is_right(void **state)
{
    (void)state;
    first_boot_at(INT64_C(4070908800) + HOUR);
}

/* What no clock can tell is not judged: a silent instrument, the end of a pause. */
static void nothing_is_alarmed_at_a_date_that_cannot_be_right(void **state)
{
    (void)state;
    static const char site[] =
        SITE("checked", "UTC") "[limit mute]\ninstrument = i1\nrule = silent\n"
                               "on_delay = 20 min\n"
                               "[limit damp]\nzone = room\nrule = humidity above 20\n"
                               "on_delay = 0 s\n";
    struct studio s;
    begin(&s, site, start_s);
    record(&s, HOUR);
    recorder_step(s.recorder, s.now);
    studio_stop(&s);
    studio_run(&s, "UPDATE alarm SET state = 4, shelved_until = 1893456000"); /* in 2030 */
    unsynchronised = true;
    s.now.utc_ms = (INT64_C(4070908800) + HOUR) * 1000; /* 2099-01-01T01:00:00Z */
    studio_start(&s);
    record(&s, 2 * HOUR);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM alarm_event WHERE t > 1893456000"),
                     0);
    assert_int_equal(studio_int(&s, "SELECT state FROM alarm WHERE limit_name = 'damp'"), 4);
    unsynchronised = false;
    put_clock(&s, start_s + 3 * HOUR);
    record(&s, HOUR);
    assert_int_equal(count(&s, "alarm"), 1);
    studio_remove(&s);
}

/* Summer time began and ended in London at 01:00 UTC on these days of 2026 (Directive 2000/84/EC,
 * which the United Kingdom follows: last Sundays of March and October). */
static void summer_time_is_no_special_case(void **state)
{
    (void)state;
    static const char *const days[] = {"2026-03-29", "2026-10-25"};
    for (size_t i = 0; i < sizeof days / sizeof *days; i++) {
        struct studio s;
        int64_t day;
        assert_true(clock_day_parse(days[i], &day));
        begin(&s, london, (day - 1) * DAY);
        record(&s, 3 * DAY + HOUR);
        studio_stop(&s);
        assert_int_equal(count(&s, "signed_day"), 3);
        assert_int_equal(studio_int(&s, "SELECT count(*) FROM day WHERE n = 144"), 3);
        assert_int_equal(count(&s, "gap"), 0);
        assert_int_equal(count(&s, "late"), 0);
        assert_int_equal(count(&s, "clock_step"), 0);
        studio_remove(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(back_by_hours_keeps_readings_apart_until_time_has_caught_up),
        cmocka_unit_test(back_into_a_closed_day_is_signed_with_the_day_it_came),
        cmocka_unit_test(forward_by_hours_is_a_gap_that_says_so),
        cmocka_unit_test(forward_over_midnight_is_a_gap_in_the_day_that_is_signed),
        cmocka_unit_test(no_day_is_closed_while_nobody_keeps_the_clock),
        cmocka_unit_test(a_board_that_boots_in_1970_goes_on_when_its_clock_is_right),
        cmocka_unit_test(a_board_that_boots_in_2099_goes_on_when_its_clock_is_right),
        cmocka_unit_test(a_first_start_in_1970_begins_when_the_clock_is_right),
        cmocka_unit_test(a_first_start_in_2099_begins_when_the_clock_is_right),
        cmocka_unit_test(nothing_is_alarmed_at_a_date_that_cannot_be_right),
        cmocka_unit_test(summer_time_is_no_special_case),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
