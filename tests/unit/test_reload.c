/* test_reload.c - a site file that changed: what was recorded under the old one stays where it
 * belongs, and what is warned of follows the new one at once. */
#include "support/studio.h"

#include <stdio.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include "store/series.h"

#define STUDIO                                                                                 \
    "[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"                  \
    "[store]\npath = %s\n[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
#define INSTRUMENT(every, zone)                                                                \
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = " every "\nzone = " zone "\n"     \
    "read = temperature input 0 int16 x0.1\nread = humidity input 1 uint16 x0.1\n"
#define SUCCESSOR                                                                              \
    "[instrument i1]\nbus = b\nunit = 1\nserial = 2\nevery = 60 s\nzone = room\n"              \
    "read = temperature input 0 int16 x0.1\nread = humidity input 1 uint16 x0.1\n"
#define ZONE(name) "[zone " name "]\npurpose = drying\n"
#define ROOM(every) STUDIO INSTRUMENT(every, "room") ZONE("room")
#define DAMP(above)                                                                            \
    "[limit damp]\nzone = room\nrule = humidity above " above "\non_delay = 30 min\n"

enum {
    DAY = 86400,
    HOUR = 3600
};
static const int64_t start_s = 1767225600; /* 2026-01-01T00:00:00Z */

static void record(struct studio *s, int64_t span_s, int every_s, double humidity)
{
    int64_t to_s = clock_utc_s(s->now) + span_s;
    for (int64_t t_s = clock_utc_s(s->now); t_s < to_s; t_s += every_s) {
        studio_put(s, 0, 0, t_s, 20);
        studio_put(s, 0, 1, t_s, humidity);
        s->now.utc_ms += every_s * 1000;
        s->now.mono_ms += every_s * 1000;
        recorder_step(s->recorder, s->now);
    }
}

static void begin(struct studio *s, const char *site)
{
    studio_make(s, site, start_s);
    s->commit_ms = 6 * HOUR * 1000;
    studio_start(s);
}

/* Lets the day be closed and the recorder be stopped. */
static void end_day(struct studio *s)
{
    studio_until(s, start_s + DAY + 70);
    studio_stop(s);
    assert_int_equal(studio_int(s, "SELECT count(*) FROM signed_day"), 1);
}

/* How many readings the hourly rollups of a zone's derived quantity hold. */
static int64_t rollups_of(const struct studio *s, int zone, const char *quantity)
{
    char sql[200];
    snprintf(sql, sizeof sql,
             "SELECT coalesce(sum(n), 0) FROM rollup_row WHERE step = 3600 AND series IN"
             " (SELECT id FROM series WHERE zone = %d AND quantity = '%s')",
             zone, quantity);
    return studio_int(s, sql);
}

/* How many readings an hourly chart of the first day shows. */
static int64_t shown(const struct studio *s, enum quantity q)
{
    struct reader *reader = NULL;
    struct series chart;
    int64_t n = 0;
    assert_int_equal(reader_open(s->db, &reader), RC_OK);
    assert_int_equal(series_begin(&chart, q, start_s, start_s + DAY, 24, 0), RC_OK);
    assert_int_equal(store_series_fill(reader, 1, &chart), RC_OK);
    series_end(&chart);
    for (size_t i = 0; i < chart.count; i++)
        n += chart.buckets[i].n;
    series_free(&chart);
    reader_close(reader);
    return n;
}

static void a_day_in_which_the_interval_was_changed_is_shown_whole(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, ROOM("60 s"));
    record(&s, DAY / 2, 60, 70);
    studio_change(&s, ROOM("5 min"));
    record(&s, DAY / 4, 300, 70);
    studio_change(&s, ROOM("60 s"));
    record(&s, DAY / 4, 60, 70);
    end_day(&s);
    int64_t recorded = 12 * 60 + 6 * 12 + 6 * 60;
    assert_int_equal(shown(&s, QUANTITY_HUMIDITY), recorded);
    assert_int_equal(shown(&s, QUANTITY_DEW_POINT), recorded);
    studio_remove(&s);
}

