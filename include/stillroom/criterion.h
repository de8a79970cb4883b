/* criterion.h - the 30-day surface criterion against mould in buildings.
 *
 * ASHRAE 160-2009: the 30-day running mean of surface humidity stays below 80 % whenever the
 * 30-day running mean of surface temperature is 5..40 degC. A later addendum replaced it by the
 * mould index (acceptance: index below 3.0, from memory): means hide cycles, and 12 h at 95 %
 * with 12 h at 55 % pass this while mould grows. Show it only beside the index.
 *
 * Units:   seconds UTC, degC and percent at the surface.
 * Errors:  as series.h; SR_THIN if no whole window of 720 h has data for 90 % of it or more
 *          (the share is a project choice). The result is left alone then.
 * Threads: a pure function - no state, no allocation.
 */
#ifndef STILLROOM_CRITERION_H
#define STILLROOM_CRITERION_H

#include <stdbool.h>

#include "stillroom/series.h"

#define SR_CRITERION_WINDOW_S INT64_C(2592000)

struct sr_criterion_30d {
    bool met;              /* by every window that could be judged */
    size_t judged, unmet;  /* windows, one ending with each sample */
    int64_t first_unmet_s; /* where the first of them ends; 0 if none */
    double worst_rh_pct;   /* highest mean humidity at a mean temperature of 5..40 degC, */
    double worst_t_c;      /* that temperature, */
    int64_t worst_s;       /* and where its window ends; all 0 if no window was that warm */
};

SR_MUST_USE enum sr_rc sr_criterion_surface_30d(const struct sr_air_series *s,
                                                struct sr_criterion_30d *out);

#endif
