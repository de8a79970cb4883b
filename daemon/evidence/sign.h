/* sign.h - signed days: what was recorded, so that nobody can alter it afterwards unseen.
 *
 * A day's MANIFEST names every file of the day with its SHA-256, as `sha256sum` does. The
 * signed day is a short text with the digest of the MANIFEST and of the signed day before it,
 * and an Ed25519 signature over the bytes of that text:
 *
 *     stillroom signed day 1
 *     day 2026-11-24
 *     number 412
 *     manifest 64 hex digits
 *     previous 64 hex digits, or "none" for number 1
 *     store 16 hex digits, the same for the life of a database
 *     key 16 hex digits
 *     note words, only where the chain has a break or a fork
 *
 * each line ended by one LF. Whoever holds the key could write another chain that nobody has
 * seen yet; a signed day proves that nothing changed since its digest was given away.
 */
#ifndef EVIDENCE_SIGN_H
#define EVIDENCE_SIGN_H

#include <stdint.h>

#include "base/buf.h"
#include "base/rc.h"
#include "base/seal.h"
#include "store/store.h"

/* Adds the line of one file: digest, two spaces, name. */
void sign_manifest_line(struct buf *manifest, const uint8_t digest[SEAL_DIGEST],
                        const char *name);

struct sign_place {
    const struct seal_key *key;
    const char
        *head_path; /* beside the database: the chain's head, to notice a restored copy */
};

/* Signs a day's MANIFEST and writes it, inside the caller's transaction. */
MUST_USE enum rc sign_day(struct store *store, const struct sign_place *place, int64_t day,
                          const struct buf *manifest);

/* Writes the head file after the transaction was committed. */
MUST_USE enum rc sign_head_write(struct store *store, const struct sign_place *place);

#endif
