/* poller.h - decides which unit of a bus is asked when, and puts what came into the sink.
 *
 * Nothing here waits or reads a clock: the caller passes the time, one step asks one unit at
 * most, and the caller waits until the time that came back.
 *
 * Order:   a unit that gave its last answer is asked as soon as its slot comes. One that did
 *          not is asked in the time that is left, so that the dead never slow the living; after
 *          UNIT_DEAD failures in a row it is asked less and less often.
 * Slots:   follow UTC. If the clock was stepped, from then on slots by the new time.
 * Threads: one thread steps; poller_status from any.
 */
#ifndef SOURCE_POLLER_H
#define SOURCE_POLLER_H

#include "base/clock.h"
#include "source/line.h"
#include "source/source.h"

enum {
    POLLER_STEP_MS = 500,     /* a difference between the clocks that is a step, not drift */
    POLLER_OVERRUN_MAX = 600, /* gaps put for one run-over at most, the first included */
};

struct poller;

MUST_USE enum rc poller_new(const struct source_config *config, struct line *line,
                            struct sink *sink, struct tick now, struct poller **out);
void poller_free(struct poller *poller);

/* Does what is due; returns the monotonic time at which to call again, past if at once. */
int64_t poller_step(struct poller *poller, struct tick now);

void poller_status(struct poller *poller, struct source_status *out);

#endif
