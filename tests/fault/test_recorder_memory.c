/* test_recorder_memory.c - memory runs out at each allocation of the recorder in turn: at the
 * start a clean code and a second start that goes well, later no reading lost or changed. */
#include "support/nomem.h"
#include "support/studio.h"

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

static const char site_text[] =
    "[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"
    "[store]\npath = %s\n"
    "[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 10 min\nzone = room\n"
    "read = temperature input 0 int16 x0.1\nread = humidity input 1 uint16 x0.1\n"
    "[zone room]\ntitle = Room\npurpose = drying\n"
    "[limit damp]\nzone = room\nrule = humidity above 65\non_delay = 30 min\ndeadband = 3\n";

enum {
    EVERY_S = 600,
    SLOTS = 72 + 12, /* from noon: a day is closed */
    BROKEN_SLOTS = 6,
};
static const int64_t start_s = 1767225600 + 12 * 3600; /* 2026-01-01T12:00:00Z */

static void step_at(struct studio *s, int64_t utc_ms)
{
    s->now.mono_ms += utc_ms - s->now.utc_ms;
    s->now.utc_ms = utc_ms;
    recorder_step(s->recorder, s->now);
}

static void put_slot(struct studio *s, int64_t slot)
{
    int64_t t_s = start_s + EVERY_S * slot;
    step_at(s, t_s * 1000);
    studio_put(s, 0, 0, t_s, 15 + (double)(slot * 31 % 200) / 100);
    studio_put(s, 0, 1, t_s, 58 + 14 * (double)(slot % 60) / 60);
    step_at(s, t_s * 1000 + 500);
    step_at(s, t_s * 1000 + 45000);
    step_at(s, t_s * 1000 + 120000);
}

/* One run in which allocation n fails; returns whether it was reached. */
static bool run(struct studio *s, long n, bool for_ever)
{
    struct recorder_cfg cfg = {.site = s->site};
    nomem_after(n, for_ever);
    enum rc rc = recorder_open(&cfg, s->now, &s->recorder);
    bool met = nomem_met();
    if (rc != RC_OK) {
        assert_true(nomem_end());
        assert_int_equal(rc, RC_NOMEM);
        studio_start(s);
    }
    int64_t mend_slot = met ? 0 : -1;
    for (int64_t slot = 0; slot < SLOTS; slot++) {
        put_slot(s, slot);
        if (nomem_met() && mend_slot < 0)
            mend_slot = slot + (for_ever ? BROKEN_SLOTS : 0);
        if (mend_slot >= 0 && slot >= mend_slot)
            met = nomem_end() || met;
    }
    met = nomem_end() || met;
    step_at(s, s->now.utc_ms + 120000);
    studio_stop(s);
    return met;
}

static void readings_survive_each_allocation_that_fails(void **state)
{
    (void)state;
    struct studio whole;
    studio_make(&whole, site_text, start_s);
    run(&whole, -1, false);
    assert_int_equal(studio_int(&whole, "SELECT count(*) FROM signed_day"), 1);
    for (int for_ever = 0; for_ever < 2; for_ever++) {
        long n = 0, runs = 0;
        for (bool met = true; met; runs++) {
            struct studio s;
            studio_make(&s, site_text, start_s);
            met = run(&s, n, for_ever != 0);
            if (!studio_same(&whole, &s))
                fail_msg("allocation %ld, %s", n, for_ever != 0 ? "for hours" : "once");
            assert_int_equal(studio_int(&s, "SELECT count(*) FROM gap"), 0);
            studio_remove(&s);
            n++;
        }
        print_message("%ld runs\n", runs);
        assert_true(runs > 20);
    }
    studio_remove(&whole);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(readings_survive_each_allocation_that_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
