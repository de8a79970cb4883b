/* daytext.h - the text of a signed day, format 1 (sign.h), written and read to the byte.
 *
 * Errors: daytext_read is false for anything that daytext_write would not have written.
 */
#ifndef EVIDENCE_DAYTEXT_H
#define EVIDENCE_DAYTEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/seal.h"

enum {
    DAYTEXT_ID = 17 /* 16 hexadecimal digits */
};

struct daytext {
    int64_t day;    /* since 1970-01-01 */
    int64_t number; /* from 1, twelve digits at most */
    char manifest[SEAL_HEX];
    char previous[SEAL_HEX]; /* "none" for number 1 */
    char store[DAYTEXT_ID];
    char key[DAYTEXT_ID];
    const char *notes; /* borrowed: whole lines "note ...", or NULL */
    size_t notes_len;
};

void daytext_write(const struct daytext *t, struct buf *out);

/* The notes of *out point into `text`. */
bool daytext_read(const void *text, size_t len, struct daytext *out);

/* The date of a day that any number may claim to be; "no date" outside 1970 to 9999. `out`
 * holds 16. */
void daytext_date(int64_t day, char *out, size_t size);

/* The next line of the notes at *at, without its LF; false at the end. */
bool daytext_note(const struct daytext *t, size_t *at, const char **out, size_t *out_len);

#endif
