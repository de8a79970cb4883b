/* queue.c - see queue.h. */
#include "recorder/queue.h"

#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>
#include <time.h>

#include "base/clock.h"

struct queue {
    struct sink sink; /* first: a sink pointer is a queue pointer */
    pthread_mutex_t lock;
    pthread_cond_t due;
    struct reading *ring; /* owned */
    size_t capacity, first, length;
    uint64_t dropped;
    bool woken;
};

static void put(struct sink *sink, const struct reading *readings, unsigned count)
{
    struct queue *q = (struct queue *)sink;
    pthread_mutex_lock(&q->lock);
    for (unsigned i = 0; i < count; i++) {
        if (q->length == q->capacity) {
            q->dropped += count - i;
            break;
        }
        q->ring[(q->first + q->length) % q->capacity] = readings[i];
        q->length++;
    }
    if (q->length * 2 >= q->capacity)
        pthread_cond_signal(&q->due);
    pthread_mutex_unlock(&q->lock);
}

enum rc queue_open(size_t capacity, struct queue **out)
{
    struct queue *q = calloc(1, sizeof *q);
    if (q == NULL)
        return RC_NOMEM;
    q->ring = malloc(capacity * sizeof *q->ring);
    if (q->ring == NULL) {
        free(q);
        return RC_NOMEM;
    }
    q->capacity = capacity;
    q->sink.put = put;
    pthread_mutex_init(&q->lock, NULL);
    pthread_condattr_t attr;
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    pthread_cond_init(&q->due, &attr);
    pthread_condattr_destroy(&attr);
    *out = q;
    return RC_OK;
}

void queue_close(struct queue *q)
{
    if (q == NULL)
        return;
    pthread_cond_destroy(&q->due);
    pthread_mutex_destroy(&q->lock);
    free(q->ring);
    free(q);
}

struct sink *queue_sink(struct queue *q)
{
    return &q->sink;
}

size_t queue_take(struct queue *q, struct reading *out, size_t max)
{
    pthread_mutex_lock(&q->lock);
    size_t n = q->length < max ? q->length : max;
    for (size_t i = 0; i < n; i++)
        out[i] = q->ring[(q->first + i) % q->capacity];
    q->first = (q->first + n) % q->capacity;
    q->length -= n;
    pthread_mutex_unlock(&q->lock);
    return n;
}

size_t queue_length(struct queue *q)
{
    pthread_mutex_lock(&q->lock);
    size_t n = q->length;
    pthread_mutex_unlock(&q->lock);
    return n;
}

uint64_t queue_dropped(struct queue *q)
{
    pthread_mutex_lock(&q->lock);
    uint64_t n = q->dropped;
    pthread_mutex_unlock(&q->lock);
    return n;
}

void queue_wait(struct queue *q, int timeout_ms)
{
    struct timespec until = clock_deadline(timeout_ms);
    pthread_mutex_lock(&q->lock);
    while (!q->woken && q->length * 2 < q->capacity)
        if (pthread_cond_timedwait(&q->due, &q->lock, &until) != 0)
            break;
    q->woken = false;
    pthread_mutex_unlock(&q->lock);
}

void queue_wake(struct queue *q)
{
    pthread_mutex_lock(&q->lock);
    q->woken = true;
    pthread_cond_signal(&q->due);
    pthread_mutex_unlock(&q->lock);
}
