/* hold.h - what the time between two samples of air may be used for: the common ground of all
 * models that run over measured air, sample by sample.
 *
 * A sample stands as series.h says: until the next one, but at most 1.5 intervals. The rest of
 * the way is without data, and so is all of it after a NaN sample.
 *
 * Units:   seconds UTC, degC, percent over water.
 * Errors:  said at each function; nothing is changed unless SR_OK is returned.
 * Threads: pure functions on the caller's values - no allocation.
 */
#ifndef STILLROOM_HOLD_H
#define STILLROOM_HOLD_H

#include <stdbool.h>
#include <stdint.h>

#include "stillroom/rc.h"

struct sr_hold {
    int64_t every_s;
    int64_t t_s; /* of the newest sample */
    bool begun;  /* there is one */
    bool valid;  /* and it had values */
    bool known;  /* t_c and rh_pct hold the newest values there were */
    double t_c, rh_pct;
};

/* The way from one sample to the next. */
struct sr_hold_span {
    int64_t covered_s; /* t_c and rh_pct stood */
    int64_t blind_s;   /* then there was no data */
    bool marked;       /* because a sample without values said so */
    bool known;        /* t_c and rh_pct mean something */
    double t_c, rh_pct;
};

/* SR_RANGE unless every_s is within what series.h allows. */
SR_MUST_USE enum sr_rc sr_hold_begin(int64_t every_s, struct sr_hold *out);

/* What the way from the newest sample to t_s holds; changes nothing. SR_ORDER unless t_s is
 * later than the newest sample. Before the first sample the span is empty. */
SR_MUST_USE enum sr_rc sr_hold_until(const struct sr_hold *h, int64_t t_s,
                                     struct sr_hold_span *out);

/* The same up to a new sample, which is taken. Either value NaN: a sample without values;
 * SR_RANGE for infinities and for values outside -60..100 degC or 0..105 %. */
SR_MUST_USE enum sr_rc sr_hold_take(struct sr_hold *h, int64_t t_s, double t_c, double rh_pct,
                                    struct sr_hold_span *out);

#endif
