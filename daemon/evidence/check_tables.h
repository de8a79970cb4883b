/* check_tables.h - the tables of a store against what was signed of each day: listings made anew,
 * day files and texts that nothing names.
 */
#ifndef EVIDENCE_CHECK_TABLES_H
#define EVIDENCE_CHECK_TABLES_H

#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/rc.h"
#include "base/seal.h"
#include "evidence/findings.h"

struct reader;

struct check_tables {
    struct reader *reader;     /* borrowed */
    struct findings *findings; /* borrowed */
    struct check_day_file {
        int64_t day, channel;
    } * files; /* owned; all of the table day, by day and channel */
    size_t file_count, file_cap, file_at;
    uint8_t (*used)[SEAL_DIGEST]; /* owned; digests of texts that something names */
    size_t used_count, used_cap;
    enum rc rc; /* of callbacks */
    struct buf now, then;
};

MUST_USE enum rc check_tables_begin(struct check_tables *t, struct reader *reader,
                                    struct findings *findings);
void check_tables_free(struct check_tables *t);

/* A text with this digest belongs to a signed day. */
MUST_USE enum rc check_tables_used(struct check_tables *t, const uint8_t digest[SEAL_DIGEST]);

/* One signed day; days come in their order. */
MUST_USE enum rc check_tables_day(struct check_tables *t, int64_t day,
                                  const struct buf *manifest);

/* A day whose text could not be read: nothing more is said of its files. */
MUST_USE enum rc check_tables_unread(struct check_tables *t, int64_t day);

/* After the last day: what no day named. */
MUST_USE enum rc check_tables_end(struct check_tables *t);

#endif
