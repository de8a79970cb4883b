/* arena.h - memory that is given back all at once: what a site file's strings and arrays need.
 *
 * Errors: memory that runs out is remembered in `failed`; check it once at the end. Strings
 *         are then "", never NULL; arena_new gives NULL.
 * Owner:  arena_free releases everything; a zeroed struct is an empty one.
 */
#ifndef SITE_ARENA_H
#define SITE_ARENA_H

#include <stdbool.h>
#include <stddef.h>

struct arena {
    struct arena_block *blocks; /* owned */
    bool failed;
    char none[1]; /* the string that found no memory */
};

void arena_free(struct arena *a);

/* `count` zeroed elements; never NULL for a count of 0 unless memory ran out. */
void *arena_new(struct arena *a, size_t count, size_t size);

/* A copy of `len` bytes with a NUL behind them. */
char *arena_str(struct arena *a, const char *text, size_t len);

char *arena_printf(struct arena *a, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

#endif
