/* pages.h - the embedded page files. */
#ifndef HTTP_PAGES_H
#define HTTP_PAGES_H

#include <stdbool.h>

#include "http/reply.h"
#include "http/request.h"

/* True if a page or one of its files is served under this path. */
bool pages_have(const char *path);

/* The file under a path that pages_have said yes to. */
void pages_get(const struct request *request, struct reply *reply);

/* True if an Accept-Encoding header (NULL: none was sent) allows gzip (RFC 9110, 12.5.3). */
bool pages_accept_gzip(const char *accept);

/* True if an If-None-Match header names the tag or any ("*"); weak comparison. */
bool pages_etag_matches(const char *if_none_match, const char *etag);

#endif
