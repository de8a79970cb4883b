/* test_lib_studio.c - coatings, drying, gesso, plans and instrument checks: what is refused, and
 * what must hold whatever the numbers. */
#include "support/near.h"
#include "support/noise.h"

#include <string.h>

#include "stillroom/coating.h"
#include "stillroom/drying.h"
#include "stillroom/gesso.h"
#include "stillroom/instrument.h"
#include "stillroom/plan.h"

#define OK(call) assert_int_equal((call), SR_OK)
#define H INT64_C(3600)
#define NONE ((double)NAN)
#define INF ((double)INFINITY)
#define COUNT(a) (sizeof(a) / sizeof *(a))

static struct sr_plan_step steps[SR_PLAN_STEPS_MAX];

static void nothing_is_said_of_impossible_air(void **state)
{
    (void)state;
    static const double wrong[][2] = {{NONE, 50}, {20, NONE}, {INF, 50}, {20, -INF},
                                      {20, -0.1}, {20, 106},  {101, 50}};
    for (size_t i = 0; i < COUNT(wrong); i++) {
        double x = 7, low, high;
        struct sr_drying_rates rates;
        assert_int_equal(sr_drying_potential(wrong[i][0], wrong[i][1], &x), SR_RANGE);
        assert_int_equal(sr_drying_evaporation(wrong[i][0], wrong[i][1], 101325, 3, &rates),
                         SR_RANGE);
        assert_int_equal(sr_gesso_strain_between(0.003, wrong[i][0], wrong[i][1], 50, &x),
                         i == 6 ? SR_OK : SR_RANGE); /* wood.h holds to 130 degC */
        assert_int_equal(sr_gesso_limits(0.003, wrong[i][0], wrong[i][1], 0.004, &low, &high),
                         i == 6 ? SR_OK : SR_RANGE);
    }
    double x = 7;
    struct sr_drying_rates rates;
    assert_int_equal(sr_drying_evaporation(20, 50, 101325, NONE, &rates), SR_RANGE);
    assert_int_equal(sr_drying_evaporation(20, 50, NONE, 3, &rates), SR_RANGE);
    assert_int_equal(sr_gesso_strain(0, 8, 9, &x), SR_RANGE);
    assert_int_equal(sr_gesso_strain(NONE, 8, 9, &x), SR_RANGE);
    assert_int_equal(sr_gesso_strain(0.003, -1, 9, &x), SR_RANGE);
    assert_int_equal(sr_coating_rh_limit(NONE, 3, 4, &x), SR_RANGE);
    assert_int_equal(sr_coating_rh_limit(20, -1, 4, &x), SR_RANGE);
    assert_int_equal(sr_coating_rh_limit(20, 3, NONE, &x), SR_RANGE);
    assert_near(x, 7, 0);
}

static void saturated_air_dries_nothing(void **state)
{
    (void)state;
    double potential;
    struct sr_drying_rates rates;
    OK(sr_drying_potential(20, 100, &potential));
    assert_near(potential, 0, 1e-12);
    OK(sr_drying_evaporation(20, 100, 101325, 3, &rates));
    assert_near(rates.adiabatic_g_m2_h, 0, 1e-3);
    assert_near(rates.isothermal_g_m2_h, 0, 1e-9);
}

static void drier_or_warmer_air_dries_faster(void **state)
{
    (void)state;
    for (double t = 5; t < 40; t += 5) {
        struct sr_drying_rates before = {0}, now;
        double potential_before = -1, potential;
        for (double rh = 95; rh >= 10; rh -= 5) {
            OK(sr_drying_evaporation(t, rh, 101325, 3, &now));
            OK(sr_drying_potential(t, rh, &potential));
            assert_true(now.adiabatic_g_m2_h > before.adiabatic_g_m2_h);
            assert_true(now.isothermal_g_m2_h > before.isothermal_g_m2_h);
            assert_true(now.adiabatic_g_m2_h < now.isothermal_g_m2_h);
            assert_true(potential > potential_before);
            before = now;
            potential_before = potential;
        }
    }
}

