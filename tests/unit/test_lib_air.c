/* test_lib_air.c - moist air: what is refused, and what must hold whatever the numbers. */
#include "support/near.h"

#include <stdbool.h>

#include "stillroom/air.h"
#include "stillroom/mixture.h"
#include "stillroom/psychro.h"
#include "stillroom/surface.h"
#include "stillroom/uncertainty.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define OK(call) assert_int_equal((call), SR_OK)
#define UNTOUCHED 4711.0

static enum sr_rc ratio(double t_c, double rh_pct, double *out)
{
    return sr_mixture_ratio(t_c, rh_pct, SR_MIXTURE_SEA_LEVEL_PA, out);
}

static enum sr_rc enthalpy(double t_c, double rh_pct, double *out)
{
    return sr_mixture_enthalpy(t_c, rh_pct, SR_MIXTURE_SEA_LEVEL_PA, out);
}

static enum sr_rc wet_bulb(double t_c, double rh_pct, double *out)
{
    return sr_mixture_wet_bulb(t_c, rh_pct, SR_MIXTURE_SEA_LEVEL_PA, out);
}

static enum sr_rc at_15(double t_c, double rh_pct, double *out)
{
    return sr_psychro_surface_rh(t_c, rh_pct, 15, out);
}

static enum sr_rc margin_15(double t_c, double rh_pct, double *out)
{
    return sr_surface_margin(t_c, rh_pct, 15, out);
}

static enum sr_rc for_80(double t_c, double rh_pct, double *out)
{
    return sr_surface_temperature_at(t_c, rh_pct, 80, out);
}

static enum sr_rc (*const functions[])(double t_c, double rh_pct, double *out) = {
    sr_psychro_vapour_pressure,
    sr_psychro_vpd,
    sr_psychro_dew_point,
    sr_psychro_frost_point,
    sr_psychro_absolute_humidity,
    ratio,
    enthalpy,
    wet_bulb,
    at_15,
    margin_15,
    for_80,
};

static void nothing_is_said_of_impossible_air(void **state)
{
    static const double air[][2] = {
        {NAN, 50},       {20, NAN},    {INFINITY, 50}, {20, INFINITY}, {-INFINITY, 50},
        {20, -INFINITY}, {-60.01, 50}, {100.01, 50},   {20, -0.01},    {20, 105.01},
    };

    (void)state;
    for (size_t f = 0; f < COUNT(functions); f++) {
        for (size_t i = 0; i < COUNT(air); i++) {
            double out = UNTOUCHED;
            assert_int_equal(functions[f](air[i][0], air[i][1], &out), SR_RANGE);
            assert_near(out, UNTOUCHED, 0);
        }
    }
}

static void the_third_argument_is_looked_at_too(void **state)
{
    static const double bad[] = {NAN, INFINITY, -INFINITY, -61, 1e9};
    double out = UNTOUCHED;

    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++) {
        assert_int_equal(sr_psychro_surface_rh(20, 50, bad[i], &out), SR_RANGE);
        assert_int_equal(sr_surface_margin(20, 50, bad[i], &out), SR_RANGE);
        assert_int_equal(sr_surface_temperature_at(20, 50, bad[i], &out), SR_RANGE);
        assert_int_equal(sr_surface_factor(bad[i], 0, 10, &out), SR_RANGE);
        assert_int_equal(sr_surface_factor(20, bad[i], 10, &out), SR_RANGE);
        assert_int_equal(sr_surface_factor(20, 0, bad[i], &out), SR_RANGE);
        assert_int_equal(sr_mixture_ratio(20, 50, bad[i], &out), SR_RANGE);
        assert_int_equal(sr_mixture_enthalpy(20, 50, bad[i], &out), SR_RANGE);
        assert_int_equal(sr_mixture_wet_bulb(20, 50, bad[i], &out), SR_RANGE);
        assert_int_equal(sr_psychro_rh(20, bad[i], &out), SR_RANGE);
        assert_int_equal(sr_psychro_rh(bad[i], 1000, &out), SR_RANGE);
    }
    assert_int_equal(sr_psychro_svp_water(NAN, &out), SR_RANGE);
    assert_int_equal(sr_psychro_svp_ice(0.011, &out), SR_RANGE);
    assert_int_equal(sr_psychro_svp_slope(INFINITY, &out), SR_RANGE);
    assert_int_equal(sr_mixture_pressure_at(NAN, &out), SR_RANGE);
    assert_int_equal(sr_mixture_pressure_at(6000, &out), SR_RANGE);
    assert_near(out, UNTOUCHED, 0);
}

