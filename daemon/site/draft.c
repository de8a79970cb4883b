/* draft.c - see draft.h. */
#include "site/draft.h"

#include <limits.h>
#include <string.h>

#include "site/inifile.h"

enum {
    SECTIONS_MAX = 4000 /* each is looked up by a walk over all */
};

struct builder {
    struct inifile_sink sink; /* first: the callbacks get its address */
    struct draft *draft;
    struct draft_section **tail;
    struct draft_section *now;  /* what keys go into; NULL before a heading */
    struct draft_entry **entry; /* end of its list */
    bool skip;                  /* keys under a bad heading have been told with it */
};

static void allowed_sections(struct buf *out)
{
    for (int i = 0; i < SECTION_COUNT; i++)
        buf_printf(out, "%s[%s%s]", i > 0 ? ", " : "", keys_of((enum section)i)->section,
                   keys_of((enum section)i)->named ? " NAME" : "");
}

static void allowed_keys(enum section section, struct buf *out)
{
    for (const char *const *k = keys_of(section)->keys; *k != NULL; k++)
        buf_printf(out, "%s%s", k != keys_of(section)->keys ? ", " : "", *k);
}

/* A zone's name stands in addresses; the others are kept to one word as well, so that they can
 * be referred to, but may have capitals. */
static bool good_name(enum section kind, const char *name)
{
    size_t len = strlen(name);
    const char *extra = kind == SECTION_ZONE ? "" : "ABCDEFGHIJKLMNOPQRSTUVWXYZ_.";
    if (len == 0 || len > DRAFT_NAME_MAX || name[0] == '-' || name[0] == '.')
        return false;
    for (const char *c = name; *c != '\0'; c++)
        if (strchr("abcdefghijklmnopqrstuvwxyz0123456789-", *c) == NULL &&
            strchr(extra, *c) == NULL)
            return false;
    return true;
}

static bool check_name(struct builder *b, int line, enum section kind, const char *name)
{
    struct mistakes *m = b->draft->mistakes;
    const char *word = keys_of(kind)->section;
    if (!keys_of(kind)->named) {
        if (name[0] != '\0')
            mistakes_add(m, line, "[%s] takes no name; allowed: [%s]", word, word);
        return name[0] == '\0';
    }
    if (name[0] == '\0')
        mistakes_add(m, line, "[%s] has no name; allowed: [%s NAME]", word, word);
    else if (!good_name(kind, name))
        mistakes_add(m, line, "bad name \"%s\" of a %s; allowed: up to %d %s, digits, %s", name,
                     word, (int)DRAFT_NAME_MAX,
                     kind == SECTION_ZONE ? "lower-case letters" : "letters",
                     kind == SECTION_ZONE ? "hyphens" : "hyphens, underscores, full stops");
    else
        return true;
    return false;
}

static bool blank(char c)
{
    return c == ' ' || c == '\t';
}

/* Splits "  bus   bench-line " into its two words; the name is "" if there is none. */
static void split_heading(struct arena *arena, const char *text, size_t len, const char **word,
                          size_t *word_len, const char **name)
{
    const char *end = text + len;
    while (text < end && blank(*text))
        text++;
    while (end > text && blank(end[-1]))
        end--;
    const char *stop = text;
    while (stop < end && !blank(*stop))
        stop++;
    *word = text;
    *word_len = (size_t)(stop - text);
    while (stop < end && blank(*stop))
        stop++;
    *name = arena_str(arena, stop, (size_t)(end - stop));
}

/* True if a heading is of a known kind, well named, and neither one too many nor a second. */
static bool check_heading(struct builder *b, int line, const char *text, size_t len,
                          enum section *kind, const char **name)
{
    struct draft *d = b->draft;
    const char *word = NULL;
    size_t word_len = 0;
    split_heading(d->arena, text, len, &word, &word_len, name);
    if (!keys_section(word, word_len, kind)) {
        struct buf allowed = {0};
        allowed_sections(&allowed);
        mistakes_add(d->mistakes, line, "unknown section [%.*s]; allowed: %s", (int)len, text,
                     allowed.failed ? "" : allowed.data);
        buf_free(&allowed);
        return false;
    }
    if (!check_name(b, line, *kind, *name))
        return false;
    if (d->total >= SECTIONS_MAX) {
        if (d->total++ == SECTIONS_MAX)
            mistakes_add(d->mistakes, line, "too many sections; allowed: %d",
                         (int)SECTIONS_MAX);
        return false;
    }
    const struct draft_section *before = draft_find(d, *kind, *name);
    if (before != NULL)
        mistakes_add(d->mistakes, line, "%s again, after line %d; allowed: each section once",
                     before->label, before->line);
    return before == NULL;
}

