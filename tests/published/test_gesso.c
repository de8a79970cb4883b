/* test_gesso.c - strain by restraint and the limits published for it.
 *
 * Sources: Mecklenburg, Tumosa & Erhardt 1998 (yield 0.004, brittle gesso 0.0025, failure
 * 0.009); Hoadley 1998 (permanent set from 0.005-0.01); Rachwal et al. 2012 (50 +/- 15 %).
 * Coefficients: Wood Handbook Table 13-5. The humidities were calculated from its equation
 * (4-5) with scipy, apart from this library. Levels: project choice. */
#include "stillroom/gesso.h"

#include "support/near.h"

static void limits_are_as_published(void **state)
{
    (void)state;
    assert_near(SR_GESSO_YIELD_STRAIN, 0.004, 0.0);
    assert_near(SR_GESSO_GESSO_STRAIN, 0.0025, 0.0);
    assert_near(SR_GESSO_FAILURE_STRAIN, 0.009, 0.0);
    assert_near(SR_GESSO_SET_STRAIN_LOW, 0.005, 0.0);
    assert_near(SR_GESSO_SET_STRAIN_HIGH, 0.010, 0.0);
    assert_near(SR_GESSO_SAFE_RH_PCT, 15.0, 0.0);
    assert_near(SR_GESSO_FLAKING_RH_PCT, 5.0, 0.0);
}

static void humidity_limits_follow_from_a_strain(void **state)
{
    (void)state;
    static const struct {
        double c, strain, low, high;
    } rows[] = {
        {0.00330, 0.0025, 45.18, 54.58}, /* basswood tangential */
        {0.00230, 0.0025, 43.04, 56.48}, /* basswood radial */
        {0.00365, 0.0025, 45.65, 54.15}, /* white oak tangential */
        {0.00431, 0.0025, 46.33, 53.53}, /* beech tangential */
        {0.00274, 0.0025, 44.18, 55.48}, /* black walnut tangential */
        {0.00330, 0.004, 42.22, 57.18},  /* basswood tangential */
        {0.00365, 0.004, 42.98, 56.53},  /* white oak tangential */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double low, high;
        assert_int_equal(sr_gesso_limits(rows[i].c, 20, 50, rows[i].strain, &low, &high),
                         SR_OK);
        assert_near(low, rows[i].low, 0.0051);
        assert_near(high, rows[i].high, 0.0051);
    }
}

static void strain_is_coefficient_times_change_of_moisture(void **state)
{
    (void)state;
    double got;
    assert_int_equal(sr_gesso_strain_between(0.00330, 20, 50, 65, &got), SR_OK);
    assert_near(got, 0.00899, 0.000005); /* basswood tangential */
    assert_int_equal(sr_gesso_strain(0.00330, 9.25, 12.0, &got), SR_OK);
    assert_near(got, 2.7225 / 300.0, 1e-12); /* 300 mm move by 2.7225 mm */
    assert_int_equal(sr_gesso_strain_between(0.00330, 20, 75, 70, &got), SR_OK);
    assert_near(got, -0.0044, 0.00005);
}

static void levels_rank_an_event(void **state)
{
    (void)state;
    static const struct {
        double mean, felt, raw;
        bool flaking;
        enum sr_gesso_level want;
    } rows[] = {
        {50, 50, 60, false, SR_GESSO_EASY},
        {50, 57.1, 58, false, SR_GESSO_EASY}, /* 57.2 % is 0.004 */
        {50, 57.4, 58, false, SR_GESSO_ACTION},
        {50, 50, 64.9, false, SR_GESSO_EASY}, /* 65.0 % is 0.009 unfiltered */
        {50, 50, 65.2, false, SR_GESSO_ACTION},
        {50, 54.9, 54.9, true, SR_GESSO_EASY}, /* flaking: 5 % either way */
        {50, 55.1, 55.1, true, SR_GESSO_CAUTION},
        {50, 44.9, 44.9, true, SR_GESSO_CAUTION},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sr_gesso_state s = {0.00330,      20,          rows[i].mean,
                                   rows[i].felt, rows[i].raw, rows[i].flaking};
        struct sr_gesso got;
        assert_int_equal(sr_gesso_judge(&s, &got), SR_OK);
        assert_int_equal(got.level, rows[i].want);
    }
    /* Wood that moves little reaches the 15 % before the strain. */
    struct sr_gesso_state calm = {0.00071, 20, 50, 65.1, 65.1, false};
    struct sr_gesso got;
    assert_int_equal(sr_gesso_judge(&calm, &got), SR_OK);
    assert_int_equal(got.level, SR_GESSO_CAUTION);
    assert_near(got.low_pct, 35.0, 1e-12);
    assert_near(got.high_pct, 65.0, 1e-12);
    calm.felt_rh_pct = calm.raw_rh_pct = 64.9;
    assert_int_equal(sr_gesso_judge(&calm, &got), SR_OK);
    assert_int_equal(got.level, SR_GESSO_EASY);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(limits_are_as_published),
        cmocka_unit_test(humidity_limits_follow_from_a_strain),
        cmocka_unit_test(strain_is_coefficient_times_change_of_moisture),
        cmocka_unit_test(levels_rank_an_event),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
