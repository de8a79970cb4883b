/* condition.h - when a limit is breached for long enough, and when that is over for long enough.
 *
 * Pure and replayable: fed the same readings, it gives the same edges, so a restart that reads
 * today's readings again stands where it stood.
 *
 * Units: values in the quantity's unit, times UTC seconds, fed in rising order.
 */
#ifndef WATCH_CONDITION_H
#define WATCH_CONDITION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "site/site.h"

enum {
    CONDITION_SLICES = 24,
    CONDITION_HEAD = 5,
    CONDITION_STATE = CONDITION_HEAD + 3 * (CONDITION_SLICES + 1)
};

enum condition_edge {
    EDGE_NONE,
    EDGE_RAISED,
    EDGE_CLEARED
};

/* A mean over a twenty-fourth of the window of a range rule: single readings at the extremes
 * are the instrument's noise, not the room's swing. */
struct condition_slice {
    int64_t index; /* t / slice length; -1: empty */
    double sum;
    int64_t n;
};

struct condition {
    const struct site_limit *limit; /* borrowed */
    bool raised;
    int64_t breach_since_s; /* 0: not in breach */
    int64_t clear_since_s;  /* 0: not clear */
    double value;           /* last value judged; NaN before the first */
    double worst;           /* furthest out since the breach began; NaN outside one */
    struct condition_slice slices[CONDITION_SLICES + 1];
};

void condition_begin(struct condition *c, const struct site_limit *limit);

/* Judges one value. An edge bears the time t at which it is known. */
enum condition_edge condition_feed(struct condition *c, int64_t t_s, double value);

/* The state as exact doubles, and back; saving returns how many there are, which loading the
 * state of the same rule expects. A state saved under another rule must not be loaded: the
 * caller keys it by the rule's text. */
size_t condition_save(const struct condition *c, double out[CONDITION_STATE]);
void condition_load(struct condition *c, const double in[CONDITION_STATE]);

/* True if `a` is further out than `b` by this limit; b may be NaN. */
bool condition_worse(const struct site_limit *limit, double a, double b);

#endif
