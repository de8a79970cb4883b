/* line.c - requests in, answers out, spoiled on request.  Contract in line.h. */
#include "line.h"

#include <errno.h>
#include <modbus.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum {
    FRAME_MAX = 260,   /* MODBUS_TCP_MAX_ADU_LENGTH */
    PIECES_MAX = 1024, /* waiting to be sent: several dripping answers */
    PAUSE_MS = 50,     /* silence that ends a serial frame, generous for a slow host */
    TCP_HEAD = 7,
    EXCEPTION_NO_UNIT = 11 /* gateway target device failed to respond */
};

/* Bytes that wait for their time. */
struct piece {
    int64_t due_mono_ms;
    size_t length;
    uint8_t bytes[FRAME_MAX];
};

struct line {
    enum instrument_bus bus;
    int fd;                    /* owned */
    int pair[2];               /* owned; libmodbus sits at [0] */
    modbus_t *modbus;          /* owned */
    modbus_mapping_t *mapping; /* owned */
    uint8_t in[FRAME_MAX];
    size_t in_length;
    int64_t in_mono_ms;   /* when the last byte came */
    struct piece *pieces; /* owned; PIECES_MAX, in order of their time */
    size_t piece_count;
};

enum rc line_open(enum instrument_bus bus, int fd, struct line **out)
{
    struct line *l = calloc(1, sizeof *l);
    if (l == NULL)
        return RC_NOMEM;
    l->bus = bus;
    l->fd = -1;
    l->pair[0] = l->pair[1] = -1;
    enum rc rc = RC_NOMEM;
    l->pieces = calloc(PIECES_MAX, sizeof *l->pieces);
    l->mapping = modbus_mapping_new(1, RACK_BITS, 1, RACK_REGISTERS);
    /* The device names are never opened: libmodbus is given a socket instead. */
    l->modbus = bus == INSTRUMENT_TCP ? modbus_new_tcp("127.0.0.1", 502)
                                      : modbus_new_rtu("/dev/null", 9600, 'E', 8, 1);
    if (l->pieces == NULL || l->mapping == NULL || l->modbus == NULL)
        goto fail;
    rc = RC_IO;
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, l->pair) != 0)
        goto fail;
    modbus_set_socket(l->modbus, l->pair[0]);
    /* libmodbus sleeps this long after a function that it does not know. */
    modbus_set_response_timeout(l->modbus, 0, 1000);
    /* Requests are passed on whole: what is missing then never comes. */
    modbus_set_byte_timeout(l->modbus, 0, 1000);
    l->mapping->nb_bits = 0;
    l->mapping->nb_registers = 0;
    l->fd = fd;
    *out = l;
    return RC_OK;
fail:
    line_close(l);
    return rc;
}

void line_close(struct line *l)
{
    if (l == NULL)
        return;
    if (l->modbus != NULL)
        modbus_free(l->modbus);
    if (l->mapping != NULL) {
        modbus_mapping_free(l->mapping);
    }
    for (int i = 0; i < 2; i++)
        if (l->pair[i] >= 0)
            close(l->pair[i]);
    if (l->fd >= 0)
        close(l->fd);
    free(l->pieces);
    free(l);
}

int line_fd(const struct line *l)
{
    return l->fd;
}

/* Length of the first request in the buffer; 0: not whole yet, -1: nonsense. */
static int request_length(const struct line *l)
{
    const uint8_t *b = l->in;
    if (l->bus == INSTRUMENT_TCP) {
        if (l->in_length < TCP_HEAD)
            return 0;
        int length = b[4] << 8 | b[5];
        if (b[2] != 0 || b[3] != 0 || length < 2 || length > FRAME_MAX - 6)
            return -1;
        return l->in_length >= (size_t)length + 6 ? length + 6 : 0;
    }
    if (l->in_length < 2)
        return 0;
    int length = 8; /* unit, function, address, count, checksum */
    if (b[1] == MODBUS_FC_WRITE_MULTIPLE_COILS || b[1] == MODBUS_FC_WRITE_MULTIPLE_REGISTERS) {
        if (l->in_length < 7)
            return 0;
        length = 9 + b[6];
    } else if (b[1] < MODBUS_FC_READ_COILS || b[1] > MODBUS_FC_WRITE_SINGLE_REGISTER) {
        return -1;
    }
    return l->in_length >= (size_t)length ? length : 0;
}

static void queue(struct line *l, const uint8_t *bytes, size_t length, int64_t due_mono_ms)
{
    if (l->piece_count == PIECES_MAX)
        return; /* a peer that asks on and never reads loses answers, as on a real line */
    size_t at = l->piece_count++;
    while (at > 0 && l->pieces[at - 1].due_mono_ms > due_mono_ms) {
        l->pieces[at] = l->pieces[at - 1];
        at--;
    }
    l->pieces[at].due_mono_ms = due_mono_ms;
    l->pieces[at].length = length;
    memcpy(l->pieces[at].bytes, bytes, length);
}

