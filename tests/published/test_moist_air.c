/* test_moist_air.c - the moist-air formulas against published values.
 *
 * Saturation pressure: Hyland & Wexler (1983) as in ASHRAE Fundamentals ch. 1, and the values of
 * IAPWS-IF97 and IAPWS R14-08. The grids were recomputed from the published formulas by programs
 * of their own (Python, and a general-purpose JavaScript library of ASHRAE's equations).
 */
#include "support/near.h"

#include "stillroom/mixture.h"
#include "stillroom/psychro.h"
#include "stillroom/surface.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define OK(call) assert_int_equal((call), SR_OK)

/* t, water, ice, IAPWS water (ice where the sheet has no water); 0 = none */
static void saturation_pressure_is_hyland_wexler_and_near_iapws(void **state)
{
    static const struct {
        double t_c, water_pa, ice_pa, iapws_water_pa, iapws_ice_pa;
    } rows[] = {
        {-20, 125.629, 103.260, 0, 103.239},
        {-10, 286.564, 259.903, 0, 259.874},
        {0, 611.213, 611.154, 611.213, 611.154},
        {0.01, 611.657, 611.657, 611.657, 611.657},
        {5, 872.487, 0, 872.575, 0},
        {10, 1227.995, 0, 1228.184, 0},
        {20, 2338.804, 0, 2339.215, 0},
        {25, 3169.217, 0, 3169.747, 0},
        {30, 4246.030, 0, 4246.688, 0},
        {40, 7383.460, 0, 7384.428, 0},
        {50, 12349.856, 0, 12351.270, 0},
    };
    double p;

    (void)state;
    /* The two curves meet at the triple point, and above it there is no ice. */
    assert_int_equal(sr_psychro_svp_ice(0.015, &p), SR_RANGE);
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_psychro_svp_water(rows[i].t_c, &p));
        assert_near(p, rows[i].water_pa, 0.0006);
        if (rows[i].iapws_water_pa > 0)
            assert_near(p / rows[i].iapws_water_pa, 1.0, 3e-4);
        if (rows[i].ice_pa > 0) {
            OK(sr_psychro_svp_ice(rows[i].t_c, &p));
            assert_near(p, rows[i].ice_pa, 0.0006);
            assert_near(p / rows[i].iapws_ice_pa, 1.0, 3e-4);
        }
    }
}

static const double grid_rh[] = {5, 20, 35, 50, 65, 80, 95};
static const struct {
    double t_c, dew_c[7];
} grid[] = {
    {-20, {-50.229, -37.285, -31.577, -27.777, -24.896, -22.563, -20.594}},
    {-10, {-42.723, -28.766, -22.586, -18.463, -15.332, -12.792, -10.648}},
    {0, {-35.321, -20.317, -13.644, -9.182, -5.789, -3.033, -0.704}},
    {5, {-31.660, -16.118, -9.192, -4.556, -1.026, 1.841, 4.267}},
    {10, {-28.024, -11.937, -4.753, 0.063, 3.731, 6.713, 9.237}},
    {15, {-24.414, -7.774, -0.326, 4.672, 8.482, 11.582, 14.206}},
    {20, {-20.829, -3.627, 4.089, 9.272, 13.227, 16.447, 19.175}},
    {25, {-17.271, 0.501, 8.491, 13.864, 17.967, 21.309, 24.142}},
    {30, {-13.738, 4.613, 12.880, 18.447, 22.701, 26.169, 29.109}},
    {40, {-6.748, 12.783, 21.621, 27.585, 32.151, 35.878, 39.041}},
    {50, {0.141, 20.884, 30.311, 36.688, 41.577, 45.574, 48.970}},
};

static void dew_point_grid_over_water(void **state)
{
    double d;

    (void)state;
    for (size_t i = 0; i < COUNT(grid); i++) {
        for (size_t j = 0; j < COUNT(grid_rh); j++) {
            OK(sr_psychro_dew_point(grid[i].t_c, grid_rh[j], &d));
            assert_near(d, grid[i].dew_c[j], 0.0006); /* the print's rounding */
        }
        OK(sr_psychro_dew_point(grid[i].t_c, 100, &d));
        assert_near(d, grid[i].t_c, 1e-6);
    }
}

static void frost_forms_before_dew(void **state)
{
    static const struct {
        double t_c, rh_pct, frost_c;
    } rows[] = {
        {20, 20, -3.209},   {5, 50, -4.033},   {0, 80, -2.682},
        {-10, 70, -12.885}, {10, 20, -10.636},
    };
    double frost, dew;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_psychro_frost_point(rows[i].t_c, rows[i].rh_pct, &frost));
        OK(sr_psychro_dew_point(rows[i].t_c, rows[i].rh_pct, &dew));
        assert_near(frost, rows[i].frost_c, 0.0006);
        assert_true(frost > dew);
    }
}

