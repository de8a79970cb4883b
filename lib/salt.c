/* salt.c - see salt.h. */
#include "stillroom/salt.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#define T_MAX_C 50.0
#define APART_PCT 30.0
#define SLOPE_MIN 0.8
#define SLOPE_MAX 1.25

/* Greenspan (1977): a0 + a1 t + a2 t^2 + a3 t^3, in the order of enum sr_salt. The uncertainties
 * are from memory; 0 where none is known. */
struct fixed_point {
    const char *name;
    double a0, a1, a2, a3;
    double t_max_c;
    double u_pct;
};
static const struct fixed_point points[SR_SALT_COUNT] = {
    {"lithium chloride", 11.2323, 0.00824245, -2.14890e-4, 0.0, T_MAX_C, 0.3},
    {"magnesium chloride", 33.6686, -0.00797397, -1.08988e-3, 0.0, T_MAX_C, 0.2},
    {"potassium carbonate", 43.1315, 0.00147523, 0.0, 0.0, 30.0, 0.0},
    {"sodium chloride", 75.5164, 0.0398321, -2.65459e-3, 2.848e-5, T_MAX_C, 0.1},
    {"potassium chloride", 88.6190, -0.193340, 8.99706e-4, 0.0, T_MAX_C, 0.3},
    {"potassium nitrate", 96.3361, 0.0112371, -4.84514e-3, 0.0, T_MAX_C, 0.0},
    {"potassium sulphate", 98.7792, -0.0590502, 0.0, 0.0, T_MAX_C, 0.5},
};

static bool within(double x, double low, double high)
{
    return x >= low && x <= high; /* NaN is not */
}

static const struct fixed_point *find(enum sr_salt salt)
{
    return (size_t)salt < SR_SALT_COUNT ? &points[salt] : NULL;
}

const char *sr_salt_name(enum sr_salt salt)
{
    const struct fixed_point *p = find(salt);

    return p != NULL ? p->name : NULL;
}

enum sr_rc sr_salt_rh(enum sr_salt salt, double t_c, double *out_pct)
{
    const struct fixed_point *p = find(salt);

    if (p == NULL || !within(t_c, 0.0, p->t_max_c))
        return SR_RANGE;
    *out_pct = p->a0 + t_c * (p->a1 + t_c * (p->a2 + t_c * p->a3));
    return SR_OK;
}

enum sr_rc sr_salt_uncertainty(enum sr_salt salt, double *out_pct)
{
    const struct fixed_point *p = find(salt);

    if (p == NULL)
        return SR_RANGE;
    if (!(p->u_pct > 0.0))
        return SR_NO_SOLUTION;
    *out_pct = p->u_pct;
    return SR_OK;
}

enum sr_rc sr_salt_two_point(double read_a_pct, double true_a_pct, double read_b_pct,
                             double true_b_pct, struct sr_salt_correction *out)
{
    if (!within(read_a_pct, 0.0, 100.0) || !within(true_a_pct, 0.0, 100.0) ||
        !within(read_b_pct, 0.0, 100.0) || !within(true_b_pct, 0.0, 100.0))
        return SR_RANGE;
    if (fabs(true_b_pct - true_a_pct) < APART_PCT)
        return SR_THIN;
    const double read = read_b_pct - read_a_pct;
    if (!(fabs(read) > 0.0))
        return SR_NO_SOLUTION;
    const double slope = (true_b_pct - true_a_pct) / read;
    if (!within(slope, SLOPE_MIN, SLOPE_MAX))
        return SR_NO_SOLUTION;
    *out = (struct sr_salt_correction){.slope = slope,
                                       .offset_pct = true_a_pct - slope * read_a_pct};
    return SR_OK;
}

enum sr_rc sr_salt_correct(const struct sr_salt_correction *c, double raw_pct, double *out_pct)
{
    if (!within(c->slope, SLOPE_MIN, SLOPE_MAX) || !within(c->offset_pct, -100.0, 100.0) ||
        !within(raw_pct, -20.0, 120.0))
        return SR_RANGE;
    *out_pct = fmin(fmax(c->slope * raw_pct + c->offset_pct, 0.0), 100.0);
    return SR_OK;
}
