/* http_client.h - a bare HTTP/1.1 client for tests: it sends any bytes, well-formed or not.
 *
 * Every wait is bounded; a test fails by what comes back, not by hanging.
 */
#ifndef TESTS_SUPPORT_HTTP_CLIENT_H
#define TESTS_SUPPORT_HTTP_CLIENT_H

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>
#include <unistd.h>

#include "base/buf.h"
#include "base/clock.h"

struct client_answer {
    int status;      /* 0: nothing came, or nothing that is HTTP */
    struct buf text; /* all that came */
    const char *body;
    bool closed; /* the other side closed */
};

/* -1 if the connection was not taken. */
static inline int client_connect(uint16_t port)
{
    struct sockaddr_in to = {.sin_family = AF_INET,
                             .sin_port = htons(port),
                             .sin_addr = {.s_addr = htonl(INADDR_LOOPBACK)}};
    int fd = socket(AF_INET, SOCK_STREAM, 0);
    if (fd >= 0 && connect(fd, (struct sockaddr *)&to, sizeof to) != 0) {
        close(fd);
        return -1;
    }
    return fd;
}

static inline bool client_send(int fd, const void *data, size_t len)
{
    const char *at = data;
    while (len > 0) {
        ssize_t n = send(fd, at, len, MSG_NOSIGNAL);
        if (n <= 0)
            return false;
        at += n;
        len -= (size_t)n;
    }
    return true;
}

static inline bool client_say(int fd, const char *text)
{
    return client_send(fd, text, strlen(text));
}

/* Adds what comes until `until_ms` (monotonic), the other side closes or `enough` bytes are
 * there. */
static inline void client_read(int fd, struct client_answer *answer, size_t enough,
                               int64_t until_ms)
{
    char block[16384];
    while (answer->text.len < enough) {
        int64_t left = until_ms - clock_now().mono_ms;
        struct pollfd p = {.fd = fd, .events = POLLIN};
        if (left <= 0 || poll(&p, 1, (int)left) <= 0)
            return;
        ssize_t n = recv(fd, block, sizeof block, 0);
        if (n <= 0) {
            answer->closed = true;
            return;
        }
        buf_add(&answer->text, block, (size_t)n);
    }
}

/* Value of a header in lower-case ASCII spelling of its name, up to the line's end; empty if
 * it is not there. */
static inline void client_header(const struct client_answer *answer, const char *name,
                                 char *out, size_t size)
{
    out[0] = '\0';
    size_t len = strlen(name);
    const char *line = answer->text.data;
    while (line != NULL && (line = strstr(line, "\r\n")) != NULL) {
        line += 2;
        if (strncmp(line, "\r\n", 2) == 0)
            return;
        if (strncasecmp(line, name, len) == 0 && line[len] == ':') {
            const char *value = line + len + 1 + strspn(line + len + 1, " ");
            snprintf(out, size, "%.*s", (int)strcspn(value, "\r"), value);
            return;
        }
    }
}

/* Reads one whole answer (not chunked) on a connection that stays open. */
static inline struct client_answer client_receive(int fd, int timeout_ms)
{
    struct client_answer answer = {0};
    int64_t until_ms = clock_now().mono_ms + timeout_ms;
    const char *end = NULL;
    while (end == NULL && !answer.closed && clock_now().mono_ms < until_ms) {
        client_read(fd, &answer, answer.text.len + 1, until_ms);
        end = answer.text.data != NULL ? strstr(answer.text.data, "\r\n\r\n") : NULL;
    }
    if (answer.text.data != NULL && strncmp(answer.text.data, "HTTP/1.", 7) == 0)
        answer.status = (int)strtol(answer.text.data + 9, NULL, 10);
    if (end == NULL)
        return answer;
    char length[32];
    client_header(&answer, "content-length", length, sizeof length);
    size_t head = (size_t)(end - answer.text.data) + 4;
    if (length[0] != '\0')
        client_read(fd, &answer, head + (size_t)strtoul(length, NULL, 10), until_ms);
    answer.body = answer.text.data + head;
    return answer;
}

/* One request as it stands on a connection of its own. */
static inline struct client_answer client_raw(uint16_t port, const char *request)
{
    struct client_answer answer = {0};
    int fd = client_connect(port);
    if (fd < 0)
        return answer;
    client_say(fd, request);
    answer = client_receive(fd, 9000);
    close(fd);
    return answer;
}

/* METHOD PATH, with further header lines (each ended by CRLF) or "". */
static inline struct client_answer client_ask(uint16_t port, const char *method,
                                              const char *path, const char *headers)
{
    struct buf request = {0};
    buf_printf(&request, "%s %s HTTP/1.1\r\nHost: localhost:%u\r\n%s\r\n", method, path, port,
               headers);
    struct client_answer answer = client_raw(port, request.data);
    buf_free(&request);
    return answer;
}

static inline void client_answer_free(struct client_answer *answer)
{
    buf_free(&answer->text);
    *answer = (struct client_answer){0};
}

#endif
