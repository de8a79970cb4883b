/* test_lib_series.c - series, statistics, swings, seasons, cycles and ageing: what is refused,
 * and what must hold whatever the numbers. */
#include "support/near.h"
#include "support/noise.h"

#include <string.h>

#include "stillroom/ageing.h"
#include "stillroom/rainflow.h"
#include "stillroom/seasonal.h"
#include "stillroom/stats.h"
#include "stillroom/swing.h"

#define OK(call) assert_int_equal((call), SR_OK)
#define N 3000
#define H INT64_C(3600)
#define NONE ((double)NAN)
#define INF ((double)INFINITY)
#define SHIFT (INT64_C(86400) * 7777)

static int64_t t_s[N], shifted_s[N];
static double v[N], t_c[N];
static struct sr_swing_slot slots[256];

/* An uneven series with gaps and missing values, nominally hourly. */
static struct sr_series uneven(uint64_t seed)
{
    int64_t t = 1700000000;
    for (int i = 0; i < N; i++) {
        t += 1800 + (int64_t)(3600 * noise(&seed)) + (noise(&seed) < 0.01 ? 20 * H : 0);
        t_s[i] = t;
        shifted_s[i] = t + SHIFT;
        v[i] = noise(&seed) < 0.02 ? NONE : 30 + 40 * noise(&seed);
        t_c[i] = 10 + 15 * noise(&seed);
    }
    return (struct sr_series){t_s, v, N, H};
}

