/* test_outbox.c - messages on simulated time: which leave, when, in which order, how often, with a
 * courier that does as it is told. The spans are the project's own choice (watch/posting.h). */
#include "support/studio.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include "base/json.h"

static const char site_text[] =
    "[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"
    "working_hours = Mo-Fr 08:00-18:00\ntell = anna\n[store]\npath = %s\n"
    "[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 10 s\nzone = room\n"
    "read = leak discrete 0 bit\nread = tank_full discrete 1 bit\nread = mains discrete 2 bit\n"
    "read = door discrete 3 bit\nread = humidity input 1 uint16 x0.1\n"
    "[instrument i2]\nbus = b\nunit = 2\nserial = 2\nevery = 10 s\nzone = yard\n"
    "read = leak discrete 0 bit\n"
    "[zone room]\ntitle = Drying room\npurpose = drying\n[zone yard]\npurpose = other\n"
    "[limit wet]\nzone = room\nrule = leak is on\npriority = highest\n"
    "[limit tank]\nzone = room\nrule = tank_full is on\npriority = medium\n"
    "[limit mains]\nzone = room\nrule = mains is off\npriority = high\n"
    "[limit door]\nzone = room\nrule = door is on\npriority = low\n"
    "[limit damp]\nzone = room\nrule = humidity above 60\non_delay = 0 s\npriority = digest\n"
    "[limit yard]\nzone = yard\nrule = leak is on\npriority = medium\n"
    "[mail]\nserver = 127.0.0.1:25\nfrom = stillroom@studio.example\n"
    "[person anna]\nmail = anna@studio.example\n";

enum {
    MINUTE = 60,
    HOUR = 3600,
    DAY = 86400,
    STEP = 10, /* a reading of everything, and the longest that a commit waits */
    HOLD = 90,
    SENT_MOST = 600
};
/* 2026-01-08 is a Thursday. */
static const int64_t thursday_s = 1767830400;

/* What the contacts say: off, off, mains on, shut, 50 %. */
struct contacts {
    bool leak, tank, mains_off, door, yard, damp;
};

struct sent {
    int64_t t_s;
    char subject[160], id[80], body[1200];
};

struct post {
    struct courier courier; /* first: its functions get its address */
    struct studio *studio;
    enum courier_answer answer;
    struct sent *all; /* every errand, taken or not */
    size_t count;
    int running, ended_early;
};

struct errand {
    struct post *post;
    bool over;
};

static enum rc start(const struct courier *courier, const char *order, size_t len,
                     struct errand **out)
{
    /* The courier is the post's own first member; the recorder has it const. */
    struct post *p = (struct post *)(uintptr_t)courier;
    struct errand *e = calloc(1, sizeof *e);
    json_t *json = json_loadb(order, len, 0, NULL);
    assert_non_null(e);
    assert_non_null(json);
    assert_true(p->count < SENT_MOST);
    struct sent *s = &p->all[p->count++];
    s->t_s = clock_utc_s(p->studio->now);
    snprintf(s->subject, sizeof s->subject, "%s",
             json_string_value(json_object_get(json, "subject")));
    snprintf(s->id, sizeof s->id, "%s", json_string_value(json_object_get(json, "message_id")));
    snprintf(s->body, sizeof s->body, "%s", json_string_value(json_object_get(json, "body")));
    assert_string_equal(json_string_value(json_object_get(json, "to")), "anna@studio.example");
    json_decref(json);
    p->running++;
    assert_int_equal(p->running, 1); /* one at a time to one recipient */
    e->post = p;
    *out = e;
    return RC_OK;
}

static enum courier_answer look(struct errand *e, char error[COURIER_ERROR])
{
    e->over = e->post->answer != COURIER_RUNS;
    snprintf(error, COURIER_ERROR, "%s", e->post->answer == COURIER_TAKEN ? "" : "no server");
    return e->post->answer;
}

static void end(struct errand *e)
{
    e->post->running--;
    e->post->ended_early += !e->over;
    free(e);
}

static void open_studio(struct studio *s, struct post *p, int64_t start_s)
{
    *p = (struct post){.courier = {.start = start, .look = look, .end = end},
                       .studio = s,
                       .answer = COURIER_TAKEN};
    p->all = calloc(SENT_MOST, sizeof *p->all);
    assert_non_null(p->all);
    studio_make(s, site_text, start_s);
    s->courier = &p->courier;
    studio_start(s);
}

static void close_studio(struct studio *s, struct post *p)
{
    studio_remove(s);
    assert_int_equal(p->running, 0);
    free(p->all);
}

