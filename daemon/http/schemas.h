/* schemas.h - the shapes of all answers, as JSON Schema 2020-12. */
#ifndef HTTP_SCHEMAS_H
#define HTTP_SCHEMAS_H

#include <stddef.h>

/* Texts are JSON with ' for ", so that they can be read in the source. */
struct schema {
    const char *name, *text;
};

extern const struct schema schemas_table[];
extern const size_t schemas_count;

#endif
