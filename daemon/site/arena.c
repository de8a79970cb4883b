/* arena.c - see arena.h. */
#include "site/arena.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK_BYTES = 4096,
    ALIGN = _Alignof(max_align_t)
};

struct arena_block {
    struct arena_block *next;
    size_t used, size;
    max_align_t bytes[];
};

void arena_free(struct arena *a)
{
    while (a->blocks != NULL) {
        struct arena_block *next = a->blocks->next;
        free(a->blocks);
        a->blocks = next;
    }
    a->failed = false;
}

void *arena_new(struct arena *a, size_t count, size_t size)
{
    if (size != 0 && count > (SIZE_MAX / 2) / size)
        goto fail;
    size_t need = (count * size + ALIGN - 1) / ALIGN * ALIGN;
    struct arena_block *b = a->blocks;
    if (b == NULL || b->size - b->used < need) {
        size_t bytes = need > BLOCK_BYTES ? need : BLOCK_BYTES;
        b = calloc(1, sizeof *b + bytes);
        if (b == NULL)
            goto fail;
        b->size = bytes;
        b->next = a->blocks;
        a->blocks = b;
    }
    void *at = (char *)b->bytes + b->used;
    b->used += need;
    return at;
fail:
    a->failed = true;
    return NULL;
}

char *arena_str(struct arena *a, const char *text, size_t len)
{
    char *copy = arena_new(a, len + 1, 1);
    if (copy == NULL)
        return a->none;
    if (len > 0)
        memcpy(copy, text, len);
    return copy;
}

char *arena_printf(struct arena *a, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    va_list again;
    va_copy(again, args);
    int n = vsnprintf(NULL, 0, format, args);
    va_end(args);
    char *out = n >= 0 ? arena_new(a, (size_t)n + 1, 1) : NULL;
    if (out != NULL)
        vsnprintf(out, (size_t)n + 1, format, again);
    va_end(again);
    return out != NULL ? out : a->none;
}
