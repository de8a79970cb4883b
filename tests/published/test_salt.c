/* test_salt.c - saturated-salt fixed points: Greenspan (1977), J. Res. NBS 81A. */
#include "support/near.h"

#include "stillroom/salt.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define OK(call) assert_int_equal((call), SR_OK)

/* Recomputed from Greenspan's polynomials; the printed table (from memory) has the same course. */
static void fixed_points_from_5_to_50_degrees(void **state)
{
    static const struct {
        double t_c, rh_pct[SR_SALT_COUNT]; /* in the order of enum sr_salt; 0 = not valid */
    } rows[] = {
        {5, {11.27, 33.60, 43.14, 75.65, 87.67, 96.27, 98.48}},
        {10, {11.29, 33.48, 43.15, 75.68, 86.78, 95.96, 98.19}},
        {15, {11.31, 33.30, 43.15, 75.61, 85.92, 95.41, 97.89}},
        {20, {11.31, 33.07, 43.16, 75.48, 85.11, 94.62, 97.60}},
        {25, {11.30, 32.79, 43.17, 75.30, 84.35, 93.59, 97.30}},
        {30, {11.29, 32.45, 43.18, 75.09, 83.63, 92.31, 97.01}},
        {40, {11.22, 31.61, 0, 74.69, 82.32, 89.03, 96.42}},
        {50, {11.11, 30.55, 0, 74.43, 81.20, 84.79, 95.83}},
    };
    double rh;

    (void)state;
    OK(sr_salt_rh(SR_SALT_POTASSIUM_CARBONATE, 30, &rh)); /* Greenspan: 0-30 degC */
    assert_int_equal(sr_salt_rh(SR_SALT_POTASSIUM_CARBONATE, 30.05, &rh), SR_RANGE);
    for (size_t i = 0; i < COUNT(rows); i++) {
        for (int j = 0; j < SR_SALT_COUNT; j++) {
            const enum sr_rc rc = sr_salt_rh((enum sr_salt)j, rows[i].t_c, &rh);
            if (rows[i].rh_pct[j] > 0) {
                assert_int_equal(rc, SR_OK);
                assert_near(rh, rows[i].rh_pct[j], 0.006);
            } else {
                assert_int_equal(rc, SR_RANGE);
            }
        }
    }
}

/* The CRC Handbook's own fit, RH = A exp(B / T), tells the sign of the linear term. */
static void independent_fit_of_the_crc_handbook(void **state)
{
    double rh;

    (void)state;
    OK(sr_salt_rh(SR_SALT_LITHIUM_CHLORIDE, 25, &rh));
    assert_near(rh, 14.53 * exp(-75 / 298.15), 0.03); /* with a minus it were 10.89 */
    assert_near(rh, 11.30, 0.006);
    OK(sr_salt_rh(SR_SALT_POTASSIUM_SULPHATE, 25, &rh));
    assert_near(rh, 97.23, 0.1);
}

/* Standard uncertainties at 20-25 degC, from memory. */
static void uncertainty_of_the_points(void **state)
{
    static const double want[SR_SALT_COUNT] = {0.3, 0.2, 0, 0.1, 0.3, 0, 0.5};
    double u;

    (void)state;
    for (int i = 0; i < SR_SALT_COUNT; i++) {
        const enum sr_rc rc = sr_salt_uncertainty((enum sr_salt)i, &u);
        assert_int_equal(rc, want[i] > 0 ? SR_OK : SR_NO_SOLUTION);
        if (rc == SR_OK)
            assert_near(u, want[i], 1e-12);
    }
}

/* Magnesium and sodium chloride at 20 degC, recomputed. */
static void two_points_make_a_correction(void **state)
{
    struct sr_salt_correction c;
    double rh;

    (void)state;
    OK(sr_salt_two_point(35.1, 33.07, 73.2, 75.47, &c));
    assert_near(c.slope, 1.11286, 0.000006);
    assert_near(c.offset_pct, -5.9914, 0.00006);
    OK(sr_salt_correct(&c, 50.0, &rh));
    assert_near(rh, 49.652, 0.0006);
    OK(sr_salt_correct(&c, 99.0, &rh));
    assert_near(rh, 100.0, 1e-12);
    OK(sr_salt_correct(&c, 2.0, &rh));
    assert_near(rh, 0.0, 1e-12);
}

/* Project choice: at least 30 % apart, slope 0.8-1.25. */
static void poor_points_make_none(void **state)
{
    struct sr_salt_correction c = {9, 9};

    (void)state;
    assert_int_equal(sr_salt_two_point(40, 43.2, 70, 73.1, &c), SR_THIN);
    assert_int_equal(sr_salt_two_point(30, 33.1, 60, 75.5, &c), SR_NO_SOLUTION);
    assert_int_equal(sr_salt_two_point(20, 33.1, 80, 75.5, &c), SR_NO_SOLUTION);
    assert_int_equal(sr_salt_two_point(50, 33.1, 50, 75.5, &c), SR_NO_SOLUTION);
    assert_near(c.slope, 9, 1e-12);
    assert_int_equal(sr_salt_two_point(30, 33, 60, 62.95, &c), SR_THIN);
    OK(sr_salt_two_point(30, 33, 60, 63.05, &c));
    assert_int_equal(sr_salt_two_point(20, 30, 60, 61.9, &c), SR_NO_SOLUTION); /* 0.7975 */
    OK(sr_salt_two_point(20, 30, 60, 62.1, &c));                               /* 0.8025 */
    OK(sr_salt_two_point(20, 20, 60, 69.9, &c));                               /* 1.2475 */
    assert_int_equal(sr_salt_two_point(20, 20, 60, 70.1, &c), SR_NO_SOLUTION); /* 1.2525 */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fixed_points_from_5_to_50_degrees),
        cmocka_unit_test(independent_fit_of_the_crc_handbook),
        cmocka_unit_test(uncertainty_of_the_points),
        cmocka_unit_test(two_points_make_a_correction),
        cmocka_unit_test(poor_points_make_none),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
