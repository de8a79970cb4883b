/* drying.h - how fast the air takes water up.
 *
 * Units:   temperature degC, relative humidity percent, pressure Pa, rates g per m2 and hour.
 * Range:   as psychro.h, humidity 0..100 %; evaporation 0..60 degC, heat transfer 0.5..50
 *          W/(m2 K).
 * Errors:  SR_RANGE outside it, NaN included.
 * Threads: pure functions.
 *
 * Source: heat and mass transfer over a wet surface (Lewis relation); heat transfer
 * coefficients from memory. The rate of the first, wet stage lies between two bounds. After
 * it drying is governed by diffusion inside (board.h, plan.h): give ranges, never an hour.
 * Uncertainty: the heat transfer coefficient alone is known to a factor of two.
 */
#ifndef STILLROOM_DRYING_H
#define STILLROOM_DRYING_H

#include "stillroom/rc.h"

/* Must be shown beside every figure in a room where solvents are used. */
extern const char sr_drying_solvent_caution[];
extern const char sr_drying_caveat[]; /* beside every rate */

#define SR_DRYING_STILL_AIR_W_M2_K 3.0 /* from memory; 5 to 10 with a fan */

/* Drying speed relative to air of 20 degC and 50 %: the ratio of vapour pressure deficits.
 * Time goes with its inverse. */
SR_MUST_USE enum sr_rc sr_drying_potential(double t_c, double rh_pct, double *out);

struct sr_drying_rates {
    double adiabatic_g_m2_h;  /* the surface at the wet bulb: a thin film, little heat behind */
    double isothermal_g_m2_h; /* the surface at air temperature: a thick support feeds heat */
    double wet_bulb_c;        /* how cold a wet surface may get */
    double cooling_k;         /* by how much that is below the air */
};

/* The two bounds of the wet-surface rate. */
SR_MUST_USE enum sr_rc sr_drying_evaporation(double t_c, double rh_pct, double p_pa,
                                             double h_w_m2_k, struct sr_drying_rates *out);

#endif
