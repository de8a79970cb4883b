/* fake_live.h - stands in for the recorder's live.c at link time: zones, instruments and
 * alarms that a test sets as it likes, published when it says so.
 *
 * Included by one source of a program only: it defines the live_ functions.
 */
#ifndef TESTS_SUPPORT_FAKE_LIVE_H
#define TESTS_SUPPORT_FAKE_LIVE_H

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "recorder/live.h"

enum {
    FAKE_MOST = 64
};

struct live {
    pthread_mutex_t lock;
    pthread_cond_t changed;
    bool stopped;
    struct live_status status;
    size_t zone_count, instrument_count, alarm_count;
    struct live_zone zones[FAKE_MOST];
    struct live_instrument instruments[FAKE_MOST];
    struct live_alarm alarms[FAKE_MOST];
    size_t reading_count; /* of today, for every series */
    int64_t reading_from_s, reading_every_s;
};

/* Every zone with temperature 20.5, humidity 58.2 and what is derived from them at t_s. */
static inline struct live *fake_live_new(const struct site *site, int64_t t_s)
{
    struct live *live = calloc(1, sizeof *live);
    if (live == NULL)
        abort();
    pthread_condattr_t attr;
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    pthread_mutex_init(&live->lock, NULL);
    pthread_cond_init(&live->changed, &attr);
    pthread_condattr_destroy(&attr);
    live->status = (struct live_status){.writing = true,
                                        .clock = LIVE_CLOCK_GOOD,
                                        .started_s = t_s - 3600,
                                        .last_commit_s = t_s,
                                        .readings = 240,
                                        .open_day = clock_day_of(t_s),
                                        .last_signed_day = clock_day_of(t_s) - 1,
                                        .signed_days = 12,
                                        .key_id = "0123456789abcdef",
                                        .generation = 1};
    for (size_t i = 0; i < site->zone_count && i < FAKE_MOST; i++) {
        struct live_zone *z = &live->zones[live->zone_count++];
        *z = (struct live_zone){.site = &site->zones[i],
                                .id = (uint32_t)i + 1,
                                .humidity_per_h = -0.8049,
                                .temperature_per_h = (double)NAN,
                                .last_s = t_s};
        static const struct {
            enum quantity quantity;
            int64_t value;
        } rows[] = {{QUANTITY_TEMPERATURE, 2050},
                    {QUANTITY_HUMIDITY, 5820},
                    {QUANTITY_DEW_POINT, 1201},
                    {QUANTITY_EMC, 1065},
                    {QUANTITY_MOULD_INDEX, 0}};
        for (size_t r = 0; r < sizeof rows / sizeof *rows; r++) {
            z->has[rows[r].quantity] = true;
            z->now[rows[r].quantity] = (struct live_value){
                .known = true, .fresh = true, .value = rows[r].value, .t_s = t_s};
        }
    }
    for (size_t i = 0; i < site->instrument_count && i < FAKE_MOST; i++)
        live->instruments[live->instrument_count++] = (struct live_instrument){
            .site = &site->instruments[i], .last_s = t_s, .polls = 120, .failures = 3};
    return live;
}

static inline void fake_live_free(struct live *live)
{
    pthread_cond_destroy(&live->changed);
    pthread_mutex_destroy(&live->lock);
    free(live);
}

/* Changes between lock and publish are seen at once by all. */
static inline void fake_live_lock(struct live *live)
{
    pthread_mutex_lock(&live->lock);
}

static inline void fake_live_publish(struct live *live)
{
    live->status.generation++;
    pthread_cond_broadcast(&live->changed);
    pthread_mutex_unlock(&live->lock);
}

void live_status(struct live *live, struct live_status *out)
{
    pthread_mutex_lock(&live->lock);
    *out = live->status;
    pthread_mutex_unlock(&live->lock);
}

size_t live_zone_count(struct live *live)
{
    return live->zone_count;
}

void live_zone(struct live *live, size_t index, struct live_zone *out)
{
    pthread_mutex_lock(&live->lock);
    *out = live->zones[index];
    pthread_mutex_unlock(&live->lock);
}

bool live_zone_find(struct live *live, const char *name, struct live_zone *out)
{
    for (size_t i = 0; i < live->zone_count; i++)
        if (strcmp(live->zones[i].site->name, name) == 0) {
            live_zone(live, i, out);
            return true;
        }
    return false;
}

size_t live_instrument_count(struct live *live)
{
    return live->instrument_count;
}

void live_instrument(struct live *live, size_t index, struct live_instrument *out)
{
    pthread_mutex_lock(&live->lock);
    *out = live->instruments[index];
    pthread_mutex_unlock(&live->lock);
}

size_t live_alarms(struct live *live, struct live_alarm *out, size_t max)
{
    pthread_mutex_lock(&live->lock);
    size_t n = live->alarm_count < max ? live->alarm_count : max;
    memcpy(out, live->alarms, n * sizeof *out);
    pthread_mutex_unlock(&live->lock);
    return n;
}

uint64_t live_wait(struct live *live, uint64_t seen, int timeout_ms)
{
    struct timespec until = clock_deadline(timeout_ms);
    pthread_mutex_lock(&live->lock);
    while (!live->stopped && live->status.generation == seen)
        if (pthread_cond_timedwait(&live->changed, &live->lock, &until) != 0)
            break;
    uint64_t generation = live->status.generation;
    pthread_mutex_unlock(&live->lock);
    return generation;
}

void live_stop(struct live *live)
{
    pthread_mutex_lock(&live->lock);
    live->stopped = true;
    pthread_cond_broadcast(&live->changed);
    pthread_mutex_unlock(&live->lock);
}

bool live_stopped(struct live *live)
{
    pthread_mutex_lock(&live->lock);
    bool stopped = live->stopped;
    pthread_mutex_unlock(&live->lock);
    return stopped;
}

enum rc live_series_fill(struct live *live, uint32_t zone, enum quantity quantity,
                         struct series *series)
{
    (void)quantity;
    for (size_t i = 0; i < live->reading_count; i++) {
        int64_t value = 5000 + (int64_t)(i * 7919 % 2000) + zone;
        enum rc rc =
            series_add(series, live->reading_from_s + (int64_t)i * live->reading_every_s, 1,
                       value, value, value);
        if (rc != RC_OK)
            return rc;
    }
    return RC_OK;
}

#endif
