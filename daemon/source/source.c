/* source.c - see source.h: the thread of a bus. */
#define _GNU_SOURCE /* pipe2 */
#include "source/source.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/log.h"
#include "source/line.h"
#include "source/poller.h"

enum {
    LOOK_MS = 1000 /* longest wait, so that a stepped clock is seen soon */
};

struct source {
    struct line *line;     /* owned; the thread's while it runs */
    struct poller *poller; /* owned; the thread's but for its status */
    int wake[2];           /* owned pipe; a byte ends the thread */
    pthread_t thread;
    bool running;
    _Atomic int64_t moved_ms;
};

static void *run(void *arg)
{
    struct source *s = arg;
    struct pollfd wake = {.fd = s->wake[0], .events = POLLIN};
    int wait_ms = 0;
    while (poll(&wake, 1, wait_ms) <= 0) {
        struct tick now = clock_now();
        atomic_store(&s->moved_ms, now.mono_ms);
        int64_t next_ms = poller_step(s->poller, now);
        now = clock_now();
        atomic_store(&s->moved_ms, now.mono_ms);
        int64_t left_ms = next_ms - now.mono_ms;
        wait_ms = left_ms < 0 ? 0 : left_ms > LOOK_MS ? LOOK_MS : (int)left_ms;
    }
    return NULL;
}

enum rc source_start(const struct source_config *config, struct sink *sink, struct source **out)
{
    struct source *s = calloc(1, sizeof *s);
    if (s == NULL)
        return RC_NOMEM;
    s->wake[0] = s->wake[1] = -1;
    struct tick now = clock_now();
    atomic_init(&s->moved_ms, now.mono_ms);
    enum rc rc = RC_OK;
    if (pipe2(s->wake, O_CLOEXEC) != 0) {
        log_err("bus %s: no pipe: %s", config->bus->name, strerror(errno));
        s->wake[0] = s->wake[1] = -1;
        rc = RC_IO;
    }
    if (rc == RC_OK)
        rc = line_new(config->bus, s->wake[0], &s->line);
    if (rc == RC_OK)
        rc = poller_new(config, s->line, sink, now, &s->poller);
    if (rc == RC_OK) {
        int fault = pthread_create(&s->thread, NULL, run, s);
        s->running = fault == 0;
        if (fault != 0) {
            log_err("bus %s: no thread: %s", config->bus->name, strerror(fault));
            rc = RC_NOMEM;
        }
    }
    if (rc != RC_OK) {
        source_stop(s);
        return rc;
    }
    *out = s;
    return RC_OK;
}

void source_stop(struct source *s)
{
    if (s == NULL)
        return;
    if (s->running) {
        ssize_t n;
        do
            n = write(s->wake[1], "", 1);
        while (n < 0 && errno == EINTR);
        pthread_join(s->thread, NULL);
    }
    poller_free(s->poller);
    line_free(s->line);
    for (int i = 0; i < 2; i++)
        if (s->wake[i] >= 0)
            close(s->wake[i]);
    free(s);
}

void source_status(struct source *s, struct source_status *out)
{
    poller_status(s->poller, out);
}

int64_t source_moved_ms(struct source *s)
{
    int64_t thread_ms = atomic_load(&s->moved_ms), line_ms = line_moved_ms(s->line);
    return thread_ms > line_ms ? thread_ms : line_ms;
}
