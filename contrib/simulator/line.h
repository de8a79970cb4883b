/* line.h - one Modbus peer of the simulator: a TCP connection, or the serial line.
 *
 * libmodbus reads each request and writes each answer, over a pair of sockets; between these
 * and the peer the answer can be held back, cut or spoiled as the rack says.
 *
 * Units:   mono_ms: real time, never stepping.
 * Errors:  RC_NOMEM, RC_IO; RC_CLOSED from line_read when the peer is gone or talks nonsense.
 * Owner:   a line owns its descriptor; line_close takes NULL.
 * Threads: none; one owner.
 */
#ifndef SIMULATOR_LINE_H
#define SIMULATOR_LINE_H

#include <stdint.h>

#include "base/rc.h"
#include "instrument.h"
#include "rack.h"

struct line;

/* Takes fd, which is non-blocking, on success. */
MUST_USE enum rc line_open(enum instrument_bus bus, int fd, struct line **out);
void line_close(struct line *l);

int line_fd(const struct line *l);

/* Takes what the peer sent and prepares the answers. */
MUST_USE enum rc line_read(struct line *l, struct rack *rack, int64_t mono_ms);

/* Sends what is due; returns when more is due, INT64_MAX if nothing waits. */
int64_t line_send(struct line *l, int64_t mono_ms);

#endif