static void bad_series_are_refused(void **state)
{
    (void)state;
    static const int64_t good[] = {0, 60, 120}, equal[] = {0, 60, 60}, falls[] = {0, 60, 59};
    static const int64_t late[] = {0, 60, SR_SERIES_T_MAX_S + 1};
    static const double ok[] = {1, NONE, 3}, inf[] = {1, INF, 3}, huge[] = {1, 2, -1.1e6};
    const struct {
        struct sr_series s;
        enum sr_rc want;
    } rows[] = {
        {{good, ok, 3, 60}, SR_OK},     {{good, ok, 1, 60}, SR_OK},
        {{NULL, NULL, 0, 60}, SR_THIN}, {{equal, ok, 3, 60}, SR_ORDER},
        {{falls, ok, 3, 60}, SR_ORDER}, {{late, ok, 3, 60}, SR_RANGE},
        {{good, inf, 3, 60}, SR_RANGE}, {{good, huge, 3, 60}, SR_RANGE},
        {{good, ok, 3, 0}, SR_RANGE},   {{good, ok, 3, SR_SERIES_EVERY_MAX_S + 1}, SR_RANGE},
        {{NULL, ok, 3, 60}, SR_RANGE},  {{good, NULL, 3, 60}, SR_RANGE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct sr_series *s = &rows[i].s;
        struct sr_air_series air = {s->t_s, ok, s->v, s->n, s->every_s};
        struct sr_stats stats = {.n = 99};
        struct sr_stats_share share;
        struct sr_swing_range range;
        struct sr_swing_rate rate;
        double x = 7, y[3], cov;
        struct sr_ageing age;
        enum sr_rc want = rows[i].want;
        assert_int_equal(sr_series_check(s), want);
        assert_int_equal(sr_series_check_air(&air), want);
        assert_int_equal(sr_stats_over(s, 0, 180, &stats), want);
        assert_int_equal(stats.n == 99, want != SR_OK); /* untouched on failure */
        assert_int_equal(sr_stats_time_in_range(s, 0, 180, 0, 9, &share), want);
        assert_int_equal(sr_swing_filter_series(s, 3600, y), want);
        assert_int_equal(sr_seasonal_hourly(s, 0, 1, y), want);
        if (want == SR_OK)
            continue; /* what follows has other reasons to be thin */
        assert_int_equal(sr_swing_greatest(s, 60, 75, slots, 256, &range), want);
        assert_int_equal(sr_swing_steepest(s, 60, &rate), want);
        assert_int_equal(sr_swing_slope(s, 0, 180, &x), want);
        assert_int_equal(sr_ageing_over(&air, 0, 180, 1e5, &age, &cov), want);
        assert_near(x, 7, 0);
    }
}

static void one_sample_is_a_series(void **state)
{
    (void)state;
    static const int64_t at[] = {1000};
    static const double one[] = {42.5};
    struct sr_series s = {at, one, 1, 60};
    struct sr_stats stats;
    struct sr_swing_range range;
    struct sr_swing_rate rate;
    double y[1], slope;
    OK(sr_stats_over(&s, 1000, 1090, &stats));
    assert_near(stats.mean, 42.5, 0);
    assert_near(stats.sd, 0, 0);
    assert_int_equal(stats.covered_s, 90);
    assert_int_equal(sr_stats_over(&s, 1090, 2000, &stats), SR_THIN); /* stands for nothing */
    assert_int_equal(sr_swing_greatest(&s, 60, 75, slots, 256, &range), SR_THIN);
    assert_int_equal(sr_swing_steepest(&s, 60, &rate), SR_THIN);
    assert_int_equal(sr_swing_slope(&s, 0, 2000, &slope), SR_THIN);
    OK(sr_swing_filter_series(&s, 60, y));
    assert_true(isnan(y[0])); /* where it started from is not known */
}

static void arguments_out_of_range_are_refused(void **state)
{
    (void)state;
    struct sr_series s = uneven(1);
    struct sr_stats_run run;
    struct sr_stats_share share;
    struct sr_swing_window w;
    struct sr_swing_filter f;
    struct sr_swing_rate rate;
    struct sr_rainflow_list list = {NULL, 0, 0};
    double x = 7, xs[] = {1, 2};
    assert_int_equal(sr_stats_begin(5, 5, 60, &run), SR_RANGE);
    assert_int_equal(sr_stats_begin(0, 5, 0, &run), SR_RANGE);
    assert_int_equal(sr_stats_time_in_range(&s, 0, 9, 60, 40, &share), SR_RANGE);
    assert_int_equal(sr_stats_time_in_range(&s, 0, 9, NONE, 40, &share), SR_RANGE);
    assert_int_equal(sr_stats_time_in_range(&s, 9, 9, 40, 60, &share), SR_RANGE);
    assert_int_equal(sr_stats_percentile(xs, 2, -0.1, &x), SR_RANGE);
    assert_int_equal(sr_stats_percentile(xs, 2, 100.1, &x), SR_RANGE);
    assert_int_equal(sr_stats_percentile(xs, 2, NONE, &x), SR_RANGE);
    assert_int_equal(sr_stats_percentile(NULL, 0, 50, &x), SR_THIN);
    assert_int_equal(sr_swing_window_begin(0, 60, 75, slots, 9, &w), SR_RANGE);
    assert_int_equal(sr_swing_window_begin(60, 60, 0, slots, 9, &w), SR_RANGE);
    assert_int_equal(sr_swing_window_begin(60, 60, NONE, slots, 9, &w), SR_RANGE);
    assert_int_equal(sr_swing_window_begin(60, 60, 75, slots, 1, &w), SR_NOMEM);
    assert_int_equal(sr_swing_filter_begin(0, &f), SR_RANGE);
    assert_int_equal(sr_swing_filter_begin(NONE, &f), SR_RANGE);
    assert_int_equal(sr_swing_filter_begin(1.5e9, &f), SR_RANGE);
    assert_int_equal(sr_swing_filter_begin_at(60, 0, NONE, &f), SR_RANGE);
    assert_int_equal(sr_swing_gain(0, 60, &x), SR_RANGE);
    assert_int_equal(sr_swing_gain(60, INF, &x), SR_RANGE);
    assert_int_equal(sr_swing_rate_at(&s, N, H, &rate), SR_RANGE);
    assert_int_equal(sr_rainflow_count(xs, 2, -1, xs, &list), SR_RANGE);
    assert_int_equal(sr_rainflow_rank(&list, 0.5, &x), SR_RANGE);
    assert_int_equal(sr_rainflow_histogram(&list, 0, xs, 2), SR_RANGE);
    assert_near(x, 7, 0);
    static const double wrong[][3] = {
        {NONE, 50, 1e5}, {20, NONE, 1e5}, {20, 50, NONE}, {20, -1, 1e5},   {20, 101, 1e5},
        {61, 50, 1e5},   {-41, 50, 1e5},  {20, 50, 9999}, {20, 50, 2.1e5}, {INF, 50, 1e5}};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        struct sr_ageing a;
        assert_int_equal(sr_ageing_multiplier(wrong[i][0], wrong[i][1], wrong[i][2], &a),
                         SR_RANGE);
    }
}

