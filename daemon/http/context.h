/* context.h - all that the handlers work with; wired in server.c.
 *
 * Threads: shared by all connections; what changes is behind the parts' own locks.
 */
#ifndef HTTP_CONTEXT_H
#define HTTP_CONTEXT_H

#include <stdatomic.h>

#include "base/buf.h"

struct site;
struct live;
struct pool;
struct guard;
struct facts;
struct feed;
struct fitness;

struct context {
    const struct site *site; /* borrowed */
    struct live *live;       /* borrowed */
    struct pool *pool;       /* owned, as all below */
    struct guard *guard;
    struct facts *facts;
    struct feed *feed;
    struct fitness *fitness;
    struct buf openapi; /* the document, never changed after the start */
    char version[32];
    atomic_ullong answered[6]; /* answers by the status's first digit */
};

#endif
