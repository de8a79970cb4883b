/* test_lib_mould.c - mould: what is refused, ranges over gaps, and what must always hold. */
#include <stdbool.h>

#include "support/near.h"

#include "stillroom/criterion.h"
#include "stillroom/isopleth.h"
#include "stillroom/mould.h"
#include "stillroom/mould_run.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define OK(call) assert_int_equal((call), SR_OK)
#define UNTOUCHED 4711.0

static const struct sr_mould_state none = {0};

static struct sr_mould_class very_sensitive(void)
{
    struct sr_mould_class c;

    OK(sr_mould_class_get(SR_MOULD_VERY_SENSITIVE, &c));
    return c;
}

static double noise(unsigned *seed)
{
    *seed = *seed * 1664525U + 1013904223U;
    return (double)(*seed >> 8) / 16777216.0;
}

static void a_step_refuses_and_holds(void **state)
{
    static const double bad[][4] = {
        /* decline, degC, percent, hours */
        {NAN, 20, 90, 1},      {-0.1, 20, 90, 1}, {1.1, 20, 90, 1}, {1, NAN, 90, 1},
        {1, 120, 90, 1},       {1, 20, NAN, 1},   {1, 20, 106, 1},  {1, 20, -1, 1},
        {1, 20, 90, NAN},      {1, 20, 90, -1},   {1, 20, 90, 1e9}, {1, INFINITY, 90, 1},
        {1, 20, 90, INFINITY},
    };
    struct sr_mould_class c = very_sensitive(), odd = c;
    struct sr_mould_state mould = {1.5, 7};
    double out = UNTOUCHED;

    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++)
        assert_int_equal(sr_mould_step(&c, bad[i][0], bad[i][1], bad[i][2], bad[i][3], &mould),
                         SR_RANGE);
    odd.b = NAN;
    assert_int_equal(sr_mould_step(&odd, 1, 20, 90, 1, &mould), SR_RANGE);
    assert_int_equal(sr_mould_critical_rh(&odd, 20, &out), SR_RANGE);
    assert_int_equal(sr_mould_index_limit(&odd, 20, 90, &out), SR_RANGE);
    assert_near(mould.index, 1.5, 0);
    assert_near(mould.dry_h, 7, 0);
    mould.index = NAN;
    assert_int_equal(sr_mould_step(&c, 1, 20, 90, 1, &mould), SR_RANGE);
    mould = (struct sr_mould_state){1, -1};
    assert_int_equal(sr_mould_step(&c, 1, 20, 90, 1, &mould), SR_RANGE);
    assert_int_equal(sr_mould_class_get((enum sr_mould_sensitivity)9, &odd), SR_RANGE);
    assert_int_equal(sr_mould_class_1999(NAN, 0, &odd), SR_RANGE);
    assert_int_equal(sr_mould_class_1999(0, 2, &odd), SR_RANGE);
    assert_int_equal(sr_mould_critical_rh(&c, 0, &out), SR_NO_SOLUTION);
    assert_int_equal(sr_mould_critical_rh(&c, 50, &out), SR_NO_SOLUTION);
    assert_int_equal(sr_mould_critical_rh(&c, NAN, &out), SR_RANGE);
    assert_int_equal(sr_mould_weeks_to_first(&c, 0, 90, &out), SR_RANGE);
    assert_int_equal(sr_mould_weeks_to_first(&c, 20, 0, &out), SR_RANGE);
    assert_near(out, UNTOUCHED, 0);
}