/* The humidity at the end of the limit has just that strain. */
static void limits_are_the_inverse_of_strain(void **state)
{
    (void)state;
    for (double c = 0.001; c <= 0.0045; c += 0.0007) {
        for (double rh = 20; rh <= 80; rh += 10) {
            double low, high, strain;
            OK(sr_gesso_limits(c, 20, rh, 0.0025, &low, &high));
            assert_true(low < rh && rh < high);
            if (high < 99.0) {
                OK(sr_gesso_strain_between(c, 20, rh, high, &strain));
                assert_near(strain, 0.0025, 1e-9);
            }
            if (low > 0.0) {
                OK(sr_gesso_strain_between(c, 20, rh, low, &strain));
                assert_near(strain, -0.0025, 1e-9);
            }
        }
    }
    double low, high; /* wood so calm that no humidity strains it that far */
    OK(sr_gesso_limits(0.0005, 20, 50, 0.05, &low, &high));
    assert_near(low, 0, 0);
    assert_near(high, 99, 0);
}

static void a_missing_reading_is_an_answer(void **state)
{
    (void)state;
    struct sr_coating_air air = {NONE, 50, 20, INF, 0, 0};
    struct sr_coating_fitness f;
    for (int w = 0; w < SR_COATING_WORKS; w++) {
        const struct sr_coating_limits *limits = &sr_coating_practice[w];
        air.t_c = NONE;
        OK(sr_coating_now(limits, &air, &f));
        assert_int_equal(f.answer, SR_COATING_UNKNOWN);
        assert_int_equal(f.reasons, SR_COATING_NO_READING);
        air.t_c = 21;
        air.rh_pct = 55;
        OK(sr_coating_now(limits, &air, &f)); /* between all limits */
        assert_int_equal(f.answer, SR_COATING_YES);
    }
    air.rh_pct = 0; /* no dew point, so no dew: but too dry */
    OK(sr_coating_now(&sr_coating_practice[SR_COATING_GESSO], &air, &f));
    assert_int_equal(f.reasons, SR_COATING_TOO_DRY);
    static const struct sr_coating_air wrong[] = {
        {INF, 50, 20, INF, 0, 0}, {20, -1, 20, INF, 0, 0},   {20, 120, 20, INF, 0, 0},
        {20, 50, INF, INF, 0, 0}, {20, 50, 20, NONE, 0, 0},  {20, 50, 20, -1, 0, 0},
        {20, 50, 20, INF, -1, 0}, {20, 50, 20, INF, 0, NONE}};
    for (size_t i = 0; i < COUNT(wrong); i++)
        assert_int_equal(
            sr_coating_now(&sr_coating_practice[SR_COATING_VARNISH], &wrong[i], &f), SR_RANGE);
    for (unsigned bit = 0; bit < SR_COATING_REASONS; bit++)
        assert_string_not_equal(sr_coating_reason_text(1U << bit), "unknown reason");
    assert_string_equal(sr_coating_reason_text(1U << SR_COATING_REASONS), "unknown reason");
}

static void nights_need_a_series(void **state)
{
    (void)state;
    static const int64_t at[] = {0, H};
    static const double t[] = {20, 20}, rh[] = {50, 50}, inf[] = {20, INF};
    struct sr_air_series s = {at, t, rh, 2, H};
    struct sr_coating_nights nights = {.known = 9};
    assert_int_equal(sr_coating_nights_before(&s, NULL, 10 * H, 0, &nights), SR_THIN);
    assert_int_equal(sr_coating_nights_before(&s, inf, 10 * H, 0, &nights), SR_RANGE);
    assert_int_equal(sr_coating_nights_before(&s, NULL, 10 * H, 25 * H, &nights), SR_RANGE);
    s.n = 0;
    assert_int_equal(sr_coating_nights_before(&s, NULL, 10 * H, 0, &nights), SR_THIN);
    assert_int_equal(nights.known, 9);
}

