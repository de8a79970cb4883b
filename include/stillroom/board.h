/* board.h - how damp a board is inside, from the humidity it has stood in.
 *
 * Finite volumes across the thickness, finest at the open face. Two open faces are taken as
 * alike, so half the thickness is solved. Time: TR-BDF2, second order and stable for any step,
 * for a moisture at rest with the air (EMC) that moves in a straight line over the step; long
 * steps are taken in parts that grow, from 1 h, or from 1 min after a jump of the air. A part that
 * would overshoot is done again by backward Euler, which cannot. So cells never leave the span
 * of what they and the air held before.
 *
 * Units:   m, s, m2/s, moisture percent of dry mass, temperature degC, humidity percent.
 * Range:   see struct sr_board_spec; moisture 0..200 %; steps 0..1e9 s.
 * Errors:  SR_RANGE outside the range, NaN and infinity included; nothing is changed then.
 * Source:  the equation: Crank (1975); the scheme: Bank et al. (1985). D across the grain at
 *          20 degC and 6-14 % moisture is about 0.5-3e-10 m2/s for spruce, pine and lime, lower
 *          for oak and beech (from memory: Siau 1995, Time 1998), while a panel sealed on one
 *          face was reported at 5e-12 (Padfield). The default is 1e-10, and what is shown is the
 *          range over SR_BOARD_D_LOW..SR_BOARD_D_HIGH (struct sr_board_band).
 * Uncertainty: the range over D, a factor of sixty in time, swamps the scheme's own error: under
 *          0.05 % of the change, 0.1 % where D depends on moisture.
 *          Hysteresis, glue, paint and end grain are not in it. Weight and inspection decide.
 * Threads: pure functions on the caller's values - no allocation, nothing shared.
 */
#ifndef STILLROOM_BOARD_H
#define STILLROOM_BOARD_H

#include <stdbool.h>

#include "stillroom/rc.h"

#define SR_BOARD_CELLS 64
#define SR_BOARD_D_LOW 5e-12
#define SR_BOARD_D_DEFAULT 1e-10
#define SR_BOARD_D_HIGH 3e-10
#define SR_BOARD_STILL_AIR_M_S 1e-7 /* surface coefficient in still air (from memory) */
/* ln D per % moisture: a factor 8 from 2.5 to 18 %, aspen at 43 degC (Simpson 1974). */
#define SR_BOARD_D_PER_PCT 0.134
#define SR_BOARD_D_AT_PCT 10.0 /* the moisture at which d_m2_s is taken to hold */

struct sr_board_spec {
    double thickness_m; /* 1e-5..1 */
    int open_faces;     /* 1 (the other sealed) or 2 */
    double d_m2_s;      /* 1e-14..1e-6, at 20 degC */
    double surface_m_s; /* 1e-12..1, or 0: the face is at once at rest with the air */
    double d_per_pct; /* 0..1: D grows by exp(d_per_pct (M - SR_BOARD_D_AT_PCT)); 0 constant */
    bool d_by_temperature; /* D follows exp(-5280 (1/T - 1/293.15)) (from memory: Simpson & Liu
                            * 1991); in sr_board_step_air only */
};

/* A board at one moment. Plain values: copy it, keep it, go on from it to the same bits. */
struct sr_board {
    struct sr_board_spec spec;
    double air_pct;                      /* EMC at the end of the last step */
    double moisture_pct[SR_BOARD_CELLS]; /* mean of each cell, the open face first */
};

struct sr_board_answer {
    double mean_pct;
    double surface_pct;     /* at the open face itself */
    double core_pct;        /* at mid-thickness, or at the sealed face */
    double gradient_pct_mm; /* (surface - core) over the way between them */
};

/* A board that has long been at rest with air of this EMC. */
SR_MUST_USE enum sr_rc sr_board_begin(const struct sr_board_spec *spec, double moisture_pct,
                                      struct sr_board *out);

/* Moves it on by dt_s, the EMC of the air going in a straight line from emc_from_pct to
 * emc_to_pct. Give the same twice for a step. */
SR_MUST_USE enum sr_rc sr_board_step(struct sr_board *b, double emc_from_pct, double emc_to_pct,
                                     double dt_s);

/* The same for air that stays as it is for dt_s. The EMC formula ends at -1 degC and 98 % RH;
 * outside (-60..100 degC, 0..105 %) the nearest point of its range is taken, so a board under
 * frost or dripping wet reads too dry. */
SR_MUST_USE enum sr_rc sr_board_step_air(struct sr_board *b, double t_c, double rh_pct,
                                         double dt_s);

/* What the board holds now. */
SR_MUST_USE enum sr_rc sr_board_now(const struct sr_board *b, struct sr_board_answer *out);

/* The same board for the low, the default and the high D. */
struct sr_board_band {
    struct sr_board at[3];
};

struct sr_board_range {
    double low, middle, high; /* middle: by the default D; low and high: over all three */
};

struct sr_board_band_answer {
    struct sr_board_range mean_pct, surface_pct, core_pct, gradient_pct_mm;
};

/* spec->d_m2_s is not used. */
SR_MUST_USE enum sr_rc sr_board_band_begin(const struct sr_board_spec *spec,
                                           double moisture_pct, struct sr_board_band *out);
SR_MUST_USE enum sr_rc sr_board_band_step_air(struct sr_board_band *b, double t_c,
                                              double rh_pct, double dt_s);
SR_MUST_USE enum sr_rc sr_board_band_now(const struct sr_board_band *b,
                                         struct sr_board_band_answer *out);

#endif
