/* test_wood.c - equilibrium moisture and movement of wood against the USDA Wood Handbook and
 * Hoadley's table of panel woods. */
#include "support/near.h"

#include "stillroom/shrink.h"
#include "stillroom/wood.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define OK(call) assert_int_equal((call), SR_OK)

/* Wood Handbook (FPL-GTR-190/282), Table 4-2, rows for 70 and 50 degF as printed. */
static void printed_rows_of_the_handbook(void **state)
{
    static const struct {
        double t_c, emc_pct[19]; /* at 5, 10, ... 95 % */
    } rows[] = {
        {21.1,
         {1.3, 2.5, 3.5, 4.5, 5.4, 6.2, 6.9, 7.7, 8.5, 9.2, 10.1, 11.0, 12.0, 13.1, 14.4, 16.0,
          17.9, 20.5, 23.9}},
        {10.0,
         {1.4, 2.6, 3.6, 4.6, 5.5, 6.3, 7.1, 7.9, 8.7, 9.5, 10.3, 11.2, 12.3, 13.4, 14.8, 16.4,
          18.4, 20.9, 24.3}},
    };
    double m;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        for (int j = 0; j < 19; j++) {
            OK(sr_wood_emc(rows[i].t_c, 5.0 * (j + 1), &m));
            assert_near(m, rows[i].emc_pct[j], 0.06);
        }
    }
}

/* Eq. (4-5), degC form, recomputed by a program of its own. */
static void isotherm_grid(void **state)
{
    static const double rh[] = {5, 20, 35, 50, 65, 80, 95};
    static const struct {
        double t_c, emc_pct[7];
    } rows[] = {
        {0, {1.397, 4.614, 7.112, 9.519, 12.373, 16.533, 24.343}},
        {10, {1.362, 4.600, 7.096, 9.466, 12.267, 16.382, 24.272}},
        {20, {1.306, 4.507, 6.963, 9.271, 11.996, 16.037, 23.942}},
        {30, {1.232, 4.346, 6.738, 8.969, 11.605, 15.548, 23.407}},
        {40, {1.143, 4.131, 6.440, 8.587, 11.127, 14.953, 22.714}},
    };
    double m;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        for (size_t j = 0; j < COUNT(rh); j++) {
            OK(sr_wood_emc(rows[i].t_c, rh[j], &m));
            assert_near(m, rows[i].emc_pct[j], 0.0006);
        }
    }
}

static void humidity_at_which_wood_rests(void **state)
{
    static const double rows[][3] = {
        {20, 6, 28.815},  {20, 8, 41.829},  {20, 9, 48.300}, {20, 10, 54.408},
        {20, 12, 65.018}, {20, 16, 79.894}, {5, 12, 63.399}, {30, 12, 66.877},
    };
    double rh, m;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_wood_rh(rows[i][0], rows[i][1], &rh));
        assert_near(rh, rows[i][2], 0.0006);
    }
    /* Wood-buffered cases move by about +0.16 % RH a kelvin, not by -3.1 as air alone. */
    OK(sr_wood_emc(20, 50, &m));
    OK(sr_wood_rh(10, m, &rh));
    assert_near(rh, 48.814, 0.0006);
    OK(sr_wood_rh(30, m, &rh));
    assert_near(rh, 51.923, 0.0006);
}

static void slope_of_the_isotherm(void **state)
{
    static const double rows[][2] = {
        {30, 0.158}, {50, 0.161}, {60, 0.188}, {70, 0.243}, {80, 0.351}};
    double slope;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_wood_slope(20, rows[i][0], &slope));
        assert_near(slope, rows[i][1], 0.0006);
    }
}

static void common_mistakes_give_other_numbers(void **state)
{
    double m;

    (void)state;
    OK(sr_wood_emc(20, 50, &m));
    assert_near(m, 9.271, 0.0006); /* percent for fraction: 4.571; degF coefficients: 9.459 */
}

