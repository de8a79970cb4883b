/* surface.c - see surface.h. */
#include "stillroom/surface.h"

#include <math.h>
#include <stdbool.h>

#include "stillroom/psychro.h"
#include "svp.h"

#define FACTOR_NEEDS_K 5.0

static bool temperature_ok(double t_c)
{
    return t_c >= SR_PSYCHRO_T_MIN_C && t_c <= SR_PSYCHRO_T_MAX_C;
}

enum sr_rc sr_surface_margin(double t_c, double rh_pct, double ts_c, double *out_k)
{
    double point_c;

    if (!temperature_ok(ts_c))
        return SR_RANGE;
    enum sr_rc rc = SR_NO_SOLUTION;
    if (ts_c < 0.0)
        rc = sr_psychro_frost_point(t_c, rh_pct, &point_c);
    /* Air too damp to have a frost point wets a freezing surface first. */
    if (rc == SR_NO_SOLUTION)
        rc = sr_psychro_dew_point(t_c, rh_pct, &point_c);
    if (rc != SR_OK)
        return rc;
    *out_k = ts_c - point_c;
    return SR_OK;
}

enum sr_rc sr_surface_temperature_at(double t_c, double rh_pct, double rh_limit_pct,
                                     double *out_c)
{
    double e_pa;
    const enum sr_rc rc = sr_psychro_vapour_pressure(t_c, rh_pct, &e_pa);

    if (rc != SR_OK)
        return rc;
    if (!(rh_pct > 0.0 && rh_limit_pct > 0.0 && rh_limit_pct <= 100.0))
        return SR_RANGE;
    const double ln_p = log(e_pa / (rh_limit_pct / 100.0));
    double lowest_pa, highest_pa;
    if (sr_psychro_svp_water(SR_PSYCHRO_T_MIN_C, &lowest_pa) != SR_OK ||
        sr_psychro_svp_water(SR_PSYCHRO_T_MAX_C, &highest_pa) != SR_OK ||
        !(ln_p >= log(lowest_pa) && ln_p <= log(highest_pa)))
        return SR_NO_SOLUTION;
    *out_c = sr_svp_invert(&sr_svp_water, ln_p, sr_svp_start_k(ln_p)) - SVP_ZERO_C_K;
    return SR_OK;
}

enum sr_rc sr_surface_factor(double inside_c, double outside_c, double ts_c, double *out)
{
    if (!temperature_ok(inside_c) || !temperature_ok(outside_c) || !temperature_ok(ts_c))
        return SR_RANGE;
    if (fabs(inside_c - outside_c) < FACTOR_NEEDS_K)
        return SR_NO_SOLUTION;
    *out = (ts_c - outside_c) / (inside_c - outside_c);
    return SR_OK;
}