/* Just above 0 degC the critical humidity rounds to 100 and the equation divides by nothing. */
static void no_climate_makes_a_nan(void **state)
{
    static const double t_c[] = {-60, -1e-300, 0,          1e-300, 1e-20, 1e-6,
                                 1,   20,      49.9999999, 50,     100};
    static const double rh_pct[] = {0, 50, 79.999, 80, 99.999999, 100, 100.0001, 105};

    (void)state;
    for (int k = -1; k < 4; k++) {
        struct sr_mould_class c;
        OK(k < 0 ? sr_mould_class_1999(1, 1, &c)
                 : sr_mould_class_get((enum sr_mould_sensitivity)k, &c));
        for (size_t i = 0; i < COUNT(t_c); i++) {
            for (size_t j = 0; j < COUNT(rh_pct); j++) {
                struct sr_mould_state mould = {.index = 0.5};
                double limit;
                OK(sr_mould_step(&c, 1, t_c[i], rh_pct[j], 5, &mould));
                assert_true(mould.index >= 0 && mould.index <= 6 && mould.dry_h >= 0);
                OK(sr_mould_index_limit(&c, t_c[i], rh_pct[j], &limit));
                assert_true(limit >= 0 && limit <= 6);
            }
        }
    }
}

static void the_index_stays_between_nothing_and_its_limit(void **state)
{
    const struct sr_mould_class c = very_sensitive();
    struct sr_mould_state mould = none;
    unsigned seed = 11;

    (void)state;
    for (int i = 0; i < 200000; i++) {
        const double before = mould.index;
        const double t = -5 + 50 * noise(&seed), rh = 60 + 44 * noise(&seed);
        double limit;
        OK(sr_mould_step(&c, 1, t, rh, 3 * noise(&seed), &mould));
        OK(sr_mould_index_limit(&c, t, rh, &limit));
        assert_true(mould.index >= 0 && mould.index <= fmax(before, limit) + 1e-9);
    }
}

static void damper_air_never_grows_less(void **state)
{
    (void)state;
    for (int k = 0; k < 4; k++) {
        struct sr_mould_class c;
        OK(sr_mould_class_get((enum sr_mould_sensitivity)k, &c));
        for (double t = 2; t < 49; t += 4.7) {
            double last = -1;
            for (double rh = 70; rh <= 100; rh += 0.5) {
                struct sr_mould_state mould = none;
                OK(sr_mould_step(&c, 1, t, rh, 24 * 60, &mould));
                assert_true(mould.index >= last);
                last = mould.index;
            }
        }
    }
}

/* Growth is taken hour by hour, the decline exactly: the same climate in other steps. */
static void a_constant_climate_may_be_resampled(void **state)
{
    static const double dt_h[] = {1.0 / 60, 0.25, 1, 3, 24};
    const struct sr_mould_class c = very_sensitive();
    struct sr_mould_state wet[COUNT(dt_h)], dry[COUNT(dt_h)];

    (void)state;
    for (size_t i = 0; i < COUNT(dt_h); i++) {
        wet[i] = none;
        dry[i] = (struct sr_mould_state){.index = 3};
        for (double h = 0; h < 24 * 40 - 1e-6; h += dt_h[i]) {
            OK(sr_mould_step(&c, 1, 20, 93, dt_h[i], &wet[i]));
            OK(sr_mould_step(&c, 1, 20, 50, dt_h[i], &dry[i]));
        }
        assert_near(wet[i].index, wet[0].index, 0.005);
        assert_near(dry[i].index, dry[0].index, 1e-9);
    }
    assert_memory_equal(&wet[2], &wet[4], sizeof wet[2]); /* days are divided into hours */
}

static void frost_declines_or_holds_as_chosen(void **state)
{
    struct sr_mould_class c = very_sensitive();
    struct sr_mould_state mould = {.index = 2};

    (void)state;
    OK(sr_mould_step(&c, 1, -5, 95, 100, &mould));
    assert_true(mould.index < 2);
    mould = (struct sr_mould_state){.index = 2};
    c.hold_frozen = true;
    OK(sr_mould_step(&c, 1, -5, 95, 100, &mould));
    assert_near(mould.index, 2, 0);
    assert_near(mould.dry_h, 0, 0);
}

#define HOURS 2000

