/* query.c - see query.h. */
#include "http/query.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/json.h"

const char query_rules[] =
    "a query is name=value pairs joined by &, at most 16, each name once, "
    "in UTF-8 with %XX escapes and no control characters";

static int hex(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    if (c >= 'A' && c <= 'F')
        return c - 'A' + 10;
    return -1;
}

static bool utf8(const char *text)
{
    json_t *string = json_string(text); /* checks what it is given */
    json_decref(string);
    return string != NULL;
}

bool query_unescape(const char *raw, size_t len, char *out, size_t size)
{
    size_t at = 0;
    for (size_t i = 0; i < len; i++) {
        int c = (unsigned char)raw[i];
        if (c == '%') {
            int high = i + 2 < len ? hex(raw[i + 1]) : -1;
            int low = high >= 0 ? hex(raw[i + 2]) : -1;
            if (low < 0)
                return false;
            c = high * 16 + low;
            i += 2;
        }
        if (c < 0x20 || c == 0x7f || at + 1 >= size)
            return false;
        out[at++] = (char)c;
    }
    if (at >= size)
        return false;
    out[at] = '\0';
    return utf8(out);
}

/* Unescapes one side of a pair to *to and moves *to behind it. */
static bool side(const char *raw, size_t len, char **to, const char *end, const char **out)
{
    if (!query_unescape(raw, len, *to, (size_t)(end - *to)))
        return false;
    *out = *to;
    *to += strlen(*to) + 1;
    return true;
}

static bool pair(struct query *query, const char *raw, size_t len, char **to, const char *end)
{
    const char *equals = memchr(raw, '=', len);
    if (equals == NULL || equals == raw || query->count == QUERY_ITEMS_MOST)
        return false;
    struct query_item item;
    size_t name_len = (size_t)(equals - raw);
    if (!side(raw, name_len, to, end, &item.name) ||
        !side(equals + 1, len - name_len - 1, to, end, &item.value) ||
        query_get(query, item.name) != NULL)
        return false;
    query->items[query->count++] = item;
    return true;
}

enum rc query_parse(const char *raw, struct query *out)
{
    struct query query = {0};
    if (raw == NULL || raw[0] == '\0') {
        *out = query;
        return RC_OK;
    }
    /* Unescaping never lengthens; each = and & gives room for the NUL of its side. */
    size_t size = strlen(raw) + 2;
    query.text = malloc(size);
    if (query.text == NULL)
        return RC_NOMEM;
    char *to = query.text;
    for (const char *at = raw;; at++) {
        size_t len = strcspn(at, "&");
        if (!pair(&query, at, len, &to, query.text + size)) {
            query_free(&query);
            return RC_BAD_INPUT;
        }
        at += len;
        if (*at == '\0')
            break;
    }
    *out = query;
    return RC_OK;
}

void query_free(struct query *query)
{
    free(query->text);
    *query = (struct query){0};
}

const char *query_get(const struct query *query, const char *name)
{
    for (size_t i = 0; i < query->count; i++)
        if (strcmp(query->items[i].name, name) == 0)
            return query->items[i].value;
    return NULL;
}

bool query_int(const char *text, int64_t least, int64_t most, int64_t *out)
{
    if (text[0] != '-' && (text[0] < '0' || text[0] > '9'))
        return false; /* strtoll would take blanks and a plus */
    char *end;
    errno = 0;
    long long v = strtoll(text, &end, 10);
    if (errno != 0 || end == text || *end != '\0' || v < least || v > most)
        return false;
    *out = v;
    return true;
}

bool query_time(const char *text, int64_t *out_utc_s)
{
    enum {
        DAYS_TO_YEAR_10000 = 2932897
    };
    const int64_t most = (int64_t)DAYS_TO_YEAR_10000 * CLOCK_DAY_S - 1;
    int64_t utc_s;
    if (query_int(text, 0, most, out_utc_s))
        return true;
    if (!clock_parse(text, &utc_s) || utc_s < 0 || utc_s > most)
        return false;
    *out_utc_s = utc_s;
    return true;
}
