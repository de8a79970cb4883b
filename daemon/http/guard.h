/* guard.h - keeps slow and greedy clients from shutting the others out.
 *
 * Every connection is in one of four stages. Waiting (for a request's headers) and answering
 * have a deadline; behind it the socket is shut, which ends the connection's thread. When
 * connections run short the one that has waited longest is shut: an honest client sends its
 * headers in milliseconds. Event streams have a number of their own.
 *
 * Threads: any; the sockets are shut by the guard's own thread and by guard_accept.
 * Owner:   the table belongs to the guard; a slot is lent from guard_accept to guard_drop.
 */
#ifndef HTTP_GUARD_H
#define HTTP_GUARD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/rc.h"

enum {
    GUARD_CONNECTIONS_EASY = 75,  /* above it, who waits longest is shut */
    GUARD_CONNECTIONS_TIGHT = 90, /* above it, accepting pauses, the others wait in the queue */
    GUARD_CONNECTIONS_MOST = 160, /* not reached: 70 pauses outlast the grace of the oldest */
    GUARD_GRACE_MS = 300,         /* nobody is shut sooner: a busy machine is slow to listen */
    GUARD_PAUSE_MS = 5,
    GUARD_STREAMS_MOST = 40,
    GUARD_HEADER_MS = 10000, /* from accept to the end of the first request's headers */
    GUARD_IDLE_MS = 30000,   /* from an answer to the end of the next request's headers */
    GUARD_ANSWER_MS = 60000, /* from the headers to the answer's last byte taken */
    GUARD_SLOW_MS = 5000     /* an answer under way so long may go when connections run short */
};

struct guard;
struct guard_slot;

struct guard_counts {
    size_t connections, streams;
    uint64_t accepted, shut; /* since the start */
};

MUST_USE enum rc guard_open(struct guard **out);

/* After all connections were dropped. */
void guard_close(struct guard *guard);

/* A connection has come; called by the one thread that accepts, which pauses here when there
 * are too many: the others wait in the listening socket's queue. NULL if the table is full:
 * the socket was shut. */
struct guard_slot *guard_accept(struct guard *guard, int fd);

/* Its socket is about to be closed. Takes NULL. */
void guard_drop(struct guard *guard, struct guard_slot *slot);

/* Its stages; each takes a NULL slot. */
void guard_waiting(struct guard *guard, struct guard_slot *slot);
void guard_answering(struct guard *guard, struct guard_slot *slot);

/* False if there are streams enough; guard_stream_end gives the place back. */
bool guard_stream_begin(struct guard *guard, struct guard_slot *slot);
void guard_stream_end(struct guard *guard);

void guard_counts(struct guard *guard, struct guard_counts *out);

#endif
