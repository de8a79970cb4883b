/* dial.c - see dial.h. */
#include "source/dial.h"

#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <string.h>
#include <sys/file.h>
#include <sys/socket.h>
#include <unistd.h>

#include "source/lookup.h"

const char dial_taken[] = "another program is using it";

enum {
    LOOKUP_MS = 3000,   /* a name server that takes longer is away */
    ADDRESSES_MOST = 4, /* of one name; each may cost a response timeout */
};

/* Waits for a connection under way; errno says why not. */
static int finish(int fd, int timeout_ms, int wake_fd)
{
    struct pollfd p[2] = {{.fd = fd, .events = POLLOUT}, {.fd = wake_fd, .events = POLLIN}};
    int n = poll(p, 2, timeout_ms);
    if (n < 0)
        return -1;
    if (n == 0 || p[0].revents == 0) {
        errno = n == 0 ? ETIMEDOUT : ECANCELED;
        return -1;
    }
    int fault = 0;
    socklen_t len = sizeof fault;
    if (getsockopt(fd, SOL_SOCKET, SO_ERROR, &fault, &len) != 0)
        return -1;
    errno = fault;
    return fault == 0 ? 0 : -1;
}

static int connect_to(const struct dial_address *address, int timeout_ms, int wake_fd)
{
    const struct sockaddr *at = (const struct sockaddr *)&address->at;
    int fd = socket(at->sa_family, SOCK_STREAM, 0);
    if (fd < 0)
        return -1;
    int one = 1;
    setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
    if (fcntl(fd, F_SETFD, FD_CLOEXEC) == 0 && fcntl(fd, F_SETFL, O_NONBLOCK) == 0 &&
        (connect(fd, at, address->len) == 0 ||
         (errno == EINPROGRESS && finish(fd, timeout_ms, wake_fd) == 0)))
        return fd;
    int fault = errno;
    close(fd);
    errno = fault;
    return -1;
}

const char *dial_tcp(const struct site_bus *bus, int wake_fd, struct dial_address *last,
                     int *out_fd)
{
    int fd = last->len > 0 ? connect_to(last, bus->response_ms, wake_fd) : -1;
    if (fd < 0) {
        struct addrinfo *list;
        const char *fault = lookup_host(bus->host, bus->port, LOOKUP_MS, wake_fd, &list);
        if (fault != NULL)
            return fault;
        int left = ADDRESSES_MOST;
        for (const struct addrinfo *at = list; at != NULL && fd < 0 && left > 0; left--) {
            memcpy(&last->at, at->ai_addr, at->ai_addrlen);
            last->len = at->ai_addrlen;
            fd = connect_to(last, bus->response_ms, wake_fd);
            at = at->ai_next;
        }
        freeaddrinfo(list);
    }
    if (fd < 0) {
        last->len = 0;
        return errno == ECANCELED ? lookup_cancelled : strerror(errno);
    }
    *out_fd = fd;
    return NULL;
}

const char *dial_guard(const char *device, int *out_fd)
{
    int fd = open(device, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0)
        return strerror(errno);
    if (flock(fd, LOCK_EX | LOCK_NB) != 0) {
        int fault = errno;
        close(fd);
        return fault == EWOULDBLOCK ? dial_taken : strerror(fault);
    }
    *out_fd = fd;
    return NULL;
}
