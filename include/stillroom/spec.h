/* spec.h - an agreed climate as rules, and where a record left it.
 *
 * Units:   relative humidity percent, temperature degC, changes percent RH and K, seconds UTC.
 * Range:   series as series.h; limits finite or NaN for "not agreed".
 * Errors:  as series.h and swing.h; SR_RANGE for limits that cross or a clause the
 *          specification does not have; SR_THIN when nothing can be said of a clause.
 * Owner:   slots (for the 24-hour and 1-hour clauses) are lent by the caller; nothing is
 *          allocated. A clause without a window needs none (NULL, 0).
 * Threads: pure functions; a watch belongs to its caller.
 *
 * "+/-10 in 24 hours" can be read in three ways (enum sr_spec_reading), and contracts rarely
 * say which. All three are worked out; until the parties agree, the full range counts, being
 * the strictest: who keeps within it keeps within both others. Inside 40-60 % the half range
 * with 10 is always kept, so that reading alone would make the clause vanish. Print which
 * reading was used.
 * An excursion begins with the first sample outside, ends with the first sample back inside
 * or with the end of what is known; a gap ends it. The times of all excursions add up to the
 * covered time outside (stats.h, the same rule of what a sample stands for).
 */
#ifndef STILLROOM_SPEC_H
#define STILLROOM_SPEC_H

#include <stdbool.h>

#include "stillroom/series.h"
#include "stillroom/swing.h"

extern const char sr_spec_caveat[]; /* must be shown beside every finding */

enum sr_spec_reading {
    SR_SPEC_HALF_RANGE, /* greatest less least of the window at most 2 x */
    SR_SPEC_CENTRED,    /* each value at most x from the mean of the window before it */
    SR_SPEC_FULL_RANGE, /* greatest less least at most x */
    SR_SPEC_UNAGREED    /* in a specification only: taken as the full range, and said */
};
#define SR_SPEC_READINGS 3

enum sr_spec_clause {
    SR_SPEC_RH,
    SR_SPEC_T,
    SR_SPEC_RH_24H,
    SR_SPEC_T_24H,
    SR_SPEC_RH_1H,
    SR_SPEC_T_1H
};
#define SR_SPEC_CLAUSES 6

struct sr_spec {
    const char *key;    /* lower case, for files */
    const char *name;   /* for people */
    const char *source; /* where the figures are published, and how we know them */
    double rh_min_pct, rh_max_pct, t_min_c, t_max_c;
    double rh_24h_pct, t_24h_k, rh_1h_pct, t_1h_k; /* the x of the readings above */
    int max_excursion_min;   /* shorter ones are time outside, but no finding; 0 or more */
    double coverage_min_pct; /* below it a clause is not decided */
    double percentile; /* share of the covered time that must be inside; 100 = all of it */
    enum sr_spec_reading reading;
};

/* Published rule sets, number i; NULL from the end on. max_excursion_min 0, coverage_min_pct
 * 75 and percentile 100 are project choices in each: agree them with the other party. */
const struct sr_spec *sr_spec_published(size_t i);
const struct sr_spec *sr_spec_find(const char *key);

/* How good the sensor is; all 0 or more. The expanded uncertainties (k = 2) of a value, those
 * of a change (calibration errors cancel there), and its response time to 90 %. */
struct sr_spec_sensor {
    double u_rh_pct, u_t_k;
    double u_rh_change_pct, u_t_change_k;
    int64_t response_s;
};

struct sr_spec_excursion {
    enum sr_spec_clause clause;
    enum sr_spec_reading reading; /* of the two-sided and windowed clauses */
    int64_t start_s, end_s;
    double extreme; /* the value furthest out: a humidity or temperature, a range, or (centred)
                       a difference from the mean */
    int64_t extreme_at_s;
    double limit;            /* the limit it is beyond */
    bool above;              /* which side */
    bool within_uncertainty; /* the extreme is no further out than the sensor can tell */
    bool brief;              /* shorter than the response time plus two intervals */
    bool from_gap, to_gap;   /* before or after lies a gap or the period's edge: it may have
                                been longer */
};

