/* regline.c - see regline.h. */
#include "site/regline.h"

#include <errno.h>
#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "site/field.h"

enum {
    WORDS_MAX = 32,
    FIXED_WORDS = 4 /* quantity, table, address, type */
};

struct line {
    const struct draft *d;
    const struct draft_section *s;
    const struct draft_entry *e;
    char *words[WORDS_MAX];
    size_t count;
    struct site_read read;
    bool order_said, scale_said, offset_said;
};

static const char *const table_words[] = {"coil", "discrete", "input", "holding", NULL};
static const char *const order_words[] = {"abcd", "cdab", "badc", "dcba", NULL};
static const char *const type_words[] = {"bit",    "int16",   "uint16",  "int32",
                                         "uint32", "float32", "float64", NULL};

struct raw_type {
    unsigned registers;
    double least, most; /* of the raw content */
};

static const struct raw_type raw_types[] = {
    [TYPE_BIT] = {1, 0, 1},
    [TYPE_INT16] = {1, INT16_MIN, INT16_MAX},
    [TYPE_UINT16] = {1, 0, UINT16_MAX},
    [TYPE_INT32] = {2, INT32_MIN, INT32_MAX},
    [TYPE_UINT32] = {2, 0, UINT32_MAX},
    [TYPE_FLOAT32] = {2, -(double)FLT_MAX, (double)FLT_MAX},
    [TYPE_FLOAT64] = {4, -DBL_MAX, DBL_MAX},
};

static bool one_of(const char *word, const char *const *words, int *out)
{
    for (int i = 0; words[i] != NULL; i++)
        if (strcmp(word, words[i]) == 0) {
            *out = i;
            return true;
        }
    return false;
}

static bool refuse(const struct line *l, const char *what, const char *word,
                   const char *allowed)
{
    mistakes_add(l->d->mistakes, l->e->line, "read in %s: %s \"%s\"; allowed: %s", l->s->label,
                 what, word, allowed);
    return false;
}

static bool refuse_quantity(const struct line *l, const char *what, const char *word)
{
    struct buf allowed = {0};
    for (int q = 0; q < QUANTITY_COUNT; q++)
        if (quantity_info((enum quantity)q)->kind != QUANTITY_DERIVED)
            buf_printf(&allowed, "%s%s", q > 0 ? ", " : "",
                       quantity_info((enum quantity)q)->name);
    refuse(l, what, word, allowed.failed ? "" : allowed.data);
    buf_free(&allowed);
    return false;
}

static bool fixed_words(struct line *l)
{
    if (l->count < FIXED_WORDS)
        return refuse(
            l, "too few words in", l->e->value,
            "QUANTITY TABLE ADDRESS TYPE, as \"temperature input 1 int16 x0.1\", with "
            "addresses from 0");
    struct site_read *r = &l->read;
    if (!quantity_by_name(l->words[0], &r->quantity))
        return refuse_quantity(l, "unknown quantity", l->words[0]);
    if (quantity_info(r->quantity)->kind == QUANTITY_DERIVED)
        return refuse_quantity(l, "worked out, never measured:", l->words[0]);
    int table = 0, type = 0;
    long address = 0;
    if (!one_of(l->words[1], table_words, &table))
        return refuse(l, "unknown table", l->words[1], "coil, discrete, input, holding");
    r->table = (enum site_table)table;
    if (!one_of(l->words[3], type_words, &type))
        return refuse(l, "unknown type", l->words[3],
                      "bit, int16, uint16, int32, uint32, float32, float64");
    r->type = (enum site_type)type;
    long last = 65536 - (long)raw_types[type].registers;
    if (!field_parse_long(l->words[2], 0, last, &address)) {
        char allowed[80];
        (void)snprintf(allowed, sizeof allowed, "0 to %ld, the first register being 0", last);
        return refuse(l, "bad address", l->words[2], allowed);
    }
    r->address = (uint16_t)address;
    return true;
}

static bool type_fits(const struct line *l)
{
    const struct site_read *r = &l->read;
    bool bits = r->table == TABLE_COIL || r->table == TABLE_DISCRETE;
    if (bits != (r->type == TYPE_BIT))
        return refuse(l,
                      bits ? "a coil or discrete input has no type"
                           : "an input or holding register has no type",
                      type_words[r->type],
                      bits ? "bit" : "int16, uint16, int32, uint32, float32, float64");
    bool contact = quantity_info(r->quantity)->kind == QUANTITY_CONTACT;
    if (contact && r->type != TYPE_BIT && r->type != TYPE_UINT16)
        return refuse(l, "a contact has no type", type_words[r->type],
                      "bit, or uint16 for a register that holds 0 or 1");
    if (!contact && r->type == TYPE_BIT)
        return refuse(l, "no contact:", l->words[0],
                      "leak, mains, door, tank_full, plant_running for a bit");
    return true;
}

