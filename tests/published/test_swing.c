/* test_swing.c - ranges, rates and the response filter against worked figures.
 *
 * Source: the filter is the exact response of a first-order system to a held value (any
 * text on linear systems); its figures follow from 50 + 20 (1 - exp(-t/tau)) and were
 * calculated apart from this library. Windows, gaps and coverage are project choices.
 */
#include "stillroom/swing.h"

#include "support/near.h"

#define H INT64_C(3600)

static void a_step_is_felt_as_an_exponential(void **state)
{
    (void)state;
    static const struct {
        int hours;
        double want;
    } rows[] = {{12, 57.869}, {24, 62.642}, {48, 67.293}, {72, 69.004}};
    struct sr_swing_filter f;
    struct sr_swing_felt felt = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_int_equal(sr_swing_filter_begin_at(24 * 3600.0, 0, 50.0, &f), SR_OK);
        for (int h = 1; h <= rows[i].hours; h++)
            assert_int_equal(sr_swing_filter_push(&f, h * H, 70.0, &felt), SR_OK);
        assert_near(felt.y, rows[i].want, 0.0005);
        assert_true(felt.known);
    }
    /* In one stride it is the same: the filter is exact for uneven steps. */
    assert_int_equal(sr_swing_filter_begin_at(24 * 3600.0, 0, 50.0, &f), SR_OK);
    assert_int_equal(sr_swing_filter_push(&f, 24 * H, 70.0, &felt), SR_OK);
    assert_near(felt.y, 62.642, 0.0005);
}

static void a_slow_object_feels_little_of_a_pulse(void **state)
{
    (void)state;
    static const struct {
        double tau_h, peak;
    } rows[] = {{6, 67.293}, {24, 57.869}, {41, 55.075}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sr_swing_filter f;
        struct sr_swing_felt felt;
        double peak = 0.0;
        assert_int_equal(sr_swing_filter_begin_at(rows[i].tau_h * 3600.0, 0, 50.0, &f), SR_OK);
        for (int h = 1; h <= 36; h++) {
            assert_int_equal(sr_swing_filter_push(&f, h * H, h <= 12 ? 70.0 : 50.0, &felt),
                             SR_OK);
            peak = felt.y > peak ? felt.y : peak;
        }
        assert_near(peak, rows[i].peak, 0.0005);
    }
}

static void a_daily_sine_passes_by_the_first_order_gain(void **state)
{
    (void)state;
    static const struct {
        double tau_h, gain;
    } rows[] = {{1, 0.967}, {6, 0.537}, {24, 0.157}, {168, 0.023}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double got;
        assert_int_equal(sr_swing_gain(86400.0, rows[i].tau_h * 3600.0, &got), SR_OK);
        assert_near(got, rows[i].gain, 0.0005);
    }
}

/* The example tells a closed window from a half-open one (12) for 12 hours. */
static void the_window_is_closed_at_both_ends(void **state)
{
    (void)state;
    static const double v[] = {50, 52, 55, 61, 58, 54, 49, 47};
    int64_t t_s[8];
    for (int i = 0; i < 8; i++)
        t_s[i] = i * 3 * H;
    struct sr_series s = {t_s, v, 8, 3 * H};
    struct sr_swing_slot slots[12];
    struct sr_swing_range got;
    assert_int_equal(sr_swing_greatest(&s, 24 * H, 75.0, slots, 12, &got), SR_OK);
    assert_near(got.range, 14.0, 0.0);
    assert_int_equal(sr_swing_greatest(&s, 12 * H, 75.0, slots, 12, &got), SR_OK);
    assert_near(got.range, 14.0, 0.0);
    assert_int_equal(got.high_at_s, 9 * H);
    assert_int_equal(got.low_at_s, 21 * H);

    struct sr_swing_rate rate;
    assert_int_equal(sr_swing_steepest(&s, H, &rate), SR_OK);
    assert_near(rate.per_h, 2.0, 1e-12);
    assert_int_equal(rate.from_s, 6 * H);
    assert_int_equal(rate.to_s, 9 * H);
}

/* Project choice: unknown for 3 tau after a gap longer than tau. */
static void a_gap_longer_than_tau_makes_the_felt_humidity_unknown(void **state)
{
    (void)state;
    struct sr_swing_filter f;
    struct sr_swing_felt felt;
    assert_int_equal(sr_swing_filter_begin_at(2 * 3600.0, 0, 50.0, &f), SR_OK);
    assert_int_equal(sr_swing_filter_push(&f, 2 * H, 60.0, &felt), SR_OK);
    assert_true(felt.known); /* a gap of tau itself is bridged */
    assert_int_equal(sr_swing_filter_push(&f, 4 * H + 1, 70.0, &felt), SR_OK);
    assert_false(felt.known);
    assert_near(felt.y, 70.0, 0.0);
    for (int h = 6; h <= 10; h += 2)
        assert_int_equal(sr_swing_filter_push(&f, h * H, 70.0, &felt), SR_OK);
    assert_false(felt.known);
    assert_int_equal(sr_swing_filter_push(&f, 10 * H + 1, 70.0, &felt), SR_OK);
    assert_true(felt.known);
}

/* Project choice: more than 2 intervals. */
static void no_rate_is_given_across_a_gap(void **state)
{
    (void)state;
    static const double v[] = {50, 70};
    struct sr_swing_rate rate;
    int64_t t_s[] = {0, 2 * H};
    struct sr_series s = {t_s, v, 2, H};
    assert_int_equal(sr_swing_steepest(&s, 2 * H, &rate), SR_OK);
    assert_near(rate.per_h, 10.0, 1e-12);
    t_s[1] = 2 * H + 1;
    assert_int_equal(sr_swing_steepest(&s, 2 * H, &rate), SR_THIN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_step_is_felt_as_an_exponential),
        cmocka_unit_test(a_slow_object_feels_little_of_a_pulse),
        cmocka_unit_test(a_daily_sine_passes_by_the_first_order_gain),
        cmocka_unit_test(the_window_is_closed_at_both_ends),
        cmocka_unit_test(a_gap_longer_than_tau_makes_the_felt_humidity_unknown),
        cmocka_unit_test(no_rate_is_given_across_a_gap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
