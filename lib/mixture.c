/* mixture.c - see mixture.h. */
#include "stillroom/mixture.h"

#include <math.h>
#include <stdbool.h>

#include "stillroom/psychro.h"

/* ASHRAE Fundamentals ch. 1. */
static const double molar_mass_ratio = 0.621945;
static const double heat_of_air = 1.006;    /* kJ/(kg K) */
static const double heat_of_vapour = 1.86;  /* kJ/(kg K) */
static const double evaporation_0 = 2501.0; /* kJ/kg at 0 degC */

/* Wet bulb: what a kilogram of water or ice takes up, and its own heat. */
struct wet_surface {
    double latent, latent_slope, heat;
};
static const struct wet_surface wet = {2501.0, -2.326, 4.186};
static const struct wet_surface iced = {2830.0, -0.24, 2.1};

/* Standard atmosphere: 101325 (1 - lapse z)^exponent. */
static const struct {
    double lapse_per_m, exponent;
} atmosphere = {2.25577e-5, 5.2559};

static bool pressure_ok(double p_pa)
{
    return p_pa >= SR_MIXTURE_P_MIN_PA && p_pa <= SR_MIXTURE_P_MAX_PA;
}

static double ratio(double e_pa, double p_pa)
{
    return molar_mass_ratio * e_pa / (p_pa - e_pa);
}

/* Humidity ratio of air at t_c that has the wet bulb tw_c over this surface; rises with tw_c. Both
 * tw_c and the saturation pressure there are in range: tw_c lies between a dew point and an air
 * temperature, and below 0 over ice. */
static double ratio_at_wet_bulb(const struct wet_surface *s, double t_c, double tw_c,
                                double p_pa)
{
    double saturated_pa = 0.0;
    const enum sr_rc rc = s == &iced ? sr_psychro_svp_ice(tw_c, &saturated_pa)
                                     : sr_psychro_svp_water(tw_c, &saturated_pa);

    if (rc != SR_OK || saturated_pa >= p_pa)
        return (double)INFINITY; /* hotter than any wet bulb at this pressure */
    return ((s->latent + s->latent_slope * tw_c) * ratio(saturated_pa, p_pa) -
            heat_of_air * (t_c - tw_c)) /
           (s->latent + heat_of_vapour * t_c - s->heat * tw_c);
}

enum sr_rc sr_mixture_pressure_at(double altitude_m, double *out_pa)
{
    if (!(altitude_m >= -400.0 && altitude_m <= 5500.0))
        return SR_RANGE;
    *out_pa = SR_MIXTURE_SEA_LEVEL_PA *
              pow(1.0 - atmosphere.lapse_per_m * altitude_m, atmosphere.exponent);
    return SR_OK;
}

enum sr_rc sr_mixture_ratio(double t_c, double rh_pct, double p_pa, double *out_kg_kg)
{
    double e_pa;
    const enum sr_rc rc = sr_psychro_vapour_pressure(t_c, rh_pct, &e_pa);

    if (rc != SR_OK)
        return rc;
    if (!pressure_ok(p_pa))
        return SR_RANGE;
    if (e_pa >= p_pa)
        return SR_NO_SOLUTION;
    *out_kg_kg = ratio(e_pa, p_pa);
    return SR_OK;
}

enum sr_rc sr_mixture_enthalpy(double t_c, double rh_pct, double p_pa, double *out_kj_kg)
{
    double w;
    const enum sr_rc rc = sr_mixture_ratio(t_c, rh_pct, p_pa, &w);

    if (rc != SR_OK)
        return rc;
    *out_kj_kg = heat_of_air * t_c + w * (evaporation_0 + heat_of_vapour * t_c);
    return SR_OK;
}

enum sr_rc sr_mixture_wet_bulb(double t_c, double rh_pct, double p_pa, double *out_c)
{
    double w, low;
    enum sr_rc rc = sr_mixture_ratio(t_c, rh_pct, p_pa, &w);

    if (rc == SR_OK)
        rc = sr_psychro_dew_point(t_c, rh_pct, &low);
    if (rc != SR_OK)
        return rc;
    /* Just below 0 an iced bulb and a wet one just above it may both do: then it is wet. */
    const bool is_wet = t_c >= 0.0 && ratio_at_wet_bulb(&wet, t_c, 0.0, p_pa) <= w;
    const struct wet_surface *s = is_wet ? &wet : &iced;
    double high = is_wet ? t_c : fmin(t_c, 0.0);
    low = is_wet ? fmax(low, 0.0) : fmin(low, 0.0);
    while (high - low > 1e-10) {
        const double middle = low + 0.5 * (high - low);
        if (ratio_at_wet_bulb(s, t_c, middle, p_pa) > w)
            high = middle;
        else
            low = middle;
    }
    *out_c = low + 0.5 * (high - low);
    return SR_OK;
}
