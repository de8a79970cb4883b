/* test_recorder.c - the recorder on simulated time: nothing lost, nothing silent, and the same
 * figures and digests however often it is stopped in between. */
#include "support/studio.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

static const char site_text[] =
    "[studio]\nname = Test\ntimezone = UTC\naltitude_m = 0\nclock = trusted\ndefaults = no\n"
    "[store]\npath = %s\n"
    "[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 60 s\nzone = room\n"
    "read = temperature input 0 int16 x0.1\nread = humidity input 1 uint16 x0.1\n"
    "[instrument i2]\nbus = b\nunit = 2\nserial = 2\nevery = 60 s\nzone = room\n"
    "read = surface_temperature input 0 int16 x0.1\nread = tank_full discrete 0 bit\n"
    "[zone room]\ntitle = Room\npurpose = drying\nlead = i1\n"
    "[limit damp]\nzone = room\nrule = humidity above 65\non_delay = 30 min\ndeadband = 3\n"
    "priority = medium\n"
    "[limit swing]\nzone = room\nrule = humidity range above 10 within 24 h\n"
    "priority = low\n"
    "[limit tank]\nzone = room\nrule = tank_full is on\non_delay = 5 min\npriority = medium\n"
    "[limit mute]\ninstrument = i1\nrule = silent\non_delay = 20 min\npriority = low\n";

enum {
    DAY = 86400
};
static const int64_t start_s = 1767225600 + 12 * 3600; /* 2026-01-01T12:00:00Z */

/* Air of a damp room with a daily swing; deterministic, no two slots alike. */
static double humidity_at(int64_t t_s)
{
    int64_t minute = t_s / 60;
    return 78 + 14 * ((double)(minute % 1440) / 1440) + (double)(minute * 7919 % 100) / 100;
}

static void put_minute(struct studio *s, int64_t t_s)
{
    studio_put(s, 0, 0, t_s, 15 + (double)(t_s / 60 * 31 % 200) / 100);
    studio_put(s, 0, 1, t_s, humidity_at(t_s));
    studio_put(s, 1, 0, t_s, 9 + (double)(t_s / 60 * 17 % 100) / 100);
    studio_put(s, 1, 1, t_s, t_s / 3600 % 24 == 3);
}

/* Runs from start to end with a clean stop before each minute for which `stops` says so. */
static void run_days(struct studio *s, int64_t minutes, int stop_every)
{
    s->commit_ms = 10 * 60 * 1000;
    studio_start(s);
    for (int64_t m = 0; m < minutes; m++) {
        int64_t t_s = start_s + 60 * m;
        put_minute(s, t_s);
        s->now.utc_ms += 500;
        s->now.mono_ms += 500;
        recorder_step(s->recorder, s->now);
        s->now.utc_ms = (t_s + 45) * 1000;
        s->now.mono_ms += 44500;
        recorder_step(s->recorder, s->now);
        if (stop_every != 0 && m % stop_every == stop_every - 1) {
            studio_stop(s);
            studio_start(s);
        }
        s->now.mono_ms += (t_s + 60) * 1000 - s->now.utc_ms;
        s->now.utc_ms = (t_s + 60) * 1000;
    }
    studio_stop(s);
}

static void cut_in_two_at_any_point_gives_the_same_figures_and_digests(void **state)
{
    (void)state;
    struct studio whole;
    studio_make(&whole, site_text, start_s);
    run_days(&whole, 3 * 1440, 0);
    assert_int_equal(studio_int(&whole, "SELECT count(*) FROM signed_day"), 3);
    assert_true(studio_int(&whole, "SELECT count(*) FROM alarm_event") > 4);
    static const int stops[] = {7, 113, 719, 1440};
    for (size_t i = 0; i < sizeof stops / sizeof *stops; i++) {
        struct studio cut;
        studio_make(&cut, site_text, start_s);
        run_days(&cut, 3 * 1440, stops[i]);
        assert_true(studio_same(&whole, &cut));
        assert_int_equal(studio_int(&cut, "SELECT count(*) FROM gap"), 0);
        studio_remove(&cut);
    }
    studio_remove(&whole);
}

