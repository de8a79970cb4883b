/* daybuf.h - the readings of one channel's open days in memory, three to four bytes each.
 *
 * Differences of time and value from the reading before, as variable-length integers: half a
 * million readings of a large house in two megabytes.
 *
 * Owner:   daybuf_free; a zeroed struct is an empty one.
 * Errors:  RC_NOMEM leaves it as it was.
 */
#ifndef RECORDER_DAYBUF_H
#define RECORDER_DAYBUF_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/rc.h"

struct daybuf {
    uint8_t *data; /* owned */
    uint32_t len, cap;
    uint32_t count;
    int32_t last_value;
    uint16_t last_flags;
    int64_t last_t_s;
};

void daybuf_free(struct daybuf *b);
MUST_USE enum rc daybuf_add(struct daybuf *b, int64_t t_s, int32_t value, uint16_t flags);

/* Walks through it from the start. */
struct daybuf_cursor {
    const struct daybuf *buf;
    uint32_t at;
    int64_t t_s;
    int32_t value;
    uint16_t flags;
};
void daybuf_start(const struct daybuf *b, struct daybuf_cursor *out);
bool daybuf_next(struct daybuf_cursor *c);

/* Forgets what lies before a time. */
MUST_USE enum rc daybuf_cut(struct daybuf *b, int64_t before_s);

#endif
