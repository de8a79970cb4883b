/* test_instrument.c - signs of a doubtful reading. Limits are project choices, solvents on
 * sensors common practice; response: EN 15758 clause 4.1 (90 %, and at least 1.5 time
 * constants). */
#include "stillroom/instrument.h"

#include "support/near.h"

#define H INT64_C(3600)

static void readings_beyond_the_possible_and_jumps_are_flagged(void **state)
{
    (void)state;
    static const struct {
        int64_t after_s;
        double t_c, rh_pct;
        unsigned want;
    } rows[] = {
        {60, 20, 50, 0},
        {60, 20, 100.5, SR_INSTRUMENT_JUMP},
        {60, 20, 100.51, SR_INSTRUMENT_BEYOND | SR_INSTRUMENT_JUMP},
        {60, 20, -0.01, SR_INSTRUMENT_BEYOND | SR_INSTRUMENT_JUMP},
        {60, 20, 70, 0}, /* 20 % in a minute is still allowed */
        {60, 20, 70.01, SR_INSTRUMENT_JUMP},
        {120, 20, 90, 0}, /* 40 % in two */
        {120, 20, 90.01, SR_INSTRUMENT_JUMP},
        {10, 20, 69, 0}, /* within a minute, as in a minute */
        {60, 25, 50, 0},
        {60, 100, 50, SR_INSTRUMENT_JUMP},
        {60, 100.01, 50, SR_INSTRUMENT_BEYOND | SR_INSTRUMENT_JUMP},
        {60, -60, 50, SR_INSTRUMENT_JUMP},
        {60, -60.01, 50, SR_INSTRUMENT_BEYOND | SR_INSTRUMENT_JUMP},
        {60, 25.01, 50, SR_INSTRUMENT_JUMP},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sr_instrument in;
        unsigned flags;
        assert_int_equal(sr_instrument_begin(24 * H, 60, &in), SR_OK);
        assert_int_equal(sr_instrument_push(&in, 0, 20, 50, &flags), SR_OK);
        assert_int_equal(flags, 0);
        assert_int_equal(
            sr_instrument_push(&in, rows[i].after_s, rows[i].t_c, rows[i].rh_pct, &flags),
            SR_OK);
        assert_int_equal(flags, rows[i].want);
    }
}

static void the_same_pair_for_more_than_a_day_is_stuck(void **state)
{
    (void)state;
    int64_t after_s;
    assert_int_equal(sr_instrument_stuck_after(0.1, 0.1, &after_s), SR_OK);
    assert_int_equal(after_s, 24 * H);
    assert_int_equal(sr_instrument_stuck_after(0.5, 0.1, &after_s), SR_OK);
    assert_int_equal(after_s, 72 * H);
    assert_int_equal(sr_instrument_stuck_after(0.1, 1.0, &after_s), SR_OK);
    assert_int_equal(after_s, 72 * H);

    struct sr_instrument in;
    unsigned flags;
    assert_int_equal(sr_instrument_begin(24 * H, H, &in), SR_OK);
    for (int h = 0; h <= 24; h++) {
        assert_int_equal(sr_instrument_push(&in, h * H, 20, 50, &flags), SR_OK);
        assert_int_equal(flags, 0);
    }
    assert_int_equal(sr_instrument_push(&in, 25 * H, 20, 50, &flags), SR_OK);
    assert_int_equal(flags, SR_INSTRUMENT_STUCK);
    assert_int_equal(sr_instrument_push(&in, 26 * H, 20, 50.1, &flags), SR_OK);
    assert_int_equal(flags, 0); /* one of the two moved */
    assert_int_equal(sr_instrument_push(&in, 90 * H, 20, 50.1, &flags), SR_OK);
    assert_int_equal(flags, 0); /* nobody saw it stand still */
}

/* Standard uncertainties 0.3 K and 2 % at 20 degC and 50 % give u(Td) = 0.654 K (GUM, also by
 * Monte Carlo 0.651): two such twins may differ by 2 x 0.654 x sqrt 2 = 1.85 K. */
static void twins_are_compared_by_dew_point(void **state)
{
    (void)state;
    struct sr_instrument_pair_reading a = {20, 50, 0.3, 2}, b = a;
    struct sr_instrument_twins tw;
    struct sr_instrument_apart got;
    sr_instrument_twins_begin(&tw);
    assert_int_equal(sr_instrument_twins_push(&tw, 0, &a, &b, &got), SR_OK);
    assert_near(got.allowed_k, 1.850, 0.005);
    assert_false(got.apart);
    /* 1 K warmer and 3 % drier is the same dew point: no difference to speak of. */
    b.t_c = 21;
    b.rh_pct = 47;
    assert_int_equal(sr_instrument_twins_push(&tw, H, &a, &b, &got), SR_OK);
    assert_near(got.difference_k, 0.0, 0.05);
    b = a;
    b.rh_pct = 58; /* 2.25 K */
    assert_int_equal(sr_instrument_twins_push(&tw, 2 * H, &a, &b, &got), SR_OK);
    assert_true(got.apart && !got.alarm);
    assert_int_equal(sr_instrument_twins_push(&tw, 8 * H - 1, &a, &b, &got), SR_OK);
    assert_false(got.alarm);
    assert_int_equal(sr_instrument_twins_push(&tw, 8 * H, &a, &b, &got), SR_OK);
    assert_true(got.alarm);
    assert_int_equal(sr_instrument_twins_push(&tw, 9 * H, &a, &a, &got), SR_OK);
    assert_int_equal(sr_instrument_twins_push(&tw, 10 * H, &a, &b, &got), SR_OK);
    assert_false(got.alarm); /* the 6 h begin anew */
}

static void solvent_is_a_jump_at_steady_temperature(void **state)
{
    (void)state;
    static const struct {
        struct sr_instrument_episode e;
        bool want;
    } rows[] = {
        {{5, 0.5, true, 2, false}, true},    {{-5, -0.5, true, -2, false}, true},
        {{4.9, 0.5, true, 2, false}, false}, /* no jump */
        {{5, 0.51, true, 2, false}, false},  /* warmer */
        {{5, 0.5, true, 2.1, false}, false}, /* the twin saw it too */
        {{5, 0.5, false, 0, false}, false},  /* nothing to compare with */
        {{5, 0.5, false, 0, true}, true},    /* solvent in use */
        {{5, 0.5, true, 9, true}, true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bool got;
        assert_int_equal(sr_instrument_solvent(&rows[i].e, &got), SR_OK);
        assert_int_equal(got, rows[i].want);
    }
}

static void ninety_percent_of_a_change_takes_2_303_time_constants(void **state)
{
    (void)state;
    double got;
    assert_int_equal(sr_instrument_settle_s(60, &got), SR_OK);
    assert_near(got, 2.303 * 60, 0.03);
    assert_int_equal(sr_instrument_settle_s(1, &got), SR_OK);
    assert_near(got, log(10), 5e-16);
    assert_true(got > 1.5); /* 1.5 are not enough: */
    assert_near(1 - exp(-1.5), 0.777, 0.0005);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(readings_beyond_the_possible_and_jumps_are_flagged),
        cmocka_unit_test(the_same_pair_for_more_than_a_day_is_stuck),
        cmocka_unit_test(twins_are_compared_by_dew_point),
        cmocka_unit_test(solvent_is_a_jump_at_steady_temperature),
        cmocka_unit_test(ninety_percent_of_a_change_takes_2_303_time_constants),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
