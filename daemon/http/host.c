/* host.c - see host.h. */
#include "http/host.h"

#include <stddef.h>
#include <string.h>
#include <strings.h>

/* The length of the name in "name", "name:port", "[address]:port"; 0 if it is none of them. */
static size_t name_len(const char *host)
{
    size_t len = strcspn(host, ":");
    if (host[0] == '[') {
        const char *end = strchr(host, ']');
        if (end == NULL)
            return 0;
        len = (size_t)(end - host) + 1;
    }
    const char *rest = host + len;
    if (*rest == '\0')
        return len;
    size_t digits = *rest == ':' ? strspn(rest + 1, "0123456789") : 0;
    return digits >= 1 && digits <= 5 && rest[1 + digits] == '\0' ? len : 0;
}

static bool same(const char *host, size_t len, const char *name)
{
    return strlen(name) == len && strncasecmp(host, name, len) == 0;
}

bool host_is_ours(const char *host, const char *listen_host, const char *const *names)
{
    static const char *const local[] = {"localhost", "127.0.0.1", "[::1]"};
    size_t len = name_len(host);
    if (len == 0)
        return false;
    for (size_t i = 0; i < sizeof local / sizeof *local; i++)
        if (same(host, len, local[i]))
            return true;
    for (size_t i = 0; names != NULL && names[i] != NULL; i++)
        if (same(host, len, names[i]))
            return true;
    bool bracketed = host[0] == '[';
    return same(host, len, listen_host) ||
           (bracketed && len > 2 && same(host + 1, len - 2, listen_host));
}