/* Takes libmodbus's answer from the pair and queues it in the manner asked for. */
static void queue_answer(struct line *l, struct misbehave manner, int64_t mono_ms)
{
    uint8_t bytes[FRAME_MAX];
    ssize_t got = recv(l->pair[1], bytes, sizeof bytes, MSG_DONTWAIT);
    if (got <= 0)
        return;
    size_t length = (size_t)got;
    if (manner.kind == MISBEHAVE_GARBLED) {
        /* Serial: the checksum no longer fits. TCP has none: the transaction is another's. */
        size_t at = l->bus == INSTRUMENT_TCP ? 1 : length - 3;
        bytes[at] ^= 0x10;
    }
    if (manner.kind == MISBEHAVE_SHORT)
        length = length / 2;
    if (manner.kind == MISBEHAVE_DRIP) {
        for (size_t i = 0; i < length; i++)
            queue(l, bytes + i, 1, mono_ms + (int64_t)((double)i * manner.arg));
        return;
    }
    int64_t late_ms = manner.kind == MISBEHAVE_LATE ? (int64_t)manner.arg : 0;
    queue(l, bytes, length, mono_ms + late_ms);
}

/* A request longer than its function wants leaves a rest that must not lead the next one. */
static void forget_rest(struct line *l)
{
    uint8_t rest[FRAME_MAX];
    ssize_t got;
    do
        got = recv(l->pair[0], rest, sizeof rest, MSG_DONTWAIT);
    while (got > 0);
}

static void load(struct line *l, struct rack *rack, size_t instrument)
{
    struct rack_image image;
    rack_show(rack, instrument, &image);
    l->mapping->nb_input_bits = (int)image.bit_count;
    l->mapping->nb_input_registers = (int)image.register_count;
    memcpy(l->mapping->tab_input_bits, image.bits, image.bit_count);
    memcpy(l->mapping->tab_input_registers, image.registers,
           image.register_count * sizeof image.registers[0]);
}

static void answer(struct line *l, struct rack *rack, const uint8_t *request, size_t length,
                   int64_t mono_ms)
{
    int head = l->bus == INSTRUMENT_TCP ? TCP_HEAD : 1;
    int unit = request[head - 1];
    size_t instrument = 0;
    bool known = instrument_by_unit(l->bus, unit, &instrument);
    if (!known && l->bus == INSTRUMENT_RTU)
        return; /* nobody there; a gateway would say so */
    struct misbehave manner = {0};
    if (known)
        manner = rack_manner(rack, instrument);
    if (manner.kind == MISBEHAVE_SILENT)
        return;

    uint8_t query[FRAME_MAX];
    modbus_set_slave(l->modbus, unit);
    if (send(l->pair[1], request, length, MSG_NOSIGNAL) != (ssize_t)length)
        return;
    int got = modbus_receive(l->modbus, query);
    forget_rest(l);
    if (got <= 0)
        return; /* checksum wrong: a real unit stays silent */
    if (manner.kind == MISBEHAVE_WRONG)
        query[head - 1] = (uint8_t)(unit + 1);

    bool reads =
        query[head] >= MODBUS_FC_READ_COILS && query[head] <= MODBUS_FC_READ_INPUT_REGISTERS;
    if (!known) {
        modbus_reply_exception(l->modbus, query, EXCEPTION_NO_UNIT);
    } else if (manner.kind == MISBEHAVE_EXCEPTION) {
        modbus_reply_exception(l->modbus, query, (unsigned)manner.arg);
    } else if (!reads) {
        modbus_reply_exception(l->modbus, query, MODBUS_EXCEPTION_ILLEGAL_FUNCTION);
    } else {
        load(l, rack, instrument);
        modbus_reply(l->modbus, query, got, l->mapping);
    }
    queue_answer(l, manner, mono_ms);
}

enum rc line_read(struct line *l, struct rack *rack, int64_t mono_ms)
{
    bool serial = l->bus == INSTRUMENT_RTU;
    if (serial && mono_ms - l->in_mono_ms > PAUSE_MS)
        l->in_length = 0; /* the rest of a broken request */
    ssize_t got = read(l->fd, l->in + l->in_length, sizeof l->in - l->in_length);
    if (got < 0 && (errno == EAGAIN || errno == EINTR))
        return RC_OK;
    if (got <= 0)
        return RC_CLOSED;
    l->in_length += (size_t)got;
    l->in_mono_ms = mono_ms;
    for (;;) {
        int length = request_length(l);
        if (length < 0 && !serial)
            return RC_CLOSED;
        if (length < 0)
            l->in_length = 0;
        if (length <= 0)
            break;
        answer(l, rack, l->in, (size_t)length, mono_ms);
        l->in_length -= (size_t)length;
        memmove(l->in, l->in + length, l->in_length);
    }
    return RC_OK;
}

int64_t line_send(struct line *l, int64_t mono_ms)
{
    size_t sent = 0;
    while (sent < l->piece_count && l->pieces[sent].due_mono_ms <= mono_ms) {
        struct piece *p = &l->pieces[sent++];
        /* What the peer does not take is lost; it would have to ask again anyhow. */
        ssize_t ignored = write(l->fd, p->bytes, p->length);
        (void)ignored;
    }
    l->piece_count -= sent;
    memmove(l->pieces, l->pieces + sent, l->piece_count * sizeof *l->pieces);
    return l->piece_count > 0 ? l->pieces[0].due_mono_ms : INT64_MAX;
}