static void fill(int64_t t_s[HOURS], double t_c[HOURS], double rh_pct[HOURS])
{
    unsigned seed = 5;

    for (int i = 0; i < HOURS; i++) {
        t_s[i] = INT64_C(1700000000) + 3600 * i + (i > 700 ? 50000 : 0) + (i > 900 ? 9000 : 0);
        t_c[i] = 12 + 15 * noise(&seed);
        rh_pct[i] = i % 97 == 5 ? (double)NAN : 65 + 35 * noise(&seed);
    }
}

static void begin(struct sr_mould_run *run, double low, double high)
{
    const struct sr_mould_class c = very_sensitive();
    const struct sr_mould_state a = {.index = low}, b = {.index = high};

    OK(sr_mould_run_begin(&c, 0.25, 3600, &a, &b, run));
}

static void assert_same(const struct sr_mould_run *a, const struct sr_mould_run *b)
{
    assert_memory_equal(&a->low, &b->low, sizeof a->low);
    assert_memory_equal(&a->high, &b->high, sizeof a->high);
    assert_int_equal(a->covered_s, b->covered_s);
    assert_int_equal(a->bridged_s, b->bridged_s);
    assert_int_equal(a->gap_s, b->gap_s);
    assert_int_equal(a->at_65_s, b->at_65_s);
    assert_int_equal(a->at_75_s, b->at_75_s);
    assert_int_equal(a->at_80_s, b->at_80_s);
}

static void a_run_split_anywhere_or_shifted_in_time_gives_the_same_bits(void **state)
{
    static int64_t t_s[HOURS];
    static double t_c[HOURS], rh_pct[HOURS];
    struct sr_mould_run whole, parts;

    (void)state;
    fill(t_s, t_c, rh_pct);
    begin(&whole, 0, 2);
    OK(sr_mould_run_series(&whole, &(struct sr_air_series){t_s, t_c, rh_pct, HOURS, 3600}));
    for (size_t cut = 1; cut < HOURS; cut += 137) {
        begin(&parts, 0, 2);
        OK(sr_mould_run_series(&parts, &(struct sr_air_series){t_s, t_c, rh_pct, cut, 3600}));
        for (size_t i = cut; i < HOURS; i++)
            OK(sr_mould_run_add(&parts, t_s[i], t_c[i], rh_pct[i]));
        assert_same(&parts, &whole);
    }
    for (size_t i = 0; i < HOURS; i++)
        t_s[i] -= INT64_C(123456789);
    begin(&parts, 0, 2);
    OK(sr_mould_run_series(&parts, &(struct sr_air_series){t_s, t_c, rh_pct, HOURS, 3600}));
    assert_same(&parts, &whole);
    assert_int_equal(whole.covered_s + whole.bridged_s + whole.gap_s, t_s[HOURS - 1] - t_s[0]);
    assert_true(whole.at_65_s >= whole.at_75_s && whole.at_75_s >= whole.at_80_s);
    assert_int_equal(whole.at_65_s, whole.covered_s); /* it never was below 65 */
}

static void an_unknown_start_is_a_range_that_holds_every_start(void **state)
{
    static int64_t t_s[HOURS];
    static double t_c[HOURS], rh_pct[HOURS];
    const struct sr_air_series s = {t_s, t_c, rh_pct, HOURS, 3600};
    struct sr_mould_run range, one;

    (void)state;
    fill(t_s, t_c, rh_pct);
    begin(&range, 0, 3);
    OK(sr_mould_run_series(&range, &s));
    for (double start = 0; start <= 3; start += 0.25) {
        begin(&one, start, start);
        OK(sr_mould_run_series(&one, &s));
        assert_true(one.low.index >= range.low.index - 0.01);
        assert_true(one.high.index <= range.high.index + 0.01);
        assert_true(one.low.index <= one.high.index);
    }
}

