/* stored.h - the files that MANIFESTs name, from where the store keeps them. */
#ifndef EVIDENCE_STORED_H
#define EVIDENCE_STORED_H

#include <stdint.h>

#include "base/buf.h"
#include "base/rc.h"
#include "evidence/manifest.h"
#include "store/archive.h"

/* Replaces what `out` holds; *out_claim only for the file of a channel. RC_NOT_FOUND if it is
 * gone, RC_CORRUPT if it cannot be inflated. */
MUST_USE enum rc stored_file(struct reader *reader, int64_t day,
                             const struct manifest_line *line, struct buf *out,
                             struct archive_claim *out_claim);

/* The file of this name of a day whose MANIFEST this is; RC_NOT_FOUND if it names none. */
MUST_USE enum rc stored_listed(struct reader *reader, int64_t day, const struct buf *manifest,
                               const char *name, struct buf *out);

#endif