/* WMO-No. 8 convention (from memory): humidity is over water below freezing too. */
static void humidity_over_water_is_higher_over_ice(void **state)
{
    static const struct {
        double t_c, over_water, over_ice;
    } rows[] = {{-10, 70, 77.18}, {-5, 80, 84.00}};
    double e, ice;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_psychro_vapour_pressure(rows[i].t_c, rows[i].over_water, &e));
        OK(sr_psychro_svp_ice(rows[i].t_c, &ice));
        assert_near(100 * e / ice, rows[i].over_ice, 0.006);
    }
}

/* ASHRAE Fundamentals ch. 1 eqs for W, h, wet bulb; ideal gas for AH. Second figure: 80,000 Pa. */
static const struct {
    double t_c, rh_pct, e_pa, w_g_kg, w80_g_kg, h, h80, tw_c, tw80_c, ah_g_m3, vpd_pa;
} derived[] = {
    {20, 50, 1169.40, 7.2617, 9.2262, 38.552, 43.538, 13.784, 13.214, 8.643, 1169.40},
    {20, 30, 701.64, 4.3368, 5.5030, 31.128, 34.088, 10.853, 9.914, 5.186, 1637.16},
    {20, 70, 1637.16, 10.2141, 12.9937, 46.046, 53.101, 16.440, 16.147, 12.101, 701.64},
    {10, 80, 982.40, 6.0891, 7.7324, 25.402, 29.543, 8.290, 8.101, 7.518, 245.60},
    {25, 60, 1901.53, 11.8951, 15.1430, 55.453, 63.727, 19.471, 19.064, 13.819, 1267.69},
    {30, 40, 1698.41, 10.6028, 13.4904, 57.289, 64.672, 20.064, 19.346, 12.139, 2547.62},
    {5, 95, 828.86, 5.1296, 6.5113, 17.907, 21.375, 4.652, 4.609, 6.457, 43.62},
    {50, 30, 3704.96, 23.6046, 30.2022, 111.530, 128.645, 32.330, 31.547, 24.842, 8644.90},
    {-10, 70, 200.59, 1.2337, 0, -6.997, 0, -10.740, 0, 1.652, 85.97},
};

static void derived_quantities_at_two_pressures(void **state)
{
    double x;

    (void)state;
    for (size_t i = 0; i < COUNT(derived); i++) {
        const double t = derived[i].t_c, rh = derived[i].rh_pct;
        OK(sr_psychro_vapour_pressure(t, rh, &x));
        assert_near(x, derived[i].e_pa, 0.006);
        OK(sr_psychro_absolute_humidity(t, rh, &x));
        assert_near(x, derived[i].ah_g_m3, 0.0006);
        OK(sr_psychro_vpd(t, rh, &x));
        assert_near(x, derived[i].vpd_pa, 0.006);
        OK(sr_mixture_ratio(t, rh, 101325, &x));
        assert_near(1000 * x, derived[i].w_g_kg, 0.00006);
        OK(sr_mixture_enthalpy(t, rh, 101325, &x));
        assert_near(x, derived[i].h, 0.0006);
        OK(sr_mixture_wet_bulb(t, rh, 101325, &x));
        assert_near(x, derived[i].tw_c, 0.0006);
        if (derived[i].w80_g_kg > 0) {
            OK(sr_mixture_ratio(t, rh, 80000, &x));
            assert_near(1000 * x, derived[i].w80_g_kg, 0.00006);
            OK(sr_mixture_enthalpy(t, rh, 80000, &x));
            assert_near(x, derived[i].h80, 0.0006);
            OK(sr_mixture_wet_bulb(t, rh, 80000, &x));
            assert_near(x, derived[i].tw80_c, 0.0006);
        }
    }
}

static void saturated_air_holds_so_much_water(void **state)
{
    static const double rows[][2] = {{0, 4.848}, {10, 9.397}, {20, 17.287}, {30, 30.348}};
    double x;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_psychro_absolute_humidity(rows[i][0], 100, &x));
        assert_near(x, rows[i][1], 0.0006);
    }
}

static void surfaces_are_damper_than_the_air(void **state)
{
    static const struct {
        double t_c, rh_pct, ts_c, rhs_pct, margin_k, tolerance_k;
    } rows[] = {
        {20, 60, 13, 93.69, 0.99, 0.006},
        {22, 55, 16, 79.99, 3.45, 0.006},
        {18, 65, 14, 83.93, 2.67, 0.006},
        {15, 80, 12, 97.27, 0.42, 0.006},
    };
    double x;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_psychro_surface_rh(rows[i].t_c, rows[i].rh_pct, rows[i].ts_c, &x));
        assert_near(x, rows[i].rhs_pct, 0.006);
        OK(sr_surface_margin(rows[i].t_c, rows[i].rh_pct, rows[i].ts_c, &x));
        assert_near(x, rows[i].margin_k, rows[i].tolerance_k);
    }
    OK(sr_psychro_dew_point(20, 60, &x));
    assert_near(x, 12.008, 0.0006);
}

