/* test_plan.c - stepwise drying plans.
 *
 * Sources: hold times from Crank's (1975) slab series; strains from Wood Handbook equation
 * (4-5) and Table 13-5, all calculated apart from this library; 0.0025 and 0.004 from
 * Mecklenburg, Tumosa & Erhardt (1998). Steps, rates and shares: project choice. Two days
 * above 65-70 %: common practice, from memory. */
#include "stillroom/plan.h"

#include "stillroom/slab.h"
#include "support/near.h"

#include <stdbool.h>

#define NONE ((double)NAN)
#define LIME_T 0.00330

static struct sr_plan_step steps[SR_PLAN_STEPS_MAX];

/* The plain rule, without caps by strain, damp time and gradient. */
static struct sr_plan_rules plain(double share)
{
    return (struct sr_plan_rules){5.0, 5.0, share, NONE, 65.0, (double)INFINITY, NONE};
}

static struct sr_plan_object board(double mm, int faces, double from, double to)
{
    return (struct sr_plan_object){mm / 1000, faces, 5e-12, 1e-10, 3e-10,
                                   LIME_T,    20.0,  from,  to};
}

static void plain_plans_follow_the_slab_series(void **state)
{
    (void)state;
    static const struct {
        double mm;
        int faces;
        double share, from, hold_d, total_d;
        unsigned why;
    } rows[] = {
        {6, 2, 0.9, 75, 1.000, 5.00, SR_PLAN_BY_RATE}, /* diffusion alone: 0.883 d */
        {10, 2, 0.9, 75, 2.454, 12.27, 0},
        {20, 2, 0.9, 75, 9.816, 49.08, 0},
        {20, 1, 0.9, 75, 39.26, 196.3, 0},
        {20, 1, 0.5, 75, 9.108, 45.54, 0},
        {20, 1, 0.632, 72, 14.83, 74.13, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sr_plan_object o = board(rows[i].mm, rows[i].faces, rows[i].from, 50);
        struct sr_plan_rules r = plain(rows[i].share);
        struct sr_plan plan;
        assert_int_equal(sr_plan_make(&o, &r, steps, SR_PLAN_STEPS_MAX, &plan), SR_OK);
        assert_int_equal(plan.n, 5);
        assert_near(plan.total_d.mid, rows[i].total_d, 0.002 * rows[i].total_d);
        double wait_s; /* closer than the table: the series itself, which test_board.c holds */
        assert_int_equal(
            sr_slab_response_s(o.thickness_m, o.open_faces, 1e-10, r.response, &wait_s), SR_OK);
        if (rows[i].why == 0)
            assert_near(steps[0].hold_d.mid, wait_s / 86400, 1e-9 * wait_s / 86400);
        for (size_t k = 0; k < 5; k++) {
            assert_near(steps[k].hold_d.mid, rows[i].hold_d, 0.002 * rows[i].hold_d);
            assert_near(steps[k].rh_from_pct - steps[k].rh_to_pct, (rows[i].from - 50) / 5,
                        1e-9);
            assert_int_equal(steps[k].why, rows[i].why);
        }
        assert_near(steps[4].rh_to_pct, 50.0, 0.0);
    }
}

/* Waiting for the wood at every damp step is growing mould: 275 days in all, 92 to 5,497 over
 * the range of D, 118 of them at 70 % or more. */
static void a_plain_plan_from_very_damp_is_a_mould_plan(void **state)
{
    (void)state;
    struct sr_plan_object o = board(20, 1, 85, 50);
    struct sr_plan_rules r = plain(0.9);
    struct sr_plan plan;
    assert_int_equal(sr_plan_make(&o, &r, steps, SR_PLAN_STEPS_MAX, &plan), SR_OK);
    assert_int_equal(plan.n, 7);
    assert_near(plan.total_d.mid, 274.8, 0.5);
    assert_near(plan.total_d.low, 91.6, 0.5);
    assert_near(plan.total_d.high, 5497, 1);
    assert_near(plan.at_70_d.mid, 117.8, 0.5);
}

static void steps_must_be_smaller_at_the_damp_end(void **state)
{
    (void)state;
    static const double rows[][2] = {
        {50, 4.82}, {60, 4.19}, {70, 3.27}, {75, 2.76}, {80, 2.27}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double got;
        assert_int_equal(sr_plan_step_cap(LIME_T, 20, rows[i][0], 0, 0.0025, &got), SR_OK);
        assert_near(got, rows[i][1], 0.0051);
    }
    /* So no step of a plan under both caps exceeds either, where a plain 5 % from 75 % is
     * 0.0044. */
    struct sr_plan_object o = board(20, 1, 85, 50);
    struct sr_plan_rules r;
    struct sr_plan plan;
    assert_int_equal(sr_plan_rules_for(SR_PLAN_PAINTED, o.thickness_m, &r), SR_OK);
    assert_int_equal(sr_plan_make(&o, &r, steps, SR_PLAN_STEPS_MAX, &plan), SR_OK);
    assert_true(plan.n > 7);
    for (size_t i = 0; i < plan.n; i++) {
        assert_true(steps[i].strain <= 0.0025 + 1e-12);
        assert_true(steps[i].rh_from_pct - steps[i].rh_to_pct <= 5.0 + 1e-12);
        assert_true((steps[i].why & SR_PLAN_BY_STRAIN) != 0);
    }
}

static void the_damp_end_takes_two_days_at_most(void **state)
{
    (void)state;
    struct sr_plan_object o = board(20, 1, 85, 50);
    struct sr_plan_rules r;
    struct sr_plan plan;
    assert_int_equal(sr_plan_rules_for(SR_PLAN_PAINTED, o.thickness_m, &r), SR_OK);
    assert_int_equal(sr_plan_make(&o, &r, steps, SR_PLAN_STEPS_MAX, &plan), SR_OK);
    double damp_d = 0.0;
    for (size_t i = 0; i < plan.n; i++) {
        bool damp = steps[i].rh_to_pct > 65.0;
        damp_d += damp ? steps[i].hold_d.mid : 0.0;
        assert_int_equal((steps[i].why & SR_PLAN_BY_DAMP) != 0, damp);
    }
    assert_near(damp_d, 2.0, 1e-9);
    assert_true(plan.at_70_d.high < 2.0);
}

/* Below the damp end the next step waits until the core, held against the coming surface, is
 * within the yield strain 0.004. */
static void the_core_is_waited_for(void **state)
{
    (void)state;
    struct sr_plan_object o = board(20, 1, 64, 45);
    struct sr_plan_rules r;
    struct sr_plan plan;
    assert_int_equal(sr_plan_rules_for(SR_PLAN_ROBUST, o.thickness_m, &r), SR_OK);
    assert_int_equal(sr_plan_make(&o, &r, steps, SR_PLAN_STEPS_MAX, &plan), SR_OK);
    bool waited = false;
    double with_d = plan.total_d.mid;
    for (size_t i = 0; i < plan.n; i++) {
        waited = waited || (steps[i].why & SR_PLAN_BY_GRADIENT) != 0;
        assert_int_equal(steps[i].why & SR_PLAN_OVER_GRADIENT, 0);
    }
    assert_true(waited);
    r.strain_gradient_max = NONE;
    assert_int_equal(sr_plan_make(&o, &r, steps, SR_PLAN_STEPS_MAX, &plan), SR_OK);
    assert_true(plan.total_d.mid < with_d);
    double worst = 0.0;
    for (size_t i = 0; i + 1 < plan.n; i++)
        worst = fmax(worst, steps[i].core_strain + steps[i + 1].strain);
    assert_true(worst > 0.004); /* what the limit kept off */
}

static void defaults_are_the_projects_choices(void **state)
{
    (void)state;
    static const struct {
        enum sr_plan_kind kind;
        double mm, rate, share;
    } rows[] = {{SR_PLAN_ROBUST, 10, 5, 0.9},
                {SR_PLAN_ROBUST, 10.1, 5, 0.5},
                {SR_PLAN_PAINTED, 10, 2, 0.9},
                {SR_PLAN_PAINTED, 40, 2, 0.9}};
    for (size_t i = 0; i < 4; i++) {
        struct sr_plan_rules r;
        assert_int_equal(sr_plan_rules_for(rows[i].kind, rows[i].mm / 1000, &r), SR_OK);
        assert_near(r.step_max_pct, 5.0, 0.0);
        assert_near(r.rate_max_pct_d, rows[i].rate, 0.0);
        assert_near(r.response, rows[i].share, 0.0);
        assert_near(r.strain_step_max, 0.0025, 0.0);
        assert_near(r.strain_gradient_max, 0.004, 0.0);
        assert_near(r.damp_rh_pct, 65.0, 0.0);
        assert_near(r.damp_max_d, 2.0, 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plain_plans_follow_the_slab_series),
        cmocka_unit_test(a_plain_plan_from_very_damp_is_a_mould_plan),
        cmocka_unit_test(steps_must_be_smaller_at_the_damp_end),
        cmocka_unit_test(the_damp_end_takes_two_days_at_most),
        cmocka_unit_test(the_core_is_waited_for),
        cmocka_unit_test(defaults_are_the_projects_choices),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
