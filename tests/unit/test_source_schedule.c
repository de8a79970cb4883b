/* Who is asked when: the poller on simulated time, over a line that this file makes up. */
#include "support/near.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/log.h"
#include "source/poller.h"

enum {
    UNITS = 33,
    READINGS = 200000,
    ANSWER_MS = 20
};

/* The line and the world: poller.c sees the functions of line.h, which follow. */
struct line {
    struct sink sink;
    struct site_bus bus;
    struct tick now;
    int64_t quiet_until_ms;
    bool dead[UNITS];
    bool down;
    bool gateway; /* which says that a unit does not answer, by exception 11 */
    unsigned asked[UNITS];
    int64_t worst_delay_ms[UNITS]; /* of a live unit's request after its slot's moment */
    int every_s[UNITS];
    struct reading *readings;
    size_t count;
    struct poller *poller;
    struct site_instrument configs[UNITS];
};

static void pass(struct line *w, int64_t ms)
{
    w->now.mono_ms += ms;
    w->now.utc_ms += ms;
}

bool line_ready(struct line *w, enum gap_reason *why)
{
    *why = GAP_NO_CONNECTION;
    return !w->down;
}

bool line_connected(const struct line *w)
{
    return !w->down;
}

int line_quiet_ms(const struct line *w)
{
    return w->bus.response_ms;
}

void line_ask(struct line *w, const struct frame_request *request, int response_ms,
              struct frame_answer *out)
{
    if (w->quiet_until_ms > w->now.mono_ms)
        pass(w, w->quiet_until_ms - w->now.mono_ms);
    int unit = request->unit;
    w->asked[unit]++;
    out->detail = 0;
    if (w->dead[unit]) {
        pass(w, response_ms);
        if (w->gateway) {
            out->gap = GAP_EXCEPTION;
            out->detail = 11;
            return;
        }
        w->quiet_until_ms = w->now.mono_ms + w->bus.response_ms;
        out->gap = GAP_NO_ANSWER;
        return;
    }
    int64_t every_ms = w->every_s[unit] * INT64_C(1000);
    int64_t delay = (w->now.utc_ms - 500) % every_ms;
    if (delay > w->worst_delay_ms[unit])
        w->worst_delay_ms[unit] = delay;
    pass(w, ANSWER_MS);
    out->gap = GAP_NONE;
    for (unsigned i = 0; i < request->count; i++)
        out->words[i] = (uint16_t)unit;
}

static void put(struct sink *sink, const struct reading *readings, unsigned count)
{
    struct line *w = (struct line *)sink;
    for (unsigned i = 0; i < count; i++) {
        if (w->count == READINGS)
            fail_msg("more readings than any test wants");
        w->readings[w->count++] = readings[i];
    }
}

static const struct site_read read_one = {
    .quantity = QUANTITY_TEMPERATURE, .table = TABLE_INPUT, .type = TYPE_UINT16, .scale = 0.01};

/* 2026-03-01 00:00:03.2 UTC and some uptime. */
static const struct tick start_at = {.mono_ms = 77123, .utc_ms = INT64_C(1772323203200)};

static struct line *open_world(int units, const int *every_s, int response_ms)
{
    struct line *w = calloc(1, sizeof *w);
    assert_non_null(w);
    w->readings = calloc(READINGS, sizeof *w->readings);
    assert_non_null(w->readings);
    w->sink.put = put;
    w->bus = (struct site_bus){
        .name = "test", .kind = BUS_MODBUS_RTU, .baud = 9600, .response_ms = response_ms};
    w->now = start_at;
    struct source_instrument *instruments = calloc(UNITS, sizeof *instruments);
    assert_non_null(instruments);
    for (int i = 0; i < units; i++) {
        w->every_s[i + 1] = every_s[i];
        w->configs[i] = (struct site_instrument){.name = "unit",
                                                 .bus = &w->bus,
                                                 .unit = i + 1,
                                                 .every_s = every_s[i],
                                                 .reads = &read_one,
                                                 .read_count = 1};
        instruments[i].config = &w->configs[i];
        instruments[i].channel[0] = (uint32_t)i + 1;
    }
    const struct source_config config = {.bus = &w->bus,
                                         .instruments = instruments,
                                         .instrument_count = (size_t)units,
                                         .clock_trusted = true};
    assert_int_equal(poller_new(&config, w, &w->sink, w->now, &w->poller), RC_OK);
    free(instruments);
    return w;
}