static void damp_hours_follow_the_interval(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, ROOM("60 s"));
    record(&s, HOUR, 60, 40);
    studio_until(&s, start_s + DAY);
    studio_change(&s, ROOM("30 s"));
    record(&s, HOUR, 30, 70);
    studio_until(&s, start_s + 2 * DAY + 70);
    studio_stop(&s);
    struct reader *reader = NULL;
    double hours[3], covered;
    assert_int_equal(reader_open(s.db, &reader), RC_OK);
    assert_int_equal(
        store_damp_hours(reader, 1, start_s + DAY, start_s + 2 * DAY, hours, &covered), RC_OK);
    reader_close(reader);
    assert_int_equal((int)(hours[0] * 60), 60);
    assert_int_equal((int)(covered * 60), 60);
    studio_remove(&s);
}

static void a_zone_that_left_the_site_file_takes_in_nothing_more(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, ROOM("60 s"));
    record(&s, HOUR, 60, 50);
    studio_change(&s, STUDIO INSTRUMENT("60 s", "annex") ZONE("annex"));
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM zone_channel WHERE to_t IS NULL AND"
                                    " zone = (SELECT id FROM zone WHERE name = 'room')"),
                     0);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM zone_channel WHERE to_t IS NULL"), 2);
    studio_remove(&s);
}

static void an_instrument_that_left_the_site_file_stands_nowhere(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, ROOM("60 s"));
    record(&s, HOUR, 60, 50);
    int64_t left_s = clock_utc_s(s.now);
    studio_change(&s, STUDIO ZONE("room"));
    assert_int_equal(studio_int(&s, "SELECT to_t FROM placement"), left_s);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM zone_channel WHERE to_t IS NULL"), 0);
    studio_until(&s, left_s + HOUR);
    studio_change(&s, STUDIO ZONE("room"));
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM gap WHERE reason = 13"), 2);
    studio_remove(&s);
}

/* Sums up what is shown of a zone's open day in quarters of an hour, or minute by minute. */
static struct series_bucket today(const struct studio *s, size_t zone, enum quantity q,
                                  int64_t width_s)
{
    struct live *live = recorder_live(s->recorder);
    struct live_zone z;
    struct series chart;
    struct series_bucket sum = {.min = INT32_MAX, .max = INT32_MIN};
    live_zone(live, zone, &z);
    assert_int_equal(series_begin(&chart, q, start_s, start_s + DAY, (int)(DAY / width_s), 0),
                     RC_OK);
    assert_int_equal(live_series_fill(live, z.id, q, &chart), RC_OK);
    series_end(&chart);
    for (size_t i = 0; i < chart.count; i++) {
        sum.n += chart.buckets[i].n;
        sum.min = chart.buckets[i].min < sum.min ? chart.buckets[i].min : sum.min;
        sum.max = chart.buckets[i].max > sum.max ? chart.buckets[i].max : sum.max;
    }
    series_free(&chart);
    return sum;
}

static void an_instrument_that_moved_leaves_its_morning_where_it_was(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, STUDIO INSTRUMENT("60 s", "room") ZONE("room") ZONE("annex"));
    record(&s, DAY / 2, 60, 90);
    studio_change(&s, STUDIO INSTRUMENT("60 s", "annex") ZONE("room") ZONE("annex"));
    record(&s, DAY / 4, 60, 40);
    assert_int_equal(recorder_flush(s.recorder, s.now), RC_OK);
    for (int64_t width_s = 60; width_s <= 900; width_s += 840) {
        assert_int_equal(today(&s, 0, QUANTITY_HUMIDITY, width_s).n, 720);
        assert_int_equal(today(&s, 0, QUANTITY_HUMIDITY, width_s).min, 9000);
        assert_int_equal(today(&s, 1, QUANTITY_HUMIDITY, width_s).n, 360);
        assert_int_equal(today(&s, 1, QUANTITY_HUMIDITY, width_s).max, 4000);
        assert_int_equal(today(&s, 1, QUANTITY_DEW_POINT, width_s).n, 360);
    }
    end_day(&s);
    /* The damp of the morning grew mould in the room, not in the annex. */
    assert_int_equal(studio_int(&s, "SELECT max(max) = 0 FROM rollup_row WHERE series = (SELECT"
                                    " id FROM series WHERE zone = 2 AND quantity ="
                                    " 'mould_index')"),
                     1);
    assert_int_equal(rollups_of(&s, 2, "dew_point"), 360);
    studio_remove(&s);
}

