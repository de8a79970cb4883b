/* ageing.h - how temperature and humidity change the pace of chemical ageing.
 *
 * Units:   temperature degC, relative humidity percent; the multiplier is a plain ratio.
 * Range:   -40..60 degC, 0..100 % RH; activation energy 10,000..200,000 J/mol.
 * Errors:  SR_RANGE outside it, NaN included; for series as series.h.
 * Threads: pure functions.
 *
 * LM = (50/RH)^1.3 exp[(Ea/R)(1/T - 1/293.15)], T in kelvin: how many times longer a slow
 * chemical change takes than at 20 degC and 50 %. Source: Michalski (2002), ICOM-CC; the
 * Arrhenius form and R as published there, exponent 1.3, both activation energies and the
 * reference condition from memory. The exponent was fitted to other materials than varnish,
 * so the varnish figure is an order of magnitude. Comparative only: never print years.
 */
#ifndef STILLROOM_AGEING_H
#define STILLROOM_AGEING_H

#include <stdbool.h>

#include "stillroom/series.h"

#define SR_AGEING_EA_CELLULOSE 100000.0 /* J/mol, from memory */
#define SR_AGEING_EA_VARNISH 70000.0    /* J/mol, yellowing of varnish, from memory */

extern const char sr_ageing_caveat[]; /* must be shown beside every multiplier */

struct sr_ageing {
    double multiplier;
    bool dry_clamped; /* some humidity was below 5 % and taken as 5 (project choice) */
    bool damp;        /* some was above 90 %: other damage comes first */
};

SR_MUST_USE enum sr_rc sr_ageing_multiplier(double t_c, double rh_pct, double ea_j_mol,
                                            struct sr_ageing *out);

/* The multiplier of a period: the rate 1/LM is averaged with the time each sample stands
 * for (series.h), the result is the mean's inverse. Samples without a value or outside the
 * range above are time without data; coverage_pct says how much was left, SR_THIN if none. */
SR_MUST_USE enum sr_rc sr_ageing_over(const struct sr_air_series *s, int64_t from_s,
                                      int64_t to_s, double ea_j_mol, struct sr_ageing *out,
                                      double *coverage_pct);

#endif
