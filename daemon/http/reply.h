/* reply.h - an answer in the making: status, headers, body.
 *
 * Errors: memory that runs out while a body is built makes the answer a 500.
 * Owner:  reply_free releases the body; a zeroed struct is an empty answer.
 */
#ifndef HTTP_REPLY_H
#define HTTP_REPLY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/buf.h"
#include "base/json.h"
#include "base/rc.h"

struct reply {
    int status;
    struct buf body;   /* owned */
    const void *fixed; /* borrowed; sent instead of the body if not NULL */
    size_t fixed_len;
    bool stream; /* the event stream follows, no body */

    /* Headers, each borrowed for ever; NULL or 0: not sent. */
    const char *type;
    const char *cache;
    const char *encoding;
    const char *etag;
    const char *allow;
    int retry_after_s;
};

void reply_free(struct reply *reply);

/* 200 with a JSON value, whose reference is taken (NULL: memory ran out). */
void reply_json(struct reply *reply, json_t *value);

/* 200 with a text that was built in reply->body. */
void reply_text(struct reply *reply, const char *type);

/* Problem details (RFC 9457) instead of whatever was begun. */
void reply_problem(struct reply *reply, int status, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* The problem that a code from the store or the recorder means to a client. */
void reply_rc(struct reply *reply, enum rc rc);

/* "Not Found" and so on, for the statuses used here. */
const char *reply_phrase(int status);

#endif
