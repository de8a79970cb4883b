/* mould.c - see mould.h. */
#include "stillroom/mould.h"

#include <float.h>
#include <math.h>
#include <stddef.h>

#include "mould_step.h"

#define T_MIN_C (-60.0)
#define T_MAX_C 100.0
#define RH_MAX_PCT 105.0
#define FROZEN_C 0.0
#define TOO_HOT_C 50.0
#define CUBIC_TO_C 20.0
#define H_PER_WEEK (7.0 * 24.0)

/* Ojanen et al. (2010), in the order of enum sr_mould_sensitivity. */
static const struct sr_mould_class classes[] = {
    {.k1_start = 1.0, .k1_grown = 2.0, .a = 1.0, .b = 7.0, .c = 2.0, .rh_min_pct = 80.0},
    {.k1_start = 0.578, .k1_grown = 0.386, .a = 0.3, .b = 6.0, .c = 1.0, .rh_min_pct = 80.0},
    {.k1_start = 0.072, .k1_grown = 0.097, .a = 0.0, .b = 5.0, .c = 1.5, .rh_min_pct = 85.0},
    {.k1_start = 0.033, .k1_grown = 0.014, .a = 0.0, .b = 3.0, .c = 1.0, .rh_min_pct = 85.0},
};

/* Hukka & Viitanen (1999). */
static const struct sr_mould_class class_1999 = {
    .k1_start = 1.0, .a = 1.0, .b = 7.0, .c = 2.0, .rh_min_pct = 80.0, .by_visible_time = true};

/* Critical humidity up to 20 degC: c3 T^3 + c2 T^2 + c1 T + c0. */
static const struct {
    double c3, c2, c1, c0;
} critical = {-0.00267, 0.160, -3.13, 100.0};

/* Weeks to an index: exp(t ln T + rh ln RH + wood W + surface SQ + c). */
struct weeks {
    double t, rh, wood, surface, c;
};
static const struct weeks first = {-0.68, -13.9, 0.14, -0.33, 66.02};
static const struct weeks visible = {-0.74, -12.72, 0.06, 0.0, 61.50}; /* from memory */

/* How growth slows as the index nears its limit. */
static const double slowing = 2.3;

/* Decline of bare pine, per day, in its three stages by hours since growth stopped. */
static const struct {
    double first_per_day, last_per_day, first_until_h, last_from_h;
} drying = {0.032, 0.016, 6.0, 24.0};

static bool within(double x, double low, double high)
{
    return x >= low && x <= high; /* NaN is not */
}

/* fmin and fmax are calls, and this is worked out for every reading. */
static double lesser(double a, double b)
{
    return a < b ? a : b;
}

static double greater(double a, double b)
{
    return a > b ? a : b;
}

static bool class_ok(const struct sr_mould_class *c)
{
    return within(c->k1_start, 0.0, 10.0) && within(c->k1_grown, 0.0, 10.0) &&
           within(c->a, 0.0, 10.0) && within(c->b, 0.0, 10.0) && within(c->c, 0.0, 10.0) &&
           within(c->rh_min_pct, 1.0, 100.0) && within(c->wood, 0.0, 1.0) &&
           within(c->surface, 0.0, 1.0);
}

static bool climate_ok(double t_c, double rh_pct)
{
    return within(t_c, T_MIN_C, T_MAX_C) && within(rh_pct, 0.0, RH_MAX_PCT);
}

static bool alive(double t_c)
{
    return t_c > FROZEN_C && t_c < TOO_HOT_C;
}

static double critical_rh(const struct sr_mould_class *c, double t_c)
{
    if (t_c > CUBIC_TO_C)
        return c->rh_min_pct;
    return greater(((critical.c3 * t_c + critical.c2) * t_c + critical.c1) * t_c + critical.c0,
                   c->rh_min_pct);
}

/* ln of the weeks to an index. */
static double ln_weeks(const struct weeks *w, const struct sr_mould_class *c, double ln_t,
                       double ln_rh)
{
    return w->t * ln_t + w->rh * ln_rh + w->wood * c->wood + w->surface * c->surface + w->c;
}

#define NO_GROWTH (-1.0)

/* The largest index that these conditions lead to, or NO_GROWTH. They grow from critical humidity
 * up; just above 0 degC that rounds to 100, where x has no value. */
static inline double limit_at(const struct sr_mould_class *c, double t_c, double rh_pct)
{
    if (!alive(t_c))
        return NO_GROWTH;
    const double crit = critical_rh(c, t_c);
    if (!(rh_pct >= crit && crit < 100.0))
        return NO_GROWTH;
    const double x = (rh_pct - crit) / (100.0 - crit);
    return greater(c->a + (c->b - c->c * x) * x, 0.0);
}

/* k1 k2: how the index itself bears on its growth. */
static inline double vigour(const struct sr_mould_class *c, double k1_grown, double index,
                            double limit)
{
    const double k1 = index < 1.0 ? c->k1_start : k1_grown;

    return k1 - k1 * exp(slowing * (index - limit));
}

