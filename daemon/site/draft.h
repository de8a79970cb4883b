/* draft.h - a site file as sections of keys and values, before anything is made of them.
 *
 * Owner:   everything lies in the arena given.
 * Errors:  unknown and repeated sections and keys, bad names and empty values are added to the
 *          mistakes here; what the values mean is the builders' part.
 */
#ifndef SITE_DRAFT_H
#define SITE_DRAFT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/buf.h"
#include "base/rc.h"
#include "site/arena.h"
#include "site/keys.h"
#include "site/mistakes.h"

enum {
    DRAFT_NAME_MAX = 40
};

struct draft_entry {
    const char *key, *value;
    int line;
    struct draft_entry *next;
};

struct draft_section {
    enum section kind;
    const char *name;  /* "" for [studio], [store], [http] */
    const char *label; /* "[bus bench-line]", for messages */
    int line;
    size_t index; /* among the sections of its kind */
    struct draft_entry *entries;
    struct draft_section *next;
};

struct draft {
    struct arena *arena;            /* borrowed */
    struct mistakes *mistakes;      /* borrowed */
    struct draft_section *sections; /* in order of the file, the sound ones */
    size_t count[SECTION_COUNT];
    size_t total;
};

MUST_USE enum rc draft_read(struct draft *d, const char *text, size_t len);

/* The section of a kind and name, NULL if there is none. */
const struct draft_section *draft_find(const struct draft *d, enum section kind,
                                       const char *name);

/* The next section of a kind after `from` (NULL: the first). */
const struct draft_section *draft_next(const struct draft *d, enum section kind,
                                       const struct draft_section *from);

/* The first entry of a key in a section, NULL if there is none; the next after one. */
const struct draft_entry *draft_entry(const struct draft_section *s, const char *key);
const struct draft_entry *draft_again(const struct draft_entry *e);

/* True if a mistake was found in the section so far: what it lacks may be what was wrong. */
bool draft_flawed(const struct draft *d, const struct draft_section *s);

/* The names of all sections of a kind, "a, b, c"; "none" if there is none. */
void draft_names(const struct draft *d, enum section kind, struct buf *out);

#endif
