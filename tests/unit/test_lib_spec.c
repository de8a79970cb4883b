/* test_lib_spec.c - specifications, types of control and canvas: what is refused, and what must
 * hold whatever the numbers. */
#include "support/near.h"
#include "support/noise.h"

#include <string.h>

#include "stillroom/canvas.h"
#include "stillroom/control.h"
#include "stillroom/spec.h"
#include "stillroom/stats.h"

#define OK(call) assert_int_equal((call), SR_OK)
#define N 2000
#define H INT64_C(3600)
#define NONE ((double)NAN)
#define INF ((double)INFINITY)

static int64_t t_s[N];
static double t_c[N], rh[N];
static struct sr_swing_slot slots[256];
static struct sr_spec_excursion list[N];
static const struct sr_spec_sensor sensor = {2, 0.5, 1, 0.3, 600};

static struct sr_air_series uneven(uint64_t seed)
{
    int64_t t = 1700000000;
    double walk = 50;
    for (int i = 0; i < N; i++) {
        t += 1800 + (int64_t)(3600 * noise(&seed)) + (noise(&seed) < 0.01 ? 30 * H : 0);
        walk += 4 * (noise(&seed) - 0.5) + 0.02 * (50 - walk);
        t_s[i] = t;
        rh[i] = noise(&seed) < 0.02 ? NONE : walk;
        t_c[i] = 20 + 6 * (noise(&seed) - 0.5);
    }
    return (struct sr_air_series){t_s, t_c, rh, N, H};
}

static struct sr_spec agreed(void)
{
    struct sr_spec spec = *sr_spec_find("aiccm-2014");
    spec.rh_1h_pct = 2;
    spec.t_1h_k = 1;
    return spec;
}

/* Excursions add up to the time outside, in every clause and reading, and that of the range
 * clauses is the time out of range of stats.h. */
static void excursions_add_up_to_the_time_outside(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 4; seed++) {
        struct sr_air_series s = uneven(seed);
        struct sr_spec spec = agreed();
        int64_t from_s = t_s[40] + 500, to_s = t_s[N - 40] + 300;
        struct sr_spec_report report;
        OK(sr_spec_evaluate(&spec, &sensor, &s, from_s, to_s, slots, 256, &report));
        for (int c = 0; c < SR_SPEC_CLAUSES; c++) {
            for (int r = 0; r < (c <= SR_SPEC_T ? 1 : 3); r++) {
                const struct sr_spec_totals *t = &report.clause[c].by_reading[r];
                size_t n;
                OK(sr_spec_list(&spec, (enum sr_spec_clause)c, (enum sr_spec_reading)r, &sensor,
                                &s, from_s, to_s, slots, 256, list, N, &n));
                assert_int_equal(n, t->excursions);
                int64_t sum_s = 0, before_s = from_s;
                for (size_t i = 0; i < n; i++) {
                    assert_true(list[i].start_s >= before_s);
                    assert_true(list[i].end_s > list[i].start_s && list[i].end_s <= to_s);
                    assert_true(list[i].above ? list[i].extreme > list[i].limit
                                              : list[i].extreme < list[i].limit);
                    before_s = list[i].end_s;
                    sum_s += list[i].end_s - list[i].start_s;
                }
                assert_int_equal(sum_s, t->outside_s);
                assert_true(t->covered_s > 0 && t->covered_s <= to_s - from_s);
            }
        }
        struct sr_series series = sr_series_humidity(&s);
        struct sr_stats_share share;
        OK(sr_stats_time_in_range(&series, from_s, to_s, 45, 55, &share));
        const struct sr_spec_totals *t = &report.clause[SR_SPEC_RH].by_reading[0];
        assert_int_equal(t->covered_s, share.covered_s);
        assert_int_equal(t->outside_s, share.below_s + share.above_s);
        assert_true(t->excursions > 5);
    }
}

