/* The query is the one text from outside that we take apart ourselves: rows for what is
 * allowed, and random bytes for what is not. */
#include "support/near.h"

#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "http/query.h"

static void pairs_come_back_unescaped(void **state)
{
    (void)state;
    struct query q;
    assert_int_equal(
        query_parse("quantity=humidity&from=2026-11-25T02:10%3a00+01:00&x=%C3%A9&e=", &q),
        RC_OK);
    assert_int_equal(q.count, 4);
    assert_string_equal(query_get(&q, "quantity"), "humidity");
    assert_string_equal(query_get(&q, "from"), "2026-11-25T02:10:00+01:00");
    assert_string_equal(query_get(&q, "x"), "\xC3\xA9");
    assert_string_equal(query_get(&q, "e"), "");
    assert_null(query_get(&q, "quant"));
    query_free(&q);
}

static void no_query_is_an_empty_one(void **state)
{
    (void)state;
    struct query q;
    assert_int_equal(query_parse(NULL, &q), RC_OK);
    assert_int_equal(q.count, 0);
    query_free(&q);
    assert_int_equal(query_parse("", &q), RC_OK);
    assert_int_equal(q.count, 0);
    query_free(&q);
}

static void anything_malformed_is_refused_whole(void **state)
{
    (void)state;
    static const char *const rows[] = {
        "a",
        "=1",
        "a=1&",
        "&a=1",
        "a=1&&b=2",
        "a=%",
        "a=%4",
        "a=%4x",
        "a=%00",
        "a=%0a",
        "a=%7f",
        "a=\x01",
        "%zz=1",
        "a=1&a=2",
        "a=%ff",
        "a=\xC3",
        "a=%C3%28",
        "a=%ED%A0%80", /* a surrogate half is no UTF-8 */
        "a=1&b=2&c=3&d=4&e=5&f=6&g=7&h=8&i=9&j=10&k=11&l=12&m=13&n=14&o=15&p=16&q=17",
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct query q = {.count = 99};
        if (query_parse(rows[i], &q) != RC_BAD_INPUT)
            print_error("taken: %s\n", rows[i]);
        assert_int_equal(query_parse(rows[i], &q), RC_BAD_INPUT);
        assert_int_equal(q.count, 99); /* left alone */
    }
}

static void numbers_are_whole_and_within_bounds(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool good;
    } rows[] = {{"2", true},    {"4000", true}, {"1", false},   {"4001", false},
                {"", false},    {" 5", false},  {"+5", false},  {"5 ", false},
                {"5.0", false}, {"0x5", false}, {"1e3", false}, {"99999999999999999999", false},
                {"-5", false},  {"0005", true}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int64_t v = -77;
        if (query_int(rows[i].text, 2, 4000, &v) != rows[i].good)
            print_error("%s\n", rows[i].text);
        assert_int_equal(query_int(rows[i].text, 2, 4000, &v), rows[i].good);
        if (!rows[i].good)
            assert_int_equal(v, -77);
    }
}

static void moments_are_seconds_or_iso_8601(void **state)
{
    (void)state;
    assert_true(clock_zone_set("Europe/London"));
    static const struct {
        const char *text;
        int64_t want; /* -1: refused */
    } rows[] = {
        {"0", 0},
        {"1795608000", 1795608000},
        {"2026-11-25T12:00:00Z", 1795608000}, /* date -u -d @1795608000 */
        {"2026-11-25T13:00+01:00", 1795608000},
        {"2026-11-25T12:00", 1795608000}, /* London keeps UTC in November */
        {"2026-07-01", 1782860400},       /* 2026-06-30T23:00Z: British Summer Time */
        {"-1", -1},
        {"1969-12-31T23:59:59Z", -1},
        {"253402300800", -1}, /* 10000-01-01 */
        {"2026-02-29", -1},
        {"2026-11-25T24:00", -1},
        {"yesterday", -1},
        {"", -1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int64_t t = -1;
        bool good = query_time(rows[i].text, &t);
        if (t != rows[i].want)
            print_error("%s gives %lld\n", rows[i].text, (long long)t);
        assert_int_equal(t, rows[i].want);
        assert_int_equal(good, rows[i].want >= 0);
    }
}

/* What was taken must be sound whatever was sent; the sanitizers watch the memory. */
static void random_bytes_never_give_an_unsound_query(void **state)
{
    (void)state;
    static const char alphabet[] = "abc=&%+0123456789ABCDEFxyz-:T \x01\x7f\xC3\xA9\xff;#?/";
    uint32_t seed = 20261125;
    size_t taken = 0;
    for (int round = 0; round < 200000; round++) {
        char text[48];
        size_t len = 0;
        seed = seed * 1664525 + 1013904223; /* Numerical Recipes, ch. 7 */
        size_t want = seed >> 27;
        for (; len < want; len++) {
            seed = seed * 1664525 + 1013904223;
            text[len] = alphabet[(seed >> 16) % (sizeof alphabet - 1)];
        }
        text[len] = '\0';
        struct query q;
        if (query_parse(text, &q) != RC_OK)
            continue;
        taken++;
        assert_true(q.count <= QUERY_ITEMS_MOST);
        for (size_t i = 0; i < q.count; i++) {
            assert_true(strlen(q.items[i].name) + strlen(q.items[i].value) <= len);
            assert_ptr_equal(query_get(&q, q.items[i].name), q.items[i].value);
        }
        query_free(&q);
    }
    assert_true(taken > 1000); /* else the alphabet tries nothing */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pairs_come_back_unescaped),
        cmocka_unit_test(no_query_is_an_empty_one),
        cmocka_unit_test(anything_malformed_is_refused_whole),
        cmocka_unit_test(numbers_are_whole_and_within_bounds),
        cmocka_unit_test(moments_are_seconds_or_iso_8601),
        cmocka_unit_test(random_bytes_never_give_an_unsound_query),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