enum sr_spec_finding {
    SR_SPEC_INSIDE,
    SR_SPEC_OUTSIDE,
    SR_SPEC_UNDECIDED /* too little of the period is covered */
};

struct sr_spec_totals {
    int64_t covered_s, outside_s;
    int64_t counted_s; /* outside in excursions longer than max_excursion_min */
    double inside_pct; /* of the covered time */
    double coverage_pct;
    size_t excursions, brief, within_uncertainty;
    int64_t longest_s;
    double lowest, highest; /* of the value that is tested */
    enum sr_spec_finding finding;
};

/* One clause under one reading, as the samples come. */
struct sr_spec_watch {
    enum sr_spec_clause clause;
    enum sr_spec_reading reading;
    double low, high; /* inside is low <= value <= high; may be infinite */
    double allowance; /* of the windowed clauses */
    double uncertainty, percentile, coverage_min_pct;
    int64_t from_s, to_s, every_s, brief_s, tolerated_s;
    bool windowed;
    struct sr_swing_window window;
    bool started; /* the newest sample, not yet accounted for */
    int64_t t_s;
    double v;
    bool known; /* something stood up to known_until_s */
    int64_t known_until_s;
    bool out; /* an excursion is running: so far it is */
    struct sr_spec_excursion now;
    struct sr_spec_totals totals;
};

/* Begins to watch [from_s, to_s) for one clause of the specification; reading is ignored for
 * SR_SPEC_RH and SR_SPEC_T. Push samples from one window before from_s on, or the beginning
 * of the period is unknown. */
SR_MUST_USE enum sr_rc
sr_spec_watch_begin(const struct sr_spec *spec, enum sr_spec_clause clause,
                    enum sr_spec_reading reading, const struct sr_spec_sensor *sensor,
                    int64_t from_s, int64_t to_s, int64_t every_s, struct sr_swing_slot slots[],
                    size_t room, struct sr_spec_watch *out);

/* Takes the next humidity or temperature (NaN = none). If that ended an excursion, *ended is
 * set and *excursion filled; else *ended is cleared. */
SR_MUST_USE enum sr_rc sr_spec_watch_push(struct sr_spec_watch *w, int64_t t_s, double v,
                                          struct sr_spec_excursion *excursion, bool *ended);

/* The totals so far, the newest sample standing for its time as if no other came, and the
 * excursion that is running (*running). The watch is unchanged and may go on. SR_THIN if
 * nothing is covered yet. */
SR_MUST_USE enum sr_rc sr_spec_watch_so_far(const struct sr_spec_watch *w,
                                            struct sr_spec_totals *totals,
                                            struct sr_spec_excursion *excursion, bool *running);

struct sr_spec_clause_report {
    bool agreed; /* the specification has this clause */
    /* Range clauses: [0] only. Windowed ones: by enum sr_spec_reading. covered_s 0: nothing
     * could be said. */
    struct sr_spec_totals by_reading[SR_SPEC_READINGS];
    enum sr_spec_reading used;    /* windowed clauses: the one that counts */
    enum sr_spec_finding finding; /* under that reading */
};

struct sr_spec_report {
    struct sr_spec_clause_report clause[SR_SPEC_CLAUSES];
    enum sr_spec_finding finding; /* outside if any clause is, else undecided if any is */
};

/* Every clause over a whole series. Slots as sr_swing_slots(86400, shortest interval). */
SR_MUST_USE enum sr_rc sr_spec_evaluate(const struct sr_spec *spec,
                                        const struct sr_spec_sensor *sensor,
                                        const struct sr_air_series *s, int64_t from_s,
                                        int64_t to_s, struct sr_swing_slot slots[], size_t room,
                                        struct sr_spec_report *out);

/* The excursions of one clause under one reading, in order of time, at most max of them;
 * *n_all is how many there are. */
SR_MUST_USE enum sr_rc sr_spec_list(const struct sr_spec *spec, enum sr_spec_clause clause,
                                    enum sr_spec_reading reading,
                                    const struct sr_spec_sensor *sensor,
                                    const struct sr_air_series *s, int64_t from_s, int64_t to_s,
                                    struct sr_swing_slot slots[], size_t room,
                                    struct sr_spec_excursion list[], size_t max, size_t *n_all);

#endif
