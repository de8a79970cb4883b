/* pool.c - see pool.h. */
#include "http/pool.h"

#include <errno.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "store/series.h"

struct pool {
    char *path; /* owned */
    pthread_mutex_t lock;
    pthread_cond_t freed;
    int lent;
    int idle_count;
    struct reader *idle[POOL_READERS]; /* owned */
};

enum rc pool_open(const char *store_path, struct pool **out)
{
    struct pool *pool = calloc(1, sizeof *pool);
    if (pool == NULL)
        return RC_NOMEM;
    pool->path = strdup(store_path);
    if (pool->path == NULL) {
        free(pool);
        return RC_NOMEM;
    }
    pthread_condattr_t attr;
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    pthread_mutex_init(&pool->lock, NULL);
    pthread_cond_init(&pool->freed, &attr);
    pthread_condattr_destroy(&attr);
    *out = pool;
    return RC_OK;
}

void pool_close(struct pool *pool)
{
    if (pool == NULL)
        return;
    for (int i = 0; i < pool->idle_count; i++)
        reader_close(pool->idle[i]);
    pthread_cond_destroy(&pool->freed);
    pthread_mutex_destroy(&pool->lock);
    free(pool->path);
    free(pool);
}

enum rc pool_take(struct pool *pool, int wait_ms, struct reader **out)
{
    struct timespec until = clock_deadline(wait_ms);
    struct reader *reader = NULL;
    pthread_mutex_lock(&pool->lock);
    while (pool->lent == POOL_READERS)
        if (pthread_cond_timedwait(&pool->freed, &pool->lock, &until) == ETIMEDOUT)
            break;
    if (pool->lent == POOL_READERS) {
        pthread_mutex_unlock(&pool->lock);
        return RC_BUSY;
    }
    pool->lent++;
    if (pool->idle_count > 0)
        reader = pool->idle[--pool->idle_count];
    pthread_mutex_unlock(&pool->lock);

    enum rc rc = reader == NULL ? reader_open(pool->path, &reader) : RC_OK;
    if (rc != RC_OK) {
        pool_give(pool, NULL, rc);
        return rc;
    }
    reader_bound_ms(reader, POOL_BOUND_MS);
    *out = reader;
    return RC_OK;
}

void pool_give(struct pool *pool, struct reader *reader, enum rc outcome)
{
    bool sound = outcome == RC_OK || outcome == RC_TIMEOUT || outcome == RC_NOT_FOUND ||
                 outcome == RC_BAD_INPUT;
    if (!sound) {
        reader_close(reader);
        reader = NULL;
    }
    pthread_mutex_lock(&pool->lock);
    pool->lent--;
    if (reader != NULL)
        pool->idle[pool->idle_count++] = reader;
    pthread_cond_signal(&pool->freed);
    pthread_mutex_unlock(&pool->lock);
}
