/* keys.h - every section and key that a site file may have: what the parser takes, the messages
 * name and the manual page describes. */
#ifndef SITE_KEYS_H
#define SITE_KEYS_H

#include <stdbool.h>
#include <stddef.h>

enum section {
    SECTION_STUDIO,
    SECTION_STORE,
    SECTION_HTTP,
    SECTION_BUS,
    SECTION_MAP,
    SECTION_INSTRUMENT,
    SECTION_ZONE,
    SECTION_LIMIT,
    SECTION_PERSON,
    SECTION_MAIL,
    SECTION_WEBHOOK,
    SECTION_COMMAND,
    SECTION_COUNT
};

enum {
    KEYS_MAX = 12
};

struct keys {
    const char *section;
    bool named;                 /* [bus NAME], and as often as wanted; else [studio], once */
    const char *keys[KEYS_MAX]; /* NULL-ended */
};

const struct keys *keys_of(enum section section);

bool keys_section(const char *word, size_t len, enum section *out);

bool keys_has(enum section section, const char *key);

/* True for the one key that may come several times in a section: "read". */
bool keys_repeats(const char *key);

#endif
