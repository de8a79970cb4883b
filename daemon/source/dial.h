/* dial.h - opens what a bus hangs on, without holding up its thread.
 *
 * Errors: NULL if it went well, else a phrase for the log, valid until the next call.
 */
#ifndef SOURCE_DIAL_H
#define SOURCE_DIAL_H

extern const char dial_cancelled[];

/* Connects to host:port within timeout_ms. The socket does not block. A byte on wake_fd ends the
 * attempt with dial_cancelled, which is told by its address. */
const char *dial_tcp(const char *host, const char *port, int timeout_ms, int wake_fd,
                     int *out_fd);

/* Takes the serial device for us alone among those who keep to locks (flock): two masters on
 * one line hear each other's answers. The lock lasts while the descriptor is open. It is not
 * made by TIOCEXCL, which outlives a killed process on a pseudo-terminal. */
const char *dial_guard(const char *device, int *out_fd);

#endif
