/* stamp.h - a request for a time stamp (RFC 3161), made by the openssl program.
 *
 * Nothing is sent anywhere: whoever has the request takes it to an authority.
 * Errors: RC_NOT_FOUND if there is no openssl program; RC_IO if it refused.
 */
#ifndef EVIDENCE_STAMP_H
#define EVIDENCE_STAMP_H

#include "base/buf.h"
#include "base/rc.h"

/* `hex` is a SHA-256; the request (DER) replaces what `out` holds. */
MUST_USE enum rc stamp_request(const char *hex, struct buf *out);

#endif
