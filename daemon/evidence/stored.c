/* stored.c - see stored.h. */
#include "evidence/stored.h"

#include <string.h>

enum rc stored_file(struct reader *reader, int64_t day, const struct manifest_line *line,
                    struct buf *out, struct archive_claim *out_claim)
{
    uint32_t channel;
    if (manifest_channel(line->name, &channel))
        return archive_day_file(reader, channel, day, out, out_claim);
    return archive_text(reader, line->digest, out);
}

enum rc stored_listed(struct reader *reader, int64_t day, const struct buf *manifest,
                      const char *name, struct buf *out)
{
    struct manifest_cursor c = manifest_start(manifest);
    struct manifest_line line;
    struct archive_claim claim;
    while (manifest_next(&c, &line))
        if (strcmp(line.name, name) == 0)
            return stored_file(reader, day, &line, out, &claim);
    return RC_NOT_FOUND;
}
