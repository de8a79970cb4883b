/* test_lib_wood.c - wood, boards and salts: what is refused, and what must always hold. */
#include <stdbool.h>
#include <string.h>

#include "support/near.h"

#include "stillroom/board.h"
#include "stillroom/board_run.h"
#include "stillroom/salt.h"
#include "stillroom/shrink.h"
#include "stillroom/slab.h"
#include "stillroom/wood.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define OK(call) assert_int_equal((call), SR_OK)
#define UNTOUCHED 4711.0

static const struct sr_board_spec plain = {
    .thickness_m = 0.02, .open_faces = 2, .d_m2_s = 1e-10};

static void isotherm_refuses_what_it_does_not_know(void **state)
{
    static const double air[][2] = {{NAN, 50},  {20, NAN},   {INFINITY, 50}, {20, -INFINITY},
                                    {-1.1, 50}, {130.1, 50}, {20, -0.1},     {20, 99.1}};
    double out = UNTOUCHED;

    (void)state;
    for (size_t i = 0; i < COUNT(air); i++) {
        assert_int_equal(sr_wood_emc(air[i][0], air[i][1], &out), SR_RANGE);
        assert_int_equal(sr_wood_slope(air[i][0], air[i][1], &out), SR_RANGE);
    }
    assert_int_equal(sr_wood_rh(NAN, 9, &out), SR_RANGE);
    assert_int_equal(sr_wood_rh(20, NAN, &out), SR_RANGE);
    assert_int_equal(sr_wood_rh(20, -1, &out), SR_RANGE);
    assert_int_equal(sr_wood_rh(20, INFINITY, &out), SR_RANGE);
    assert_int_equal(sr_wood_rh(20, 60, &out),
                     SR_NO_SOLUTION); /* wetter than air can make it */
    assert_near(out, UNTOUCHED, 0);
}

static void isotherm_rises_and_has_an_inverse_and_a_slope(void **state)
{
    double m, back, slope, below, above;

    (void)state;
    for (double t = -1; t <= 130; t += 6.55) {
        double last = -1;
        for (double rh = 0; rh <= 99; rh += 0.75) {
            OK(sr_wood_emc(t, rh, &m));
            assert_true(m > last);
            last = m;
            OK(sr_wood_rh(t, m, &back));
            assert_near(back, rh, 1e-8);
            if (rh > 0.5 && rh < 98.5) {
                OK(sr_wood_slope(t, rh, &slope));
                OK(sr_wood_emc(t, rh - 1e-4, &below));
                OK(sr_wood_emc(t, rh + 1e-4, &above));
                assert_near(slope, (above - below) / 2e-4, 1e-5 * slope);
            }
        }
    }
}

static void shrinkage_refuses_and_lists(void **state)
{
    const struct sr_shrink_species *oak = sr_shrink_find("oak");
    const struct sr_shrink_species odd = {"odd", "odd", SR_SHRINK_HANDBOOK, false, NAN, 0.5};
    double out = UNTOUCHED;
    size_t n = 0;

    (void)state;
    assert_null(sr_shrink_find("teak of the moon"));
    while (sr_shrink_species(n) != NULL) {
        const struct sr_shrink_species *s = sr_shrink_species(n);
        assert_ptr_equal(sr_shrink_find(s->key), s);
        assert_null(strpbrk(s->key, " ABCDEFGHIJKLMNOPQRSTUVWXYZ"));
        assert_true(s->tangential > s->radial);
        n++;
    }
    assert_true(n >= 18);
    assert_null(sr_shrink_species(SIZE_MAX));
    assert_int_equal(sr_shrink_movement(oak, SR_SHRINK_RADIAL, NAN, 8, 9, &out), SR_RANGE);
    assert_int_equal(sr_shrink_movement(oak, SR_SHRINK_RADIAL, -1, 8, 9, &out), SR_RANGE);
    assert_int_equal(sr_shrink_movement(oak, SR_SHRINK_RADIAL, 100, NAN, 9, &out), SR_RANGE);
    assert_int_equal(sr_shrink_movement(oak, SR_SHRINK_RADIAL, 100, 8, INFINITY, &out),
                     SR_RANGE);
    assert_int_equal(sr_shrink_movement(oak, (enum sr_shrink_cut)7, 100, 8, 9, &out), SR_RANGE);
    assert_int_equal(sr_shrink_coefficient(&odd, SR_SHRINK_RADIAL, &out), SR_RANGE);
    assert_int_equal(sr_shrink_total(&odd, SR_SHRINK_TANGENTIAL, &out), SR_RANGE);
    assert_int_equal(sr_shrink_from_total(0, &out), SR_RANGE);
    assert_int_equal(sr_shrink_from_total(NAN, &out), SR_RANGE);
    assert_near(out, UNTOUCHED, 0);
}

