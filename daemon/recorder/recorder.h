/* recorder.h - the one that writes: drains the queue, judges, commits, shows, closes days.
 *
 * Errors:  after recorder_open nothing here ends the program. A disk that fills or turns
 *          read-only is a state that live_status tells; what was drained is kept and written as
 *          soon as that is possible, and readings that the queue cannot hold become a gap.
 * Threads: recorder_step and what lies below run in one thread only: the recorder's own after
 *          recorder_start, or the caller's where time is simulated.
 * Owner:   recorder_close takes NULL. The site outlives the recorder.
 */
#ifndef RECORDER_RECORDER_H
#define RECORDER_RECORDER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/clock.h"
#include "base/rc.h"
#include "recorder/courier.h"
#include "recorder/live.h"
#include "site/site.h"
#include "source/sink.h"

struct recorder;

struct recorder_cfg {
    const struct site *site;       /* borrowed */
    size_t queue_capacity;         /* 0: enough for an hour and more of 200 channels a minute */
    int commit_ms;                 /* a batch is committed when it is so old; 0: 10,000 */
    const struct courier *courier; /* borrowed; NULL: messages wait in the outbox */
};

/* Opens the store, numbers the site, stands where the run before stood (today's readings are
 * fed again), and opens a gap for the time that nobody recorded. */
MUST_USE enum rc recorder_open(const struct recorder_cfg *cfg, struct tick now,
                               struct recorder **out);

/* Commits what is pending, marks a clean stop, checkpoints. */
void recorder_close(struct recorder *recorder, struct tick now);

struct sink *recorder_sink(struct recorder *recorder);
struct live *recorder_live(struct recorder *recorder);

/* The store's id of the channel of an instrument's i-th read. */
uint32_t recorder_channel(const struct recorder *recorder, size_t instrument, size_t read);

/* Does what is due: drains, commits, closes days. Returns how long it may be left, in ms. */
int64_t recorder_step(struct recorder *recorder, struct tick now);

/* Commits what is pending at once. */
MUST_USE enum rc recorder_flush(struct recorder *recorder, struct tick now);

/* Runs recorder_step in a thread until recorder_stop, which joins it. */
MUST_USE enum rc recorder_start(struct recorder *recorder);
void recorder_stop(struct recorder *recorder);

/* When the recorder's thread last moved (monotonic ms). */
int64_t recorder_moved_ms(struct recorder *recorder);

/* A person's word on an alarm, by its occurrence: RC_NOT_FOUND, RC_CONFLICT, or why nothing can
 * be written now. Any thread; waits until it is committed, or some seconds (RC_TIMEOUT: it may
 * still be). `until_s` only for ALARM_SHELVE. */
MUST_USE enum rc recorder_alarm(struct recorder *recorder, int64_t occurrence,
                                enum alarm_input input, int64_t until_s, const char *person,
                                const char *reason);

#endif
