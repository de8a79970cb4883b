/* openapi.c - see openapi.h. */
#include "http/openapi.h"

#include <string.h>

#include "base/json.h"
#include "base/log.h"
#include "http/handlers.h"
#include "http/routes.h"
#include "http/schemas.h"

/* Parses JSON that is written with ' for ". NULL if memory ran out (or a text of ours is
 * wrong, which the tests find). */
static json_t *quoted(const char *text)
{
    struct buf b = {0};
    buf_str(&b, text);
    if (b.failed)
        return NULL;
    for (size_t i = 0; i < b.len; i++)
        if (b.data[i] == '\'')
            b.data[i] = '"';
    json_error_t error;
    json_t *value = json_loads(b.data, JSON_DECODE_ANY, &error);
    if (value == NULL)
        log_err("the interface's description: %s at character %d of %s", error.text,
                error.position, b.data);
    buf_free(&b);
    return value;
}

static json_t *parameters(const struct route *route)
{
    json_t *list = json_array();
    if (strstr(route->pattern, "{id}") != NULL)
        json_array_append_new(list,
                              json_pack("{s:s, s:s, s:b, s:o}", "name", "id", "in", "path",
                                        "required", 1, "schema", quoted("{'type':'string'}")));
    for (const struct route_parameter *p = route->parameters; p->name != NULL; p++)
        json_array_append_new(list,
                              json_pack("{s:s, s:s, s:b, s:s, s:o}", "name", p->name, "in",
                                        "query", "required", (int)p->required, "description",
                                        p->summary, "schema", quoted(p->schema)));
    return list;
}

static json_t *reference(const char *schema)
{
    return json_pack("{s:s+}", "$ref", "#/components/schemas/", schema);
}

static json_t *operation(const struct route *route)
{
    json_t *schema =
        route->schema != NULL ? reference(route->schema) : quoted("{'type':'string'}");
    json_t *done = json_pack("{s:s, s:{s:{s:o}}}", "description", "Done.", "content",
                             route->type, "schema", schema);
    json_t *problem =
        json_pack("{s:s, s:{s:{s:o}}}", "description", "What went wrong.", "content",
                  "application/problem+json", "schema", reference("Problem"));
    json_t *responses = json_pack("{s:o, s:o}", "200", done, "default", problem);
    if (strcmp(route->operation, "health") == 0)
        json_object_set_new(responses, "503",
                            json_pack("{s:s, s:{s:{s:o}}}", "description",
                                      "Readings are not recorded.", "content", route->type,
                                      "schema", reference(route->schema)));
    return json_pack("{s:s, s:s, s:o, s:o}", "operationId", route->operation, "summary",
                     route->summary, "parameters", parameters(route), "responses", responses);
}

static json_t *paths(void)
{
    json_t *all = json_object();
    for (size_t i = 0; i < routes_count; i++) {
        const struct route *route = &routes_table[i];
        char method[8] = "";
        for (size_t c = 0; route->method[c] != '\0' && c + 1 < sizeof method; c++)
            method[c] = (char)(route->method[c] | 0x20);
        json_t *path = json_object_get(all, route->pattern);
        if (path == NULL) {
            path = json_object();
            json_object_set_new(all, route->pattern, path);
        }
        json_object_set_new(path, method, operation(route));
    }
    return all;
}

static json_t *components(void)
{
    json_t *all = json_object();
    for (size_t i = 0; i < schemas_count; i++)
        json_object_set_new(all, schemas_table[i].name, quoted(schemas_table[i].text));
    return json_pack("{s:o}", "schemas", all);
}

enum rc openapi_write(const char *version, struct buf *out)
{
    json_t *info =
        json_pack("{s:s, s:s, s:s}", "title", "Stillroom", "version", version, "description",
                  "What a studio's air is and was. Times are UTC seconds, values "
                  "are in the unit of their quantity. Figures of risk are "
                  "calculated; the conservator decides.");
    json_t *document = json_pack("{s:s, s:o, s:o, s:o}", "openapi", "3.1.0", "info", info,
                                 "paths", paths(), "components", components());
    if (document == NULL)
        return RC_NOMEM;
    json_put(out, document);
    json_decref(document);
    return out->failed ? RC_NOMEM : RC_OK;
}

void openapi_get(struct context *context, const struct request *request, struct reply *reply)
{
    (void)request;
    reply_text(reply, "application/json");
    reply->fixed = context->openapi.data;
    reply->fixed_len = context->openapi.len;
}
