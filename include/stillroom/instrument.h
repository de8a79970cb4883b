/* instrument.h - signs that a reading should not be taken at its word.
 *
 * Units:   temperature degC, relative humidity percent, times UTC seconds.
 * Range:   any finite reading is judged; NaN = no reading.
 * Errors:  SR_ORDER for times that do not rise, SR_RANGE for infinities; SR_THIN where said.
 * Threads: pure functions; each struct belongs to its caller.
 *
 * Flag, never drop. Limits are project choices. Jumps may be real (a chamber lid, a door), so
 * may stillness (a closed crate). Solvents shift polymer sensors, some for days (common
 * practice). Two-point correction by salts is in salt.h.
 */
#ifndef STILLROOM_INSTRUMENT_H
#define STILLROOM_INSTRUMENT_H

#include <stdbool.h>
#include <stdint.h>

#include "stillroom/rc.h"

extern const char sr_instrument_caveat[]; /* for a log without a calibration in force */

enum {
    SR_INSTRUMENT_BEYOND = 1, /* humidity below 0 or above 100.5 %, temperature beyond
                                 -60..100 degC */
    SR_INSTRUMENT_JUMP = 2,   /* more than 20 % RH or 5 K a minute */
    SR_INSTRUMENT_STUCK = 4   /* the same temperature and humidity for too long */
};

/* Watches one instrument's temperature and humidity. */
struct sr_instrument {
    int64_t stuck_after_s;
    int64_t silence_s; /* a longer pause ends a still stretch */
    bool started;
    int64_t t_s;
    double t_c, rh_pct;
    int64_t since_s; /* both values as now since */
};

/* How long both values may stay the same: 24 h, or 72 h where the resolution is coarse (1 % or
 * 0.5 K and more). SR_RANGE unless both resolutions are above 0. */
SR_MUST_USE enum sr_rc sr_instrument_stuck_after(double t_resolution_k,
                                                 double rh_resolution_pct, int64_t *out_s);

SR_MUST_USE enum sr_rc sr_instrument_begin(int64_t stuck_after_s, int64_t every_s,
                                           struct sr_instrument *out);

/* Flags of the next reading. A change between readings less than a minute apart is held
 * against the limit for a minute. Either value NaN: SR_THIN, the reading is passed over. */
SR_MUST_USE enum sr_rc sr_instrument_push(struct sr_instrument *in, int64_t t_s, double t_c,
                                          double rh_pct, unsigned *out_flags);

/* Two instruments within about half a metre, compared by dew point: 1 K between them alone
 * is 3 % RH. */
struct sr_instrument_pair_reading {
    double t_c, rh_pct;
    double u_t_k, u_rh_pct; /* standard uncertainties */
};

struct sr_instrument_twins {
    bool started, apart;
    int64_t t_s, apart_since_s;
};

struct sr_instrument_apart {
    double difference_k; /* of the dew points, first less second */
    double allowed_k;    /* 2 sqrt(u1^2 + u2^2) */
    bool apart;          /* more than allowed now */
    bool alarm;          /* for 6 h without a break */
};

void sr_instrument_twins_begin(struct sr_instrument_twins *out);

/* Takes a reading of both. SR_THIN if either has no dew point (NaN, or perfectly dry). A pause
 * of more than 6 h begins the 6 h anew. */
SR_MUST_USE enum sr_rc sr_instrument_twins_push(struct sr_instrument_twins *tw, int64_t t_s,
                                                const struct sr_instrument_pair_reading *first,
                                                const struct sr_instrument_pair_reading *second,
                                                struct sr_instrument_apart *out);

/* What happened over about ten minutes. */
struct sr_instrument_episode {
    double rh_change_pct, t_change_k;
    bool has_twin;
    double twin_rh_change_pct;
    bool solvent_in_use; /* a treatment with solvent is entered for the zone */
};

#define SR_INSTRUMENT_SOLVENT_JUMP_PCT 5.0 /* project choice, as the next two */
#define SR_INSTRUMENT_SOLVENT_STEADY_K 0.5
#define SR_INSTRUMENT_TWIN_HOLDS_PCT 2.0

/* Is it like solvent on the sensor? Humidity jumped at steady temperature while the twin held
 * or solvent is in use. */
SR_MUST_USE enum sr_rc sr_instrument_solvent(const struct sr_instrument_episode *e,
                                             bool *out_suspect);

/* How long to wait after a change for 90 % of it, first order: 2.303 tau. EN 15758 asks for at
 * least 1.5 time constants and 90 %; 1.5 are only 77.7 %, so this governs. tau 0..1e7 s. */
SR_MUST_USE enum sr_rc sr_instrument_settle_s(double tau_s, double *out_s);

#endif
