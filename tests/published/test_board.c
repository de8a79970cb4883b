/* test_board.c - moisture in boards: Crank, The Mathematics of Diffusion (1975), ch. 4. The tables
 * were recomputed from its series, and partly by finite differences, by programs of their own. */
#include "support/near.h"

#include "stillroom/board.h"
#include "stillroom/slab.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define OK(call) assert_int_equal((call), SR_OK)
#define DAY_S 86400.0

static const struct {
    double fo, mean, centre;
} slab[] = {
    {0.01, 0.22568, 0.00081}, {0.02, 0.31915, 0.02484}, {0.05, 0.50409, 0.22769},
    {0.1, 0.69788, 0.52551},  {0.2, 0.88740, 0.82313},  {0.5, 0.99417, 0.99084},
};

static void plane_sheet_without_resistance(void **state)
{
    double x;

    (void)state;
    for (size_t i = 0; i < COUNT(slab); i++) {
        OK(sr_slab_mean(slab[i].fo, &x));
        assert_near(x, slab[i].mean, 0.000006);
        OK(sr_slab_centre(slab[i].fo, &x));
        assert_near(x, slab[i].centre, 0.000006);
    }
    OK(sr_slab_mean(0.0005, &x)); /* short times: 4 sqrt(fo / pi) */
    assert_near(x, 0.0504627, 1e-7);
}

static void times_to_a_share_of_the_change(void **state)
{
    static const double rows[][2] = {{0.5, 0.049183},
                                     {0.6321205588, 0.080062},
                                     {0.9, 0.212021},
                                     {0.95, 0.282252},
                                     {0.99, 0.445322}};
    double fo;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_slab_fo_for_mean(rows[i][0], &fo));
        assert_near(fo, rows[i][1], 0.0000006);
    }
    OK(sr_slab_fo_for_centre(0.9, &fo));
    assert_near(fo, 0.257776, 0.0000006);
}

static const double fo_half[] = {0.1, 0.5, 1.0, 2.0};
static const struct {
    double bi, root, mean[4];
} resisted[] = {
    {1, 0.860334, {0.08040, 0.31890, 0.52960, 0.77561}},
    {5, 1.313838, {0.21858, 0.61483, 0.83752, 0.97108}},
    {10, 1.428870, {0.27388, 0.68498, 0.88650, 0.98527}},
};

static void plane_sheet_with_a_resisting_surface(void **state)
{
    double x;

    (void)state;
    for (size_t i = 0; i < COUNT(resisted); i++) {
        OK(sr_slab_root(resisted[i].bi, 1, &x));
        assert_near(x, resisted[i].root, 0.0000006);
        for (size_t j = 0; j < COUNT(fo_half); j++) {
            OK(sr_slab_mean_resisted(resisted[i].bi, fo_half[j], &x));
            assert_near(x, resisted[i].mean[j], 0.000006);
        }
    }
}

/* t50 and t90 at D = 1e-10; one face takes four times as long. */
static void response_times_in_days(void **state)
{
    static const double rows[][3] = {{0.005, 0.142, 0.613},
                                     {0.010, 0.569, 2.454},
                                     {0.020, 2.277, 9.816},
                                     {0.040, 9.108, 39.26}};
    double s, one;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_slab_response_s(rows[i][0], 2, 1e-10, 0.5, &s));
        assert_near(s / DAY_S, rows[i][1], 0.005 * rows[i][1]);
        OK(sr_slab_response_s(rows[i][0], 2, 1e-10, 0.9, &s));
        assert_near(s / DAY_S, rows[i][2], 0.005 * rows[i][2]);
        OK(sr_slab_response_s(rows[i][0], 1, 1e-10, 0.9, &one));
        assert_near(one / s, 4.0, 1e-12);
    }
    OK(sr_slab_response_s(0.020, 1, 1e-10, 0.9, &s));
    assert_near(s / DAY_S, 39.26, 0.006); /* two faces: 9.82; half of that again: 2.45 */
}

static void gain_of_periodic_humidity(void **state)
{
    static const double days[] = {1, 7, 30, 90};
    static const struct {
        double mm, gain[4];
    } rows[] = {
        {5, {0.517, 0.969, 0.998, 1.000}},
        {10, {0.233, 0.709, 0.973, 0.997}},
        {20, {0.117, 0.311, 0.731, 0.953}},
        {40, {0.059, 0.155, 0.324, 0.633}},
    };
    double two, one;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        for (size_t j = 0; j < COUNT(days); j++) {
            OK(sr_slab_gain(rows[i].mm / 1000, 2, 1e-10, days[j] * DAY_S, &two));
            assert_near(two, rows[i].gain[j], 0.0006);
            OK(sr_slab_gain(rows[i].mm / 2000, 1, 1e-10, days[j] * DAY_S, &one));
            assert_near(one, two, 1e-12);
        }
    }
}

static struct sr_board stepped(double faces_depth_m, int faces, double surface_m_s,
                               double until_s, double dt_s)
{
    const struct sr_board_spec spec = {.thickness_m = faces_depth_m,
                                       .open_faces = faces,
                                       .d_m2_s = 1e-10,
                                       .surface_m_s = surface_m_s};
    struct sr_board b;

    OK(sr_board_begin(&spec, 8, &b));
    for (double t = 0; t < until_s - 0.5; t += dt_s)
        OK(sr_board_step(&b, 12, 12, fmin(dt_s, until_s - t)));
    return b;
}

