/* What every request meets, whatever it asks for: names, methods, headers, sizes. */
#include "support/http_fixture.h"

#include "base/json.h"

static void gives(const struct fixture *f, const char *method, const char *path,
                  const char *headers, int status)
{
    struct client_answer a = client_ask(f->port, method, path, headers);
    if (a.status != status)
        print_error("%s %s: %d, not %d\n", method, path, a.status, status);
    assert_int_equal(a.status, status);
    client_answer_free(&a);
}

static void has_header(const struct client_answer *a, const char *name, const char *want)
{
    char value[512];
    client_header(a, name, value, sizeof value);
    assert_string_equal(value, want);
}

static void what_is_asked_for_wrongly_gets_the_status_that_says_so(void **state)
{
    const struct fixture *f = *state;
    static const struct {
        const char *method, *path, *headers;
        int status;
    } rows[] = {
        {"GET", "/api/v1/studio", "", 200},
        {"HEAD", "/api/v1/studio", "", 200},
        {"GET", "/api/v1/zones", "", 200},
        {"GET", "/api/v1/zones/drying-room", "", 200},
        {"GET", "/api/v1/zones/drying%2Droom", "", 200},
        {"GET", "/api/v1/zones/attic", "", 404},
        {"GET", "/api/v1/zones/%00", "", 404},
        {"GET", "/api/v1/zones/%zz", "", 404},
        {"GET", "/api/v1/zones/", "", 404},
        {"GET", "/api/v1/", "", 404},
        {"GET", "/api/v2/zones", "", 404},
        {"GET", "/../etc/passwd", "", 404},
        {"GET", "/", "Accept-Encoding: gzip\r\n", 200},
        {"GET", "/zone/attic", "", 200},
        {"GET", "/zone/attic/cellar", "", 404},
        {"GET", "/index.html?from=mail", "", 200},
        {"POST", "/api/v1/zones", "", 405},
        {"DELETE", "/api/v1/alarms/1/history", "", 405},
        {"POST", "/", "", 405},
        {"POST", "/nothing", "", 404},
        {"OPTIONS", "/metrics", "", 405},
        {"GET", "/metrics", "", 200},
        {"GET", "/healthz", "", 200},
        {"GET", "/api/v1/zones?x=1", "", 400},
        {"GET", "/api/v1/zones?x", "", 400},
        {"GET", "/api/v1/zones?", "", 200},
        {"GET", "/api/v1/zones", "Content-Length: 17000\r\n", 413},
        {"GET", "/api/v1/zones", "Content-Length: 99999999999999999999\r\n", 413},
        {"POST", "/api/v1/zones", "Transfer-Encoding: chunked\r\n", 411},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        gives(f, rows[i].method, rows[i].path, rows[i].headers, rows[i].status);
}

static void only_our_own_names_are_answered(void **state)
{
    const struct fixture *f = *state;
    static const struct {
        const char *lines;
        int status;
    } rows[] = {
        {"Host: localhost\r\n", 200},
        {"Host: LocalHost:8620\r\n", 200},
        {"Host: 127.0.0.1:1\r\n", 200},
        {"Host: [::1]:8620\r\n", 200},
        {"Host: studio.example\r\n", 200},
        {"Host: evil.example\r\n", 421},
        {"Host: localhost.evil.example\r\n", 421},
        {"Host: 127.0.0.1.evil.example:8620\r\n", 421},
        {"Host: localhost:8620:1\r\n", 421},
        {"Host: localhost:\r\n", 421},
        {"Host: [::1\r\n", 421},
        {"Host: \r\n", 421},
        {"Host: localhost\r\nHost: evil.example\r\n", 400},
        {"", 400},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char request[256];
        snprintf(request, sizeof request, "GET /api/v1/studio HTTP/1.1\r\n%s\r\n",
                 rows[i].lines);
        struct client_answer a = client_raw(f->port, request);
        if (a.status != rows[i].status)
            print_error("%s gives %d\n", rows[i].lines, a.status);
        assert_int_equal(a.status, rows[i].status);
        client_answer_free(&a);
    }
}

static void errors_are_problem_details(void **state)
{
    const struct fixture *f = *state;
    struct client_answer a = client_ask(f->port, "PUT", "/api/v1/zones", "");
    has_header(&a, "content-type", "application/problem+json");
    has_header(&a, "allow", "GET, HEAD");
    json_t *problem = json_loads(a.body, 0, NULL);
    assert_int_equal(json_integer_value(json_object_get(problem, "status")), 405);
    assert_string_equal(json_string_value(json_object_get(problem, "title")),
                        "Method Not Allowed");
    assert_string_equal(json_string_value(json_object_get(problem, "type")), "about:blank");
    assert_string_equal(json_string_value(json_object_get(problem, "detail")),
                        "only GET and HEAD are served here");
    json_decref(problem);
    client_answer_free(&a);

    a = client_ask(f->port, "GET", "/api/v1/alarms?stat=all", "");
    assert_non_null(strstr(a.body, "there is no parameter 'stat' here; allowed: state, from, "
                                   "to, zone"));
    client_answer_free(&a);
}

static void every_answer_carries_the_headers_that_keep_a_browser_safe(void **state)
{
    const struct fixture *f = *state;
    static const char *const paths[] = {"/", "/api/v1/zones", "/nothing", "/metrics"};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        struct client_answer a = client_ask(f->port, "GET", paths[i], "");
        has_header(&a, "content-security-policy",
                   "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' "
                   "data:; font-src 'self'; connect-src 'self'; manifest-src 'self'; base-uri "
                   "'none'; form-action 'self'; frame-ancestors 'none'");
        has_header(&a, "x-content-type-options", "nosniff");
        has_header(&a, "referrer-policy", "no-referrer");
        has_header(&a, "cross-origin-resource-policy", "same-origin");
        has_header(&a, "cache-control", i == 0 ? "no-cache" : "no-store");
        client_answer_free(&a);
    }
}

