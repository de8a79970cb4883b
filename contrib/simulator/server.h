/* server.h - the simulator's buses: a TCP port and a pseudo-terminal, each with its units.
 *
 * Errors:  RC_BAD_INPUT for an address or path that cannot be used, RC_BUSY for a port in use,
 *          RC_IO, RC_NOMEM; each logged once.
 * Owner:   server_close takes NULL; it removes the link to the pseudo-terminal.
 * Threads: none; one owner.
 */
#ifndef SIMULATOR_SERVER_H
#define SIMULATOR_SERVER_H

#include <poll.h>
#include <stddef.h>
#include <stdint.h>

#include "base/rc.h"
#include "rack.h"

enum {
    SERVER_CLIENTS_MAX = 16,
    SERVER_FDS_MAX = SERVER_CLIENTS_MAX + 2
};

struct server_cfg {
    const char *tcp; /* host:port, numeric; port 0 takes a free one. NULL: none */
    const char *rtu; /* where the link to the pseudo-terminal is made. NULL: none */
};

struct server;

MUST_USE enum rc server_open(const struct server_cfg *cfg, struct server **out);
void server_close(struct server *s);

/* The TCP port that is served; 0 if none is. */
int server_port(const struct server *s);

/* Fills the descriptors to wait for, at most SERVER_FDS_MAX, and says how many. */
size_t server_fds(const struct server *s, struct pollfd *out);

/* Serves what poll() found in the descriptors of server_fds() and sends what is due. Returns
 * when more is due, INT64_MAX if nothing waits. */
int64_t server_step(struct server *s, struct rack *rack, const struct pollfd *fds, size_t count,
                    int64_t mono_ms);

#endif
