/* findings.h - what does not agree, one thing a finding: of which kind, which day, which file. */
#ifndef EVIDENCE_FINDINGS_H
#define EVIDENCE_FINDINGS_H

#include <stddef.h>

enum finding_kind {
    FINDING_FORM,      /* not written as it must be */
    FINDING_KEY,       /* another key than those given, or a change of key */
    FINDING_SIGNATURE, /* it is not one over this text by this key */
    FINDING_CHAIN,     /* days left out, swapped, of another chain */
    FINDING_FILE,      /* not what was signed */
    FINDING_MISSING,   /* signed, and not there */
    FINDING_EXTRA,     /* there, and in no list */
    FINDING_TABLE,     /* rows beside the signed texts that say something else */
    FINDING_NOTE,      /* a break or a fork that the signed day itself admits */
};

struct finding {
    enum finding_kind kind;
    const char *day;   /* "2026-11-24", or "" if it concerns none */
    const char *file;  /* or "" */
    const char *words; /* what is wrong */
};

struct findings {
    void (*tell)(void *context, const struct finding *finding);
    void *context;
    size_t count;
};

/* Bytes of file and words that are not printable ASCII are told as \xNN. `day` is a date that was
 * read, or "". */
void findings_add(struct findings *f, enum finding_kind kind, const char *day, const char *file,
                  const char *format, ...) __attribute__((format(printf, 5, 6)));

/* "signature", "chain" ...; never NULL. */
const char *finding_kind_word(enum finding_kind kind);

#endif
