/* manifest.h - reading lists in `sha256sum` format, line by line, and what their names mean.
 *
 * Names in a MANIFEST are of one folder; in SHA256SUMS, of the bundle, with one '/' at most.
 */
#ifndef EVIDENCE_MANIFEST_H
#define EVIDENCE_MANIFEST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/seal.h"

enum {
    MANIFEST_NAME = 96
};

struct manifest_line {
    char hex[SEAL_HEX];
    uint8_t digest[SEAL_DIGEST];
    char name[MANIFEST_NAME]; /* letters, digits, '.', '-', '/' */
};

/* `bad` is set at a line that is none, at which reading stops. */
struct manifest_cursor {
    const char *at, *end;
    bool bad;
};

struct manifest_cursor manifest_start(const struct buf *text);
bool manifest_next(struct manifest_cursor *cursor, struct manifest_line *out);

/* Whether a list has a line of this name. */
bool manifest_names(const struct buf *text, const char *name);

/* The N of "channel-N.csv"; false for any other name. */
bool manifest_channel(const char *name, uint32_t *out);

/* Whether a channel stood in a zone at the end of the day, by the day's channels.csv. */
bool manifest_in_zone(const struct buf *channels_csv, uint32_t channel, const char *zone);

/* Whether it lists any channel that stood there. */
bool manifest_zone_known(const struct buf *channels_csv, const char *zone);

#endif
