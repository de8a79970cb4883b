/* unruly.c - see unruly.h. */
#define _XOPEN_SOURCE 700 /* pseudo-terminals */
#include "support/unruly.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include "base/clock.h"

enum {
    UNITS = 248,
    WIRES = 64, /* connections at once; RTU uses the first */
    SENDS = 512,
    FRAME = 300,
    HELD = 256,
    NO_WIRE = -1
};

struct wire {
    int fd; /* owned; NO_WIRE if free */
    uint8_t in[FRAME];
    size_t len;
    int64_t last_ms;
};

/* Bytes that go out at a time, or the end of the wire. */
struct send {
    int64_t at_ms;
    int fd;
    size_t len; /* 0: close it */
    uint8_t data[FRAME];
};

struct unruly {
    bool tcp;
    char address[64], dir[32];
    int listener, terminal; /* owned; NO_WIRE if not open */
    int wake[2];
    pthread_t thread;

    pthread_mutex_t lock; /* of all below */
    bool stop;
    struct wire wires[WIRES];
    struct send *sends; /* owned; in order of time */
    size_t send_count;
    struct {
        enum unruly_manner manner;
        int number;
        unsigned requests;
    } units[UNITS];
    uint16_t held[HELD];
    bool is_held[HELD];
    int64_t last_request_ms, least_pause_ms;
    unsigned connections;
};

static uint16_t crc16(const uint8_t *data, size_t len)
{
    uint16_t crc = 0xffff;
    for (size_t i = 0; i < len; i++) {
        crc ^= data[i];
        for (int b = 0; b < 8; b++)
            crc = (crc & 1) != 0 ? (uint16_t)((crc >> 1) ^ 0xa001) : (uint16_t)(crc >> 1);
    }
    return crc;
}

static void end_wire(struct unruly *u, int fd)
{
    for (size_t i = 0; i < u->send_count; i++)
        if (u->sends[i].fd == fd)
            u->sends[i].fd = NO_WIRE;
    for (int i = 0; i < WIRES; i++)
        if (u->wires[i].fd == fd)
            u->wires[i].fd = NO_WIRE;
    close(fd);
}

static void queue(struct unruly *u, int fd, int64_t at_ms, const uint8_t *data, size_t len)
{
    if (u->send_count == SENDS || len > FRAME)
        abort(); /* a test that asks for more is wrong */
    size_t i = u->send_count++;
    for (; i > 0 && u->sends[i - 1].at_ms > at_ms; i--)
        u->sends[i] = u->sends[i - 1];
    u->sends[i].at_ms = at_ms;
    u->sends[i].fd = fd;
    u->sends[i].len = len;
    if (len > 0)
        memcpy(u->sends[i].data, data, len);
}

static uint16_t content(const struct unruly *u, int unit, unsigned address, struct tick now)
{
    if (address == 0)
        return (uint16_t)u->units[unit].requests;
    if (address == 1)
        return (uint16_t)(clock_utc_s(now) & 0xffff);
    if (address < HELD && u->is_held[address])
        return u->held[address];
    return (uint16_t)((unsigned)unit * 100 + address);
}

/* The body of an answer: unit, function, data. */
static size_t body_of(struct unruly *u, const uint8_t *ask, unsigned extra, struct tick now,
                      uint8_t *out)
{
    unsigned address = (unsigned)ask[2] << 8 | ask[3];
    unsigned count = ((unsigned)ask[4] << 8 | ask[5]) + extra;
    bool bits = ask[1] <= 2;
    size_t bytes = bits ? (count + 7) / 8 : 2 * (size_t)count;
    out[0] = ask[0];
    out[1] = ask[1];
    out[2] = (uint8_t)bytes;
    memset(out + 3, 0, bytes);
    for (unsigned i = 0; i < count; i++) {
        uint16_t word = content(u, ask[0], address + i, now);
        if (bits) {
            out[3 + i / 8] |= (uint8_t)((word & 1) << (i % 8));
        } else {
            out[3 + 2 * i] = (uint8_t)(word >> 8);
            out[4 + 2 * i] = (uint8_t)(word & 0xff);
        }
    }
    return 3 + bytes;
}

static size_t refusal(const uint8_t *ask, int code, uint8_t *out)
{
    out[0] = ask[0];
    out[1] = ask[1] | 0x80;
    out[2] = (uint8_t)code;
    return 3;
}

