/* mistakes.h - what is wrong in a site file, gathered to be told all at once by line.
 *
 * Errors: memory that runs out is remembered in `failed`.
 * Owner:  mistakes_free releases it; begin with {.path = ...}.
 */
#ifndef SITE_MISTAKES_H
#define SITE_MISTAKES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/buf.h"

struct mistakes {
    const char *path; /* borrowed: the file's name in each line */
    struct mistake *all;
    size_t count, cap;
    size_t untold; /* beyond the most that anyone would read */
    bool failed;
};

void mistakes_free(struct mistakes *m);

/* "what, and what is allowed", without a full stop or a line end. */
void mistakes_add(struct mistakes *m, int line, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* True if there is one in the lines from `from` up to but not `to`. */
bool mistakes_between(const struct mistakes *m, int from, int to);

/* One line each, "path:line: what", in order of the file. */
void mistakes_print(struct mistakes *m, struct buf *out);

#endif