/* Lets time pass in steps of ten seconds with readings. */
static void live(struct studio *s, int64_t span_s, struct contacts c)
{
    for (int64_t end_s = clock_utc_s(s->now) + span_s; clock_utc_s(s->now) < end_s;) {
        int64_t t_s = clock_utc_s(s->now);
        const double values[] = {c.leak, c.tank, !c.mains_off, c.door, c.damp ? 70 : 50};
        for (size_t i = 0; i < sizeof values / sizeof *values; i++)
            studio_put(s, 0, i, t_s, values[i]);
        studio_put(s, 1, 0, t_s, c.yard);
        studio_until(s, t_s + STEP);
    }
}

/* The same without readings. */
static void wait_in(struct studio *s, int64_t span_s, int step_s)
{
    for (int64_t end_s = clock_utc_s(s->now) + span_s; clock_utc_s(s->now) < end_s;) {
        s->now.utc_ms += step_s * 1000;
        s->now.mono_ms += step_s * 1000;
        recorder_step(s->recorder, s->now);
    }
}

static void wait_for(struct studio *s, int64_t span_s)
{
    wait_in(s, span_s, STEP);
}

/* Days of waiting in long steps: each minute would be a mark of life on the disk. */
static void wait_days(struct studio *s, int days)
{
    wait_in(s, days * INT64_C(86400), 10 * MINUTE);
}

static const struct contacts quiet = {0};

static void an_alarm_is_one_message_after_the_hold_and_its_end_another(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    live(&s, 5 * MINUTE, quiet);
    int64_t raised_s = clock_utc_s(s.now);
    live(&s, HOLD - STEP, (struct contacts){.tank = true});
    assert_int_equal(p.count, 0);
    live(&s, 10 * MINUTE, (struct contacts){.tank = true});
    assert_int_equal(p.count, 1);
    assert_in_range(p.all[0].t_s, raised_s + HOLD, raised_s + HOLD + STEP);
    assert_string_equal(p.all[0].subject, "Tank full in the Drying room");
    live(&s, 10 * MINUTE, quiet);
    assert_int_equal(p.count, 2);
    assert_string_equal(p.all[1].subject, "Over: Tank full in the Drying room");
    assert_string_not_equal(p.all[0].id, p.all[1].id);
    assert_non_null(strstr(p.all[0].id, "@studio.example"));
    struct live_status status;
    live_status(recorder_live(s.recorder), &status);
    assert_int_equal(status.messages_waiting, 0);
    close_studio(&s, &p);
}

static void what_happens_in_one_room_within_the_hold_is_one_message(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    live(&s, MINUTE, quiet);
    live(&s, 30, (struct contacts){.tank = true, .yard = true});
    live(&s, 10 * MINUTE, (struct contacts){.tank = true, .mains_off = true, .yard = true});
    assert_int_equal(p.count, 2);
    /* The graver one leads, though it came later. */
    assert_string_equal(p.all[0].subject, "Mains power off in the Drying room (and 1 more)");
    assert_non_null(strstr(p.all[0].body, "\nTank full in the Drying room since "));
    assert_string_equal(p.all[1].subject, "Leak in the yard");
    live(&s, 10 * MINUTE, (struct contacts){.yard = true});
    assert_int_equal(p.count, 3);
    assert_string_equal(p.all[2].subject,
                        "Over: Mains power off in the Drying room (and 1 more)");
    close_studio(&s, &p);
}

static void the_gravest_goes_at_once_and_takes_what_is_held_with_it(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    live(&s, MINUTE, quiet);
    live(&s, 20, (struct contacts){.tank = true});
    int64_t leak_s = clock_utc_s(s.now);
    live(&s, 40, (struct contacts){.tank = true, .leak = true});
    assert_int_equal(p.count, 1);
    assert_in_range(p.all[0].t_s, leak_s, leak_s + STEP + 2);
    assert_string_equal(p.all[0].subject, "Leak in the Drying room (and 1 more)");
    live(&s, 10 * MINUTE, (struct contacts){.tank = true, .leak = true});
    assert_int_equal(p.count, 1);
    close_studio(&s, &p);
}

static void what_is_over_before_its_message_left_is_told_once(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    live(&s, MINUTE, quiet);
    live(&s, 30, (struct contacts){.tank = true});
    live(&s, 10 * MINUTE, quiet);
    assert_int_equal(p.count, 1);
    assert_string_equal(p.all[0].subject, "Over: Tank full in the Drying room");
    close_studio(&s, &p);
}

