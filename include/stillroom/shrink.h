/* shrink.h - how much wood moves across the grain as its moisture changes.
 *
 * Units:   lengths mm, moisture percent of dry mass, coefficients per percent of moisture, total
 *          shrinkage (green to oven-dry) percent.
 * Range:   width 0..10,000 mm, moisture 0..300 %; above fibre saturation (30 %) nothing moves.
 * Errors:  SR_RANGE outside the range, NaN and infinity included; the result is left alone.
 * Source:  USDA Wood Handbook (FPL-GTR-190 and -282), chapter 13, Table 13-5 (equation number
 *          13-2 from memory), and chapter 4, Table 4-3; for European panel woods the total
 *          shrinkages of Hoadley, in The Structural Conservation of Panel Paintings (Getty 1998),
 *          Table 1, over a fibre saturation of 30 %. Rows from memory say so.
 * Uncertainty: specimens differ by a factor of two: Norway spruce 0.18-0.46 % tangential,
 *          0.07-0.28 % radial per percent (Bengtsson 2001). Print movement to two figures. Free
 *          movement: what a frame, batten or paint holds back becomes stress.
 * Threads: pure functions and constant tables - no state, no allocation.
 */
#ifndef STILLROOM_SHRINK_H
#define STILLROOM_SHRINK_H

#include <stdbool.h>
#include <stddef.h>

#include "stillroom/rc.h"

#define SR_SHRINK_FIBRE_SATURATION_PCT 30.0

enum sr_shrink_cut {
    SR_SHRINK_RADIAL,     /* quarter-sawn board: across the face is along the rays */
    SR_SHRINK_TANGENTIAL, /* flat-sawn board */
};

enum sr_shrink_source {
    SR_SHRINK_HANDBOOK,
    SR_SHRINK_HOADLEY
};

struct sr_shrink_species {
    const char *key;  /* lower case, no spaces: for command lines and files */
    const char *name; /* for people */
    enum sr_shrink_source source;
    bool from_memory;  /* the row could not be read in the source */
    double radial;     /* handbook: coefficient per %; Hoadley: total shrinkage % */
    double tangential; /* the same */
};

/* Species number i; NULL from the end of the table on. */
const struct sr_shrink_species *sr_shrink_species(size_t i);

/* Species by its key; NULL if there is none. */
const struct sr_shrink_species *sr_shrink_find(const char *key);

/* Change of width per width and percent of moisture, for 6..14 %. */
SR_MUST_USE enum sr_rc sr_shrink_coefficient(const struct sr_shrink_species *s,
                                             enum sr_shrink_cut cut, double *out_per_pct);

/* Total shrinkage, percent: as printed, or from the coefficient by the handbook's own relation. */
SR_MUST_USE enum sr_rc sr_shrink_total(const struct sr_shrink_species *s,
                                       enum sr_shrink_cut cut, double *out_pct);

/* The handbook's relation: coefficient = 1 / (3000 / total - 20), at 10 % moisture with fibre
 * saturation at 30 %. Total over 0, up to 30 %. */
SR_MUST_USE enum sr_rc sr_shrink_from_total(double total_pct, double *out_per_pct);

/* Change of width from moisture m1_pct to m2_pct: positive swells. By the coefficient while both
 * lie in 6..14 %, else in proportion to total shrinkage up to fibre saturation. */
SR_MUST_USE enum sr_rc sr_shrink_movement(const struct sr_shrink_species *s,
                                          enum sr_shrink_cut cut, double width_mm,
                                          double m1_pct, double m2_pct, double *out_mm);

#endif
