/* json.c - see json.h. */
#include "base/json.h"

static int put(const char *text, size_t len, void *to)
{
    buf_add(to, text, len);
    return ((struct buf *)to)->failed ? -1 : 0;
}

void json_put(struct buf *out, const json_t *value)
{
    if (json_dump_callback(value, put, out,
                           JSON_COMPACT | JSON_ENCODE_ANY | JSON_REAL_PRECISION(9)) != 0)
        out->failed = true;
}

json_t *json_quantity(enum quantity q, int64_t value, bool known)
{
    if (!known)
        return json_null();
    if (quantity_info(q)->decimals == 0)
        return json_integer(value);
    return json_real(quantity_decode(q, value));
}