static void movement_there_and_back_is_none(void **state)
{
    double there, back;

    (void)state;
    for (size_t i = 0; sr_shrink_species(i) != NULL; i++) {
        for (double m = 0; m < 40; m += 1.7) {
            OK(sr_shrink_movement(sr_shrink_species(i), SR_SHRINK_RADIAL, 400, m, 9, &there));
            OK(sr_shrink_movement(sr_shrink_species(i), SR_SHRINK_RADIAL, 400, 9, m, &back));
            assert_near(there + back, 0, 0);
        }
    }
}

static void salts_refuse_what_they_do_not_know(void **state)
{
    struct sr_salt_correction c = {1, 0};
    double out = UNTOUCHED;

    (void)state;
    assert_int_equal(sr_salt_rh((enum sr_salt)99, 20, &out), SR_RANGE);
    assert_int_equal(sr_salt_rh(SR_SALT_SODIUM_CHLORIDE, NAN, &out), SR_RANGE);
    assert_int_equal(sr_salt_rh(SR_SALT_SODIUM_CHLORIDE, 50.1, &out), SR_RANGE);
    assert_int_equal(sr_salt_rh(SR_SALT_POTASSIUM_CARBONATE, 30.1, &out), SR_RANGE);
    assert_int_equal(sr_salt_uncertainty((enum sr_salt)99, &out), SR_RANGE);
    assert_int_equal(sr_salt_two_point(NAN, 33, 73, 75, &c), SR_RANGE);
    assert_int_equal(sr_salt_two_point(35, 33, 73, 101, &c), SR_RANGE);
    assert_int_equal(sr_salt_correct(&c, NAN, &out), SR_RANGE);
    assert_int_equal(sr_salt_correct(&c, 121, &out), SR_RANGE);
    c.slope = NAN;
    assert_int_equal(sr_salt_correct(&c, 50, &out), SR_RANGE);
    assert_near(out, UNTOUCHED, 0);
    assert_null(sr_salt_name((enum sr_salt)99));
    for (int i = 0; i < SR_SALT_COUNT; i++)
        assert_non_null(sr_salt_name((enum sr_salt)i));
}

static void slab_refuses_what_it_does_not_know(void **state)
{
    double out = UNTOUCHED;

    (void)state;
    assert_int_equal(sr_slab_mean(NAN, &out), SR_RANGE);
    assert_int_equal(sr_slab_mean(-1, &out), SR_RANGE);
    assert_int_equal(sr_slab_centre(INFINITY, &out), SR_RANGE);
    assert_int_equal(sr_slab_fo_for_mean(1, &out), SR_RANGE);
    assert_int_equal(sr_slab_fo_for_mean(NAN, &out), SR_RANGE);
    assert_int_equal(sr_slab_fo_for_centre(-0.1, &out), SR_RANGE);
    assert_int_equal(sr_slab_fo_for_centre(1 - 1e-14, &out), SR_NO_SOLUTION);
    assert_int_equal(sr_slab_root(0, 1, &out), SR_RANGE);
    assert_int_equal(sr_slab_root(1, 0, &out), SR_RANGE);
    assert_int_equal(sr_slab_mean_resisted(NAN, 0.1, &out), SR_RANGE);
    assert_int_equal(sr_slab_mean_resisted(1, 1e-6, &out), SR_RANGE);
    assert_int_equal(sr_slab_response_s(0.02, 3, 1e-10, 0.5, &out), SR_RANGE);
    assert_int_equal(sr_slab_response_s(NAN, 2, 1e-10, 0.5, &out), SR_RANGE);
    assert_int_equal(sr_slab_response_s(0.02, 2, 0, 0.5, &out), SR_RANGE);
    assert_int_equal(sr_slab_gain(0.02, 2, 1e-10, 0, &out), SR_RANGE);
    assert_int_equal(sr_slab_gain(0.02, 2, INFINITY, 1000, &out), SR_RANGE);
    assert_near(out, UNTOUCHED, 0);
    OK(sr_slab_mean_resisted(1, 0, &out));
    assert_near(out, 0, 0);
}

