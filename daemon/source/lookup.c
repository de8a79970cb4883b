/* lookup.c - see lookup.h. */
#define _GNU_SOURCE /* pipe2 */
#include "source/lookup.h"

#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const char lookup_cancelled[] = "cancelled";

enum {
    STACK = 256 * 1024 /* name service modules of the C library want more than the least */
};

/* Shared by the asker and the thread; who leaves last frees it. */
struct lookup {
    char host[256], port[16];
    int done[2]; /* pipe: a byte comes when there is a result */
    int code;
    struct addrinfo *list;
    atomic_int users;
};

static void leave(struct lookup *l)
{
    if (atomic_fetch_sub(&l->users, 1) > 1)
        return;
    if (l->list != NULL)
        freeaddrinfo(l->list);
    close(l->done[0]);
    free(l);
}

static int resolve(const char *host, const char *port, int flags, struct addrinfo **out)
{
    const struct addrinfo hints = {.ai_socktype = SOCK_STREAM,
                                   .ai_flags = flags | AI_NUMERICSERV};
    return getaddrinfo(host, port, &hints, out);
}

static void *run(void *arg)
{
    struct lookup *l = arg;
    struct addrinfo *list = NULL;
    l->code = resolve(l->host, l->port, 0, &list);
    l->list = l->code == 0 ? list : NULL;
    (void)!write(l->done[1], "", 1); /* an empty pipe takes a byte */
    close(l->done[1]);
    leave(l);
    return NULL;
}

static bool start(struct lookup *l)
{
    pthread_t thread;
    pthread_attr_t attr;
    if (pthread_attr_init(&attr) != 0)
        return false;
    bool started = pthread_attr_setdetachstate(&attr, PTHREAD_CREATE_DETACHED) == 0 &&
                   pthread_attr_setstacksize(&attr, STACK) == 0 &&
                   pthread_create(&thread, &attr, run, l) == 0;
    pthread_attr_destroy(&attr);
    return started;
}

static const char *await(struct lookup *l, int timeout_ms, int wake_fd, struct addrinfo **out)
{
    struct pollfd p[2] = {{.fd = l->done[0], .events = POLLIN},
                          {.fd = wake_fd, .events = POLLIN}};
    int n = poll(p, 2, timeout_ms);
    const char *fault = NULL;
    char byte;
    if (n > 0 && p[0].revents != 0 && read(l->done[0], &byte, 1) == 1) {
        fault = l->code == 0 ? NULL : gai_strerror(l->code);
        if (fault == NULL)
            *out = l->list;
        l->list = NULL;
    } else {
        fault = n > 0 ? lookup_cancelled : "the name server does not answer";
    }
    leave(l);
    return fault;
}

const char *lookup_host(const char *host, const char *port, int timeout_ms, int wake_fd,
                        struct addrinfo **out)
{
    if (resolve(host, port, AI_NUMERICHOST, out) == 0)
        return NULL;
    struct lookup *l = calloc(1, sizeof *l);
    if (l == NULL || pipe2(l->done, O_CLOEXEC) != 0) {
        free(l);
        return "no room to look up the name";
    }
    atomic_init(&l->users, 2);
    snprintf(l->host, sizeof l->host, "%s", host);
    snprintf(l->port, sizeof l->port, "%s", port);
    if (!start(l)) {
        close(l->done[1]);
        atomic_store(&l->users, 1);
        leave(l);
        return "no thread to look up the name";
    }
    return await(l, timeout_ms, wake_fd, out);
}