/* Two hours are bridged; seven are a gap: held, or grown as at the last known humidity. */
static void a_long_gap_is_a_range_and_a_short_one_is_bridged(void **state)
{
    const struct sr_mould_class c = very_sensitive();
    struct sr_mould_state grown;
    struct sr_mould_run run;

    (void)state;
    begin(&run, 1, 1);
    OK(sr_mould_run_add(&run, 0, 20, 95));
    OK(sr_mould_run_add(&run, 3600, 20, 95));
    OK(sr_mould_run_add(&run, 3 * 3600, 20, 95));
    assert_int_equal(run.bridged_s, 1800);
    assert_int_equal(run.gap_s, 0);
    assert_memory_equal(&run.low, &run.high, sizeof run.low);
    OK(sr_mould_run_add(&run, 10 * 3600, 20, 40));
    assert_int_equal(run.gap_s, 7 * 3600 - 5400);
    grown = run.low;
    OK(sr_mould_step(&c, 0.25, 20, 95, 5.5, &grown));
    assert_near(run.high.index, grown.index, 1e-12);
    assert_true(run.low.index < run.high.index);
}

/* A reading that is not to be trusted is never bridged: what follows is a range. */
static void a_marked_reading_is_not_bridged(void **state)
{
    struct sr_mould_run run;

    (void)state;
    begin(&run, 0, 0);
    OK(sr_mould_run_add(&run, 0, 20, 95));
    OK(sr_mould_run_add(&run, 3600, 20, NAN));
    OK(sr_mould_run_add(&run, 7200, NAN, 95));
    OK(sr_mould_run_add(&run, 10800, 20, 95));
    assert_int_equal(run.covered_s, 3600);
    assert_int_equal(run.gap_s, 7200);
    assert_true(run.low.index < run.high.index);
}

/* Nothing known before the first reading: held, not grown. */
static void time_before_any_value_is_held(void **state)
{
    struct sr_mould_run run, later;

    (void)state;
    begin(&run, 1, 2);
    OK(sr_mould_run_add(&run, 0, NAN, NAN));
    OK(sr_mould_run_add(&run, 360000, 20, 95));
    assert_near(run.low.index, 1, 0);
    assert_near(run.high.index, 2, 0);
    assert_int_equal(run.gap_s, 360000);
    OK(sr_mould_run_at(&run, 360000 + 3600, &later));
    assert_true(later.low.index > 1);
    assert_near(run.low.index, 1, 0);
    sr_mould_run_cleaned(&later);
    assert_near(later.high.index, 0, 0);
}

static void a_run_refuses_and_keeps(void **state)
{
    const struct sr_mould_class c = very_sensitive();
    const struct sr_mould_state low = {.index = 2}, high = {.index = 1};
    int64_t t_s[] = {0, 3600, 3600};
    double t_c[] = {20, 20, 20}, rh_pct[] = {95, 95, 95};
    struct sr_air_series s = {t_s, t_c, rh_pct, 3, 3600};
    struct sr_mould_run run, before;

    (void)state;
    assert_int_equal(sr_mould_run_begin(&c, 0.25, 3600, &low, &high, &run), SR_RANGE);
    assert_int_equal(sr_mould_run_begin(&c, NAN, 3600, &none, &none, &run), SR_RANGE);
    assert_int_equal(sr_mould_run_begin(&c, 0.25, 0, &none, &none, &run), SR_RANGE);
    begin(&run, 0, 0);
    before = run;
    assert_int_equal(sr_mould_run_series(&run, &s), SR_ORDER);
    s.n = 0;
    assert_int_equal(sr_mould_run_series(&run, &s), SR_THIN);
    s.n = 2;
    rh_pct[1] = INFINITY;
    assert_int_equal(sr_mould_run_series(&run, &s), SR_RANGE);
    rh_pct[1] = 130;
    assert_int_equal(sr_mould_run_series(&run, &s), SR_RANGE);
    assert_same(&run, &before);
    s.n = 1;
    OK(sr_mould_run_series(&run, &s)); /* one sample stands for nothing yet */
    assert_same(&run, &before);
    assert_int_equal(sr_mould_run_add(&run, 0, 20, 95), SR_ORDER);
    assert_int_equal(sr_mould_run_add(&run, INT64_MAX, 20, 95), SR_RANGE);
}