/* Wraps a body into a frame of the wire. */
static size_t wrap(const struct unruly *u, const uint8_t *header, const uint8_t *body,
                   size_t len, enum unruly_manner manner, uint8_t *out)
{
    if (u->tcp) {
        memcpy(out, header, 4);
        out[1] = (uint8_t)(out[1] + (manner == UNRULY_WRONG_TRANSACTION ? 1 : 0));
        out[3] = manner == UNRULY_BAD_CHECK ? 7 : out[3];
        out[4] = (uint8_t)(len >> 8);
        out[5] = (uint8_t)(len & 0xff);
        memcpy(out + 6, body, len);
        return len + 6;
    }
    memcpy(out, body, len);
    uint16_t crc = crc16(body, len);
    if (manner == UNRULY_BAD_CHECK)
        crc ^= 0x0100;
    out[len] = (uint8_t)(crc & 0xff);
    out[len + 1] = (uint8_t)(crc >> 8);
    return len + 2;
}

/* The same answer as the next unit would give it (RTU). */
static void other(struct unruly *u, int fd, const uint8_t *frame, size_t len, int64_t now_ms)
{
    uint8_t copy[FRAME];
    memcpy(copy, frame, len);
    copy[0]++;
    uint16_t crc = crc16(copy, len - 2);
    copy[len - 2] = (uint8_t)(crc & 0xff);
    copy[len - 1] = (uint8_t)(crc >> 8);
    queue(u, fd, now_ms, copy, len);
}

/* Up to a frame's length of bytes that differ from call to call. */
static void babble(struct unruly *u, int fd, int64_t now_ms)
{
    uint8_t bytes[FRAME];
    uint32_t x = (uint32_t)now_ms | 1;
    for (size_t i = 0; i < sizeof bytes; i++) {
        x ^= x << 13; /* Marsaglia's xorshift */
        x ^= x >> 17;
        x ^= x << 5;
        bytes[i] = (uint8_t)(x >> 8);
    }
    queue(u, fd, now_ms, bytes, 1 + x % 250);
}

static void send_as(struct unruly *u, int fd, const uint8_t *frame, size_t len,
                    enum unruly_manner manner, int number, int64_t now_ms)
{
    static const uint8_t noise[] = {0x00, 0xff, 0x5a, 0x33, 0x80};
    switch (manner) {
    case UNRULY_SILENT:
        break;
    case UNRULY_LATE:
        queue(u, fd, now_ms + number, frame, len);
        break;
    case UNRULY_SHORT:
        queue(u, fd, now_ms, frame, len - 3);
        break;
    case UNRULY_DRIP:
        for (size_t i = 0; i < len; i++)
            queue(u, fd, now_ms + (int64_t)i * number, frame + i, 1);
        break;
    case UNRULY_GARBAGE:
        queue(u, fd, now_ms, noise, sizeof noise);
        queue(u, fd, now_ms, frame, len);
        break;
    case UNRULY_NOISE:
        babble(u, fd, now_ms);
        break;
    case UNRULY_TWICE:
        queue(u, fd, now_ms, frame, len);
        queue(u, fd, now_ms, frame, len);
        break;
    case UNRULY_OTHER_FIRST:
        other(u, fd, frame, len, now_ms);
        queue(u, fd, now_ms + 30, frame, len);
        break;
    case UNRULY_HANG_UP_MID:
        queue(u, fd, now_ms, frame, len / 2);
        queue(u, fd, now_ms, NULL, 0);
        break;
    case UNRULY_HANG_UP:
        queue(u, fd, now_ms, NULL, 0);
        break;
    case UNRULY_GOOD:
    case UNRULY_EXCEPTION:
    case UNRULY_BAD_CHECK:
    case UNRULY_WRONG_UNIT:
    case UNRULY_WRONG_FUNCTION:
    case UNRULY_WRONG_TRANSACTION:
    case UNRULY_WRONG_LENGTH:
    case UNRULY_HOLES:
        queue(u, fd, now_ms, frame, len);
        break;
    }
}

static void answer(struct unruly *u, int fd, const uint8_t *header, const uint8_t *ask)
{
    if (ask[0] >= UNITS || ask[1] < 1 || ask[1] > 4)
        return;
    struct tick now = clock_now();
    enum unruly_manner manner = u->units[ask[0]].manner;
    int number = u->units[ask[0]].number;
    if (u->last_request_ms != 0 && now.mono_ms - u->last_request_ms < u->least_pause_ms)
        u->least_pause_ms = now.mono_ms - u->last_request_ms;
    u->last_request_ms = now.mono_ms;
    u->units[ask[0]].requests++;

    uint8_t body[FRAME], frame[FRAME];
    int end = (ask[2] << 8 | ask[3]) + (ask[4] << 8 | ask[5]);
    size_t len;
    if (manner == UNRULY_EXCEPTION)
        len = refusal(ask, number, body);
    else if (manner == UNRULY_HOLES && end - 1 > number)
        len = refusal(ask, 2, body);
    else
        len = body_of(u, ask, manner == UNRULY_WRONG_LENGTH ? 1 : 0, now, body);
    if (manner == UNRULY_WRONG_UNIT)
        body[0]++;
    if (manner == UNRULY_WRONG_FUNCTION)
        body[1] = body[1] == 3 ? 4 : 3;
    len = wrap(u, header, body, len, manner, frame);
    send_as(u, fd, frame, len, manner, number, now.mono_ms);
    if (manner == UNRULY_HANG_UP && number > 0 && --u->units[ask[0]].number == 0)
        u->units[ask[0]].manner = UNRULY_GOOD;
}

