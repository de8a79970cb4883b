/* test_stats.c - percentiles and weighted statistics against published definitions. */
#include "stillroom/stats.h"

#include "support/near.h"

#include <string.h>

/* Hyndman & Fan (1996), definition 7; figures from numpy's default, which is that one. */
static void percentiles_are_of_type_seven(void **state)
{
    (void)state;
    static const double set[] = {3, 1, 4, 1, 5, 9, 2, 6, 5, 3};
    static const struct {
        double p_pct, want;
    } rows[] = {{0, 1.0}, {7, 1.0}, {25, 2.25}, {50, 3.5}, {93, 7.11}, {95, 7.65}, {100, 9.0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double v[10], got;
        memcpy(v, set, sizeof v);
        assert_int_equal(sr_stats_percentile(v, 10, rows[i].p_pct, &got), SR_OK);
        assert_near(got, rows[i].want, 1e-12);
    }
}

/* Weighting by the time each reading stands for, at most 1.5 intervals: project choice.
 * Worked by hand: 40 for 10 min, 50 for 10, 60 for 15 of the 30 until the next reading, 70
 * for 10; 45 of 60 minutes covered. */
static void a_mean_weighs_each_reading_by_the_time_it_stands_for(void **state)
{
    (void)state;
    static const int64_t t_s[] = {0, 600, 1200, 3000};
    static const double v[] = {40, 50, 60, 70};
    struct sr_series s = {t_s, v, 4, 600};
    struct sr_stats got;
    assert_int_equal(sr_stats_over(&s, 0, 3600, &got), SR_OK);
    assert_int_equal(got.covered_s, 2700);
    assert_near(got.coverage_pct, 75.0, 1e-12); /* the least that is enough */
    assert_true(got.enough);
    double mean = (40.0 * 10 + 50.0 * 10 + 60.0 * 15 + 70.0 * 10) / 45.0;
    assert_near(got.mean, mean, 1e-12);
    double var = ((40 - mean) * (40 - mean) * 10 + (50 - mean) * (50 - mean) * 10 +
                  (60 - mean) * (60 - mean) * 15 + (70 - mean) * (70 - mean) * 10) /
                 45.0;
    assert_near(got.sd, sqrt(var), 1e-12);

    struct sr_stats_share share;
    assert_int_equal(sr_stats_time_in_range(&s, 0, 3600, 50, 60, &share), SR_OK);
    assert_int_equal(share.inside_s, 1500); /* both bounds count as inside */
    assert_int_equal(share.below_s, 600);
    assert_int_equal(share.above_s, 600);
    assert_near(share.coverage_pct, 75.0, 1e-12);
    assert_near(share.inside_pct, 100.0 * 1500 / 2700, 1e-12);
    assert_int_equal(sr_stats_over(&s, -1, 3600, &got), SR_OK);
    assert_false(got.enough);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(percentiles_are_of_type_seven),
        cmocka_unit_test(a_mean_weighs_each_reading_by_the_time_it_stands_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
