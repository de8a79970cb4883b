/* swing.h - how far and how fast humidity (or temperature) moved, raw and as an object of
 * a given slowness feels it.
 *
 * Units:   values in the caller's unit, times and spans in seconds, rates per hour.
 * Range:   values as series.h, NaN = no value; window_s 1 s to 366 days; tau_s above 0 and
 *          at most 1e9.
 * Errors:  as series.h; SR_THIN where the data do not allow an answer (said at each);
 *          SR_NOMEM when the caller's slots are too few.
 * Owner:   windows work in slots that the caller lends; nothing is allocated.
 * Threads: pure functions; a window or filter belongs to its caller.
 *
 * Source of the figures: windows, rates and the 75 % rule are project choices; the filter is
 * the exact solution of a first-order response to a value held over each interval. Show raw
 * and filtered figures side by side. Uncertainty: a range carries the sensor's short-term
 * noise twice; its calibration error cancels.
 */
#ifndef STILLROOM_SWING_H
#define STILLROOM_SWING_H

#include <stdbool.h>

#include "stillroom/series.h"

extern const char sr_swing_filter_caveat[]; /* must be shown beside a filtered figure */

/* ---- moving-window range ---- */

/* One sample in the window's memory; filled by the functions, never by the caller. */
struct sr_swing_slot {
    int64_t t_s;
    double v;
    size_t low, high;
};

struct sr_swing_window {
    int64_t window_s, every_s;
    double coverage_min_pct;
    struct sr_swing_slot *slots; /* borrowed */
    size_t room;
    size_t first, next; /* samples kept, by running number */
    size_t low_first, low_next, high_first, high_next;
    int64_t covered_s;
    int64_t sum;
};

/* The closed window [t - window, t]: both ends count, so four 3-hour steps hold 5 samples. */
struct sr_swing_range {
    int64_t t_s;
    double low, high, range;     /* range = high - low */
    int64_t low_at_s, high_at_s; /* the latest instants of the extremes */
    double mean;                 /* of the samples within, duration-weighted, to 1e-6 */
    double coverage_pct;         /* of the window */
};

/* Slots that suffice for readings at least every_s apart. */
size_t sr_swing_slots(int64_t window_s, int64_t every_s);

/* Begins a window over readings nominally every_s apart; slots[room] is lent until the last
 * push. coverage_min_pct in (0, 100]; 75 is the project's choice. SR_NOMEM if room < 2. */
SR_MUST_USE enum sr_rc sr_swing_window_begin(int64_t window_s, int64_t every_s,
                                             double coverage_min_pct,
                                             struct sr_swing_slot slots[], size_t room,
                                             struct sr_swing_window *out);

/* Takes the next reading and gives the range of the window that ends with it. SR_THIN: the
 * reading was taken, but it is NaN or the window is covered too little. SR_NOMEM, SR_ORDER,
 * SR_RANGE: the reading was not taken and the window is as before. */
SR_MUST_USE enum sr_rc sr_swing_window_push(struct sr_swing_window *w, int64_t t_s, double v,
                                            struct sr_swing_range *out);

/* The greatest range over a whole series (the first of equals). SR_THIN if no window is
 * covered enough. */
SR_MUST_USE enum sr_rc sr_swing_greatest(const struct sr_series *s, int64_t window_s,
                                         double coverage_min_pct, struct sr_swing_slot slots[],
                                         size_t room, struct sr_swing_range *out);

/* ---- rate ---- */

struct sr_swing_rate {
    int64_t from_s, to_s;
    double change; /* value at to_s less value at from_s */
    double per_h;
};

/* The change that ends at sample i, against the sample nearest to window_s before it (and
 * not further than one nominal interval from that instant). SR_THIN if there is none, if
 * either is NaN, or if the way between them has a gap of more than 2 intervals. SR_RANGE if
 * i >= n. Scans back over the window only; the series must have passed sr_series_check. */
SR_MUST_USE enum sr_rc sr_swing_rate_at(const struct sr_series *s, size_t i, int64_t window_s,
                                        struct sr_swing_rate *out);

/* The steepest such change, up or down, over a series (the first of equals). */
SR_MUST_USE enum sr_rc sr_swing_steepest(const struct sr_series *s, int64_t window_s,
                                         struct sr_swing_rate *out);

/* Least-squares slope of the samples in [from_s, to_s], per hour. SR_THIN for fewer than 3
 * or across a gap of more than 2 intervals. */
SR_MUST_USE enum sr_rc sr_swing_slope(const struct sr_series *s, int64_t from_s, int64_t to_s,
                                      double *out_per_h);

/* ---- response filter ---- */

/* What an object of time constant tau feels: y += (1 - exp(-dt/tau))(x - y). */
struct sr_swing_filter {
    double tau_s;
    bool started;
    int64_t t_s;     /* of the last reading taken */
    int64_t since_s; /* y is known from here on */
    double y;
};

struct sr_swing_felt {
    double y;
    bool known; /* false for 3 tau after an unknown start or a gap longer than tau */
};

SR_MUST_USE enum sr_rc sr_swing_filter_begin(double tau_s, struct sr_swing_filter *out);

/* The same for an object known to be in balance with y at t_s: known at once. */
SR_MUST_USE enum sr_rc sr_swing_filter_begin_at(double tau_s, int64_t t_s, double y,
                                                struct sr_swing_filter *out);

/* Takes the next reading. A gap longer than tau (project choice) restarts at the reading,
 * unknown for 3 tau. SR_THIN for NaN: nothing is taken, the time counts as gap. */
SR_MUST_USE enum sr_rc sr_swing_filter_push(struct sr_swing_filter *f, int64_t t_s, double x,
                                            struct sr_swing_felt *out);

/* The same over a series: y[n], NaN where there is no reading or y is not yet known, so that
 * y with the same times is again a series. */
SR_MUST_USE enum sr_rc sr_swing_filter_series(const struct sr_series *s, double tau_s,
                                              double y[]);

/* How much of a sine of period_s is left behind such a filter: 1/sqrt(1 + (w tau)^2). */
SR_MUST_USE enum sr_rc sr_swing_gain(double period_s, double tau_s, double *out);

#endif
