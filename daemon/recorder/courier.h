/* courier.h - carries one message out of the house, by a short-lived child process.
 *
 * The child is `stillroom deliver`: it links what speaks to mail servers, so that the daemon
 * need not, and a server that hangs hangs the child only.
 *
 * Owner:   courier_end, or whatever stands in `end`, releases an errand, and kills it if it runs.
 * Threads: the recorder's; none of it waits.
 */
#ifndef RECORDER_COURIER_H
#define RECORDER_COURIER_H

#include <stddef.h>

#include "base/rc.h"

enum {
    COURIER_ERROR = 200
};

enum courier_answer {
    COURIER_RUNS,
    COURIER_TAKEN,   /* the other side has it */
    COURIER_LATER,   /* not now */
    COURIER_REFUSED, /* not as it is: somebody must change something */
};

struct errand;

struct courier {
    const char *tool; /* borrowed: path of `stillroom` */
    /* Hands an order (JSON, as deliver.c reads it) to a new errand. */
    enum rc (*start)(const struct courier *courier, const char *order, size_t len,
                     struct errand **out);
    /* How it stands; the error is one line, "" if there is none. */
    enum courier_answer (*look)(struct errand *errand, char error[COURIER_ERROR]);
    void (*end)(struct errand *errand);
};

/* A courier that starts the tool at a path. */
struct courier courier_of(const char *tool);

#endif
