/* canvas.h - when a painting on canvas is likely to slacken, shrink or turn brittle.
 *
 * Units:   relative humidity percent, temperature degC, seconds.
 * Range:   humidity 0..100 %, temperature -60..60 degC.
 * Errors:  SR_RANGE outside it, NaN included; for series as series.h and swing.h.
 * Threads: pure functions.
 *
 * What is known: below about 80 % RH restrained canvas gains tension on drying and loses it on
 * wetting, above 80 % the fabric shrinks and the reverse holds (Hedley 1988, five naturally
 * aged fragments). Below 25 % even briefly, laminated materials are likely to split or flake
 * (Padfield). The other humidity limits are common practice, from memory. Cold makes paint
 * brittle: no handling below 5 degC (Canadian guidance), care below 13 degC (from memory).
 * Linings: sensitivity rises from wax-resin over heat-seal to glue-paste (Young & Ackroyd
 * 2001), but wax-resin lined samples also pulled hard at high humidity (Andersen et al.
 * 2014): a wax lining is no immunity. The time constants are from memory.
 */
#ifndef STILLROOM_CANVAS_H
#define STILLROOM_CANVAS_H

#include "stillroom/series.h"

extern const char sr_canvas_caveat[]; /* must be shown beside every zone */

enum sr_canvas_mount {
    SR_CANVAS_OPEN,       /* thin, without backboard: follows the room in about 1 h */
    SR_CANVAS_BACKED,     /* backboard and close frame: about 12 h */
    SR_CANVAS_PASTE_LINED /* glue-paste lining: about 24 h */
};

/* Time constant for the response filter (swing.h), from memory. */
SR_MUST_USE enum sr_rc sr_canvas_tau_s(enum sr_canvas_mount mount, double *out);

/* From driest to dampest; the limits themselves belong to the easier zone. */
enum sr_canvas_zone {
    SR_CANVAS_BRITTLE_ALARM,  /* below 25 % */
    SR_CANVAS_BRITTLE_ACTION, /* below 30 % */
    SR_CANVAS_BRITTLE_WATCH,  /* below 40 % */
    SR_CANVAS_EASY,
    SR_CANVAS_SLACK_WATCH,  /* above 65 % */
    SR_CANVAS_SLACK_ACTION, /* above 70 % */
    SR_CANVAS_SHRINK_ALARM  /* above 80 % */
};
#define SR_CANVAS_ZONES 7

/* Zone of a response-filtered humidity; give raw humidity for the 25 % limit as well. */
SR_MUST_USE enum sr_rc sr_canvas_zone_of(double rh_pct, enum sr_canvas_zone *out);

/* A few words for a zone, never NULL. */
const char *sr_canvas_zone_text(enum sr_canvas_zone zone);

enum sr_canvas_cold {
    SR_CANVAS_WARM,
    SR_CANVAS_COLD_CAUTION, /* below 13 degC */
    SR_CANVAS_COLD_STOP     /* below 5 degC: do not handle */
};
SR_MUST_USE enum sr_rc sr_canvas_cold_of(double t_c, enum sr_canvas_cold *out);

struct sr_canvas_time {
    int64_t in_zone_s[SR_CANVAS_ZONES];
    int64_t unknown_s; /* covered by readings, but the filter has not settled */
    int64_t covered_s;
    int64_t span_s;
    int64_t raw_below_25_s; /* unfiltered: even a short time counts */
};

/* Time a canvas of this time constant spent in each zone within [from_s, to_s): humidity is
 * filtered from the series' first sample on. Readings outside 0..100 % are taken as the
 * nearer of the two. SR_THIN if nothing is covered. */
SR_MUST_USE enum sr_rc sr_canvas_over(const struct sr_series *rh, double tau_s, int64_t from_s,
                                      int64_t to_s, struct sr_canvas_time *out);

#endif