static void add_section(struct inifile_sink *sink, int line, const char *text, size_t len)
{
    struct builder *b = (struct builder *)sink;
    struct draft *d = b->draft;
    enum section kind = SECTION_STUDIO;
    const char *name = NULL;
    b->skip = true;
    b->now = NULL;
    if (!check_heading(b, line, text, len, &kind, &name))
        return;
    struct draft_section *s = arena_new(d->arena, 1, sizeof *s);
    if (s == NULL)
        return;
    *s = (struct draft_section){
        .kind = kind, .name = name, .line = line, .index = d->count[kind]++};
    s->label = name[0] == '\0'
                   ? arena_printf(d->arena, "[%s]", keys_of(kind)->section)
                   : arena_printf(d->arena, "[%s %s]", keys_of(kind)->section, name);
    d->total++;
    *b->tail = s;
    b->tail = &s->next;
    b->now = s;
    b->entry = &s->entries;
    b->skip = false;
}

static bool secret(const char *key)
{
    static const char *const words[] = {"password", "passphrase", "secret", "token"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strstr(key, words[i]) != NULL)
            return true;
    return false;
}

static void unknown_key(struct builder *b, int line, const char *key)
{
    struct buf allowed = {0};
    allowed_keys(b->now->kind, &allowed);
    const char *list = allowed.failed ? "" : allowed.data;
    size_t len = strlen(key);
    bool file = len > 5 && strcmp(key + len - 5, "_file") == 0;
    if (secret(key) && !file)
        mistakes_add(b->draft->mistakes, line,
                     "\"%s\" in %s: a secret never stands in this file, only the path of a "
                     "file that holds it, as ..._file = path; allowed: %s",
                     key, b->now->label, list);
    else
        mistakes_add(b->draft->mistakes, line, "unknown key \"%s\" in %s; allowed: %s", key,
                     b->now->label, list);
    buf_free(&allowed);
}

static void add_pair(struct inifile_sink *sink, int line, const char *key, const char *value)
{
    struct builder *b = (struct builder *)sink;
    struct draft *d = b->draft;
    if (b->skip)
        return;
    if (b->now == NULL) {
        mistakes_add(d->mistakes, line,
                     "key \"%s\" before any section; allowed: a heading first, [studio] say",
                     key);
        return;
    }
    if (!keys_has(b->now->kind, key)) {
        unknown_key(b, line, key);
        return;
    }
    const struct draft_entry *before = draft_entry(b->now, key);
    if (before != NULL && !keys_repeats(key)) {
        mistakes_add(d->mistakes, line, "\"%s\" again in %s, after line %d; allowed: once", key,
                     b->now->label, before->line);
        return;
    }
    struct draft_entry *e = arena_new(d->arena, 1, sizeof *e);
    if (e == NULL)
        return;
    if (value[0] == '\0')
        mistakes_add(d->mistakes, line,
                     "\"%s\" in %s has no value; allowed: a value, or no such line", key,
                     b->now->label);
    *e = (struct draft_entry){.key = arena_str(d->arena, key, strlen(key)),
                              .value = arena_str(d->arena, value, strlen(value)),
                              .line = line};
    *b->entry = e;
    b->entry = &e->next;
}

enum rc draft_read(struct draft *d, const char *text, size_t len)
{
    struct builder b = {
        .sink = {.section = add_section, .pair = add_pair}, .draft = d, .tail = &d->sections};
    enum rc rc = inifile_read(text, len, d->mistakes, &b.sink);
    return rc == RC_OK && d->arena->failed ? RC_NOMEM : rc;
}

const struct draft_section *draft_find(const struct draft *d, enum section kind,
                                       const char *name)
{
    const struct draft_section *s = draft_next(d, kind, NULL);
    while (s != NULL && strcmp(s->name, name) != 0)
        s = draft_next(d, kind, s);
    return s;
}

const struct draft_section *draft_next(const struct draft *d, enum section kind,
                                       const struct draft_section *from)
{
    const struct draft_section *s = from != NULL ? from->next : d->sections;
    while (s != NULL && s->kind != kind)
        s = s->next;
    return s;
}

static const struct draft_entry *find_entry(const struct draft_entry *e, const char *key)
{
    while (e != NULL && strcmp(e->key, key) != 0)
        e = e->next;
    return e;
}

const struct draft_entry *draft_entry(const struct draft_section *s, const char *key)
{
    return find_entry(s->entries, key);
}

const struct draft_entry *draft_again(const struct draft_entry *e)
{
    return find_entry(e->next, e->key);
}

bool draft_flawed(const struct draft *d, const struct draft_section *s)
{
    return mistakes_between(d->mistakes, s->line, s->next != NULL ? s->next->line : INT_MAX);
}

void draft_names(const struct draft *d, enum section kind, struct buf *out)
{
    const struct draft_section *s = draft_next(d, kind, NULL);
    if (s == NULL)
        buf_str(out, "none");
    for (bool first = true; s != NULL; s = draft_next(d, kind, s), first = false)
        buf_printf(out, "%s%s", first ? "" : ", ", s->name);
}
