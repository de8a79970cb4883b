/* isopleth.h - can spores germinate here? Lowest isopleths for mould, as an on-off alarm.
 *
 * PROVISIONAL: Sedlbauer (2001) gives curves and no equations. The table was read off such curves
 * and is from memory, +-2 % RH: good for an alarm, not for a report to others. The critical
 * humidity of mould.h is published as an equation; prefer it where a figure is quoted.
 *
 * Units:   seconds UTC, degC and percent at the surface.
 * Range:   the table spans 0..30 degC and is linear in between; elsewhere it says nothing.
 * Errors:  SR_RANGE, SR_ORDER; SR_NO_SOLUTION outside the table. Nothing is changed then.
 * Threads: pure functions on the caller's values - no allocation.
 */
#ifndef STILLROOM_ISOPLETH_H
#define STILLROOM_ISOPLETH_H

#include "stillroom/hold.h"
#include "stillroom/series.h"

enum sr_isopleth_substrate {
    SR_ISOPLETH_USABLE, /* group I: paper, size, paste, soiled surfaces */
    SR_ISOPLETH_POROUS, /* group II: mineral, little to feed on */
};

/* Humidity from which germination is possible at t_c. */
SR_MUST_USE enum sr_rc sr_isopleth_limit(enum sr_isopleth_substrate substrate, double t_c,
                                         double *out_pct);

struct sr_isopleth_run {
    enum sr_isopleth_substrate substrate;
    struct sr_hold hold;
    int64_t covered_s; /* time with data within the table's range */
    int64_t outside_s; /* time with data below 0 or above 30 degC */
    int64_t over_s;    /* of covered_s: at or above the isopleth */
    int64_t longest_s; /* longest unbroken run of it; time without data breaks a run */
    int64_t current_s; /* the run that still lasts */
};

SR_MUST_USE enum sr_rc sr_isopleth_begin(enum sr_isopleth_substrate substrate, int64_t every_s,
                                         struct sr_isopleth_run *out);

/* Takes the next sample (NaN: no value); what it adds is the way up to it. */
SR_MUST_USE enum sr_rc sr_isopleth_add(struct sr_isopleth_run *run, int64_t t_s, double t_c,
                                       double rh_pct);

SR_MUST_USE enum sr_rc sr_isopleth_series(struct sr_isopleth_run *run,
                                          const struct sr_air_series *s);

#endif