static struct line *open_even_world(int units, int every_s, int response_ms)
{
    int pace[UNITS];
    for (int i = 0; i < units; i++)
        pace[i] = every_s;
    return open_world(units, pace, response_ms);
}

static void close_world(struct line *w)
{
    struct source_status status;
    poller_status(w->poller, &status);
    assert_true(status.unit_count > 0);
    poller_free(w->poller);
    free(w->readings);
    free(w);
}

/* As the thread of a bus does, at most a second of waiting at a time. */
static void run_for(struct line *w, int64_t ms)
{
    int64_t end = w->now.mono_ms + ms;
    int idle = 0;
    while (w->now.mono_ms < end) {
        int64_t before = w->now.mono_ms;
        int64_t wait = poller_step(w->poller, w->now) - w->now.mono_ms;
        pass(w, wait < 0 ? 0 : wait > 1000 ? 1000 : wait);
        idle = w->now.mono_ms == before ? idle + 1 : 0;
        if (idle > 2 * UNITS)
            fail_msg("the poller turns without waiting");
    }
}

/* The channel's slots follow each other on the grid; returns how many, and how many values. */
static size_t check_grid(const struct line *w, uint32_t channel, size_t *out_values)
{
    int64_t every = w->every_s[channel], last = 0;
    size_t n = 0;
    *out_values = 0;
    for (size_t i = 0; i < w->count; i++) {
        const struct reading *r = &w->readings[i];
        if (r->channel != channel)
            continue;
        if (r->t_s % every != 0 || (n > 0 && r->t_s != last + every))
            fail_msg("unit %u: slot %lld after %lld", channel, (long long)r->t_s,
                     (long long)last);
        last = r->t_s;
        n++;
        *out_values += r->gap == GAP_NONE ? 1 : 0;
    }
    return n;
}

static void slots_lie_on_the_grid_of_utc_in_mid_second(void **state)
{
    (void)state;
    struct line *w = open_world(3, (const int[]){1, 7, 60}, 500);
    run_for(w, 3600 * 1000);
    const size_t expected[] = {3600, 514, 60};
    for (uint32_t unit = 1; unit <= 3; unit++) {
        size_t values, n = check_grid(w, unit, &values);
        assert_in_range(n, expected[unit - 1], expected[unit - 1] + 1);
        assert_int_equal(values, n);
        assert_true(w->worst_delay_ms[unit] <= 3 * ANSWER_MS);
    }
    assert_int_equal(w->readings[0].t_s, 1772323203);
    close_world(w);
}

struct half_dead {
    int units, every_s, response_ms;
    int settle_slots; /* at the start nobody knows who is dead: slots may be late */
};

static void the_live_keep_every_slot_beside_the_dead(void **state)
{
    (void)state;
    static const struct half_dead rows[] = {
        {16, 10, 500, 2}, {16, 1, 50, 1}, {32, 10, 500, 3}, {16, 2, 500, 5}, {16, 1, 200, 5},
    };
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        const struct half_dead *row = &rows[k];
        struct line *w = open_even_world(row->units, row->every_s, row->response_ms);
        for (int unit = 1; unit <= row->units; unit += 2)
            w->dead[unit] = true;
        run_for(w, row->settle_slots * row->every_s * 1000 + 3000);
        int64_t settled_s = w->now.utc_ms / 1000;
        for (int unit = 0; unit < UNITS; unit++)
            w->worst_delay_ms[unit] = 0;
        run_for(w, 1200 * 1000);
        for (uint32_t unit = 1; unit <= (uint32_t)row->units; unit++) {
            size_t values, n = check_grid(w, unit, &values);
            assert_in_range(n, 1200 / row->every_s - 1,
                            1200 / row->every_s + row->settle_slots + 4);
            if (w->dead[unit]) {
                assert_int_equal(values, 0);
                /* At rest it is asked once a minute, but it is asked. */
                assert_in_range(w->asked[unit], 12, 60);
                continue;
            }
            for (size_t i = 0; i < w->count; i++)
                if (w->readings[i].channel == unit && w->readings[i].t_s > settled_s &&
                    w->readings[i].gap != GAP_NONE)
                    fail_msg("row %zu: live unit %u lost a slot: %s", k, unit,
                             gap_reason_word((enum gap_reason)w->readings[i].gap));
            /* It waits for other live units at most. */
            if (w->worst_delay_ms[unit] > row->units / 2 * ANSWER_MS)
                fail_msg("row %zu: live unit %u was asked %lld ms late", k, unit,
                         (long long)w->worst_delay_ms[unit]);
        }
        close_world(w);
    }
}

