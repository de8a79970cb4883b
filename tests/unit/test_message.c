/* test_message.c - the words in which a person is told: short, whole, and of use at the bench. The
 * wording is the project's own; what it advises is the trade's common practice. */
#include "watch/message.h"

#include <math.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include "base/clock.h"

/* 2026-11-25 12:00 UTC, a Wednesday. */
enum {
    NOON = 1795608000,
    HOUR = 3600,
    DAY = CLOCK_DAY_S,
    WORDS_MOST = 89,
    SUBJECT_MOST = 120 /* what a locked phone shows in two or three lines */
};

static int words_in(const char *text)
{
    int n = 0;
    for (const char *c = text; *c != '\0';) {
        c += strspn(c, " \n");
        n += *c != '\0';
        c += strcspn(c, " \n");
    }
    return n;
}

struct told {
    struct buf subject, body;
};

static void tell(const struct site_limit *limit, enum message_kind kind, double value,
                 const char *reason, struct told *out)
{
    const bool over = kind == MESSAGE_RETURNED;
    const struct words_alarm alarm = {.limit = limit,
                                      .since_s = NOON - HOUR,
                                      .until_s = over ? NOON : 0,
                                      .now = value,
                                      .worst = value};
    *out = (struct told){.subject = {0}};
    message_write(kind, &alarm, NOON, reason, &out->subject, &out->body);
    assert_false(out->subject.failed || out->body.failed);
}

static void forget(struct told *t)
{
    buf_free(&t->subject);
    buf_free(&t->body);
}

static void contains(const char *text, const char *part)
{
    if (strstr(text, part) == NULL)
        print_error("\"%s\" is not in:\n%s\n", part, text);
    assert_non_null(strstr(text, part));
}

static const struct site_zone drying = {
    .name = "drying-room", .title = "Drying room", .purpose = PURPOSE_DRYING};
static const struct site_instrument dr1 = {.name = "dr-1", .zone = &drying};

static void a_message_says_what_it_threatens_what_is_done_and_who_decides(void **state)
{
    (void)state;
    const struct site_limit limit = {.zone = &drying,
                                     .rule = RULE_ABOVE,
                                     .quantity = QUANTITY_HUMIDITY,
                                     .value = 65,
                                     .source = "common practice: no varnishing above 65 %"};
    struct told t;
    tell(&limit, MESSAGE_RAISED, 71.4, NULL, &t);
    assert_string_equal(t.subject.data, "Humidity above 65 % in the Drying room, now 71 %");
    assert_string_equal(
        t.body.data,
        "Humidity above 65 % in the Drying room since 11:00, now 71 %.\n\n"
        "Threatens: a varnish laid now may bloom; glue and gesso set slowly; canvas slackens.\n"
        "The trade usually (common practice): lay no varnish until it is drier, find the "
        "cause, "
        "warm or dry the room gently.\n"
        "Limit: common practice: no varnishing above 65 %.\n"
        "One sensor's word; the conservator decides, looking at the pieces.\n");
    forget(&t);
    tell(&limit, MESSAGE_RETURNED, 73.6, NULL, &t);
    assert_string_equal(t.subject.data,
                        "Over: Humidity above 65 % in the Drying room, highest 74 %");
    assert_string_equal(
        t.body.data,
        "Humidity above 65 % in the Drying room from 11:00 to 12:00, highest 74 %.\n\n"
        "It is over. Look for: slack canvas, bloom, lifting, a musty smell.\n"
        "One sensor's word; the conservator decides, looking at the pieces.\n");
    forget(&t);
}

/* Tenths only where a whole percent would deny what the sentence says. */
static void a_figure_is_no_finer_than_a_sensor(void **state)
{
    (void)state;
    static const struct {
        double value;
        const char *end;
    } rows[] = {
        {65.4, "now 65.4 %"}, {66.0, "now 66 %"}, {66.49, "now 66 %"}, {80.5, "now 81 %"}};
    const struct site_limit limit = {.zone = &drying,
                                     .rule = RULE_ABOVE,
                                     .quantity = QUANTITY_HUMIDITY,
                                     .value = 65,
                                     .source = "x"};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct told t;
        tell(&limit, MESSAGE_RAISED, rows[i].value, NULL, &t);
        assert_string_equal(t.subject.data + t.subject.len - strlen(rows[i].end), rows[i].end);
        forget(&t);
    }
}

