/* test_uncertainty.c - propagation of sensor uncertainty, by the GUM (JCGM 100), independent
 * errors: slopes b(T)/b(Td) and 1/(RH b(Td)) with b = d ln pw/dT, recomputed from Hyland & Wexler.
 */
#include "support/near.h"

#include "stillroom/psychro.h"
#include "stillroom/uncertainty.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define OK(call) assert_int_equal((call), SR_OK)

static const struct {
    double t_c, rh_pct, per_k, per_pct, u_fair, u_poor, rh_per_k;
} rows[] = {
    {20, 50, 0.9192, 0.2968, 0.654, 0.909, -3.10},
    {20, 20, 0.8275, 0.6679, 1.359, 2.011, -1.24},
    {20, 80, 0.9728, 0.1963, 0.489, 0.620, -4.96},
    {10, 60, 0.9421, 0.2344, 0.547, 0.728, -4.02},
    {30, 40, 0.8909, 0.3880, 0.821, 1.178, -2.30},
};

static void dew_point_slopes_and_uncertainty(void **state)
{
    struct sr_uncertainty u;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct sr_uncertainty_input in = {
            .t_c = rows[i].t_c, .rh_pct = rows[i].rh_pct, .u_t_k = 0.3, .u_rh_pct = 2};
        OK(sr_uncertainty_of(SR_UNCERTAINTY_DEW_POINT, &in, &u));
        assert_near(u.per_t_k, rows[i].per_k, 0.0001);
        assert_near(u.per_rh_pct, rows[i].per_pct, 0.0001);
        assert_near(u.u, rows[i].u_fair, 0.002);
        in.u_t_k = 0.2;
        in.u_rh_pct = 3;
        OK(sr_uncertainty_of(SR_UNCERTAINTY_DEW_POINT, &in, &u));
        assert_near(u.u, rows[i].u_poor, 0.002);
    }
}

/* A Monte Carlo run of the same case gave 0.651. */
static void monte_carlo_agrees(void **state)
{
    const struct sr_uncertainty_input in = {
        .t_c = 20, .rh_pct = 50, .u_t_k = 0.3, .u_rh_pct = 2};
    struct sr_uncertainty u;

    (void)state;
    OK(sr_uncertainty_of(SR_UNCERTAINTY_DEW_POINT, &in, &u));
    assert_near(u.u, 0.651, 0.005);
}

/* Air alone moves by -RH b(T) a kelvin: -3.10 % at 20 degC and 50 %. */
static void humidity_moves_with_temperature_at_constant_vapour(void **state)
{
    struct sr_uncertainty u;
    double b;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct sr_uncertainty_input in = {
            .t_c = rows[i].t_c, .rh_pct = rows[i].rh_pct, .ts_c = rows[i].t_c};
        OK(sr_uncertainty_of(SR_UNCERTAINTY_SURFACE_RH, &in, &u));
        assert_near(u.per_ts_k, rows[i].rh_per_k, 0.006);
        OK(sr_psychro_svp_slope(rows[i].t_c, &b));
        assert_near(-rows[i].rh_pct * b, rows[i].rh_per_k, 0.006);
    }
}

/* A kelvin between the air's and the surface's sensor is about 6 % of the surface humidity. */
static void a_kelvin_between_two_sensors_is_six_percent(void **state)
{
    const struct sr_uncertainty_input in = {.t_c = 20, .rh_pct = 50, .ts_c = 15, .u_ts_k = 1};
    struct sr_uncertainty u;

    (void)state;
    OK(sr_uncertainty_of(SR_UNCERTAINTY_SURFACE_RH, &in, &u));
    assert_near(u.u / u.value, 0.06, 0.006);
}

/* fRsi (ISO 13788, from memory) by hand: d/dTs = 1/(Ti-Te), d/dTe = (Ts-Ti)/(Ti-Te)^2, d/dTi =
 * -(Ts-Te)/(Ti-Te)^2; and a humidity limit moves like a dew point, by b(T)/b(Ts). */
static void surface_factor_and_limit(void **state)
{
    const struct sr_uncertainty_input in = {.t_c = 20,
                                            .rh_pct = 50,
                                            .ts_c = 16,
                                            .outside_c = 0,
                                            .rh_limit_pct = 80,
                                            .u_t_k = 0.3,
                                            .u_rh_pct = 2,
                                            .u_ts_k = 0.3,
                                            .u_outside_k = 0.3};
    struct sr_uncertainty u;
    double b, b_surface;

    (void)state;
    OK(sr_uncertainty_of(SR_UNCERTAINTY_SURFACE_FACTOR, &in, &u));
    assert_near(u.value, 0.800, 1e-9);
    assert_near(u.per_ts_k, 1.0 / 20, 1e-6);
    assert_near(u.per_outside_k, -4.0 / 400, 1e-6);
    assert_near(u.per_t_k, -16.0 / 400, 1e-6);
    assert_near(u.per_rh_pct, 0, 0);
    assert_near(u.u, 0.3 * sqrt(0.05 * 0.05 + 0.01 * 0.01 + 0.04 * 0.04), 1e-6);
    OK(sr_uncertainty_of(SR_UNCERTAINTY_SURFACE_TEMPERATURE_AT, &in, &u));
    assert_near(u.value, 12.628, 0.0006);
    OK(sr_psychro_svp_slope(20, &b));
    OK(sr_psychro_svp_slope(u.value, &b_surface));
    assert_near(u.per_t_k, b / b_surface, 1e-5);
    assert_near(u.per_rh_pct, 1 / (50 * b_surface), 1e-5);
}

/* GUM 4.3.7: a rectangle of half-width a has the standard deviation a / sqrt 3. */
static void limits_are_rectangles(void **state)
{
    double u;

    (void)state;
    OK(sr_uncertainty_of_limit(3, &u));
    assert_near(u, 1.7320508, 1e-7);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(dew_point_slopes_and_uncertainty),
        cmocka_unit_test(monte_carlo_agrees),
        cmocka_unit_test(humidity_moves_with_temperature_at_constant_vapour),
        cmocka_unit_test(a_kelvin_between_two_sensors_is_six_percent),
        cmocka_unit_test(surface_factor_and_limit),
        cmocka_unit_test(limits_are_rectangles),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
