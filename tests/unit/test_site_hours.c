/* test_site_hours.c - the studio's working hours. */
#include "support/site_text.h"

#include "base/clock.h"

static const struct {
    const char *text;
    int days, from, to; /* days -1: not allowed */
} hours[] = {
    {"Mo-Fr 08:30-18:00", 0x1F, 510, 1080},
    {"Mo,We-Sa 9:00-17:00", 0x3D, 540, 1020},
    {"Sa-Mo 0:00-24:00", 0x61, 0, 1440},
    {"Tu, Th 10:15-10:16", 0x0A, 615, 616},
    {"Su\t9:00-9:30", 0x40, 540, 570},
    {"Mo-Fr", -1, 0, 0},
    {"08:30-18:00", -1, 0, 0},
    {"Mo-Fr 18:00-08:30", -1, 0, 0},
    {"Mo-Fr 8-18", -1, 0, 0},
    {"Mo-Fr 08:60-18:00", -1, 0, 0},
    {"Mo-Fr 08:30-24:01", -1, 0, 0},
    {"Mo-Fr 08:30-18:00 Sa", -1, 0, 0},
    {"mo-fr 08:30-18:00", -1, 0, 0},
    {"Mo-Fr 008:30-18:00", -1, 0, 0},
    {"Mo-Fr 8:5-18:00", -1, 0, 0},
    {"Mo- 08:30-18:00", -1, 0, 0},
};

static void working_hours_are_days_and_a_span(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof hours / sizeof hours[0]; i++) {
        struct buf text = {0}, want = {0};
        buf_printf(&text, "[studio]\nworking_hours = %s\n", hours[i].text);
        if (hours[i].days < 0) {
            buf_printf(&want,
                       "site.ini:2: \"%s\" for working_hours in [studio]; allowed: days and a "
                       "span, as \"Mo-Fr 08:30-18:00\" or \"Mo,We-Sa 9:00-17:00\"\n",
                       hours[i].text);
            site_text_gives(text.data, want.data);
        } else {
            struct site *s = site_text_sound(text.data, text.len);
            assert_int_equal(s->working_days, hours[i].days);
            assert_int_equal(s->working_from_min, hours[i].from);
            assert_int_equal(s->working_to_min, hours[i].to);
            assert_string_equal(s->working_hours, hours[i].text);
            site_free(s);
        }
        buf_free(&want);
        buf_free(&text);
    }
}

static bool at_work(const struct site *s, const char *local)
{
    int64_t utc_s = 0;
    assert_true(clock_parse(local, &utc_s));
    return site_working_hours(s, utc_s);
}

static void working_hours_hold_in_the_studios_own_time(void **state)
{
    (void)state;
    assert_true(clock_zone_set("Europe/London"));
    static const char text[] = "[studio]\nworking_hours = Mo-Fr 08:30-18:00\n";
    struct site *s = site_text_sound(text, sizeof text - 1);
    /* 2026-11-25 is a Wednesday, 2026-07-01 too; British summer time is an hour ahead. */
    assert_true(at_work(s, "2026-11-25T08:30:00Z"));
    assert_false(at_work(s, "2026-11-25T08:29:59Z"));
    assert_true(at_work(s, "2026-11-25T17:59:59Z"));
    assert_false(at_work(s, "2026-11-25T18:00:00Z"));
    assert_true(at_work(s, "2026-07-01T07:30:00Z"));
    assert_false(at_work(s, "2026-07-01T17:00:00Z"));
    assert_false(at_work(s, "2026-11-28T12:00:00Z")); /* Saturday */
    assert_false(at_work(s, "2026-11-29T12:00:00Z"));
    assert_true(at_work(s, "2026-11-30T12:00:00Z")); /* Monday */
    assert_true(at_work(s, "1969-12-31T12:00:00Z")); /* a Wednesday before the first second */
    site_free(s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(working_hours_are_days_and_a_span),
        cmocka_unit_test(working_hours_hold_in_the_studios_own_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
