/* fuzz_http_query.c - any bytes as the texts of a request that we take apart ourselves: query,
 * path, Host, Accept-Encoding. No crash, and nothing that is taken may be unsound. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "http/host.h"
#include "http/pages.h"
#include "http/query.h"
#include "http/request.h"
#include "http/routes.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool holds, const char *what)
{
    if (holds)
        return;
    (void)fprintf(stderr, "does not hold: %s\n", what);
    abort();
}

static void check_text(const char *text)
{
    for (const char *c = text; *c != '\0'; c++)
        must((unsigned char)*c >= 0x20 && *c != 0x7f, "no control characters");
    json_t *string = json_string(text);
    must(string != NULL, "text is UTF-8");
    json_decref(string);
}

static void check_query(const char *text)
{
    struct query q;
    enum rc rc = query_parse(text, &q);
    must(rc == RC_OK || rc == RC_BAD_INPUT, "taken or refused");
    if (rc != RC_OK)
        return;
    must(q.count <= QUERY_ITEMS_MOST, "few enough");
    for (size_t i = 0; i < q.count; i++) {
        check_text(q.items[i].name);
        check_text(q.items[i].value);
        must(query_get(&q, q.items[i].name) == q.items[i].value, "each name once");
    }
    query_free(&q);
}

static void check_values(const char *text)
{
    int64_t t = -1, n = 0;
    if (query_time(text, &t))
        must(t >= 0 && t < 253402300800, "from 1970 to 9999");
    if (query_int(text, 2, 4000, &n))
        must(n >= 2 && n <= 4000, "within bounds");
}

static void check_path(const char *text)
{
    char id[REQUEST_ID_MOST + 1] = "";
    bool known = false;
    const struct route *route = routes_find("GET", text, id, sizeof id, &known);
    if (route == NULL)
        return;
    must(text[0] == '/' && !known, "a route is a path");
    check_text(id);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const names[] = {"studio.example", NULL};
    char *text = malloc(size + 1);
    if (text == NULL)
        return 0;
    memcpy(text, data, size);
    text[size] = '\0';
    check_query(text);
    check_values(text);
    check_path(text);
    if (host_is_ours(text, "127.0.0.1", names))
        must(strpbrk(text, "/@ \t%") == NULL, "a name of ours has no room for another");
    (void)pages_accept_gzip(text);
    (void)pages_etag_matches(text, "\"etag\"");
    free(text);
    return 0;
}
