/* mistakes.c - see mistakes.h. */
#include "site/mistakes.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

enum {
    MOST = 1000, /* a file that is no site file at all must not fill memory with complaints */
    TEXT_BYTES = 1024
};

struct mistake {
    int line;
    size_t order; /* in which it was found: the second key of the sort */
    char *text;   /* owned */
};

void mistakes_free(struct mistakes *m)
{
    for (size_t i = 0; i < m->count; i++)
        free(m->all[i].text);
    free(m->all);
    *m = (struct mistakes){.path = m->path};
}

static bool room(struct mistakes *m)
{
    if (m->failed || m->count < m->cap)
        return !m->failed;
    size_t cap = m->cap == 0 ? 16 : m->cap * 2;
    struct mistake *all = realloc(m->all, cap * sizeof *all);
    if (all == NULL) {
        m->failed = true;
        return false;
    }
    m->all = all;
    m->cap = cap;
    return true;
}

void mistakes_add(struct mistakes *m, int line, const char *format, ...)
{
    if (m->count >= MOST) {
        m->untold++;
        return;
    }
    struct buf text = {0};
    char chunk[TEXT_BYTES];
    va_list args;
    va_start(args, format);
    int n = vsnprintf(chunk, sizeof chunk, format, args);
    va_end(args);
    if (n >= 0)
        buf_str(&text, chunk);
    if (n >= (int)sizeof chunk)
        buf_str(&text, " ...");
    if (n < 0 || text.failed || !room(m)) {
        m->failed = true;
        buf_free(&text);
        return;
    }
    m->all[m->count] = (struct mistake){.line = line, .order = m->count, .text = text.data};
    m->count++;
}

bool mistakes_between(const struct mistakes *m, int from, int to)
{
    for (size_t i = 0; i < m->count; i++)
        if (m->all[i].line >= from && m->all[i].line < to)
            return true;
    return false;
}

static int by_line(const void *left, const void *right)
{
    const struct mistake *a = left, *b = right;
    if (a->line != b->line)
        return a->line < b->line ? -1 : 1;
    return a->order < b->order ? -1 : 1;
}

void mistakes_print(struct mistakes *m, struct buf *out)
{
    if (m->count > 1)
        qsort(m->all, m->count, sizeof *m->all, by_line);
    for (size_t i = 0; i < m->count; i++)
        buf_printf(out, "%s:%d: %s\n", m->path, m->all[i].line, m->all[i].text);
    if (m->untold > 0)
        buf_printf(out, "%s: and %zu more\n", m->path, m->untold);
}
