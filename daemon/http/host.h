/* host.h - is this request meant for us? Another name in Host is a page elsewhere that lets a
 * browser ask us under its own name (DNS rebinding).
 */
#ifndef HTTP_HOST_H
#define HTTP_HOST_H

#include <stdbool.h>

/* Ours are the listen address, localhost, 127.0.0.1, [::1] and the names in `names`
 * (NULL-ended, may be NULL); any port, since a tunnel may have given us another. */
bool host_is_ours(const char *host, const char *listen_host, const char *const *names);

#endif
