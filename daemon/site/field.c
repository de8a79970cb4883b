/* field.c - see field.h. */
#include "site/field.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void field_refuse(const struct draft *d, const struct draft_section *s,
                  const struct draft_entry *e, const char *allowed, ...)
{
    char text[700];
    va_list args;
    va_start(args, allowed);
    (void)vsnprintf(text, sizeof text, allowed, args);
    va_end(args);
    mistakes_add(d->mistakes, e->line, "\"%s\" for %s in %s; allowed: %s", e->value, e->key,
                 s->label, text);
}

const struct draft_entry *field_entry(const struct draft_section *s, const char *key)
{
    const struct draft_entry *e = draft_entry(s, key);
    return e != NULL && e->value[0] != '\0' ? e : NULL;
}

bool field_required(const struct draft *d, const struct draft_section *s, const char *key,
                    const char *example)
{
    if (draft_entry(s, key) != NULL)
        return true;
    mistakes_add(d->mistakes, s->line, "%s has no %s; allowed: %s = %s", s->label, key, key,
                 example);
    return false;
}

bool field_text(const struct draft *d, const struct draft_section *s, const char *key,
                const char **out)
{
    (void)d;
    const struct draft_entry *e = field_entry(s, key);
    if (e != NULL)
        *out = e->value;
    return e != NULL;
}

bool field_parse_long(const char *text, long least, long most, long *out)
{
    char *end = NULL;
    errno = 0;
    long v = strtol(text, &end, 10);
    if (end == text || *end != '\0' || errno != 0 || v < least || v > most)
        return false;
    *out = v;
    return true;
}

bool field_parse_double(const char *text, double *out)
{
    /* strtod would take "inf", "nan" and hexadecimal too. */
    if (text[0] == '\0' || strspn(text, "+-.0123456789eE") != strlen(text))
        return false;
    char *end = NULL;
    double v = strtod(text, &end);
    if (end == text || *end != '\0' || !isfinite(v))
        return false;
    *out = v;
    return true;
}

bool field_int(const struct draft *d, const struct draft_section *s, const char *key, int least,
               int most, int *out)
{
    const struct draft_entry *e = field_entry(s, key);
    if (e == NULL)
        return false;
    long v = 0;
    if (!field_parse_long(e->value, least, most, &v)) {
        field_refuse(d, s, e, "a whole number, %d to %d", least, most);
        return false;
    }
    *out = (int)v;
    return true;
}

bool field_double(const struct draft *d, const struct draft_section *s, const char *key,
                  double least, double most, double *out)
{
    const struct draft_entry *e = field_entry(s, key);
    if (e == NULL)
        return false;
    double v = 0;
    if (!field_parse_double(e->value, &v) || v < least || v > most) {
        field_refuse(d, s, e, "a number, %g to %g", least, most);
        return false;
    }
    *out = v;
    return true;
}

bool field_yes_no(const struct draft *d, const struct draft_section *s, const char *key,
                  bool *out)
{
    static const char *const words[] = {"no", "yes", NULL};
    int word = 0;
    if (!field_word(d, s, key, words, &word))
        return false;
    *out = word == 1;
    return true;
}

bool field_word(const struct draft *d, const struct draft_section *s, const char *key,
                const char *const *words, int *out)
{
    const struct draft_entry *e = field_entry(s, key);
    if (e == NULL)
        return false;
    for (int i = 0; words[i] != NULL; i++)
        if (strcmp(words[i], e->value) == 0) {
            *out = i;
            return true;
        }
    struct buf allowed = {0};
    for (int i = 0; words[i] != NULL; i++)
        buf_printf(&allowed, "%s%s", i > 0 ? ", " : "", words[i]);
    field_refuse(d, s, e, "%s", allowed.failed ? "" : allowed.data);
    buf_free(&allowed);
    return false;
}

struct duration_unit {
    const char *word;
    long factor;
};

/* A whole number and a unit, with or without a blank between them. */
static bool parse_duration(const char *text, const struct duration_unit *units, long *out)
{
    enum {
        MOST = 10000000
    };
    char *end = NULL;
    errno = 0;
    long n = strtol(text, &end, 10);
    if (end == text || errno != 0 || n < 0 || n > MOST)
        return false;
    end += strspn(end, " \t");
    for (const struct duration_unit *u = units; u->word != NULL; u++)
        if (strcmp(end, u->word) == 0) {
            *out = n * u->factor;
            return true;
        }
    return false;
}

