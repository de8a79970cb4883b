/* line.c - see line.h. The only file of the daemon that includes modbus.h. */
#include "source/line.h"

#include <errno.h>
#include <poll.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/select.h>
#include <sys/socket.h>
#include <unistd.h>

#include <modbus.h>

#include "base/clock.h"
#include "base/log.h"
#include "source/dial.h"
#include "source/lookup.h"

enum {
    TCP_HEADER = 6, /* transaction, protocol, length; the unit is counted to the body */
    RTU_CRC = 2,
    PAUSE_MIN_MS = 500,   /* before a line that could not be opened is tried again ... */
    PAUSE_MAX_MS = 10000, /* ... doubled at each failure up to this */
};

struct line {
    const struct site_bus *bus; /* borrowed */
    bool tcp;
    int wake_fd;       /* borrowed */
    modbus_t *context; /* owned; NULL while not connected */
    struct dial_address address;
    int guard;              /* owned: the descriptor that locks the serial device; -1 */
    bool fresh;             /* nothing has been asked on this connection yet */
    bool begun;             /* an answer to the last request has begun */
    bool down_logged, ever; /* edges for the log */
    bool taken;
    char fault[300]; /* the last: where and what */
    int64_t pause_ms, retry_mono_ms;
    int64_t quiet_until_ms;
    uint16_t transaction;
    _Atomic int64_t moved_ms;
};

static int64_t now_ms(void)
{
    return clock_now().mono_ms;
}

enum rc line_new(const struct site_bus *bus, int wake_fd, struct line **out)
{
    struct line *line = calloc(1, sizeof *line);
    if (line == NULL)
        return RC_NOMEM;
    line->bus = bus;
    line->tcp = bus->kind == BUS_MODBUS_TCP;
    line->wake_fd = wake_fd;
    line->guard = -1;
    atomic_init(&line->moved_ms, now_ms());
    *out = line;
    return RC_OK;
}

static void disconnect(struct line *line)
{
    if (line->context != NULL) {
        modbus_close(line->context);
        modbus_free(line->context);
        line->context = NULL;
    }
    if (line->guard >= 0)
        close(line->guard);
    line->guard = -1;
}

void line_free(struct line *line)
{
    if (line == NULL)
        return;
    disconnect(line);
    free(line);
}

bool line_connected(const struct line *line)
{
    return line->context != NULL;
}

const char *line_fault(const struct line *line)
{
    return line->fault;
}

bool line_taken(const struct line *line)
{
    return line->taken;
}

int64_t line_moved_ms(const struct line *line)
{
    return atomic_load(&line->moved_ms);
}

int line_quiet_ms(const struct line *line)
{
    return line->tcp ? 0 : line->bus->response_ms;
}

/* --- opening --- */

/* "host:port" or the device, for the log. */
static void where(const struct line *line, char *out, size_t size)
{
    if (line->tcp)
        snprintf(out, size, "%s:%s", line->bus->host, line->bus->port);
    else
        snprintf(out, size, "%s", line->bus->device);
}

static enum gap_reason down_reason(const struct line *line)
{
    return line->tcp ? GAP_NO_CONNECTION : GAP_NO_DEVICE;
}

static void went_down(struct line *line, const char *what)
{
    char at[200];
    where(line, at, sizeof at);
    line->taken = what == dial_taken;
    snprintf(line->fault, sizeof line->fault, "%s: %s", at, what);
    disconnect(line);
    if (!line->down_logged)
        log_warn("bus %s: %s; it is tried again until it works, readings are gaps meanwhile",
                 line->bus->name, line->fault);
    line->down_logged = true;
    line->pause_ms = line->pause_ms == 0 ? PAUSE_MIN_MS : line->pause_ms * 2;
    if (line->pause_ms > PAUSE_MAX_MS)
        line->pause_ms = PAUSE_MAX_MS;
    line->retry_mono_ms = now_ms() + line->pause_ms;
}

static const char *open_tcp(struct line *line)
{
    int fd;
    const char *fault = dial_tcp(line->bus, line->wake_fd, &line->address, &fd);
    if (fault != NULL)
        return fault;
    line->context = modbus_new_tcp("127.0.0.1", 502); /* the address is never used */
    if (line->context == NULL) {
        close(fd);
        return strerror(errno);
    }
    modbus_set_socket(line->context, fd);
    return NULL;
}

static const char *open_rtu(struct line *line)
{
    static const char parity[] = {[PARITY_NONE] = 'N', [PARITY_EVEN] = 'E', [PARITY_ODD] = 'O'};
    const struct site_bus *bus = line->bus;
    const char *fault = dial_guard(bus->device, &line->guard);
    if (fault != NULL)
        return fault;
    line->context =
        modbus_new_rtu(bus->device, bus->baud, parity[bus->parity], 8, bus->stop_bits);
    if (line->context == NULL || modbus_connect(line->context) != 0)
        return strerror(errno);
    return NULL;
}