static void some_air_has_no_such_point(void **state)
{
    double out = UNTOUCHED;

    (void)state;
    assert_int_equal(sr_psychro_dew_point(20, 0, &out), SR_RANGE);
    assert_int_equal(sr_psychro_dew_point(20, 0.01, &out), SR_NO_SOLUTION); /* below -60 degC */
    assert_int_equal(sr_psychro_dew_point(20, 1e-300, &out), SR_NO_SOLUTION);
    assert_int_equal(sr_psychro_frost_point(20, 50, &out), SR_NO_SOLUTION); /* dew, not frost */
    assert_int_equal(sr_psychro_frost_point(20, 1e-300, &out), SR_NO_SOLUTION);
    assert_int_equal(sr_mixture_ratio(100, 100, 90000, &out), SR_NO_SOLUTION); /* it boils */
    assert_int_equal(sr_surface_factor(20, 15.1, 18, &out), SR_NO_SOLUTION);
    assert_int_equal(sr_surface_temperature_at(100, 100, 10, &out), SR_NO_SOLUTION);
    assert_near(out, UNTOUCHED, 0);
}

static void a_little_above_saturation_is_saturation(void **state)
{
    double at, above;

    (void)state;
    for (size_t f = 0; f < COUNT(functions); f++) {
        const double t = functions[f] == sr_psychro_frost_point ? -5 : 20;
        OK(functions[f](t, 100, &at));
        OK(functions[f](t, 103, &above));
        assert_near(above, at, 1e-9);
    }
}

/* Each of these rises with humidity at every temperature, but the deficit and the margin fall. */
static void all_quantities_follow_humidity_one_way(void **state)
{
    (void)state;
    for (size_t f = 0; f < COUNT(functions); f++) {
        const bool falls = functions[f] == sr_psychro_vpd || functions[f] == margin_15;
        for (double t = -30; t <= 60; t += 7.5) {
            double last = NAN, now;
            for (double rh = 1; rh <= 100; rh += 0.5) {
                if (functions[f](t, rh, &now) != SR_OK)
                    continue;
                if (!isnan(last))
                    /* Over air saturated for ice the wet bulb stays at the air's temperature. */
                    assert_true(functions[f] == wet_bulb ? now >= last - 1e-9
                                : falls                  ? now < last
                                                         : now > last);
                last = now;
            }
            assert_false(isnan(last) && functions[f] != sr_psychro_frost_point);
        }
    }
}

static void dew_point_takes_back_to_the_vapour(void **state)
{
    double e, dew, again, rh;

    (void)state;
    for (double t = -40; t <= 100; t += 3.7) {
        for (double h = 5; h < 100; h += 4.3) {
            OK(sr_psychro_vapour_pressure(t, h, &e));
            if (sr_psychro_dew_point(t, h, &dew) != SR_OK)
                continue;
            assert_true(dew < t);
            OK(sr_psychro_svp_water(dew, &again));
            assert_near(again / e, 1, 1e-10); /* 1e-9 K */
            OK(sr_psychro_rh(t, e, &rh));
            assert_near(rh, h, 1e-10);
        }
    }
}

static void frost_point_takes_back_to_the_vapour(void **state)
{
    double e, frost, again;
    int found = 0;

    (void)state;
    for (double t = -60; t <= 40; t += 1.3) {
        for (double h = 0.5; h <= 100; h += 3.1) {
            if (sr_psychro_frost_point(t, h, &frost) != SR_OK)
                continue;
            OK(sr_psychro_vapour_pressure(t, h, &e));
            OK(sr_psychro_svp_ice(frost, &again));
            assert_near(again / e, 1, 1e-10);
            found++;
        }
    }
    assert_true(found > 1000);
}

static void wet_bulb_lies_between_dew_point_and_air(void **state)
{
    double dew, wet;

    (void)state;
    for (double t = -40; t <= 60; t += 2.3) {
        for (double h = 3; h <= 100; h += 4.9) {
            if (sr_mixture_wet_bulb(t, h, 95000, &wet) != SR_OK)
                continue;
            OK(sr_psychro_dew_point(t, h, &dew));
            assert_true(wet >= dew - 1e-9 && wet <= t + 1e-9);
        }
    }
}

static void a_surface_at_the_limit_has_the_limit(void **state)
{
    double ts, rh, margin;

    (void)state;
    for (double h = 10; h <= 100; h += 10) {
        for (double limit = 30; limit <= 100; limit += 10) {
            OK(sr_surface_temperature_at(22, h, limit, &ts));
            OK(sr_psychro_surface_rh(22, h, ts, &rh));
            assert_near(rh, limit, 1e-8);
        }
        OK(sr_surface_temperature_at(22, h, 100, &ts));
        if (ts > 0) {
            OK(sr_surface_margin(22, h, ts, &margin));
            assert_near(margin, 0, 1e-8);
        }
    }
}

