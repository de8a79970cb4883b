/* pool.h - a few read-only connections to the store, lent for one question at a time.
 *
 * Threads: any.
 * Owner:   pool_close releases the connections; all must have been given back.
 */
#ifndef HTTP_POOL_H
#define HTTP_POOL_H

#include "base/rc.h"

struct pool;
struct reader;

enum {
    POOL_READERS = 4,
    POOL_WAIT_MS = 1000, /* for a free connection, by who cannot answer without */
    POOL_GLANCE_MS = 20, /* by who can */
    POOL_BOUND_MS = 2000 /* for the answer to a question */
};

/* Connections are opened when they are first needed: four caches cost memory. */
MUST_USE enum rc pool_open(const char *store_path, struct pool **out);
void pool_close(struct pool *pool);

/* RC_BUSY if none comes free within wait_ms, or what opening the store gave. */
MUST_USE enum rc pool_take(struct pool *pool, int wait_ms, struct reader **out);

/* Gives a connection back with what its question came to: one that met a damaged or
 * unreadable store is closed, and opened anew for the next question. */
void pool_give(struct pool *pool, struct reader *reader, enum rc outcome);

#endif