/* More than an hour, or the form of 1999: in equal steps of an hour at most. */
static double grow_long(const struct sr_mould_class *c, double t_c, double rh_pct, double limit,
                        double dt_h, double index)
{
    const double ln_t = log(t_c);
    const double ln_rh = log(rh_pct);
    const double ln_first = ln_weeks(&first, c, ln_t, ln_rh);
    const double n = dt_h > 1.0 ? ceil(dt_h) : 1.0;
    const double per_step = exp(-ln_first) * (dt_h / n) * (1.0 / H_PER_WEEK);
    double k1_grown = c->k1_grown;

    if (c->by_visible_time)
        k1_grown = 2.0 / (exp(ln_weeks(&visible, c, ln_t, ln_rh) - ln_first) - 1.0);
    for (double i = 0.0; i < n && index < limit; i += 1.0)
        index += vigour(c, k1_grown, index, limit) * per_step;
    return lesser(index, SR_MOULD_INDEX_MAX);
}

static double grow(const struct sr_mould_class *c, double t_c, double rh_pct, double limit,
                   double dt_h, double index)
{
    if (!(index < limit))
        return index;
    if (dt_h > 1.0 || c->by_visible_time)
        return grow_long(c, t_c, rh_pct, limit, dt_h, index);
    /* The one factor that waits for the index of the hour before is worked out first. */
    const double now = vigour(c, c->k1_grown, index, limit);
    const double per_step =
        exp(-ln_weeks(&first, c, log(t_c), log(rh_pct))) * dt_h * (1.0 / H_PER_WEEK);
    return lesser(index + now * per_step, SR_MOULD_INDEX_MAX);
}

static double decline_by(double decline, double dt_h, double index, double *dry_h)
{
    const double from = *dry_h;
    const double to = from + dt_h;
    const double early = lesser(to, drying.first_until_h) - lesser(from, drying.first_until_h);
    const double late = greater(to, drying.last_from_h) - greater(from, drying.last_from_h);
    const double loss = (drying.first_per_day * early + drying.last_per_day * late) / 24.0;

    *dry_h = to;
    return greater(index - decline * loss, 0.0);
}

enum sr_rc sr_mould_class_get(enum sr_mould_sensitivity sensitivity, struct sr_mould_class *out)
{
    const size_t i = (size_t)sensitivity;

    if (i >= sizeof classes / sizeof *classes)
        return SR_RANGE;
    *out = classes[i];
    return SR_OK;
}

enum sr_rc sr_mould_class_1999(double wood, double surface, struct sr_mould_class *out)
{
    if (!within(wood, 0.0, 1.0) || !within(surface, 0.0, 1.0))
        return SR_RANGE;
    *out = class_1999;
    out->wood = wood;
    out->surface = surface;
    return SR_OK;
}

enum sr_rc sr_mould_critical_rh(const struct sr_mould_class *c, double t_c, double *out_pct)
{
    if (!class_ok(c) || !within(t_c, T_MIN_C, T_MAX_C))
        return SR_RANGE;
    if (!alive(t_c))
        return SR_NO_SOLUTION;
    *out_pct = critical_rh(c, t_c);
    return SR_OK;
}

enum sr_rc sr_mould_weeks_to_first(const struct sr_mould_class *c, double t_c, double rh_pct,
                                   double *out_weeks)
{
    if (!class_ok(c) || !within(t_c, T_MIN_C, T_MAX_C) || !alive(t_c) ||
        !within(rh_pct, 1.0, 100.0))
        return SR_RANGE;
    *out_weeks = exp(ln_weeks(&first, c, log(t_c), log(rh_pct)));
    return SR_OK;
}

enum sr_rc sr_mould_index_limit(const struct sr_mould_class *c, double t_c, double rh_pct,
                                double *out_index)
{
    if (!class_ok(c) || !climate_ok(t_c, rh_pct))
        return SR_RANGE;
    const double limit = greater(limit_at(c, t_c, lesser(rh_pct, 100.0)), 0.0);
    *out_index = lesser(limit, SR_MOULD_INDEX_MAX);
    return SR_OK;
}

double sr_mould_step_checked(const struct sr_mould_class *c, double decline, double t_c,
                             double rh_pct, double dt_h, double index, double *dry_h)
{
    rh_pct = lesser(rh_pct, 100.0);
    const double limit = limit_at(c, t_c, rh_pct);
    if (limit >= 0.0) {
        *dry_h = 0.0;
        return grow(c, t_c, rh_pct, limit, dt_h, index);
    }
    if (c->hold_frozen && t_c <= FROZEN_C)
        return index;
    return decline_by(decline, dt_h, index, dry_h);
}

bool sr_mould_step_state_ok(const struct sr_mould_state *state)
{
    return within(state->index, 0.0, SR_MOULD_INDEX_MAX) && within(state->dry_h, 0.0, DBL_MAX);
}

/* Whether the parameters are numbers at all: one test for every step, where all of class_ok
 * would cost a third of it. An odd class gives odd figures within 0..6. */
static bool class_has_numbers(const struct sr_mould_class *c)
{
    return within(c->k1_start + c->k1_grown + c->a + c->b + c->c + c->rh_min_pct + c->wood +
                      c->surface,
                  0.0, 1000.0);
}

enum sr_rc sr_mould_step(const struct sr_mould_class *c, double decline, double t_c,
                         double rh_pct, double dt_h, struct sr_mould_state *state)
{
    if (!class_has_numbers(c) || !within(decline, 0.0, 1.0) || !climate_ok(t_c, rh_pct) ||
        !within(dt_h, 0.0, SR_MOULD_STEP_MAX_H) || !sr_mould_step_state_ok(state))
        return SR_RANGE;
    state->index =
        sr_mould_step_checked(c, decline, t_c, rh_pct, dt_h, state->index, &state->dry_h);
    return SR_OK;
}