static void the_view_gives_back_every_value_as_received(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    run_days(&s, 2000, 0);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM tail") +
                         studio_int(&s, "SELECT sum(n) FROM day"),
                     8000);
    assert_int_equal(studio_int(&s, "SELECT max(day) FROM day"), start_s / DAY);
    studio_remove(&s);
}

static void a_silent_instrument_is_a_gap_with_its_reason_and_an_alarm(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    studio_put(&s, 0, 1, start_s, 50);
    for (int64_t m = 1; m <= 30; m++) {
        studio_fail(&s, 0, 1, start_s + 60 * m, GAP_NO_ANSWER);
        studio_until(&s, start_s + 60 * m + 30);
    }
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM gap WHERE to_t IS NULL"), 1);
    assert_int_equal(studio_int(&s, "SELECT from_t FROM gap"), start_s + 60);
    assert_int_equal(studio_int(&s, "SELECT reason FROM gap"), GAP_NO_ANSWER);
    assert_int_equal(studio_int(&s, "SELECT state FROM alarm WHERE limit_name = 'mute'"),
                     ALARM_UNACKNOWLEDGED);
    studio_put(&s, 0, 1, start_s + 60 * 31, 51);
    studio_until(&s, start_s + 60 * 31 + 30);
    assert_int_equal(studio_int(&s, "SELECT to_t FROM gap"), start_s + 60 * 31);
    assert_int_equal(studio_int(&s, "SELECT state FROM alarm WHERE limit_name = 'mute'"),
                     ALARM_RETURNED);
    studio_remove(&s);
}

static void a_lost_slot_is_never_silent(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    studio_put(&s, 0, 1, start_s, 50);
    studio_put(&s, 0, 1, start_s + 120, 50);
    studio_until(&s, start_s + 150);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM gap WHERE reason = 10"), 1);
    assert_int_equal(studio_int(&s, "SELECT from_t FROM gap"), start_s + 60);
    assert_int_equal(studio_int(&s, "SELECT to_t FROM gap"), start_s + 120);
    studio_remove(&s);
}

static void a_stop_is_a_gap_that_says_so_once_slots_were_missed(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    studio_put(&s, 0, 1, start_s, 50);
    studio_until(&s, start_s + 30);
    studio_stop(&s);
    s.now.utc_ms += 600 * 1000;
    s.now.mono_ms += 600 * 1000;
    studio_start(&s);
    studio_put(&s, 0, 1, start_s + 660, 50);
    studio_until(&s, start_s + 700);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM gap"), 1);
    assert_int_equal(studio_int(&s, "SELECT reason FROM gap"), GAP_STOPPED);
    assert_int_equal(studio_int(&s, "SELECT from_t FROM gap"), start_s + 60);
    assert_int_equal(studio_int(&s, "SELECT to_t FROM gap"), start_s + 660);
    studio_remove(&s);
}

/* A slow instrument's reading that was lost with the last batch of a killed run, while a quick
 * one was written after it. */
static void a_slot_lost_in_a_kill_lies_in_the_gap(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    studio_put(&s, 0, 1, start_s, 50);
    studio_put(&s, 1, 0, start_s, 15);
    studio_put(&s, 1, 0, start_s + 60, 15);
    studio_put(&s, 1, 0, start_s + 120, 15); /* that of i1 at 60 and 120 is never written */
    studio_until(&s, start_s + 150);
    studio_stop(&s);
    s.now.utc_ms += 600 * 1000;
    s.now.mono_ms += 600 * 1000;
    studio_start(&s);
    studio_put(&s, 0, 1, start_s + 780, 50);
    studio_until(&s, start_s + 800);
    assert_int_equal(studio_int(&s, "SELECT min(from_t) FROM gap WHERE channel = 2"),
                     start_s + 60);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM gap WHERE channel = 2"), 1);
    studio_remove(&s);
}

/* A failure reported for a slot, then a reading of an earlier one after the clock was put back
 * by seconds. */
