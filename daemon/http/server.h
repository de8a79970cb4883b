/* server.h - pages, interface and event streams over HTTP, for this machine's own browsers.
 *
 * Errors:  RC_BAD_INPUT for an address beyond loopback or a site behind a proxy, which this
 *          version does not serve; RC_BUSY for a port in use; RC_IO and RC_NOMEM else. Each is
 *          logged in one line.
 * Threads: start and stop from main. Signals must be blocked before the start: the threads
 *          made here inherit the mask.
 */
#ifndef HTTP_SERVER_H
#define HTTP_SERVER_H

#include <stdint.h>

#include "base/rc.h"

struct site;
struct live;
struct http;

struct http_config {
    const struct site *site; /* borrowed; outlives the server, as live does */
    struct live *live;
    const char *store_path; /* copied, as the version is */
    const char *version;
};

/* With `listen = none` in the site file *out is NULL, which the other functions take. */
MUST_USE enum rc http_start(const struct http_config *config, struct http **out);

/* Ends every connection and joins all threads, in well under a second. Wakes all who wait on
 * `live` for good (live_stop), since the event streams do. Takes NULL. */
void http_stop(struct http *http);

/* The port listened on, where the site file left the choice to the system; 0 for NULL. */
uint16_t http_port(const struct http *http);

#endif
