/* test_site_read.c - every form of a read line. */
#include "support/site_text.h"

#include <stdlib.h>

/* One instrument whose only read line is the one given; it stands in line 9. */
static void text_of(const char *line, struct buf *out)
{
    buf_printf(out,
               "[bus b]\nkind = modbus-tcp\naddress = h\n[zone z]\n[instrument i]\nbus = b\n"
               "unit = 1\nzone = z\nread = %s\n",
               line);
}

static const struct {
    const char *line;
    struct site_read want;
} good[] = {
    /* tables and types */
    {"leak coil 0 bit", {.quantity = QUANTITY_LEAK, .table = TABLE_COIL, .type = TYPE_BIT}},
    {"door discrete 65535 bit",
     {.quantity = QUANTITY_DOOR, .table = TABLE_DISCRETE, .address = 65535, .type = TYPE_BIT}},
    {"mains input 7 uint16",
     {.quantity = QUANTITY_MAINS, .table = TABLE_INPUT, .address = 7, .type = TYPE_UINT16}},
    {"temperature input 1 int16", {.table = TABLE_INPUT, .address = 1, .type = TYPE_INT16}},
    {"humidity holding 256 uint16",
     {.quantity = QUANTITY_HUMIDITY,
      .table = TABLE_HOLDING,
      .address = 256,
      .type = TYPE_UINT16}},
    {"surface_temperature holding 65534 int32",
     {.quantity = QUANTITY_SURFACE_TEMPERATURE,
      .table = TABLE_HOLDING,
      .address = 65534,
      .type = TYPE_INT32}},
    {"wood_moisture input 2 uint32",
     {.quantity = QUANTITY_WOOD_MOISTURE,
      .table = TABLE_INPUT,
      .address = 2,
      .type = TYPE_UINT32}},
    {"temperature input 0 float32", {.table = TABLE_INPUT, .type = TYPE_FLOAT32}},
    {"temperature input 65532 float64",
     {.table = TABLE_INPUT, .address = 65532, .type = TYPE_FLOAT64}},
    {"tank_full coil 1 bit",
     {.quantity = QUANTITY_TANK_FULL, .table = TABLE_COIL, .address = 1, .type = TYPE_BIT}},
    /* word order */
    {"temperature input 0 float32 abcd", {.table = TABLE_INPUT, .type = TYPE_FLOAT32}},
    {"temperature input 0 float32 cdab",
     {.table = TABLE_INPUT, .type = TYPE_FLOAT32, .order = WORDS_CDAB}},
    {"temperature input 0 int32 badc",
     {.table = TABLE_INPUT, .type = TYPE_INT32, .order = WORDS_BADC}},
    {"temperature input 0 float64 dcba",
     {.table = TABLE_INPUT, .type = TYPE_FLOAT64, .order = WORDS_DCBA}},
    /* scale and offset */
    {"temperature input 0 int16 x0.1",
     {.table = TABLE_INPUT, .type = TYPE_INT16, .scale = 0.1}},
    {"temperature input 0 int16 x-1e-2",
     {.table = TABLE_INPUT, .type = TYPE_INT16, .scale = -0.01}},
    {"temperature input 0 uint16 x0.1 -40",
     {.table = TABLE_INPUT, .type = TYPE_UINT16, .scale = 0.1, .offset = -40}},
    {"temperature input 0 uint16 +.5 x10",
     {.table = TABLE_INPUT, .type = TYPE_UINT16, .scale = 10, .offset = 0.5}},
    /* contacts the other way round */
    {"mains discrete 3 bit invert",
     {.quantity = QUANTITY_MAINS,
      .table = TABLE_DISCRETE,
      .address = 3,
      .type = TYPE_BIT,
      .invert = true}},
    {"plant_running input 3 uint16 invert none 65535",
     {.quantity = QUANTITY_PLANT_RUNNING,
      .table = TABLE_INPUT,
      .address = 3,
      .type = TYPE_UINT16,
      .invert = true,
      .none = {65535},
      .none_count = 1}},
    /* codes that mean "no value" */
    {"temperature input 0 int16 none 32767,-32768",
     {.table = TABLE_INPUT, .type = TYPE_INT16, .none = {32767, -32768}, .none_count = 2}},
    {"temperature input 0 int16 none 0x7FFF, 0x8000 x0.1",
     {.table = TABLE_INPUT,
      .type = TYPE_INT16,
      .none = {32767, -32768},
      .none_count = 2,
      .scale = 0.1}},
    {"temperature input 0 uint16 none 0x8000 , 1",
     {.table = TABLE_INPUT, .type = TYPE_UINT16, .none = {32768, 1}, .none_count = 2}},
    {"temperature input 0 uint16 none 2 ,3",
     {.table = TABLE_INPUT, .type = TYPE_UINT16, .none = {2, 3}, .none_count = 2}},
    {"temperature input 0 int32 none 0x80000000",
     {.table = TABLE_INPUT, .type = TYPE_INT32, .none = {-2147483648.0}, .none_count = 1}},
    {"temperature input 0 uint32 none 0xFFFFFFFF",
     {.table = TABLE_INPUT, .type = TYPE_UINT32, .none = {4294967295.0}, .none_count = 1}},
    /* -999.9 as a float32: (double)-999.9f, by IEEE 754 -999.900024... */
    {"temperature input 0 float32 none -999.9",
     {.table = TABLE_INPUT,
      .type = TYPE_FLOAT32,
      .none = {-999.9000244140625},
      .none_count = 1}},
    {"temperature input 0 float64 none -999.9,1e30",
     {.table = TABLE_INPUT, .type = TYPE_FLOAT64, .none = {-999.9, 1e30}, .none_count = 2}},
    {"temperature input 0 int16 none 1,2,3,4,5,6,7,8",
     {.table = TABLE_INPUT,
      .type = TYPE_INT16,
      .none = {1, 2, 3, 4, 5, 6, 7, 8},
      .none_count = 8}},
};