/* The same figures from one call, from two halves and from a series moved in time. */
static void a_split_or_shifted_series_gives_the_same_bits(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 5; seed++) {
        struct sr_series s = uneven(seed);
        struct sr_series moved = {shifted_s, v, N, H};
        int64_t from_s = t_s[10] + 77, to_s = t_s[N - 5];
        struct sr_stats whole, part;
        struct sr_stats_run run;
        OK(sr_stats_over(&s, from_s, to_s, &whole));
        OK(sr_stats_over(&moved, from_s + SHIFT, to_s + SHIFT, &part));
        assert_memory_equal(&whole.mean, &part.mean, 4 * sizeof(double));
        OK(sr_stats_begin(from_s, to_s, H, &run));
        for (int i = 0; i < N; i++) {
            if (i == N / 2) { /* looking in between changes nothing */
                struct sr_stats half;
                OK(sr_stats_so_far(&run, &half));
                assert_true(half.covered_s < whole.covered_s);
            }
            OK(sr_stats_add(&run, t_s[i], v[i]));
        }
        OK(sr_stats_so_far(&run, &part));
        assert_memory_equal(&whole.mean, &part.mean, 4 * sizeof(double));

        static double y[N], y_moved[N];
        OK(sr_swing_filter_series(&s, 6 * 3600.0, y));
        OK(sr_swing_filter_series(&moved, 6 * 3600.0, y_moved));
        assert_memory_equal(y, y_moved, sizeof y);
        struct sr_swing_range a, b;
        OK(sr_swing_greatest(&s, 24 * H, 75, slots, 256, &a));
        OK(sr_swing_greatest(&moved, 24 * H, 75, slots, 256, &b));
        assert_int_equal(b.t_s - a.t_s, SHIFT);
        assert_memory_equal(&a.low, &b.low, 3 * sizeof(double));
        assert_near(a.mean, b.mean, 0);
        struct sr_swing_rate r, r_moved;
        OK(sr_swing_steepest(&s, H, &r));
        OK(sr_swing_steepest(&moved, H, &r_moved));
        assert_near(r.per_h, r_moved.per_h, 0);
        assert_int_equal(r_moved.from_s - r.from_s, SHIFT);
    }
}

/* A constant value stays itself to the last bit, however it is sampled. */
static void a_constant_series_is_constant_at_any_step(void **state)
{
    (void)state;
    static const int64_t steps[] = {60, 600, 3600, 7200};
    for (size_t k = 0; k < 4; k++) {
        for (int i = 0; i < N; i++) {
            t_s[i] = i * steps[k];
            v[i] = 53.7;
            t_c[i] = 19.3;
        }
        struct sr_series s = {t_s, v, N, steps[k]};
        struct sr_air_series air = {t_s, t_c, v, N, steps[k]};
        struct sr_stats stats;
        OK(sr_stats_over(&s, 13, t_s[N - 1], &stats));
        assert_near(stats.mean, 53.7, 0);
        assert_near(stats.sd, 0, 0);
        assert_near(stats.coverage_pct, 100, 0);
        struct sr_swing_filter f;
        struct sr_swing_felt felt = {0};
        OK(sr_swing_filter_begin_at(24 * 3600.0, -1, 53.7, &f));
        for (int i = 0; i < N; i++)
            OK(sr_swing_filter_push(&f, t_s[i], v[i], &felt));
        assert_near(felt.y, 53.7, 0);
        struct sr_ageing all, one;
        double coverage_pct;
        OK(sr_ageing_over(&air, 0, t_s[N - 1], 1e5, &all, &coverage_pct));
        OK(sr_ageing_multiplier(19.3, 53.7, 1e5, &one));
        assert_near(all.multiplier, one.multiplier, 4e-16);
        static double hours[N];
        OK(sr_seasonal_hourly(&s, 0, 50, hours));
        for (int i = 0; i < 50 && steps[k] <= H; i++)
            assert_near(hours[i], 53.7, 0);
    }
}

static void inside_below_above_and_unknown_add_up(void **state)
{
    (void)state;
    struct sr_series s = uneven(9);
    int64_t from_s = t_s[3] + 11, to_s = t_s[N - 1] + 9 * H;
    struct sr_stats_share all, in;
    struct sr_stats stats;
    OK(sr_stats_time_in_range(&s, from_s, to_s, 40, 60, &in));
    OK(sr_stats_time_in_range(&s, from_s, to_s, -INF, INF, &all));
    OK(sr_stats_over(&s, from_s, to_s, &stats));
    assert_int_equal(in.inside_s + in.below_s + in.above_s, in.covered_s);
    assert_int_equal(all.inside_s, all.covered_s);
    assert_int_equal(all.covered_s, stats.covered_s);
    assert_int_equal(in.covered_s, stats.covered_s);
    assert_true(in.below_s > 0 && in.above_s > 0 && in.covered_s < in.span_s);
}

