/* uncertainty.c - see uncertainty.h. */
#include "stillroom/uncertainty.h"

#include <math.h>
#include <stdbool.h>

#include "stillroom/mixture.h"
#include "stillroom/psychro.h"
#include "stillroom/surface.h"
#include "stillroom/wood.h"

#define STEP 1e-3 /* of a kelvin, a percent, a pascal: curvature and rounding both stay small */

static enum sr_rc value_of(enum sr_uncertainty_quantity quantity,
                           const struct sr_uncertainty_input *in, double *out)
{
    switch (quantity) {
    case SR_UNCERTAINTY_SATURATION_PRESSURE:
        return sr_psychro_svp_water(in->t_c, out);
    case SR_UNCERTAINTY_VAPOUR_PRESSURE:
        return sr_psychro_vapour_pressure(in->t_c, in->rh_pct, out);
    case SR_UNCERTAINTY_VPD:
        return sr_psychro_vpd(in->t_c, in->rh_pct, out);
    case SR_UNCERTAINTY_DEW_POINT:
        return sr_psychro_dew_point(in->t_c, in->rh_pct, out);
    case SR_UNCERTAINTY_FROST_POINT:
        return sr_psychro_frost_point(in->t_c, in->rh_pct, out);
    case SR_UNCERTAINTY_ABSOLUTE_HUMIDITY:
        return sr_psychro_absolute_humidity(in->t_c, in->rh_pct, out);
    case SR_UNCERTAINTY_HUMIDITY_RATIO:
        return sr_mixture_ratio(in->t_c, in->rh_pct, in->p_pa, out);
    case SR_UNCERTAINTY_ENTHALPY:
        return sr_mixture_enthalpy(in->t_c, in->rh_pct, in->p_pa, out);
    case SR_UNCERTAINTY_WET_BULB:
        return sr_mixture_wet_bulb(in->t_c, in->rh_pct, in->p_pa, out);
    case SR_UNCERTAINTY_EMC:
        return sr_wood_emc(in->t_c, in->rh_pct, out);
    case SR_UNCERTAINTY_SURFACE_RH:
        return sr_psychro_surface_rh(in->t_c, in->rh_pct, in->ts_c, out);
    case SR_UNCERTAINTY_SURFACE_MARGIN:
        return sr_surface_margin(in->t_c, in->rh_pct, in->ts_c, out);
    case SR_UNCERTAINTY_SURFACE_TEMPERATURE_AT:
        return sr_surface_temperature_at(in->t_c, in->rh_pct, in->rh_limit_pct, out);
    case SR_UNCERTAINTY_SURFACE_FACTOR:
        return sr_surface_factor(in->t_c, in->outside_c, in->ts_c, out);
    }
    return SR_RANGE;
}

enum input {
    BY_T,
    BY_RH,
    BY_TS,
    BY_OUTSIDE,
    BY_P,
    INPUTS
};

static double *input_at(struct sr_uncertainty_input *in, enum input which)
{
    switch (which) {
    case BY_T:
        return &in->t_c;
    case BY_RH:
        return &in->rh_pct;
    case BY_TS:
        return &in->ts_c;
    case BY_OUTSIDE:
        return &in->outside_c;
    case BY_P:
    case INPUTS:
        break;
    }
    return &in->p_pa;
}

static bool uses(enum sr_uncertainty_quantity quantity, enum input which)
{
    const bool factor = quantity == SR_UNCERTAINTY_SURFACE_FACTOR;

    switch (which) {
    case BY_T:
        return true;
    case BY_RH:
        return quantity != SR_UNCERTAINTY_SATURATION_PRESSURE && !factor;
    case BY_TS:
        return quantity == SR_UNCERTAINTY_SURFACE_RH ||
               quantity == SR_UNCERTAINTY_SURFACE_MARGIN || factor;
    case BY_OUTSIDE:
        return factor;
    case BY_P:
        return quantity == SR_UNCERTAINTY_HUMIDITY_RATIO ||
               quantity == SR_UNCERTAINTY_ENTHALPY || quantity == SR_UNCERTAINTY_WET_BULB;
    case INPUTS:
        break;
    }
    return false;
}

/* Slope of the quantity by one input; one-sided at the edge of the input's range. */
static enum sr_rc slope_by(enum sr_uncertainty_quantity quantity,
                           const struct sr_uncertainty_input *in, double value,
                           enum input which, double *out)
{
    struct sr_uncertainty_input low = *in, high = *in;
    double below = value, above = value;

    *input_at(&low, which) -= STEP;
    *input_at(&high, which) += STEP;
    if (value_of(quantity, &low, &below) != SR_OK)
        low = *in;
    /* Over saturation nothing more happens, so from there the slope is taken from below. */
    const bool saturated = which == BY_RH && in->rh_pct >= 100.0;
    if (saturated || value_of(quantity, &high, &above) != SR_OK)
        high = *in;
    const double width = *input_at(&high, which) - *input_at(&low, which);
    if (!(width > 0.0))
        return SR_NO_SOLUTION;
    *out = (above - below) / width;
    return SR_OK;
}

static bool uncertainty_ok(double u)
{
    return u >= 0.0 && !isinf(u);
}

enum sr_rc sr_uncertainty_of(enum sr_uncertainty_quantity quantity,
                             const struct sr_uncertainty_input *in, struct sr_uncertainty *out)
{
    const double u[INPUTS] = {in->u_t_k, in->u_rh_pct, in->u_ts_k, in->u_outside_k, in->u_p_pa};
    double value, slope[INPUTS] = {0.0}, variance = 0.0;

    enum sr_rc rc = value_of(quantity, in, &value);
    for (int i = 0; rc == SR_OK && i < INPUTS; i++) {
        const enum input which = (enum input)i;
        if (!uses(quantity, which))
            continue;
        if (!uncertainty_ok(u[i]))
            return SR_RANGE;
        rc = slope_by(quantity, in, value, which, &slope[i]);
        variance += slope[i] * slope[i] * u[i] * u[i];
    }
    if (rc != SR_OK)
        return rc;
    *out = (struct sr_uncertainty){.value = value,
                                   .per_t_k = slope[BY_T],
                                   .per_rh_pct = slope[BY_RH],
                                   .per_ts_k = slope[BY_TS],
                                   .per_outside_k = slope[BY_OUTSIDE],
                                   .per_p_pa = slope[BY_P],
                                   .u = sqrt(variance)};
    return SR_OK;
}

enum sr_rc sr_uncertainty_of_limit(double limit, double *out)
{
    if (!uncertainty_ok(limit))
        return SR_RANGE;
    *out = limit / sqrt(3.0);
    return SR_OK;
}
