/* wood.c - see wood.h. */
#include "stillroom/wood.h"

#include <stdbool.h>

/* Each coefficient of the isotherm is a parabola in degC: a + b T + c T^2. */
struct parabola {
    double a, b, c;
};

/* USDA Wood Handbook, eq. (4-5), degC. */
static const struct parabola molar = {349.0, 1.29, 0.0135};
static const struct parabola k0 = {0.805, 0.000736, -0.00000273};
static const struct parabola k1 = {6.27, -0.00938, -0.000303};
static const struct parabola k2 = {1.91, 0.0407, -0.000293};

static double at(const struct parabola *p, double t_c)
{
    return p->a + t_c * (p->b + t_c * p->c);
}

static bool temperature_ok(double t_c)
{
    return t_c >= SR_WOOD_T_MIN_C && t_c <= SR_WOOD_T_MAX_C;
}

enum sr_rc sr_wood_emc(double t_c, double rh_pct, double *out_pct)
{
    if (!temperature_ok(t_c) || !(rh_pct >= 0.0 && rh_pct <= SR_WOOD_RH_MAX_PCT))
        return SR_RANGE;
    const double k = at(&k0, t_c) * rh_pct / 100.0;
    const double first = at(&k1, t_c) * k;
    const double second = first * at(&k2, t_c) * k;

    *out_pct = 1800.0 / at(&molar, t_c) *
               (k / (1.0 - k) + (first + 2.0 * second) / (1.0 + first + second));
    return SR_OK;
}
