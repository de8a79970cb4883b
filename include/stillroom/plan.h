/* plan.h - a stepwise plan by which damp wood comes back to rest with the room.
 *
 * Units:   humidity percent, temperature degC, thickness m, D m2/s, times days.
 * Range:   humidity 5..98 %, temperature -1..60 degC; the rest at each member.
 * Errors:  SR_RANGE outside it, NaN included; SR_NOMEM if the steps do not fit.
 * Owner:   steps[room] is the caller's; SR_PLAN_STEPS_MAX places always suffice.
 * Threads: pure functions.
 *
 * How: the humidity goes down (or up) in steps, each no greater than step_max_pct and than
 * the step whose free strain is strain_step_max (gesso.h), so steps are smaller at the damp
 * end. Each is held until the mean moisture has made the share `response` of its change and
 * no shorter than the daily rate allows. Above damp_rh_pct the holds are cut to damp_max_d
 * days in all: waiting there for the wood is growing mould. Below it the next step waits
 * until the core's strain against the coming surface is within strain_gradient_max (diffusion
 * solver, board.h).
 * Source: diffusion, Crank (1975); moisture, Wood Handbook (wood.h); strains, Mecklenburg,
 * Tumosa & Erhardt (1998). Step, rate, response and the use of the yield strain as gradient
 * limit are project choices; two days above 65 to 70 % are common practice, from memory.
 * Uncertainty: D is known to a factor of sixty, so every hold is a range over it. Print
 * ranges, never a date. Weight and surface inspection, not this, decide when to step on.
 */
#ifndef STILLROOM_PLAN_H
#define STILLROOM_PLAN_H

#include <stddef.h>

#include "stillroom/rc.h"

/* All four must be shown with a plan. The 16 % and the 48 hours: common practice, from memory. */
extern const char sr_plan_caveat[];
extern const char sr_plan_mould_caution[];
extern const char sr_plan_wrap_caution[];
extern const char sr_plan_flood_caution[];

#define SR_PLAN_STEPS_MAX 256

struct sr_plan_rules {
    double step_max_pct;        /* 0.5..30 */
    double rate_max_pct_d;      /* 0.1..100 */
    double response;            /* 0.1..0.99: 0.5, 0.632 or 0.9 */
    double strain_step_max;     /* up to 0.1; NaN: no such limit */
    double damp_rh_pct;         /* holds above it count as damp; 50..98 */
    double damp_max_d;          /* in all; INFINITY: no such limit */
    double strain_gradient_max; /* up to 0.1; NaN: no such limit */
};

enum sr_plan_kind {
    SR_PLAN_ROBUST, /* unpainted, sound */
    SR_PLAN_PAINTED /* painted, gilded or fragile */
};

/* The defaults: steps of 5 %, 5 % a day for robust and 2 % for painted wood, response 0.9
 * for thin (10 mm or less) or painted and 0.5 for massive robust wood, strains 0.0025 and
 * 0.004, two days above 65 %. */
SR_MUST_USE enum sr_rc sr_plan_rules_for(enum sr_plan_kind kind, double thickness_m,
                                         struct sr_plan_rules *out);

struct sr_plan_object {
    double thickness_m;          /* of the thickest wood, 1e-4..0.5 */
    int open_faces;              /* 1 or 2 */
    double d_low, d_mid, d_high; /* rising, 1e-13..1e-8; board.h has the usual three */
    double c_per_pct;            /* shrinkage coefficient (shrink.h), above 0, up to 0.02 */
    double t_c;
    double rh_from_pct, rh_to_pct; /* from: by its moisture (sr_wood_rh) or intake air */
};

/* What decides a step or its hold, at the middle D; any together. */
enum {
    SR_PLAN_BY_STRAIN = 1,     /* the step is smaller than step_max_pct for the strain */
    SR_PLAN_BY_RATE = 2,       /* the hold by the daily rate, else by the response */
    SR_PLAN_BY_DAMP = 4,       /* the hold is cut: mould comes first */
    SR_PLAN_BY_GRADIENT = 8,   /* the hold is drawn out until the core follows */
    SR_PLAN_OVER_GRADIENT = 16 /* the core lags further than the limit: inspect closely */
};

struct sr_plan_range {
    double low, mid, high; /* mid at the middle D; low and high over all three */
};

struct sr_plan_step {
    double rh_from_pct, rh_to_pct; /* hold at rh_to_pct */
    double strain;                 /* free strain of this step, without sign */
    struct sr_plan_range hold_d;
    double core_strain; /* core against surface at the end of the hold, at the middle D */
    unsigned why;
};

struct sr_plan {
    size_t n;
    struct sr_plan_range total_d;
    struct sr_plan_range at_70_d; /* in holds at 70 % or more */
};

/* n = 0 if there is nothing to do (from and to less than 0.01 % apart). */
SR_MUST_USE enum sr_rc sr_plan_make(const struct sr_plan_object *object,
                                    const struct sr_plan_rules *rules,
                                    struct sr_plan_step steps[], size_t room,
                                    struct sr_plan *out);

/* The greatest step from rh_pct towards dry (or damp, if up is not 0) whose free strain is
 * at most strain. SR_NO_SOLUTION if no step within 0..99 % reaches it. */
SR_MUST_USE enum sr_rc sr_plan_step_cap(double c_per_pct, double t_c, double rh_pct, int up,
                                        double strain, double *out_pct);

#endif
