/* Slow, greedy, broken and hostile clients: the honest one is served all the while, and the
 * server stops in time with all of them on the line. Loopback only, bounded in count and time.
 */
#include "support/http_fixture.h"

#include <dirent.h>

enum {
    DRIPPERS = 200,
    SLOW_READERS = 80,
    STREAMS_TRIED = 45,
    STREAMS_SERVED = 40,
    FLOOD = 3000,
    FLOOD_AT_ONCE = 500,
    HONEST_MS = 8000, /* milliseconds are usual; who is shut out waits ten seconds or more */
    STOP_MS = 2000
};

static int descriptors(void)
{
    int count = 0;
    DIR *dir = opendir("/proc/self/fd");
    assert_non_null(dir);
    while (readdir(dir) != NULL)
        count++;
    closedir(dir);
    return count;
}

/* How long an honest request took; fails the test if it was not served. */
static int64_t honest(const struct fixture *f)
{
    int64_t before_ms = clock_now().mono_ms;
    struct client_answer a = client_ask(f->port, "GET", "/api/v1/zones", "");
    int64_t took_ms = clock_now().mono_ms - before_ms;
    if (a.status != 200)
        print_error("an honest client got %d after %lld ms\n", a.status, (long long)took_ms);
    assert_int_equal(a.status, 200);
    client_answer_free(&a);
    return took_ms;
}

/* True once the other side has closed. */
static bool is_closed(int fd)
{
    char c;
    ssize_t n = recv(fd, &c, 1, MSG_DONTWAIT | MSG_PEEK);
    return n == 0 || (n < 0 && errno != EAGAIN && errno != EWOULDBLOCK);
}

static void close_all(int *fds, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (fds[i] >= 0)
            close(fds[i]);
}

static void stops_in_time(struct fixture *f)
{
    int64_t before_ms = clock_now().mono_ms;
    http_stop(f->http);
    int64_t took_ms = clock_now().mono_ms - before_ms;
    f->http = NULL;
    print_message("stopped in %lld ms\n", (long long)took_ms);
    assert_true(took_ms < STOP_MS);
}

static void a_client_that_drips_its_headers_is_shut_after_ten_seconds(void **state)
{
    (void)state;
    struct fixture f;
    fixture_open(&f);
    int fd = client_connect(f.port), idle = client_connect(f.port);
    int64_t start_ms = clock_now().mono_ms;
    int64_t shut_ms = 0;
    assert_true(client_say(fd, "GET / HTTP/1.1\r\nX-Slow: "));
    while (shut_ms == 0 && clock_now().mono_ms - start_ms < 15000) {
        clock_sleep_ms(100);
        client_say(fd, "a");
        if (is_closed(fd))
            shut_ms = clock_now().mono_ms - start_ms;
    }
    print_message("shut after %lld ms\n", (long long)shut_ms);
    assert_in_range(shut_ms, 9900, 11500);
    for (int i = 0; i < 20 && !is_closed(idle); i++)
        clock_sleep_ms(100);
    assert_true(is_closed(idle)); /* so is one that says nothing */
    close(fd);
    close(idle);
    fixture_close(&f);
}

static void two_hundred_dripping_clients_do_not_shut_others_out(void **state)
{
    (void)state;
    struct fixture f;
    fixture_open(&f);
    int fds[DRIPPERS];
    int64_t worst_ms = 0, until_ms = clock_now().mono_ms + 12000;
    for (int i = 0; i < DRIPPERS; i++)
        fds[i] = -1;
    int rounds = 0, shut = 0;
    for (; clock_now().mono_ms < until_ms; rounds++) {
        for (int i = 0; i < DRIPPERS; i++) {
            if (fds[i] >= 0 && (!client_say(fds[i], "x") || is_closed(fds[i]))) {
                close(fds[i]);
                fds[i] = -1;
                shut++;
            }
            if (fds[i] < 0) {
                fds[i] = client_connect(f.port);
                assert_true(fds[i] >= 0);
                client_say(fds[i], "GET / HTTP/1.1\r\nX-Drip: ");
            }
        }
        for (int i = 0; i < 4; i++) {
            int64_t took_ms = honest(&f);
            worst_ms = took_ms > worst_ms ? took_ms : worst_ms;
            clock_sleep_ms(200);
        }
    }
    print_message("%d rounds, %d drippers shut, honest clients waited at most %lld ms\n",
                  rounds, shut, (long long)worst_ms);
    assert_true(shut >= DRIPPERS);
    assert_true(worst_ms < HONEST_MS);
    stops_in_time(&f);
    close_all(fds, DRIPPERS);
    fixture_close(&f);
}

