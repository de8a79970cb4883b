/* gesso.h - what a change of humidity may ask of gilded gesso and of restrained wood.
 *
 * Units:   strain as a plain fraction, shrinkage coefficient per percent moisture (shrink.h),
 *          moisture percent, temperature degC, relative humidity percent.
 * Range:   as wood.h; coefficient above 0, up to 0.02; strain limits above 0, up to 0.1.
 * Errors:  SR_RANGE outside it, NaN included.
 * Threads: pure functions.
 *
 * eps = C (M2 - M1) is the free strain that wood imposes on a layer it carries, or that full
 * restraint imposes on the wood. It ranks events; it does not predict cracks. Limits set with
 * it are about three times tighter than the 50 +/- 15 % that Rachwal et al. (2012) found safe
 * for sound gesso in fatigue: measured wood moves little between 40 and 60 %, small cycles are
 * flatter than the isotherm, slow diffusion filters short ones. State that gap.
 */
#ifndef STILLROOM_GESSO_H
#define STILLROOM_GESSO_H

#include <stdbool.h>

#include "stillroom/rc.h"

extern const char sr_gesso_caveat[]; /* must be shown beside every strain and level */

/* Published limits. */
#define SR_GESSO_YIELD_STRAIN 0.004    /* wood, paint, glue, axial: Mecklenburg et al. 1998 */
#define SR_GESSO_GESSO_STRAIN 0.0025   /* brittle gesso, same; higher if rich in glue */
#define SR_GESSO_FAILURE_STRAIN 0.009  /* sound materials at 35-65 % RH, same; at least */
#define SR_GESSO_SET_STRAIN_LOW 0.005  /* wood compressed across the grain keeps a permanent */
#define SR_GESSO_SET_STRAIN_HIGH 0.010 /* set from here on: Hoadley 1998 */
#define SR_GESSO_SAFE_RH_PCT 15.0   /* about the mean, sound new gesso, fatigue: Rachwal 2012 */
#define SR_GESSO_FLAKING_RH_PCT 5.0 /* about the humidity as received: project choice */

/* Free strain from moisture m1 to m2; positive swells. */
SR_MUST_USE enum sr_rc sr_gesso_strain(double c_per_pct, double m1_pct, double m2_pct,
                                       double *out);

/* The same between two humidities at t_c, wood at rest with either: an upper bound. */
SR_MUST_USE enum sr_rc sr_gesso_strain_between(double c_per_pct, double t_c, double rh1_pct,
                                               double rh2_pct, double *out);

/* Humidities between which |eps| stays within the limit, from wood at rest with t_c and
 * rh_pct: upper bounds in tightness. Where no humidity reaches the limit, 0 or 99. */
SR_MUST_USE enum sr_rc sr_gesso_limits(double c_per_pct, double t_c, double rh_pct,
                                       double strain_limit, double *out_low_pct,
                                       double *out_high_pct);

enum sr_gesso_level {
    SR_GESSO_EASY,
    SR_GESSO_CAUTION, /* outside the band about the mean, or about the humidity as received */
    SR_GESSO_ACTION   /* felt strain above 0.004, or unfiltered above 0.009 (project choice) */
};

struct sr_gesso_state {
    double c_per_pct, t_c;
    double mean_rh_pct; /* what the piece is used to; as received if it is flaking */
    double felt_rh_pct; /* response-filtered (swing.h) */
    double raw_rh_pct;
    bool flaking;
};

struct sr_gesso {
    double felt_strain, raw_strain; /* against the mean */
    double low_pct, high_pct;       /* the caution band */
    enum sr_gesso_level level;
};

/* The object's own history (its lowest and highest past humidity) outranks this. */
SR_MUST_USE enum sr_rc sr_gesso_judge(const struct sr_gesso_state *state, struct sr_gesso *out);

#endif
