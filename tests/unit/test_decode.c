/* What registers mean: bit patterns to values. Float patterns after IEEE 754-2019, table 3.5
 * (sign, biased exponent, fraction); two's complement for the integers. */
#include "support/near.h"

#include <stdio.h>

#include "source/decode.h"

struct raw_row {
    const char *what;
    enum site_type type;
    enum site_word_order order;
    uint16_t words[4];
    double raw;
};

static const struct raw_row raw_rows[] = {
    {"zero", TYPE_INT16, WORDS_ABCD, {0}, 0},
    {"most positive", TYPE_INT16, WORDS_ABCD, {0x7fff}, 32767},
    {"most negative", TYPE_INT16, WORDS_ABCD, {0x8000}, -32768},
    {"minus one", TYPE_INT16, WORDS_ABCD, {0xffff}, -1},
    {"bytes swapped", TYPE_INT16, WORDS_BADC, {0xfeff}, -2},
    {"bytes swapped by dcba", TYPE_INT16, WORDS_DCBA, {0xfeff}, -2},
    {"cdab leaves one word alone", TYPE_INT16, WORDS_CDAB, {0xfffe}, -2},
    {"largest unsigned", TYPE_UINT16, WORDS_ABCD, {0xffff}, 65535},
    {"1234567890, abcd", TYPE_UINT32, WORDS_ABCD, {0x4996, 0x02d2}, 1234567890},
    {"1234567890, cdab", TYPE_UINT32, WORDS_CDAB, {0x02d2, 0x4996}, 1234567890},
    {"1234567890, badc", TYPE_UINT32, WORDS_BADC, {0x9649, 0xd202}, 1234567890},
    {"1234567890, dcba", TYPE_UINT32, WORDS_DCBA, {0xd202, 0x9649}, 1234567890},
    {"largest unsigned of 32", TYPE_UINT32, WORDS_ABCD, {0xffff, 0xffff}, 4294967295.0},
    {"minus one of 32", TYPE_INT32, WORDS_ABCD, {0xffff, 0xffff}, -1},
    {"most negative of 32", TYPE_INT32, WORDS_ABCD, {0x8000, 0}, -2147483648.0},
    {"-100000, cdab", TYPE_INT32, WORDS_CDAB, {0x7960, 0xfffe}, -100000},
    {"one", TYPE_FLOAT32, WORDS_ABCD, {0x3f80, 0}, 1},
    {"minus two", TYPE_FLOAT32, WORDS_ABCD, {0xc000, 0}, -2},
    {"minus zero", TYPE_FLOAT32, WORDS_ABCD, {0x8000, 0}, 0},
    {"0.15625", TYPE_FLOAT32, WORDS_ABCD, {0x3e20, 0}, 0.15625},
    {"-118.625, abcd", TYPE_FLOAT32, WORDS_ABCD, {0xc2ed, 0x4000}, -118.625},
    {"-118.625, cdab", TYPE_FLOAT32, WORDS_CDAB, {0x4000, 0xc2ed}, -118.625},
    {"-118.625, badc", TYPE_FLOAT32, WORDS_BADC, {0xedc2, 0x0040}, -118.625},
    {"-118.625, dcba", TYPE_FLOAT32, WORDS_DCBA, {0x0040, 0xedc2}, -118.625},
    {"least subnormal", TYPE_FLOAT32, WORDS_ABCD, {0, 1}, 0x1p-149},
    {"largest float32", TYPE_FLOAT32, WORDS_ABCD, {0x7f7f, 0xffff}, 0x1.fffffep127},
    {"one of 64", TYPE_FLOAT64, WORDS_ABCD, {0x3ff0, 0, 0, 0}, 1},
    {"-118.625 of 64", TYPE_FLOAT64, WORDS_ABCD, {0xc05d, 0xa800, 0, 0}, -118.625},
    {"a third of 64, cdab",
     TYPE_FLOAT64,
     WORDS_CDAB,
     {0x5555, 0x5555, 0x5555, 0x3fd5},
     1.0 / 3.0},
    {"a third of 64, dcba",
     TYPE_FLOAT64,
     WORDS_DCBA,
     {0x5555, 0x5555, 0x5555, 0xd53f},
     1.0 / 3.0},
    {"one of 64, badc", TYPE_FLOAT64, WORDS_BADC, {0xf03f, 0, 0, 0}, 1},
    {"a bit that is set", TYPE_BIT, WORDS_ABCD, {1}, 1},
    {"any other content is a set bit", TYPE_BIT, WORDS_ABCD, {0xff00}, 1},
    {"a bit that is not", TYPE_BIT, WORDS_ABCD, {0}, 0},
};

static void every_type_and_order_gives_the_number_in_the_registers(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof raw_rows / sizeof *raw_rows; i++) {
        const struct raw_row *row = &raw_rows[i];
        double got = decode_raw(row->type, row->order, row->words);
        if (!(got >= row->raw && got <= row->raw))
            fail_msg("%s: got %.17g, expected %.17g", row->what, got, row->raw);
    }
}

static void the_width_of_a_type_is_what_it_takes_of_registers(void **state)
{
    (void)state;
    static const struct {
        enum site_type type;
        unsigned width;
    } widths[] = {{TYPE_BIT, 1},    {TYPE_INT16, 1},   {TYPE_UINT16, 1}, {TYPE_INT32, 2},
                  {TYPE_UINT32, 2}, {TYPE_FLOAT32, 2}, {TYPE_FLOAT64, 4}};
    for (size_t i = 0; i < sizeof widths / sizeof *widths; i++)
        assert_int_equal(decode_width(widths[i].type), widths[i].width);
}

