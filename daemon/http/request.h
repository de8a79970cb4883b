/* request.h - what a handler needs to know of a request. */
#ifndef HTTP_REQUEST_H
#define HTTP_REQUEST_H

#include "http/query.h"

enum {
    REQUEST_ID_MOST = 64,
    REQUEST_TARGET_MOST = 2048,
    REQUEST_BODY_MOST = 16 * 1024
};

struct request {
    const char *path;             /* as sent, up to the question mark; borrowed */
    char id[REQUEST_ID_MOST + 1]; /* what stood for {id} in the route, unescaped */
    struct query query;           /* owned by whoever made the request */
    const char *accept_encoding;  /* headers, borrowed; NULL if not sent */
    const char *if_none_match;
};

#endif