static void thousands_of_connections_leave_the_server_as_it_was(void **state)
{
    (void)state;
    struct fixture f;
    fixture_open(&f);
    honest(&f);
    int fds[FLOOD_AT_ONCE];
    int64_t worst_ms = 0;
    for (int done = 0; done < FLOOD; done += FLOOD_AT_ONCE) {
        for (int i = 0; i < FLOOD_AT_ONCE; i++) {
            fds[i] = client_connect(f.port);
            if (fds[i] >= 0 && i % 3 == 0)
                client_say(fds[i], "GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n");
            if (i % 100 == 0) {
                int64_t took_ms = honest(&f);
                worst_ms = took_ms > worst_ms ? took_ms : worst_ms;
            }
        }
        close_all(fds, FLOOD_AT_ONCE);
    }
    print_message("honest clients waited at most %lld ms\n", (long long)worst_ms);
    assert_true(worst_ms < HONEST_MS);
    clock_sleep_ms(500);
    struct client_answer a = client_ask(f.port, "GET", "/metrics", "");
    const char *open = strstr(a.body, "\nstillroom_http_connections ");
    assert_non_null(open);
    assert_in_range(strtol(open + 28, NULL, 10), 1, 5);
    client_answer_free(&a);
    fixture_close(&f);
}

/* Asks for far more than the sockets can hold and takes nothing of it. */
static int slow_reader(const struct fixture *f)
{
    int fd = client_connect(f->port);
    assert_true(fd >= 0);
    int small = 4096;
    setsockopt(fd, SOL_SOCKET, SO_RCVBUF, &small, sizeof small);
    static const char request[] = "GET /api/v1/zones/drying-room/series?quantity=humidity&from="
                                  "1795608000&to=1795728000&points=4000 HTTP/1.1\r\n"
                                  "Host: localhost\r\n\r\n";
    for (int i = 0; i < 3; i++)
        if (send(fd, request, sizeof request - 1, MSG_DONTWAIT | MSG_NOSIGNAL) < 0)
            break;
    return fd;
}

static void readers_that_take_nothing_give_way_when_connections_run_short(void **state)
{
    (void)state;
    struct fixture f;
    fixture_open(&f);
    fake_live_lock(f.live);
    f.live->reading_count = 4000;
    f.live->reading_from_s = FIXTURE_NOW_S;
    f.live->reading_every_s = 30;
    fake_live_publish(f.live);
    int fds[SLOW_READERS];
    for (int i = 0; i < SLOW_READERS; i++)
        fds[i] = slow_reader(&f);
    int64_t worst_ms = 0, until_ms = clock_now().mono_ms + 8000;
    while (clock_now().mono_ms < until_ms) {
        int64_t took_ms = honest(&f);
        worst_ms = took_ms > worst_ms ? took_ms : worst_ms;
        clock_sleep_ms(100);
    }
    print_message("honest clients waited at most %lld ms\n", (long long)worst_ms);
    assert_true(worst_ms < HONEST_MS);
    struct client_answer a = client_ask(f.port, "GET", "/metrics", "");
    const char *shut = strstr(a.body, "\nstillroom_http_shut_connections_total ");
    assert_non_null(shut);
    assert_true(strtol(shut + 39, NULL, 10) > 0); /* else nobody was slow */
    client_answer_free(&a);
    stops_in_time(&f);
    close_all(fds, SLOW_READERS);
    fixture_close(&f);
}