static void the_thirty_day_criterion_needs_thirty_days(void **state)
{
    static int64_t t_s[HOURS];
    static double t_c[HOURS], rh_pct[HOURS];
    struct sr_air_series s = {t_s, t_c, rh_pct, HOURS, 3600};
    struct sr_criterion_30d r = {.judged = 77};

    (void)state;
    for (int i = 0; i < HOURS; i++) {
        t_s[i] = INT64_C(3600) * i;
        t_c[i] = 20;
        rh_pct[i] = i >= 1000 && i < 1100 ? (double)NAN : 70;
    }
    s.n = 700;
    assert_int_equal(sr_criterion_surface_30d(&s, &r), SR_THIN);
    s.n = 0;
    assert_int_equal(sr_criterion_surface_30d(&s, &r), SR_THIN);
    s.n = 1;
    assert_int_equal(sr_criterion_surface_30d(&s, &r), SR_THIN);
    assert_int_equal(r.judged, 77);
    s.n = HOURS;
    OK(sr_criterion_surface_30d(&s, &r));
    assert_true(r.met);
    assert_near(r.worst_rh_pct, 70, 1e-9);
    /* Windows that hold over 72 of the 100 missing hours are not judged. */
    assert_in_range(r.judged, HOURS - 720 - 720, HOURS - 720 - 600);
    t_s[5] = t_s[4];
    assert_int_equal(sr_criterion_surface_30d(&s, &r), SR_ORDER);
}

/* The sliding sums against plain ones, over uneven times and holes. */
static void the_thirty_day_mean_is_the_plain_mean(void **state)
{
    enum {
        N = 1500
    };
    static int64_t t_s[N];
    static double t_c[N], rh_pct[N];
    const struct sr_air_series s = {t_s, t_c, rh_pct, N, 3600};
    const struct sr_series rh = {t_s, rh_pct, N, 3600};
    struct sr_criterion_30d r;
    double worst = 0;
    unsigned seed = 9;

    (void)state;
    for (int i = 0; i < N; i++) {
        t_s[i] = i == 0 ? 0 : t_s[i - 1] + 1800 + (int64_t)(4000 * noise(&seed));
        t_c[i] = 20;
        rh_pct[i] = i % 50 == 7 ? (double)NAN : 40 + 60 * noise(&seed);
    }
    OK(sr_criterion_surface_30d(&s, &r));
    for (size_t i = 0; i < N; i++) {
        const int64_t end = sr_series_end_s(&rh, i), start = end - SR_CRITERION_WINDOW_S;
        double sum = 0, weight = 0;
        for (size_t k = 0; start >= 0 && k <= i; k++) {
            const double w = (double)sr_series_covered_s(&rh, k, start, end);
            if (w > 0) {
                sum += w * rh_pct[k];
                weight += w;
            }
        }
        if (weight >= 0.9 * 2592000)
            worst = fmax(worst, sum / weight);
    }
    assert_true(worst > 0);
    assert_near(r.worst_rh_pct, worst, 1e-9);
}