/* Random boards: both caps hold at every step, the way is whole and goes one way, quicker D is
 * never slower, and the damp end takes no longer than allowed. */
static void every_plan_keeps_its_caps(void **state)
{
    (void)state;
    uint64_t seed = 3;
    for (int trial = 0; trial < 60; trial++) {
        struct sr_plan_object o = {.thickness_m = 0.003 + 0.04 * noise(&seed),
                                   .open_faces = noise(&seed) < 0.5 ? 1 : 2,
                                   .d_low = 2e-11,
                                   .d_mid = 1e-10,
                                   .d_high = 3e-10,
                                   .c_per_pct = 0.001 + 0.0035 * noise(&seed),
                                   .t_c = 10 + 15 * noise(&seed),
                                   .rh_from_pct = 40 + 55 * noise(&seed),
                                   .rh_to_pct = 35 + 30 * noise(&seed)};
        struct sr_plan_rules r;
        struct sr_plan plan;
        OK(sr_plan_rules_for(trial % 2 ? SR_PLAN_PAINTED : SR_PLAN_ROBUST, o.thickness_m, &r));
        OK(sr_plan_make(&o, &r, steps, SR_PLAN_STEPS_MAX, &plan));
        double sign = o.rh_to_pct > o.rh_from_pct ? 1 : -1, damp_d = 0, rh = o.rh_from_pct;
        for (size_t i = 0; i < plan.n; i++) {
            const struct sr_plan_step *s = &steps[i];
            assert_near(s->rh_from_pct, rh, 0);
            rh = s->rh_to_pct;
            assert_true(sign * (s->rh_to_pct - s->rh_from_pct) > 0);
            assert_true(fabs(s->rh_to_pct - s->rh_from_pct) <= 5 + 1e-9);
            assert_true(s->strain <= 0.0025 * (1 + 1e-6));
            assert_true(s->hold_d.low > 0 && s->hold_d.low <= s->hold_d.mid * (1 + 1e-9) &&
                        s->hold_d.mid <= s->hold_d.high * (1 + 1e-9));
            damp_d += s->rh_to_pct > 65 ? s->hold_d.mid : 0;
        }
        assert_near(rh, plan.n > 0 ? o.rh_to_pct : rh, 0);
        assert_true(damp_d <= 2 + 1e-9 && plan.at_70_d.high <= 2 + 1e-9);
        if (plan.n > 1)
            assert_int_equal(sr_plan_make(&o, &r, steps, plan.n - 1, &plan), SR_NOMEM);
    }
}

static void plans_refuse_what_they_cannot_plan(void **state)
{
    (void)state;
    const struct sr_plan_object good = {0.02, 1, 5e-12, 1e-10, 3e-10, 0.0033, 20, 80, 50};
    struct sr_plan_rules r;
    struct sr_plan plan = {.n = 99};
    OK(sr_plan_rules_for(SR_PLAN_PAINTED, 0.02, &r));
    assert_int_equal(sr_plan_rules_for(SR_PLAN_PAINTED, NONE, &r), SR_RANGE);
    assert_int_equal(sr_plan_rules_for(SR_PLAN_PAINTED, 0, &r), SR_RANGE);
    struct sr_plan_object o[] = {good, good, good, good, good, good, good, good, good};
    o[0].thickness_m = NONE;
    o[1].open_faces = 3;
    o[2].d_low = 2e-10; /* above the middle one */
    o[3].c_per_pct = 0;
    o[4].t_c = INF;
    o[5].rh_from_pct = 99;
    o[6].rh_to_pct = NONE;
    o[7].d_high = INF;
    o[8].rh_to_pct = 4;
    for (size_t i = 0; i < COUNT(o); i++)
        assert_int_equal(sr_plan_make(&o[i], &r, steps, SR_PLAN_STEPS_MAX, &plan), SR_RANGE);
    struct sr_plan_rules wrong[] = {r, r, r, r, r};
    wrong[0].step_max_pct = 0;
    wrong[1].rate_max_pct_d = NONE;
    wrong[2].response = 1;
    wrong[3].damp_max_d = 0;
    wrong[4].strain_step_max = -1;
    for (size_t i = 0; i < COUNT(wrong); i++)
        assert_int_equal(sr_plan_make(&good, &wrong[i], steps, SR_PLAN_STEPS_MAX, &plan),
                         SR_RANGE);
    assert_int_equal(plan.n, 99);
    struct sr_plan_object still = good;
    still.rh_to_pct = 80;
    OK(sr_plan_make(&still, &r, steps, 0, &plan));
    assert_int_equal(plan.n, 0);
    assert_near(plan.total_d.high, 0, 0);
    double cap;
    assert_int_equal(sr_plan_step_cap(0.0005, 20, 50, 0, 0.05, &cap), SR_NO_SOLUTION);
}

