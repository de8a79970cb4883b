/* nomem.h - lets memory run out. For programs that are linked with
 * --wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free: it is their own calls, and those of our
 * libraries, that fail; not those inside shared libraries.
 *
 * Threads: one.
 */
#ifndef TESTS_SUPPORT_NOMEM_H
#define TESTS_SUPPORT_NOMEM_H

#include <stdbool.h>

/* Fails the allocation after `allocations` more, and, `for_ever`, all later ones. */
void nomem_after(long allocations, bool for_ever);

/* Ends it; whether an allocation failed since nomem_after. */
bool nomem_end(void);

/* Whether one has failed so far. */
bool nomem_met(void);

/* Blocks that were given out and not yet given back. */
long nomem_held(void);

#endif