static void each_trouble_has_its_own_words_and_caution(void **state)
{
    (void)state;
    static const struct {
        struct site_limit limit;
        enum message_kind kind;
        const char *subject, *part;
    } rows[] = {
        {{.rule = RULE_ABOVE, .quantity = QUANTITY_HUMIDITY, .value = 75},
         MESSAGE_RAISED,
         "Humidity above 75 % in the Drying room, now 71 %",
         "gloves and a mask"},
        {{.rule = RULE_BELOW, .quantity = QUANTITY_HUMIDITY, .value = 30},
         MESSAGE_RAISED,
         "Humidity below 30 % in the Drying room, now 71 %",
         "crack"},
        {{.rule = RULE_RANGE, .quantity = QUANTITY_HUMIDITY, .value = 10, .window_s = DAY},
         MESSAGE_RAISED,
         "Humidity moved more than 10 % within 24 h in the Drying room, now 71 %",
         "slackens and tightens"},
        {{.rule = RULE_DEW_MARGIN, .quantity = QUANTITY_DEW_MARGIN, .value = 3},
         MESSAGE_RAISED,
         "Surface less than 3 K above the dew point in the Drying room, now 71 K",
         "blanch"},
        {{.rule = RULE_BELOW, .quantity = QUANTITY_TEMPERATURE, .value = 5},
         MESSAGE_RAISED,
         "Temperature below 5 °C in the Drying room, now 71 °C",
         "brittle"},
        {{.rule = RULE_ABOVE, .quantity = QUANTITY_TEMPERATURE, .value = 28},
         MESSAGE_RAISED,
         "Temperature above 28 °C in the Drying room, now 71 °C",
         "soften"},
        {{.rule = RULE_ABOVE, .quantity = QUANTITY_MOULD_INDEX, .value = 1},
         MESSAGE_RAISED,
         "Mould index above 1 in the Drying room, now 71",
         "a professional"},
        {{.rule = RULE_CONTACT, .quantity = QUANTITY_LEAK, .on = true},
         MESSAGE_RAISED,
         "Leak in the Drying room",
         "leave the mains to an electrician"},
        {{.rule = RULE_CONTACT, .quantity = QUANTITY_MAINS},
         MESSAGE_RAISED,
         "Mains power off in the Drying room",
         "Leave the mains to an electrician"},
        {{.rule = RULE_CONTACT, .quantity = QUANTITY_TANK_FULL, .on = true},
         MESSAGE_RAISED,
         "Tank full in the Drying room",
         "electrician"},
        {{.rule = RULE_CONTACT, .quantity = QUANTITY_PLANT_RUNNING},
         MESSAGE_RAISED,
         "Plant stopped in the Drying room",
         "electrician"},
        {{.rule = RULE_CONTACT, .quantity = QUANTITY_LEAK, .on = true},
         MESSAGE_RETURNED,
         "Over: Leak in the Drying room",
         "wet backs, stretchers and floors"},
        {{.rule = RULE_SILENT, .instrument = &dr1},
         MESSAGE_RAISED,
         "No reading from dr-1 in the Drying room",
         "no message is no clearance"},
        {{.rule = RULE_SILENT, .instrument = &dr1},
         MESSAGE_RETURNED,
         "Over: No reading from dr-1 in the Drying room",
         "nobody measured it"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct site_limit limit = rows[i].limit;
        struct told t;
        limit.source = "set in the site file";
        limit.zone = limit.instrument == NULL ? &drying : NULL;
        tell(&limit, rows[i].kind, 71, NULL, &t);
        assert_string_equal(t.subject.data, rows[i].subject);
        contains(t.body.data, rows[i].part);
        forget(&t);
    }
}

/* Every rule, quantity and purpose at once, with the longest source and a long title. */
static void every_message_is_short_and_leaves_the_decision_to_the_conservator(void **state)
{
    (void)state;
    static const enum site_rule rules[] = {RULE_ABOVE,      RULE_BELOW,   RULE_RANGE,
                                           RULE_DEW_MARGIN, RULE_CONTACT, RULE_SILENT};
    struct site_zone zone = {.name = "z", .title = "North gallery store"};
    int seen = 0;
    for (int purpose = PURPOSE_DRYING; purpose <= PURPOSE_OTHER; purpose++)
        for (size_t r = 0; r < sizeof rules / sizeof *rules; r++)
            for (int q = 0; q < QUANTITY_COUNT; q++)
                for (int kind = MESSAGE_RAISED; kind <= MESSAGE_RETURNED; kind++) {
                    zone.purpose = (enum site_purpose)purpose;
                    const struct site_limit limit = {.zone = &zone,
                                                     .rule = rules[r],
                                                     .quantity = (enum quantity)q,
                                                     .value = 75,
                                                     .window_s = DAY,
                                                     .source =
                                                         "Padfield: laminated materials likely "
                                                         "to split or flake below 25 %"};
                    struct told t;
                    tell(&limit, (enum message_kind)kind, 81.3, NULL, &t);
                    assert_in_range(words_in(t.body.data), 10, WORDS_MOST);
                    assert_in_range(t.subject.len, 5, SUBJECT_MOST);
                    assert_null(strchr(t.subject.data, '\n'));
                    contains(t.body.data, "the conservator decides");
                    if (kind == MESSAGE_RAISED)
                        contains(t.body.data, "common practice");
                    forget(&t);
                    seen++;
                }
    assert_int_equal(seen, 10 * 6 * QUANTITY_COUNT * 2);
}

static void an_end_that_is_not_the_airs_says_why(void **state)
{
    (void)state;
    const struct site_limit limit = {
        .zone = &drying, .rule = RULE_ABOVE, .quantity = QUANTITY_HUMIDITY, .value = 65};
    struct told t;
    tell(&limit, MESSAGE_RETURNED, (double)NAN, "the rule was changed", &t);
    contains(t.body.data, "\nWhy: the rule was changed.\n");
    forget(&t);
}

static void of_several_the_gravest_leads_and_gives_the_advice(void **state)
{
    (void)state;
    const struct message_part parts[] = {
        {PRIORITY_MEDIUM, "Damp", "Damp since 11:00.\n\nDry it.\n"},
        {PRIORITY_HIGHEST, "Leak", "Leak since 11:02.\n\nLift pieces.\n"},
        {PRIORITY_LOW, "Door", "Door since 11:03.\n\nShut it.\n"}};
    struct buf subject = {0}, body = {0};
    message_join(parts, 3, &subject, &body);
    assert_string_equal(subject.data, "Leak (and 2 more)");
    assert_string_equal(body.data, "Leak since 11:02.\nDamp since 11:00.\nDoor since 11:03.\n\n"
                                   "Lift pieces.\n");
    buf_free(&subject);
    buf_free(&body);
    message_join(parts, 1, &subject, &body);
    assert_string_equal(subject.data, "Damp");
    assert_string_equal(body.data, parts[0].body);
    buf_free(&subject);
    buf_free(&body);
}

static void a_night_of_chatter_stays_short(void **state)
{
    (void)state;
    enum {
        NIGHT = 600
    };
    struct message_part parts[NIGHT];
    struct buf subject = {0}, body = {0};
    for (size_t i = 0; i < NIGHT; i++)
        parts[i] =
            (struct message_part){PRIORITY_LOW, "Door", "Door since 02:00.\n\nShut it.\n"};
    message_join(parts, NIGHT, &subject, &body);
    assert_string_equal(subject.data, "Door (and 599 more)");
    assert_string_equal(body.data, "Door since 02:00.\nDoor since 02:00.\nDoor since 02:00.\n"
                                   "Door since 02:00.\nAnd 596 more; the log has them.\n\n"
                                   "Shut it.\n");
    buf_free(&subject);
    buf_free(&body);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_message_says_what_it_threatens_what_is_done_and_who_decides),
        cmocka_unit_test(a_figure_is_no_finer_than_a_sensor),
        cmocka_unit_test(each_trouble_has_its_own_words_and_caution),
        cmocka_unit_test(every_message_is_short_and_leaves_the_decision_to_the_conservator),
        cmocka_unit_test(an_end_that_is_not_the_airs_says_why),
        cmocka_unit_test(a_night_of_chatter_stays_short),
        cmocka_unit_test(of_several_the_gravest_leads_and_gives_the_advice),
    };
    return clock_zone_set("UTC") ? cmocka_run_group_tests(tests, NULL, NULL) : 1;
}
