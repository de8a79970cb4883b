/* reply.c - see reply.h. */
#include "http/reply.h"

#include <stdarg.h>
#include <stdio.h>

enum {
    RETRY_AFTER_S = 2
};

void reply_free(struct reply *reply)
{
    buf_free(&reply->body);
    *reply = (struct reply){0};
}

const char *reply_phrase(int status)
{
    static const struct {
        int status;
        const char *phrase;
    } rows[] = {
        {200, "OK"},
        {304, "Not Modified"},
        {400, "Bad Request"},
        {404, "Not Found"},
        {405, "Method Not Allowed"},
        {406, "Not Acceptable"},
        {411, "Length Required"},
        {413, "Content Too Large"},
        {414, "URI Too Long"},
        {421, "Misdirected Request"},
        {500, "Internal Server Error"},
        {503, "Service Unavailable"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (rows[i].status == status)
            return rows[i].phrase;
    return "Error";
}

void reply_problem(struct reply *reply, int status, const char *format, ...)
{
    char detail[512];
    va_list args;
    va_start(args, format);
    int n = vsnprintf(detail, sizeof detail, format, args);
    va_end(args);

    reply_free(reply);
    json_t *problem =
        json_pack("{s:s, s:s, s:i, s:s}", "type", "about:blank", "title", reply_phrase(status),
                  "status", status, "detail", n > 0 ? detail : "");
    if (problem == NULL) /* the detail was cut inside a character, or no memory */
        problem = json_pack("{s:s, s:s, s:i}", "type", "about:blank", "title",
                            reply_phrase(status), "status", status);
    if (problem != NULL)
        json_put(&reply->body, problem);
    json_decref(problem);
    if (reply->body.failed)
        buf_clear(&reply->body);
    reply->status = status;
    reply->type = "application/problem+json";
    reply->cache = "no-store";
    reply->retry_after_s = status == 503 ? RETRY_AFTER_S : 0;
}

void reply_text(struct reply *reply, const char *type)
{
    if (reply->body.failed) {
        reply_problem(reply, 500, "out of memory");
        return;
    }
    reply->status = 200;
    reply->type = type;
    reply->cache = "no-store";
}

void reply_json(struct reply *reply, json_t *value)
{
    if (value == NULL)
        reply->body.failed = true;
    else
        json_put(&reply->body, value);
    json_decref(value);
    reply_text(reply, "application/json");
}

void reply_rc(struct reply *reply, enum rc rc)
{
    switch (rc) {
    case RC_NOT_FOUND:
        reply_problem(reply, 404, "not found");
        return;
    case RC_BAD_INPUT:
        reply_problem(reply, 400, "not allowed");
        return;
    case RC_TIMEOUT:
    case RC_BUSY:
        reply_problem(reply, 503,
                      "the store took too long to answer; try again, or ask for a "
                      "shorter span");
        return;
    case RC_OK:
    case RC_NOMEM:
    case RC_CONFLICT:
    case RC_FULL:
    case RC_READ_ONLY:
    case RC_CORRUPT:
    case RC_NEWER:
    case RC_CLOSED:
    case RC_IO:
        break;
    }
    reply_problem(reply, 500, "the store could not be read: %s", rc_text(rc));
}
