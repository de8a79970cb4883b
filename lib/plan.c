/* plan.c - see plan.h. */
#include "stillroom/plan.h"

#include <math.h>
#include <stdbool.h>

#include "stillroom/board.h"
#include "stillroom/gesso.h"
#include "stillroom/slab.h"
#include "stillroom/wood.h"

#define DAY_S 86400.0
#define NOTHING_PCT 0.01
#define DAMP_AT_PCT 70.0
#define SLACK 1e-9 /* a step count is not to be raised by a last bit */

const char sr_plan_caveat[] =
    "For wood only; a wet or glue-lined canvas needs the conservator's own plan. Days are "
    "ranges over what is known of wood; weight and surface inspection decide when to step on. "
    "On flaking, splitting or cupping hold at the present step; do not go back to wetter air.";
const char sr_plan_mould_caution[] =
    "Above 16 % moisture, or with a surface in mould humidity, the mould clock comes first: "
    "room "
    "air below 65 to 70 % and moving within 48 hours. A painted or gilded piece may be slowed "
    "by an open tent or breathable cover, humidity logged inside.";
const char sr_plan_wrap_caution[] =
    "Never wrap a damp object tightly: that makes a mould chamber. Wrapped, tented or crated "
    "objects are inspected daily. Cooling air that is not dried raises its humidity.";
const char sr_plan_flood_caution[] =
    "Flood water, sewage or frozen objects: call an emergency conservator and do not use this "
    "plan.";

enum sr_rc sr_plan_rules_for(enum sr_plan_kind kind, double thickness_m,
                             struct sr_plan_rules *out)
{
    if ((kind != SR_PLAN_ROBUST && kind != SR_PLAN_PAINTED) ||
        !(thickness_m >= 1e-4 && thickness_m <= 0.5))
        return SR_RANGE;
    bool gently = kind == SR_PLAN_PAINTED || thickness_m <= 0.010;
    *out = (struct sr_plan_rules){
        .step_max_pct = 5.0,
        .rate_max_pct_d = kind == SR_PLAN_PAINTED ? 2.0 : 5.0,
        .response = gently ? 0.9 : 0.5,
        .strain_step_max = SR_GESSO_GESSO_STRAIN,
        .damp_rh_pct = 65.0,
        .damp_max_d = 2.0,
        .strain_gradient_max = SR_GESSO_YIELD_STRAIN,
    };
    return SR_OK;
}

static bool limit_ok(double strain)
{
    return isnan(strain) || (strain > 0.0 && strain <= 0.1);
}

static bool rules_ok(const struct sr_plan_rules *r)
{
    return r->step_max_pct >= 0.5 && r->step_max_pct <= 30.0 && r->rate_max_pct_d >= 0.1 &&
           r->rate_max_pct_d <= 100.0 && r->response >= 0.1 && r->response <= 0.99 &&
           limit_ok(r->strain_step_max) && limit_ok(r->strain_gradient_max) &&
           r->damp_rh_pct >= 50.0 && r->damp_rh_pct <= 98.0 && r->damp_max_d > 0.0;
}

static bool object_ok(const struct sr_plan_object *o)
{
    return o->thickness_m >= 1e-4 && o->thickness_m <= 0.5 &&
           (o->open_faces == 1 || o->open_faces == 2) && o->d_low >= 1e-13 &&
           o->d_low <= o->d_mid && o->d_mid <= o->d_high && o->d_high <= 1e-8 &&
           o->c_per_pct > 0.0 && o->c_per_pct <= 0.02 && o->t_c >= -1.0 && o->t_c <= 60.0 &&
           o->rh_from_pct >= 5.0 && o->rh_from_pct <= 98.0 && o->rh_to_pct >= 5.0 &&
           o->rh_to_pct <= 98.0;
}

enum sr_rc sr_plan_step_cap(double c_per_pct, double t_c, double rh_pct, int up, double strain,
                            double *out_pct)
{
    double low_pct, high_pct;
    enum sr_rc rc = sr_gesso_limits(c_per_pct, t_c, rh_pct, strain, &low_pct, &high_pct);
    if (rc != SR_OK)
        return rc;
    if (up ? high_pct >= SR_WOOD_RH_MAX_PCT : low_pct <= 0.0)
        return SR_NO_SOLUTION;
    *out_pct = up ? high_pct - rh_pct : rh_pct - low_pct;
    return SR_OK;
}

