/* wood.h - the moisture at which wood comes to rest with the air around it.
 *
 * Units:   temperature degC, relative humidity percent, moisture content percent of dry mass.
 * Range:   -1..130 degC and 0..99 % RH (the source's own limits, from memory, are -1..130 degC
 *          and 0..98 %). Above 99 % wood takes up free water and the formula has no meaning.
 * Errors:  SR_RANGE outside the range, NaN and infinity included; SR_NO_SOLUTION where said. The
 *          result is left alone then.
 * Source:  Hailwood-Horrobin two-hydrate equation with the coefficients of the USDA Wood
 *          Handbook (FPL-GTR-190 and -282), chapter 4, eq. (4-5), degC form. It gives the
 *          handbook's printed Table 4-2 within the rounding of the print.
 * Uncertainty: 1 % moisture content either way. The table is an average of wetting and drying
 *          wood, which differ by a fifth (ratio 0.75-0.85, from memory); woods rich in
 *          extractives such as mahogany run lower near saturation. Movement worked out from it
 *          for small cycles is an upper bound.
 * Threads: pure functions - no state, no allocation.
 */
#ifndef STILLROOM_WOOD_H
#define STILLROOM_WOOD_H

#include "stillroom/rc.h"

#define SR_WOOD_T_MIN_C (-1.0)
#define SR_WOOD_T_MAX_C 130.0
#define SR_WOOD_RH_MAX_PCT 99.0

/* Equilibrium moisture content. */
SR_MUST_USE enum sr_rc sr_wood_emc(double t_c, double rh_pct, double *out_pct);

/* Humidity at which wood of this moisture (0 % or more) is at rest with air of t_c: the inverse of
 * sr_wood_emc, to 1e-9 % RH. SR_NO_SOLUTION above what 99 % gives: the wood is wetter than any
 * air can make it. */
SR_MUST_USE enum sr_rc sr_wood_rh(double t_c, double moisture_pct, double *out_pct);

/* Slope of the isotherm, percent of moisture per percent of humidity. */
SR_MUST_USE enum sr_rc sr_wood_slope(double t_c, double rh_pct, double *out);

#endif
