/* test_commands.c - what people say of alarms, and clients of the unix socket, while things go
 * wrong: whoever asks gets an answer in seconds, since main waits for it. */
#include "support/studio.h"

#include <pthread.h>
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include "recorder/control.h"

static const char site_text[] =
    "[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"
    "[store]\npath = %s\n[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 1 s\nzone = room\n"
    "read = humidity input 1 uint16 x0.1\n"
    "[zone room]\ntitle = Room\npurpose = drying\n"
    "[limit damp]\nzone = room\nrule = humidity above 65\non_delay = 0 s\n";

enum {
    WAIT_MS = 20000
};

/* A running recorder with an alarm that stands; its number. */
static int64_t begin(struct studio *s)
{
    studio_make(s, site_text, clock_utc_s(clock_now()));
    struct recorder_cfg cfg = {.site = s->site, .commit_ms = 100};
    s->now = clock_now();
    assert_int_equal(recorder_open(&cfg, s->now, &s->recorder), RC_OK);
    studio_put(s, 0, 0, clock_utc_s(s->now), 70);
    assert_int_equal(recorder_start(s->recorder), RC_OK);
    struct live_alarm alarm = {0};
    for (int64_t end = clock_now().mono_ms + WAIT_MS; clock_now().mono_ms < end;) {
        if (live_alarms(recorder_live(s->recorder), &alarm, 1) == 1 && alarm.id != 0)
            return alarm.id;
        clock_sleep_ms(20);
    }
    fail();
    return 0;
}

static void end(struct studio *s)
{
    recorder_stop(s->recorder);
    s->now = clock_now();
    studio_remove(s);
}

static sqlite3 *lock(const struct studio *s)
{
    sqlite3 *other;
    assert_int_equal(sqlite3_open(s->db, &other), SQLITE_OK);
    sqlite3_busy_timeout(other, WAIT_MS);
    assert_int_equal(sqlite3_exec(other, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_OK);
    return other;
}

static void unlock(sqlite3 *other)
{
    assert_int_equal(sqlite3_exec(other, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_close(other), SQLITE_OK);
}

struct asker {
    struct recorder *recorder;
    int64_t alarm, took_ms;
    enum rc rc;
};

static void *ask(void *context)
{
    struct asker *a = context;
    int64_t from_ms = clock_now().mono_ms;
    a->rc = recorder_alarm(a->recorder, a->alarm, ALARM_ACKNOWLEDGE, 0, "A. Person", NULL);
    a->took_ms = clock_now().mono_ms - from_ms;
    return NULL;
}

static void a_database_that_stays_locked_holds_up_nobody_who_asks(void **state)
{
    (void)state;
    struct studio s;
    int64_t alarm = begin(&s);
    sqlite3 *other = lock(&s);
    /* A batch that waits to be written. */
    studio_put(&s, 0, 0, clock_utc_s(clock_now()) + 1, 71);
    clock_sleep_ms(1000);
    for (int i = 0; i < 2; i++) {
        struct asker a = {.recorder = s.recorder, .alarm = alarm};
        pthread_t thread;
        assert_int_equal(pthread_create(&thread, NULL, ask, &a), 0);
        clock_sleep_ms(10000);
        if (i == 0) /* if it is still waiting, this frees it */
            unlock(other);
        pthread_join(thread, NULL);
        assert_true(a.took_ms < 9500);
        assert_int_equal(a.rc == RC_OK, i == 1);
    }
    assert_int_equal(recorder_alarm(s.recorder, 0, ALARM_ACKNOWLEDGE, 0, "A. Person", NULL),
                     RC_NOT_FOUND);
    end(&s);
}

static void a_client_that_drips_is_dropped_after_a_second(void **state)
{
    (void)state;
    struct studio s;
    (void)begin(&s);
    struct control *control = NULL;
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    assert_int_equal(control_open(s.db, s.recorder, &control), RC_OK);
    snprintf(address.sun_path, sizeof address.sun_path, "%s.sock", s.db);
    int fd = socket(AF_UNIX, SOCK_STREAM, 0);
    assert_int_equal(connect(fd, (struct sockaddr *)&address, sizeof address), 0);
    pid_t child = fork();
    if (child == 0) { /* a byte every 0.4 s, for ten seconds */
        for (int i = 0; i < 25 && write(fd, " ", 1) == 1; i++)
            clock_sleep_ms(400);
        _exit(0);
    }
    close(fd);
    int64_t from_ms = clock_now().mono_ms;
    control_serve(control);
    assert_true(clock_now().mono_ms - from_ms < 5000);
    control_close(control);
    assert_int_equal(waitpid(child, NULL, 0), child);
    end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_database_that_stays_locked_holds_up_nobody_who_asks),
        cmocka_unit_test(a_client_that_drips_is_dropped_after_a_second),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