static void a_page_is_sent_once_and_then_only_checked(void **state)
{
    const struct fixture *f = *state;
    struct client_answer a = client_ask(f->port, "GET", "/", "");
    char etag[128], headers[192];
    client_header(&a, "etag", etag, sizeof etag);
    assert_true(strlen(etag) > 2);
    client_answer_free(&a);
    snprintf(headers, sizeof headers, "If-None-Match: \"other\", W/%s\r\n", etag);
    a = client_ask(f->port, "GET", "/zone/drying-room", headers);
    assert_int_equal(a.status, 304);
    assert_string_equal(a.body, "");
    client_answer_free(&a);
    gives(f, "GET", "/", "If-None-Match: \"other\"\r\n", 200);
}

static void head_tells_the_length_and_sends_nothing(void **state)
{
    const struct fixture *f = *state;
    static const char *const paths[] = {"/api/v1/openapi.json", "/", "/nothing"};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        struct client_answer get = client_ask(f->port, "GET", paths[i], "");
        char length[32];
        client_header(&get, "content-length", length, sizeof length);
        assert_true(strtol(length, NULL, 10) > 0);
        int fd = client_connect(f->port);
        char request[128];
        snprintf(request, sizeof request,
                 "HEAD %s HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n", paths[i]);
        assert_true(client_say(fd, request));
        struct client_answer head = {0};
        client_read(fd, &head, SIZE_MAX, clock_now().mono_ms + 5000);
        close(fd);
        assert_true(head.closed);
        assert_int_equal(strtol(head.text.data + 9, NULL, 10), get.status);
        has_header(&head, "content-length", length);
        const char *end = strstr(head.text.data, "\r\n\r\n");
        assert_non_null(end);
        assert_string_equal(end, "\r\n\r\n");
        client_answer_free(&head);
        client_answer_free(&get);
    }
}

