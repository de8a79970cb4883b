/* check.h - holds a bundle, or a whole store, against its signatures and names all that differs.
 *
 * Errors: a code other than RC_OK means that the check could not be made to its end; what does
 *         not agree is no error but a finding.
 */
#ifndef EVIDENCE_CHECK_H
#define EVIDENCE_CHECK_H

#include <stdbool.h>

#include "base/rc.h"
#include "evidence/chain.h"
#include "evidence/findings.h"
#include "evidence/manifest.h"

enum {
    CHECK_ZONE = 64
};

/* What was seen, whatever was found. */
struct check_seen {
    struct chain chain;
    char zone[CHECK_ZONE]; /* a bundle that says it is of one zone only; else "" */
};

/* A bundle in a folder or a .tar. */
MUST_USE enum rc check_bundle(const char *path, const struct chain_known *known,
                              struct findings *findings, struct check_seen *out);

/* A database, while the daemon may go on recording into it. */
MUST_USE enum rc check_store(const char *path, const struct chain_known *known,
                             struct findings *findings, struct check_seen *out);

/* A MANIFEST against the signed digest of it; a finding and false if it is another. */
bool check_manifest(struct findings *findings, const char *place, const struct buf *manifest,
                    const struct daytext *t);

/* A file's bytes against its line of the MANIFEST. */
void check_file(struct findings *findings, const char *place, const struct manifest_line *line,
                const struct buf *file);

#endif