/* The humidities to hold, each step as even as its caps allow. */
static enum sr_rc lay_steps(const struct sr_plan_object *o, const struct sr_plan_rules *r,
                            struct sr_plan_step steps[], size_t room, size_t *out_n)
{
    double rh = o->rh_from_pct;
    double sign = o->rh_to_pct > rh ? 1.0 : -1.0;
    size_t n = 0;
    while (fabs(o->rh_to_pct - rh) > NOTHING_PCT) {
        if (n == room)
            return SR_NOMEM;
        double left = fabs(o->rh_to_pct - rh);
        double cap = r->step_max_pct;
        struct sr_plan_step step = {.rh_from_pct = rh};
        if (!isnan(r->strain_step_max)) {
            double strain_cap;
            enum sr_rc rc = sr_plan_step_cap(o->c_per_pct, o->t_c, rh, sign > 0.0,
                                             r->strain_step_max, &strain_cap);
            if (rc == SR_OK && strain_cap < cap) {
                cap = strain_cap;
                step.why |= SR_PLAN_BY_STRAIN;
            } else if (rc != SR_OK && rc != SR_NO_SOLUTION) {
                return rc;
            }
        }
        double go = left / ceil(left / cap - SLACK);
        rh = left - go <= NOTHING_PCT ? o->rh_to_pct : rh + sign * go;
        step.rh_to_pct = rh;
        enum sr_rc rc =
            sr_gesso_strain_between(o->c_per_pct, o->t_c, step.rh_from_pct, rh, &step.strain);
        if (rc != SR_OK)
            return rc;
        step.strain = fabs(step.strain);
        steps[n++] = step;
    }
    *out_n = n;
    return SR_OK;
}

static double *of(struct sr_plan_range *range, int k)
{
    return k == 0 ? &range->low : k == 1 ? &range->mid : &range->high;
}

/* Holds by response and rate, those above damp_rh_pct cut together to what is allowed. */
static enum sr_rc set_holds(const struct sr_plan_object *o, const struct sr_plan_rules *r,
                            double d_m2_s, int k, struct sr_plan_step steps[], size_t n)
{
    double wait_s;
    double damp_d = 0.0;
    enum sr_rc rc =
        sr_slab_response_s(o->thickness_m, o->open_faces, d_m2_s, r->response, &wait_s);
    if (rc != SR_OK)
        return rc;
    for (size_t i = 0; i < n; i++) {
        double rate_d = fabs(steps[i].rh_to_pct - steps[i].rh_from_pct) / r->rate_max_pct_d;
        double hold_d = fmax(wait_s / DAY_S, rate_d);
        *of(&steps[i].hold_d, k) = hold_d;
        if (k == 1 && rate_d > wait_s / DAY_S)
            steps[i].why |= SR_PLAN_BY_RATE;
        if (steps[i].rh_to_pct > r->damp_rh_pct)
            damp_d += hold_d;
    }
    for (size_t i = 0; i < n && damp_d > r->damp_max_d; i++) {
        if (!(steps[i].rh_to_pct > r->damp_rh_pct))
            continue;
        *of(&steps[i].hold_d, k) *= r->damp_max_d / damp_d;
        if (k == 1)
            steps[i].why = (steps[i].why & ~(unsigned)SR_PLAN_BY_RATE) | SR_PLAN_BY_DAMP;
    }
    return SR_OK;
}

/* Strain of the core against a surface at rest with rh_pct. */
static enum sr_rc core_strain(const struct sr_plan_object *o, const struct sr_board *board,
                              double rh_pct, double *out)
{
    double surface_pct;
    struct sr_board_answer now;
    enum sr_rc rc = sr_wood_emc(o->t_c, rh_pct, &surface_pct);
    if (rc == SR_OK)
        rc = sr_board_now(board, &now);
    if (rc == SR_OK)
        *out = o->c_per_pct * fabs(now.core_pct - surface_pct);
    return rc;
}

