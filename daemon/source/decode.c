/* decode.c - see decode.h. */
#include "source/decode.h"

#include <math.h>
#include <string.h>

unsigned decode_width(enum site_type type)
{
    switch (type) {
    case TYPE_INT32:
    case TYPE_UINT32:
    case TYPE_FLOAT32:
        return 2;
    case TYPE_FLOAT64:
        return 4;
    case TYPE_BIT:
    case TYPE_INT16:
    case TYPE_UINT16:
        break;
    }
    return 1;
}

/* The words as one big-endian number. The orders are named by where the bytes of the number
 * ABCD stand on the wire: cdab has the low word first, badc the low byte of each word, dcba
 * both. The same rule extends to four words. */
static uint64_t gather(unsigned width, enum site_word_order order, const uint16_t *words)
{
    bool low_word_first = order == WORDS_CDAB || order == WORDS_DCBA;
    bool low_byte_first = order == WORDS_BADC || order == WORDS_DCBA;
    uint64_t bits = 0;
    for (unsigned i = 0; i < width; i++) {
        uint16_t word = words[low_word_first ? width - 1 - i : i];
        if (low_byte_first)
            word = (uint16_t)(word << 8 | word >> 8);
        bits = bits << 16 | word;
    }
    return bits;
}

static double as_float32(uint64_t bits)
{
    uint32_t narrow = (uint32_t)bits;
    float value;
    memcpy(&value, &narrow, sizeof value);
    return (double)value;
}

static double as_float64(uint64_t bits)
{
    double value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

static double number(enum site_type type, uint64_t bits)
{
    switch (type) {
    case TYPE_BIT:
        return bits != 0 ? 1.0 : 0.0;
    case TYPE_INT16:
        return (double)(bits & 0x8000 ? (int64_t)bits - 0x10000 : (int64_t)bits);
    case TYPE_INT32:
        return (double)(bits & 0x80000000 ? (int64_t)bits - 0x100000000 : (int64_t)bits);
    case TYPE_UINT16:
    case TYPE_UINT32:
        return (double)bits;
    case TYPE_FLOAT32:
        return as_float32(bits);
    case TYPE_FLOAT64:
        return as_float64(bits);
    }
    return NAN;
}

double decode_raw(enum site_type type, enum site_word_order order, const uint16_t *words)
{
    return number(type, gather(decode_width(type), order, words));
}

static bool same(double a, double b)
{
    return a >= b && a <= b;
}

/* A code may be written as people read it in a manual: -32768 or 32768 for 0x8000, and a
 * float32 with the decimals that the float rounds. */
static bool is_code(const struct site_read *read, uint64_t bits, double raw)
{
    bool whole = read->type != TYPE_FLOAT32 && read->type != TYPE_FLOAT64;
    for (size_t i = 0; i < read->none_count; i++) {
        double code = read->none[i];
        if (same(raw, code) || (whole && same((double)bits, code)) ||
            (read->type == TYPE_FLOAT32 && same(raw, (double)(float)code)))
            return true;
    }
    return false;
}

enum gap_reason decode_read(const struct site_read *read, const uint16_t *words, int32_t *out)
{
    uint64_t bits = gather(decode_width(read->type), read->order, words);
    double value = number(read->type, bits);
    if (isnan(value) || is_code(read, bits, value))
        return GAP_NO_VALUE;
    if (quantity_info(read->quantity)->kind == QUANTITY_CONTACT) {
        bool on = value < 0 || value > 0;
        *out = on != read->invert ? 1 : 0;
        return GAP_NONE;
    }
    value = value * read->scale + read->offset;
    return quantity_encode(read->quantity, value, out) ? GAP_NONE : GAP_NO_VALUE;
}
