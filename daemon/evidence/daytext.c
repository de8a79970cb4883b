/* daytext.c - see daytext.h. */
#include "evidence/daytext.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"

void daytext_write(const struct daytext *t, struct buf *out)
{
    char day[16];
    clock_day_text(t->day, day, sizeof day);
    buf_printf(out, "stillroom signed day 1\nday %s\nnumber %lld\nmanifest %s\n", day,
               (long long)t->number, t->manifest);
    buf_printf(out, "previous %s\nstore %s\nkey %s\n", t->previous, t->store, t->key);
    if (t->notes_len > 0)
        buf_add(out, t->notes, t->notes_len);
}

struct cursor {
    const char *at, *end;
};

/* The rest of a line that begins with `word`, into a field of `size` bytes. */
static bool field(struct cursor *c, const char *word, char *out, size_t size)
{
    size_t word_len = strlen(word);
    const char *lf = memchr(c->at, '\n', (size_t)(c->end - c->at));
    if (lf == NULL || (size_t)(lf - c->at) < word_len || memcmp(c->at, word, word_len) != 0)
        return false;
    size_t len = (size_t)(lf - c->at) - word_len;
    if (len >= size || memchr(c->at, '\0', (size_t)(lf - c->at)) != NULL)
        return false;
    memcpy(out, c->at + word_len, len);
    out[len] = '\0';
    c->at = lf + 1;
    return true;
}

static bool is_hex(const char *text, size_t digits)
{
    return strlen(text) == digits && strspn(text, "0123456789abcdef") == digits;
}

static bool good_notes(const char *at, const char *end)
{
    while (at < end) {
        const char *lf = memchr(at, '\n', (size_t)(end - at));
        if (lf == NULL || lf - at < 6 || memcmp(at, "note ", 5) != 0)
            return false;
        for (; at < lf; at++)
            if ((unsigned char)*at < ' ' || *at == 0x7f)
                return false;
        at = lf + 1;
    }
    return true;
}

bool daytext_read(const void *text, size_t len, struct daytext *out)
{
    struct cursor c = {.at = text, .end = (const char *)text + len};
    struct daytext t = {0};
    char day[16], number[13], nothing[1];
    if (len == 0 || !field(&c, "stillroom signed day 1", nothing, sizeof nothing) ||
        !field(&c, "day ", day, sizeof day) || !field(&c, "number ", number, sizeof number) ||
        !field(&c, "manifest ", t.manifest, sizeof t.manifest) ||
        !field(&c, "previous ", t.previous, sizeof t.previous) ||
        !field(&c, "store ", t.store, sizeof t.store) ||
        !field(&c, "key ", t.key, sizeof t.key))
        return false;
    t.notes = c.at;
    t.notes_len = (size_t)(c.end - c.at);
    t.number = strtoll(number, NULL, 10);
    bool first = strcmp(t.previous, "none") == 0;
    if (!clock_day_parse(day, &t.day) || t.number < 1 || (t.number == 1) != first ||
        !is_hex(t.manifest, 64) || !(first || is_hex(t.previous, 64)) || !is_hex(t.store, 16) ||
        !is_hex(t.key, 16) || !good_notes(c.at, c.end))
        return false;
    /* Leading zeros, signs and the like: only what we write is what was meant. */
    struct buf again = {0};
    daytext_write(&t, &again);
    bool same = !again.failed && again.len == len && memcmp(again.data, text, len) == 0;
    buf_free(&again);
    if (same)
        *out = t;
    return same;
}

void daytext_date(int64_t day, char *out, size_t size)
{
    enum {
        DAYS_MOST = 2932896 /* 9999-12-31 */
    };
    if (day >= 0 && day <= DAYS_MOST)
        clock_day_text(day, out, size);
    else
        snprintf(out, size, "no date");
}

bool daytext_note(const struct daytext *t, size_t *at, const char **out, size_t *out_len)
{
    if (*at >= t->notes_len)
        return false;
    const char *line = t->notes + *at;
    const char *lf = memchr(line, '\n', t->notes_len - *at);
    *out = line;
    *out_len = lf == NULL ? t->notes_len - *at : (size_t)(lf - line);
    *at += *out_len + 1;
    return true;
}
