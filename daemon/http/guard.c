/* guard.c - see guard.h.
 *
 * A socket is shut, never closed, here: closing is libmicrohttpd's, after guard_drop has
 * taken it out of the table under the lock, so a number that was given anew is never hit.
 */
#include "http/guard.h"

#include <pthread.h>
#include <stdlib.h>
#include <sys/socket.h>

#include "base/clock.h"

enum stage {
    STAGE_FREE,
    STAGE_FIRST,   /* accepted, no request's headers yet */
    STAGE_IDLE,    /* answered before, waiting for the next request */
    STAGE_ANSWER,  /* headers are complete, the answer is under way */
    STAGE_STREAM,  /* an event stream: no deadline, the heartbeat finds who has gone */
    STAGE_LEAVING, /* shut, not yet dropped */
};

enum {
    PERIOD_MS = 500
};

struct guard_slot {
    enum stage stage;
    int fd;
    int64_t since_ms;
};

struct guard {
    pthread_mutex_t lock;
    pthread_cond_t wake;
    pthread_t thread;
    bool stopping;
    struct guard_counts counts;
    struct guard_slot slots[GUARD_CONNECTIONS_MOST];
};

static int64_t patience_ms(enum stage stage)
{
    switch (stage) {
    case STAGE_FIRST:
        return GUARD_HEADER_MS;
    case STAGE_IDLE:
        return GUARD_IDLE_MS;
    case STAGE_ANSWER:
        return GUARD_ANSWER_MS;
    case STAGE_FREE:
    case STAGE_STREAM:
    case STAGE_LEAVING:
        break;
    }
    return INT64_MAX;
}

static void shut(struct guard *guard, struct guard_slot *slot)
{
    shutdown(slot->fd, SHUT_RDWR);
    slot->stage = STAGE_LEAVING;
    guard->counts.shut++;
}

static void shut_overdue(struct guard *guard, int64_t now_ms)
{
    for (size_t i = 0; i < GUARD_CONNECTIONS_MOST; i++) {
        struct guard_slot *slot = &guard->slots[i];
        if (now_ms - slot->since_ms > patience_ms(slot->stage))
            shut(guard, slot);
    }
}

/* Shuts the connection that has waited longest, a slow reader's among them. Only if there is
 * none and it is tight, the one that has been under way longest. */
static void shut_longest(struct guard *guard, int64_t now_ms)
{
    struct guard_slot *waiting = NULL, *answered = NULL;
    for (size_t i = 0; i < GUARD_CONNECTIONS_MOST; i++) {
        struct guard_slot *slot = &guard->slots[i];
        int64_t age_ms = now_ms - slot->since_ms;
        bool asks = slot->stage == STAGE_FIRST || slot->stage == STAGE_IDLE;
        if (age_ms < GUARD_GRACE_MS || (!asks && slot->stage != STAGE_ANSWER))
            continue;
        struct guard_slot **longest = asks || age_ms > GUARD_SLOW_MS ? &waiting : &answered;
        if (*longest == NULL || slot->since_ms < (*longest)->since_ms)
            *longest = slot;
    }
    if (waiting != NULL)
        shut(guard, waiting);
    else if (answered != NULL && guard->counts.connections >= GUARD_CONNECTIONS_TIGHT)
        shut(guard, answered);
}

static void *watch(void *arg)
{
    struct guard *guard = arg;
    pthread_mutex_lock(&guard->lock);
    while (!guard->stopping) {
        shut_overdue(guard, clock_now().mono_ms);
        struct timespec until = clock_deadline(PERIOD_MS);
        pthread_cond_timedwait(&guard->wake, &guard->lock, &until);
    }
    pthread_mutex_unlock(&guard->lock);
    return NULL;
}

enum rc guard_open(struct guard **out)
{
    enum {
        STACK_BYTES = 64 * 1024
    };
    struct guard *guard = calloc(1, sizeof *guard);
    if (guard == NULL)
        return RC_NOMEM;
    pthread_condattr_t cond;
    pthread_condattr_init(&cond);
    pthread_condattr_setclock(&cond, CLOCK_MONOTONIC);
    pthread_mutex_init(&guard->lock, NULL);
    pthread_cond_init(&guard->wake, &cond);
    pthread_condattr_destroy(&cond);