static void a_dead_unit_gives_its_last_reason_for_every_slot_it_rests(void **state)
{
    (void)state;
    struct line *w = open_even_world(2, 10, 500);
    w->dead[2] = true;
    run_for(w, 600 * 1000);
    size_t gaps = 0;
    for (size_t i = 0; i < w->count; i++)
        if (w->readings[i].channel == 2) {
            assert_int_equal(w->readings[i].gap, GAP_NO_ANSWER);
            gaps++;
        }
    assert_in_range(gaps, 59, 61);
    assert_in_range(w->asked[2], 10, 30);
    close_world(w);
}

/* Behind a gateway that says so by an exception, each time after a timeout of its own. */
static void the_live_keep_their_slots_beside_the_dead_of_a_gateway(void **state)
{
    (void)state;
    struct line *w = open_even_world(16, 2, 500);
    w->gateway = true;
    for (int unit = 1; unit <= 16; unit += 2)
        w->dead[unit] = true;
    run_for(w, 12 * 1000);
    size_t settled = w->count;
    run_for(w, 600 * 1000);
    for (size_t i = 0; i < w->count; i++) {
        const struct reading *r = &w->readings[i];
        if (w->dead[r->channel]) {
            if (r->gap == GAP_EXCEPTION)
                assert_int_equal(r->detail, 11);
            else
                assert_true(i < settled && r->gap == GAP_OVERRUN);
        } else if (i >= settled) {
            assert_int_equal(r->gap, GAP_NONE);
        }
    }
    for (uint32_t unit = 1; unit <= 16; unit++) {
        size_t values;
        assert_in_range(check_grid(w, unit, &values), 305, 307);
        assert_in_range(w->asked[unit], 10, w->dead[unit] ? 30 : 307);
    }
    close_world(w);
}

static void a_unit_that_returns_is_heard_within_the_longest_rest(void **state)
{
    (void)state;
    struct line *w = open_even_world(4, 10, 500);
    w->dead[3] = true;
    run_for(w, 3600 * 1000);
    w->dead[3] = false;
    int64_t back_s = w->now.utc_ms / 1000;
    run_for(w, 300 * 1000);
    int64_t first_s = 0;
    for (size_t i = 0; i < w->count && first_s == 0; i++)
        if (w->readings[i].channel == 3 && w->readings[i].gap == GAP_NONE)
            first_s = w->readings[i].t_s;
    assert_in_range(first_s, back_s, back_s + 60 + 10);
    size_t values;
    check_grid(w, 3, &values);
    assert_true(values >= (size_t)(300 - 70) / 10);
    close_world(w);
}

static void one_failure_costs_one_slot(void **state)
{
    (void)state;
    struct line *w = open_even_world(16, 10, 500);
    run_for(w, 60 * 1000);
    w->dead[5] = true;
    run_for(w, 10 * 1000);
    w->dead[5] = false;
    run_for(w, 60 * 1000);
    for (uint32_t unit = 1; unit <= 16; unit++) {
        size_t values, n = check_grid(w, unit, &values);
        assert_int_equal(n - values, unit == 5 ? 1 : 0);
    }
    close_world(w);
}

static void a_bus_that_is_down_gives_its_reason_and_rests_nobody(void **state)
{
    (void)state;
    struct line *w = open_even_world(3, 10, 500);
    run_for(w, 60 * 1000);
    w->down = true;
    run_for(w, 600 * 1000);
    w->down = false;
    run_for(w, 60 * 1000);
    for (uint32_t unit = 1; unit <= 3; unit++) {
        size_t values, n = check_grid(w, unit, &values);
        assert_in_range(n - values, 59, 61);
    }
    for (size_t i = 0; i < w->count; i++)
        assert_true(w->readings[i].gap == GAP_NONE || w->readings[i].gap == GAP_NO_CONNECTION);
    close_world(w);
}

