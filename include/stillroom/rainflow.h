/* rainflow.h - humidity cycles counted as fatigue engineering counts them.
 *
 * Units:   ranges and means in the unit of the values; counts 0.5 or 1.
 * Range:   finite values within +/-1e6; gate 0 or more. NaN values are skipped; a gap is
 *          bridged, so cut the series at long gaps and count the pieces.
 * Errors:  SR_RANGE outside that; SR_NOMEM when the caller's arrays are too short, which
 *          never happens when both have as many places as there are values.
 * Owner:   stack and list are lent by the caller until the count is closed.
 * Threads: pure functions; a count belongs to its caller.
 *
 * Source: three-point rainflow counting, ASTM E1049-85 section 5.4.4. The first and last
 * values count as reversals; equal neighbours are one. Count response-filtered humidity
 * (swing.h) with a gate of 1 to 2 % RH (project choice).
 */
#ifndef STILLROOM_RAINFLOW_H
#define STILLROOM_RAINFLOW_H

#include <stdbool.h>
#include <stddef.h>

#include "stillroom/rc.h"

extern const char sr_rainflow_caveat[]; /* must be shown beside sr_rainflow_rank's figure */

struct sr_rainflow_cycle {
    double range, mean;
    double count; /* 1 for a closed cycle, 0.5 for a half */
};

/* Cycles in the order in which they are found. */
struct sr_rainflow_list {
    struct sr_rainflow_cycle *cycles; /* borrowed; room places */
    size_t room, n;
};

/* Counting as the values come; sr_rainflow_count below is the same core. */
struct sr_rainflow {
    double gate;
    double *stack; /* borrowed; room places */
    size_t room, depth;
    bool started;
    int heading; /* +1 rising, -1 falling, 0 not yet known */
    double turn; /* the extreme since the last reversal */
};

SR_MUST_USE enum sr_rc sr_rainflow_begin(double gate, double stack[], size_t room,
                                         struct sr_rainflow *out);

/* Takes a value; appends the cycles it closes. A move of no more than the gate against the
 * present heading is no reversal. After SR_NOMEM the value was not taken. */
SR_MUST_USE enum sr_rc sr_rainflow_push(struct sr_rainflow *rf, double v,
                                        struct sr_rainflow_list *list);

/* Ends the count: the last extreme is a reversal, what remains counts as half cycles. */
SR_MUST_USE enum sr_rc sr_rainflow_close(struct sr_rainflow *rf, struct sr_rainflow_list *list);

/* All of it: v[n] with a stack[n] for scratch; list->n is set to the number of cycles.
 * No cycle (fewer than two different values) is SR_OK with n = 0. */
SR_MUST_USE enum sr_rc sr_rainflow_count(const double v[], size_t n, double gate,
                                         double stack[], struct sr_rainflow_list *list);

/* Adds each cycle's count to bin floor(range / width), the last bin taking all greater
 * ones; bins[n] is cleared first. width > 0; 5 % RH is usual here (project choice). */
SR_MUST_USE enum sr_rc sr_rainflow_histogram(const struct sr_rainflow_list *list, double width,
                                             double bins[], size_t n);

/* Sum of count (range / 20)^m. It may rank periods of one room; no exponent m has been
 * validated for paintings. m 1..20. */
SR_MUST_USE enum sr_rc sr_rainflow_rank(const struct sr_rainflow_list *list, double m,
                                        double *out);

#endif