static void no_gap_ends_before_it_begins(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    studio_put(&s, 0, 1, start_s, 50);
    studio_until(&s, start_s + 30);
    studio_fail(&s, 0, 1, start_s + 60, GAP_NO_ANSWER);
    studio_put(&s, 0, 1, start_s + 55, 50);
    studio_until(&s, start_s + 90);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM gap WHERE to_t <= from_t"), 0);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM gap WHERE to_t IS NULL"), 0);
    studio_remove(&s);
}

static void the_worst_is_shown_while_an_alarm_lasts(void **state)
{
    (void)state;
    struct studio s;
    struct live_alarm alarm;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    for (int64_t m = 0; m <= 50; m++) {
        studio_put(&s, 0, 1, start_s + 60 * m, m == 40 ? 90 : 70);
        studio_until(&s, start_s + 60 * m + 30);
    }
    assert_int_equal(live_alarms(recorder_live(s.recorder), &alarm, 1), 1);
    assert_true(alarm.value > 69.9 && alarm.value < 70.1);
    assert_true(alarm.worst > 89.9 && alarm.worst < 90.1);
    studio_remove(&s);
}

static void readings_of_a_clock_put_back_are_kept_apart_and_noted(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    for (int64_t m = 0; m < 10; m++) {
        studio_put(&s, 0, 1, start_s + 60 * m, 50);
        studio_until(&s, start_s + 60 * m + 30);
    }
    s.now.utc_ms -= 3600 * 1000;
    for (int64_t m = 0; m < 5; m++) {
        studio_put(&s, 0, 1, start_s - 3600 + 60 * (m + 10), 49);
        studio_until(&s, start_s - 3600 + 60 * (m + 10) + 30);
    }
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM late"), 5);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM tail"), 10);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM clock_step"), 1);
    assert_int_equal(studio_int(&s, "SELECT step_ms / 1000 FROM clock_step"), -3600);
    studio_remove(&s);
}

static void a_limit_raises_after_its_delay_and_clears_below_its_deadband(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    static const struct {
        int minutes;
        double humidity;
        int state;
    } rows[] = {
        {10, 60, ALARM_NORMAL},  {29, 66, ALARM_NORMAL},         {1, 60, ALARM_NORMAL},
        {30, 66, ALARM_NORMAL},  {2, 70, ALARM_UNACKNOWLEDGED},  {10, 63, ALARM_UNACKNOWLEDGED},
        {1, 62, ALARM_RETURNED}, {31, 66, ALARM_UNACKNOWLEDGED},
    };
    int64_t t_s = start_s;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        for (int m = 0; m < rows[i].minutes; m++, t_s += 60) {
            studio_put(&s, 0, 1, t_s, rows[i].humidity);
            studio_until(&s, t_s + 30);
        }
        int64_t got = studio_int(
            &s, "SELECT coalesce((SELECT state FROM alarm WHERE limit_name = 'damp'), 0)");
        if (got != rows[i].state)
            print_error("row %zu\n", i);
        assert_int_equal(got, rows[i].state);
    }
    assert_int_equal(studio_int(&s, "SELECT count(DISTINCT occurrence) FROM alarm_event WHERE"
                                    " limit_name = 'damp'"),
                     2);
    /* The end of the first tells how far it went. */
    assert_int_equal(studio_int(&s,
                                "SELECT value FROM alarm_event WHERE limit_name = 'damp' AND"
                                " to_state = 3"),
                     70);
    studio_remove(&s);
}

static void an_alarm_that_is_over_within_one_commit_is_one_alarm(void **state)
{
    (void)state;
    static const char quick[] =
        "[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"
        "[store]\npath = %s\n"
        "[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
        "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 1 s\nzone = room\n"
        "read = leak discrete 0 bit\n"
        "[zone room]\ntitle = Room\npurpose = drying\n"
        "[limit wet]\nzone = room\nrule = leak is on\npriority = highest\n";
    struct studio s;
    studio_make(&s, quick, start_s);
    studio_start(&s);
    for (int64_t t_s = start_s; t_s < start_s + 3; t_s++)
        studio_put(&s, 0, 0, t_s, t_s == start_s + 1);
    studio_until(&s, start_s + 30);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM alarm_event"), 2);
    assert_int_equal(studio_int(&s, "SELECT count(DISTINCT occurrence) FROM alarm_event"), 1);
    assert_int_equal(studio_int(&s, "SELECT until_t - since_t FROM alarm"), 1);
    studio_remove(&s);
}

