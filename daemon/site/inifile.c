/* inifile.c - see inifile.h. inih itself tells the line of its first error only, cuts long lines
 * and long section names, and reads an indented line as more of the value above it. So each
 * line is looked at here first; inih is given the sound ones, without their indent, and
 * splits them into key and value. */
#include "site/inifile.h"

#include <ini.h>
#include <limits.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

struct reader {
    const char *at, *end;
    int line;
    bool expected; /* inih was given this line as a pair and has not told it back yet */
    struct mistakes *mistakes;
    struct inifile_sink *sink;
};

/* Length of the UTF-8 character at `s`, 0 if it is none (RFC 3629: no overlong forms, no
 * surrogates, nothing above U+10FFFF). */
static size_t utf8_len(const unsigned char *s, size_t left)
{
    if (s[0] < 0x80)
        return 1;
    size_t n = s[0] >= 0xF0 ? 4 : s[0] >= 0xE0 ? 3 : 2;
    if (s[0] < 0xC2 || s[0] > 0xF4 || n > left)
        return 0;
    unsigned char low = s[0] == 0xE0 ? 0xA0 : s[0] == 0xF0 ? 0x90 : 0x80;
    unsigned char high = s[0] == 0xED ? 0x9F : s[0] == 0xF4 ? 0x8F : 0xBF;
    if (s[1] < low || s[1] > high)
        return 0;
    for (size_t i = 2; i < n; i++)
        if (s[i] < 0x80 || s[i] > 0xBF)
            return 0;
    return n;
}

static bool sound_text(struct reader *r, const char *s, size_t len)
{
    for (size_t i = 0; i < len;) {
        const unsigned char *c = (const unsigned char *)s + i;
        size_t n = utf8_len(c, len - i);
        if (n == 0) {
            mistakes_add(r->mistakes, r->line,
                         "byte 0x%02X at position %zu is not UTF-8; allowed: text in UTF-8", *c,
                         i + 1);
            return false;
        }
        if ((*c < 0x20 && *c != '\t') || *c == 0x7F) {
            mistakes_add(r->mistakes, r->line,
                         "control character 0x%02X at position %zu; allowed: printable text "
                         "and tabs",
                         *c, i + 1);
            return false;
        }
        i += n;
    }
    return true;
}

static bool blank(char c)
{
    return c == ' ' || c == '\t';
}

/* "[kind name]", with nothing but a comment behind it. */
static void heading(struct reader *r, const char *s, size_t len)
{
    const char *close = memchr(s, ']', len);
    if (close == NULL) {
        mistakes_add(r->mistakes, r->line,
                     "section heading without its \"]\"; allowed: [section] or [section NAME]");
        return;
    }
    const char *rest = close + 1, *end = s + len;
    while (rest < end && blank(*rest))
        rest++;
    if (rest < end && *rest != ';' && *rest != '#') {
        mistakes_add(r->mistakes, r->line,
                     "\"%.*s\" behind a section heading; allowed: a comment", (int)(end - rest),
                     rest);
    }
    r->sink->section(r->sink, r->line, s + 1, (size_t)(close - s - 1));
}

static void unsplit(struct reader *r)
{
    if (r->expected)
        mistakes_add(r->mistakes, r->line,
                     "neither a heading, a comment nor a pair; allowed: [section], # comment, "
                     "key = value");
    r->expected = false;
}

/* The next line without its end and indent; false at the end of the text. */
static bool next_line(struct reader *r, const char **out, size_t *out_len)
{
    if (r->at == r->end)
        return false;
    const char *s = r->at;
    const char *lf = memchr(s, '\n', (size_t)(r->end - s));
    const char *end = lf != NULL ? lf : r->end;
    r->at = lf != NULL ? lf + 1 : r->end;
    r->line++;
    if (end > s && end[-1] == '\r')
        end--;
    if (r->line == 1 && end - s >= 3 && memcmp(s, "\xEF\xBB\xBF", 3) == 0)
        s += 3;
    *out = s;
    *out_len = (size_t)(end - s);
    return true;
}

/* inih's reader: one sound pair, or an empty line in place of what was dealt with here. */
static char *read_line(char *out, int size, void *stream)
{
    struct reader *r = stream;
    unsplit(r);
    const char *s = NULL;
    size_t len = 0;
    if (!next_line(r, &s, &len))
        return NULL;
    out[0] = '\0';
    if (!sound_text(r, s, len))
        return out;
    while (len > 0 && blank(*s)) {
        s++;
        len--;
    }
    if (len == 0 || *s == ';' || *s == '#')
        return out;
    if (*s == '[') {
        heading(r, s, len);
        return out;
    }
    if (size < 2 || len > (size_t)size - 1) {
        mistakes_add(r->mistakes, r->line, "line of %zu bytes; allowed: at most %d bytes", len,
                     size - 1);
        return out;
    }
    memcpy(out, s, len);
    out[len] = '\0';
    r->expected = true;
    return out;
}

static int take_pair(void *user, const char *section, const char *key, const char *value)
{
    struct reader *r = user;
    (void)section; /* cut to 49 bytes by inih; the heading was read whole above */
    r->expected = false;
    r->sink->pair(r->sink, r->line, key, value);
    return 1;
}

enum rc inifile_read(const char *text, size_t len, struct mistakes *mistakes,
                     struct inifile_sink *sink)
{
    struct reader r = {.at = text, .end = text + len, .mistakes = mistakes, .sink = sink};
    /* Its result, the first bad line, is known already. -2: no memory for its line. */
    int rc = ini_parse_stream(read_line, &r, take_pair, &r);
    unsplit(&r);
    return rc == -2 ? RC_NOMEM : RC_OK;
}
