/* The table of routes and the OpenAPI document that is made from it. The paths below are the
 * published interface, spelled out here once more on purpose. */
#include "support/near.h"

#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "http/openapi.h"
#include "http/pages.h"
#include "http/routes.h"
#include "support/fake_live.h" /* the handlers in the table want one */

static const char *const served[] = {
    "/api/v1/studio",
    "/api/v1/zones",
    "/api/v1/zones/{id}",
    "/api/v1/zones/{id}/series",
    "/api/v1/alarms",
    "/api/v1/alarms/{id}/history",
    "/api/v1/instruments",
    "/api/v1/events",
    "/api/v1/openapi.json",
    "/metrics",
    "/healthz",
};

static void a_path_finds_its_route_and_its_id(void **state)
{
    (void)state;
    static const struct {
        const char *method, *path, *operation, *id; /* NULL: not found */
        bool known;
    } rows[] = {
        {"GET", "/api/v1/zones", "zones", "", false},
        {"HEAD", "/api/v1/zones", "zones", "", false},
        {"GET", "/api/v1/zones/store-2", "zone", "store-2", false},
        {"GET", "/api/v1/zones/store%2d2/series", "series", "store-2", false},
        {"GET", "/api/v1/alarms/17/history", "alarm_history", "17", false},
        {"PUT", "/api/v1/alarms/17/history", NULL, NULL, true},
        {"get", "/api/v1/zones", NULL, NULL, true},
        {"GET", "/api/v1/zones/", NULL, NULL, false},
        {"GET", "/api/v1/zones//series", NULL, NULL, false},
        {"GET", "/api/v1/zones/a/b/series", NULL, NULL, false},
        {"GET", "/api/v1/zones/a/series/", NULL, NULL, false},
        {"GET", "/api/v1/zones/%2", NULL, NULL, false},
        {"GET",
         "/api/v1/zones/0123456789012345678901234567890123456789012345678901234567890123"
         "456789",
         NULL, NULL, false},
        {"GET", "//api/v1/zones", NULL, NULL, false},
        {"GET", "api/v1/zones", NULL, NULL, false},
        {"GET", "/", NULL, NULL, false},
        {"GET", "", NULL, NULL, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char id[65] = "";
        bool known = false;
        const struct route *route =
            routes_find(rows[i].method, rows[i].path, id, sizeof id, &known);
        if ((route != NULL) != (rows[i].operation != NULL) || known != rows[i].known)
            print_error("%s %s\n", rows[i].method, rows[i].path);
        assert_int_equal(known, rows[i].known);
        if (rows[i].operation == NULL) {
            assert_null(route);
            continue;
        }
        assert_non_null(route);
        assert_string_equal(route->operation, rows[i].operation);
        assert_string_equal(id, rows[i].id);
    }
}

static json_t *document(void)
{
    struct buf text = {0};
    assert_int_equal(openapi_write("0.1.0", &text), RC_OK);
    json_t *d = json_loadb(text.data, text.len, 0, NULL);
    assert_non_null(d);
    buf_free(&text);
    return d;
}

static void the_document_and_the_routes_name_the_same_paths(void **state)
{
    (void)state;
    json_t *d = document();
    assert_string_equal(json_string_value(json_object_get(d, "openapi")), "3.1.0");
    json_t *paths = json_object_get(d, "paths");
    assert_int_equal(json_object_size(paths), sizeof served / sizeof *served);
    assert_int_equal(routes_count, sizeof served / sizeof *served);
    for (size_t i = 0; i < routes_count; i++) {
        json_t *path = json_object_get(paths, served[i]);
        json_t *get = json_object_get(path, "get");
        assert_non_null(get);
        assert_int_equal(json_object_size(path), 1);
        char id[65];
        bool known;
        const struct route *route = routes_find("GET", served[i], id, sizeof id, &known);
        assert_non_null(route);
        assert_string_equal(json_string_value(json_object_get(get, "operationId")),
                            route->operation);
        size_t wanted = strstr(served[i], "{id}") != NULL;
        for (const struct route_parameter *p = route->parameters; p->name != NULL; p++)
            wanted++;
        assert_int_equal(json_array_size(json_object_get(get, "parameters")), wanted);
    }
    json_decref(d);
}

/* Every "$ref" below a value must lead to a schema of the document. */
static size_t check_references(json_t *value, json_t *schemas)
{
    static const char to[] = "#/components/schemas/";
    size_t count = 0, index;
    const char *key;
    json_t *inner;
    if (json_is_array(value))
        json_array_foreach(value, index, inner) count += check_references(inner, schemas);
    json_object_foreach(value, key, inner)
    {
        count += check_references(inner, schemas);
        if (strcmp(key, "$ref") != 0)
            continue;
        const char *name = json_string_value(inner);
        assert_int_equal(strncmp(name, to, sizeof to - 1), 0);
        if (json_object_get(schemas, name + sizeof to - 1) == NULL)
            print_error("no schema %s\n", name);
        assert_non_null(json_object_get(schemas, name + sizeof to - 1));
        count++;
    }
    return count;
}

static void every_schema_is_there_and_sound(void **state)
{
    (void)state;
    json_t *d = document();
    json_t *schemas = json_object_get(json_object_get(d, "components"), "schemas");
    const char *name;
    json_t *schema;
    json_object_foreach(schemas, name, schema)
    {
        if (!json_is_object(schema))
            print_error("schema %s did not parse\n", name);
        assert_true(json_is_object(schema));
    }
    assert_true(check_references(d, schemas) > 40);
    json_decref(d);
}

static void gzip_is_sent_unless_it_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *header;
        bool accepted;
    } rows[] = {
        {NULL, true},
        {"gzip", true},
        {"gzip, deflate, br", true},
        {"br;q=1, GZIP;q=0.5", true},
        {"*", true},
        {"", false},
        {"identity", false},
        {"gzip;q=0", false},
        {"gzip;q=0.000, *", false},
        {"*;q=0", false},
        {"deflate, *;q=0.1", true},
        {"xgzip", false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_int_equal(pages_accept_gzip(rows[i].header), rows[i].accepted);
}

static void a_tag_is_known_by_its_whole_text(void **state)
{
    (void)state;
    assert_true(pages_etag_matches("\"abc\"", "\"abc\""));
    assert_true(pages_etag_matches(" W/\"abc\"", "\"abc\""));
    assert_true(pages_etag_matches("\"x\", \"abc\"", "\"abc\""));
    assert_true(pages_etag_matches("*", "\"abc\""));
    assert_false(pages_etag_matches("\"abcd\"", "\"abc\""));
    assert_false(pages_etag_matches("abc", "\"abc\""));
    assert_false(pages_etag_matches(NULL, "\"abc\""));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_path_finds_its_route_and_its_id),
        cmocka_unit_test(the_document_and_the_routes_name_the_same_paths),
        cmocka_unit_test(every_schema_is_there_and_sound),
        cmocka_unit_test(gzip_is_sent_unless_it_is_refused),
        cmocka_unit_test(a_tag_is_known_by_its_whole_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
