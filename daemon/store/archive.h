/* archive.h - closed days read back: signed days, the texts they name, and the rows beside them.
 *
 * Errors:  RC_NOT_FOUND if there is no such row; RC_CORRUPT if what it holds cannot be inflated.
 *          What a row says is handed over as it stands: it may have been tampered with.
 * Threads: as the reader.
 */
#ifndef STORE_ARCHIVE_H
#define STORE_ARCHIVE_H

#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/rc.h"
#include "base/seal.h"
#include "store/store.h"

struct reader;

/* One moment of the database for all questions up to archive_end, whatever is written. */
MUST_USE enum rc archive_begin(struct reader *reader);
void archive_end(struct reader *reader);

struct archive_bytes {
    const void *data; /* borrowed; NULL: none */
    size_t len;
};

struct archive_signed {
    int64_t day, number;
    struct archive_bytes manifest, text, signature, digest, key;
};

/* Calls back with the signed days from `from` to `to`, both included, in order of the day; a
 * code other than RC_OK ends it. */
MUST_USE enum rc archive_signed_days(struct reader *reader, int64_t from, int64_t to,
                                     enum rc (*each)(void *context,
                                                     const struct archive_signed *day),
                                     void *context);

/* A text by its digest; replaces what `out` holds. */
MUST_USE enum rc archive_text(struct reader *reader, const uint8_t digest[SEAL_DIGEST],
                              struct buf *out);

/* What the columns beside a day file say of it. */
struct archive_claim {
    int64_t readings;
    uint8_t digest[SEAL_DIGEST]; /* zeros if it is none */
};

/* A day file; replaces what `out` holds. */
MUST_USE enum rc archive_day_file(struct reader *reader, uint32_t channel, int64_t day,
                                  struct buf *out, struct archive_claim *out_claim);

/* Calls back with each day file there is, by day and channel, without its text. */
MUST_USE enum rc archive_day_files(struct reader *reader,
                                   void (*each)(void *context, int64_t day, int64_t channel),
                                   void *context);

/* Calls back with the digest of each text there is but for site files. */
MUST_USE enum rc archive_texts(struct reader *reader,
                               void (*each)(void *context, const struct archive_bytes *digest),
                               void *context);

struct archive_rollup {
    int64_t slot; /* time over the step's seconds */
    int64_t n, min, max, sum;
};

/* Calls back with the rollups of one level (store_step_s) of a channel in a day. */
MUST_USE enum rc archive_rollups(struct reader *reader, uint32_t channel, unsigned level,
                                 int64_t day,
                                 void (*each)(void *context, const struct archive_rollup *row),
                                 void *context);

/* The levels, a bit each, that a channel has had in every interval it had since a day began: when
 * a day is closed long after its end, it is closed with a later interval's levels. */
MUST_USE enum rc archive_levels(struct reader *reader, uint32_t channel, int64_t day,
                                unsigned *out);

/* What the tables say now of a closed day; see store_listing and store_site_files. */
MUST_USE enum rc archive_listing(struct reader *reader, enum store_listing kind, int64_t day,
                                 struct buf *out);
MUST_USE enum rc archive_site_files(struct reader *reader, int64_t day,
                                    void (*each)(void *context, const uint8_t *digest),
                                    void *context);

/* Late readings that came on a day which is closed but not signed. */
MUST_USE enum rc archive_late_unsigned(struct reader *reader, int64_t *out_count);

/* The first day that is not closed yet; 0 if nothing was ever recorded. */
MUST_USE enum rc archive_open_day(struct reader *reader, int64_t *out);

/* The store's id as signed days name it; 0 if no day was signed. */
MUST_USE enum rc archive_store_id(struct reader *reader, int64_t *out);

#endif