static void a_low_one_waits_for_working_hours_and_a_digest_sends_none(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s + DAY + 17 * HOUR + 59 * MINUTE); /* Friday evening */
    live(&s, 2 * MINUTE, quiet);
    live(&s, 10 * MINUTE, (struct contacts){.door = true, .damp = true});
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM alarm_event"), 2);
    wait_days(&s, 2);
    wait_for(&s, 14 * HOUR);
    assert_int_equal(p.count, 1);
    assert_string_equal(p.all[0].subject, "Door open in the Drying room");
    int64_t monday_s = thursday_s + 4 * DAY + 8 * HOUR;
    assert_in_range(p.all[0].t_s, monday_s, monday_s + STEP);
    close_studio(&s, &p);
}

/* After 1, 2, 5, 15, 60 minutes, then hourly. */
static void a_server_that_is_down_is_asked_less_and_less_often(void **state)
{
    (void)state;
    static const int pauses_s[] = {60, 120, 300, 900, 3600, 3600, 3600};
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    p.answer = COURIER_LATER;
    live(&s, MINUTE, (struct contacts){.leak = true});
    wait_for(&s, 5 * HOUR);
    assert_true(p.count > 7);
    for (size_t i = 0; i < sizeof pauses_s / sizeof *pauses_s; i++)
        assert_in_range(p.all[i + 1].t_s - p.all[i].t_s, pauses_s[i], pauses_s[i] + 3 * STEP);
    for (size_t i = 1; i < p.count; i++)
        assert_string_equal(p.all[i].id, p.all[0].id);
    close_studio(&s, &p);
}

static void after_six_days_without_a_server_each_message_arrives_once_and_in_order(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    p.answer = COURIER_LATER;
    live(&s, 5 * MINUTE, quiet);
    live(&s, 5 * MINUTE, (struct contacts){.leak = true});
    live(&s, 5 * MINUTE, quiet);
    wait_days(&s, 1);
    live(&s, 5 * MINUTE, (struct contacts){.tank = true});
    wait_days(&s, 5);
    wait_for(&s, 10 * MINUTE);
    struct live_status status;
    live_status(recorder_live(s.recorder), &status);
    assert_int_equal(status.messages_waiting, 3);
    p.answer = COURIER_TAKEN;
    p.count = 0;
    wait_for(&s, 2 * HOUR);
    assert_int_equal(p.count, 3);
    assert_string_equal(p.all[0].subject, "Leak in the Drying room");
    assert_string_equal(p.all[1].subject, "Over: Leak in the Drying room");
    assert_string_equal(p.all[2].subject, "Tank full in the Drying room");
    assert_in_range(p.all[2].t_s - p.all[0].t_s, 0, MINUTE);
    close_studio(&s, &p);
}

static void after_a_week_a_message_is_given_up_and_the_status_says_so(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    p.answer = COURIER_LATER;
    live(&s, MINUTE, (struct contacts){.leak = true});
    wait_days(&s, 7);
    wait_in(&s, 2 * HOUR, 10 * MINUTE);
    struct live_status status;
    live_status(recorder_live(s.recorder), &status);
    assert_int_equal(status.messages_waiting, 0);
    assert_int_equal(status.messages_given_up, 1);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM outbox WHERE sent IS NULL AND"
                                    " last_error = 'no server'"),
                     1);
    /* The next one has a week of its own. */
    p.answer = COURIER_TAKEN;
    p.count = 0;
    live(&s, 5 * MINUTE, quiet);
    assert_int_equal(p.count, 1);
    assert_string_equal(p.all[0].subject, "Over: Leak in the Drying room");
    close_studio(&s, &p);
}

static void one_that_is_refused_for_good_does_not_hold_up_the_others(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    p.answer = COURIER_REFUSED;
    live(&s, MINUTE, (struct contacts){.leak = true});
    assert_int_equal(p.count, 1);
    wait_for(&s, 30 * MINUTE);
    assert_int_equal(p.count, 1); /* hourly from the beginning */
    wait_for(&s, HOUR);
    assert_int_equal(p.count, 2);
    p.answer = COURIER_TAKEN;
    live(&s, 10 * MINUTE, (struct contacts){.leak = true, .yard = true});
    /* News for the same person is a reason to try the first again as well. */
    assert_int_equal(p.count, 4);
    assert_string_equal(p.all[2].subject, "Leak in the Drying room");
    assert_string_equal(p.all[3].subject, "Leak in the yard");
    close_studio(&s, &p);
}

static void a_restart_repeats_nothing_and_tries_again_what_failed(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    live(&s, 5 * MINUTE, (struct contacts){.tank = true});
    p.answer = COURIER_LATER;
    live(&s, 5 * MINUTE, (struct contacts){.tank = true, .leak = true});
    wait_for(&s, 3 * HOUR);
    p.count = 0;
    p.answer = COURIER_TAKEN;
    studio_stop(&s);
    studio_start(&s);
    live(&s, 20 * MINUTE, (struct contacts){.tank = true, .leak = true});
    assert_int_equal(p.count, 1);
    assert_string_equal(p.all[0].subject, "Leak in the Drying room");
    close_studio(&s, &p);
}

