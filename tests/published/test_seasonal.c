/* test_seasonal.c - the EN 15757 band of synthetic years.
 *
 * Source: EN 15757:2010 (13 months, hourly, 30-day centred mean; 7th and 93rd percentile and
 * the minimum band of 10 % RH from memory). The expected figures were calculated with numpy
 * apart from this library, as was the count 8880 that a mean padded at its ends would miss
 * (it would give 9600). Gap and coverage rules: project choice.
 */
#include "stillroom/seasonal.h"

#include "support/near.h"

#define N 9600
#define PI 3.14159265358979323846

static double rh[N], mean[N], work[N];

static void fill(double daily, double spell)
{
    for (int i = 0; i < N; i++) {
        double t = i / 24.0;
        rh[i] = 50.0 + 8.0 * sin(2 * PI * t / 365) + daily * sin(2 * PI * t) +
                spell * sin(2 * PI * t / 9.7);
    }
}

static struct sr_seasonal_band band_of(size_t n, int64_t every_s)
{
    struct sr_seasonal_band b = {0};
    assert_int_equal(sr_seasonal_band(rh, n, every_s, &sr_seasonal_en15757, mean, work, &b),
                     SR_OK);
    return b;
}

static void the_minimum_band_widens_a_steady_year(void **state)
{
    (void)state;
    fill(4, 6);
    struct sr_seasonal_band b = band_of(N, 3600);
    assert_int_equal(b.hours, 9600);
    assert_int_equal(b.evaluated, 8880);
    assert_near(b.fluct_low, -8.1080, 0.001);
    assert_near(b.fluct_high, 8.0973, 0.001);
    assert_near(mean[200 * 24], 47.7782, 0.001);
    assert_int_equal(b.outside_raw, 1244); /* 14.01 % */
    assert_int_equal(b.outside_band, 100);
    assert_near(b.band_low, -10.0, 0.0);
    assert_near(b.band_high, 10.0, 0.0);
    assert_true(b.widened_low && b.widened_high);
    assert_int_equal(b.provisional, 0);
    assert_true(isnan(mean[359]) && !isnan(mean[360]));
    assert_true(!isnan(mean[9239]) && isnan(mean[9240]));
}

static void a_lively_year_keeps_its_own_band(void **state)
{
    (void)state;
    fill(7, 9);
    struct sr_seasonal_band b = band_of(N, 3600);
    assert_near(b.band_low, -12.8291, 0.001);
    assert_near(b.band_high, 12.7935, 0.001);
    assert_false(b.widened_low || b.widened_high);
    assert_int_equal(b.outside_raw, b.outside_band);
}

/* 13 months: 12, and half a window at each end. */
static void less_than_thirteen_months_is_provisional(void **state)
{
    (void)state;
    fill(4, 6);
    assert_int_equal(band_of(9480, 3600).provisional, 0);
    assert_int_equal(band_of(9479, 3600).provisional, SR_SEASONAL_SHORT);
    assert_int_equal(band_of(9480, 3600).evaluated, 8760);
    rh[0] = (double)NAN; /* an empty hour at the end makes no record longer */
    assert_int_equal(band_of(9480, 3600).provisional, SR_SEASONAL_SHORT);
    assert_int_equal(band_of(9480, 3600).evaluated, 8759);
}

static void less_than_one_sample_an_hour_is_provisional(void **state)
{
    (void)state;
    fill(4, 6);
    assert_int_equal(band_of(N, 3601).provisional, SR_SEASONAL_COARSE);
}

/* Project choice: 75 % of the window's 721 hours, that is 541. */
static void a_mean_needs_three_quarters_of_its_hours(void **state)
{
    (void)state;
    fill(4, 6);
    for (int i = 0; i < 180; i++)
        rh[1000 + i] = (double)NAN;
    assert_int_equal(sr_seasonal_mean(rh, N, 360, 75.0, mean), SR_OK);
    assert_true(mean[1090] > 0.0);
    rh[1180] = (double)NAN;
    assert_int_equal(sr_seasonal_mean(rh, N, 360, 75.0, mean), SR_OK);
    assert_true(isnan(mean[1090]));
}

