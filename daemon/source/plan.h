/* plan.h - which requests bring all reads of a bus: neighbours are asked for together.
 *
 * Reads of one unit that are due together and lie in one table share a request if between them
 * lie at most PLAN_HOLE registers that nobody wants: 8 registers take 18 ms at 9600 baud, less
 * than the turn-round of another request. A unit that refuses such a request is asked in
 * smaller pieces from then on (plan_split).
 *
 * Errors:  RC_BAD_INPUT for a read that leaves the table or an instrument with too many reads.
 * Owner:   plan_free releases everything; the site's reads are borrowed.
 */
#ifndef SOURCE_PLAN_H
#define SOURCE_PLAN_H

#include <stdbool.h>
#include <stddef.h>

#include "source/frame.h"
#include "source/source.h"

enum {
    PLAN_HOLE = 8
};

/* One read of one instrument. */
struct plan_item {
    const struct site_read *read; /* borrowed */
    uint32_t channel;
    size_t instrument; /* index into the configuration */
};

struct plan_request {
    struct frame_request ask;
    size_t first, count; /* of the group's items, in order of address */
};

/* What one unit is asked at one pace. */
struct plan_group {
    int unit, every_s;
    struct plan_item *items; /* owned */
    size_t item_count;
    struct plan_request *requests; /* owned; room for one an item */
    size_t request_count;
};

struct plan {
    struct plan_group *groups; /* owned */
    size_t group_count;
};

MUST_USE enum rc plan_make(const struct source_config *config, struct plan *out);
void plan_free(struct plan *plan);

/* Parts a request that was refused: at its holes, else item by item. False if it holds one
 * item only. The parts stand where the request stood. */
bool plan_split(struct plan_group *group, size_t request);

/* A request whose answer differs in length from the answers to all other requests of a unit,
 * so that a late answer to one of those cannot pass for the answer to this one. */
struct frame_request plan_step_check(const struct plan *plan, int unit);

#endif
