/* buf.c - see buf.h. */
#include "base/buf.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void buf_free(struct buf *b)
{
    free(b->data);
    *b = (struct buf){0};
}

void buf_clear(struct buf *b)
{
    b->len = 0;
    b->failed = false;
    if (b->data != NULL)
        b->data[0] = '\0';
}

static bool room(struct buf *b, size_t more)
{
    if (b->failed)
        return false;
    if (b->len + more + 1 <= b->cap)
        return true;
    size_t cap = b->cap < 64 ? 128 : b->cap * 2;
    if (cap < b->len + more + 1)
        cap = b->len + more + 1;
    char *data = realloc(b->data, cap);
    if (data == NULL) {
        b->failed = true;
        return false;
    }
    b->data = data;
    b->cap = cap;
    return true;
}

void buf_add(struct buf *b, const void *data, size_t len)
{
    if (!room(b, len))
        return;
    if (len > 0)
        memcpy(b->data + b->len, data, len);
    b->len += len;
    b->data[b->len] = '\0';
}

void buf_str(struct buf *b, const char *text)
{
    buf_add(b, text, strlen(text));
}

void buf_printf(struct buf *b, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    va_list again;
    va_copy(again, args);
    int n = vsnprintf(NULL, 0, format, args);
    va_end(args);
    if (n >= 0 && room(b, (size_t)n)) {
        vsnprintf(b->data + b->len, (size_t)n + 1, format, again);
        b->len += (size_t)n;
    }
    va_end(again);
}

void buf_int(struct buf *b, int64_t v)
{
    char digits[24];
    size_t at = sizeof digits;
    uint64_t u = v < 0 ? -(uint64_t)v : (uint64_t)v;
    do {
        digits[--at] = (char)('0' + u % 10);
        u /= 10;
    } while (u != 0);
    if (v < 0)
        digits[--at] = '-';
    buf_add(b, digits + at, sizeof digits - at);
}
