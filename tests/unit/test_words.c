/* An alarm in one sentence: what a restorer reads first, and what a message carries.
 * The wanted sentences are the project's own choice of words. */
#include "watch/words.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <cmocka.h>

#include "base/clock.h"

static const struct site_zone drying = {.name = "drying-room", .title = "Drying room"};
static const struct site_zone numbered = {.name = "store-2", .title = "Store 2"};
static const struct site_zone owned = {.name = "annas", .title = "Anna's corner"};
static const struct site_zone yard = {
    .name = "yard", .title = "Yard, north wall", .purpose = PURPOSE_OUTDOOR};
static const struct site_instrument dr1 = {.name = "dr-1", .zone = &drying};

/* 2026-11-25 12:00 UTC, a Wednesday. */
enum {
    NOON = 1795608000,
    HOUR = 3600,
    DAY = CLOCK_DAY_S
};

static void says(const struct words_alarm *alarm, const char *want)
{
    struct buf b = {0};
    words_alarm(alarm, NOON, &b);
    assert_string_equal(b.data, want);
    buf_free(&b);
}

static void a_lasting_alarm_says_what_where_since_when_and_how_far(void **state)
{
    (void)state;
    struct site_limit limit = {
        .zone = &drying, .rule = RULE_ABOVE, .quantity = QUANTITY_HUMIDITY, .value = 65};
    struct words_alarm alarm = {
        .limit = &limit, .since_s = NOON - DAY - 10 * HOUR + 600, .now = 71.04, .worst = 74};
    says(&alarm, "Humidity above 65 % in the Drying room since Tuesday 02:10, now 71 %");
    alarm.since_s = NOON - HOUR;
    alarm.now = 71.26;
    says(&alarm, "Humidity above 65 % in the Drying room since 11:00, now 71.3 %");
    alarm.now = (double)NAN;
    says(&alarm, "Humidity above 65 % in the Drying room since 11:00");
}

static void an_alarm_that_is_over_says_from_when_to_when_and_the_worst(void **state)
{
    (void)state;
    struct site_limit limit = {
        .zone = &drying, .rule = RULE_BELOW, .quantity = QUANTITY_TEMPERATURE, .value = 5.5};
    struct words_alarm alarm = {.limit = &limit,
                                .since_s = NOON - 3 * HOUR,
                                .until_s = NOON - HOUR,
                                .now = 9,
                                .worst = -0.04};
    says(&alarm,
         "Temperature below 5.5 °C in the Drying room from 09:00 to 11:00, lowest 0 °C");
    alarm.since_s = NOON - 22 * DAY;
    alarm.until_s = alarm.since_s + HOUR;
    says(&alarm, "Temperature below 5.5 °C in the Drying room from 3 November 12:00 to 13:00, "
                 "lowest 0 °C");
    alarm.until_s = NOON - 2 * DAY;
    says(&alarm, "Temperature below 5.5 °C in the Drying room from 3 November 12:00 to Monday "
                 "12:00, lowest 0 °C");
    alarm.since_s = NOON - 3 * HOUR;
    alarm.until_s = NOON - HOUR;
    limit.rule = RULE_ABOVE;
    alarm.worst = 31;
    says(&alarm,
         "Temperature above 5.5 °C in the Drying room from 09:00 to 11:00, highest 31 °C");
}

