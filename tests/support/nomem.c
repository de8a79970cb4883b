/* nomem.c - see nomem.h. */
#include "support/nomem.h"

#include <stddef.h>

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void __real_free(void *p);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);
void __wrap_free(void *p);

static long left = -1; /* allocations until one fails; below 0: none does */
static bool lasts;     /* and all after it */
static bool met;       /* one has failed */
static long held;      /* blocks not yet given back */

void nomem_after(long allocations, bool for_ever)
{
    met = false;
    lasts = for_ever;
    left = allocations;
}

bool nomem_end(void)
{
    left = -1;
    return met;
}

bool nomem_met(void)
{
    return met;
}

long nomem_held(void)
{
    return held;
}

static bool fails(void)
{
    if (left < 0)
        return false;
    if (left > 0) {
        left--;
        return false;
    }
    met = true;
    if (!lasts)
        left = -1;
    return true;
}

void *__wrap_malloc(size_t size)
{
    void *p = fails() ? NULL : __real_malloc(size);
    held += p != NULL;
    return p;
}

void *__wrap_calloc(size_t count, size_t size)
{
    void *p = fails() ? NULL : __real_calloc(count, size);
    held += p != NULL;
    return p;
}

void *__wrap_realloc(void *old, size_t size)
{
    void *p = fails() ? NULL : __real_realloc(old, size);
    held += p != NULL && old == NULL;
    return p;
}

void __wrap_free(void *p)
{
    held -= p != NULL;
    __real_free(p);
}