static void slab_rises_and_has_an_inverse(void **state)
{
    double last = -1, last_centre = -1, mean, centre, fo, gain, last_gain = 1.1;

    (void)state;
    for (double x = 1e-5; x < 2; x *= 1.07) {
        OK(sr_slab_mean(x, &mean));
        OK(sr_slab_centre(x, &centre));
        assert_true(mean > last && centre >= last_centre - 1e-14 && centre <= mean + 1e-12);
        last = mean;
        last_centre = centre;
        OK(sr_slab_fo_for_mean(mean, &fo));
        assert_near(fo, x, 1e-6 * x);
    }
    for (double mm = 0.5; mm < 500; mm *= 1.3) {
        OK(sr_slab_gain(mm / 1000, 2, 1e-10, 86400, &gain));
        assert_true(gain > 0 && gain < last_gain);
        last_gain = gain;
    }
    /* No resistance at all is the limit of a surface that resists ever less. */
    OK(sr_slab_mean(0.05, &mean));
    OK(sr_slab_mean_resisted(1e8, 0.2, &last));
    assert_near(last, mean, 1e-6);
}

static void boards_refuse_what_they_do_not_know(void **state)
{
    struct sr_board_spec bad[8];
    struct sr_board b, before;
    struct sr_board_band band;
    struct sr_board_answer a = {.mean_pct = UNTOUCHED};

    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++)
        bad[i] = plain;
    bad[0].thickness_m = NAN;
    bad[1].thickness_m = 0;
    bad[2].open_faces = 0;
    bad[3].d_m2_s = INFINITY;
    bad[4].surface_m_s = -1;
    bad[5].surface_m_s = 1e-20;
    bad[6].d_per_pct = NAN;
    bad[7].d_per_pct = -0.1;
    for (size_t i = 0; i < COUNT(bad); i++)
        assert_int_equal(sr_board_begin(&bad[i], 10, &b), SR_RANGE);
    assert_int_equal(sr_board_begin(&plain, NAN, &b), SR_RANGE);
    assert_int_equal(sr_board_begin(&plain, -1, &b), SR_RANGE);
    assert_int_equal(sr_board_band_begin(&bad[0], 10, &band), SR_RANGE);

    OK(sr_board_begin(&plain, 10, &b));
    before = b;
    assert_int_equal(sr_board_step(&b, NAN, 10, 60), SR_RANGE);
    assert_int_equal(sr_board_step(&b, 10, INFINITY, 60), SR_RANGE);
    assert_int_equal(sr_board_step(&b, 10, 10, NAN), SR_RANGE);
    assert_int_equal(sr_board_step(&b, 10, 10, -1), SR_RANGE);
    assert_int_equal(sr_board_step(&b, 10, 10, 2e9), SR_RANGE);
    assert_int_equal(sr_board_step_air(&b, NAN, 50, 60), SR_RANGE);
    assert_int_equal(sr_board_step_air(&b, 20, 106, 60), SR_RANGE);
    assert_memory_equal(b.moisture_pct, before.moisture_pct, sizeof b.moisture_pct);
    b.moisture_pct[3] = NAN;
    assert_int_equal(sr_board_step(&b, 10, 10, 60), SR_RANGE);
    assert_int_equal(sr_board_now(&b, &a), SR_RANGE);
    assert_near(a.mean_pct, UNTOUCHED, 0);
}

static double noise(unsigned *seed)
{
    *seed = *seed * 1664525U + 1013904223U;
    return (double)(*seed >> 8) / 16777216.0;
}

/* Whatever the coefficient, the surface and the steps: no cell leaves the span of what it and the
 * air held. Steps reach from a second to years. */
