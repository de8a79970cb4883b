/* quarters.c - see quarters.h. */
#include "recorder/quarters.h"

#include <stdlib.h>
#include <string.h>

void quarters_free(struct quarters *q)
{
    free(q->items);
    *q = (struct quarters){0};
}

enum rc quarters_add(struct quarters *q, int64_t t_s, int32_t value)
{
    int64_t start = t_s - t_s % QUARTER_S;
    if (q->count > 0 && q->items[q->count - 1].t_s == start) {
        struct quarter *last = &q->items[q->count - 1];
        last->sum += value;
        last->min = value < last->min ? value : last->min;
        last->max = value > last->max ? value : last->max;
        last->n++;
        return RC_OK;
    }
    if (q->count == q->cap) {
        uint32_t cap = q->cap == 0 ? 16 : q->cap + q->cap / 2;
        struct quarter *more = realloc(q->items, cap * sizeof *more);
        if (more == NULL)
            return RC_NOMEM;
        q->items = more;
        q->cap = cap;
    }
    q->items[q->count++] =
        (struct quarter){.t_s = start, .sum = value, .min = value, .max = value, .n = 1};
    return RC_OK;
}

void quarters_cut(struct quarters *q, int64_t before_s)
{
    uint32_t gone = 0;
    while (gone < q->count && q->items[gone].t_s < before_s)
        gone++;
    if (gone == 0)
        return; /* and there may be no items at all to point at */
    memmove(q->items, q->items + gone, (q->count - gone) * sizeof *q->items);
    q->count -= gone;
}

void quarters_cut_from(struct quarters *q, int64_t from_s)
{
    while (q->count > 0 && q->items[q->count - 1].t_s >= from_s)
        q->count--;
}
