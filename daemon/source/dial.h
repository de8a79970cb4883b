/* dial.h - opens what a bus hangs on, without holding up its thread.
 *
 * Errors: NULL if it went well, else a phrase for the log, valid until the next call.
 */
#ifndef SOURCE_DIAL_H
#define SOURCE_DIAL_H

#include <sys/socket.h>

#include "site/site.h"

/* Where a name led last; zeroed at first. A gateway is often called anew, and its name server need
 * not be asked each time. */
struct dial_address {
    struct sockaddr_storage at;
    socklen_t len;
};

/* Connects to the host of a bus within its response timeout. The socket does not block. A byte on
 * wake_fd ends the attempt with lookup_cancelled. */
const char *dial_tcp(const struct site_bus *bus, int wake_fd, struct dial_address *last,
                     int *out_fd);

extern const char dial_taken[];

/* Takes the serial device for us alone among those who keep to locks (flock): two masters on
 * one line hear each other's answers. dial_taken if somebody has it. The lock lasts while the descriptor is open. It is not
 * made by TIOCEXCL, which outlives a killed process on a pseudo-terminal. */
const char *dial_guard(const char *device, int *out_fd);

#endif
