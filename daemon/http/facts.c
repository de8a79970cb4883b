/* facts.c - see facts.h. */
#include "http/facts.h"

#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/clock.h"
#include "http/pool.h"
#include "store/series.h"

struct entry {
    bool known;       /* the damp hours, for first_open */
    int64_t tried_ms; /* when the store was last asked; 0: never */
    struct facts_zone zone;
};

struct facts {
    pthread_mutex_t lock;
    struct entry entries[]; /* in the order of the site file */
};

enum rc facts_open(size_t zone_count, struct facts **out)
{
    struct facts *facts = calloc(1, sizeof *facts + zone_count * sizeof facts->entries[0]);
    if (facts == NULL)
        return RC_NOMEM;
    pthread_mutex_init(&facts->lock, NULL);
    *out = facts;
    return RC_OK;
}

void facts_close(struct facts *facts)
{
    if (facts == NULL)
        return;
    pthread_mutex_destroy(&facts->lock);
    free(facts);
}

static enum rc ask(struct pool *pool, uint32_t zone, int64_t open_day, struct entry *out)
{
    struct reader *reader;
    enum rc rc = pool_take(pool, POOL_GLANCE_MS, &reader);
    if (rc != RC_OK)
        return rc;
    struct facts_zone *z = &out->zone;
    if (z->first_s == 0)
        rc = store_zone_first(reader, zone, &z->first_s);
    if (rc == RC_OK) {
        int64_t to_s = open_day * CLOCK_DAY_S;
        rc = store_damp_hours(reader, zone, to_s - (int64_t)FACTS_DAMP_DAYS * CLOCK_DAY_S, to_s,
                              z->damp_h, &z->covered_h);
        if (rc == RC_NOT_FOUND)
            rc = RC_OK; /* no humidity is read here */
        out->known = rc == RC_OK;
        z->first_open = open_day;
    }
    pool_give(pool, reader, rc);
    return rc;
}

/* True for the one caller that is to ask the store; a zone that was never read is asked for
 * again and again, until its first reading comes. */
static bool take_turn(struct entry *entry, int64_t open_day)
{
    bool fresh = entry->known && entry->zone.first_open == open_day && entry->zone.first_s != 0;
    int64_t now_ms = clock_now().mono_ms;
    if (fresh || (entry->tried_ms != 0 && now_ms - entry->tried_ms < FACTS_RETRY_MS))
        return false;
    entry->tried_ms = now_ms;
    return true;
}

void facts_of(struct facts *facts, struct pool *pool, size_t index, uint32_t zone,
              int64_t open_day, struct facts_zone *out)
{
    pthread_mutex_lock(&facts->lock);
    bool mine = take_turn(&facts->entries[index], open_day);
    struct entry entry = facts->entries[index];
    pthread_mutex_unlock(&facts->lock);
    struct entry learnt = {.tried_ms = entry.tried_ms, .zone.first_s = entry.zone.first_s};
    if (mine && ask(pool, zone, open_day, &learnt) == RC_OK) {
        entry = learnt;
        pthread_mutex_lock(&facts->lock);
        facts->entries[index] = learnt;
        pthread_mutex_unlock(&facts->lock);
    }
    *out = entry.zone;
}