/* Below 0 degC frost comes first, so the margin is smaller than to the dew point. */
static void a_freezing_surface_is_judged_by_frost(void **state)
{
    double margin, dew;

    (void)state;
    OK(sr_surface_margin(5, 50, -3, &margin));
    OK(sr_psychro_dew_point(5, 50, &dew));
    assert_near(margin, -3 + 4.033, 0.001); /* frost point of 5 degC, 50 %, recomputed */
    assert_true(margin < -3 - dew);
    OK(sr_surface_margin(20, 60, -3, &margin)); /* so damp that it wets the surface */
    assert_near(margin, -3 - 12.008, 0.001);
}

static void uncertainty_refuses_and_grows(void **state)
{
    struct sr_uncertainty_input in = {.t_c = 20,
                                      .rh_pct = 50,
                                      .ts_c = 12,
                                      .p_pa = 101325,
                                      .rh_limit_pct = 80,
                                      .u_t_k = 0.3,
                                      .u_rh_pct = 2};
    struct sr_uncertainty u = {.u = UNTOUCHED};

    (void)state;
    in.u_t_k = NAN;
    assert_int_equal(sr_uncertainty_of(SR_UNCERTAINTY_DEW_POINT, &in, &u), SR_RANGE);
    in.u_t_k = -1;
    assert_int_equal(sr_uncertainty_of(SR_UNCERTAINTY_DEW_POINT, &in, &u), SR_RANGE);
    in.u_t_k = INFINITY;
    assert_int_equal(sr_uncertainty_of(SR_UNCERTAINTY_DEW_POINT, &in, &u), SR_RANGE);
    in.u_t_k = 0.3;
    assert_int_equal(sr_uncertainty_of((enum sr_uncertainty_quantity)99, &in, &u), SR_RANGE);
    assert_int_equal(sr_uncertainty_of(SR_UNCERTAINTY_FROST_POINT, &in, &u), SR_NO_SOLUTION);
    assert_int_equal(sr_uncertainty_of_limit(NAN, &u.value), SR_RANGE);
    assert_int_equal(sr_uncertainty_of_limit(-1, &u.value), SR_RANGE);
    assert_near(u.u, UNTOUCHED, 0);

    for (int q = 0; q <= SR_UNCERTAINTY_SURFACE_FACTOR; q++) {
        if (q == SR_UNCERTAINTY_FROST_POINT)
            continue;
        const enum sr_uncertainty_quantity quantity = (enum sr_uncertainty_quantity)q;
        struct sr_uncertainty more, none;
        struct sr_uncertainty_input twice = in, exact = in;
        twice.u_t_k *= 2;
        twice.u_rh_pct *= 2;
        exact.u_t_k = exact.u_rh_pct = 0;
        OK(sr_uncertainty_of(quantity, &in, &u));
        OK(sr_uncertainty_of(quantity, &twice, &more));
        OK(sr_uncertainty_of(quantity, &exact, &none));
        assert_true(u.u > 0);
        assert_near(more.u, 2 * u.u, 1e-12 * u.u);
        assert_near(none.u, 0, 0);
    }
}

static void uncertainty_holds_at_the_edges(void **state)
{
    struct sr_uncertainty_input in = {.t_c = 20, .rh_pct = 100, .u_t_k = 0.3, .u_rh_pct = 2};
    struct sr_uncertainty u;

    (void)state;
    OK(sr_uncertainty_of(SR_UNCERTAINTY_DEW_POINT, &in, &u));
    assert_near(u.per_t_k, 1, 1e-3);
    assert_true(u.per_rh_pct > 0.15); /* from below: not the half of a two-sided one */
    in.rh_pct = 0;
    OK(sr_uncertainty_of(SR_UNCERTAINTY_VAPOUR_PRESSURE, &in, &u));
    assert_near(u.per_rh_pct, 23.388, 0.001); /* svp / 100 */
    in.t_c = SR_PSYCHRO_T_MAX_C;
    in.rh_pct = 10;
    OK(sr_uncertainty_of(SR_UNCERTAINTY_VAPOUR_PRESSURE, &in, &u));
    assert_true(u.per_t_k > 0);
}