static void bodies_that_nobody_needs_are_read_and_dropped(void **state)
{
    const struct fixture *f = *state;
    struct client_answer a =
        client_ask(f->port, "GET", "/healthz",
                   "Content-Length: 5\r\n\r\nhello"
                   "GET /api/v1/studio HTTP/1.1\r\nHost: localhost\r\nX-End: 1\r\n");
    assert_int_equal(a.status, 200);
    assert_non_null(strstr(a.body, "\"status\":\"ok\""));
    client_answer_free(&a);
}

static void requests_in_a_row_are_answered_in_their_order(void **state)
{
    const struct fixture *f = *state;
    int fd = client_connect(f->port);
    assert_true(client_say(fd, "GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n"
                               "GET /nothing HTTP/1.1\r\nHost: localhost\r\n\r\n"
                               "GET /api/v1/studio HTTP/1.1\r\nHost: localhost\r\n"
                               "Connection: close\r\n\r\n"));
    struct client_answer a = {0};
    client_read(fd, &a, SIZE_MAX, clock_now().mono_ms + 5000);
    close(fd);
    assert_true(a.closed);
    const char *first = strstr(a.text.data, "HTTP/1.1 200");
    const char *second = strstr(a.text.data, "HTTP/1.1 404");
    const char *third = second != NULL ? strstr(second, "HTTP/1.1 200") : NULL;
    assert_ptr_equal(first, a.text.data);
    assert_non_null(third);
    assert_non_null(strstr(third, "Harbour Lane \\\"Studio\\\""));
    client_answer_free(&a);
}

static void a_port_in_use_is_busy_and_an_address_beyond_loopback_not_allowed(void **state)
{
    const struct fixture *f = *state;
    char port[8];
    snprintf(port, sizeof port, "%u", f->port);
    static const struct {
        const char *host;
        bool same_port, proxy;
        enum rc rc;
    } rows[] = {
        {"127.0.0.1", true, false, RC_BUSY},
        {"localhost", true, false, RC_BUSY},
        {"0.0.0.0", false, false, RC_BAD_INPUT},
        {"::", false, false, RC_BAD_INPUT},
        {"192.0.2.1", false, false, RC_BAD_INPUT},
        {"studio.example", false, false, RC_BAD_INPUT},
        {"127.0.0.1", false, true, RC_BAD_INPUT},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct site site = *f->site;
        site.http_host = rows[i].host;
        site.http_port = rows[i].same_port ? port : "0";
        site.behind_proxy = rows[i].proxy;
        struct http_config config = {
            .site = &site, .live = f->live, .store_path = f->store, .version = "0.1.0"};
        struct http *http = NULL;
        assert_int_equal(http_start(&config, &http), rows[i].rc);
        assert_null(http);
    }
}

static void no_listener_is_started_where_the_site_file_wants_none(void **state)
{
    const struct fixture *f = *state;
    struct site site = *f->site;
    site.http_off = true;
    struct http_config config = {
        .site = &site, .live = f->live, .store_path = f->store, .version = "0.1.0"};
    struct http *http = NULL;
    assert_int_equal(http_start(&config, &http), RC_OK);
    assert_null(http);
    http_stop(http);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_asked_for_wrongly_gets_the_status_that_says_so),
        cmocka_unit_test(only_our_own_names_are_answered),
        cmocka_unit_test(errors_are_problem_details),
        cmocka_unit_test(every_answer_carries_the_headers_that_keep_a_browser_safe),
        cmocka_unit_test(a_page_is_sent_once_and_then_only_checked),
        cmocka_unit_test(head_tells_the_length_and_sends_nothing),
        cmocka_unit_test(bodies_that_nobody_needs_are_read_and_dropped),
        cmocka_unit_test(requests_in_a_row_are_answered_in_their_order),
        cmocka_unit_test(a_port_in_use_is_busy_and_an_address_beyond_loopback_not_allowed),
        cmocka_unit_test(no_listener_is_started_where_the_site_file_wants_none),
    };
    return cmocka_run_group_tests(tests, fixture_setup, fixture_teardown);
}
