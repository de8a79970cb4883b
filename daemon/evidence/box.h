/* box.h - the files of a bundle that somebody handed in: a folder or a .tar, read and never
 * written, and not trusted in anything.
 *
 * Names are as in the bundle ("2026-11-24/day.txt"), in order. What is no regular file, lies
 * deeper than a folder, or cannot be read in full stands among them and is RC_CORRUPT to read.
 * Owner: box_close.
 */
#ifndef EVIDENCE_BOX_H
#define EVIDENCE_BOX_H

#include <stdbool.h>
#include <stddef.h>

#include "base/buf.h"
#include "base/rc.h"
#include "evidence/findings.h"

struct box;

/* RC_NOT_FOUND if there is nothing of the name, RC_BAD_INPUT if it is neither a folder nor a
 * tar. Where a tar is damaged is a finding, and the files before that place are there. */
MUST_USE enum rc box_open(const char *path, struct findings *findings, struct box **out);
void box_close(struct box *box);

size_t box_count(const struct box *box);
const char *box_name(const struct box *box, size_t i);
bool box_has(const struct box *box, const char *name);

/* Where a name stands among them; box_count if it is not there. */
size_t box_index(const struct box *box, const char *name);

/* Replaces what `out` holds. RC_NOT_FOUND, RC_CORRUPT. */
MUST_USE enum rc box_read(const struct box *box, const char *name, struct buf *out);

#endif