static void moisture_stays_within_what_the_air_offered(void **state)
{
    unsigned seed = 7;

    (void)state;
    for (int run = 0; run < 200; run++) {
        const struct sr_board_spec spec = {.thickness_m = 0.0005 + 0.08 * noise(&seed),
                                           .open_faces = run % 2 + 1,
                                           .d_m2_s = pow(10, -12 + 4 * noise(&seed)),
                                           .surface_m_s = run % 3 == 0 ? 1e-7 : 0,
                                           .d_per_pct = run % 5 == 0 ? 0.134 : 0};
        double low = 10, high = 10;
        struct sr_board b;
        OK(sr_board_begin(&spec, 10, &b));
        for (int i = 0; i < 60; i++) {
            const double from = 2 + 20 * noise(&seed), to = 2 + 20 * noise(&seed);
            struct sr_board_answer a;
            low = fmin(low, fmin(from, to));
            high = fmax(high, fmax(from, to));
            OK(sr_board_step(&b, from, to, pow(10, 8 * noise(&seed))));
            for (int k = 0; k < SR_BOARD_CELLS; k++)
                assert_true(b.moisture_pct[k] >= low - 1e-6 &&
                            b.moisture_pct[k] <= high + 1e-6);
            OK(sr_board_now(&b, &a));
            assert_true(a.mean_pct >= low - 1e-6 && a.mean_pct <= high + 1e-6);
            assert_true(a.surface_pct >= low - 1e-6 && a.surface_pct <= high + 1e-6);
            assert_true(fabs(a.core_pct - b.moisture_pct[SR_BOARD_CELLS - 1]) < 0.2);
        }
    }
}

static void a_board_at_rest_stays_at_rest(void **state)
{
    struct sr_board_answer a;
    struct sr_board b;

    (void)state;
    OK(sr_board_begin(&plain, 11, &b));
    for (int i = 0; i < 1000; i++)
        OK(sr_board_step(&b, 11, 11, 1 + 977.0 * i));
    OK(sr_board_step(&b, 11, 11, 0));
    OK(sr_board_now(&b, &a));
    assert_near(a.mean_pct, 11, 1e-9);
    assert_near(a.core_pct, 11, 1e-9);
    assert_near(a.gradient_pct_mm, 0, 1e-9);
}

/* The same way in steps of another length ends in the same place, to the scheme's error. */
static void steps_of_any_length_lead_to_the_same_board(void **state)
{
    static const double dt_s[] = {60, 600, 3600, 10800, 43200};
    struct sr_board_answer first = {0}, a;

    (void)state;
    for (size_t i = 0; i < COUNT(dt_s); i++) {
        struct sr_board b;
        OK(sr_board_begin(&plain, 8, &b));
        for (double t = 0; t < 4 * 86400 - 0.5; t += dt_s[i])
            OK(sr_board_step(&b, 12, 12, dt_s[i]));
        OK(sr_board_now(&b, &a));
        if (i == 0)
            first = a;
        assert_near(a.mean_pct, first.mean_pct, 0.002);
        assert_near(a.core_pct, first.core_pct, 0.002);
    }
}

static void the_band_holds_its_own_middle(void **state)
{
    struct sr_board_band band;
    struct sr_board_band_answer a;

    (void)state;
    OK(sr_board_band_begin(&plain, 14, &band));
    for (int day = 0; day < 20; day++) {
        OK(sr_board_band_step_air(&band, 20, 50, 86400));
        OK(sr_board_band_now(&band, &a));
        assert_true(a.mean_pct.low <= a.mean_pct.middle &&
                    a.mean_pct.middle <= a.mean_pct.high);
        assert_true(a.core_pct.low <= a.core_pct.middle &&
                    a.core_pct.middle <= a.core_pct.high);
        assert_true(a.gradient_pct_mm.low <= a.gradient_pct_mm.high);
    }
    assert_true(a.mean_pct.high - a.mean_pct.low > 1); /* D is known to a factor of sixty */
}

/* Air beyond the isotherm (frost, dripping wet) is taken at its edge, and never stops a run. */
static void air_beyond_the_isotherm_is_taken_at_its_edge(void **state)
{
    struct sr_board a, b;

    (void)state;
    OK(sr_board_begin(&plain, 10, &a));
    b = a;
    OK(sr_board_step_air(&a, -20, 103, 86400));
    OK(sr_board_step_air(&b, -1, 98, 86400));
    assert_memory_equal(a.moisture_pct, b.moisture_pct, sizeof a.moisture_pct);
}

#define HOURS 200

static void fill(int64_t t_s[HOURS], double t_c[HOURS], double rh_pct[HOURS])
{
    unsigned seed = 3;

    for (int i = 0; i < HOURS; i++) {
        t_s[i] = INT64_C(1700000000) + 3600 * i + (i > 120 ? 86400 : 0);
        t_c[i] = 15 + 10 * noise(&seed);
        rh_pct[i] = i % 37 == 5 ? (double)NAN : 30 + 69 * noise(&seed);
    }
}