static void an_instrument_that_was_replaced_loses_nothing_of_its_morning(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, ROOM("60 s"));
    record(&s, DAY / 2, 60, 90);
    studio_change(&s, STUDIO SUCCESSOR ZONE("room"));
    record(&s, DAY / 4, 60, 80);
    assert_int_equal(recorder_flush(s.recorder, s.now), RC_OK);
    assert_int_equal(today(&s, 0, QUANTITY_HUMIDITY, 60).n, 1080);
    assert_int_equal(today(&s, 0, QUANTITY_DEW_POINT, 900).n, 1080);
    end_day(&s);
    assert_int_equal(shown(&s, QUANTITY_HUMIDITY), 1080);
    assert_int_equal(rollups_of(&s, 1, "dew_point"), 1080);
    studio_remove(&s);
}

static int64_t damp_state(const struct studio *s)
{
    assert_int_equal(recorder_flush(s->recorder, s->now), RC_OK);
    return studio_int(
        s, "SELECT coalesce((SELECT state FROM alarm WHERE limit_name = 'damp'), 0)");
}

static void a_limit_that_is_new_warns_of_what_lasts_already(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, ROOM("60 s"));
    record(&s, 2 * HOUR, 60, 70);
    studio_change(&s, ROOM("60 s") DAMP("65"));
    record(&s, HOUR, 60, 70);
    assert_int_equal(damp_state(&s), 1);
    studio_change(&s, ROOM("60 s") DAMP("75"));
    record(&s, HOUR, 60, 70);
    assert_int_equal(damp_state(&s), 3);
    studio_change(&s, ROOM("60 s") DAMP("60"));
    record(&s, HOUR, 60, 70);
    assert_int_equal(damp_state(&s), 1);
    studio_remove(&s);
}

static void a_limit_that_comes_back_starts_from_today(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, ROOM("60 s") DAMP("65"));
    record(&s, DAY, 60, 70);
    studio_until(&s, start_s + DAY + 70);
    assert_int_equal(damp_state(&s), 1);
    studio_change(&s, ROOM("60 s"));
    record(&s, DAY, 60, 50);
    studio_until(&s, start_s + 2 * DAY + 200);
    studio_change(&s, ROOM("60 s") DAMP("65"));
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM alarm_event WHERE to_state = 1"), 1);
    record(&s, HOUR, 60, 50);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM alarm_event WHERE to_state = 1"), 1);
    studio_remove(&s);
}

static void an_alarm_whose_limit_is_gone_is_over(void **state)
{
    (void)state;
    struct studio s;
    begin(&s, ROOM("60 s") DAMP("65"));
    record(&s, HOUR, 60, 70);
    assert_int_equal(damp_state(&s), 1);
    studio_change(&s, ROOM("60 s"));
    record(&s, HOUR, 60, 70);
    assert_int_equal(damp_state(&s), 0);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM alarm_event"), 2);
    studio_change(&s, ROOM("60 s"));
    record(&s, HOUR, 60, 70);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM alarm_event"), 2);
    studio_remove(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_day_in_which_the_interval_was_changed_is_shown_whole),
        cmocka_unit_test(damp_hours_follow_the_interval),
        cmocka_unit_test(a_zone_that_left_the_site_file_takes_in_nothing_more),
        cmocka_unit_test(an_instrument_that_left_the_site_file_stands_nowhere),
        cmocka_unit_test(an_instrument_that_moved_leaves_its_morning_where_it_was),
        cmocka_unit_test(an_instrument_that_was_replaced_loses_nothing_of_its_morning),
        cmocka_unit_test(a_limit_that_is_new_warns_of_what_lasts_already),
        cmocka_unit_test(a_limit_that_comes_back_starts_from_today),
        cmocka_unit_test(an_alarm_whose_limit_is_gone_is_over),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
