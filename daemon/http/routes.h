/* routes.h - the one table of what is served under which path, with its description.
 *
 * The OpenAPI document is made from the same rows, so neither can say what the other does not.
 */
#ifndef HTTP_ROUTES_H
#define HTTP_ROUTES_H

#include <stdbool.h>
#include <stddef.h>

struct context;
struct request;
struct reply;

struct route_parameter {
    const char *name;
    const char *schema; /* JSON Schema with ' for " */
    const char *summary;
    bool required;
};

struct route {
    const char *method;  /* "GET"; answers HEAD too */
    const char *pattern; /* segments; {id} stands for any one */
    void (*handle)(struct context *context, const struct request *request, struct reply *reply);
    const char *operation; /* name of the operation in the document */
    const char *summary;
    const char *type;   /* of the answer */
    const char *schema; /* its name among the document's schemas; NULL for plain text */
    const struct route_parameter *parameters; /* of the query; ended by a NULL name */
};

extern const struct route routes_table[];
extern const size_t routes_count;

/* The route of a method and a path as sent. NULL if there is none; *out_known then says
 * whether the path is served by another method. The id is written where the pattern has one:
 * `id_size` bytes at `id`. A path whose id is malformed is not found. */
const struct route *routes_find(const char *method, const char *path, char *id, size_t id_size,
                                bool *out_known);

#endif
