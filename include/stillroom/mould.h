/* mould.h - the VTT mould index: how far mould may have got on a surface, from its climate.
 *
 * Index:   0 none; 1 first growth under the microscope; 2 under 10 % of the surface, by
 *          microscope; 3 visible, under 10 %; 4 visible, 10-50 %; 5 over 50 %; 6 tight cover
 *          (wording from memory).
 * Caution: a low index is not a clearance. The model sees temperature and humidity at one point
 *          of clean material; below the class's lowest humidity (80 or 85 %) it is blind, while
 *          size, paste, starch and dirt can mould from about 70-75 %. Show the hours at or
 *          above 65, 75 and 80 % before the index.
 * Units:   temperature degC and relative humidity percent AT THE SURFACE, times in hours.
 * Range:   temperature -60..100 degC, humidity 0..105 % (above 100 is taken as 100), index 0..6.
 * Errors:  SR_RANGE for anything outside its range, NaN and infinity included; nothing is
 *          changed then, so an unusable reading holds the state.
 * Source:  Hukka & Viitanen (1999), equations for pine and spruce sapwood; Ojanen, Viitanen et
 *          al. (2010), classes and declines. Of the 1999 form the equation for the time to
 *          index 3 is from memory; the class names of the declines are from memory.
 * Uncertainty: the classes span whole groups of materials; take one class either way.
 * Threads: pure functions - no hidden state, no allocation.
 */
#ifndef STILLROOM_MOULD_H
#define STILLROOM_MOULD_H

#include <stdbool.h>

#include "stillroom/rc.h"

#define SR_MOULD_INDEX_MAX 6.0
#define SR_MOULD_STEP_MAX_H 87840.0 /* ten years */

/* Sensitivity classes of Ojanen et al. (2010). */
enum sr_mould_sensitivity {
    SR_MOULD_VERY_SENSITIVE, /* pine sapwood; project choice: size, paste, animal-glue gesso */
    SR_MOULD_SENSITIVE,      /* planed or glued wood, paper; project choice: varnished faces */
    SR_MOULD_MEDIUM_RESISTANT, /* concrete, mineral wools */
    SR_MOULD_RESISTANT,        /* glass, metal */
};

/* The parameters of one class. Plain values: a caller may alter a copy. */
struct sr_mould_class {
    double k1_start; /* growth intensity below index 1 */
    double k1_grown; /* growth intensity from index 1 on; not used if by_visible_time */
    double a, b, c;  /* largest index: a + b x - c x^2, x = humidity between critical and 100 */
    double rh_min_pct;    /* growth at no lower humidity */
    double wood;          /* W: 0 pine, 1 spruce */
    double surface;       /* SQ: 0 resawn after drying, 1 kiln-dried original surface */
    bool by_visible_time; /* the 1999 form: growth above index 1 from the time to index 3 */
    bool hold_frozen;     /* at or below 0 degC hold the index instead of letting it decline */
};

/* Declines, Ojanen et al. (2010): what share of the 1999 decline of bare pine the material
 * shows. Names from memory. The project's choice is 0.25 for all but bare pine. */
#define SR_MOULD_DECLINE_STRONG 1.0
#define SR_MOULD_DECLINE_SIGNIFICANT 0.5
#define SR_MOULD_DECLINE_LOW 0.25
#define SR_MOULD_DECLINE_NEARLY_NONE 0.1

struct sr_mould_state {
    double index; /* 0..6 */
    double dry_h; /* hours since conditions last allowed growth; never capped */
};

/* The 2010 class, W = SQ = 0, declining while frozen. */
SR_MUST_USE enum sr_rc sr_mould_class_get(enum sr_mould_sensitivity sensitivity,
                                          struct sr_mould_class *out);

/* The 1999 form: wood 0 (pine) to 1 (spruce), surface 0 (resawn) to 1 (kiln-dried). */
SR_MUST_USE enum sr_rc sr_mould_class_1999(double wood, double surface,
                                           struct sr_mould_class *out);

/* Humidity below which this class does not grow at t_c. At or below 0 and at or above 50 degC
 * nothing grows at all: SR_NO_SOLUTION. */
SR_MUST_USE enum sr_rc sr_mould_critical_rh(const struct sr_mould_class *c, double t_c,
                                            double *out_pct);

/* Weeks of constant conditions until index 1 of a very sensitive material (0 < t_c < 50,
 * 1 <= rh_pct <= 100). It says nothing of whether growth is possible there. */
SR_MUST_USE enum sr_rc sr_mould_weeks_to_first(const struct sr_mould_class *c, double t_c,
                                               double rh_pct, double *out_weeks);

/* Largest index that these conditions can bring about; 0 where they allow no growth. */
SR_MUST_USE enum sr_rc sr_mould_index_limit(const struct sr_mould_class *c, double t_c,
                                            double rh_pct, double *out_index);

/* Moves the state on by dt_h (0..87840) of constant conditions at the surface. Growth is taken
 * in equal steps of at most 1 h; the decline is exact over any step. An index already above what
 * the conditions allow is held while they still allow growth.
 * decline: 0..1, one of SR_MOULD_DECLINE_... The caller decides what a gap of more than 6 h means
 * (struct sr_mould_run keeps a range over it). */
SR_MUST_USE enum sr_rc sr_mould_step(const struct sr_mould_class *c, double decline, double t_c,
                                     double rh_pct, double dt_h, struct sr_mould_state *state);

#endif