/* The queues against the plain definition: look at every sample of the window. */
static void the_moving_range_is_that_of_its_window(void **state)
{
    (void)state;
    struct sr_series s = uneven(3);
    struct sr_swing_window w;
    OK(sr_swing_window_begin(24 * H, H, 1.0, slots, 256, &w));
    int compared = 0;
    for (size_t i = 0; i < N; i++) {
        struct sr_swing_range got;
        enum sr_rc rc = sr_swing_window_push(&w, t_s[i], v[i], &got);
        double low = INF, high = -INF, sum = 0;
        int64_t covered = 0, inside = 0;
        for (size_t j = 0; j <= i; j++) {
            int64_t stood = j == i ? 0 : sr_series_covered_s(&s, j, t_s[i] - 24 * H, t_s[i]);
            covered += stood;
            if (stood > 0 && t_s[j] >= t_s[i] - 24 * H) {
                inside += stood;
                sum += (double)stood * v[j];
            }
            if (t_s[j] >= t_s[i] - 24 * H && !isnan(v[j])) {
                low = fmin(low, v[j]);
                high = fmax(high, v[j]);
            }
        }
        bool enough = !isnan(v[i]) && covered * 100 >= 24 * H;
        assert_int_equal(rc, enough ? SR_OK : SR_THIN);
        if (!enough)
            continue;
        assert_near(got.low, low, 0);
        assert_near(got.high, high, 0);
        assert_near(got.coverage_pct, 100.0 * (double)covered / (24 * H), 1e-12);
        assert_near(got.mean, inside > 0 ? sum / (double)inside : v[i], 1e-6);
        compared++;
    }
    assert_true(compared > N / 2);
}

static void a_window_too_small_says_so_and_goes_on(void **state)
{
    (void)state;
    struct sr_swing_window w;
    struct sr_swing_range got;
    OK(sr_swing_window_begin(10 * H, H, 50, slots, 4, &w));
    for (int i = 0; i < 4; i++)
        assert_int_equal(sr_swing_window_push(&w, i * H, i, &got), SR_THIN);
    struct sr_swing_window before = w;
    assert_int_equal(sr_swing_window_push(&w, 4 * H, 4, &got), SR_NOMEM);
    assert_memory_equal(&w, &before, sizeof w);
    assert_int_equal(sr_swing_window_push(&w, 3 * H, 4, &got), SR_ORDER);
    assert_int_equal(sr_swing_window_push(&w, 4 * H, INF, &got), SR_RANGE);
    assert_int_equal(sr_swing_window_push(&w, 11 * H, 4, &got), SR_THIN); /* room again */
}

static void a_rate_at_a_sample_is_what_the_search_finds(void **state)
{
    (void)state;
    struct sr_series s = uneven(4);
    struct sr_swing_rate steepest, at;
    OK(sr_swing_steepest(&s, 6 * H, &steepest));
    double most = 0;
    for (size_t i = 0; i < N; i++)
        if (sr_swing_rate_at(&s, i, 6 * H, &at) == SR_OK)
            most = fmax(most, fabs(at.per_h));
    assert_near(most, fabs(steepest.per_h), 0);
}

static void a_straight_line_has_its_slope(void **state)
{
    (void)state;
    for (int i = 0; i < 50; i++) {
        t_s[i] = 1700000000 + i * 600;
        v[i] = 40 + i * 0.25;
    }
    v[7] = NONE;
    struct sr_series s = {t_s, v, 50, 600};
    double slope;
    OK(sr_swing_slope(&s, t_s[0], t_s[49], &slope));
    assert_near(slope, 1.5, 1e-12);
    t_s[49] += 3600; /* a gap on the way */
    assert_int_equal(sr_swing_slope(&s, t_s[0], t_s[49], &slope), SR_THIN);
}

static void a_percentile_leaves_a_partition_and_skips_nan(void **state)
{
    (void)state;
    uint64_t seed = 5;
    for (int i = 0; i < N; i++)
        v[i] = i % 10 == 0 ? NONE : floor(50 * noise(&seed));
    double p;
    OK(sr_stats_percentile(v, N, 30, &p));
    size_t n = N * 9 / 10, k = (size_t)((double)(n - 1) * 0.3);
    for (size_t i = 0; i < N; i++) {
        assert_int_equal(isnan(v[i]) ? 1 : 0, i >= n ? 1 : 0);
        if (i < n)
            assert_true(i <= k ? v[i] <= v[k] : v[i] >= v[k]);
    }
    assert_true(p >= v[k]);
    v[5] = INF;
    assert_int_equal(sr_stats_percentile(v, N, 30, &p), SR_RANGE);
}