static void slots_that_a_halt_ran_over_are_gaps(void **state)
{
    (void)state;
    struct line *w = open_even_world(2, 10, 500);
    run_for(w, 60 * 1000);
    pass(w, 95 * 1000);
    run_for(w, 60 * 1000);
    size_t overruns = 0, values;
    for (size_t i = 0; i < w->count; i++)
        overruns += w->readings[i].channel == 1 && w->readings[i].gap == GAP_OVERRUN ? 1 : 0;
    assert_in_range(overruns, 8, 9);
    check_grid(w, 1, &values);
    check_grid(w, 2, &values);
    close_world(w);
}

static void a_halt_of_days_gives_no_flood_of_gaps(void **state)
{
    (void)state;
    struct line *w = open_even_world(1, 1, 500);
    run_for(w, 5 * 1000);
    size_t before = w->count;
    pass(w, INT64_C(3) * CLOCK_DAY_S * 1000);
    run_for(w, 1000);
    assert_in_range(w->count - before, 100, POLLER_OVERRUN_MAX + 3);
    assert_int_equal(w->readings[before].gap, GAP_OVERRUN);
    for (size_t i = 1; i < w->count; i++)
        assert_true(w->readings[i].t_s > w->readings[i - 1].t_s);
    close_world(w);
}

static void after_a_step_forward_slots_follow_the_new_time(void **state)
{
    (void)state;
    struct line *w = open_even_world(1, 10, 500);
    run_for(w, 60 * 1000);
    size_t before = w->count;
    int64_t last_s = w->readings[before - 1].t_s;
    w->now.utc_ms += 3600 * 1000 + 3000;
    run_for(w, 60 * 1000);
    /* The first slot that never was says why; what follows is on the new grid, at once. */
    assert_int_equal(w->readings[before].gap, GAP_CLOCK);
    assert_int_equal(w->readings[before].t_s, last_s + 10);
    assert_in_range(w->readings[before + 1].t_s, last_s + 3600, last_s + 3620);
    for (size_t i = before + 1; i < w->count; i++) {
        assert_int_equal(w->readings[i].gap, GAP_NONE);
        assert_int_equal(w->readings[i].t_s % 10, 0);
    }
    assert_in_range(w->count - before, 6, 8);
    close_world(w);
}

static void after_a_step_back_slots_follow_the_new_time(void **state)
{
    (void)state;
    struct line *w = open_even_world(1, 10, 500);
    run_for(w, 60 * 1000);
    size_t before = w->count;
    int64_t last_s = w->readings[before - 1].t_s;
    w->now.utc_ms -= 3600 * 1000;
    run_for(w, 60 * 1000);
    assert_int_equal(w->readings[before].t_s, last_s - 3600 + 10);
    for (size_t i = before + 1; i < w->count; i++)
        assert_int_equal(w->readings[i].t_s, w->readings[i - 1].t_s + 10);
    assert_in_range(w->count - before, 5, 7);
    close_world(w);
}

static void no_stamp_comes_twice_when_the_clock_is_nudged(void **state)
{
    (void)state;
    static const int nudges_ms[] = {-499, -300, -700, -1, 1, 300, 499, 700, -2500, -9000};
    for (int every = 1; every <= 10; every += 9)
        for (size_t k = 0; k < sizeof nudges_ms / sizeof *nudges_ms; k++)
            for (int at = 0; at < 1000; at += 90) {
                struct line *w = open_even_world(1, every, 500);
                run_for(w, 30 * 1000 + at);
                int64_t last_s = w->readings[w->count - 1].t_s;
                size_t before = w->count;
                w->now.utc_ms += nudges_ms[k];
                run_for(w, 30 * 1000);
                for (size_t i = before; i < w->count; i++)
                    /* Going back by a slot or more, stamps may come again, but never the one
                     * that was the last. */
                    if (w->readings[i].t_s == last_s && nudges_ms[k] > -every * 1000)
                        fail_msg("every %d s, nudged by %d ms at %d: stamp %lld twice", every,
                                 nudges_ms[k], at, (long long)last_s);
                assert_true(w->count > before + (every == 1 ? 25 : 1));
                close_world(w);
            }
}