static void a_board_run_split_anywhere_gives_the_same_bits(void **state)
{
    int64_t t_s[HOURS];
    double t_c[HOURS], rh_pct[HOURS];
    struct sr_board_run whole, parts;

    (void)state;
    fill(t_s, t_c, rh_pct);
    OK(sr_board_run_begin(&plain, 10, 3600, &whole));
    OK(sr_board_run_series(&whole, &(struct sr_air_series){t_s, t_c, rh_pct, HOURS, 3600}));
    assert_true(whole.gap_s > 80000);
    for (size_t cut = 1; cut < HOURS; cut += 13) {
        OK(sr_board_run_begin(&plain, 10, 3600, &parts));
        OK(sr_board_run_series(&parts, &(struct sr_air_series){t_s, t_c, rh_pct, cut, 3600}));
        for (size_t i = cut; i < HOURS; i++)
            OK(sr_board_run_add(&parts, t_s[i], t_c[i], rh_pct[i]));
        for (int k = 0; k < 3; k++)
            assert_memory_equal(parts.band.at[k].moisture_pct, whole.band.at[k].moisture_pct,
                                sizeof whole.band.at[k].moisture_pct);
        assert_int_equal(parts.covered_s, whole.covered_s);
        assert_int_equal(parts.gap_s, whole.gap_s);
        assert_int_equal(whole.covered_s + whole.gap_s, t_s[HOURS - 1] - t_s[0]);
    }
}

static void a_board_run_refuses_and_keeps(void **state)
{
    int64_t t_s[] = {100, 100};
    double t_c[] = {20, 20}, rh_pct[] = {50, 50};
    struct sr_board_run run, later;

    (void)state;
    assert_int_equal(sr_board_run_begin(&plain, 10, 0, &run), SR_RANGE);
    OK(sr_board_run_begin(&plain, 10, 60, &run));
    assert_int_equal(
        sr_board_run_series(&run, &(struct sr_air_series){t_s, t_c, rh_pct, 2, 60}), SR_ORDER);
    assert_int_equal(
        sr_board_run_series(&run, &(struct sr_air_series){t_s, t_c, rh_pct, 0, 60}), SR_THIN);
    assert_int_equal(
        sr_board_run_series(&run, &(struct sr_air_series){t_s, t_c, rh_pct, 1, 61}), SR_RANGE);
    OK(sr_board_run_series(&run, &(struct sr_air_series){t_s, t_c, rh_pct, 1, 60}));
    assert_int_equal(run.covered_s, 0); /* one sample stands for nothing yet */
    assert_int_equal(sr_board_run_add(&run, 100, 20, 50), SR_ORDER);
    assert_int_equal(sr_board_run_add(&run, 160, INFINITY, 50), SR_RANGE);
    assert_int_equal(sr_board_run_add(&run, 160, 20, 130), SR_RANGE);
    OK(sr_board_run_at(&run, 250, &later));
    assert_int_equal(later.covered_s, 90); /* 1.5 intervals */
    assert_int_equal(later.gap_s, 60);
    assert_int_equal(run.covered_s, 0);
    assert_int_equal(sr_board_run_at(&run, 100, &later), SR_ORDER);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(isotherm_refuses_what_it_does_not_know),
        cmocka_unit_test(isotherm_rises_and_has_an_inverse_and_a_slope),
        cmocka_unit_test(shrinkage_refuses_and_lists),
        cmocka_unit_test(movement_there_and_back_is_none),
        cmocka_unit_test(salts_refuse_what_they_do_not_know),
        cmocka_unit_test(slab_refuses_what_it_does_not_know),
        cmocka_unit_test(slab_rises_and_has_an_inverse),
        cmocka_unit_test(boards_refuse_what_they_do_not_know),
        cmocka_unit_test(moisture_stays_within_what_the_air_offered),
        cmocka_unit_test(a_board_at_rest_stays_at_rest),
        cmocka_unit_test(steps_of_any_length_lead_to_the_same_board),
        cmocka_unit_test(the_band_holds_its_own_middle),
        cmocka_unit_test(air_beyond_the_isotherm_is_taken_at_its_edge),
        cmocka_unit_test(a_board_run_split_anywhere_gives_the_same_bits),
        cmocka_unit_test(a_board_run_refuses_and_keeps),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
