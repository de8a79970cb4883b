/* engine.h - what readings mean: flags, derived quantities, mould, limits.
 *
 * Pure but for its own memory: no clock, no store, no lock. Fed the same readings in the same
 * order from the same state it gives the same results to the last bit, which is how a restart
 * stands where the run before it stood: it loads the states of the last closed day and feeds
 * the tail again.
 *
 * Owner:   engine_close takes NULL; roster and site are borrowed and outlive it.
 * Threads: one.
 */
#ifndef RECORDER_ENGINE_H
#define RECORDER_ENGINE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/rc.h"
#include "recorder/roster.h"
#include "watch/condition.h"

struct engine;

/* Where results go; `context` comes back in every call. */
struct engine_out {
    void *context;
    /* A derived quantity of a zone. */
    void (*derived)(void *context, int zone, enum quantity q, int64_t t_s, int32_t value);
    /* A limit of the site (by index) was raised or cleared. */
    void (*edge)(void *context, size_t limit, enum condition_edge edge, int64_t t_s,
                 const struct condition *condition);
};

MUST_USE enum rc engine_open(const struct roster *roster, struct engine **out);
void engine_close(struct engine *engine);

/* Newest reading fed of a channel; 0 if none. What is not newer is late and must not be fed. */
int64_t engine_last_s(const struct engine *engine, int channel);

/* Feeds one reading and returns the flags it deserves, beside those it came with. */
uint16_t engine_feed(struct engine *engine, int channel, int64_t t_s, int32_t value,
                     uint16_t flags, const struct engine_out *out);

const struct condition *engine_condition(const struct engine *engine, size_t limit);

/* States, all of them: kind, scope and doubles for each object. */
enum {
    ENGINE_STATE_MOST = CONDITION_STATE
};
MUST_USE enum rc engine_save(const struct engine *engine, struct store *store, int64_t t_s);
/* `at_s`: the start of the first open day. A limit's state that was saved for another moment is
 * of a limit that was away since, and is not loaded. */
MUST_USE enum rc engine_load(struct engine *engine, struct store *store, int64_t at_s);

#endif
