/* control.h - which ASHRAE type of control a room has kept to, from its own record.
 *
 * Units:   hourly arrays of relative humidity (percent) and temperature (degC) over the same
 *          hours, NaN = no value; range as seasonal.h.
 * Errors:  SR_RANGE outside that; SR_THIN when no hour has a seasonal mean in both.
 * Owner:   mean[n] and work[n] are scratch lent by the caller.
 * Threads: pure functions.
 *
 * Source: ASHRAE Handbook - HVAC Applications, chapter on museums, galleries, archives and
 * libraries, 2019 form. ALL FIGURES FROM MEMORY: verify them before they enter a contract.
 * How they are tested (project choice): over the last 8,760 hours with a 30-day centred mean
 * (seasonal.h), the annual mean being the mean of those hours. The seasonal value is the
 * 30-day mean less the annual mean, the short-term value is the value less the 30-day mean.
 * Where a type allows no seasonal drift of humidity, the short-term limit holds for the value
 * less the annual mean. Outer limits hold for every hour with a value. Everything else is
 * tested twice, on all hours and on their 1st to 99th percentile: report both.
 */
#ifndef STILLROOM_CONTROL_H
#define STILLROOM_CONTROL_H

#include <stdbool.h>

#include "stillroom/seasonal.h"

extern const char sr_control_caveat[]; /* must be shown beside every result */

#define SR_CONTROL_TYPES 6

/* NaN: the type has no such limit. */
struct sr_control_type {
    const char *name;
    double rh_short_pct, t_short_k;              /* either way */
    double rh_season_down_pct, rh_season_up_pct; /* both 0: no drift of the humidity */
    double t_season_down_k, t_season_up_k;
    double rh_min_pct, rh_max_pct, t_min_c, t_max_c;
};

/* AA, A1, A2, B, C, D, the strictest first; A1 and A2 are alternatives. */
extern const struct sr_control_type sr_control_types[SR_CONTROL_TYPES];

struct sr_control_spread {
    double min, p1, p99, max;
};

struct sr_control_quantity {
    double annual_mean;
    struct sr_control_spread outer;      /* of the value */
    struct sr_control_spread departure;  /* of the value less the annual mean */
    struct sr_control_spread short_term; /* of the value less the 30-day mean */
    struct sr_control_spread seasonal;   /* of the 30-day mean less the annual mean */
    size_t hours;                        /* with value and 30-day mean */
};

/* Limits a type was not kept to. */
enum {
    SR_CONTROL_RH_SHORT = 1,
    SR_CONTROL_RH_SEASON = 2,
    SR_CONTROL_RH_OUTER = 4,
    SR_CONTROL_T_SHORT = 8,
    SR_CONTROL_T_SEASON = 16,
    SR_CONTROL_T_OUTER = 32
};

struct sr_control {
    struct sr_control_quantity rh, t;
    unsigned missed_all[SR_CONTROL_TYPES]; /* 0: kept, tested on all hours */
    unsigned missed_p[SR_CONTROL_TYPES];   /* 0: kept, tested on P1 to P99 */
    int best_all, best_p;                  /* first type kept; -1 for none */
    double
        above_30_pct; /* of the hours of the outer limits, above 30 degC: type C says "rarely" */
    unsigned provisional; /* as seasonal.h; 0 for none */
};

SR_MUST_USE enum sr_rc sr_control_assess(const double rh_pct[], const double t_c[], size_t n,
                                         int64_t every_s, double mean[], double work[],
                                         struct sr_control *out);

#endif