static void air_warmed_or_cooled_keeps_its_vapour(void **state)
{
    static const double rows[][4] = {
        {5, 80, 20, 29.84}, {0, 90, 20, 23.52}, {20, 50, 10, 95.23}};
    double x;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_psychro_surface_rh(rows[i][0], rows[i][1], rows[i][2], &x));
        assert_near(x, rows[i][3], 0.006);
    }
}

/* ISO 13788 (from memory). */
static void surface_factor_and_surface_limits(void **state)
{
    static const double limits[][3] = {{20, 50, 12.628}, {20, 60, 15.437}, {18, 65, 14.741}};
    double x;

    (void)state;
    OK(sr_surface_factor(20, 0, 16, &x));
    assert_near(x, 0.800, 1e-9);
    OK(sr_surface_factor(21, -5, 14.5, &x));
    assert_near(x, 0.750, 1e-9);
    assert_int_equal(sr_surface_factor(20, 15.05, 18, &x), SR_NO_SOLUTION); /* at least 5 K */
    OK(sr_surface_factor(20, 14.95, 18, &x));
    for (size_t i = 0; i < COUNT(limits); i++) {
        OK(sr_surface_temperature_at(limits[i][0], limits[i][1], 80, &x));
        assert_near(x, limits[i][2], 0.0006);
    }
}

/* Project choice: a kelvin between the sensors is 6 % of the humidity, and two of 0.3 K with 2 %
 * make a margin uncertain by 0.7 K, so twice that is within the uncertainty. */
static void margins_too_small_to_tell(void **state)
{
    (void)state;
    assert_near(SR_SURFACE_UNSURE_K, 1.5, 1e-12);
}

/* Standard atmosphere, as in ASHRAE Fundamentals ch. 1. */
static void pressure_falls_with_altitude(void **state)
{
    double x;

    (void)state;
    OK(sr_mixture_pressure_at(0, &x));
    assert_near(x, 101325, 1e-9);
    OK(sr_mixture_pressure_at(500, &x));
    assert_near(x, 95461, 0.6);
    OK(sr_mixture_pressure_at(1500, &x));
    assert_near(x, 84556, 0.6);
}

/* Each pair tells the right answer from a common mistake's. */
static void common_mistakes_give_other_numbers(void **state)
{
    double x;

    (void)state;
    OK(sr_psychro_dew_point(20, 20, &x));
    assert_near(x, -3.627, 0.0006); /* over ice: -3.209 */
    OK(sr_psychro_vapour_pressure(-10, 70, &x));
    assert_near(x, 200.59, 0.006); /* over ice: 181.93 */
    OK(sr_psychro_svp_water(0, &x));
    assert_near(x, 611.213, 0.0006); /* a combined curve: 611.154 */
    OK(sr_psychro_dew_point(20, 50, &x));
    assert_near(x, 9.272, 0.0006); /* log10 for ln: 15.2 */
    OK(sr_psychro_absolute_humidity(20, 50, &x));
    assert_near(x, 8.643, 0.0006); /* degC for kelvin: 126.7 */
    OK(sr_mixture_ratio(20, 50, 80000, &x));
    assert_near(1000 * x, 9.2262, 0.00006); /* sea level: 7.2617 */
    OK(sr_psychro_surface_rh(18, 65, 14, &x));
    assert_near(x, 83.93, 0.006); /* the air's own: 65 */
    OK(sr_psychro_surface_rh(5, 80, 20, &x));
    assert_near(x, 29.84, 0.006); /* carried over as it is: 80 */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(saturation_pressure_is_hyland_wexler_and_near_iapws),
        cmocka_unit_test(dew_point_grid_over_water),
        cmocka_unit_test(frost_forms_before_dew),
        cmocka_unit_test(humidity_over_water_is_higher_over_ice),
        cmocka_unit_test(derived_quantities_at_two_pressures),
        cmocka_unit_test(saturated_air_holds_so_much_water),
        cmocka_unit_test(surfaces_are_damper_than_the_air),
        cmocka_unit_test(air_warmed_or_cooled_keeps_its_vapour),
        cmocka_unit_test(surface_factor_and_surface_limits),
        cmocka_unit_test(margins_too_small_to_tell),
        cmocka_unit_test(pressure_falls_with_altitude),
        cmocka_unit_test(common_mistakes_give_other_numbers),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