static void a_day_with_nothing_in_it_is_signed_too(void **state)
{
    (void)state;
    struct studio s;
    studio_make(&s, site_text, start_s);
    studio_start(&s);
    studio_stop(&s);
    s.now.utc_ms += (int64_t)5 * DAY * 1000;
    s.now.mono_ms += (int64_t)5 * DAY * 1000;
    studio_start(&s);
    studio_until(&s, start_s + 5 * DAY + 5);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM signed_day"), 5);
    assert_int_equal(studio_int(&s, "SELECT max(number) FROM signed_day"), 5);
    studio_remove(&s);
}

static int64_t rows_of(const struct studio *s, const char *quantity, int step_s)
{
    char sql[200];
    snprintf(sql, sizeof sql,
             "SELECT count(*) FROM rollup_row WHERE step = %d AND series IN (SELECT id FROM"
             " series WHERE quantity = '%s')",
             step_s, quantity);
    return studio_int(s, sql);
}

/* Without a surface temperature; the other tests' room has one. */
static void each_series_is_rolled_up_at_its_own_steps(void **state)
{
    (void)state;
    static const char air_alone[] =
        "[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"
        "[store]\npath = %s\n"
        "[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
        "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 60 s\nzone = room\n"
        "read = temperature input 0 int16 x0.1\nread = humidity input 1 uint16 x0.1\n"
        "[zone room]\npurpose = drying\n";
    struct studio s;
    studio_make(&s, air_alone, start_s - 12 * 3600);
    s.commit_ms = 4 * 3600 * 1000;
    studio_start(&s);
    for (int64_t t_s = clock_utc_s(s.now); clock_utc_s(s.now) < start_s + 12 * 3600 + 120;
         t_s += 60) {
        studio_put(&s, 0, 0, t_s, 20);
        studio_put(&s, 0, 1, t_s, 70);
        s.now.utc_ms += 60000;
        s.now.mono_ms += 60000;
        recorder_step(s.recorder, s.now);
    }
    studio_stop(&s);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM signed_day"), 1);
    static const char *const quantities[] = {"humidity", "dew_point", "emc"};
    for (size_t i = 0; i < sizeof quantities / sizeof *quantities; i++) {
        assert_int_equal(rows_of(&s, quantities[i], 900), 96);
        assert_int_equal(rows_of(&s, quantities[i], 3600), 24);
        assert_int_equal(rows_of(&s, quantities[i], 86400), 1);
    }
    assert_int_equal(rows_of(&s, "mould_index", 900), 0);
    assert_int_equal(rows_of(&s, "mould_index", 21600), 4);
    studio_remove(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cut_in_two_at_any_point_gives_the_same_figures_and_digests),
        cmocka_unit_test(the_view_gives_back_every_value_as_received),
        cmocka_unit_test(a_silent_instrument_is_a_gap_with_its_reason_and_an_alarm),
        cmocka_unit_test(a_lost_slot_is_never_silent),
        cmocka_unit_test(a_stop_is_a_gap_that_says_so_once_slots_were_missed),
        cmocka_unit_test(a_slot_lost_in_a_kill_lies_in_the_gap),
        cmocka_unit_test(no_gap_ends_before_it_begins),
        cmocka_unit_test(the_worst_is_shown_while_an_alarm_lasts),
        cmocka_unit_test(readings_of_a_clock_put_back_are_kept_apart_and_noted),
        cmocka_unit_test(a_limit_raises_after_its_delay_and_clears_below_its_deadband),
        cmocka_unit_test(an_alarm_that_is_over_within_one_commit_is_one_alarm),
        cmocka_unit_test(a_day_with_nothing_in_it_is_signed_too),
        cmocka_unit_test(each_series_is_rolled_up_at_its_own_steps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
