/* check_common.c - what the check of a bundle and that of a store share (check.h). */
#include <string.h>

#include "evidence/check.h"

bool check_manifest(struct findings *findings, const char *place, const struct buf *manifest,
                    const struct daytext *t)
{
    uint8_t digest[SEAL_DIGEST];
    char hex[SEAL_HEX];
    seal_sha256(manifest->data == NULL ? "" : manifest->data, manifest->len, digest);
    seal_hex(digest, hex);
    if (strcmp(hex, t->manifest) == 0)
        return true;
    findings_add(findings, FINDING_FILE, place, "MANIFEST",
                 "it is not the one that day.txt vouches for");
    return false;
}

void check_file(struct findings *findings, const char *place, const struct manifest_line *line,
                const struct buf *file)
{
    uint8_t digest[SEAL_DIGEST];
    seal_sha256(file->data == NULL ? "" : file->data, file->len, digest);
    if (memcmp(digest, line->digest, SEAL_DIGEST) != 0)
        findings_add(findings, FINDING_FILE, place, line->name,
                     "its SHA-256 is not the one in MANIFEST");
}