static void what_was_on_its_way_when_the_recorder_ended_is_sent_under_the_same_id(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    p.answer = COURIER_RUNS;
    live(&s, 40, (struct contacts){.leak = true});
    assert_int_equal(p.count, 1);
    studio_stop(&s);
    assert_int_equal(p.ended_early, 1);
    p.answer = COURIER_TAKEN;
    studio_start(&s);
    live(&s, 40, (struct contacts){.leak = true});
    assert_int_equal(p.count, 2);
    assert_string_equal(p.all[0].id, p.all[1].id);
    close_studio(&s, &p);
}

static void a_child_that_hangs_is_ended_after_a_minute(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    p.answer = COURIER_RUNS;
    live(&s, 50, (struct contacts){.leak = true});
    assert_int_equal(p.ended_early, 0);
    live(&s, 30, (struct contacts){.leak = true});
    assert_int_equal(p.ended_early, 1);
    assert_int_equal(studio_int(&s, "SELECT tries FROM outbox"), 1);
    p.answer = COURIER_TAKEN;
    live(&s, 2 * MINUTE, (struct contacts){.leak = true});
    assert_int_equal(p.count, 2);
    assert_int_equal(studio_int(&s, "SELECT sent IS NOT NULL FROM outbox"), 1);
    close_studio(&s, &p);
}

static void
a_database_of_version_1_is_brought_up_and_its_alarms_are_not_told_again(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    live(&s, 5 * MINUTE, (struct contacts){.tank = true});
    studio_stop(&s);
    int64_t readings = studio_int(&s, "SELECT count(*) FROM tail");
    /* Version 1 had all but this table; its indexes go with it. */
    studio_run(&s, "DROP TABLE outbox");
    studio_run(&s, "PRAGMA user_version = 1");
    p.count = 0;
    studio_start(&s);
    assert_int_equal(studio_int(&s, "PRAGMA user_version"), 2);
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM tail"), readings);
    live(&s, 5 * MINUTE, (struct contacts){.tank = true});
    live(&s, 5 * MINUTE, quiet);
    assert_int_equal(p.count, 0); /* nobody was told of it, so nobody is told of its end */
    live(&s, 5 * MINUTE, (struct contacts){.leak = true});
    assert_int_equal(p.count, 1);
    assert_string_equal(p.all[0].subject, "Leak in the Drying room");
    close_studio(&s, &p);
}

static void a_message_to_somebody_who_left_the_site_file_is_dropped(void **state)
{
    (void)state;
    struct studio s;
    struct post p;
    open_studio(&s, &p, thursday_s);
    p.answer = COURIER_LATER;
    live(&s, MINUTE, (struct contacts){.leak = true});
    studio_run(&s, "UPDATE outbox SET person = 'ben'");
    p.count = 0;
    p.answer = COURIER_TAKEN;
    studio_stop(&s);
    studio_start(&s);
    live(&s, 5 * MINUTE, (struct contacts){.leak = true});
    assert_int_equal(p.count, 0);
    assert_int_equal(studio_int(&s, "SELECT given_up IS NOT NULL FROM outbox"), 1);
    close_studio(&s, &p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_alarm_is_one_message_after_the_hold_and_its_end_another),
        cmocka_unit_test(what_happens_in_one_room_within_the_hold_is_one_message),
        cmocka_unit_test(the_gravest_goes_at_once_and_takes_what_is_held_with_it),
        cmocka_unit_test(what_is_over_before_its_message_left_is_told_once),
        cmocka_unit_test(a_low_one_waits_for_working_hours_and_a_digest_sends_none),
        cmocka_unit_test(a_server_that_is_down_is_asked_less_and_less_often),
        cmocka_unit_test(
            after_six_days_without_a_server_each_message_arrives_once_and_in_order),
        cmocka_unit_test(after_a_week_a_message_is_given_up_and_the_status_says_so),
        cmocka_unit_test(one_that_is_refused_for_good_does_not_hold_up_the_others),
        cmocka_unit_test(a_restart_repeats_nothing_and_tries_again_what_failed),
        cmocka_unit_test(what_was_on_its_way_when_the_recorder_ended_is_sent_under_the_same_id),
        cmocka_unit_test(a_child_that_hangs_is_ended_after_a_minute),
        cmocka_unit_test(
            a_database_of_version_1_is_brought_up_and_its_alarms_are_not_told_again),
        cmocka_unit_test(a_message_to_somebody_who_left_the_site_file_is_dropped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
