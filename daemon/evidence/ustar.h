/* ustar.h - the 512-byte headers of a tar in the ustar interchange format (POSIX.1-2017, pax,
 * "ustar Interchange Format"): names under 100 bytes, regular files and folders only, which is
 * all that a bundle needs and all that is taken from one.
 */
#ifndef EVIDENCE_USTAR_H
#define EVIDENCE_USTAR_H

#include <stdbool.h>
#include <stdint.h>

enum {
    USTAR_BLOCK = 512,
    USTAR_NAME = 101
};

/* A regular file with mode 0644 that belongs to nobody in particular; false if the name is
 * too long or the size too large. */
bool ustar_write(const char *name, uint64_t size, int64_t mtime_s, uint8_t out[USTAR_BLOCK]);

enum ustar_kind {
    USTAR_FILE,
    USTAR_FOLDER,
    USTAR_END,   /* a block of zeros */
    USTAR_OTHER, /* a link, a device, a long name: not in a bundle */
    USTAR_BAD    /* not a header, or a damaged one */
};

enum ustar_kind ustar_read(const uint8_t block[USTAR_BLOCK], char out_name[USTAR_NAME],
                           uint64_t *out_size);

#endif