static void a_year_of_ten_minute_slots_loses_none(void **state)
{
    (void)state;
    struct line *w = open_even_world(2, 600, 500);
    /* A crystal that is 50 ppm off, kept right by slewing: UTC gains 180 ms an hour. */
    for (int hour = 0; hour < 8760; hour++) {
        run_for(w, 3600 * 1000);
        w->now.utc_ms += 180;
    }
    for (uint32_t unit = 1; unit <= 2; unit++) {
        size_t values, n = check_grid(w, unit, &values);
        /* Each hour's run overshoots by up to a second of waiting. */
        assert_in_range(n, 52560, 52580);
        assert_int_equal(values, n);
    }
    close_world(w);
}

static void a_live_unit_at_a_second_keeps_its_slots_beside_a_dead_one(void **state)
{
    (void)state;
    struct line *w = open_world(2, (const int[]){1, 10}, 500);
    w->dead[2] = true;
    run_for(w, 1800 * 1000);
    size_t values, n = check_grid(w, 1, &values);
    assert_int_equal(values, n);
    assert_in_range(n, 1799, 1801);
    assert_true(w->asked[2] >= 1800 / 75);
    close_world(w);
}

/* The flag follows the kernel's word, unless the site file says that the clock is trusted. */
static void readings_are_flagged_while_nobody_keeps_the_clock(void **state)
{
    (void)state;
    struct line *w = open_even_world(1, 1, 500);
    run_for(w, 3000);
    assert_int_equal(w->readings[0].flags, 0);
    poller_free(w->poller);
    w->count = 0;
    const struct source_instrument instrument = {.config = &w->configs[0], .channel = {1}};
    const struct source_config config = {
        .bus = &w->bus, .instruments = &instrument, .instrument_count = 1};
    assert_int_equal(poller_new(&config, w, &w->sink, w->now, &w->poller), RC_OK);
    run_for(w, 3000);
    assert_true(w->count > 0);
    assert_int_equal(w->readings[0].flags, clock_kernel_unsynchronised() ? READING_CLOCK : 0);
    close_world(w);
}

static void a_bus_without_instruments_waits(void **state)
{
    (void)state;
    struct line w = {.bus = {.name = "test", .response_ms = 500}, .now = start_at};
    const struct source_config config = {.bus = &w.bus, .clock_trusted = true};
    struct poller *poller;
    assert_int_equal(poller_new(&config, &w, &w.sink, w.now, &poller), RC_OK);
    assert_true(poller_step(poller, w.now) > w.now.mono_ms + 1000);
    poller_free(poller);
}

int main(void)
{
    log_setup(LOG_LEVEL_ERR);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slots_lie_on_the_grid_of_utc_in_mid_second),
        cmocka_unit_test(the_live_keep_every_slot_beside_the_dead),
        cmocka_unit_test(a_dead_unit_gives_its_last_reason_for_every_slot_it_rests),
        cmocka_unit_test(the_live_keep_their_slots_beside_the_dead_of_a_gateway),
        cmocka_unit_test(a_unit_that_returns_is_heard_within_the_longest_rest),
        cmocka_unit_test(one_failure_costs_one_slot),
        cmocka_unit_test(a_bus_that_is_down_gives_its_reason_and_rests_nobody),
        cmocka_unit_test(slots_that_a_halt_ran_over_are_gaps),
        cmocka_unit_test(a_halt_of_days_gives_no_flood_of_gaps),
        cmocka_unit_test(after_a_step_forward_slots_follow_the_new_time),
        cmocka_unit_test(after_a_step_back_slots_follow_the_new_time),
        cmocka_unit_test(no_stamp_comes_twice_when_the_clock_is_nudged),
        cmocka_unit_test(a_year_of_ten_minute_slots_loses_none),
        cmocka_unit_test(readings_are_flagged_while_nobody_keeps_the_clock),
        cmocka_unit_test(a_bus_without_instruments_waits),
        cmocka_unit_test(a_live_unit_at_a_second_keeps_its_slots_beside_a_dead_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
