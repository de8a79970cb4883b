/* server.c - listening, the pseudo-terminal, and the peers.  Contract in server.h. */
#define _GNU_SOURCE /* accept4, ptsname_r, cfmakeraw */
#include "server.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include "base/log.h"
#include "line.h"

struct server {
    int listener; /* owned; -1: none */
    int port;
    int slave;       /* owned; held open, else the terminal hangs up when the last peer goes */
    char *link_path; /* owned; NULL: no link was made */
    struct line *serial;                      /* owned */
    struct line *clients[SERVER_CLIENTS_MAX]; /* owned */
};

static bool parse_address(const char *text, struct sockaddr_in *out)
{
    char host[64];
    const char *colon = strrchr(text, ':');
    if (colon == NULL || (size_t)(colon - text) >= sizeof host)
        return false;
    memcpy(host, text, (size_t)(colon - text));
    host[colon - text] = '\0';
    char *end = NULL;
    long port = strtol(colon + 1, &end, 10);
    if (end == colon + 1 || *end != '\0' || port < 0 || port > 65535)
        return false;
    *out = (struct sockaddr_in){.sin_family = AF_INET, .sin_port = htons((uint16_t)port)};
    return inet_pton(AF_INET, host, &out->sin_addr) == 1;
}

static enum rc listen_on(struct server *s, const char *text)
{
    struct sockaddr_in address;
    if (!parse_address(text, &address)) {
        log_err("--tcp %s: give a numeric host and a port 0-65535, as 127.0.0.1:1502", text);
        return RC_BAD_INPUT;
    }
    s->listener = socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    int on = 1;
    socklen_t length = sizeof address;
    if (s->listener < 0 ||
        setsockopt(s->listener, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) != 0 ||
        bind(s->listener, (struct sockaddr *)&address, sizeof address) != 0 ||
        listen(s->listener, SERVER_CLIENTS_MAX) != 0 ||
        getsockname(s->listener, (struct sockaddr *)&address, &length) != 0) {
        enum rc rc = errno == EADDRINUSE ? RC_BUSY : RC_IO;
        log_err("cannot serve Modbus at %s: %s", text, strerror(errno));
        return rc;
    }
    s->port = ntohs(address.sin_port);
    return RC_OK;
}

/* A raw terminal passes every byte as it is. */
static bool make_raw(int fd)
{
    struct termios t;
    if (tcgetattr(fd, &t) != 0)
        return false;
    cfmakeraw(&t);
    return tcsetattr(fd, TCSANOW, &t) == 0;
}

/* Only a link is ever replaced, so that a slip of the pen deletes no file. */
static enum rc make_link(struct server *s, const char *terminal, const char *path)
{
    struct stat st;
    if (lstat(path, &st) == 0 && !S_ISLNK(st.st_mode)) {
        log_err("--rtu %s: something that is no link stands there", path);
        return RC_BAD_INPUT;
    }
    unlink(path);
    s->link_path = strdup(path);
    if (s->link_path == NULL)
        return RC_NOMEM;
    if (symlink(terminal, path) == 0)
        return RC_OK;
    log_err("--rtu %s: %s", path, strerror(errno));
    return RC_IO;
}

static enum rc open_terminal(struct server *s, const char *path)
{
    char name[64];
    int master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (master < 0 || grantpt(master) != 0 || unlockpt(master) != 0 ||
        ptsname_r(master, name, sizeof name) != 0 ||
        (s->slave = open(name, O_RDWR | O_NOCTTY | O_CLOEXEC)) < 0 || !make_raw(s->slave)) {
        log_err("cannot make a pseudo-terminal: %s", strerror(errno));
        if (master >= 0)
            close(master);
        return RC_IO;
    }
    enum rc rc = line_open(INSTRUMENT_RTU, master, &s->serial);
    if (rc != RC_OK) {
        close(master);
        return rc;
    }
    return make_link(s, name, path);
}

enum rc server_open(const struct server_cfg *cfg, struct server **out)
{
    struct server *s = calloc(1, sizeof *s);
    if (s == NULL)
        return RC_NOMEM;
    s->listener = -1;
    s->slave = -1;
    enum rc rc = cfg->tcp != NULL ? listen_on(s, cfg->tcp) : RC_OK;
    if (rc == RC_OK && cfg->rtu != NULL)
        rc = open_terminal(s, cfg->rtu);
    if (rc != RC_OK) {
        server_close(s);
        return rc;
    }
    *out = s;
    return RC_OK;
}

void server_close(struct server *s)
{
    if (s == NULL)
        return;
    if (s->link_path != NULL)
        unlink(s->link_path);
    free(s->link_path);
    for (size_t i = 0; i < SERVER_CLIENTS_MAX; i++)
        line_close(s->clients[i]);
    line_close(s->serial);
    if (s->slave >= 0)
        close(s->slave);
    if (s->listener >= 0)
        close(s->listener);
    free(s);
}

int server_port(const struct server *s)
{
    return s->port;
}

size_t server_fds(const struct server *s, struct pollfd *out)
{
    size_t count = 0;
    if (s->listener >= 0)
        out[count++] = (struct pollfd){.fd = s->listener, .events = POLLIN};
    if (s->serial != NULL)
        out[count++] = (struct pollfd){.fd = line_fd(s->serial), .events = POLLIN};
    for (size_t i = 0; i < SERVER_CLIENTS_MAX; i++)
        if (s->clients[i] != NULL)
            out[count++] = (struct pollfd){.fd = line_fd(s->clients[i]), .events = POLLIN};
    return count;
}

static void take_client(struct server *s)
{
    int fd = accept4(s->listener, NULL, NULL, SOCK_NONBLOCK | SOCK_CLOEXEC);
    if (fd < 0)
        return;
    for (size_t i = 0; i < SERVER_CLIENTS_MAX; i++)
        if (s->clients[i] == NULL && line_open(INSTRUMENT_TCP, fd, &s->clients[i]) == RC_OK)
            return;
    close(fd); /* no place: like a gateway with too many masters */
}

static struct line **line_of(struct server *s, int fd)
{
    if (s->serial != NULL && line_fd(s->serial) == fd)
        return &s->serial;
    for (size_t i = 0; i < SERVER_CLIENTS_MAX; i++)
        if (s->clients[i] != NULL && line_fd(s->clients[i]) == fd)
            return &s->clients[i];
    return NULL;
}

int64_t server_step(struct server *s, struct rack *rack, const struct pollfd *fds, size_t count,
                    int64_t mono_ms)
{
    for (size_t i = 0; i < count; i++) {
        if (fds[i].revents == 0)
            continue;
        struct line **l = line_of(s, fds[i].fd);
        if (l == NULL) {
            take_client(s);
        } else if (line_read(*l, rack, mono_ms) != RC_OK && *l != s->serial) {
            line_close(*l);
            *l = NULL;
        }
    }
    int64_t due = s->serial != NULL ? line_send(s->serial, mono_ms) : INT64_MAX;
    for (size_t i = 0; i < SERVER_CLIENTS_MAX; i++) {
        int64_t d = s->clients[i] != NULL ? line_send(s->clients[i], mono_ms) : INT64_MAX;
        due = d < due ? d : due;
    }
    return due;
}
