/* stats.h - what a span of readings amounts to: mean, spread, share of time within bounds.
 *
 * Units:   results are in the unit of the values; percent where a name ends in _pct.
 * Range:   series as in series.h (NaN = no value); from_s < to_s.
 * Errors:  as series.h; SR_THIN also when no sample stands for any part of the period.
 * Threads: pure functions; a run belongs to its caller.
 *
 * Conventions (project choices): each sample weighs by the time it stands for (series.h);
 * every figure carries its coverage, and below SR_STATS_COVERAGE_MIN_PCT a report prints
 * "insufficient" in its place. Means of relative humidity are arithmetic. Never average dew
 * points (average the vapour pressure) or lifetime multipliers (average the rate, ageing.h).
 * Uncertainty: sampling and arithmetic add nothing visible; a mean has the sensor's bias.
 */
#ifndef STILLROOM_STATS_H
#define STILLROOM_STATS_H

#include <stdbool.h>

#include "stillroom/series.h"

#define SR_STATS_COVERAGE_MIN_PCT 75.0 /* project choice */

struct sr_stats {
    size_t n;            /* samples that stand for some part of the period */
    int64_t span_s;      /* the period's length */
    int64_t covered_s;   /* of it, the time samples stand for */
    double coverage_pct; /* covered_s of span_s */
    bool enough;         /* coverage_pct is at least SR_STATS_COVERAGE_MIN_PCT */
    double mean, min, max;
    double sd; /* square root of the duration-weighted variance about the mean */
};

/* Statistics as the readings come. The batch form below feeds the same core, so a series
 * given at once or in any number of pieces yields the same bits. */
struct sr_stats_run {
    int64_t from_s, to_s, every_s;
    bool started;
    int64_t last_t_s;
    double last_v;
    size_t n;
    int64_t covered_s;
    double mean, m2, min, max;
};

/* Begins a period [from_s, to_s) of readings that come nominally every_s apart. */
SR_MUST_USE enum sr_rc sr_stats_begin(int64_t from_s, int64_t to_s, int64_t every_s,
                                      struct sr_stats_run *out);

/* Takes the next reading; one from before the period may still stand for its beginning. */
SR_MUST_USE enum sr_rc sr_stats_add(struct sr_stats_run *run, int64_t t_s, double v);

/* The figures so far, the last reading standing for its time as if no other came. The run
 * is unchanged and may go on. */
SR_MUST_USE enum sr_rc sr_stats_so_far(const struct sr_stats_run *run, struct sr_stats *out);

/* The same over a whole series. */
SR_MUST_USE enum sr_rc sr_stats_over(const struct sr_series *s, int64_t from_s, int64_t to_s,
                                     struct sr_stats *out);

struct sr_stats_share {
    int64_t span_s, covered_s;
    int64_t inside_s, below_s, above_s; /* these three add up to covered_s */
    double inside_pct;                  /* of the covered time */
    double coverage_pct;
    bool enough;
};

/* Time with low <= value <= high, both bounds inside. Either bound may be infinite; "at or
 * above 65" is low 65, high INFINITY. SR_RANGE if a bound is NaN or low > high. */
SR_MUST_USE enum sr_rc sr_stats_time_in_range(const struct sr_series *s, int64_t from_s,
                                              int64_t to_s, double low, double high,
                                              struct sr_stats_share *out);

/* Percentile p_pct (0..100) of n values by linear interpolation, h = (n - 1) p: type 7 of
 * Hyndman & Fan (1996). Each value weighs the same, so bring an uneven series to even steps
 * first (sr_seasonal_hourly). NaN values are left out; none left is SR_THIN; an infinite
 * value SR_RANGE. Needs no memory and on average time in proportion to n: it reorders v so
 * that v[0..k] hold the k + 1 smallest and v[k] the greatest of them, k = floor((n - 1) p). */
SR_MUST_USE enum sr_rc sr_stats_percentile(double v[], size_t n, double p_pct, double *out);

#endif
