/* packing.h - writes the files of a bundle into a folder, or into a .tar.
 *
 * All goes into PATH.part first and is moved into place at the end, so that an unfinished
 * bundle never stands under the name of a finished one.
 *
 * Owner: packing_free drops what was not finished.
 */
#ifndef EVIDENCE_PACKING_H
#define EVIDENCE_PACKING_H

#include <stddef.h>
#include <stdint.h>

#include "base/rc.h"

struct packing;

/* A name that ends in ".tar" means a tar, whose members lie in a folder of the name before it.
 * RC_CONFLICT if the path is taken. `mtime_s` is the time that files in a tar bear. */
MUST_USE enum rc packing_begin(const char *path, int64_t mtime_s, struct packing **out);

/* `name` has one '/' at most: its folder is made. Names are given in the order in which the
 * list of all should have them. */
MUST_USE enum rc packing_add(struct packing *p, const char *name, const void *data, size_t len);

/* Adds SHA256SUMS, writes all to the disk, and moves it into place. */
MUST_USE enum rc packing_end(struct packing *p);

void packing_free(struct packing *p);

#endif
