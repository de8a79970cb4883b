/* unruly.h - a Modbus device that misbehaves on order, for tests.
 *
 * It speaks by plain sockets or over a pseudo-terminal, with frames made by hand, so that a
 * fault of libmodbus cannot hide itself. Every register tells when it was asked for: register 0
 * holds the number of the request to this unit (from 1), register 1 the UTC second in which the
 * request came (its low 16 bits), any other register unit * 100 + address. Bits are the lowest
 * bits of these.
 *
 * Threads: one of its own; the functions may be called from any other.
 */
#ifndef SUPPORT_UNRULY_H
#define SUPPORT_UNRULY_H

#include <stdbool.h>
#include <stdint.h>

enum unruly_manner {
    UNRULY_GOOD,
    UNRULY_SILENT,
    UNRULY_LATE,       /* a good answer after `number` ms */
    UNRULY_EXCEPTION,  /* exception `number` */
    UNRULY_BAD_CHECK,  /* RTU: a wrong checksum; TCP: a wrong protocol */
    UNRULY_WRONG_UNIT, /* the next unit's number in an else good answer */
    UNRULY_WRONG_FUNCTION,
    UNRULY_WRONG_TRANSACTION, /* TCP */
    UNRULY_WRONG_LENGTH,      /* one register more than was asked for */
    UNRULY_SHORT,             /* the last three bytes never come */
    UNRULY_DRIP,              /* one byte every `number` ms */
    UNRULY_GARBAGE,           /* five bytes of noise before a good answer */
    UNRULY_NOISE,             /* noise alone, another at each request */
    UNRULY_TWICE,             /* a good answer, and the same again */
    UNRULY_OTHER_FIRST, /* RTU: an answer of the next unit, and 30 ms later the right one */
    UNRULY_HANG_UP,     /* closes without an answer; `number` times, 0: always */
    UNRULY_HANG_UP_MID, /* closes after half of the answer */
    UNRULY_HOLES,       /* exception 2 for any request beyond register `number` */
};

struct unruly;

/* NULL if the system refuses. The address is a port or the path of a serial device. */
struct unruly *unruly_tcp(void);
struct unruly *unruly_rtu(void);
void unruly_free(struct unruly *unruly);
const char *unruly_address(const struct unruly *unruly);

/* How one unit behaves from now on; all are good at first. */
void unruly_set(struct unruly *unruly, int unit, enum unruly_manner manner, int number);

/* Sets what a register (from 2 on) of every unit holds. */
void unruly_hold(struct unruly *unruly, int address, uint16_t value);

/* Unplugs the device (the serial device is gone, the port refuses), and plugs it in again at the
 * same address. */
void unruly_unplug(struct unruly *unruly);
bool unruly_plug(struct unruly *unruly);

/* Closes the connections there are, and goes on listening (TCP). */
void unruly_hang_up(struct unruly *unruly);

/* Requests so far to a unit, and the least time in ms between any two requests on the line. */
unsigned unruly_requests(struct unruly *unruly, int unit);
int64_t unruly_least_pause(struct unruly *unruly);

/* Connections taken so far (TCP). */
unsigned unruly_connections(struct unruly *unruly);

#endif
