/* dayfile.h - format 1 of a day file: one UTC day of one channel, as signed.
 *
 * Text, one reading a line, "t,value,flags" as decimal integers without leading zeros or plus
 * signs, each line ended by one LF, in rising order of t; nothing else. t is UTC seconds, value
 * an integer at the quantity's power of ten, flags the bits of enum reading_flag.
 */
#ifndef STORE_DAYFILE_H
#define STORE_DAYFILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"

void dayfile_line(struct buf *out, int64_t t_s, int64_t value, unsigned flags);

/* Reads the line at *at and moves on; false at the end. `*bad` is set on a malformed line, at
 * which reading stops. */
struct dayfile_cursor {
    const char *at, *end;
    bool bad;
};
bool dayfile_next(struct dayfile_cursor *cursor, int64_t *out_t_s, int32_t *out_value,
                  unsigned *out_flags);

#endif
