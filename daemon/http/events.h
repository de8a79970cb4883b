/* events.h - the stream of Server-Sent Events, without the server that carries it.
 *
 * Threads: a stream belongs to one connection's thread; the feed is shared by all.
 */
#ifndef HTTP_EVENTS_H
#define HTTP_EVENTS_H

#include <stddef.h>
#include <sys/types.h>

#include "base/rc.h"

struct context;
struct feed;
struct stream;

enum {
    EVENTS_WAIT_MS = 1000,      /* the longest that a stream sleeps */
    EVENTS_HEARTBEAT_MS = 15000 /* a client that vanished is only seen by a write */
};

/* The text of the latest readings, made once for all streams. */
MUST_USE enum rc events_feed_open(struct feed **out);
void events_feed_close(struct feed *feed);

MUST_USE enum rc events_open(struct context *context, struct stream **out);
void events_close(struct stream *stream);

/* Writes what is due, at most `size` bytes, waiting for it up to EVENTS_WAIT_MS. 0: nothing
 * came in that time; -1: the stream is over, since we are stopping or memory ran out. */
ssize_t events_read(struct stream *stream, char *to, size_t size);

#endif
