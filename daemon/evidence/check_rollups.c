/* check_rollups.c - see check_rollups.h. */
#include "evidence/check_rollups.h"

#include <stdio.h>

#include "base/clock.h"
#include "store/archive.h"
#include "store/dayfile.h"

enum {
    QUARTERS = 96 /* of a day, in buckets of the finest step */
};

struct bucket {
    int64_t n, min, max, sum;
    bool met;
};

struct level {
    struct findings *findings;
    const char *place, *name;
    int64_t first_slot;
    int step_s;
    struct bucket buckets[QUARTERS]; /* the first 86400 / step_s of them */
};

static void tell(struct level *l, int64_t slot, const char *what)
{
    char at[32];
    clock_utc_text(slot * l->step_s, at, sizeof at);
    findings_add(l->findings, FINDING_TABLE, l->place, l->name, "the rollup of %d s at %s %s",
                 l->step_s, at, what);
}

static void compare(void *context, const struct archive_rollup *row)
{
    struct level *l = context;
    struct bucket *b = &l->buckets[row->slot - l->first_slot];
    b->met = true;
    if (b->n == 0)
        tell(l, row->slot, "has no readings behind it");
    else if (row->n != b->n || row->min != b->min || row->max != b->max || row->sum != b->sum)
        tell(l, row->slot, "is not what its readings make");
}

static void fill(struct level *l, const struct buf *file)
{
    struct dayfile_cursor c = {.at = file->data, .end = file->data + file->len};
    int64_t t_s;
    int32_t value;
    unsigned flags;
    int64_t count = CLOCK_DAY_S / l->step_s;
    while (file->len > 0 && dayfile_next(&c, &t_s, &value, &flags)) {
        int64_t i = t_s / l->step_s - l->first_slot;
        if (i < 0 || i >= count)
            continue;
        struct bucket *b = &l->buckets[i];
        b->min = b->n == 0 || value < b->min ? value : b->min;
        b->max = b->n == 0 || value > b->max ? value : b->max;
        b->sum += value;
        b->n++;
    }
}

enum rc check_rollups(struct reader *reader, struct findings *findings, const char *place,
                      uint32_t channel, int64_t day, const struct buf *file)
{
    unsigned levels;
    char name[32];
    snprintf(name, sizeof name, "channel-%u.csv", (unsigned)channel);
    enum rc rc = archive_levels(reader, channel, day, &levels);
    for (unsigned i = 0; rc == RC_OK && i < STORE_STEPS; i++) {
        struct level l = {.findings = findings,
                          .place = place,
                          .name = name,
                          .step_s = store_step_s[i],
                          .first_slot = day * (CLOCK_DAY_S / store_step_s[i])};
        fill(&l, file);
        rc = archive_rollups(reader, channel, i, day, compare, &l);
        int64_t count = (levels & (1U << i)) != 0 ? CLOCK_DAY_S / l.step_s : 0;
        for (int64_t k = 0; rc == RC_OK && k < count; k++)
            if (l.buckets[k].n > 0 && !l.buckets[k].met)
                tell(&l, l.first_slot + k, "is not there");
    }
    return rc;
}
