/* batch.c - see batch.h. */
#include "recorder/batch.h"

#include <stdlib.h>
#include <string.h>

#include "recorder/tell.h"

enum {
    DERIVED_USUAL = 8 * BATCH_READINGS, /* a reading moves at most so many derived quantities */
    GAPS_USUAL = 1024,                  /* every channel of a large studio at once */
    ALARMS_USUAL = 256
};

void batch_free(struct batch *b)
{
    free(b->derived);
    free(b->gaps);
    free(b->alarms);
    b->derived = NULL;
    b->gaps = NULL;
    b->alarms = NULL;
    b->derived_cap = b->gap_cap = b->alarm_cap = 0;
}

enum rc batch_reserve(struct batch *b)
{
    b->derived = malloc(DERIVED_USUAL * sizeof *b->derived);
    b->gaps = malloc(GAPS_USUAL * sizeof *b->gaps);
    b->alarms = malloc(ALARMS_USUAL * sizeof *b->alarms);
    if (b->derived == NULL || b->gaps == NULL || b->alarms == NULL)
        return RC_NOMEM; /* what there is, batch_free gives back */
    b->derived_cap = DERIVED_USUAL;
    b->gap_cap = GAPS_USUAL;
    b->alarm_cap = ALARMS_USUAL;
    return RC_OK;
}

void batch_clear(struct batch *b)
{
    b->reading_count = b->derived_count = b->gap_count = b->alarm_count = 0;
    b->clock_step_ms = 0;
}

bool batch_empty(const struct batch *b)
{
    return b->reading_count + b->gap_count + b->alarm_count == 0 && b->clock_step_ms == 0;
}

/* Room for one more in a list; its place, zeroed. */
static void *more(void **list, size_t *count, size_t *cap, size_t size)
{
    if (*count == *cap) {
        size_t grown = *cap == 0 ? 64 : 2 * *cap;
        void *bigger = realloc(*list, grown * size);
        if (bigger == NULL)
            return NULL;
        *list = bigger;
        *cap = grown;
    }
    void *place = (char *)*list + (*count)++ * size;
    memset(place, 0, size);
    return place;
}

#define LIST_ADD(type, name, list, count, cap)                                                 \
    struct type *name(struct batch *b)                                                         \
    {                                                                                          \
        void *base = b->list;                                                                  \
        struct type *place = more(&base, &b->count, &b->cap, sizeof *place);                   \
        b->list = base;                                                                        \
        return place;                                                                          \
    }

LIST_ADD(batch_derived, batch_derived_add, derived, derived_count, derived_cap)
LIST_ADD(batch_gap, batch_gap_add, gaps, gap_count, gap_cap)
LIST_ADD(batch_alarm, batch_alarm_add, alarms, alarm_count, alarm_cap)

static enum rc write_readings(struct batch *b, const struct roster *roster, struct store *store)
{
    enum rc rc = RC_OK;
    for (size_t i = 0; rc == RC_OK && i < b->reading_count; i++) {
        const struct batch_reading *r = &b->readings[i];
        struct store_reading out = {.channel = roster->channels[r->channel].id,
                                    .flags = r->flags,
                                    .value = r->value,
                                    .t_s = r->t_s};
        rc = r->late ? store_late_put(store, &out, b->received_s, b->late_day)
                     : store_tail_put(store, &out);
    }
    return rc;
}

static enum rc write_gap(struct batch_gap *g, const struct roster *roster, struct store *store)
{
    if (g->forget)
        return store_gap_forget(store, g->id);
    enum rc rc = RC_OK;
    if (g->begins)
        rc = store_gap_open(store, roster->channels[g->channel].id, g->from_s, g->reason,
                            g->detail, &g->id);
    if (rc == RC_OK && g->to_s != 0)
        rc = store_gap_close(store, g->id, g->to_s);
    return rc;
}

static enum rc write_alarm(struct batch *b, struct batch_alarm *a, const struct site *site,
                           struct store *store)
{
    if (a->fresh)
        a->alarm.occurrence = 0;
    a->event.person = a->person[0] == '\0' ? NULL : a->person;
    a->event.reason = a->reason[0] == '\0' ? NULL : a->reason;
    enum rc rc = store_alarm_put(store, &a->alarm, &a->event);
    /* Later transitions of the same limit in this batch belong to the same occurrence. */
    for (struct batch_alarm *next = a + 1; next < b->alarms + b->alarm_count; next++)
        if (next->limit == a->limit && !next->fresh)
            next->alarm.occurrence = a->alarm.occurrence;
    return rc == RC_OK ? tell_put(store, site, a) : rc;
}

enum rc batch_write(struct batch *b, const struct roster *roster, struct store *store)
{
    enum rc rc = store_begin(store);
    if (rc != RC_OK)
        return rc;
    rc = write_readings(b, roster, store);
    for (size_t i = 0; rc == RC_OK && i < b->gap_count; i++)
        rc = write_gap(&b->gaps[i], roster, store);
    for (size_t i = 0; rc == RC_OK && i < b->alarm_count; i++)
        rc = write_alarm(b, &b->alarms[i], roster->site, store);
    if (rc == RC_OK && b->clock_step_ms != 0)
        rc = store_clock_step(store, b->clock_step_s, b->clock_step_ms);
    if (rc == RC_OK)
        rc = store_commit(store);
    if (rc != RC_OK)
        store_rollback(store);
    return rc;
}
