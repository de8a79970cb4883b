/* test_drying.c - drying potential and the two bounds of evaporation from a wet surface.
 *
 * Source: ratio of vapour pressure deficits; heat balance at the wet bulb, and mass transfer
 * by the Lewis relation. Calculated from these formulas apart from this library; the heat
 * transfer coefficient of still air is from memory. */
#include "stillroom/drying.h"
#include "stillroom/psychro.h"

#include "support/near.h"

static void drying_potential_is_a_ratio_of_deficits(void **state)
{
    (void)state;
    static const struct {
        double t_c, rh_pct, want;
    } rows[] = {
        {20, 50, 1.0}, {20, 70, 0.600}, {15, 65, 0.510}, {25, 40, 1.626}, {20, 35, 1.300}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double got;
        assert_int_equal(sr_drying_potential(rows[i].t_c, rows[i].rh_pct, &got), SR_OK);
        assert_near(got, rows[i].want, 0.0006);
    }
}

static void evaporation_lies_between_two_bounds(void **state)
{
    (void)state;
    static const struct {
        double t_c, rh_pct, wet_c, adiabatic, isothermal;
    } rows[] = {{20, 50, 13.784, 27.20, 85.19},
                {20, 70, 16.440, 15.61, 51.11},
                {25, 40, 16.210, 38.55, 136.20},
                {15, 65, 11.375, 15.82, 44.24}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sr_drying_rates got;
        assert_int_equal(sr_drying_evaporation(rows[i].t_c, rows[i].rh_pct, 101325,
                                               SR_DRYING_STILL_AIR_W_M2_K, &got),
                         SR_OK);
        assert_near(got.wet_bulb_c, rows[i].wet_c, 0.001);
        assert_near(got.adiabatic_g_m2_h, rows[i].adiabatic, 0.006);
        assert_near(got.isothermal_g_m2_h, rows[i].isothermal, 0.006);
        assert_near(got.cooling_k, rows[i].t_c - rows[i].wet_c, 0.001);
    }
}

/* The constants of the two balances, closer than the table: 2501 - 2.361 Tw kJ/kg, 1207
 * J/(m3 K), Lewis number 0.865; 3 W/(m2 K) then give 0.002737 m/s. */
static void the_constants_are_those_of_the_balances(void **state)
{
    (void)state;
    struct sr_drying_rates got;
    assert_int_equal(sr_drying_evaporation(20, 50, 101325, 3.0, &got), SR_OK);
    double latent = 3600 * 3.0 * got.cooling_k / got.adiabatic_g_m2_h;
    assert_near(latent, 2501 - 2.361 * got.wet_bulb_c, 1e-9);
    assert_int_equal(sr_drying_evaporation(40, 20, 101325, 3.0, &got), SR_OK);
    latent = 3600 * 3.0 * got.cooling_k / got.adiabatic_g_m2_h;
    assert_near(latent, 2501 - 2.361 * got.wet_bulb_c, 1e-9);
    /* What is missing in the air, by the absolute humidities that test_moist_air.c holds. */
    double full, held;
    assert_int_equal(sr_psychro_absolute_humidity(20, 100, &full), SR_OK);
    assert_int_equal(sr_psychro_absolute_humidity(20, 50, &held), SR_OK);
    assert_int_equal(sr_drying_evaporation(20, 50, 101325, 3.0, &got), SR_OK);
    double missing = full - held;
    assert_near(got.isothermal_g_m2_h / (3600 * missing),
                3.0 / (1207.0 * pow(0.865, 2.0 / 3.0)), 1e-15);
    assert_near(got.isothermal_g_m2_h / (3600 * missing), 0.002737, 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(drying_potential_is_a_ratio_of_deficits),
        cmocka_unit_test(evaporation_lies_between_two_bounds),
        cmocka_unit_test(the_constants_are_those_of_the_balances),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