static void every_form_of_a_read_line_is_taken(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        struct buf text = {0};
        text_of(good[i].line, &text);
        struct site *s = site_text_sound(text.data, text.len);
        const struct site_read *got = s->instruments[0].reads, *want = &good[i].want;
        assert_int_equal(s->instruments[0].read_count, 1);
        assert_int_equal(got->quantity, want->quantity);
        assert_int_equal(got->table, want->table);
        assert_int_equal(got->address, want->address);
        assert_int_equal(got->type, want->type);
        assert_int_equal(got->order, want->order);
        assert_int_equal(got->invert, want->invert);
        /* A row that names no scale means the line's default. */
        assert_near(got->scale, fabs(want->scale) > 0 ? want->scale : 1, 0);
        assert_near(got->offset, want->offset, 0);
        assert_int_equal(got->none_count, want->none_count);
        for (size_t k = 0; k < got->none_count; k++)
            assert_near(got->none[k], want->none[k], 0);
        assert_true(isnan(got->uncertainty));
        site_free(s);
        buf_free(&text);
    }
}

#define QUANTITIES                                                                             \
    "temperature, humidity, surface_temperature, wood_moisture, leak, mains, door, "           \
    "tank_full, "                                                                              \
    "plant_running"

static const struct {
    const char *line, *want;
} wrong[] = {
    {"temperature input 1",
     "too few words in \"temperature input 1\"; allowed: QUANTITY TABLE "
     "ADDRESS TYPE, as \"temperature input 1 int16 x0.1\", with addresses "
     "from 0"},
    {"temp input 1 int16", "unknown quantity \"temp\"; allowed: " QUANTITIES},
    {"Temperature input 1 int16", "unknown quantity \"Temperature\"; allowed: " QUANTITIES},
    {"dew_point input 1 int16",
     "worked out, never measured: \"dew_point\"; allowed: " QUANTITIES},
    {"temperature register 1 int16",
     "unknown table \"register\"; allowed: coil, discrete, input, holding"},
    {"temperature input 1 short", "unknown type \"short\"; allowed: bit, int16, uint16, int32, "
                                  "uint32, float32, float64"},
    {"temperature input -1 int16",
     "bad address \"-1\"; allowed: 0 to 65535, the first register being 0"},
    {"temperature input 1.5 int16",
     "bad address \"1.5\"; allowed: 0 to 65535, the first register being 0"},
    {"temperature input 0x10 int16",
     "bad address \"0x10\"; allowed: 0 to 65535, the first register being 0"},
    {"temperature input 65535 int32",
     "bad address \"65535\"; allowed: 0 to 65534, the first register being 0"},
    {"temperature input 65533 float64",
     "bad address \"65533\"; allowed: 0 to 65532, the first register being 0"},
    {"temperature input 99999999999999999999 int16",
     "bad address \"99999999999999999999\"; allowed: 0 to 65535, the first register being 0"},
    {"leak coil 0 uint16", "a coil or discrete input has no type \"uint16\"; allowed: bit"},
    {"leak input 0 bit", "an input or holding register has no type \"bit\"; allowed: int16, "
                         "uint16, int32, uint32, float32, float64"},
    {"leak input 0 float32", "a contact has no type \"float32\"; allowed: bit, or uint16 for a "
                             "register that holds 0 or 1"},
    {"temperature coil 0 bit", "no contact: \"temperature\"; allowed: leak, mains, door, "
                               "tank_full, plant_running for a bit"},
    {"temperature input 0 int16 0.1",
     "unknown word \"0.1\"; allowed: xSCALE, +OFFSET, -OFFSET, abcd, cdab, badc, dcba, invert, "
     "none CODE,CODE"},
    {"temperature input 0 int16 x0",
     "bad scale \"x0\"; allowed: x and a number other than 0, as x0.1"},
    {"temperature input 0 int16 x0,1",
     "bad scale \"x0,1\"; allowed: x and a number other than 0, as x0.1"},
    {"temperature input 0 int16 x",
     "bad scale \"x\"; allowed: x and a number other than 0, as x0.1"},
    {"temperature input 0 int16 xinf",
     "bad scale \"xinf\"; allowed: x and a number other than 0, as x0.1"},
    {"temperature input 0 int16 x1 x2", "second scale \"x2\"; allowed: one"},
    {"temperature input 0 int16 -", "bad offset \"-\"; allowed: a sign and a number, as -40"},
    {"temperature input 0 int16 +1 -1", "second offset \"-1\"; allowed: one"},
    {"leak coil 0 bit x2", "a contact takes neither scale nor offset: \"x2\"; allowed: invert"},
    {"leak coil 0 bit invert invert", "second \"invert\"; allowed: one"},
    {"temperature input 0 int16 invert",
     "only a contact takes \"invert\"; allowed: a scale, as x-1"},
    {"temperature input 0 int16 cdab",
     "a single register has no word order: \"cdab\"; allowed: "
     "an order for int32, uint32, float32, float64"},
    {"temperature input 0 int32 cdab abcd", "second word order \"abcd\"; allowed: one"},
    {"temperature input 0 int16 none", "no code after \"none\"; allowed: none CODE,CODE..."},
    {"temperature input 0 int16 none 1,", "no code after \"1\"; allowed: none CODE,CODE..."},
    {"temperature input 0 int16 none 32768", "bad code that means \"no value\": \"32768\"; "
                                             "allowed: whole numbers from -32768 to 32767, "
                                             "or hexadecimal as 0x8000"},
    {"temperature input 0 uint16 none 0x10000",
     "bad code that means \"no value\": \"0x10000\"; allowed: whole numbers from 0 to 65535, "
     "or "
     "hexadecimal as 0x8000"},
    {"temperature input 0 uint16 none 1.5",
     "bad code that means \"no value\": \"1.5\"; allowed: whole numbers from 0 to 65535, or "
     "hexadecimal as 0x8000"},
    {"temperature input 0 uint16 none 1,,2",
     "bad code that means \"no value\": \"\"; allowed: whole numbers from 0 to 65535, or "
     "hexadecimal as 0x8000"},
    {"temperature input 0 float64 none 0x7ff8",
     "bad code that means \"no value\": \"0x7ff8\"; allowed: numbers from -1.797693135e+308 to "
     "1.797693135e+308"},
    {"temperature input 0 int16 none 1,2,3,4,5,6,7,8,9",
     "too many codes: \"9\"; allowed: 8 of them"},
};

static void each_wrong_word_of_a_read_line_is_named(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct buf text = {0}, want = {0};
        text_of(wrong[i].line, &text);
        buf_printf(&want, "site.ini:9: read in [instrument i]: %s\n", wrong[i].want);
        site_text_gives(text.data, want.data);
        buf_free(&want);
        buf_free(&text);
    }
}

static void a_line_of_very_many_words_is_refused(void **state)
{
    (void)state;
    struct buf line = {0}, text = {0}, mistakes = {0};
    buf_str(&line, "temperature input 0 int16 none 1");
    for (int i = 0; i < 30; i++)
        buf_str(&line, " a");
    text_of(line.data, &text);
    site_text_wrong(text.data, text.len, &mistakes);
    assert_non_null(strstr(mistakes.data, "too many words in"));
    buf_free(&line);
    buf_free(&text);
    buf_free(&mistakes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_form_of_a_read_line_is_taken),
        cmocka_unit_test(each_wrong_word_of_a_read_line_is_named),
        cmocka_unit_test(a_line_of_very_many_words_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
