/* mould_run.h - the mould index over measured air, as a range: from an unknown start, over gaps.
 *
 * Two states run side by side. They start apart where the past is unknown, and part at a gap: low
 * is held there, high grows as at the last known humidity. Between samples, series.h says what a
 * sample stands for. Where it stands for no more, but the next is no more than SR_MOULD_BRIDGE_S
 * after it and no NaN lies between, both go on as before (the model's own rule: it holds its
 * state from 6 h without data on; the range over gaps is a project choice).
 *
 * Caution: as mould.h. The hours at or above 65, 75 and 80 % come first: they need no model.
 * Units:   seconds UTC; degC and percent AT THE SURFACE.
 * Errors:  SR_RANGE, SR_ORDER (times must rise strictly); nothing is changed then. A reading
 *          that is not to be trusted is given as NaN.
 * Threads: pure functions on the caller's values - no allocation. The stream and the batch form
 *          are one: a series split anywhere gives the same bits.
 */
#ifndef STILLROOM_MOULD_RUN_H
#define STILLROOM_MOULD_RUN_H

#include "stillroom/hold.h"
#include "stillroom/mould.h"
#include "stillroom/series.h"

#define SR_MOULD_BRIDGE_S INT64_C(21600)

/* Plain values: may be stored and taken up again. Read low, high and the times; the rest is the
 * run's own. */
struct sr_mould_run {
    struct sr_mould_class material;
    double decline;
    struct sr_hold hold;
    struct sr_mould_state low, high;
    int64_t covered_s; /* time with data */
    int64_t bridged_s; /* short time without, taken to be as before */
    int64_t gap_s;     /* time over which the state is only a range */
    int64_t at_65_s;   /* of covered_s: humidity at or above 65 % */
    int64_t at_75_s;
    int64_t at_80_s;
};

/* every_s: nominal interval of the samples to come. low->index must not exceed high->index.
 * Where nothing is known of the past: low 0, high what was seen on inspection. */
SR_MUST_USE enum sr_rc sr_mould_run_begin(const struct sr_mould_class *material, double decline,
                                          int64_t every_s, const struct sr_mould_state *low,
                                          const struct sr_mould_state *high,
                                          struct sr_mould_run *out);

/* Takes the next sample; what it adds is the way up to it. */
SR_MUST_USE enum sr_rc sr_mould_run_add(struct sr_mould_run *run, int64_t t_s, double t_c,
                                        double rh_pct);

/* Takes a series, after what was taken before. SR_THIN if it is empty. */
SR_MUST_USE enum sr_rc sr_mould_run_series(struct sr_mould_run *run,
                                           const struct sr_air_series *s);

/* The run as it stands at t_s, after its newest sample, if no other comes. */
SR_MUST_USE enum sr_rc sr_mould_run_at(const struct sr_mould_run *run, int64_t t_s,
                                       struct sr_mould_run *out);

/* A person cleaned the surface: index and dry hours go to 0. Only ever on a logged event. */
void sr_mould_run_cleaned(struct sr_mould_run *run);

#endif
