/* decode.h - what the content of registers means: one configured read to one value.
 *
 * Registers come as the wire carries them, one word each, high byte first; bits come as one
 * word each, 0 or 1. The decoding is ours since the float getters of libmodbus differ from
 * version to version.
 *
 * Range:   words must hold decode_width() entries.
 * Threads: pure functions.
 */
#ifndef SOURCE_DECODE_H
#define SOURCE_DECODE_H

#include <stdint.h>

#include "site/site.h"
#include "source/sink.h"

/* How many registers (or bits) a type takes. */
unsigned decode_width(enum site_type type);

/* The raw number in the registers, before scale and offset; NaN if they hold a NaN. */
double decode_raw(enum site_type type, enum site_word_order order, const uint16_t *words);

/* The value as it is recorded. GAP_NO_VALUE, and *out untouched, for NaN, infinity, a code
 * that means "no value", and what no integer of the quantity can hold. */
enum gap_reason decode_read(const struct site_read *read, const uint16_t *words, int32_t *out);

#endif
