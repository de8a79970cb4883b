/* facts.h - what a bundle says of itself: bundle.json for programs, VERIFY.txt for people.
 *
 * Both follow from the signed days and from who asked for what, so that a reader of a bundle
 * can make them anew and see whether they are as this program writes them. Their words belong
 * to the format of the bundle: other words are another format.
 *
 * Owner: facts_free.
 */
#ifndef EVIDENCE_FACTS_H
#define EVIDENCE_FACTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/rc.h"
#include "base/seal.h"
#include "evidence/chain.h"

enum {
    FACTS_FORMAT = 1
};

struct facts_day {
    int64_t day, number;
    char digest[SEAL_HEX]; /* of day.txt */
};

struct facts {
    char *studio; /* owned */
    char *zone;   /* owned; NULL: all zones */
    int64_t asked_from, asked_to;
    struct facts_day *days; /* owned; in order */
    size_t count, cap;
    char keys[CHAIN_KEYS][SEAL_HEX]; /* fingerprints, in the order in which they signed */
    size_t key_count;
    bool stamped; /* head.tsq is there */
};

void facts_free(struct facts *f);
MUST_USE enum rc facts_add_day(struct facts *f, int64_t day, int64_t number,
                               const char digest[SEAL_HEX]);

/* Need a day and a key at least. */
void facts_json(const struct facts *f, struct buf *out);
void facts_words(const struct facts *f, struct buf *out);

/* What only bundle.json knows: studio, zone, days asked for. RC_NEWER for a later format,
 * RC_BAD_INPUT for what is no bundle.json. */
MUST_USE enum rc facts_read(const struct buf *json, struct facts *out);

/* The date in the name of a folder of a day; false if it is none. */
bool facts_is_day(const char *name, size_t len, int64_t *out_day);

#endif
