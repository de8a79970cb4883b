/* uncertainty.h - what the uncertainty of the sensors makes of a derived quantity.
 *
 * Propagation of the GUM (JCGM 100): u^2 = sum of (slope x u of the input)^2, for inputs whose
 * errors are independent. Slopes are central differences, good to 1e-5 of themselves. At the edge
 * of an input's range they are one-sided; where the quantity has a kink (frost at 0 degC) they
 * mean little.
 * Uncertainties are standard uncertainties (k = 1). A maker's "+-" is two of them only if the
 * data sheet says so; else take it as the half-width of a rectangle (sr_uncertainty_of_limit).
 * What the formula itself is worth is not in it: see the header of each formula.
 *
 * Errors:  SR_RANGE for an unknown quantity or anything outside its range, NaN and infinity
 *          included; SR_NO_SOLUTION as for the quantity. The result is left alone then.
 * Threads: pure functions - no state, no allocation.
 */
#ifndef STILLROOM_UNCERTAINTY_H
#define STILLROOM_UNCERTAINTY_H

#include "stillroom/rc.h"

enum sr_uncertainty_quantity {
    SR_UNCERTAINTY_SATURATION_PRESSURE,
    SR_UNCERTAINTY_VAPOUR_PRESSURE,
    SR_UNCERTAINTY_VPD,
    SR_UNCERTAINTY_DEW_POINT,
    SR_UNCERTAINTY_FROST_POINT,
    SR_UNCERTAINTY_ABSOLUTE_HUMIDITY,
    SR_UNCERTAINTY_HUMIDITY_RATIO, /* kg/kg */
    SR_UNCERTAINTY_ENTHALPY,       /* kJ/kg */
    SR_UNCERTAINTY_WET_BULB,
    SR_UNCERTAINTY_EMC,        /* wood.h */
    SR_UNCERTAINTY_SURFACE_RH, /* these two need ts_c */
    SR_UNCERTAINTY_SURFACE_MARGIN,
    SR_UNCERTAINTY_SURFACE_TEMPERATURE_AT, /* of a humidity limit; needs rh_limit_pct, exact */
    SR_UNCERTAINTY_SURFACE_FACTOR,         /* needs ts_c and outside_c; rh_pct is not used */
};

/* Conditions, and the standard uncertainty of each; 0 for what is exact or not used. */
struct sr_uncertainty_input {
    double t_c, rh_pct;
    double ts_c;         /* only for humidity, margin and factor of a surface */
    double outside_c;    /* only for the surface factor */
    double p_pa;         /* only for ratio, enthalpy and wet bulb */
    double rh_limit_pct; /* only for a humidity limit */
    double u_t_k, u_rh_pct, u_ts_k, u_outside_k, u_p_pa;
};

struct sr_uncertainty {
    double value;
    double per_t_k, per_rh_pct, per_ts_k, per_outside_k, per_p_pa; /* slopes; 0 if not used */
    double u; /* standard uncertainty of value */
};

SR_MUST_USE enum sr_rc sr_uncertainty_of(enum sr_uncertainty_quantity quantity,
                                         const struct sr_uncertainty_input *in,
                                         struct sr_uncertainty *out);

/* Standard uncertainty of a maker's limit of +-limit (0 or more), all values within it being
 * equally likely: limit / sqrt 3. */
SR_MUST_USE enum sr_rc sr_uncertainty_of_limit(double limit, double *out);

#endif