static void take(struct unruly *u, struct wire *wire, int64_t now_ms)
{
    /* A request cut off long ago is no part of the next. */
    if (!u->tcp && wire->len > 0 && now_ms - wire->last_ms > 50)
        wire->len = 0;
    ssize_t n = read(wire->fd, wire->in + wire->len, sizeof wire->in - wire->len);
    if (n <= 0) {
        if (u->tcp)
            end_wire(u, wire->fd);
        return;
    }
    wire->len += (size_t)n;
    wire->last_ms = now_ms;
    const size_t whole = u->tcp ? 12 : 8;
    while (wire->fd != NO_WIRE && wire->len >= whole) {
        const uint8_t *in = wire->in;
        if (u->tcp)
            answer(u, wire->fd, in, in + 6);
        else if (crc16(in, 6) == (in[6] | in[7] << 8))
            answer(u, wire->fd, NULL, in);
        wire->len -= whole;
        memmove(wire->in, wire->in + whole, wire->len);
    }
}

static void welcome(struct unruly *u)
{
    int fd = accept(u->listener, NULL, NULL);
    for (int i = 0; fd >= 0 && i < WIRES; i++)
        if (u->wires[i].fd == NO_WIRE) {
            u->wires[i] = (struct wire){.fd = fd};
            u->connections++;
            return;
        }
    if (fd >= 0)
        close(fd);
}

static void send_due(struct unruly *u, int64_t now_ms)
{
    while (u->send_count > 0 && u->sends[0].at_ms <= now_ms) {
        struct send first = u->sends[0];
        u->send_count--;
        memmove(u->sends, u->sends + 1, u->send_count * sizeof *u->sends);
        if (first.fd == NO_WIRE)
            continue;
        if (first.len == 0)
            end_wire(u, first.fd);
        else if (u->tcp)
            (void)!send(first.fd, first.data, first.len, MSG_NOSIGNAL);
        else
            (void)!write(first.fd, first.data, first.len);
    }
}

static void *run(void *arg)
{
    struct unruly *u = arg;
    pthread_mutex_lock(&u->lock);
    while (!u->stop) {
        int64_t now = clock_now().mono_ms;
        send_due(u, now);
        struct pollfd p[WIRES + 2] = {{.fd = u->wake[0], .events = POLLIN},
                                      {.fd = u->listener, .events = POLLIN}};
        for (int i = 0; i < WIRES; i++)
            p[i + 2] = (struct pollfd){.fd = u->wires[i].fd, .events = POLLIN};
        int64_t wait = u->send_count > 0 ? u->sends[0].at_ms - now : 1000;
        pthread_mutex_unlock(&u->lock);
        poll(p, WIRES + 2, wait < 0 ? 0 : (int)wait);
        pthread_mutex_lock(&u->lock);
        if (p[0].revents != 0) {
            char drop[16];
            (void)!read(u->wake[0], drop, sizeof drop);
        }
        if (u->listener != NO_WIRE && p[1].fd == u->listener && p[1].revents != 0)
            welcome(u);
        now = clock_now().mono_ms;
        for (int i = 0; i < WIRES; i++)
            if (u->wires[i].fd != NO_WIRE && p[i + 2].fd == u->wires[i].fd &&
                p[i + 2].revents != 0)
                take(u, &u->wires[i], now);
    }
    pthread_mutex_unlock(&u->lock);
    return NULL;
}

static bool plug_tcp(struct unruly *u)
{
    int one = 1;
    int port = u->address[0] == '\0' ? 0 : (int)strtol(u->address, NULL, 10);
    struct sockaddr_in at = {.sin_family = AF_INET,
                             .sin_port = htons((uint16_t)port),
                             .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t len = sizeof at;
    int fd = socket(AF_INET, SOCK_STREAM, 0);
    if (fd < 0 || setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &one, sizeof one) != 0 ||
        bind(fd, (struct sockaddr *)&at, sizeof at) != 0 || listen(fd, 16) != 0 ||
        getsockname(fd, (struct sockaddr *)&at, &len) != 0) {
        if (fd >= 0)
            close(fd);
        return false;
    }
    if (port == 0) /* later the address stays what it is, since others read it */
        snprintf(u->address, sizeof u->address, "%d", ntohs(at.sin_port));
    u->listener = fd;
    return true;
}