static void isopleths_count_hours_and_the_longest_run(void **state)
{
    struct sr_isopleth_run run;
    double out = UNTOUCHED;

    (void)state;
    assert_int_equal(sr_isopleth_limit(SR_ISOPLETH_USABLE, 31, &out), SR_NO_SOLUTION);
    assert_int_equal(sr_isopleth_limit(SR_ISOPLETH_USABLE, -0.1, &out), SR_NO_SOLUTION);
    assert_int_equal(sr_isopleth_limit(SR_ISOPLETH_USABLE, NAN, &out), SR_RANGE);
    assert_int_equal(sr_isopleth_limit((enum sr_isopleth_substrate)5, 20, &out), SR_RANGE);
    assert_int_equal(sr_isopleth_begin((enum sr_isopleth_substrate)5, 60, &run), SR_RANGE);
    assert_int_equal(sr_isopleth_begin(SR_ISOPLETH_USABLE, 0, &run), SR_RANGE);
    assert_near(out, UNTOUCHED, 0);

    OK(sr_isopleth_begin(SR_ISOPLETH_USABLE, 3600, &run));
    static const double rh[] = {80, 80, 60, 80, 80, 80, NAN, 80, 80};
    for (int i = 0; i < 9; i++)
        OK(sr_isopleth_add(&run, INT64_C(3600) * i, 20, rh[i]));
    assert_int_equal(run.covered_s, 7 * 3600);
    assert_int_equal(run.over_s, 6 * 3600);
    assert_int_equal(run.longest_s, 3 * 3600);
    assert_int_equal(run.current_s, 3600);
    OK(sr_isopleth_add(&run, 9 * 3600, 40, 80));
    OK(sr_isopleth_add(&run, 10 * 3600, 40, 80));
    assert_int_equal(run.outside_s, 3600);
    assert_int_equal(sr_isopleth_add(&run, 0, 20, 80), SR_ORDER);
    assert_int_equal(sr_isopleth_add(&run, 99 * 3600, 20, INFINITY), SR_RANGE);
}

static void isopleth_series_and_stream_are_one(void **state)
{
    static int64_t t_s[HOURS];
    static double t_c[HOURS], rh_pct[HOURS];
    struct sr_isopleth_run a, b;

    (void)state;
    fill(t_s, t_c, rh_pct);
    OK(sr_isopleth_begin(SR_ISOPLETH_POROUS, 3600, &a));
    b = a;
    OK(sr_isopleth_series(&a, &(struct sr_air_series){t_s, t_c, rh_pct, HOURS, 3600}));
    for (size_t i = 0; i < HOURS; i++)
        OK(sr_isopleth_add(&b, t_s[i], t_c[i], rh_pct[i]));
    assert_int_equal(a.over_s, b.over_s);
    assert_int_equal(a.longest_s, b.longest_s);
    assert_int_equal(a.covered_s, b.covered_s);
    assert_int_equal(
        sr_isopleth_series(&a, &(struct sr_air_series){t_s, t_c, rh_pct, HOURS, 60}), SR_RANGE);
    assert_int_equal(sr_isopleth_series(&a, &(struct sr_air_series){t_s, t_c, rh_pct, 0, 3600}),
                     SR_THIN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_step_refuses_and_holds),
        cmocka_unit_test(no_climate_makes_a_nan),
        cmocka_unit_test(the_index_stays_between_nothing_and_its_limit),
        cmocka_unit_test(damper_air_never_grows_less),
        cmocka_unit_test(a_constant_climate_may_be_resampled),
        cmocka_unit_test(frost_declines_or_holds_as_chosen),
        cmocka_unit_test(a_run_split_anywhere_or_shifted_in_time_gives_the_same_bits),
        cmocka_unit_test(an_unknown_start_is_a_range_that_holds_every_start),
        cmocka_unit_test(a_long_gap_is_a_range_and_a_short_one_is_bridged),
        cmocka_unit_test(a_marked_reading_is_not_bridged),
        cmocka_unit_test(time_before_any_value_is_held),
        cmocka_unit_test(a_run_refuses_and_keeps),
        cmocka_unit_test(the_thirty_day_criterion_needs_thirty_days),
        cmocka_unit_test(the_thirty_day_mean_is_the_plain_mean),
        cmocka_unit_test(isopleths_count_hours_and_the_longest_run),
        cmocka_unit_test(isopleth_series_and_stream_are_one),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
