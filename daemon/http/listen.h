/* listen.h - the socket that clients come to.
 *
 * Errors: RC_BAD_INPUT for an address that is not this machine's own loopback, RC_BUSY for a
 *         port in use, RC_IO else; each logged in one line.
 */
#ifndef HTTP_LISTEN_H
#define HTTP_LISTEN_H

#include <stdint.h>

#include "base/rc.h"

/* Host is a numeric address (an IPv6 one with or without brackets) or "localhost". Port "0"
 * takes any free one; the one taken is written to *out_port. The caller owns the descriptor. */
MUST_USE enum rc listen_open(const char *host, const char *port, int *out_fd,
                             uint16_t *out_port);

/* Takes -1. */
void listen_close(int fd);

#endif