/* The share is one of the hours in the window: 501 of 1001 are half of them, 500 are not. */
static void the_share_is_of_the_window(void **state)
{
    (void)state;
    fill(4, 6);
    for (int i = 0; i < 500; i++)
        rh[1000 + i] = (double)NAN;
    assert_int_equal(sr_seasonal_mean(rh, N, 500, 50.0, mean), SR_OK);
    assert_true(mean[1250] > 0.0);
    rh[1500] = (double)NAN;
    assert_int_equal(sr_seasonal_mean(rh, N, 500, 50.0, mean), SR_OK);
    assert_true(isnan(mean[1250]));
}

/* The plain mean of the evaluated hours, gaps left out. */
static void the_annual_mean_is_of_the_evaluated_hours(void **state)
{
    (void)state;
    fill(4, 6);
    for (int i = 2000; i < 2100; i++)
        rh[i] = (double)NAN;
    struct sr_seasonal_band b = band_of(N, 3600);
    double sum = 0.0;
    for (int i = 360; i < N - 360; i++)
        sum += i >= 2000 && i < 2100 ? 0.0 : rh[i];
    assert_int_equal(b.evaluated, 8780);
    assert_near(b.mean, sum / 8780, 1e-9);
}

/* Project choice: 75 % of the 8880 hours that have half a window each side, that is 6660. */
static void a_record_with_much_missing_is_provisional(void **state)
{
    (void)state;
    fill(4, 6);
    for (int i = 4000; i < 5700; i++)
        rh[i] = (double)NAN;
    struct sr_seasonal_band b = band_of(N, 3600);
    assert_true(b.evaluated > 6660);
    for (int i = 1000; b.evaluated > 6660; i += 20) {
        rh[i] = (double)NAN;
        b = band_of(N, 3600);
    }
    assert_int_equal(b.evaluated, 6660);
    assert_int_equal(b.provisional, 0);
    rh[501] = (double)NAN;
    b = band_of(N, 3600);
    assert_int_equal(b.evaluated, 6659);
    assert_int_equal(b.provisional, SR_SEASONAL_GAPPY);
}

/* Project choice: three empty hours are bridged by a straight line, four are not. */
static void three_empty_hours_are_bridged_and_four_are_not(void **state)
{
    (void)state;
    static const int64_t t_s[] = {600, 1800, 4 * 3600 - 60, 4 * 3600 + 60, 9 * 3600 + 60};
    static const double v[] = {40, 44, (double)NAN, 50, 60};
    struct sr_series s = {t_s, v, 5, 1200};
    double h[11];
    assert_int_equal(sr_seasonal_hourly(&s, 0, 11, h), SR_OK);
    assert_near(h[0], 42.0, 1e-12);
    assert_near(h[1], 44.0, 1e-12);
    assert_near(h[3], 48.0, 1e-12);
    assert_near(h[4], 50.0, 1e-12);
    for (int i = 5; i < 9; i++)
        assert_true(isnan(h[i]));
    assert_near(h[9], 60.0, 1e-12);
    assert_true(isnan(h[10]));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_minimum_band_widens_a_steady_year),
        cmocka_unit_test(a_lively_year_keeps_its_own_band),
        cmocka_unit_test(less_than_thirteen_months_is_provisional),
        cmocka_unit_test(less_than_one_sample_an_hour_is_provisional),
        cmocka_unit_test(a_mean_needs_three_quarters_of_its_hours),
        cmocka_unit_test(the_share_is_of_the_window),
        cmocka_unit_test(the_annual_mean_is_of_the_evaluated_hours),
        cmocka_unit_test(a_record_with_much_missing_is_provisional),
        cmocka_unit_test(three_empty_hours_are_bridged_and_four_are_not),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
