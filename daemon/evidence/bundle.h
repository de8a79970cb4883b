/* bundle.h - writes the evidence of some days for somebody outside: signed days, the files they
 * vouch for, the public key, and how to check it all by hand.
 *
 * Errors: RC_NOT_FOUND if none of the days is signed or the zone is not known; RC_CONFLICT if
 *         the name is taken. A file that is no longer as it was signed does not stop a bundle:
 *         it goes in as it is, with a finding.
 */
#ifndef EVIDENCE_BUNDLE_H
#define EVIDENCE_BUNDLE_H

#include <stdint.h>

#include "base/rc.h"
#include "evidence/facts.h"
#include "evidence/findings.h"

struct bundle_order {
    const char *store_path;
    const char *studio;
    const char *zone; /* NULL: all */
    int64_t from, to; /* UTC days, both included */
    const char *out;  /* a folder, or a name that ends in .tar */
    bool stamp;       /* with a request for a time stamp over the head */
};

/* *out_facts says what it holds; its caller frees it. */
MUST_USE enum rc bundle_write(const struct bundle_order *order, struct findings *findings,
                              struct facts *out_facts);

/* Whether the file of a day belongs into the bundle of a zone, by the channels.csv of that day
 * and (NULL: unknown) of the day before, at whose end the day began. */
bool bundle_wants(const char *name, const char *zone, const struct buf *channels_csv,
                  const struct buf *before_csv);

#endif