static enum gap_reason open_line(struct line *line)
{
    const char *fault = line->tcp ? open_tcp(line) : open_rtu(line);
    if (fault == lookup_cancelled)
        return GAP_STOPPED;
    /* libmodbus waits by select(), which aborts the process beyond this. */
    if (fault == NULL && modbus_get_socket(line->context) >= FD_SETSIZE)
        fault = "too many files are open in this process";
    if (fault != NULL) {
        went_down(line, fault);
        return down_reason(line);
    }
    modbus_set_error_recovery(line->context, MODBUS_ERROR_RECOVERY_NONE);
    /* No byte timeout: the response timeout then bounds the whole answer. */
    modbus_set_byte_timeout(line->context, 0, 0);
    modbus_flush(line->context);
    char at[256];
    where(line, at, sizeof at);
    if (line->down_logged || !line->ever)
        log_info("bus %s: connected to %s", line->bus->name, at);
    line->ever = true;
    line->down_logged = false;
    line->pause_ms = 0;
    line->fresh = true;
    return GAP_NONE;
}

/* A gateway may have hung up while nothing was asked, and what is left in the buffer of a
 * connection can only be out of step. */
static bool stale(const struct line *line)
{
    struct pollfd p = {.fd = modbus_get_socket(line->context), .events = POLLIN};
    return line->tcp && poll(&p, 1, 0) != 0;
}

bool line_ready(struct line *line, enum gap_reason *why)
{
    if (line->context != NULL && stale(line)) {
        disconnect(line);
        log_debug("bus %s: the gateway hung up", line->bus->name);
    }
    if (line->context != NULL)
        return true;
    *why = now_ms() < line->retry_mono_ms ? down_reason(line) : open_line(line);
    return *why == GAP_NONE;
}

/* --- asking --- */

enum waited {
    WAITED_DATA,
    WAITED_TIMEOUT,
    WAITED_STOP,
    WAITED_GONE
};

static enum waited wait_for(struct line *line, bool data, int64_t until_ms)
{
    struct pollfd p[2] = {
        {.fd = line->wake_fd, .events = POLLIN},
        {.fd = data ? modbus_get_socket(line->context) : -1, .events = POLLIN}};
    for (;;) {
        int64_t left = until_ms - now_ms();
        int n = poll(p, 2, left > 0 ? (int)left : 0);
        if (n < 0 && errno != EINTR)
            return WAITED_GONE;
        if (n > 0 && p[0].revents != 0)
            return WAITED_STOP;
        /* What a connection that was closed still holds is read; a terminal that was hung up
         * has nothing to give. */
        bool hup = !line->tcp && (p[1].revents & POLLHUP) != 0;
        if (n > 0 && (p[1].revents & POLLIN) != 0 && !hup)
            return WAITED_DATA;
        if (n > 0)
            return WAITED_GONE;
        if (n == 0)
            return WAITED_TIMEOUT;
    }
}

/* How long some bytes take on the wire: eleven bits each. */
static int64_t wire_ms(const struct line *line, size_t bytes)
{
    return line->tcp ? 0 : (int64_t)bytes * 11 * 1000 / line->bus->baud + 1;
}

static enum gap_reason gone(struct line *line)
{
    if (line->tcp)
        disconnect(line);
    else
        went_down(line, "the device has gone");
    return down_reason(line);
}

static enum gap_reason send_ask(struct line *line, const struct frame_request *request)
{
    uint8_t frame[TCP_HEADER + FRAME_ASK] = {0};
    uint8_t *body = frame + TCP_HEADER;
    frame_ask(request, body);
    if (!line->tcp) {
        modbus_set_slave(line->context, request->unit);
        modbus_flush(line->context);
        return modbus_send_raw_request(line->context, body, FRAME_ASK) < 0 ? gone(line)
                                                                           : GAP_NONE;
    }
    /* libmodbus numbers raw requests with 0 always; the number is what tells a stray answer. */
    line->transaction++;
    frame[0] = (uint8_t)(line->transaction >> 8);
    frame[1] = (uint8_t)(line->transaction & 0xff);
    frame[5] = FRAME_ASK;
    ssize_t n = send(modbus_get_socket(line->context), frame, sizeof frame, MSG_NOSIGNAL);
    return n == (ssize_t)sizeof frame ? GAP_NONE : gone(line);
}

