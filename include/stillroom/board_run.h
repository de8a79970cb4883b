/* board_run.h - a board over measured air: the range over D, sample by sample.
 *
 * A sample stands as series.h says. Time without data is passed through as at the last known air
 * and counted in gap_s: after a gap the board is a guess until it has had its response time again.
 * So is its start, when its moisture was not measured.
 *
 * Units, range, uncertainty: board.h. Seconds UTC.
 * Errors:  SR_RANGE, SR_ORDER (times must rise strictly); nothing is changed then. A reading
 *          that is not to be trusted is given as NaN.
 * Threads: pure functions on the caller's values - no allocation. The stream and the batch form
 *          are one: a series split anywhere gives the same bits.
 */
#ifndef STILLROOM_BOARD_RUN_H
#define STILLROOM_BOARD_RUN_H

#include "stillroom/board.h"
#include "stillroom/hold.h"
#include "stillroom/series.h"

struct sr_board_run {
    struct sr_board_band band; /* sr_board_band_now() reads it */
    struct sr_hold hold;
    int64_t covered_s; /* time with data */
    int64_t gap_s;     /* time without */
    int64_t edge_s; /* of covered_s: air beyond the EMC formula (below -1 degC, above 98 %) */
};

SR_MUST_USE enum sr_rc sr_board_run_begin(const struct sr_board_spec *spec, double moisture_pct,
                                          int64_t every_s, struct sr_board_run *out);

/* Takes the next sample; what it adds is the way up to it. */
SR_MUST_USE enum sr_rc sr_board_run_add(struct sr_board_run *run, int64_t t_s, double t_c,
                                        double rh_pct);

/* Takes a series, after what was taken before. SR_THIN if it is empty. */
SR_MUST_USE enum sr_rc sr_board_run_series(struct sr_board_run *run,
                                           const struct sr_air_series *s);

/* The run as it stands at t_s, after its newest sample, if no other comes. */
SR_MUST_USE enum sr_rc sr_board_run_at(const struct sr_board_run *run, int64_t t_s,
                                       struct sr_board_run *out);

#endif
