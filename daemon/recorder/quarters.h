/* quarters.h - quarter-hour sums of one series' open days, and of the last hours before them.
 *
 * Owner: quarters_free; a zeroed struct is an empty one.
 */
#ifndef RECORDER_QUARTERS_H
#define RECORDER_QUARTERS_H

#include <stddef.h>
#include <stdint.h>

#include "base/rc.h"

enum {
    QUARTER_S = 900
};

struct quarter {
    int64_t t_s; /* its start */
    int64_t sum;
    int32_t min, max;
    uint32_t n;
};

struct quarters {
    struct quarter *items; /* owned; in order of time */
    uint32_t count, cap;
};

void quarters_free(struct quarters *q);
MUST_USE enum rc quarters_add(struct quarters *q, int64_t t_s, int32_t value);

/* Forgets what begins before a time. */
void quarters_cut(struct quarters *q, int64_t before_s);
/* Forgets what begins at a time or later. */
void quarters_cut_from(struct quarters *q, int64_t from_s);

#endif
