/* air.h - two questions about air: what changed, and will outdoor air dry this room?
 *
 * Units:   temperature degC, relative humidity percent over water, vapour pressure Pa.
 * Range:   as psychro.h, and some vapour (rh_pct over 0).
 * Errors:  SR_RANGE outside the range, NaN and infinity included; SR_NO_SOLUTION for
 *          outdoor air with a dew point below -60 degC. The result is left alone then.
 * Source:  vapour pressure by psychro.h; mixing and the two readings are project choices.
 * Threads: pure functions - no state, no allocation.
 */
#ifndef STILLROOM_AIR_H
#define STILLROOM_AIR_H

#include "stillroom/rc.h"

/* One state of air with the standard uncertainty (k = 1) of each reading. Between two readings
 * of one sensor its repeatability counts, which is smaller than its uncertainty. */
struct sr_air {
    double t_c, rh_pct;
    double u_t_k, u_rh_pct; /* 0 or more */
};

enum sr_air_cause {
    SR_AIR_STEADY,           /* neither moved by more than the uncertainty */
    SR_AIR_TEMPERATURE_ONLY, /* the humidity moved because the temperature did */
    SR_AIR_VAPOUR_ADDED,     /* something wet, people, warmed wood or damper air */
    SR_AIR_VAPOUR_REMOVED,   /* a dehumidifier, drier air, or a cold surface */
};

struct sr_air_change {
    enum sr_air_cause cause;
    double by_temperature_pct; /* RH points the change of temperature alone would have made */
    double by_vapour_pct;      /* the rest of the change in RH; the two add up to the whole */
    double vapour_pa;          /* change of vapour pressure */
    double u_vapour_pa; /* its standard uncertainty; the change counts from two of them */
};

/* Was vapour added, or did only the temperature move? Wood, paper and plaster give off vapour as
 * they warm: a slow rise with the heating is not yet a leak. */
SR_MUST_USE enum sr_rc sr_air_changed(const struct sr_air *before, const struct sr_air *after,
                                      struct sr_air_change *out);

enum sr_air_exchange {
    SR_AIR_NO_DIFFERENCE, /* the two differ by less than two standard uncertainties */
    SR_AIR_DRIES,         /* outdoor air holds less vapour */
    SR_AIR_DAMPENS,       /* outdoor air holds more: it adds water even if its RH is lower */
};

struct sr_air_window {
    enum sr_air_exchange exchange;
    double vapour_pa;     /* outdoor less indoor vapour pressure */
    double u_vapour_pa;   /* its standard uncertainty */
    double carried_g_m3;  /* water each m3 let in brings (or, negative, takes) once at room
                               * temperature */
    double rh_warmed_pct; /* outdoor air once it has come to the room's temperature */
    double rh_peak_pct;   /* the highest RH the room passes through while the two mix, before
                               * walls and heating warm the air again; over 100 means mist */
    double outdoor_dew_c; /* surfaces in the room below this get wet from outdoor air */
};

/* Will opening the window dry this room? Answers for the air; what wood and walls give back is
 * not in it. Works under treatment may not bear the swing: rh_peak_pct and the new temperature
 * matter as much as the answer. */
SR_MUST_USE enum sr_rc sr_air_window(const struct sr_air *indoor, const struct sr_air *outdoor,
                                     struct sr_air_window *out);

#endif