static void instruments_are_watched_in_order(void **state)
{
    (void)state;
    struct sr_instrument in;
    unsigned flags = 99;
    assert_int_equal(sr_instrument_begin(0, 60, &in), SR_RANGE);
    assert_int_equal(sr_instrument_begin(60, 0, &in), SR_RANGE);
    OK(sr_instrument_begin(24 * H, 60, &in));
    assert_int_equal(sr_instrument_push(&in, 0, NONE, 50, &flags), SR_THIN);
    assert_int_equal(sr_instrument_push(&in, 0, 20, INF, &flags), SR_RANGE);
    assert_int_equal(flags, 99);
    OK(sr_instrument_push(&in, 60, 20, 50, &flags));
    assert_int_equal(sr_instrument_push(&in, 60, 20, 50, &flags), SR_ORDER);
    struct sr_instrument_twins tw;
    struct sr_instrument_apart apart;
    struct sr_instrument_pair_reading good = {20, 50, 0.3, 2}, none = {NONE, 50, 0.3, 2},
                                      dry = {20, 0, 0.3, 2}, bad = {20, 50, -1, 2};
    sr_instrument_twins_begin(&tw);
    OK(sr_instrument_twins_push(&tw, 0, &good, &good, &apart));
    assert_int_equal(sr_instrument_twins_push(&tw, 0, &good, &good, &apart), SR_ORDER);
    assert_int_equal(sr_instrument_twins_push(&tw, 60, &none, &good, &apart), SR_THIN);
    assert_int_equal(sr_instrument_twins_push(&tw, 60, &good, &dry, &apart), SR_THIN);
    assert_int_equal(sr_instrument_twins_push(&tw, 60, &good, &bad, &apart), SR_RANGE);
    struct sr_instrument_episode e = {NONE, 0, false, 0, true};
    bool suspect;
    assert_int_equal(sr_instrument_solvent(&e, &suspect), SR_RANGE);
    int64_t after_s;
    double settle_s;
    assert_int_equal(sr_instrument_stuck_after(0, 0.1, &after_s), SR_RANGE);
    assert_int_equal(sr_instrument_stuck_after(NONE, 0.1, &after_s), SR_RANGE);
    assert_int_equal(sr_instrument_settle_s(-1, &settle_s), SR_RANGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_said_of_impossible_air),
        cmocka_unit_test(saturated_air_dries_nothing),
        cmocka_unit_test(drier_or_warmer_air_dries_faster),
        cmocka_unit_test(limits_are_the_inverse_of_strain),
        cmocka_unit_test(a_missing_reading_is_an_answer),
        cmocka_unit_test(nights_need_a_series),
        cmocka_unit_test(every_plan_keeps_its_caps),
        cmocka_unit_test(plans_refuse_what_they_cannot_plan),
        cmocka_unit_test(instruments_are_watched_in_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