/* Wood Handbook, Table 13-5; the last three rows from memory. */
static void handbook_coefficients(void **state)
{
    static const struct {
        const char *key;
        double radial, tangential;
        bool from_memory;
    } rows[] = {
        {"basswood", 0.00230, 0.00330, false},
        {"american-beech", 0.00190, 0.00431, false},
        {"american-white-oak", 0.00180, 0.00365, false},
        {"black-walnut", 0.00190, 0.00274, false},
        {"yellow-poplar", 0.00158, 0.00289, false},
        {"red-alder", 0.00151, 0.00256, false},
        {"black-cherry", 0.00126, 0.00248, false},
        {"white-pine", 0.00071, 0.00212, true},
        {"sitka-spruce", 0.00148, 0.00263, true},
        {"swietenia-mahogany", 0.00172, 0.00238, true},
    };
    double c;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct sr_shrink_species *s = sr_shrink_find(rows[i].key);
        assert_non_null(s);
        assert_int_equal(s->from_memory, rows[i].from_memory);
        OK(sr_shrink_coefficient(s, SR_SHRINK_RADIAL, &c));
        assert_near(c, rows[i].radial, 1e-9);
        OK(sr_shrink_coefficient(s, SR_SHRINK_TANGENTIAL, &c));
        assert_near(c, rows[i].tangential, 1e-9);
    }
}

/* Wood Handbook: total shrinkage of Table 4-3 gives the coefficient of Table 13-5 to its last
 * printed digit. Eastern white pine and Sitka spruce from memory. */
static void coefficients_follow_from_total_shrinkage(void **state)
{
    static const struct {
        const char *key;
        double radial_pct, tangential_pct;
    } rows[] = {
        {"basswood", 6.6, 9.3},   {"american-beech", 5.5, 11.9}, {"black-walnut", 5.5, 7.8},
        {"red-alder", 4.4, 7.3},  {"yellow-poplar", 4.6, 8.2},   {"black-cherry", 3.7, 7.1},
        {"white-pine", 2.1, 6.1}, {"sitka-spruce", 4.3, 7.5},
    };
    double printed, worked_out, total;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct sr_shrink_species *s = sr_shrink_find(rows[i].key);
        assert_non_null(s);
        OK(sr_shrink_from_total(rows[i].radial_pct, &worked_out));
        OK(sr_shrink_coefficient(s, SR_SHRINK_RADIAL, &printed));
        assert_near(worked_out, printed, 5.1e-6);
        OK(sr_shrink_from_total(rows[i].tangential_pct, &worked_out));
        OK(sr_shrink_coefficient(s, SR_SHRINK_TANGENTIAL, &printed));
        assert_near(worked_out, printed, 5.1e-6);
        OK(sr_shrink_total(s, SR_SHRINK_TANGENTIAL, &total)); /* and back, to its rounding */
        assert_near(total, rows[i].tangential_pct, 0.05);
    }
}

/* Hoadley (1998), Table 1: total shrinkage; the coefficient over 30 % fibre saturation. */
static void panel_woods_of_europe(void **state)
{
    static const struct {
        const char *key;
        double t_pct, r_pct, t, r;
    } rows[] = {
        {"spruce", 7.4, 3.6, 0.00247, 0.00120}, {"scots-pine", 7.7, 4.0, 0.00257, 0.00133},
        {"lime", 9.5, 6.8, 0.00317, 0.00227},   {"poplar", 8.5, 3.4, 0.00283, 0.00113},
        {"walnut", 6.4, 4.3, 0.00213, 0.00143}, {"oak", 10.2, 5.2, 0.00340, 0.00173},
        {"beech", 11.8, 5.8, 0.00393, 0.00193}, {"mahogany", 5.1, 3.2, 0.00170, 0.00107},
    };
    double x;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct sr_shrink_species *s = sr_shrink_find(rows[i].key);
        assert_non_null(s);
        OK(sr_shrink_total(s, SR_SHRINK_TANGENTIAL, &x));
        assert_near(x, rows[i].t_pct, 1e-9);
        OK(sr_shrink_total(s, SR_SHRINK_RADIAL, &x));
        assert_near(x, rows[i].r_pct, 1e-9);
        OK(sr_shrink_coefficient(s, SR_SHRINK_TANGENTIAL, &x));
        assert_near(x, rows[i].t, 5.1e-6);
        OK(sr_shrink_coefficient(s, SR_SHRINK_RADIAL, &x));
        assert_near(x, rows[i].r, 5.1e-6);
    }
}

