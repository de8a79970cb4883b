/* test_coating.c - the 3 K rule and fitness for work.
 *
 * Sources: 3 K and 85 %: paint trade rule (associated with guidance to ISO 8502-4). Film
 * cooling and all limits of work: from memory, common practice. The humidities of the 3 K
 * rule were calculated from Hyland & Wexler (1983) apart from this library. Nights and their
 * number: common practice and project choice. */
#include "stillroom/coating.h"

#include "support/near.h"

#define H INT64_C(3600)
#define NONE ((double)NAN)

static void three_kelvin_are_a_humidity(void **state)
{
    (void)state;
    static const struct {
        double t_c, plain, varnish;
    } rows[] = {{10, 81.59, 61.7}, {15, 82.24, 62.9}, {20, 82.86, 64.04}, {25, 83.45, 65.1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double got;
        assert_int_equal(sr_coating_rh_limit(rows[i].t_c, SR_COATING_DEW_MARGIN_K, 0.0, &got),
                         SR_OK);
        assert_near(got, rows[i].plain, 0.0051);
        assert_int_equal(sr_coating_rh_limit(rows[i].t_c, SR_COATING_DEW_MARGIN_K,
                                             SR_COATING_FILM_COOLING_K, &got),
                         SR_OK);
        assert_near(got, rows[i].varnish, 0.051);
    }
    double got;
    assert_int_equal(sr_coating_rh_limit(20, 3, 4, &got), SR_OK);
    assert_near(got, 64.04, 0.0051);
}

static void practice_is_as_remembered(void **state)
{
    (void)state;
    static const struct sr_coating_limits want[SR_COATING_WORKS] = {
        {"varnishing", 18, 24, 40, 60, 65, 4, 3, 24},
        {"gesso", 18, 24, 45, 60, NONE, 0, 3, NONE},
        {"animal glue", 20, NONE, NONE, 85, NONE, 0, 3, NONE},
        {"water gilding", NONE, NONE, 50, 65, NONE, 0, 3, NONE},
        {"oil fills and retouching", 15, NONE, 40, 60, NONE, 0, 3, 24},
    };
    for (int i = 0; i < SR_COATING_WORKS; i++) {
        const struct sr_coating_limits *got = &sr_coating_practice[i];
        const double a[] = {got->t_min_c,      got->t_max_c,     got->rh_min_pct,
                            got->rh_max_pct,   got->rh_stop_pct, got->film_cooling_k,
                            got->dew_margin_k, got->cure_h};
        const double b[] = {want[i].t_min_c,      want[i].t_max_c,     want[i].rh_min_pct,
                            want[i].rh_max_pct,   want[i].rh_stop_pct, want[i].film_cooling_k,
                            want[i].dew_margin_k, want[i].cure_h};
        assert_string_equal(got->name, want[i].name);
        for (size_t k = 0; k < 8; k++)
            assert_true(isnan(b[k]) ? isnan(a[k]) : fabs(a[k] - b[k]) < 1e-12);
    }
    assert_near(SR_COATING_COLD_ARRIVAL_H, 24.0, 0.0);
    assert_int_equal(SR_COATING_NIGHTS, 7);
    assert_int_equal(SR_COATING_NIGHTS_NEEDED, 3);
}

static void varnishing_is_yes_no_or_unknown_with_reasons(void **state)
{
    (void)state;
    const double long_ago = (double)INFINITY;
    static const double u_t = 0.3, u_rh = 1.0;
    const struct {
        double t_c, rh_pct, surface_c, since_cold_h;
        enum sr_coating_answer want;
        unsigned reasons;
    } rows[] = {
        {20, 50, 20, long_ago, SR_COATING_YES, 0},
        {20, 59.5, 20, long_ago, SR_COATING_YES, SR_COATING_CLOSE},
        {20, 61, 20, long_ago, SR_COATING_NO, SR_COATING_TOO_DAMP},
        {20, 65, 20, long_ago, SR_COATING_NO, SR_COATING_TOO_DAMP | SR_COATING_DEW},
        {20, 65.1, 20, long_ago, SR_COATING_NO,
         SR_COATING_TOO_DAMP | SR_COATING_DEW | SR_COATING_STOP},
        {20, 39, 20, long_ago, SR_COATING_NO, SR_COATING_TOO_DRY},
        {17, 50, 17, long_ago, SR_COATING_NO, SR_COATING_TOO_COLD},
        {25, 50, 25, long_ago, SR_COATING_NO, SR_COATING_TOO_WARM},
        {20, 55, 16, long_ago, SR_COATING_NO, SR_COATING_DEW}, /* dew at 10.7, film at 12 */
        {20, 50, NONE, long_ago, SR_COATING_UNKNOWN, SR_COATING_NO_SURFACE},
        {20, 61, NONE, long_ago, SR_COATING_NO, SR_COATING_TOO_DAMP | SR_COATING_NO_SURFACE},
        {20, 50, 20, 23.9, SR_COATING_UNKNOWN, SR_COATING_FROM_COLD},
        {20, 50, 20, 24, SR_COATING_YES, 0},
        {20, NONE, 20, long_ago, SR_COATING_UNKNOWN, SR_COATING_NO_READING},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sr_coating_air air = {
            rows[i].t_c, rows[i].rh_pct, rows[i].surface_c, rows[i].since_cold_h, u_t, u_rh};
        struct sr_coating_fitness got;
        assert_int_equal(sr_coating_now(&sr_coating_practice[SR_COATING_VARNISH], &air, &got),
                         SR_OK);
        assert_int_equal(got.answer, rows[i].want);
        assert_int_equal(got.reasons, rows[i].reasons);
    }
    struct sr_coating_air air = {20, 50, 20, long_ago, u_t, u_rh};
    struct sr_coating_fitness got;
    assert_int_equal(sr_coating_now(&sr_coating_practice[SR_COATING_VARNISH], &air, &got),
                     SR_OK);
    assert_near(got.damp_margin_pct, 10.0, 1e-12);
    assert_near(got.cold_margin_k, 2.0, 1e-12);
    assert_near(got.dew_margin_k, 20 - 9.272 - 4 - 3, 0.001); /* dew point of 20 degC, 50 % */
}

#define N (9 * 24)

/* Nine days of hours, 20 degC and 50 %; at 02:00 of the third night before now it is 63 %, on
 * the eighth night before it was 80 %: too long ago. Now is 12:00 of the last day. */
static void the_cure_is_judged_by_the_worst_of_seven_nights(void **state)
{
    (void)state;
    int64_t t_s[N];
    double t_c[N], rh[N], surface[N];
    for (int i = 0; i < N; i++) {
        t_s[i] = i * H;
        t_c[i] = 20.0;
        rh[i] = 50.0;
        surface[i] = 19.0;
    }
    rh[6 * 24 + 2] = 63.0;
    rh[1 * 24 + 2] = 80.0;
    surface[6 * 24 + 3] = 15.0;
    rh[8 * 24 + 12] = 90.0; /* day-time now: not a night */
    struct sr_air_series s = {t_s, t_c, rh, N, H};
    struct sr_coating_nights nights;
    int64_t now_s = (8 * 24 + 13) * H;
    assert_int_equal(sr_coating_nights_before(&s, surface, now_s, 0, &nights), SR_OK);
    assert_int_equal(nights.known, 7);
    assert_int_equal(nights.surface_known, 7);
    assert_near(nights.rh_max_pct, 63.0, 0.0);
    assert_near(nights.rh_min_pct, 50.0, 0.0);
    assert_near(nights.dew_gap_min_k, 15 - 9.272, 0.001); /* colder than by the 63 % */

    struct sr_coating_air air = {20, 50, 19, (double)INFINITY, 0.3, 1.0};
    struct sr_coating_fitness f;
    assert_int_equal(
        sr_coating_cure(&sr_coating_practice[SR_COATING_VARNISH], &air, &nights, &f), SR_OK);
    assert_int_equal(f.answer, SR_COATING_NO);
    assert_int_equal(f.reasons, SR_COATING_TOO_DAMP | SR_COATING_DEW);
    /* Fit now, not tonight. */
    assert_int_equal(sr_coating_now(&sr_coating_practice[SR_COATING_VARNISH], &air, &f), SR_OK);
    assert_int_equal(f.answer, SR_COATING_YES);

    rh[6 * 24 + 2] = 50.0;
    surface[6 * 24 + 3] = 19.0;
    assert_int_equal(sr_coating_nights_before(&s, surface, now_s, 0, &nights), SR_OK);
    assert_int_equal(
        sr_coating_cure(&sr_coating_practice[SR_COATING_VARNISH], &air, &nights, &f), SR_OK);
    assert_int_equal(f.answer, SR_COATING_YES);
    /* An hour of the morning is night in a zone six hours behind: 08:00 there is 14:00 here. */
    assert_int_equal(sr_coating_nights_before(&s, surface, now_s + H, -6 * H, &nights), SR_OK);
    assert_near(nights.rh_max_pct, 90.0, 0.0);
}

/* A night is 14 h; 75 % of it, 37,800 s, make it known. */
static void a_night_needs_three_quarters_of_its_time(void **state)
{
    (void)state;
    static const int64_t late_s[] = {12600, 12630};
    for (int k = 0; k < 2; k++) {
        const int64_t evening_s = 18 * H;
        int64_t t_s[] = {evening_s, evening_s + late_s[k], evening_s + 14 * H};
        static const double t_c[] = {20, 20, 20}, rh[] = {NONE, 50, 50};
        struct sr_air_series s = {t_s, t_c, rh, 3, 24 * H};
        struct sr_coating_nights nights;
        enum sr_rc rc = sr_coating_nights_before(&s, NULL, 2 * 24 * H, 0, &nights);
        assert_int_equal(rc, k == 0 ? SR_OK : SR_THIN);
        if (k == 0)
            assert_int_equal(nights.known, 1);
    }
}

static void few_nights_or_no_surface_leave_the_cure_unknown(void **state)
{
    (void)state;
    struct sr_coating_air air = {20, 50, 20, (double)INFINITY, 0.3, 1.0};
    struct sr_coating_nights nights = {3, 3, 19, 20, 50, 55, 9.0};
    const struct sr_coating_limits *varnish = &sr_coating_practice[SR_COATING_VARNISH];
    struct sr_coating_fitness f;
    assert_int_equal(sr_coating_cure(varnish, &air, &nights, &f), SR_OK);
    assert_int_equal(f.answer, SR_COATING_YES);
    nights.surface_known = 2;
    assert_int_equal(sr_coating_cure(varnish, &air, &nights, &f), SR_OK);
    assert_int_equal(f.answer, SR_COATING_UNKNOWN);
    assert_int_equal(f.reasons, SR_COATING_NO_SURFACE);
    nights.known = nights.surface_known = 2;
    assert_int_equal(sr_coating_cure(varnish, &air, &nights, &f), SR_OK);
    assert_int_equal(f.reasons, SR_COATING_NO_SURFACE | SR_COATING_FEW_NIGHTS);
    nights.known = 0;
    assert_int_equal(sr_coating_cure(varnish, &air, &nights, &f), SR_OK);
    assert_int_equal(f.answer, SR_COATING_UNKNOWN);
    assert_int_equal(f.reasons, SR_COATING_FEW_NIGHTS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(three_kelvin_are_a_humidity),
        cmocka_unit_test(practice_is_as_remembered),
        cmocka_unit_test(varnishing_is_yes_no_or_unknown_with_reasons),
        cmocka_unit_test(the_cure_is_judged_by_the_worst_of_seven_nights),
        cmocka_unit_test(a_night_needs_three_quarters_of_its_time),
        cmocka_unit_test(few_nights_or_no_surface_leave_the_cure_unknown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