    pthread_attr_t attr;
    pthread_attr_init(&attr);
    pthread_attr_setstacksize(&attr, STACK_BYTES);
    int error = pthread_create(&guard->thread, &attr, watch, guard);
    pthread_attr_destroy(&attr);
    if (error != 0) {
        pthread_cond_destroy(&guard->wake);
        pthread_mutex_destroy(&guard->lock);
        free(guard);
        return RC_NOMEM;
    }
    *out = guard;
    return RC_OK;
}

void guard_close(struct guard *guard)
{
    if (guard == NULL)
        return;
    pthread_mutex_lock(&guard->lock);
    guard->stopping = true;
    pthread_cond_signal(&guard->wake);
    pthread_mutex_unlock(&guard->lock);
    pthread_join(guard->thread, NULL);
    pthread_cond_destroy(&guard->wake);
    pthread_mutex_destroy(&guard->lock);
    free(guard);
}

struct guard_slot *guard_accept(struct guard *guard, int fd)
{
    int64_t now_ms = clock_now().mono_ms;
    struct guard_slot *slot = NULL;
    pthread_mutex_lock(&guard->lock);
    guard->counts.accepted++;
    if (guard->counts.connections >= GUARD_CONNECTIONS_EASY)
        shut_longest(guard, now_ms);
    for (size_t i = 0; i < GUARD_CONNECTIONS_MOST && slot == NULL; i++)
        if (guard->slots[i].stage == STAGE_FREE)
            slot = &guard->slots[i];
    if (slot != NULL) {
        *slot = (struct guard_slot){.stage = STAGE_FIRST, .fd = fd, .since_ms = now_ms};
        guard->counts.connections++;
    } else {
        shutdown(fd, SHUT_RDWR);
        guard->counts.shut++;
    }
    bool tight = guard->counts.connections >= GUARD_CONNECTIONS_TIGHT;
    pthread_mutex_unlock(&guard->lock);
    if (tight)
        clock_sleep_ms(GUARD_PAUSE_MS); /* threads of sockets that were shut end meanwhile */
    return slot;
}

void guard_drop(struct guard *guard, struct guard_slot *slot)
{
    if (slot == NULL)
        return;
    pthread_mutex_lock(&guard->lock);
    *slot = (struct guard_slot){.stage = STAGE_FREE};
    guard->counts.connections--;
    pthread_mutex_unlock(&guard->lock);
}

static void move(struct guard *guard, struct guard_slot *slot, enum stage stage)
{
    if (slot == NULL)
        return;
    int64_t now_ms = clock_now().mono_ms;
    pthread_mutex_lock(&guard->lock);
    if (slot->stage != STAGE_LEAVING) {
        slot->stage = stage;
        slot->since_ms = now_ms;
    }
    pthread_mutex_unlock(&guard->lock);
}

void guard_waiting(struct guard *guard, struct guard_slot *slot)
{
    move(guard, slot, STAGE_IDLE);
}

void guard_answering(struct guard *guard, struct guard_slot *slot)
{
    move(guard, slot, STAGE_ANSWER);
}

bool guard_stream_begin(struct guard *guard, struct guard_slot *slot)
{
    pthread_mutex_lock(&guard->lock);
    bool room = guard->counts.streams < GUARD_STREAMS_MOST;
    if (room)
        guard->counts.streams++;
    pthread_mutex_unlock(&guard->lock);
    if (room)
        move(guard, slot, STAGE_STREAM);
    return room;
}

void guard_stream_end(struct guard *guard)
{
    pthread_mutex_lock(&guard->lock);
    guard->counts.streams--;
    pthread_mutex_unlock(&guard->lock);
}

void guard_counts(struct guard *guard, struct guard_counts *out)
{
    pthread_mutex_lock(&guard->lock);
    *out = guard->counts;
    pthread_mutex_unlock(&guard->lock);
}