/* Who keeps within the full range keeps within the two others. */
static void the_full_range_is_the_strictest_reading(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 6; seed++) {
        struct sr_air_series s = uneven(seed);
        struct sr_spec spec = agreed();
        struct sr_spec_report report;
        OK(sr_spec_evaluate(&spec, &sensor, &s, t_s[0], t_s[N - 1], slots, 256, &report));
        for (int c = SR_SPEC_RH_24H; c < SR_SPEC_CLAUSES; c++) {
            const struct sr_spec_clause_report *r = &report.clause[c];
            int64_t full = r->by_reading[SR_SPEC_FULL_RANGE].outside_s;
            assert_int_equal(r->used, SR_SPEC_FULL_RANGE);
            assert_true(full >= r->by_reading[SR_SPEC_HALF_RANGE].outside_s);
            assert_true(full >= r->by_reading[SR_SPEC_CENTRED].outside_s);
        }
    }
}

/* A live watch tells each excursion as it ends, and its totals are those of the batch. */
static void a_live_watch_agrees_with_the_whole(void **state)
{
    (void)state;
    struct sr_air_series s = uneven(11);
    struct sr_spec spec = agreed();
    size_t n_all, n = 0;
    OK(sr_spec_list(&spec, SR_SPEC_RH_24H, SR_SPEC_CENTRED, &sensor, &s, t_s[0], t_s[N - 1],
                    slots, 256, list, N, &n_all));
    struct sr_spec_watch w;
    OK(sr_spec_watch_begin(&spec, SR_SPEC_RH_24H, SR_SPEC_CENTRED, &sensor, t_s[0], t_s[N - 1],
                           H, slots, 256, &w));
    struct sr_spec_excursion one;
    struct sr_spec_totals now, later = {0};
    bool flag;
    for (int i = 0; i < N; i++) {
        OK(sr_spec_watch_push(&w, t_s[i], rh[i], &one, &flag));
        if (flag) {
            assert_int_equal(one.start_s, list[n].start_s);
            assert_int_equal(one.end_s, list[n].end_s);
            assert_near(one.extreme, list[n].extreme, 0);
            assert_true(one.end_s <= t_s[i]);
            n++;
        }
        if (i % 100 == 99) {
            OK(sr_spec_watch_so_far(&w, &now, &one, &flag));
            assert_true(now.outside_s >= later.outside_s);
            later = now;
        }
    }
    OK(sr_spec_watch_so_far(&w, &now, &one, &flag));
    assert_int_equal(n + (flag ? 1 : 0), n_all);
}

static void wrong_specifications_are_refused(void **state)
{
    (void)state;
    struct sr_air_series s = uneven(2);
    struct sr_spec_report report = {.finding = SR_SPEC_UNDECIDED};
    struct sr_spec spec = *sr_spec_find("iic-icom-cc-2014");
    static const struct sr_spec_sensor bad = {-1, 0.5, 1, 0.3, 600};
    size_t n = 7;
    spec.rh_min_pct = 61; /* above the greatest */
    assert_int_equal(sr_spec_evaluate(&spec, &sensor, &s, t_s[0], t_s[9], slots, 256, &report),
                     SR_RANGE);
    spec.rh_min_pct = 40;
    assert_int_equal(sr_spec_evaluate(&spec, &bad, &s, t_s[0], t_s[9], slots, 256, &report),
                     SR_RANGE);
    assert_int_equal(sr_spec_evaluate(&spec, &sensor, &s, t_s[9], t_s[9], slots, 256, &report),
                     SR_RANGE);
    assert_int_equal(sr_spec_evaluate(&spec, &sensor, &s, t_s[0], t_s[9], NULL, 0, &report),
                     SR_NOMEM);
    assert_int_equal(sr_spec_list(&spec, SR_SPEC_T_1H, SR_SPEC_CENTRED, &sensor, &s, t_s[0],
                                  t_s[9], slots, 256, list, N, &n),
                     SR_RANGE); /* not agreed */
    spec.rh_24h_pct = 0;
    assert_int_equal(sr_spec_evaluate(&spec, &sensor, &s, t_s[0], t_s[9], slots, 256, &report),
                     SR_RANGE);
    spec.rh_24h_pct = 10;
    spec.percentile = 101;
    assert_int_equal(sr_spec_evaluate(&spec, &sensor, &s, t_s[0], t_s[9], slots, 256, &report),
                     SR_RANGE);
    s.n = 0;
    assert_int_equal(sr_spec_evaluate(&spec, &sensor, &s, t_s[0], t_s[9], slots, 256, &report),
                     SR_THIN);
    assert_int_equal(report.finding, SR_SPEC_UNDECIDED);
    assert_int_equal(n, 7);
}