/* An answer for which libmodbus did no more than find that it is not from our unit. */
static enum gap_reason of_other_unit(const uint8_t *frame)
{
    size_t len = frame[1] & 0x80 ? FRAME_REFUSAL : 3u + frame[2];
    if (len + RTU_CRC > MODBUS_RTU_MAX_ADU_LENGTH)
        return GAP_GARBLED;
    uint16_t crc = (uint16_t)(frame[len] | frame[len + 1] << 8);
    return frame_crc(frame, len) == crc ? GAP_WRONG_UNIT : GAP_GARBLED;
}

static void check_tcp(const struct line *line, const struct frame_request *request,
                      const uint8_t *frame, size_t len, struct frame_answer *out)
{
    out->gap = GAP_GARBLED;
    if (len <= TCP_HEADER || (frame[0] << 8 | frame[1]) != line->transaction || frame[2] != 0 ||
        frame[3] != 0 || (size_t)(frame[4] << 8 | frame[5]) != len - TCP_HEADER)
        return;
    frame_check(request, frame + TCP_HEADER, len - TCP_HEADER, out);
}

/* Readable may also mean that the other side has closed. */
static bool hung_up(const struct line *line)
{
    char byte;
    return line->tcp &&
           recv(modbus_get_socket(line->context), &byte, 1, MSG_PEEK | MSG_DONTWAIT) <= 0;
}

static void receive(struct line *line, const struct frame_request *request, int64_t until_ms,
                    struct frame_answer *out)
{
    uint8_t frame[MODBUS_TCP_MAX_ADU_LENGTH] = {0};
    int64_t rest = wire_ms(line, frame_answer_size(request) + RTU_CRC) + line->bus->byte_ms;
    if (line->tcp && until_ms - now_ms() > rest)
        rest = until_ms - now_ms(); /* a segment may be lost and sent again */
    modbus_set_response_timeout(line->context, (uint32_t)(rest / 1000),
                                (uint32_t)(rest % 1000 * 1000));
    int n = modbus_receive_confirmation(line->context, frame);
    /* libmodbus says ECONNRESET where a read gave nothing: on a terminal that is only noise. */
    if (n < 0 && (errno == EIO || errno == EBADF || (line->tcp && errno == ECONNRESET)))
        out->gap = gone(line);
    else if (n < 0)
        out->gap = GAP_GARBLED;
    else if (line->tcp)
        check_tcp(line, request, frame, (size_t)n, out);
    else if (n == 0)
        out->gap = of_other_unit(frame);
    else
        frame_check(request, frame, (size_t)n - RTU_CRC, out);
}

static void exchange(struct line *line, const struct frame_request *request, int response_ms,
                     struct frame_answer *out)
{
    out->detail = 0;
    line->begun = false;
    out->gap = send_ask(line, request);
    if (out->gap != GAP_NONE)
        return;
    int64_t until = now_ms() + wire_ms(line, FRAME_ASK + RTU_CRC) + response_ms;
    enum gap_reason none = GAP_NO_ANSWER;
    do {
        switch (wait_for(line, true, until)) {
        case WAITED_DATA:
            line->begun = !hung_up(line);
            receive(line, request, until, out);
            break;
        case WAITED_TIMEOUT:
            out->gap = none;
            return;
        case WAITED_STOP:
            out->gap = GAP_STOPPED;
            return;
        case WAITED_GONE:
            out->gap = gone(line);
            return;
        }
        /* Another unit's late answer: ours may still come (serial line V1.02, 2.4.1). */
        none = GAP_WRONG_UNIT;
    } while (!line->tcp && out->gap == GAP_WRONG_UNIT && now_ms() < until);
}

/* An error ends the step between requests and answers: see the manners in the header. After a
 * good answer a serial line still needs the silence that parts frames, 3.5 characters. */
static void settle(struct line *line, enum gap_reason gap)
{
    bool in_step = gap == GAP_NONE || gap == GAP_EXCEPTION;
    if (line->context == NULL)
        return;
    if (!line->tcp)
        line->quiet_until_ms =
            now_ms() + (in_step ? wire_ms(line, 4) + 1 : line->bus->response_ms);
    else if (!in_step)
        disconnect(line);
}

void line_ask(struct line *line, const struct frame_request *request, int response_ms,
              struct frame_answer *out)
{
    if (line->quiet_until_ms > now_ms() &&
        wait_for(line, false, line->quiet_until_ms) == WAITED_STOP) {
        out->gap = GAP_STOPPED;
        return;
    }
    atomic_store(&line->moved_ms, now_ms());
    bool fresh = line->fresh;
    line->fresh = false;
    exchange(line, request, response_ms, out);
    /* A gateway that hung up on an idle connection just then is asked again, once. */
    enum gap_reason why;
    if (out->gap == GAP_NO_CONNECTION && !fresh && !line->begun && line_ready(line, &why))
        exchange(line, request, response_ms, out);
    settle(line, out->gap);
}
