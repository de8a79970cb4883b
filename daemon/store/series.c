/* series.c - laying out a chart and adding to it (series.h). */
#include "store/series.h"

#include <stdlib.h>
#include <string.h>

enum {
    POINTS_LEAST = 2,
    POINTS_MOST = 4000
};

enum rc series_begin(struct series *s, enum quantity quantity, int64_t from_s, int64_t to_s,
                     int points, int interval_s)
{
    if (to_s <= from_s || points < POINTS_LEAST || points > POINTS_MOST)
        return RC_BAD_INPUT;
    int64_t span = to_s - from_s;
    *s = (struct series){.from_s = from_s, .to_s = to_s, .quantity = quantity};
    if (interval_s > 0 && span / interval_s < points) {
        s->cap = (size_t)points;
    } else {
        s->width_s = (span + points - 1) / points;
        s->cap = (size_t)((span + s->width_s - 1) / s->width_s);
        s->count = s->cap;
    }
    s->buckets = calloc(s->cap, sizeof *s->buckets);
    return s->buckets == NULL ? RC_NOMEM : RC_OK;
}

void series_free(struct series *s)
{
    free(s->buckets);
    *s = (struct series){0};
}

static void merge(struct series_bucket *b, int64_t t_s, int64_t n, int64_t min, int64_t max,
                  int64_t sum)
{
    if (b->n == 0) {
        *b = (struct series_bucket){.t_s = t_s, .min = min, .max = max, .sum = sum, .n = n};
        return;
    }
    b->min = min < b->min ? min : b->min;
    b->max = max > b->max ? max : b->max;
    b->sum += sum;
    b->n += n;
}

/* Keeps readings in order of time, whatever order they are added in. */
static enum rc insert(struct series *s, int64_t t_s, int64_t n, int64_t min, int64_t max,
                      int64_t sum)
{
    if (s->count == s->cap) {
        struct series_bucket *more = realloc(s->buckets, 2 * s->cap * sizeof *more);
        if (more == NULL)
            return RC_NOMEM;
        s->buckets = more;
        s->cap *= 2;
    }
    size_t at = s->count;
    while (at > 0 && s->buckets[at - 1].t_s > t_s)
        at--;
    memmove(s->buckets + at + 1, s->buckets + at, (s->count - at) * sizeof *s->buckets);
    s->buckets[at] =
        (struct series_bucket){.t_s = t_s, .n = n, .min = min, .max = max, .sum = sum};
    s->count++;
    return RC_OK;
}

enum rc series_add(struct series *s, int64_t t_s, int64_t n, int64_t min, int64_t max,
                   int64_t sum)
{
    if (t_s < s->from_s || t_s >= s->to_s)
        return RC_OK;
    if (s->width_s == 0)
        return insert(s, t_s, n, min, max, sum);
    size_t at = (size_t)((t_s - s->from_s) / s->width_s);
    merge(&s->buckets[at], s->from_s + (int64_t)at * s->width_s, n, min, max, sum);
    return RC_OK;
}

void series_end(struct series *s)
{
    size_t kept = 0;
    for (size_t i = 0; i < s->count; i++)
        if (s->buckets[i].n > 0)
            s->buckets[kept++] = s->buckets[i];
    s->count = kept;
}
