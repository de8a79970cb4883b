/* ustar.c - see ustar.h. */
#include "evidence/ustar.h"

#include <inttypes.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

/* The fields, in their order and width. */
struct header {
    char name[100];
    char mode[8];
    char uid[8];
    char gid[8];
    char size[12];
    char mtime[12];
    char chksum[8];
    char typeflag;
    char linkname[100];
    char magic[6];
    char version[2];
    char uname[32];
    char gname[32];
    char devmajor[8];
    char devminor[8];
    char prefix[155];
    char rest[12];
};
_Static_assert(sizeof(struct header) == USTAR_BLOCK, "the header has no holes");

/* The sum of all bytes, those of the checksum taken as spaces. */
static unsigned sum(const uint8_t block[USTAR_BLOCK])
{
    size_t from = offsetof(struct header, chksum), to = offsetof(struct header, typeflag);
    unsigned n = 0;
    for (size_t i = 0; i < USTAR_BLOCK; i++)
        n += i >= from && i < to ? (unsigned)' ' : block[i];
    return n;
}

bool ustar_write(const char *name, uint64_t size, int64_t mtime_s, uint8_t out[USTAR_BLOCK])
{
    struct header h = {.typeflag = '0', .magic = "ustar", .version = {'0', '0'}};
    if (strlen(name) >= sizeof h.name || size > 077777777777 || mtime_s < 0)
        return false;
    memcpy(h.name, name, strlen(name));
    snprintf(h.mode, sizeof h.mode, "%07o", 0644U);
    snprintf(h.uid, sizeof h.uid, "%07o", 0U);
    snprintf(h.gid, sizeof h.gid, "%07o", 0U);
    snprintf(h.size, sizeof h.size, "%011" PRIo64, size);
    snprintf(h.mtime, sizeof h.mtime, "%011" PRIo64, (uint64_t)mtime_s & 077777777777);
    snprintf(h.devmajor, sizeof h.devmajor, "%07o", 0U);
    snprintf(h.devminor, sizeof h.devminor, "%07o", 0U);
    memcpy(out, &h, sizeof h);
    snprintf(h.chksum, sizeof h.chksum - 1, "%06o", sum(out) & 0777777U);
    h.chksum[7] = ' ';
    memcpy(out, &h, sizeof h);
    return true;
}

/* Octal digits up to a NUL or a space, which there must be. */
static bool octal(const char *field, size_t size, uint64_t *out)
{
    uint64_t v = 0;
    size_t i = 0;
    for (; i < size && field[i] >= '0' && field[i] <= '7'; i++)
        v = v * 8 + (uint64_t)(field[i] - '0');
    *out = v;
    return i > 0 && i < size && (field[i] == '\0' || field[i] == ' ');
}

enum ustar_kind ustar_read(const uint8_t block[USTAR_BLOCK], char out_name[USTAR_NAME],
                           uint64_t *out_size)
{
    static const uint8_t zeros[USTAR_BLOCK];
    struct header h;
    uint64_t said;
    if (memcmp(block, zeros, USTAR_BLOCK) == 0)
        return USTAR_END;
    memcpy(&h, block, sizeof h);
    /* Both writers and our own reader end the checksum by NUL and space. */
    if (!octal(h.chksum, sizeof h.chksum, &said) || said != sum(block) ||
        memcmp(h.chksum + 6, "\0 ", 2) != 0 || memcmp(h.magic, "ustar", 5) != 0 ||
        !octal(h.size, sizeof h.size, out_size))
        return USTAR_BAD;
    if ((h.typeflag != '0' && h.typeflag != '5') || h.prefix[0] != '\0')
        return USTAR_OTHER;
    snprintf(out_name, USTAR_NAME, "%.100s", h.name);
    return h.typeflag == '0' ? USTAR_FILE : USTAR_FOLDER;
}