/* "0x8000" of an int16 is -32768: a code is the content of the register. */
static bool hex_code(const struct site_read *r, const char *text, double *out)
{
    if (strncmp(text, "0x", 2) != 0 || r->type == TYPE_BIT || r->type == TYPE_FLOAT32 ||
        r->type == TYPE_FLOAT64 ||
        strspn(text + 2, "0123456789abcdefABCDEF") != strlen(text + 2))
        return false;
    char *end = NULL;
    errno = 0;
    unsigned long long v = strtoull(text + 2, &end, 16);
    unsigned bits = 16 * raw_types[r->type].registers;
    if (end == text + 2 || errno != 0 || v >= 1ULL << bits)
        return false;
    bool negative = raw_types[r->type].least < 0 && v >= 1ULL << (bits - 1);
    *out = negative ? (double)v - (double)(1ULL << bits) : (double)v;
    return true;
}

static bool add_code(struct line *l, const char *text)
{
    struct site_read *r = &l->read;
    const struct raw_type *raw = &raw_types[r->type];
    bool whole = r->type != TYPE_FLOAT32 && r->type != TYPE_FLOAT64;
    double v = 0;
    if (!hex_code(r, text, &v) && (!field_parse_double(text, &v) || v < raw->least ||
                                   v > raw->most || (whole && floor(v) < v))) {
        char allowed[120];
        (void)snprintf(allowed, sizeof allowed, "%s from %.10g to %.10g%s",
                       whole ? "whole numbers" : "numbers", raw->least, raw->most,
                       whole && r->type != TYPE_BIT ? ", or hexadecimal as 0x8000" : "");
        return refuse(l, "bad code that means \"no value\":", text, allowed);
    }
    if (r->none_count == SITE_NO_VALUE_MAX)
        return refuse(l, "too many codes:", text, "8 of them");
    /* A float32 compares as the float it is, not as the decimal that was written. */
    r->none[r->none_count++] = r->type == TYPE_FLOAT32 ? (double)(float)v : v;
    return true;
}

/* Codes follow "none", parted by commas with or without blanks; *at ends on the last word. */
static bool codes(struct line *l, size_t *at)
{
    bool more = true;
    while (more) {
        if (*at + 1 >= l->count)
            return refuse(l, "no code after", l->words[*at], "none CODE,CODE...");
        char *word = l->words[++*at];
        size_t len = strlen(word);
        more = len > 0 && word[len - 1] == ',';
        if (more)
            word[len - 1] = '\0';
        else if (*at + 1 < l->count && l->words[*at + 1][0] == ',') {
            more = true;
            l->words[*at + 1]++;
            if (l->words[*at + 1][0] == '\0') /* a comma standing alone */
                ++*at;
        }
        for (char *code = word; code != NULL;) {
            char *comma = strchr(code, ',');
            if (comma != NULL)
                *comma = '\0';
            if (!add_code(l, code))
                return false;
            code = comma != NULL ? comma + 1 : NULL;
        }
    }
    return true;
}

static bool scale_or_offset(struct line *l, const char *word)
{
    struct site_read *r = &l->read;
    bool scale = word[0] == 'x';
    bool *said = scale ? &l->scale_said : &l->offset_said;
    double v = 0;
    if (*said)
        return refuse(l, scale ? "second scale" : "second offset", word, "one");
    *said = true;
    if (r->type == TYPE_BIT || quantity_info(r->quantity)->kind == QUANTITY_CONTACT)
        return refuse(l, "a contact takes neither scale nor offset:", word, "invert");
    if (!field_parse_double(scale ? word + 1 : word, &v) || fabs(v) > 1e9 ||
        (scale && fabs(v) < 1e-12))
        return refuse(l, scale ? "bad scale" : "bad offset", word,
                      scale ? "x and a number other than 0, as x0.1"
                            : "a sign and a number, as -40");
    if (scale)
        r->scale = v;
    else
        r->offset = v;
    return true;
}

