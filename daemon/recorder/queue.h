/* queue.h - the bounded queue between the sources' threads and the recorder.
 *
 * Threads: put from any; take from one. What does not fit is counted and dropped; the recorder
 *          turns the hole into a gap with its reason.
 * Owner:   queue_close takes NULL.
 */
#ifndef RECORDER_QUEUE_H
#define RECORDER_QUEUE_H

#include <stddef.h>
#include <stdint.h>

#include "base/rc.h"
#include "source/sink.h"

struct queue;

MUST_USE enum rc queue_open(size_t capacity, struct queue **out);
void queue_close(struct queue *queue);

/* The side that the sources see. */
struct sink *queue_sink(struct queue *queue);

/* Takes at most `max` readings in the order they were put. */
size_t queue_take(struct queue *queue, struct reading *out, size_t max);

size_t queue_length(struct queue *queue);
uint64_t queue_dropped(struct queue *queue); /* since the start */

/* Waits until it is at least half full, queue_wake is called, or the time is over. Readings are
 * drained on a timer: a wake-up for every poll costs a tenth of the polls. */
void queue_wait(struct queue *queue, int timeout_ms);
void queue_wake(struct queue *queue);

#endif
