/* manifest.c - see manifest.h. */
#include "evidence/manifest.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct manifest_cursor manifest_start(const struct buf *text)
{
    const char *data = text->data == NULL ? "" : text->data;
    return (struct manifest_cursor){.at = data, .end = data + text->len};
}

static bool hex_value(char c, uint8_t *out)
{
    static const char digits[] = "0123456789abcdef";
    const char *at = c == '\0' ? NULL : strchr(digits, c);
    if (at == NULL)
        return false;
    *out = (uint8_t)(at - digits);
    return true;
}

static bool good_name(const char *name, size_t len)
{
    if (len == 0 || len >= MANIFEST_NAME || name[0] == '/' || name[len - 1] == '/')
        return false;
    for (size_t i = 0; i < len; i++) {
        char c = name[i];
        bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
        if (!letter && !(c >= '0' && c <= '9') && c != '.' && c != '-' && c != '/')
            return false;
    }
    return true;
}

/* 64 digits, two spaces, a name. */
static bool read_line(const char *line, size_t len, struct manifest_line *out)
{
    enum {
        HEAD = 2 * SEAL_DIGEST + 2
    };
    if (len <= HEAD || line[HEAD - 2] != ' ' || line[HEAD - 1] != ' ' ||
        !good_name(line + HEAD, len - HEAD))
        return false;
    for (size_t i = 0; i < SEAL_DIGEST; i++) {
        uint8_t high, low;
        if (!hex_value(line[2 * i], &high) || !hex_value(line[2 * i + 1], &low))
            return false;
        out->digest[i] = (uint8_t)(high << 4 | low);
    }
    snprintf(out->hex, sizeof out->hex, "%.64s", line);
    snprintf(out->name, sizeof out->name, "%.*s", (int)(len - HEAD), line + HEAD);
    return true;
}

bool manifest_next(struct manifest_cursor *c, struct manifest_line *out)
{
    if (c->bad || c->at == c->end)
        return false;
    const char *lf = memchr(c->at, '\n', (size_t)(c->end - c->at));
    c->bad = lf == NULL || !read_line(c->at, (size_t)(lf - c->at), out);
    if (c->bad)
        return false;
    c->at = lf + 1;
    return true;
}

bool manifest_names(const struct buf *text, const char *name)
{
    struct manifest_cursor c = manifest_start(text);
    struct manifest_line line;
    while (manifest_next(&c, &line))
        if (strcmp(line.name, name) == 0)
            return true;
    return false;
}

bool manifest_channel(const char *name, uint32_t *out)
{
    char again[32], *end;
    if (strncmp(name, "channel-", 8) != 0)
        return false;
    unsigned long long n = strtoull(name + 8, &end, 10);
    if (n == 0 || n > UINT32_MAX)
        return false;
    snprintf(again, sizeof again, "channel-%llu.csv", n);
    if (strcmp(name, again) != 0)
        return false;
    *out = (uint32_t)n;
    return true;
}

/* The last field of a line of channels.csv for a zone: ,"NAME" with quotes doubled. */
static void zone_field(const char *zone, struct buf *out)
{
    buf_str(out, ",\"");
    for (; *zone != '\0'; zone++)
        buf_add(out, *zone == '"' ? "\"\"" : zone, *zone == '"' ? 2 : 1);
    buf_str(out, "\"");
}

/* channel 0: any. */
static bool find(const struct buf *csv, uint32_t channel, const char *zone)
{
    struct buf field = {0}, head = {0};
    bool found = false;
    if (csv->len == 0)
        return false;
    zone_field(zone, &field);
    buf_printf(&head, "%" PRIu32 ",", channel);
    const char *at = csv->data, *end = csv->data + csv->len;
    while (!found && at < end && !field.failed && !head.failed) {
        const char *lf = memchr(at, '\n', (size_t)(end - at));
        size_t len = (size_t)((lf == NULL ? end : lf) - at);
        found = len > field.len + head.len &&
                (channel == 0 || memcmp(at, head.data, head.len) == 0) &&
                memcmp(at + len - field.len, field.data, field.len) == 0;
        at += len + 1;
    }
    buf_free(&field);
    buf_free(&head);
    return found;
}

bool manifest_in_zone(const struct buf *channels_csv, uint32_t channel, const char *zone)
{
    return channel != 0 && find(channels_csv, channel, zone);
}

bool manifest_zone_known(const struct buf *channels_csv, const char *zone)
{
    return find(channels_csv, 0, zone);
}
