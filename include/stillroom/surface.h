/* surface.h - how near a surface is to dew, frost or mould in the air before it.
 *
 * Caution: air readings do not show cold spots behind pictures on outside walls; measure the
 *          surface. A kelvin of error between the two sensors moves the humidity at the surface
 *          by 6 % of itself, so a margin under SR_SURFACE_UNSURE_K says nothing either way.
 * Units:   temperature degC, relative humidity percent over water.
 * Range:   as psychro.h.
 * Errors:  SR_RANGE outside the range, NaN and infinity included; SR_NO_SOLUTION where said.
 * Threads: pure functions - no state, no allocation.
 */
#ifndef STILLROOM_SURFACE_H
#define STILLROOM_SURFACE_H

#include "stillroom/rc.h"

/* Margins below this are within the uncertainty of common sensors (project choice). */
#define SR_SURFACE_UNSURE_K 1.5

/* Kelvins by which the surface is warmer than the dew point of the air, or than its frost point
 * where the surface is below 0 degC. Negative: wet, or frosting. */
SR_MUST_USE enum sr_rc sr_surface_margin(double t_c, double rh_pct, double ts_c, double *out_k);

/* Temperature at which a surface in this air comes to rh_limit_pct (over 0, up to 100): 80 for
 * mould, 100 for dew. SR_NO_SOLUTION if that lies outside -60..100 degC. */
SR_MUST_USE enum sr_rc sr_surface_temperature_at(double t_c, double rh_pct, double rh_limit_pct,
                                                 double *out_c);

/* Temperature factor fRsi = (surface - outside) / (inside - outside), ISO 13788 (from memory):
 * how well a wall keeps its inner face warm. Means something only for steady conditions;
 * SR_NO_SOLUTION where inside and outside lie less than 5 K apart. */
SR_MUST_USE enum sr_rc sr_surface_factor(double inside_c, double outside_c, double ts_c,
                                         double *out);

#endif