/* A record that lies wholly elsewhere is undecided, not inside. */
static void no_data_is_undecided(void **state)
{
    (void)state;
    struct sr_air_series s = uneven(2);
    struct sr_spec spec = agreed();
    struct sr_spec_report report;
    int64_t later_s = t_s[N - 1] + 100 * H;
    OK(sr_spec_evaluate(&spec, &sensor, &s, later_s, later_s + H, slots, 256, &report));
    assert_int_equal(report.finding, SR_SPEC_UNDECIDED);
    for (int c = 0; c < SR_SPEC_CLAUSES; c++)
        assert_int_equal(report.clause[c].by_reading[0].covered_s, 0);
}

static void short_or_empty_years_have_no_type(void **state)
{
    (void)state;
    static double mean[N], work[N];
    struct sr_control c = {.best_all = 99};
    for (int i = 0; i < N; i++) {
        rh[i] = 50;
        t_c[i] = 20;
    }
    OK(sr_control_assess(rh, t_c, N, H, mean, work, &c));
    assert_int_equal(c.best_all, 0);
    assert_int_equal(c.provisional, SR_SEASONAL_SHORT);
    c.best_all = 99;
    assert_int_equal(sr_control_assess(rh, t_c, 720, H, mean, work, &c), SR_THIN);
    assert_int_equal(sr_control_assess(rh, t_c, 0, H, mean, work, &c), SR_THIN);
    for (int i = 0; i < N; i++)
        t_c[i] = NONE;
    assert_int_equal(sr_control_assess(rh, t_c, N, H, mean, work, &c), SR_THIN);
    t_c[4] = INF;
    assert_int_equal(sr_control_assess(rh, t_c, N, H, mean, work, &c), SR_RANGE);
    assert_int_equal(c.best_all, 99);
}

static void canvas_zones_account_for_all_covered_time(void **state)
{
    (void)state;
    struct sr_air_series s = uneven(5);
    struct sr_series series = sr_series_humidity(&s);
    rh[100] = 101.5; /* saturated sensors read a little above 100 */
    rh[101] = -0.2;
    struct sr_canvas_time time;
    OK(sr_canvas_over(&series, 12 * 3600.0, t_s[3], t_s[N - 3], &time));
    int64_t sum_s = time.unknown_s;
    for (int z = 0; z < SR_CANVAS_ZONES; z++)
        sum_s += time.in_zone_s[z];
    assert_int_equal(sum_s, time.covered_s);
    assert_true(time.unknown_s > 0 && time.unknown_s < time.covered_s);
    assert_true(time.raw_below_25_s > 0);
    enum sr_canvas_zone zone = SR_CANVAS_EASY;
    enum sr_canvas_cold cold = SR_CANVAS_WARM;
    static const double wrong[] = {NONE, INF, -0.1, 100.1};
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(sr_canvas_zone_of(wrong[i], &zone), SR_RANGE);
    assert_int_equal(sr_canvas_cold_of(NONE, &cold), SR_RANGE);
    assert_int_equal(sr_canvas_over(&series, 0, t_s[3], t_s[9], &time), SR_RANGE);
    assert_int_equal(sr_canvas_over(&series, 60, t_s[9], t_s[3], &time), SR_RANGE);
    assert_int_equal(sr_canvas_over(&series, 60, t_s[0] - 60, t_s[0], &time), SR_THIN);
    for (int z = 0; z < SR_CANVAS_ZONES; z++)
        assert_true(strlen(sr_canvas_zone_text((enum sr_canvas_zone)z)) > 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(excursions_add_up_to_the_time_outside),
        cmocka_unit_test(the_full_range_is_the_strictest_reading),
        cmocka_unit_test(a_live_watch_agrees_with_the_whole),
        cmocka_unit_test(wrong_specifications_are_refused),
        cmocka_unit_test(no_data_is_undecided),
        cmocka_unit_test(short_or_empty_years_have_no_type),
        cmocka_unit_test(canvas_zones_account_for_all_covered_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
