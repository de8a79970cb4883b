/* query.h - the part of a request's target behind the question mark, taken strictly.
 *
 * A plus sign is a plus sign (RFC 3986), so that 2026-11-25T02:10+01:00 may be sent as it is.
 * Errors:  RC_BAD_INPUT for anything malformed; `query_rules` says what is allowed.
 * Owner:   query_free releases the texts; a zeroed struct is an empty query.
 */
#ifndef HTTP_QUERY_H
#define HTTP_QUERY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/rc.h"

enum {
    QUERY_ITEMS_MOST = 16
};

struct query_item {
    const char *name, *value;
};

struct query {
    char *text; /* owned; the items point into it */
    size_t count;
    struct query_item items[QUERY_ITEMS_MOST];
};

/* For people whose query was refused. */
extern const char query_rules[];

/* Parses "a=1&b=2" with %XX escapes; each name once, UTF-8 without control characters. NULL
 * and "" are an empty query. */
MUST_USE enum rc query_parse(const char *raw, struct query *out);
void query_free(struct query *query);

/* The value of a name; NULL if it was not given. */
const char *query_get(const struct query *query, const char *name);

/* Undoes %XX escapes of the first `len` bytes into out (room for size bytes, NUL included);
 * false for a bad escape, a control character, text that is no UTF-8 or too long. */
bool query_unescape(const char *raw, size_t len, char *out, size_t size);

/* A moment as UTC seconds or ISO 8601, from 1970 to 9999. */
bool query_time(const char *text, int64_t *out_utc_s);

bool query_int(const char *text, int64_t least, int64_t most, int64_t *out);

#endif
