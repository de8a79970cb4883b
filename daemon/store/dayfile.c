/* dayfile.c - see dayfile.h. */
#include "store/dayfile.h"

void dayfile_line(struct buf *out, int64_t t_s, int64_t value, unsigned flags)
{
    buf_int(out, t_s);
    buf_add(out, ",", 1);
    buf_int(out, value);
    buf_add(out, ",", 1);
    buf_int(out, flags);
    buf_add(out, "\n", 1);
}

/* A decimal integer up to `stop`, which is passed over. */
static bool number(struct dayfile_cursor *c, char stop, int64_t *out)
{
    const char *at = c->at;
    bool minus = at < c->end && *at == '-';
    at += minus;
    const char *first = at;
    int64_t v = 0;
    for (; at < c->end && *at >= '0' && *at <= '9' && at - first < 18; at++)
        v = v * 10 + (*at - '0');
    if (at == first || at >= c->end || *at != stop)
        return false;
    c->at = at + 1;
    *out = minus ? -v : v;
    return true;
}

bool dayfile_next(struct dayfile_cursor *c, int64_t *out_t_s, int32_t *out_value,
                  unsigned *out_flags)
{
    if (c->at >= c->end)
        return false;
    int64_t t, value, flags;
    if (!number(c, ',', &t) || !number(c, ',', &value) || !number(c, '\n', &flags) ||
        value < INT32_MIN || value > INT32_MAX || flags < 0 || flags > UINT16_MAX) {
        c->bad = true;
        return false;
    }
    *out_t_s = t;
    *out_value = (int32_t)value;
    *out_flags = (unsigned)flags;
    return true;
}
