/* chain.h - holds signed days against their signatures and against one another, in the order of
 * their days: key, number, digest of the day before, days left out, notes.
 */
#ifndef EVIDENCE_CHAIN_H
#define EVIDENCE_CHAIN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/seal.h"
#include "evidence/daytext.h"
#include "evidence/findings.h"

enum {
    CHAIN_KEYS = 16
};

/* What the reader was given by another way than the evidence itself. */
struct chain_known {
    const char *keys[CHAIN_KEYS]; /* at least the first 16 digits of the SHA-256 of a key */
    size_t key_count;             /* 0: none was given */
    const char *head;             /* at least 16 digits of the digest of a signed day; NULL */
};

struct chain {
    struct findings *findings;       /* borrowed */
    const struct chain_known *known; /* borrowed */
    size_t days;                     /* seen so far */
    int64_t first_day, first_number;
    struct daytext last;             /* its notes are not kept */
    char last_hex[SEAL_HEX];         /* digest of the last day's text */
    char keys[CHAIN_KEYS][SEAL_HEX]; /* fingerprints met, in their order */
    size_t key_count;
    bool head_met;
};

/* What a place that holds a signed day says of it. */
struct chain_day {
    const char *place; /* "2026-11-24": the folder's name, the row's day */
    const void *text;
    size_t text_len;
    const void *signature;
    size_t signature_len;
};

/* Reads the text of a day; a finding and false if it is none, or one of another day. */
bool chain_read(struct chain *c, const struct chain_day *day, struct daytext *out);

/* Takes a day whose text was read as the next of the chain. `key` is the public key its text
 * names, or NULL if that is not to be had. */
void chain_take(struct chain *c, const struct chain_day *day, const struct daytext *t,
                const uint8_t *key);

/* After the last day. */
void chain_end(struct chain *c);

/* True if `given` is a beginning of `hex` of at least 16 digits, whatever its case. */
bool chain_begins(const char *hex, const char *given);

#endif