/* 5 degC and 80 % warmed to 20 degC is 29.84 %: nothing was added. */
static void warming_alone_is_told_from_added_vapour(void **state)
{
    const struct sr_air cold = {5, 80, 0.1, 0.5};
    const struct sr_air warm = {20, 29.84, 0.1, 0.5};
    const struct sr_air damp = {20, 45, 0.1, 0.5};
    struct sr_air_change c;

    (void)state;
    OK(sr_air_changed(&cold, &warm, &c));
    assert_int_equal(c.cause, SR_AIR_TEMPERATURE_ONLY);
    assert_near(c.by_temperature_pct, 29.84 - 80, 0.006);
    assert_near(c.by_vapour_pct, 0, 0.006);
    OK(sr_air_changed(&cold, &damp, &c));
    assert_int_equal(c.cause, SR_AIR_VAPOUR_ADDED);
    assert_near(c.by_temperature_pct + c.by_vapour_pct, 45 - 80, 1e-9);
    OK(sr_air_changed(&damp, &warm, &c));
    assert_int_equal(c.cause, SR_AIR_VAPOUR_REMOVED);
    const struct sr_air soaked = {20, 103, 0.1, 0.5}, full = {20, 100, 0.1, 0.5};
    OK(sr_air_changed(&soaked, &full, &c)); /* both are saturated: nothing moved */
    assert_near(c.by_temperature_pct, 0, 1e-9);
    assert_near(c.by_vapour_pct, 0, 1e-9);
    OK(sr_air_changed(&full, &soaked, &c));
    assert_near(c.by_vapour_pct, 0, 1e-9);
    OK(sr_air_changed(&damp, &damp, &c));
    assert_int_equal(c.cause, SR_AIR_STEADY);
    assert_near(c.vapour_pa, 0, 0);
}

static void a_window_is_judged_by_vapour_and_not_by_humidity(void **state)
{
    const struct sr_air room = {20, 60, 0.2, 1};
    const struct sr_air winter = {2, 95, 0.2, 1};
    const struct sr_air muggy = {30, 50, 0.2, 1};
    struct sr_air_window w;

    (void)state;
    OK(sr_air_window(&room, &winter, &w));
    assert_int_equal(w.exchange, SR_AIR_DRIES); /* although it reads 95 % */
    assert_true(w.rh_warmed_pct < 35);
    assert_near(w.carried_g_m3, w.vapour_pa * 1000 / (461.52 * 293.15), 1e-9); /* gas law */
    assert_true(w.rh_peak_pct >= 95); /* the room passes through damper air while it cools */
    OK(sr_air_window(&room, &muggy, &w));
    assert_int_equal(w.exchange, SR_AIR_DAMPENS); /* although it reads 50 % */
    assert_true(w.carried_g_m3 > 0);
    assert_near(w.outdoor_dew_c, 18.447, 0.001); /* dew point grid, recomputed */
    OK(sr_air_window(&room, &room, &w));
    assert_int_equal(w.exchange, SR_AIR_NO_DIFFERENCE);
    assert_near(w.rh_warmed_pct, 60, 1e-9);
}

static void air_questions_refuse_bad_air(void **state)
{
    const struct sr_air good = {20, 50, 0.2, 1};
    const struct sr_air bad[] = {{NAN, 50, 0, 0}, {20, 0, 0, 0},   {20, 50, NAN, 0},
                                 {20, 50, 0, -1}, {20, 120, 0, 0}, {INFINITY, 50, 0, 0}};
    struct sr_air_change c = {.vapour_pa = UNTOUCHED};
    struct sr_air_window w = {.vapour_pa = UNTOUCHED};

    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++) {
        assert_int_equal(sr_air_changed(&good, &bad[i], &c), SR_RANGE);
        assert_int_equal(sr_air_changed(&bad[i], &good, &c), SR_RANGE);
        assert_int_equal(sr_air_window(&good, &bad[i], &w), SR_RANGE);
        assert_int_equal(sr_air_window(&bad[i], &good, &w), SR_RANGE);
    }
    assert_near(c.vapour_pa, UNTOUCHED, 0);
    assert_near(w.vapour_pa, UNTOUCHED, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_said_of_impossible_air),
        cmocka_unit_test(the_third_argument_is_looked_at_too),
        cmocka_unit_test(some_air_has_no_such_point),
        cmocka_unit_test(a_little_above_saturation_is_saturation),
        cmocka_unit_test(all_quantities_follow_humidity_one_way),
        cmocka_unit_test(dew_point_takes_back_to_the_vapour),
        cmocka_unit_test(frost_point_takes_back_to_the_vapour),
        cmocka_unit_test(wet_bulb_lies_between_dew_point_and_air),
        cmocka_unit_test(a_surface_at_the_limit_has_the_limit),
        cmocka_unit_test(a_freezing_surface_is_judged_by_frost),
        cmocka_unit_test(uncertainty_refuses_and_grows),
        cmocka_unit_test(uncertainty_holds_at_the_edges),
        cmocka_unit_test(warming_alone_is_told_from_added_vapour),
        cmocka_unit_test(a_window_is_judged_by_vapour_and_not_by_humidity),
        cmocka_unit_test(air_questions_refuse_bad_air),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
