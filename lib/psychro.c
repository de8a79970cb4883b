/* psychro.c - see psychro.h. */
#include "stillroom/psychro.h"

#include <math.h>
#include <stdbool.h>

#include "svp.h"

/* Hyland & Wexler (1983), ASHRAE Fundamentals ch. 1 eqs (6) and (5). */
const struct svp_coefficients sr_svp_water = {
    .c1 = -5.8002206e3,
    .c2 = 1.3914993,
    .c3 = -4.8640239e-2,
    .c4 = 4.1764768e-5,
    .c5 = -1.4452093e-8,
    .c6 = 0.0,
    .c7 = 6.5459673,
};
const struct svp_coefficients sr_svp_ice = {
    .c1 = -5.6745359e3,
    .c2 = 6.3925247,
    .c3 = -9.677843e-3,
    .c4 = 6.2215701e-7,
    .c5 = 2.0747825e-9,
    .c6 = -9.484024e-13,
    .c7 = 4.1635019,
};

/* Gas constant of water vapour, J/(kg K). */
static const double vapour_gas_constant = 461.52;

/* The two curves meet here, not at 0 degC. */
#define TRIPLE_POINT_C 0.01
#define SVP_MIN_C (-100.0)
#define SVP_MAX_C 200.0

static bool within(double x, double low, double high)
{
    return x >= low && x <= high; /* NaN is not */
}

static bool air_ok(double t_c, double rh_pct)
{
    return within(t_c, SR_PSYCHRO_T_MIN_C, SR_PSYCHRO_T_MAX_C) &&
           within(rh_pct, 0.0, SR_PSYCHRO_RH_MAX_PCT);
}

static double ln_svp_water(double t_c)
{
    const double t_k = t_c + SVP_ZERO_C_K;

    return svp_ln(&sr_svp_water, t_k, log(t_k));
}

/* Vapour pressure of air already checked. */
static double vapour(double t_c, double rh_pct)
{
    return fmin(rh_pct, 100.0) / 100.0 * exp(ln_svp_water(t_c));
}

double sr_svp_start_k(double ln_p)
{
    /* Alduchov & Eskridge (1996), Magnus form over water: only where Newton begins. */
    const double ln_p0 = 6.414998;
    const double y = ln_p - ln_p0;

    return 243.04 * y / (17.625 - y) + SVP_ZERO_C_K;
}

double sr_svp_invert(const struct svp_coefficients *c, double ln_p, double start_k)
{
    double t_k = start_k;

    /* ln p curves by f''/2f' = 0.006 per kelvin at most, so after a step s what is left is
     * below 0.006 s^2: a step under 1e-4 K leaves less than 1e-9 K. */
    for (int i = 0; i < 20; i++) {
        const double step = (svp_ln(c, t_k, log(t_k)) - ln_p) / svp_slope(c, t_k);
        t_k -= step;
        if (fabs(step) < 1e-4)
            break;
    }
    return t_k;
}

enum sr_rc sr_psychro_svp_water(double t_c, double *out_pa)
{
    if (!within(t_c, SVP_MIN_C, SVP_MAX_C))
        return SR_RANGE;
    *out_pa = exp(ln_svp_water(t_c));
    return SR_OK;
}

enum sr_rc sr_psychro_svp_ice(double t_c, double *out_pa)
{
    if (!within(t_c, SVP_MIN_C, TRIPLE_POINT_C))
        return SR_RANGE;
    const double t_k = t_c + SVP_ZERO_C_K;
    *out_pa = exp(svp_ln(&sr_svp_ice, t_k, log(t_k)));
    return SR_OK;
}

enum sr_rc sr_psychro_svp_slope(double t_c, double *out_per_k)
{
    if (!within(t_c, SVP_MIN_C, SVP_MAX_C))
        return SR_RANGE;
    *out_per_k = svp_slope(&sr_svp_water, t_c + SVP_ZERO_C_K);
    return SR_OK;
}

enum sr_rc sr_psychro_vapour_pressure(double t_c, double rh_pct, double *out_pa)
{
    if (!air_ok(t_c, rh_pct))
        return SR_RANGE;
    *out_pa = vapour(t_c, rh_pct);
    return SR_OK;
}

enum sr_rc sr_psychro_rh(double t_c, double e_pa, double *out_pct)
{
    if (!air_ok(t_c, 0.0) || !within(e_pa, 0.0, 200000.0))
        return SR_RANGE;
    *out_pct = 100.0 * e_pa / exp(ln_svp_water(t_c));
    return SR_OK;
}

enum sr_rc sr_psychro_vpd(double t_c, double rh_pct, double *out_pa)
{
    if (!air_ok(t_c, rh_pct))
        return SR_RANGE;
    *out_pa = (1.0 - fmin(rh_pct, 100.0) / 100.0) * exp(ln_svp_water(t_c));
    return SR_OK;
}

enum sr_rc sr_psychro_dew_point(double t_c, double rh_pct, double *out_c)
{
    if (!air_ok(t_c, rh_pct) || !(rh_pct > 0.0))
        return SR_RANGE;
    if (rh_pct >= 100.0) {
        *out_c = t_c;
        return SR_OK;
    }
    const double ln_e = log(rh_pct / 100.0) + ln_svp_water(t_c);
    if (!(ln_e >= ln_svp_water(SR_PSYCHRO_T_MIN_C)))
        return SR_NO_SOLUTION;
    *out_c = sr_svp_invert(&sr_svp_water, ln_e, sr_svp_start_k(ln_e)) - SVP_ZERO_C_K;
    return SR_OK;
}

enum sr_rc sr_psychro_frost_point(double t_c, double rh_pct, double *out_c)
{
    if (!air_ok(t_c, rh_pct) || !(rh_pct > 0.0))
        return SR_RANGE;
    const double ln_e = log(fmin(rh_pct, 100.0) / 100.0) + ln_svp_water(t_c);
    const double warmest_k = TRIPLE_POINT_C + SVP_ZERO_C_K;
    const double coldest_k = SVP_MIN_C + SVP_ZERO_C_K;
    if (!(ln_e <= svp_ln(&sr_svp_ice, warmest_k, log(warmest_k))) ||
        !(ln_e >= svp_ln(&sr_svp_ice, coldest_k, log(coldest_k))))
        return SR_NO_SOLUTION;
    *out_c = sr_svp_invert(&sr_svp_ice, ln_e, sr_svp_start_k(ln_e)) - SVP_ZERO_C_K;
    return SR_OK;
}

enum sr_rc sr_psychro_absolute_humidity(double t_c, double rh_pct, double *out_g_m3)
{
    if (!air_ok(t_c, rh_pct))
        return SR_RANGE;
    *out_g_m3 = 1000.0 * vapour(t_c, rh_pct) / (vapour_gas_constant * (t_c + SVP_ZERO_C_K));
    return SR_OK;
}

enum sr_rc sr_psychro_surface_rh(double t_c, double rh_pct, double ts_c, double *out_pct)
{
    if (!air_ok(t_c, rh_pct) || !within(ts_c, SR_PSYCHRO_T_MIN_C, SR_PSYCHRO_T_MAX_C))
        return SR_RANGE;
    *out_pct = fmin(rh_pct, 100.0) * exp(ln_svp_water(t_c) - ln_svp_water(ts_c));
    return SR_OK;
}