/* The test sees a link with a fixed name, as udev makes one for an adapter. */
static bool plug_rtu(struct unruly *u)
{
    int fd = posix_openpt(O_RDWR | O_NOCTTY);
    const char *name = NULL;
    if (fd >= 0 && grantpt(fd) == 0 && unlockpt(fd) == 0)
        name = ptsname(fd);
    int terminal = name == NULL ? -1 : open(name, O_RDWR | O_NOCTTY);
    struct termios t;
    if (terminal < 0 || tcgetattr(terminal, &t) != 0)
        return false;
    t.c_iflag = t.c_oflag = t.c_lflag = 0;
    if (tcsetattr(terminal, TCSANOW, &t) != 0 || symlink(name, u->address) != 0)
        return false;
    u->terminal = terminal; /* held open: a master without a terminal only gives errors */
    u->wires[0] = (struct wire){.fd = fd};
    return true;
}

static void wake(struct unruly *u)
{
    (void)!write(u->wake[1], "", 1);
}

static bool plug(struct unruly *u)
{
    return u->tcp ? plug_tcp(u) : plug_rtu(u);
}

bool unruly_plug(struct unruly *u)
{
    pthread_mutex_lock(&u->lock);
    bool done = plug(u);
    pthread_mutex_unlock(&u->lock);
    wake(u);
    return done;
}

static void end_all(struct unruly *u)
{
    for (int i = 0; i < WIRES; i++)
        if (u->wires[i].fd != NO_WIRE)
            end_wire(u, u->wires[i].fd);
}

void unruly_hang_up(struct unruly *u)
{
    pthread_mutex_lock(&u->lock);
    end_all(u);
    pthread_mutex_unlock(&u->lock);
    wake(u);
}

static void unplug(struct unruly *u)
{
    end_all(u);
    if (u->listener != NO_WIRE)
        close(u->listener);
    if (u->terminal != NO_WIRE) {
        close(u->terminal);
        unlink(u->address);
    }
    u->listener = u->terminal = NO_WIRE;
}

void unruly_unplug(struct unruly *u)
{
    pthread_mutex_lock(&u->lock);
    unplug(u);
    pthread_mutex_unlock(&u->lock);
    wake(u);
}

static struct unruly *start(bool tcp)
{
    struct unruly *u = calloc(1, sizeof *u);
    struct send *sends = calloc(SENDS, sizeof *sends);
    if (u == NULL || sends == NULL || pipe(u->wake) != 0)
        abort();
    u->tcp = tcp;
    u->sends = sends;
    u->listener = u->terminal = NO_WIRE;
    u->least_pause_ms = INT64_MAX;
    for (int i = 0; i < WIRES; i++)
        u->wires[i].fd = NO_WIRE;
    pthread_mutex_init(&u->lock, NULL);
    if (!tcp) {
        strcpy(u->dir, "/tmp/unruly-XXXXXX");
        if (mkdtemp(u->dir) == NULL)
            abort();
        snprintf(u->address, sizeof u->address, "%s/line", u->dir);
    }
    if (!plug(u) || pthread_create(&u->thread, NULL, run, u) != 0)
        abort();
    return u;
}

struct unruly *unruly_tcp(void)
{
    return start(true);
}

struct unruly *unruly_rtu(void)
{
    return start(false);
}

void unruly_free(struct unruly *u)
{
    if (u == NULL)
        return;
    pthread_mutex_lock(&u->lock);
    u->stop = true;
    pthread_mutex_unlock(&u->lock);
    wake(u);
    pthread_join(u->thread, NULL);
    unplug(u);
    if (!u->tcp)
        rmdir(u->dir);
    close(u->wake[0]);
    close(u->wake[1]);
    pthread_mutex_destroy(&u->lock);
    free(u->sends);
    free(u);
}

const char *unruly_address(const struct unruly *u)
{
    return u->address;
}

void unruly_set(struct unruly *u, int unit, enum unruly_manner manner, int number)
{
    pthread_mutex_lock(&u->lock);
    u->units[unit].manner = manner;
    u->units[unit].number = number;
    pthread_mutex_unlock(&u->lock);
}

void unruly_hold(struct unruly *u, int address, uint16_t value)
{
    pthread_mutex_lock(&u->lock);
    u->held[address] = value;
    u->is_held[address] = true;
    pthread_mutex_unlock(&u->lock);
}

unsigned unruly_requests(struct unruly *u, int unit)
{
    pthread_mutex_lock(&u->lock);
    unsigned n = u->units[unit].requests;
    pthread_mutex_unlock(&u->lock);
    return n;
}

int64_t unruly_least_pause(struct unruly *u)
{
    pthread_mutex_lock(&u->lock);
    int64_t ms = u->least_pause_ms;
    pthread_mutex_unlock(&u->lock);
    return ms;
}

unsigned unruly_connections(struct unruly *u)
{
    pthread_mutex_lock(&u->lock);
    unsigned n = u->connections;
    pthread_mutex_unlock(&u->lock);
    return n;
}