static void every_rule_has_its_words(void **state)
{
    (void)state;
    static const struct {
        struct site_limit limit;
        double now;
        const char *want;
    } rows[] = {
        {{.zone = &drying,
          .rule = RULE_RANGE,
          .quantity = QUANTITY_HUMIDITY,
          .value = 10,
          .window_s = DAY},
         13,
         "Humidity moved more than 10 % within 24 h in the Drying room since 11:00, now 13 %"},
        {{.zone = &drying,
          .rule = RULE_RANGE,
          .quantity = QUANTITY_TEMPERATURE,
          .value = 4,
          .window_s = 7 * DAY},
         5,
         "Temperature moved more than 4 °C within 7 days in the Drying room since 11:00, "
         "now 5 °C"},
        {{.zone = &drying,
          .rule = RULE_DEW_MARGIN,
          .quantity = QUANTITY_DEW_MARGIN,
          .value = 3},
         2.1,
         "Surface less than 3 K above the dew point in the Drying room since 11:00, "
         "now 2.1 K"},
        {{.zone = &drying, .rule = RULE_CONTACT, .quantity = QUANTITY_LEAK, .on = true},
         1,
         "Leak in the Drying room since 11:00"},
        {{.zone = &drying, .rule = RULE_CONTACT, .quantity = QUANTITY_MAINS},
         0,
         "Mains power off in the Drying room since 11:00"},
        {{.zone = &numbered, .rule = RULE_CONTACT, .quantity = QUANTITY_PLANT_RUNNING},
         0,
         "Plant stopped in Store 2 since 11:00"},
        {{.zone = &owned, .rule = RULE_CONTACT, .quantity = QUANTITY_TANK_FULL, .on = true},
         1,
         "Tank full in Anna's corner since 11:00"},
        {{.zone = &yard, .rule = RULE_BELOW, .quantity = QUANTITY_TEMPERATURE, .value = 0},
         -2,
         "Temperature below 0 °C outdoors (Yard, north wall) since 11:00, now -2 °C"},
        {{.instrument = &dr1, .rule = RULE_SILENT},
         (double)NAN,
         "No reading from dr-1 in the Drying room since 11:00"},
        {{.zone = &drying, .rule = RULE_SILENT},
         3,
         "No reading in the Drying room since 11:00"},
        {{.zone = &drying, .rule = RULE_ABOVE, .quantity = QUANTITY_MOULD_INDEX, .value = 0.5},
         0.55,
         "Mould index above 0.5 in the Drying room since 11:00, now 0.55"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct words_alarm alarm = {.limit = &rows[i].limit,
                                    .since_s = NOON - HOUR,
                                    .now = rows[i].now,
                                    .worst = (double)NAN};
        says(&alarm, rows[i].want);
    }
}

static void the_day_is_named_as_far_as_needed(void **state)
{
    (void)state;
    static const struct {
        int64_t ago_s;
        const char *want;
    } rows[] = {
        {0, "12:00"},
        {12 * HOUR, "00:00"},
        {12 * HOUR + 60, "Tuesday 23:59"},
        {6 * DAY, "Thursday 12:00"},
        {7 * DAY, "18 November 12:00"},
        {22 * DAY, "3 November 12:00"},
        {329 * DAY, "31 December 12:00"}, /* of last year: no other is near */
        {387 * DAY, "3 November 2025 12:00"},
        {-2 * DAY, "27 November 2026 12:00"}, /* the clock was put back */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct buf b = {0};
        words_time(NOON - rows[i].ago_s, NOON, &b);
        assert_string_equal(b.data, rows[i].want);
        buf_free(&b);
    }
}

static void times_are_the_studios_own_through_the_summer_change(void **state)
{
    (void)state;
    assert_true(clock_zone_set("Europe/London"));
    struct buf b = {0};
    /* 2026-06-30 23:30 UTC is 1 July 00:30 in London: British Summer Time, UTC+1. */
    words_time(1782862200, 1782862200 + 30 * DAY, &b);
    assert_string_equal(b.data, "1 July 00:30");
    buf_free(&b);
    assert_true(clock_zone_set("UTC"));
}

static void numbers_lose_zeros_that_say_nothing(void **state)
{
    (void)state;
    static const struct {
        double value;
        int decimals;
        const char *want;
    } rows[] = {{65, 2, "65"},       {65.5, 2, "65.5"}, {65.004, 2, "65"}, {-0.001, 1, "0"},
                {-3.25, 2, "-3.25"}, {100, 0, "100"},   {0.1, 1, "0.1"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct buf b = {0};
        words_number(rows[i].value, rows[i].decimals, &b);
        assert_string_equal(b.data, rows[i].want);
        buf_free(&b);
    }
}

static int utc(void **state)
{
    (void)state;
    return clock_zone_set("UTC") ? 0 : -1;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_lasting_alarm_says_what_where_since_when_and_how_far),
        cmocka_unit_test(an_alarm_that_is_over_says_from_when_to_when_and_the_worst),
        cmocka_unit_test(every_rule_has_its_words),
        cmocka_unit_test(the_day_is_named_as_far_as_needed),
        cmocka_unit_test(times_are_the_studios_own_through_the_summer_change),
        cmocka_unit_test(numbers_lose_zeros_that_say_nothing),
    };
    return cmocka_run_group_tests(tests, utc, NULL);
}