bool field_parse_duration(const char *text, long *out_s)
{
    static const struct duration_unit units[] = {
        {"s", 1}, {"min", 60}, {"h", 3600}, {"d", 86400}, {NULL, 0}};
    return parse_duration(text, units, out_s);
}

bool field_duration_s(const struct draft *d, const struct draft_section *s, const char *key,
                      int least_s, int most_s, int *out_s)
{
    const struct draft_entry *e = field_entry(s, key);
    if (e == NULL)
        return false;
    long v = 0;
    if (!field_parse_duration(e->value, &v) || v < least_s || v > most_s) {
        field_refuse(d, s, e, "a time from %d s to %d h, as \"90 s\", \"30 min\", \"2 h\"",
                     least_s, most_s / 3600);
        return false;
    }
    *out_s = (int)v;
    return true;
}

bool field_duration_ms(const struct draft *d, const struct draft_section *s, const char *key,
                       int least_ms, int most_ms, int *out_ms)
{
    static const struct duration_unit units[] = {{"ms", 1}, {"s", 1000}, {NULL, 0}};
    const struct draft_entry *e = field_entry(s, key);
    if (e == NULL)
        return false;
    long v = 0;
    if (!parse_duration(e->value, units, &v) || v < least_ms || v > most_ms) {
        field_refuse(d, s, e, "a time from %d ms to %d ms, as \"%d ms\"", least_ms, most_ms,
                     most_ms);
        return false;
    }
    *out_ms = (int)v;
    return true;
}

const struct draft_section *field_reference(const struct draft *d,
                                            const struct draft_section *s, const char *key,
                                            enum section kind)
{
    const struct draft_entry *e = field_entry(s, key);
    if (e == NULL)
        return NULL;
    const struct draft_section *found = draft_find(d, kind, e->value);
    if (found == NULL) {
        struct buf names = {0};
        draft_names(d, kind, &names);
        field_refuse(d, s, e, "the NAME of a section [%s NAME]: %s", keys_of(kind)->section,
                     names.failed ? "" : names.data);
        buf_free(&names);
    }
    return found;
}

static bool good_host(const char *host, size_t len)
{
    if (len == 0 || len > 253)
        return false;
    for (size_t i = 0; i < len; i++)
        if (strchr("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.-_:%",
                   host[i]) == NULL)
            return false;
    return true;
}

bool field_address(const struct draft *d, const struct draft_section *s, const char *key,
                   const char *default_port, const char *forms, const char **out_host,
                   const char **out_port)
{
    const struct draft_entry *e = field_entry(s, key);
    if (e == NULL)
        return false;
    const char *host = e->value, *port = NULL;
    const char *host_end = strrchr(host, ':');
    if (host[0] == '[') {
        host++;
        host_end = strchr(host, ']');
        if (host_end != NULL && host_end[1] == ':')
            port = host_end + 2;
        else if (host_end == NULL || host_end[1] != '\0')
            host_end = host; /* refused below as empty */
    } else if (host_end != NULL) {
        if (memchr(host, ':', (size_t)(host_end - host)) != NULL)
            host_end = host; /* an IPv6 address without its brackets */
        port = host_end + 1;
    } else {
        host_end = host + strlen(host);
    }
    long number = 0;
    if (port == NULL)
        port = default_port;
    if (!good_host(host, (size_t)(host_end - host)) || port == NULL ||
        strspn(port, "0123456789") != strlen(port) ||
        !field_parse_long(port, 1, 65535, &number)) {
        field_refuse(d, s, e, "%s, with a port from 1 to 65535", forms);
        return false;
    }
    *out_host = arena_str(d->arena, host, (size_t)(host_end - host));
    *out_port = arena_printf(d->arena, "%ld", number);
    return true;
}

size_t field_split(char *text, char **words, size_t most)
{
    size_t n = 0;
    for (char *c = text; *c != '\0';) {
        c += strspn(c, " \t");
        if (*c == '\0')
            break;
        if (n < most)
            words[n] = c;
        n++;
        c += strcspn(c, " \t");
        if (*c != '\0')
            *c++ = '\0';
    }
    return n;
}