/* The solver against the same table: two faces, and one face of half the thickness. */
static void finite_volumes_meet_the_series(void **state)
{
    struct sr_board_answer a;

    (void)state;
    for (size_t i = 0; i < COUNT(slab); i++) {
        for (int faces = 1; faces <= 2; faces++) {
            const double until_s = slab[i].fo * 0.02 * 0.02 / 1e-10;
            const struct sr_board b = stepped(0.01 * faces, faces, 0, until_s, 900);
            OK(sr_board_now(&b, &a));
            assert_near((a.mean_pct - 8) / 4, slab[i].mean, 1e-4);
            assert_near((a.core_pct - 8) / 4, slab[i].centre, 3e-4);
            assert_near(a.surface_pct, 12, 1e-12);
            assert_near(a.gradient_pct_mm, (12 - a.core_pct) / 10, 1e-9);
        }
    }
}

static void finite_volumes_meet_the_resisted_series(void **state)
{
    struct sr_board_answer a;

    (void)state;
    for (size_t i = 0; i < COUNT(resisted); i++) {
        for (size_t j = 0; j < COUNT(fo_half); j++) {
            const struct sr_board b = stepped(0.02, 2, resisted[i].bi * 1e-10 / 0.01,
                                              fo_half[j] * 1e-4 / 1e-10, 1000);
            OK(sr_board_now(&b, &a));
            assert_near((a.mean_pct - 8) / 4, resisted[i].mean[j], 1e-4);
            assert_true(a.surface_pct < 12 && a.surface_pct > a.mean_pct);
        }
    }
}

/* After many days of a daily sine, hour by hour, the mean swings by the gain. */
static void finite_volumes_meet_the_gain(void **state)
{
    const struct sr_board_spec spec = {.thickness_m = 0.01, .open_faces = 2, .d_m2_s = 1e-10};
    const double turn = 6.283185307179586 / 24;
    struct sr_board_answer a;
    struct sr_board b;
    double low = 99, high = 0;

    (void)state;
    OK(sr_board_begin(&spec, 10, &b));
    for (int h = 0; h < 24 * 40; h++) {
        OK(sr_board_step(&b, 10 + sin(turn * h), 10 + sin(turn * (h + 1)), 3600));
        OK(sr_board_now(&b, &a));
        if (h >= 24 * 39) {
            low = fmin(low, a.mean_pct);
            high = fmax(high, a.mean_pct);
        }
    }
    assert_near(0.5 * (high - low), 0.233, 0.002);
}

/* D by temperature (from memory: Simpson & Liu 1991): x0.529 at 10, x1.811 at 30 degC. By
 * moisture: a factor 8 from 2.5 to 18 % (Simpson 1974, aspen at 43 degC). */
static void coefficient_grows_with_heat_and_moisture(void **state)
{
    static const double rows[][2] = {{10, 0.529}, {20, 1.0}, {30, 1.811}};
    struct sr_board_spec spec = {.thickness_m = 0.01, .open_faces = 1};
    struct sr_board_answer warm, plain;
    struct sr_board a, b;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        spec.d_m2_s = 1e-10;
        spec.d_by_temperature = true;
        OK(sr_board_begin(&spec, 6, &a));
        spec.d_m2_s = 1e-10 * rows[i][1];
        spec.d_by_temperature = false;
        OK(sr_board_begin(&spec, 6, &b));
        for (int day = 0; day < 5; day++) {
            OK(sr_board_step_air(&a, rows[i][0], 60, DAY_S));
            OK(sr_board_step_air(&b, rows[i][0], 60, DAY_S));
        }
        OK(sr_board_now(&a, &warm));
        OK(sr_board_now(&b, &plain));
        assert_near(warm.mean_pct, plain.mean_pct, 0.001);
    }
    assert_near(exp(SR_BOARD_D_PER_PCT * (18 - 2.5)), 8.0, 0.03);
}

/* Defaults and the range to print: 0.5-3e-10 for softwoods (from memory: Siau 1995, Time 1998),
 * 5e-12 from a sealed panel (Padfield); still air 1e-7 m/s (from memory), which makes Bi 10 for
 * half of 20 mm. */
static void the_range_over_d_is_the_published_one(void **state)
{
    const struct sr_board_spec spec = {.thickness_m = 0.02, .open_faces = 2};
    struct sr_board_band band;

    (void)state;
    OK(sr_board_band_begin(&spec, 10, &band));
    assert_near(band.at[0].spec.d_m2_s, 5e-12, 1e-20);
    assert_near(band.at[1].spec.d_m2_s, 1e-10, 1e-20);
    assert_near(band.at[2].spec.d_m2_s, 3e-10, 1e-20);
    assert_near(SR_BOARD_STILL_AIR_M_S * 0.01 / SR_BOARD_D_DEFAULT, 10, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plane_sheet_without_resistance),
        cmocka_unit_test(times_to_a_share_of_the_change),
        cmocka_unit_test(plane_sheet_with_a_resisting_surface),
        cmocka_unit_test(response_times_in_days),
        cmocka_unit_test(gain_of_periodic_humidity),
        cmocka_unit_test(finite_volumes_meet_the_series),
        cmocka_unit_test(finite_volumes_meet_the_resisted_series),
        cmocka_unit_test(finite_volumes_meet_the_gain),
        cmocka_unit_test(coefficient_grows_with_heat_and_moisture),
        cmocka_unit_test(the_range_over_d_is_the_published_one),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
