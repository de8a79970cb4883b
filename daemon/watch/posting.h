/* posting.h - when a message leaves, and when it is tried again.
 *
 * Units:   UTC seconds.
 * Threads: pure, but for the process's time zone (base/clock.h).
 */
#ifndef WATCH_POSTING_H
#define WATCH_POSTING_H

#include <stdbool.h>
#include <stdint.h>

#include "site/site.h"

enum {
    POSTING_HOLD_S = 90,        /* what happens in one room within it is one message */
    POSTING_WEEK_S = 7 * 86400, /* after it a message is given up */
};

/* When a message of a priority written at t may leave: the highest at once, low ones in working
 * hours, the others after the hold. */
int64_t posting_due_s(const struct site *site, enum site_priority priority, int64_t t_s);

/* When a message that failed for the `tries`-th time is tried again: after 1, 2, 5, 15, 60
 * minutes, then hourly; false if it has had its week. What the other side refused for good goes
 * hourly from the beginning. */
bool posting_again_s(int64_t created_s, unsigned tries, bool refused, int64_t now_s,
                     int64_t *out_s);

#endif
