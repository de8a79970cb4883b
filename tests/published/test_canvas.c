/* test_canvas.c - zones of canvas paintings. 80 %: Hedley 1988; 25 %: Padfield; 5 degC: Canadian
 * conservation guidance; all other limits common practice or from memory, time constants
 * from memory. */
#include "stillroom/canvas.h"

#include "support/near.h"

static void humidity_zones_end_where_the_sources_say(void **state)
{
    (void)state;
    static const struct {
        double rh_pct;
        enum sr_canvas_zone want;
    } rows[] = {
        {0, SR_CANVAS_BRITTLE_ALARM},
        {24.999, SR_CANVAS_BRITTLE_ALARM},
        {25, SR_CANVAS_BRITTLE_ACTION},
        {29.999, SR_CANVAS_BRITTLE_ACTION},
        {30, SR_CANVAS_BRITTLE_WATCH},
        {39.999, SR_CANVAS_BRITTLE_WATCH},
        {40, SR_CANVAS_EASY},
        {65, SR_CANVAS_EASY},
        {65.001, SR_CANVAS_SLACK_WATCH},
        {70, SR_CANVAS_SLACK_WATCH},
        {70.001, SR_CANVAS_SLACK_ACTION},
        {80, SR_CANVAS_SLACK_ACTION},
        {80.001, SR_CANVAS_SHRINK_ALARM},
        {100, SR_CANVAS_SHRINK_ALARM},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        enum sr_canvas_zone got;
        assert_int_equal(sr_canvas_zone_of(rows[i].rh_pct, &got), SR_OK);
        assert_int_equal(got, rows[i].want);
    }
}

static void cold_stops_handling(void **state)
{
    (void)state;
    static const struct {
        double t_c;
        enum sr_canvas_cold want;
    } rows[] = {{4.999, SR_CANVAS_COLD_STOP},
                {5, SR_CANVAS_COLD_CAUTION},
                {12.999, SR_CANVAS_COLD_CAUTION},
                {13, SR_CANVAS_WARM}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        enum sr_canvas_cold got;
        assert_int_equal(sr_canvas_cold_of(rows[i].t_c, &got), SR_OK);
        assert_int_equal(got, rows[i].want);
    }
}

static void mounts_have_their_time_constants(void **state)
{
    (void)state;
    static const double want_h[] = {1, 12, 24};
    for (int m = 0; m < 3; m++) {
        double got;
        assert_int_equal(sr_canvas_tau_s((enum sr_canvas_mount)m, &got), SR_OK);
        assert_near(got, want_h[m] * 3600, 0.0);
    }
}

/* A day at 50 %, then at 85 %: the filter (tau 12 h) is known from 36 h on and passes 65, 70
 * and 80 % when 35 (1 - exp(-t/12 h)) passes 15, 20 and 30: after 6.7, 10.2 and 23.4 h. */
static void a_backed_canvas_enters_the_zones_late(void **state)
{
    (void)state;
    int64_t t_s[97];
    double rh[97];
    for (int i = 0; i < 97; i++) {
        t_s[i] = i * 3600;
        rh[i] = i <= 48 ? 50.0 : 85.0;
    }
    struct sr_series s = {t_s, rh, 97, 3600};
    struct sr_canvas_time got;
    assert_int_equal(sr_canvas_over(&s, 12 * 3600.0, 0, 96 * 3600, &got), SR_OK);
    assert_int_equal(got.unknown_s, 36 * 3600);
    assert_int_equal(got.in_zone_s[SR_CANVAS_EASY], (48 + 7 - 36) * 3600);
    assert_int_equal(got.in_zone_s[SR_CANVAS_SLACK_WATCH], 4 * 3600);
    assert_int_equal(got.in_zone_s[SR_CANVAS_SLACK_ACTION], 13 * 3600);
    assert_int_equal(got.in_zone_s[SR_CANVAS_SHRINK_ALARM], 24 * 3600);
    assert_int_equal(got.covered_s, 96 * 3600);
    assert_int_equal(got.raw_below_25_s, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(humidity_zones_end_where_the_sources_say),
        cmocka_unit_test(cold_stops_handling),
        cmocka_unit_test(mounts_have_their_time_constants),
        cmocka_unit_test(a_backed_canvas_enters_the_zones_late),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
