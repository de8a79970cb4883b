/* pack.h - deflated bytes in the form that the sqlite3 shell's sqlar_uncompress() takes.
 *
 * A text that does not shrink is kept as it is; its stored length then equals its size.
 */
#ifndef STORE_PACK_H
#define STORE_PACK_H

#include <stddef.h>

#include "base/buf.h"
#include "base/rc.h"

/* Replaces what `out` holds. */
MUST_USE enum rc pack_do(const void *data, size_t len, struct buf *out);
MUST_USE enum rc pack_undo(const void *data, size_t len, size_t size, struct buf *out);

#endif