static void what_is_too_large_is_refused_by_its_own_status(void **state)
{
    (void)state;
    struct fixture f;
    fixture_open(&f);
    static char filler[40001];
    memset(filler, 'a', sizeof filler - 1);
    static const struct {
        const char *before;
        int len;
        const char *after;
        int status;
    } rows[] = {
        {"GET / HTTP/1.1\r\nHost: localhost\r\nX-Long: ", 40000, "\r\n\r\n", 431},
        {"GET /", 40000, " HTTP/1.1\r\nHost: localhost\r\n\r\n", 414},
        {"GET /", 3000, " HTTP/1.1\r\nHost: localhost\r\n\r\n", 414},
        {"GET /?", 3000, " HTTP/1.1\r\nHost: localhost\r\n\r\n", 414},
        {"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 40000\r\n\r\n", 40000, "", 413},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int fd = client_connect(f.port);
        struct buf request = {0};
        buf_printf(&request, "%s%.*s%s", rows[i].before, rows[i].len, filler, rows[i].after);
        client_send(fd, request.data, request.len);
        struct client_answer a = client_receive(fd, 3000);
        if (a.status != rows[i].status)
            print_error("row %zu: %d\n", i, a.status);
        assert_int_equal(a.status, rows[i].status);
        client_answer_free(&a);
        buf_free(&request);
        close(fd);
    }
    honest(&f);
    fixture_close(&f);
}

static void broken_requests_are_refused_or_dropped(void **state)
{
    (void)state;
    struct fixture f;
    fixture_open(&f);
    static const char *const rows[] = {
        "\r\n\r\n\r\n",
        "GET\r\n\r\n",
        "GET /api/v1/zones\r\n\r\n",
        "GET  HTTP/1.1\r\nHost: localhost\r\n\r\n",
        "GET /api/v1/zones HTTP/9.9\r\nHost: localhost\r\n\r\n",
        "GET /api/v1/zones FTP/1.1\r\nHost: localhost\r\n\r\n",
        "GET http://evil.example/ HTTP/1.1\r\nHost: localhost\r\n\r\n",
        "CONNECT evil.example:443 HTTP/1.1\r\nHost: localhost\r\n\r\n",
        "OPTIONS * HTTP/1.1\r\nHost: localhost\r\n\r\n",
        "GET /api/v1/zones HTTP/1.1\r\nHost\r\n\r\n",
        "GET /api/v1/zones HTTP/1.1\r\n: localhost\r\n\r\n",
        "GET /api/v1/zones HTTP/1.1\r\nHost: localhost\r\nContent-Length: -1\r\n\r\n",
        "GET /api/v1/zones HTTP/1.1\r\nHost: localhost\r\nContent-Length: x\r\n\r\n",
        "POST / HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
        "\x16\x03\x01\x02\x01\x01\x01\xfc\x03\x03", /* a TLS hello */
        "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int fd = client_connect(f.port);
        assert_true(client_say(fd, rows[i]));
        shutdown(fd, SHUT_WR);
        struct client_answer a = client_receive(fd, 2000);
        bool refused = a.status == 0 || (a.status >= 400 && a.status < 500) || a.status == 505;
        if (!refused)
            print_error("row %zu: %d\n", i, a.status);
        assert_true(refused);
        client_answer_free(&a);
        close(fd);
        honest(&f);
    }
    fixture_close(&f);
}

static int open_stream(const struct fixture *f, int *out_status)
{
    int fd = client_connect(f->port);
    assert_true(fd >= 0);
    assert_true(client_say(fd, "GET /api/v1/events HTTP/1.1\r\nHost: localhost\r\n\r\n"));
    struct client_answer a = {0};
    client_read(fd, &a, 12, clock_now().mono_ms + 3000);
    *out_status = a.text.len >= 12 ? (int)strtol(a.text.data + 9, NULL, 10) : 0;
    client_answer_free(&a);
    return fd;
}

static void event_streams_leave_room_for_others(void **state)
{
    (void)state;
    struct fixture f;
    fixture_open(&f);
    int fds[STREAMS_TRIED], served = 0, refused = 0;
    for (int i = 0; i < STREAMS_TRIED; i++) {
        int status;
        fds[i] = open_stream(&f, &status);
        served += status == 200;
        refused += status == 503;
    }
    assert_int_equal(served, STREAMS_SERVED);
    assert_int_equal(refused, STREAMS_TRIED - STREAMS_SERVED);
    assert_true(honest(&f) < HONEST_MS);
    /* A place is free again once a stream's client has gone and a write has found it out. */
    close(fds[0]);
    close(fds[1]);
    int status = 0;
    for (int i = 0; i < 30 && status != 200; i++) {
        fake_live_lock(f.live);
        fake_live_publish(f.live);
        clock_sleep_ms(50);
        int fd = open_stream(&f, &status);
        close(fd);
    }
    assert_int_equal(status, 200);
    stops_in_time(&f);
    close_all(fds + 2, STREAMS_TRIED - 2);
    fixture_close(&f);
}