/* Means do not depend on where the array begins, gaps or not. */
static void seasonal_means_are_the_same_from_any_start(void **state)
{
    (void)state;
    static double a[N], b[N];
    uint64_t seed = 6;
    for (int i = 0; i < N; i++)
        v[i] = noise(&seed) < 0.1 ? NONE : 1000 * (noise(&seed) - 0.5);
    v[0] = v[401] = v[N - 1] = 1; /* empty hours at an end would be no record */
    OK(sr_seasonal_mean(v, N, 360, 75, a));
    OK(sr_seasonal_mean(v + 401, N - 401, 360, 75, b));
    assert_memory_equal(a + 401 + 360, b + 360, (N - 401 - 720) * sizeof *a);
    struct sr_seasonal_band band;
    assert_int_equal(sr_seasonal_band(v, 700, 3600, &sr_seasonal_en15757, a, b, &band),
                     SR_THIN);
    assert_int_equal(sr_seasonal_mean(v, 0, 360, 75, a), SR_THIN);
    v[3] = INF;
    assert_int_equal(sr_seasonal_mean(v, N, 360, 75, a), SR_RANGE);
    v[3] = -1001;
    assert_int_equal(sr_seasonal_mean(v, N, 360, 75, a), SR_RANGE);
    v[3] = 0;
    assert_int_equal(sr_seasonal_mean(v, N, 0, 75, a), SR_RANGE);
    assert_int_equal(sr_seasonal_mean(v, N, 360, 0, a), SR_RANGE);
}

/* Half a cycle for every reversal after the first; the stream may be cut anywhere. */
static void cycles_account_for_every_reversal(void **state)
{
    (void)state;
    static struct sr_rainflow_cycle all[N], cut[N];
    static double stack[N];
    uint64_t seed = 7;
    for (int i = 0; i < N; i++)
        v[i] = noise(&seed) < 0.02 ? NONE : 100 * noise(&seed);
    struct sr_rainflow_list whole = {all, N, 0}, parts = {cut, N, 0};
    OK(sr_rainflow_count(v, N, 0, stack, &whole));
    size_t reversals = 1;
    double before = NONE, last = NONE;
    for (int i = 0; i < N; i++) {
        if (isnan(v[i]))
            continue;
        if (!isnan(before) && (v[i] - last) * (last - before) < 0)
            reversals++;
        before = last;
        last = v[i];
    }
    reversals++;
    double counts = 0;
    for (size_t i = 0; i < whole.n; i++)
        counts += all[i].count;
    assert_near(counts, (double)(reversals - 1) / 2, 1e-9);
    struct sr_rainflow rf;
    OK(sr_rainflow_begin(0, stack, N, &rf));
    for (int i = 0; i < N; i++)
        OK(sr_rainflow_push(&rf, v[i], &parts));
    OK(sr_rainflow_close(&rf, &parts));
    assert_int_equal(parts.n, whole.n);
    assert_memory_equal(all, cut, whole.n * sizeof *all);

    struct sr_rainflow_list none = {cut, N, 5};
    double same[] = {4, 4, NONE, 4};
    OK(sr_rainflow_count(same, 4, 0, stack, &none));
    assert_int_equal(none.n, 0);
    OK(sr_rainflow_count(NULL, 0, 0, stack, &none));
    struct sr_rainflow_list tight = {cut, 3, 0};
    assert_int_equal(sr_rainflow_count(v, N, 0, stack, &tight), SR_NOMEM);
    static const double beyond[] = {INF, -INF, 1.5e6, -1.5e6};
    for (size_t i = 0; i < 4; i++) {
        v[0] = beyond[i];
        assert_int_equal(sr_rainflow_count(v, N, 0, stack, &whole), SR_RANGE);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bad_series_are_refused),
        cmocka_unit_test(one_sample_is_a_series),
        cmocka_unit_test(arguments_out_of_range_are_refused),
        cmocka_unit_test(a_split_or_shifted_series_gives_the_same_bits),
        cmocka_unit_test(a_constant_series_is_constant_at_any_step),
        cmocka_unit_test(inside_below_above_and_unknown_add_up),
        cmocka_unit_test(the_moving_range_is_that_of_its_window),
        cmocka_unit_test(a_window_too_small_says_so_and_goes_on),
        cmocka_unit_test(a_rate_at_a_sample_is_what_the_search_finds),
        cmocka_unit_test(a_straight_line_has_its_slope),
        cmocka_unit_test(a_percentile_leaves_a_partition_and_skips_nan),
        cmocka_unit_test(seasonal_means_are_the_same_from_any_start),
        cmocka_unit_test(cycles_account_for_every_reversal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