static enum sr_rc hold(const struct sr_plan_object *o, struct sr_board *board, double rh_pct,
                       double hold_d, int parts)
{
    double emc_pct;
    enum sr_rc rc = sr_wood_emc(o->t_c, rh_pct, &emc_pct);
    for (int i = 0; rc == SR_OK && i < parts; i++)
        rc = sr_board_step(board, emc_pct, emc_pct, hold_d * DAY_S / parts);
    return rc;
}

/* Walks the board through the plan and draws holds out until the core may follow. */
static enum sr_rc follow_core(const struct sr_plan_object *o, const struct sr_plan_rules *r,
                              double d_m2_s, int k, struct sr_plan_step steps[], size_t n)
{
    struct sr_board_spec spec = {
        .thickness_m = o->thickness_m, .open_faces = o->open_faces, .d_m2_s = d_m2_s};
    struct sr_board board;
    double emc_pct, patience_s;
    enum sr_rc rc = sr_wood_emc(o->t_c, o->rh_from_pct, &emc_pct);
    if (rc == SR_OK)
        rc = sr_board_begin(&spec, emc_pct, &board);
    if (rc == SR_OK)
        rc = sr_slab_response_s(o->thickness_m, o->open_faces, d_m2_s, 0.9, &patience_s);
    for (size_t i = 0; rc == SR_OK && i < n; i++) {
        struct sr_plan_step *s = &steps[i];
        rc = hold(o, &board, s->rh_to_pct, *of(&s->hold_d, k), 20);
        bool damp = s->rh_to_pct > r->damp_rh_pct && isfinite(r->damp_max_d);
        double next_pct = i + 1 < n ? steps[i + 1].rh_to_pct : s->rh_to_pct;
        double strain = 0.0;
        if (rc == SR_OK)
            rc = core_strain(o, &board, next_pct, &strain);
        while (rc == SR_OK && i + 1 < n && !damp && strain > r->strain_gradient_max) {
            double more_d = patience_s / DAY_S / 100.0;
            *of(&s->hold_d, k) += more_d;
            if (k == 1)
                s->why = (s->why & ~(unsigned)SR_PLAN_BY_RATE) | SR_PLAN_BY_GRADIENT;
            rc = hold(o, &board, s->rh_to_pct, more_d, 1);
            if (rc == SR_OK)
                rc = core_strain(o, &board, next_pct, &strain);
        }
        if (k == 1 && strain > r->strain_gradient_max)
            s->why |= SR_PLAN_OVER_GRADIENT;
        if (k == 1 && rc == SR_OK)
            rc = core_strain(o, &board, s->rh_to_pct, &s->core_strain);
    }
    return rc;
}

static void put_in_order(struct sr_plan_range *r)
{
    double low = fmin(r->low, fmin(r->mid, r->high));
    r->high = fmax(r->low, fmax(r->mid, r->high));
    r->low = low;
}

enum sr_rc sr_plan_make(const struct sr_plan_object *object, const struct sr_plan_rules *rules,
                        struct sr_plan_step steps[], size_t room, struct sr_plan *out)
{
    if (!object_ok(object) || !rules_ok(rules))
        return SR_RANGE;
    struct sr_plan plan = {0};
    enum sr_rc rc = lay_steps(object, rules, steps, room, &plan.n);
    if (rc != SR_OK)
        return rc;
    const double d[] = {object->d_high, object->d_mid, object->d_low}; /* quickest first */
    for (int k = 0; k < 3; k++) {
        rc = set_holds(object, rules, d[k], k, steps, plan.n);
        if (rc == SR_OK)
            rc = follow_core(object, rules, d[k], k, steps, plan.n);
        if (rc != SR_OK)
            return rc;
        for (size_t i = 0; i < plan.n; i++) {
            double hold_d = *of(&steps[i].hold_d, k);
            *of(&plan.total_d, k) += hold_d;
            if (steps[i].rh_to_pct >= DAMP_AT_PCT)
                *of(&plan.at_70_d, k) += hold_d;
        }
    }
    /* Holds cut at the damp end are shared out differently for each D. */
    for (size_t i = 0; i < plan.n; i++)
        put_in_order(&steps[i].hold_d);
    put_in_order(&plan.total_d);
    put_in_order(&plan.at_70_d);
    *out = plan;
    return SR_OK;
}
