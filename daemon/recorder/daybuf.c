/* daybuf.c - see daybuf.h.
 *
 * One reading: the time since the last one, doubled, plus 1 if flags follow because they
 * changed; the change of value, zigzag coded; the flags if they follow.
 */
#include "recorder/daybuf.h"

#include <stdlib.h>

enum {
    READING_MOST = 30
}; /* bytes of one reading at the worst */

void daybuf_free(struct daybuf *b)
{
    free(b->data);
    *b = (struct daybuf){0};
}

static uint32_t put(uint8_t *at, uint64_t v)
{
    uint32_t n = 0;
    for (; v >= 0x80; v >>= 7)
        at[n++] = (uint8_t)(v | 0x80);
    at[n++] = (uint8_t)v;
    return n;
}

static uint64_t take(const uint8_t *data, uint32_t *at)
{
    uint64_t v = 0;
    for (unsigned shift = 0;; shift += 7) {
        uint8_t byte = data[(*at)++];
        v |= (uint64_t)(byte & 0x7f) << shift;
        if ((byte & 0x80) == 0)
            return v;
    }
}

static uint64_t zigzag(int64_t v)
{
    return ((uint64_t)v << 1) ^ (v < 0 ? UINT64_MAX : 0);
}

static int64_t unzigzag(uint64_t v)
{
    return (int64_t)(v >> 1) ^ -(int64_t)(v & 1);
}

enum rc daybuf_add(struct daybuf *b, int64_t t_s, int32_t value, uint16_t flags)
{
    if (b->len + READING_MOST > b->cap) {
        uint32_t cap = b->cap == 0 ? 256 : b->cap + b->cap / 2;
        uint8_t *more = realloc(b->data, cap);
        if (more == NULL)
            return RC_NOMEM;
        b->data = more;
        b->cap = cap;
    }
    bool changed = flags != b->last_flags;
    uint8_t *data = b->data;
    b->len += put(data + b->len, zigzag(t_s - b->last_t_s) << 1 | changed);
    b->len += put(data + b->len, zigzag((int64_t)value - b->last_value));
    if (changed)
        b->len += put(data + b->len, flags);
    b->last_t_s = t_s;
    b->last_value = value;
    b->last_flags = flags;
    b->count++;
    return RC_OK;
}

void daybuf_start(const struct daybuf *b, struct daybuf_cursor *out)
{
    *out = (struct daybuf_cursor){.buf = b};
}

bool daybuf_next(struct daybuf_cursor *c)
{
    if (c->at >= c->buf->len)
        return false;
    uint64_t head = take(c->buf->data, &c->at);
    c->t_s += unzigzag(head >> 1);
    c->value = (int32_t)(c->value + unzigzag(take(c->buf->data, &c->at)));
    if ((head & 1) != 0)
        c->flags = (uint16_t)take(c->buf->data, &c->at);
    return true;
}

enum rc daybuf_cut(struct daybuf *b, int64_t before_s)
{
    struct daybuf kept = {0};
    struct daybuf_cursor c;
    daybuf_start(b, &c);
    while (daybuf_next(&c))
        if (c.t_s >= before_s) {
            enum rc rc = daybuf_add(&kept, c.t_s, c.value, c.flags);
            if (rc != RC_OK) {
                daybuf_free(&kept);
                return rc;
            }
        }
    daybuf_free(b);
    *b = kept;
    return RC_OK;
}
