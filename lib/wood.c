/* wood.c - see wood.h. */
#include "stillroom/wood.h"

#include <math.h>
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

static const double numerator = 1800.0;

static double at(const struct parabola *p, double t_c)
{
    return p->a + t_c * (p->b + t_c * p->c);
}

/* The four of them at one temperature. */
struct isotherm {
    double scale, k0, k1, k2;
};

static struct isotherm isotherm_at(double t_c)
{
    return (struct isotherm){numerator / at(&molar, t_c), at(&k0, t_c), at(&k1, t_c),
                             at(&k2, t_c)};
}

static double moisture(const struct isotherm *w, double rh_pct)
{
    const double k = w->k0 * rh_pct / 100.0;
    const double first = w->k1 * k;
    const double second = first * w->k2 * k;

    return w->scale * (k / (1.0 - k) + (first + 2.0 * second) / (1.0 + first + second));
}

static bool temperature_ok(double t_c)
{
    return t_c >= SR_WOOD_T_MIN_C && t_c <= SR_WOOD_T_MAX_C;
}

enum sr_rc sr_wood_emc(double t_c, double rh_pct, double *out_pct)
{
    if (!temperature_ok(t_c) || !(rh_pct >= 0.0 && rh_pct <= SR_WOOD_RH_MAX_PCT))
        return SR_RANGE;
    const struct isotherm w = isotherm_at(t_c);
    *out_pct = moisture(&w, rh_pct);
    return SR_OK;
}

enum sr_rc sr_wood_rh(double t_c, double moisture_pct, double *out_pct)
{
    double low = 0.0, high = SR_WOOD_RH_MAX_PCT;

    if (!temperature_ok(t_c) || !(moisture_pct >= 0.0) || isinf(moisture_pct))
        return SR_RANGE;
    const struct isotherm w = isotherm_at(t_c);
    if (moisture_pct > moisture(&w, high))
        return SR_NO_SOLUTION;
    while (high - low > 1e-10) {
        const double middle = 0.5 * (low + high);
        if (moisture(&w, middle) < moisture_pct)
            low = middle;
        else
            high = middle;
    }
    *out_pct = 0.5 * (low + high);
    return SR_OK;
}

enum sr_rc sr_wood_slope(double t_c, double rh_pct, double *out)
{
    if (!temperature_ok(t_c) || !(rh_pct >= 0.0 && rh_pct <= SR_WOOD_RH_MAX_PCT))
        return SR_RANGE;
    const struct isotherm w = isotherm_at(t_c);
    const double k = w.k0 * rh_pct / 100.0;
    const double first = w.k1 * k, second = first * w.k2 * k;
    const double per_k = w.k1 + 2.0 * w.k1 * w.k2 * k; /* of first + second */
    const double over = first + 2.0 * second, under = 1.0 + first + second;
    const double hydrated =
        ((w.k1 + 4.0 * w.k1 * w.k2 * k) * under - over * per_k) / (under * under);
    *out = w.scale * (1.0 / ((1.0 - k) * (1.0 - k)) + hydrated) * w.k0 / 100.0;
    return SR_OK;
}
