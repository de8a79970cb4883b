/* test_recorder_threads.c - sources, readers and a person at once on a running recorder: for the
 * thread sanitizer above all, and no reading may be lost in the crowd. */
#include "support/studio.h"

#include <pthread.h>
#include <stdatomic.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include "store/series.h"

static const char site_text[] =
    "[studio]\nname = Test\ntimezone = UTC\naltitude_m = 0\nclock = trusted\ndefaults = no\n"
    "[store]\npath = %s\n[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 1 s\nzone = room\n"
    "read = temperature input 0 int16 x0.1\nread = humidity input 1 uint16 x0.1\n"
    "[instrument i2]\nbus = b\nunit = 2\nserial = 2\nevery = 1 s\nzone = store\n"
    "read = temperature input 0 int16 x0.1\nread = humidity input 1 uint16 x0.1\n"
    "[zone room]\ntitle = Room\npurpose = drying\n[zone store]\ntitle = Store\npurpose = "
    "store\n"
    "[limit damp]\nzone = room\nrule = humidity above 65\non_delay = 10 s\npriority = medium\n";

enum {
    READINGS = 1500,
    READERS = 3
};

struct crowd {
    struct studio studio;
    int64_t from_s;
    atomic_bool over;
    atomic_int charts, acknowledged;
};

struct one_source {
    struct crowd *crowd;
    size_t instrument;
};

static void *run_source(void *context)
{
    struct one_source *me = context;
    struct recorder *r = me->crowd->studio.recorder;
    struct sink *sink = recorder_sink(r);
    for (int64_t i = 0; i < READINGS; i++) {
        struct reading both[2] = {{.t_s = me->crowd->from_s + i},
                                  {.t_s = me->crowd->from_s + i}};
        both[0].channel = recorder_channel(r, me->instrument, 0);
        both[0].value = 2000;
        both[1].channel = recorder_channel(r, me->instrument, 1);
        both[1].value = (int32_t)(7000 + i % 100);
        sink->put(sink, both, 2);
        clock_sleep_ms(1);
    }
    return NULL;
}

static void *run_reader(void *context)
{
    struct crowd *c = context;
    struct live *live = recorder_live(c->studio.recorder);
    uint64_t seen = 0;
    while (!atomic_load(&c->over)) {
        struct live_zone zone;
        struct live_instrument instrument;
        struct live_alarm alarms[4];
        struct live_status status;
        struct series s;
        live_zone(live, 0, &zone);
        live_instrument(live, 1, &instrument);
        live_status(live, &status);
        size_t n = live_alarms(live, alarms, 4);
        if (n > 0 && alarms[0].state == ALARM_UNACKNOWLEDGED &&
            recorder_alarm(c->studio.recorder, alarms[0].id, ALARM_ACKNOWLEDGE, 0, "A. Person",
                           "seen") == RC_OK)
            atomic_fetch_add(&c->acknowledged, 1);
        if (series_begin(&s, QUANTITY_DEW_POINT, c->from_s, c->from_s + READINGS, 500, 1) ==
                RC_OK &&
            live_series_fill(live, zone.id, QUANTITY_DEW_POINT, &s) == RC_OK)
            atomic_fetch_add(&c->charts, 1);
        series_free(&s);
        seen = live_wait(live, seen, 50);
    }
    return NULL;
}

static void nothing_is_lost_or_torn_while_many_read(void **state)
{
    (void)state;
    static struct crowd c;
    struct tick now = clock_now();
    pthread_t sources[2], readers[READERS];
    c.from_s = clock_utc_s(now);
    studio_make(&c.studio, site_text, c.from_s);
    c.studio.now = now;
    struct recorder_cfg cfg = {.site = c.studio.site, .commit_ms = 100};
    assert_int_equal(recorder_open(&cfg, now, &c.studio.recorder), RC_OK);
    assert_int_equal(recorder_start(c.studio.recorder), RC_OK);
    struct one_source two[2] = {{&c, 0}, {&c, 1}};
    for (int i = 0; i < 2; i++)
        assert_int_equal(pthread_create(&sources[i], NULL, run_source, &two[i]), 0);
    for (int i = 0; i < READERS; i++)
        assert_int_equal(pthread_create(&readers[i], NULL, run_reader, &c), 0);
    for (int i = 0; i < 2; i++)
        pthread_join(sources[i], NULL);
    clock_sleep_ms(400);
    atomic_store(&c.over, true);
    for (int i = 0; i < READERS; i++)
        pthread_join(readers[i], NULL);
    recorder_stop(c.studio.recorder);
    c.studio.now = clock_now();
    studio_stop(&c.studio);
    assert_int_equal(studio_int(&c.studio, "SELECT count(*) FROM tail") +
                         studio_int(&c.studio, "SELECT coalesce(sum(n), 0) FROM day"),
                     2 * 2 * READINGS);
    assert_int_equal(studio_int(&c.studio, "SELECT count(*) FROM gap"), 0);
    assert_true(atomic_load(&c.charts) > 0);
    assert_int_equal(atomic_load(&c.acknowledged), 1);
    assert_int_equal(studio_int(&c.studio, "SELECT count(*) FROM alarm_event WHERE person ="
                                           " 'A. Person'"),
                     1);
    studio_remove(&c.studio);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_lost_or_torn_while_many_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
