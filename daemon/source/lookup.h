/* lookup.h - finds the addresses of a host without holding up who asks.
 *
 * getaddrinfo cannot be interrupted and may take half a minute while a name server is away. A
 * name is therefore looked up by a thread of its own, which is left behind if it takes longer
 * than the asker waits; it then ends by itself and cleans up. Addresses in digits need none.
 *
 * Errors: NULL if it went well, else a phrase for the log.
 */
#ifndef SOURCE_LOOKUP_H
#define SOURCE_LOOKUP_H

#include <netdb.h>

extern const char lookup_cancelled[];

/* Stream addresses of host:port, to be freed by freeaddrinfo. A byte on wake_fd ends the wait with
 * lookup_cancelled, which is told by its address. */
const char *lookup_host(const char *host, const char *port, int timeout_ms, int wake_fd,
                        struct addrinfo **out);

#endif
