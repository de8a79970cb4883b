/* The event stream: hello, readings after each commit, alarms at each change. */
#include "support/http_fixture.h"

static int open_stream(const struct fixture *f)
{
    int fd = client_connect(f->port);
    assert_true(fd >= 0);
    assert_true(client_say(fd, "GET /api/v1/events HTTP/1.1\r\nHost: localhost\r\n\r\n"));
    return fd;
}

/* Reads until a text has come or some time has passed. */
static bool comes(int fd, struct client_answer *a, const char *text, int timeout_ms)
{
    int64_t until_ms = clock_now().mono_ms + timeout_ms;
    while (a->text.data == NULL || strstr(a->text.data, text) == NULL) {
        size_t before = a->text.len;
        client_read(fd, a, before + 1, until_ms);
        if (a->text.len == before)
            return false;
    }
    return true;
}

static void a_stream_begins_with_hello_and_the_latest_readings(void **state)
{
    struct fixture *f = *state;
    int fd = open_stream(f);
    struct client_answer a = {0};
    assert_true(comes(fd, &a, "event: readings\n", 2000));
    assert_true(comes(fd, &a, "{\"id\":\"store-2\",\"now\":{\"t\":1795608000,", 2000));
    assert_non_null(strstr(a.text.data, "Content-Type: text/event-stream"));
    const char *retry = strstr(a.text.data, "retry: 3000\n\n");
    const char *hello = strstr(a.text.data, "event: hello\ndata: {\"now\":");
    assert_non_null(retry);
    assert_non_null(hello);
    assert_true(retry < hello && hello < strstr(a.text.data, "event: readings"));
    client_answer_free(&a);
    close(fd);
}

static void every_commit_comes_at_once(void **state)
{
    struct fixture *f = *state;
    int fd = open_stream(f);
    struct client_answer a = {0};
    assert_true(comes(fd, &a, "\"store-2\"", 2000));
    for (int i = 0; i < 5; i++) {
        fake_live_lock(f->live);
        f->live->zones[1].now[QUANTITY_HUMIDITY].value = 6100 + i;
        fake_live_publish(f->live);
        char want[32];
        snprintf(want, sizeof want, "\"value\":61%s%.0d", i > 0 ? ".0" : "", i);
        assert_true(comes(fd, &a, want, 500));
    }
    client_answer_free(&a);
    close(fd);
}

static void an_alarm_comes_when_it_is_raised_changes_and_is_over(void **state)
{
    struct fixture *f = *state;
    int fd = open_stream(f);
    struct client_answer a = {0};
    assert_true(comes(fd, &a, "\"store-2\"", 2000));
    assert_null(strstr(a.text.data, "event: alarm"));
    struct live_alarm alarm = {.id = 31,
                               .limit = &f->site->limits[0],
                               .state = ALARM_UNACKNOWLEDGED,
                               .since_s = FIXTURE_NOW_S,
                               .value = 70,
                               .worst = 70};
    static const struct {
        enum alarm_state state;
        const char *want;
    } rows[] = {{ALARM_UNACKNOWLEDGED, "\"state\":\"unacknowledged\""},
                {ALARM_ACKNOWLEDGED, "\"state\":\"acknowledged\""},
                {ALARM_NORMAL, "\"state\":\"normal\""}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        fake_live_lock(f->live);
        alarm.state = rows[i].state;
        f->live->alarms[0] = alarm;
        f->live->alarm_count = rows[i].state != ALARM_NORMAL;
        fake_live_publish(f->live);
        assert_true(comes(fd, &a, rows[i].want, 1000));
    }
    /* Nothing is said again that has not changed. */
    fake_live_lock(f->live);
    fake_live_publish(f->live);
    buf_clear(&a.text);
    assert_true(comes(fd, &a, "event: readings", 1000));
    assert_null(strstr(a.text.data, "event: alarm"));
    client_answer_free(&a);
    close(fd);
}

static void a_stream_that_has_nothing_to_say_does_not_burn_the_processor(void **state)
{
    struct fixture *f = *state;
    enum {
        STREAMS = 10,
        WATCH_MS = 1500
    };
    int fds[STREAMS];
    for (int i = 0; i < STREAMS; i++)
        fds[i] = open_stream(f);
    clock_sleep_ms(300);
    clock_t before = clock();
    clock_sleep_ms(WATCH_MS);
    double used_ms = (double)(clock() - before) * 1000 / CLOCKS_PER_SEC;
    print_message("ten idle streams used %.1f ms of processor in %d ms\n", used_ms, WATCH_MS);
    assert_true(used_ms < WATCH_MS / 10.0);
    for (int i = 0; i < STREAMS; i++)
        close(fds[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stream_begins_with_hello_and_the_latest_readings),
        cmocka_unit_test(every_commit_comes_at_once),
        cmocka_unit_test(an_alarm_comes_when_it_is_raised_changes_and_is_over),
        cmocka_unit_test(a_stream_that_has_nothing_to_say_does_not_burn_the_processor),
    };
    return cmocka_run_group_tests(tests, fixture_setup, fixture_teardown);
}