static void random_bytes_for_ten_seconds_change_nothing(void **state)
{
    (void)state;
    struct fixture f;
    fixture_open(&f);
    static const char *const pieces[] = {
        "GET ",
        "HEAD ",
        "POST ",
        "/api/v1/zones",
        "/",
        "?quantity=humidity",
        "&from=1",
        "%",
        "%2",
        "%41",
        " HTTP/1.1",
        " HTTP/1.0",
        "\r\n",
        "\r\n\r\n",
        "\n",
        "Host: localhost",
        "Host: ",
        "Content-Length: 5",
        "Content-Length: 99999",
        "Transfer-Encoding: chunked",
        "Connection: close",
        "Expect: 100-continue",
        "\x00\x01\xff",
        "aaaaaaaaaaaaaaaa",
        " ",
        ": ",
        "/series",
        "/api/v1/alarms",
        "/metrics",
        "Accept-Encoding: gzip;q=",
        "If-None-Match: \"",
        "5\r\nhello\r\n0\r\n\r\n",
    };
    uint32_t seed = 42;
    int sent = 0;
    int64_t until_ms = clock_now().mono_ms + 10000;
    while (clock_now().mono_ms < until_ms) {
        struct buf text = {0};
        int count = 1 + (int)((seed >> 16) % 12);
        if (count % 2 == 0)
            buf_str(&text, "GET /api/v1/zones");
        for (int i = 0; i < count; i++) {
            seed = seed * 1664525 + 1013904223; /* Numerical Recipes, ch. 7 */
            size_t which = (seed >> 16) % (sizeof pieces / sizeof *pieces);
            size_t len = strlen(pieces[which]);
            buf_add(&text, pieces[which], len > 0 ? len : 3); /* the one that begins with NUL */
        }
        seed = seed * 1664525 + 1013904223;
        int fd = client_connect(f.port);
        assert_true(fd >= 0);
        client_send(fd, text.data, text.len);
        if (sent % 4 == 0) {
            struct client_answer a = {0};
            client_read(fd, &a, 12, clock_now().mono_ms + 5);
            client_answer_free(&a);
        }
        close(fd);
        buf_free(&text);
        sent++;
        if (sent % 500 == 0)
            assert_true(honest(&f) < HONEST_MS);
    }
    print_message("%d requests of random pieces\n", sent);
    assert_true(sent > 500);
    honest(&f);
    fixture_close(&f);
}

static void stopping_amid_all_of_them_takes_no_time_and_leaks_nothing(void **state)
{
    (void)state;
    int before = descriptors();
    for (int round = 0; round < 3; round++) {
        struct fixture f;
        fixture_open(&f);
        int fds[100], status;
        for (int i = 0; i < 40; i++)
            fds[i] = open_stream(&f, &status);
        for (int i = 40; i < 60; i++) {
            fds[i] = client_connect(f.port);
            client_say(fds[i], "GET /api/v1/zones HTTP/1.1\r\nHo");
        }
        for (int i = 60; i < 70; i++)
            fds[i] = slow_reader(&f);
        for (int i = 70; i < 100; i++) {
            fds[i] = client_connect(f.port);
            client_say(fds[i], "POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 9\r\n\r\n"
                               "a");
        }
        honest(&f);
        stops_in_time(&f);
        close_all(fds, 100);
        fixture_close(&f);
    }
    assert_int_equal(descriptors(), before);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_client_that_drips_its_headers_is_shut_after_ten_seconds),
        cmocka_unit_test(two_hundred_dripping_clients_do_not_shut_others_out),
        cmocka_unit_test(thousands_of_connections_leave_the_server_as_it_was),
        cmocka_unit_test(readers_that_take_nothing_give_way_when_connections_run_short),
        cmocka_unit_test(what_is_too_large_is_refused_by_its_own_status),
        cmocka_unit_test(broken_requests_are_refused_or_dropped),
        cmocka_unit_test(event_streams_leave_room_for_others),
        cmocka_unit_test(random_bytes_for_ten_seconds_change_nothing),
        cmocka_unit_test(stopping_amid_all_of_them_takes_no_time_and_leaks_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
