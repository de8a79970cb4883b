/* buf.h - a growing run of bytes, always followed by a NUL, for texts that are built up.
 *
 * Errors: memory that runs out is remembered in `failed`; later writes do nothing, so that a
 *         text is built without a test on every line and checked once at its end.
 * Owner:  buf_free releases it; a zeroed struct is an empty one.
 */
#ifndef BASE_BUF_H
#define BASE_BUF_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct buf {
    char *data; /* owned; NULL while empty */
    size_t len;
    size_t cap;
    bool failed;
};

void buf_free(struct buf *b);
void buf_clear(struct buf *b); /* empties it, keeps the memory */
void buf_add(struct buf *b, const void *data, size_t len);
void buf_str(struct buf *b, const char *text);
void buf_printf(struct buf *b, const char *format, ...) __attribute__((format(printf, 2, 3)));
void buf_int(struct buf *b, int64_t v); /* decimal, several times faster than printf */

#endif