static bool option(struct line *l, size_t *at)
{
    const char *word = l->words[*at];
    struct site_read *r = &l->read;
    int order = 0;
    if (strcmp(word, "none") == 0)
        return codes(l, at);
    if (word[0] == 'x' || word[0] == '+' || word[0] == '-')
        return scale_or_offset(l, word);
    if (strcmp(word, "invert") == 0) {
        if (quantity_info(r->quantity)->kind != QUANTITY_CONTACT)
            return refuse(l, "only a contact takes", word, "a scale, as x-1");
        if (r->invert)
            return refuse(l, "second", word, "one");
        r->invert = true;
        return true;
    }
    if (one_of(word, order_words, &order)) {
        if (l->order_said)
            return refuse(l, "second word order", word, "one");
        if (raw_types[r->type].registers < 2)
            return refuse(l, "a single register has no word order:", word,
                          "an order for int32, uint32, float32, float64");
        l->order_said = true;
        r->order = (enum site_word_order)order;
        return true;
    }
    return refuse(l, "unknown word", word,
                  "xSCALE, +OFFSET, -OFFSET, abcd, cdab, badc, dcba, invert, none CODE,CODE");
}

bool regline_parse(const struct draft *d, const struct draft_section *s,
                   const struct draft_entry *e, struct site_read *out)
{
    struct line l = {.d = d, .s = s, .e = e};
    l.read = (struct site_read){.scale = 1, .uncertainty = (double)NAN};
    l.count = field_split(arena_str(d->arena, e->value, strlen(e->value)), l.words, WORDS_MAX);
    if (l.count > WORDS_MAX)
        return refuse(&l, "too many words in", e->value, "at most 32 words");
    if (!fixed_words(&l) || !type_fits(&l))
        return false;
    for (size_t at = FIXED_WORDS; at < l.count; at++)
        if (!option(&l, &at))
            return false;
    *out = l.read;
    return true;
}

static bool reads_already(const struct site_read *reads, size_t count, enum quantity q)
{
    for (size_t i = 0; i < count; i++)
        if (reads[i].quantity == q)
            return true;
    return false;
}

size_t regline_all(const struct draft *d, const struct draft_section *s,
                   struct site_read out[SITE_READS_MAX])
{
    size_t n = 0;
    for (const struct draft_entry *e = draft_entry(s, "read"); e != NULL; e = draft_again(e)) {
        struct site_read r;
        if (e->value[0] == '\0' || !regline_parse(d, s, e, &r))
            continue;
        if (reads_already(out, n, r.quantity))
            mistakes_add(d->mistakes, e->line,
                         "%s read again in %s; allowed: one read line a quantity",
                         quantity_info(r.quantity)->name, s->label);
        else if (n < SITE_READS_MAX)
            out[n++] = r;
    }
    return n;
}

static void set_uncertainty(const struct draft *d, const struct draft_section *s,
                            const struct draft_entry *e, char *part, struct site_read *reads,
                            size_t count)
{
    char *words[2] = {NULL, NULL};
    enum quantity q = QUANTITY_TEMPERATURE;
    double v = 0;
    char shown[256];
    (void)snprintf(shown, sizeof shown, "%s", part + strspn(part, " \t"));
    if (field_split(part, words, 2) != 2 || !quantity_by_name(words[0], &q) ||
        quantity_info(q)->kind != QUANTITY_MEASURED || !field_parse_double(words[1], &v) ||
        !(v > 0 && v <= 50)) {
        mistakes_add(
            d->mistakes, e->line,
            "\"%s\" for uncertainty in %s; allowed: QUANTITY NUMBER, QUANTITY NUMBER, as "
            "\"temperature 0.3, humidity 2\", each above 0 and up to 50",
            shown, s->label);
        return;
    }
    for (size_t i = 0; i < count; i++)
        if (reads[i].quantity == q) {
            reads[i].uncertainty = v;
            return;
        }
    if (!draft_flawed(d, s))
        mistakes_add(d->mistakes, e->line,
                     "uncertainty of %s in %s, which does not read it; allowed: what its read "
                     "lines name",
                     words[0], s->label);
}

void regline_uncertainty(const struct draft *d, const struct draft_section *s,
                         struct site_read *reads, size_t count)
{
    const struct draft_entry *e = field_entry(s, "uncertainty");
    if (e == NULL)
        return;
    for (char *part = arena_str(d->arena, e->value, strlen(e->value)); part != NULL;) {
        char *comma = strchr(part, ',');
        if (comma != NULL)
            *comma = '\0';
        set_uncertainty(d, s, e, part, reads, count);
        part = comma != NULL ? comma + 1 : NULL;
    }
}