struct read_row {
    const char *what;
    struct site_read read;
    uint16_t words[4];
    enum gap_reason gap;
    int32_t value; /* at the quantity's power of ten */
};

#define READ(q, t, ...)                                                                        \
    {                                                                                          \
        .quantity = QUANTITY_##q, .type = TYPE_##t, __VA_ARGS__                                \
    }

static const struct read_row read_rows[] = {
    {"tenths of a degree", READ(TEMPERATURE, INT16, .scale = 0.1), {213}, GAP_NONE, 2130},
    {"below zero", READ(TEMPERATURE, INT16, .scale = 0.1), {0xffce}, GAP_NONE, -500},
    {"hundredths", READ(HUMIDITY, UINT16, .scale = 0.01), {5512}, GAP_NONE, 5512},
    {"an offset",
     READ(TEMPERATURE, UINT16, .scale = 0.1, .offset = -40),
     {600},
     GAP_NONE,
     2000},
    {"a negative scale", READ(TEMPERATURE, INT16, .scale = -1), {5}, GAP_NONE, -500},
    {"a float", READ(TEMPERATURE, FLOAT32, .scale = 1), {0x41aa, 0x0000}, GAP_NONE, 2125},
    {"half is rounded away from zero",
     READ(TEMPERATURE, INT16, .scale = 0.125),
     {1},
     GAP_NONE,
     13},
    {"and below zero too", READ(TEMPERATURE, INT16, .scale = 0.125), {0xffff}, GAP_NONE, -13},
    {"a code, as read unsigned",
     READ(TEMPERATURE, INT16, .scale = 0.1, .none = {32768}, .none_count = 1),
     {0x8000},
     GAP_NO_VALUE,
     0},
    {"a code, as read signed",
     READ(TEMPERATURE, INT16, .scale = 0.1, .none = {-32768}, .none_count = 1),
     {0x8000},
     GAP_NO_VALUE,
     0},
    {"the second code of two",
     READ(HUMIDITY, UINT16, .scale = 0.1, .none = {65535, 65534}, .none_count = 2),
     {0xfffe},
     GAP_NO_VALUE,
     0},
    {"beside a code",
     READ(HUMIDITY, UINT16, .scale = 0.01, .none = {999}, .none_count = 1),
     {998},
     GAP_NONE,
     998},
    {"a code is raw, before scale and offset",
     READ(TEMPERATURE, INT16, .scale = 0.1, .none = {20}, .none_count = 1),
     {200},
     GAP_NONE,
     2000},
    {"a code of a float, with the decimals that float32 rounds",
     READ(TEMPERATURE, FLOAT32, .scale = 1, .none = {-999.9}, .none_count = 1),
     {0xc479, 0xf99a},
     GAP_NO_VALUE,
     0},
    {"quiet NaN", READ(TEMPERATURE, FLOAT32, .scale = 1), {0x7fc0, 0}, GAP_NO_VALUE, 0},
    {"signalling NaN", READ(TEMPERATURE, FLOAT32, .scale = 1), {0x7f80, 1}, GAP_NO_VALUE, 0},
    {"negative NaN", READ(TEMPERATURE, FLOAT32, .scale = 1), {0xffff, 0xffff}, GAP_NO_VALUE, 0},
    {"infinity", READ(TEMPERATURE, FLOAT32, .scale = 1), {0x7f80, 0}, GAP_NO_VALUE, 0},
    {"minus infinity", READ(TEMPERATURE, FLOAT32, .scale = 1), {0xff80, 0}, GAP_NO_VALUE, 0},
    {"NaN of 64", READ(HUMIDITY, FLOAT64, .scale = 1), {0x7ff8, 0, 0, 0}, GAP_NO_VALUE, 0},
    {"more than 32 bits hold",
     READ(HUMIDITY, UINT32, .scale = 1),
     {0xffff, 0xffff},
     GAP_NO_VALUE,
     0},
    {"a contact that is closed", READ(LEAK, BIT, .scale = 1), {1}, GAP_NONE, 1},
    {"a contact that is open", READ(LEAK, BIT, .scale = 1), {0}, GAP_NONE, 0},
    {"inverted, closed", READ(DOOR, BIT, .scale = 1, .invert = true), {1}, GAP_NONE, 0},
    {"inverted, open", READ(DOOR, BIT, .scale = 1, .invert = true), {0}, GAP_NONE, 1},
    {"a contact in a register", READ(MAINS, UINT16, .scale = 1), {0x00ff}, GAP_NONE, 1},
    {"a contact without a value",
     READ(MAINS, UINT16, .scale = 1, .none = {65535}, .none_count = 1),
     {0xffff},
     GAP_NO_VALUE,
     0},
};

static void a_read_gives_its_quantity_or_says_that_there_is_no_value(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof read_rows / sizeof *read_rows; i++) {
        const struct read_row *row = &read_rows[i];
        int32_t got = -4711;
        enum gap_reason gap = decode_read(&row->read, row->words, &got);
        int32_t want = row->gap == GAP_NONE ? row->value : -4711; /* untouched */
        if (gap != row->gap || got != want)
            fail_msg("%s: got %d (%s), expected %d (%s)", row->what, got, gap_reason_word(gap),
                     want, gap_reason_word(row->gap));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_type_and_order_gives_the_number_in_the_registers),
        cmocka_unit_test(the_width_of_a_type_is_what_it_takes_of_registers),
        cmocka_unit_test(a_read_gives_its_quantity_or_says_that_there_is_no_value),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
