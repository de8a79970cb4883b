/* listen.c - see listen.h. */
#define _GNU_SOURCE /* SOCK_CLOEXEC */
#include "http/listen.h"

#include <errno.h>
#include <netdb.h>
#include <netinet/in.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/select.h>
#include <sys/socket.h>
#include <unistd.h>

#include "base/log.h"

union address {
    struct sockaddr any;
    struct sockaddr_in v4;
    struct sockaddr_in6 v6;
};

static bool is_loopback(const union address *a)
{
    if (a->any.sa_family == AF_INET)
        return ntohl(a->v4.sin_addr.s_addr) >> 24 == IN_LOOPBACKNET;
    return a->any.sa_family == AF_INET6 && IN6_IS_ADDR_LOOPBACK(&a->v6.sin6_addr);
}

/* No name is looked up but localhost: a start must not hang on a name server. */
static enum rc resolve(const char *host, const char *port, union address *out, socklen_t *len)
{
    char bare[64];
    size_t n = strlen(host);
    bool bracketed = n > 2 && host[0] == '[' && host[n - 1] == ']';
    int written = bracketed ? snprintf(bare, sizeof bare, "%.*s", (int)n - 2, host + 1)
                            : snprintf(bare, sizeof bare, "%s", host);
    struct addrinfo want = {.ai_family = AF_UNSPEC,
                            .ai_socktype = SOCK_STREAM,
                            .ai_flags = AI_NUMERICHOST | AI_NUMERICSERV | AI_PASSIVE};
    struct addrinfo *found = NULL;
    const char *numeric = strcmp(bare, "localhost") == 0 ? "127.0.0.1" : bare;
    if (written < 0 || (size_t)written >= sizeof bare ||
        getaddrinfo(numeric, port, &want, &found) != 0) {
        log_err("cannot listen on %s:%s: it must be an address such as 127.0.0.1:8620 or "
                "[::1]:8620, or localhost",
                host, port);
        return RC_BAD_INPUT;
    }
    *len = found->ai_addrlen;
    memcpy(out, found->ai_addr, found->ai_addrlen);
    freeaddrinfo(found);
    if (!is_loopback(out)) {
        log_err("cannot listen on %s:%s: this version serves this machine's own pages only "
                "(127.0.0.1, [::1] or localhost)",
                host, port);
        return RC_BAD_INPUT;
    }
    return RC_OK;
}

static enum rc refuse(int fd, const char *host, const char *port)
{
    int error = errno;
    if (fd >= 0)
        close(fd);
    if (error == EADDRINUSE) {
        log_err("cannot listen on %s:%s: the port is in use by another program; stop that one "
                "or choose another port in [http] listen",
                host, port);
        return RC_BUSY;
    }
    log_err("cannot listen on %s:%s: %s", host, port, strerror(error));
    return RC_IO;
}

enum rc listen_open(const char *host, const char *port, int *out_fd, uint16_t *out_port)
{
    enum {
        BACKLOG = 511
    };
    union address address;
    socklen_t len = 0;
    memset(&address, 0, sizeof address);
    enum rc rc = resolve(host, port, &address, &len);
    if (rc != RC_OK)
        return rc;
    int fd = socket(address.any.sa_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (fd >= FD_SETSIZE) {
        close(fd);
        errno = EMFILE;
        fd = -1;
    }
    int on = 1;
    if (fd < 0 || setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) != 0 ||
        bind(fd, &address.any, len) != 0 || listen(fd, BACKLOG) != 0 ||
        getsockname(fd, &address.any, &len) != 0)
        return refuse(fd, host, port);
    *out_port =
        ntohs(address.any.sa_family == AF_INET ? address.v4.sin_port : address.v6.sin6_port);
    *out_fd = fd;
    return RC_OK;
}

void listen_close(int fd)
{
    if (fd >= 0)
        close(fd);
}
