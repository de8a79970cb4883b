/* dial.c - see dial.h. */
#include "source/dial.h"

#include <errno.h>
#include <fcntl.h>
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <string.h>
#include <sys/file.h>
#include <sys/socket.h>
#include <unistd.h>

const char dial_cancelled[] = "cancelled";

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

static int connect_one(const struct addrinfo *at, int timeout_ms, int wake_fd)
{
    int fd = socket(at->ai_family, at->ai_socktype, at->ai_protocol);
    if (fd < 0)
        return -1;
    int one = 1;
    setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
    if (fcntl(fd, F_SETFD, FD_CLOEXEC) == 0 && fcntl(fd, F_SETFL, O_NONBLOCK) == 0 &&
        (connect(fd, at->ai_addr, at->ai_addrlen) == 0 ||
         (errno == EINPROGRESS && finish(fd, timeout_ms, wake_fd) == 0)))
        return fd;
    int fault = errno;
    close(fd);
    errno = fault;
    return -1;
}

const char *dial_tcp(const char *host, const char *port, int timeout_ms, int wake_fd,
                     int *out_fd)
{
    struct addrinfo hints = {.ai_socktype = SOCK_STREAM, .ai_flags = AI_NUMERICSERV}, *list;
    int code = getaddrinfo(host, port, &hints, &list);
    if (code != 0)
        return gai_strerror(code);
    int fd = -1;
    for (const struct addrinfo *at = list; at != NULL && fd < 0; at = at->ai_next)
        fd = connect_one(at, timeout_ms, wake_fd);
    const char *fault = NULL;
    if (fd < 0)
        fault = errno == ECANCELED ? dial_cancelled : strerror(errno);
    freeaddrinfo(list);
    if (fault == NULL)
        *out_fd = fd;
    return fault;
}

const char *dial_guard(const char *device, int *out_fd)
{
    int fd = open(device, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0)
        return strerror(errno);
    if (flock(fd, LOCK_EX | LOCK_NB) != 0) {
        int fault = errno;
        close(fd);
        return fault == EWOULDBLOCK ? "another program is using it" : strerror(fault);
    }
    *out_fd = fd;
    return NULL;
}
