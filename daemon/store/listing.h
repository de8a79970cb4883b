/* listing.h - the questions behind what a MANIFEST lists beside day files: asked by the writer
 * when a day is signed, and again by whoever holds the tables against what was signed. */
#ifndef STORE_LISTING_H
#define STORE_LISTING_H

#include <stdint.h>

#include "base/buf.h"
#include "base/rc.h"
#include "store/db.h"
#include "store/store.h"

/* Replaces what `out` holds; see store_listing. */
MUST_USE enum rc listing_make(struct db *db, enum store_listing kind, int64_t day,
                              struct buf *out);

/* See store_site_files. */
MUST_USE enum rc listing_site_files(struct db *db, int64_t day,
                                    void (*each)(void *context, const uint8_t *digest),
                                    void *context);

#endif
