/* series.h - readings in order of time, in the form every function over a series takes.
 *
 * Units:   t_s is UTC seconds; the values are in whatever unit the caller says.
 * Range:   times strictly rising within +/-SR_SERIES_T_MAX_S; values within
 *          +/-SR_SERIES_V_MAX. A NaN value means "no value here": it ends the span of the
 *          sample before it and covers no time itself. An infinite value is an error.
 * Errors:  SR_THIN for an empty series, SR_ORDER for times that do not rise or repeat,
 *          SR_RANGE for anything else outside the range.
 * Owner:   the arrays stay the caller's; a series only points at them.
 * Threads: pure functions.
 *
 * What a sample stands for (project choice): the time from its instant to the next sample's,
 * but at most 1.5 nominal intervals. What no sample stands for is time without data. It is
 * the one rule of coverage in the whole library, so that time inside, time outside and time
 * without data always add up to the period.
 */
#ifndef STILLROOM_SERIES_H
#define STILLROOM_SERIES_H

#include <stddef.h>
#include <stdint.h>

#include "stillroom/rc.h"

#define SR_SERIES_T_MAX_S INT64_C(253402300799) /* the end of the year 9999 */
#define SR_SERIES_V_MAX 1e6
#define SR_SERIES_EVERY_MAX_S INT64_C(31622400)

/* One quantity. */
struct sr_series {
    const int64_t *t_s;
    const double *v;
    size_t n;
    int64_t every_s; /* the nominal interval, 1 s to 366 days */
};

/* Temperature and relative humidity read together. */
struct sr_air_series {
    const int64_t *t_s;
    const double *t_c;
    const double *rh_pct;
    size_t n;
    int64_t every_s;
};

/* Is this a series as described above? One pass over it. */
SR_MUST_USE enum sr_rc sr_series_check(const struct sr_series *s);
SR_MUST_USE enum sr_rc sr_series_check_air(const struct sr_air_series *s);

/* The two quantities of an air series, each as a series of its own. */
struct sr_series sr_series_temperature(const struct sr_air_series *s);
struct sr_series sr_series_humidity(const struct sr_air_series *s);

/* The longest time one sample may stand for: 1.5 nominal intervals, in whole seconds. */
int64_t sr_series_hold_s(int64_t every_s);

/* The instant until which sample i (below n, of a series that passed the check) stands. */
int64_t sr_series_end_s(const struct sr_series *s, size_t i);

/* How much of [from_s, to_s) sample i stands for; 0 where its value is NaN. */
int64_t sr_series_covered_s(const struct sr_series *s, size_t i, int64_t from_s, int64_t to_s);

#endif
