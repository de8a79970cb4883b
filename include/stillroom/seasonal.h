/* seasonal.h - the climate a place has had: seasonal cycle, fluctuations and the band that
 * EN 15757:2010 reads from them.
 *
 * Units:   hours; values in the caller's unit (the standard's use: humidity, percent).
 * Range:   hourly arrays, element i being hour i; NaN = no value; values within +/-1000.
 * Errors:  SR_RANGE outside that (infinity included); SR_THIN when no hour can be evaluated.
 * Owner:   all arrays are the caller's; nothing is allocated.
 * Threads: pure functions.
 *
 * Use: to read the past of a place that is a work's home and to set its target. It is no
 * live alarm: the centred mean needs 15 days of future, and 14 % of hours lie outside a 7/93
 * band by construction. Window, percentiles and minimum band are parameters, since revisions
 * are proposed (Camuffo et al. 2022).
 * Sources: 13 months and one sample an hour, 30-day centred mean: EN 15757:2010. 7th and
 * 93rd percentile, minimum band of 10 % RH: EN 15757:2010, both from memory (Bratasz,
 * Camuffo & Kozlowski 2007 cut 16 %). Gap and coverage rules: project choice.
 */
#ifndef STILLROOM_SEASONAL_H
#define STILLROOM_SEASONAL_H

#include <stdbool.h>

#include "stillroom/series.h"

#define SR_SEASONAL_HOURS_MAX 10000000 /* 1,140 years */
#define SR_SEASONAL_V_MAX 1000.0
/* 13 months: 12 to evaluate and half a window at each end, 8760 + 2 x 360 hours. */
#define SR_SEASONAL_13_MONTHS_H 9480

extern const char sr_seasonal_caveat[];             /* must be shown beside a band */
extern const char sr_seasonal_provisional_caveat[]; /* and beside a provisional one */

struct sr_seasonal_rules {
    int half_window_h;       /* hours each side of the centre, 1..4400 */
    double coverage_min_pct; /* of the window's hours, above 0 */
    double low_pct, high_pct;
    double min_band; /* the narrowest allowance, each side separately; 0 for none */
};

/* 360 h, 75 %, P7, P93, 10 % RH. */
extern const struct sr_seasonal_rules sr_seasonal_en15757;

/* Means of the samples whose instants lie in each of n hours from first_hour_s on, out[n].
 * An hour without a sample is filled by linear interpolation if no more than 3 hours in a
 * row are empty, else NaN; hours before the first and after the last value are never filled.
 * Errors as series.h for the series. */
SR_MUST_USE enum sr_rc sr_seasonal_hourly(const struct sr_series *s, int64_t first_hour_s,
                                          size_t n, double out[]);

/* Centred mean of the 2 half_window_h + 1 hours about each hour, mean[n]. NaN where less
 * than coverage_min_pct of them have a value, and in the half window at each end of the
 * record, which is what lies between the first and the last value: the window is never
 * shortened nor padded. Sums are exact, so a mean is the same to the last bit wherever the
 * array begins; each value is first rounded to 2^-29 (2e-9). mean may not be hourly. */
SR_MUST_USE enum sr_rc sr_seasonal_mean(const double hourly[], size_t n, int half_window_h,
                                        double coverage_min_pct, double mean[]);

/* Why a band is provisional, and not one of EN 15757; any of these together. */
enum {
    SR_SEASONAL_SHORT = 1,  /* less than 13 months between the first and the last value */
    SR_SEASONAL_COARSE = 2, /* sampled less than once an hour */
    SR_SEASONAL_GAPPY = 4   /* less than coverage_min_pct of the evaluable hours have a value */
};

struct sr_seasonal_band {
    size_t hours;                     /* given */
    size_t evaluated;                 /* with a value and a seasonal mean */
    double mean;                      /* of the evaluated values */
    double cycle_low, cycle_high;     /* least and greatest seasonal mean */
    double fluct_low, fluct_high;     /* the percentiles of value less seasonal mean */
    double band_low, band_high;       /* the same, widened to the minimum band */
    bool widened_low, widened_high;   /* where that was done */
    size_t outside_raw, outside_band; /* evaluated hours outside either */
    unsigned provisional;             /* SR_SEASONAL_..., 0 for none */
};

/* The band of n hourly values taken every every_s seconds (3600 or less, or it is marked
 * coarse). mean[n] receives the seasonal mean of every hour, work[n] is scratch; the target
 * of hour i is mean[i] + band_low .. mean[i] + band_high. */
SR_MUST_USE enum sr_rc sr_seasonal_band(const double hourly[], size_t n, int64_t every_s,
                                        const struct sr_seasonal_rules *rules, double mean[],
                                        double work[], struct sr_seasonal_band *out);

#endif
