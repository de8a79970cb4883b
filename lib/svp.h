/* svp.h - inside the library: saturation pressure as a logarithm, and its slope.
 *
 * Units: kelvin, ln of pascal, per kelvin. Nothing is checked here; callers have done it.
 */
#ifndef LIB_SVP_H
#define LIB_SVP_H

#include "internal.h"

#define SVP_ZERO_C_K 273.15

struct svp_coefficients {
    double c1, c2, c3, c4, c5, c6, c7;
};

LIB_INTERNAL extern const struct svp_coefficients sr_svp_water;
LIB_INTERNAL extern const struct svp_coefficients sr_svp_ice;

/* ln p at t_k, given ln t_k: the caller often has the logarithm already. */
static inline double svp_ln(const struct svp_coefficients *c, double t_k, double ln_t)
{
    return c->c1 / t_k + c->c2 + t_k * (c->c3 + t_k * (c->c4 + t_k * (c->c5 + t_k * c->c6))) +
           c->c7 * ln_t;
}

/* d ln p / dT. */
static inline double svp_slope(const struct svp_coefficients *c, double t_k)
{
    return (c->c7 - c->c1 / t_k) / t_k + c->c3 +
           t_k * (2.0 * c->c4 + t_k * (3.0 * c->c5 + t_k * 4.0 * c->c6));
}

/* Temperature in kelvin whose ln p is ln_p, by Newton from start_k: exact to below 1e-9 K. */
LIB_INTERNAL double sr_svp_invert(const struct svp_coefficients *c, double ln_p,
                                  double start_k);

/* A start for the inversion over water, good to 0.5 K from -60 to 100 degC. */
LIB_INTERNAL double sr_svp_start_k(double ln_p);

#endif