/* Recomputed from dD = D C (M2 - M1). */
static void boards_move_so_far(void **state)
{
    static const struct {
        const char *key;
        enum sr_shrink_cut cut;
        double width_mm, m1_pct, m2_pct, movement_mm;
    } rows[] = {
        {"american-beech", SR_SHRINK_TANGENTIAL, 100, 8, 12, 1.724},
        {"basswood", SR_SHRINK_TANGENTIAL, 300, 9.25, 12, 2.7225},
        {"american-white-oak", SR_SHRINK_RADIAL, 250, 6, 10, 1.800},
    };
    const struct sr_shrink_species *oak = sr_shrink_find("american-white-oak");
    double x, dry, damp;

    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        OK(sr_shrink_movement(sr_shrink_find(rows[i].key), rows[i].cut, rows[i].width_mm,
                              rows[i].m1_pct, rows[i].m2_pct, &x));
        assert_near(x, rows[i].movement_mm, 1e-9);
    }
    OK(sr_wood_emc(20, 45, &dry));
    OK(sr_wood_emc(20, 60, &damp));
    assert_near(dry, 8.485, 0.0006);
    assert_near(damp, 11.000, 0.0006);
    OK(sr_shrink_movement(oak, SR_SHRINK_TANGENTIAL, 300, dry, damp, &x));
    assert_near(x, 2.754, 0.0006);
}

/* Outside 6-14 % the handbook's linear rule: proportion of total shrinkage up to 30 %. */
static void beyond_the_coefficient_total_shrinkage_rules(void **state)
{
    const struct sr_shrink_species *beech = sr_shrink_find("beech");
    const struct sr_shrink_species *basswood = sr_shrink_find("basswood");
    double x, total;

    (void)state;
    OK(sr_shrink_movement(beech, SR_SHRINK_TANGENTIAL, 100, 30, 0, &x));
    assert_near(x, -11.8, 1e-9); /* green to oven-dry is the whole of it */
    OK(sr_shrink_movement(beech, SR_SHRINK_TANGENTIAL, 100, 80, 15, &x));
    assert_near(x, -5.9, 1e-9); /* above fibre saturation nothing moves */
    OK(sr_shrink_total(basswood, SR_SHRINK_RADIAL, &total));
    OK(sr_shrink_movement(basswood, SR_SHRINK_RADIAL, 100, 14.05, 10, &x));
    assert_near(x, -total * 4.05 / 30.0, 1e-9);
    OK(sr_shrink_movement(basswood, SR_SHRINK_RADIAL, 100, 5.95, 10, &x));
    assert_near(x, total * 4.05 / 30.0, 1e-9);
    OK(sr_shrink_movement(basswood, SR_SHRINK_RADIAL, 100, 6.0, 14.0, &x));
    assert_near(x, 1.84, 1e-9); /* both ends belong to the coefficient */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(printed_rows_of_the_handbook),
        cmocka_unit_test(isotherm_grid),
        cmocka_unit_test(humidity_at_which_wood_rests),
        cmocka_unit_test(slope_of_the_isotherm),
        cmocka_unit_test(common_mistakes_give_other_numbers),
        cmocka_unit_test(handbook_coefficients),
        cmocka_unit_test(coefficients_follow_from_total_shrinkage),
        cmocka_unit_test(panel_woods_of_europe),
        cmocka_unit_test(boards_move_so_far),
        cmocka_unit_test(beyond_the_coefficient_total_shrinkage_rules),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
