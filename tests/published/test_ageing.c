/* test_ageing.c - lifetime multiplier, Michalski (2002), ICOM-CC. The Arrhenius form and R
 * as published; the exponent, both activation energies and the reference from memory. The
 * figures were calculated from the formula apart from this library. */
#include "stillroom/ageing.h"

#include "support/near.h"

static double multiplier(double t_c, double rh_pct, double ea)
{
    struct sr_ageing got = {0};
    assert_int_equal(sr_ageing_multiplier(t_c, rh_pct, ea, &got), SR_OK);
    return got.multiplier;
}

static void multipliers_follow_the_table(void **state)
{
    (void)state;
    static const struct {
        double t_c, rh_pct, lm_100, lm_70;
    } rows[] = {
        {20, 50, 1.0000, 1.0000}, {25, 50, 0.5026, 0.6178}, {15, 50, 2.0379, 1.6460},
        {10, 50, 4.2587, 2.7574}, {30, 50, 0.2584, 0.3878}, {20, 25, 2.4623, 2.4623},
        {20, 60, 0.7890, 0.7890}, {25, 60, 0.3965, 0.4874}, {15, 40, 2.7237, 2.1999},
        {5, 35, 14.530, 7.482},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_near(multiplier(rows[i].t_c, rows[i].rh_pct, SR_AGEING_EA_CELLULOSE),
                    rows[i].lm_100, 0.0005);
        assert_near(multiplier(rows[i].t_c, rows[i].rh_pct, SR_AGEING_EA_VARNISH),
                    rows[i].lm_70, 0.0005);
    }
    assert_near(SR_AGEING_EA_CELLULOSE, 100000.0, 0.0);
    assert_near(SR_AGEING_EA_VARNISH, 70000.0, 0.0);
}

/* Closer than the table can tell: R exact since 2019 (SI brochure), 293.15 K and not 293
 * (which would give 0.979 at the reference), the exponent from doubling the humidity. */
static void the_constants_are_those_of_the_formula(void **state)
{
    (void)state;
    assert_near(log(multiplier(-20, 50, 100000)),
                100000 / 8.314462618 * (1 / 253.15 - 1 / 293.15), 1e-10);
    assert_near(log(multiplier(20, 100, 100000)), -1.3 * log(2.0), 1e-12);
    assert_near(multiplier(20, 50, 100000), 1.0, 1e-12);
}

/* Averaging LM itself would give 1.2702 and 2.9479, LM of the mean conditions 1. */
static void a_period_averages_the_rate_not_the_multiplier(void **state)
{
    (void)state;
    static const int64_t t_s[] = {0, 3600};
    static const struct {
        double t_c[2], rh_pct[2], want;
    } rows[] = {{{25, 15}, {50, 50}, 0.8063}, {{30, 10}, {60, 40}, 0.3936}};
    for (size_t i = 0; i < 2; i++) {
        struct sr_air_series s = {t_s, rows[i].t_c, rows[i].rh_pct, 2, 3600};
        struct sr_ageing got;
        double coverage_pct;
        assert_int_equal(
            sr_ageing_over(&s, 0, 7200, SR_AGEING_EA_CELLULOSE, &got, &coverage_pct), SR_OK);
        assert_near(got.multiplier, rows[i].want, 0.0001);
        assert_near(coverage_pct, 100.0, 1e-12);
    }
}

/* Clamp below 5 % and flag above 90 %: project choice. */
static void very_dry_is_clamped_and_very_damp_flagged(void **state)
{
    (void)state;
    struct sr_ageing got;
    assert_int_equal(sr_ageing_multiplier(20, 4.9, 1e5, &got), SR_OK);
    assert_true(got.dry_clamped && !got.damp);
    assert_near(got.multiplier, pow(10.0, 1.3), 1e-9);
    assert_int_equal(sr_ageing_multiplier(20, 5, 1e5, &got), SR_OK);
    assert_false(got.dry_clamped);
    assert_int_equal(sr_ageing_multiplier(20, 90, 1e5, &got), SR_OK);
    assert_false(got.damp);
    assert_int_equal(sr_ageing_multiplier(20, 90.1, 1e5, &got), SR_OK);
    assert_true(got.damp);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(multipliers_follow_the_table),
        cmocka_unit_test(the_constants_are_those_of_the_formula),
        cmocka_unit_test(a_period_averages_the_rate_not_the_multiplier),
        cmocka_unit_test(very_dry_is_clamped_and_very_damp_flagged),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
