/* test_control.c - ASHRAE types of control, HVAC Applications, museums chapter, 2019 form:
 * the whole table FROM MEMORY. How it is tested is a project choice. */
#include "stillroom/control.h"

#include "support/near.h"

#include <string.h>

#define N 10000
#define NONE ((double)NAN)
#define PI 3.14159265358979323846

static double rh[N], t_c[N], mean[N], work[N];

static void same(double got, double want)
{
    if (isnan(want))
        assert_true(isnan(got));
    else
        assert_near(got, want, 0.0);
}

static void the_table_is_as_remembered(void **state)
{
    (void)state;
    static const struct sr_control_type want[] = {
        {"AA", 5, 2, 0, 0, 5, 5, 35, 65, 10, 25},
        {"A1", 5, 2, 10, 10, 10, 5, 35, 65, 10, 25},
        {"A2", 10, 2, 0, 0, 10, 5, 35, 65, 10, 25},
        {"B", 10, 5, 10, 10, 20, 10, 30, 70, NONE, 30},
        {"C", NONE, NONE, NONE, NONE, NONE, NONE, 25, 75, NONE, 40},
        {"D", NONE, NONE, NONE, NONE, NONE, NONE, NONE, 75, NONE, NONE},
    };
    assert_int_equal(sizeof want / sizeof *want, SR_CONTROL_TYPES);
    for (size_t i = 0; i < SR_CONTROL_TYPES; i++) {
        const struct sr_control_type *got = &sr_control_types[i];
        assert_string_equal(got->name, want[i].name);
        same(got->rh_short_pct, want[i].rh_short_pct);
        same(got->t_short_k, want[i].t_short_k);
        same(got->rh_season_down_pct, want[i].rh_season_down_pct);
        same(got->rh_season_up_pct, want[i].rh_season_up_pct);
        same(got->t_season_down_k, want[i].t_season_down_k);
        same(got->t_season_up_k, want[i].t_season_up_k);
        same(got->rh_min_pct, want[i].rh_min_pct);
        same(got->rh_max_pct, want[i].rh_max_pct);
        same(got->t_min_c, want[i].t_min_c);
        same(got->t_max_c, want[i].t_max_c);
    }
}

static struct sr_control year(double rh_season, double rh_day, double t_season, double t_day)
{
    for (int i = 0; i < N; i++) {
        double d = i / 24.0;
        rh[i] = 50 + rh_season * sin(2 * PI * d / 365) + rh_day * sin(2 * PI * d);
        t_c[i] = 18 + t_season * sin(2 * PI * d / 365) + t_day * sin(2 * PI * d);
    }
    struct sr_control c = {0};
    assert_int_equal(sr_control_assess(rh, t_c, N, 3600, mean, work, &c), SR_OK);
    assert_int_equal(c.provisional, 0);
    return c;
}

/* Sines whose extremes are known: a 30-day mean leaves 98.9 % of a yearly sine and next to
 * nothing of a daily one. */
static void years_find_their_type(void **state)
{
    (void)state;
    static const struct {
        double rh_season, rh_day, t_season, t_day;
        int best;
    } rows[] = {
        {0, 4.5, 4, 1.5, 0}, /* AA: no drift, little day */
        {9, 4.5, 4, 1.5, 1}, /* A1: drift, little day */
        {0, 9.5, 4, 1.5, 2}, /* A2: no drift, wider day */
        {6, 8, 4, 1.5, 3},   /* B: drift and wider day */
        {0, 4.5, 4, 4.5, 3}, /* B: by temperature */
        {12, 8, 4, 1.5, 4},  /* C: drift beyond 10 */
        {20, 3, 9, 9, 4},    /* C: down to 27 and up to 36 degC */
        {20, 5, 9, 14, 5},   /* D: below 25, above 40 */
        {22, 4, 4, 1, -1},   /* none: above 75 */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sr_control c =
            year(rows[i].rh_season, rows[i].rh_day, rows[i].t_season, rows[i].t_day);
        assert_int_equal(c.best_all, rows[i].best);
    }
}

static void the_spreads_are_those_of_the_sines(void **state)
{
    (void)state;
    struct sr_control c = year(6, 4, 5, 2);
    double gain =
        sin(PI * 721 / 8760) / (721 * sin(PI / 8760)); /* mean of 721 of a yearly sine */
    assert_int_equal(c.rh.hours, 8760);
    assert_near(c.rh.annual_mean, 50.0, 0.01);
    assert_near(c.rh.seasonal.max, 6 * gain, 0.02);
    assert_near(c.rh.seasonal.min, -6 * gain, 0.02);
    assert_near(c.rh.short_term.max, 4 + 6 * (1 - gain), 0.02);
    assert_near(c.t.short_term.min, -2 - 5 * (1 - gain), 0.02);
    assert_near(c.rh.departure.max, 10.0, 0.02);
    assert_near(c.rh.outer.min, 40.0, 0.02);
    /* A sine's P99 lies at sin(0.49 pi); the daily one dominates here. */
    assert_near(c.rh.short_term.p99, 4 * sin(0.49 * PI), 0.08);
}

/* One hour beyond the short-term limit misses type AA on all hours, not on P1 to P99. */
static void both_ways_of_testing_are_reported(void **state)
{
    (void)state;
    year(0, 4, 4, 1.5);
    rh[5000] = 58.0;
    struct sr_control c;
    assert_int_equal(sr_control_assess(rh, t_c, N, 3600, mean, work, &c), SR_OK);
    assert_int_equal(c.missed_all[0], SR_CONTROL_RH_SHORT);
    assert_int_equal(c.missed_p[0], 0);
    assert_int_equal(c.best_all, 2);
    assert_int_equal(c.best_p, 0);
    rh[5000] = 66.0; /* the outer limit has no percentile */
    assert_int_equal(sr_control_assess(rh, t_c, N, 3600, mean, work, &c), SR_OK);
    assert_int_equal(c.missed_p[0], SR_CONTROL_RH_OUTER);
    assert_int_equal(c.best_p, 3);
}

/* A year in which every value of an even ladder comes once, in mixed order: its percentiles are
 * known without counting. */
static void percentiles_are_the_first_and_the_ninety_ninth(void **state)
{
    (void)state;
    int above = 0;
    for (int i = 0; i < N; i++) {
        double rung = (double)(i * 7919 % 8760) / 8759.0; /* 7919 is prime */
        rh[i] = 45 + 10 * rung;
        t_c[i] = 20 + 12 * rung;
        above += i >= N - 360 - 8760 && t_c[i] > 30.0;
    }
    struct sr_control c;
    assert_int_equal(sr_control_assess(rh, t_c, N, 3600, mean, work, &c), SR_OK);
    assert_near(c.rh.annual_mean, 50.0, 1e-9);
    assert_near(c.rh.departure.p1, -4.9, 1e-9);
    assert_near(c.rh.departure.p99, 4.9, 1e-9);
    assert_near(c.rh.departure.min, -5.0, 1e-9);
    assert_near(c.rh.departure.max, 5.0, 1e-9);
    assert_near(c.above_30_pct, 100.0 * above / (8760.0 + 360.0), 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_table_is_as_remembered),
        cmocka_unit_test(years_find_their_type),
        cmocka_unit_test(the_spreads_are_those_of_the_sines),
        cmocka_unit_test(percentiles_are_the_first_and_the_ninety_ninth),
        cmocka_unit_test(both_ways_of_testing_are_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
