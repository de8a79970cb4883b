/* recorder.c - see recorder.h. */
#include "recorder/recorder_private.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"

enum {
    QUEUE_CAPACITY = 16384,
    COMMIT_MS = 10000,
    STEP_MS = 250,
    RETRY_MS = 5000, /* how soon a full disk is tried again */
    ALIVE_S = 60,    /* how exactly the end of a silent run is known after a power cut */
};

static enum rc open_store(struct recorder *r)
{
    const struct site *site = r->site;
    buf_printf(&r->key_path, "%s", site->key_path);
    buf_printf(&r->head_path, "%s.head", site->store_path);
    if (r->key_path.failed || r->head_path.failed)
        return RC_NOMEM;
    enum rc rc = seal_start();
    if (rc == RC_OK)
        rc = store_open(site->store_path, &r->store);
    if (rc == RC_OK)
        rc = seal_key_load(r->key_path.data, &r->key);
    if (rc == RC_OK)
        rc = store_meta_get(r->store, "open_day", 0, &r->open_day);
    return rc;
}

/* From when the site file holds: from now, or, with a clock that cannot be right, from the last
 * sign of life, so that no placement begins in 2099. */
static enum rc in_force_s(struct recorder *r, int64_t now_s, int64_t *out)
{
    int64_t alive_s = 0, clean_s = 0, open_s = r->open_day * CLOCK_DAY_S;
    if (plausible_date(r, now_s, open_s)) {
        *out = now_s;
        return RC_OK;
    }
    enum rc rc = store_meta_get(r->store, "alive", 0, &alive_s);
    if (rc == RC_OK)
        rc = store_meta_get(r->store, "clean", 0, &clean_s);
    *out = alive_s > clean_s ? alive_s : clean_s;
    if (*out < open_s)
        *out = open_s;
    return rc;
}

static enum rc open_parts(struct recorder *r, int64_t now_s)
{
    size_t capacity = r->cfg.queue_capacity == 0 ? QUEUE_CAPACITY : r->cfg.queue_capacity;
    int64_t open_s = r->open_day * CLOCK_DAY_S;
    enum rc rc = in_force_s(r, now_s, &r->in_force_s);
    if (rc == RC_OK)
        rc = store_begin(r->store);
    if (rc == RC_OK)
        rc = store_site_file(r->store, r->site->text.data, r->site->text.len, r->in_force_s);
    if (rc == RC_OK)
        rc = roster_make(r->store, r->site, r->in_force_s, open_s != 0 ? open_s : r->in_force_s,
                         &r->roster);
    if (rc == RC_OK)
        rc = store_commit(r->store);
    if (rc == RC_OK)
        rc = engine_open(r->roster, &r->engine);
    if (rc == RC_OK)
        rc = live_open(r->roster, &r->live);
    if (rc == RC_OK)
        rc = queue_open(capacity, &r->queue);
    if (rc == RC_OK)
        rc = batch_reserve(&r->batch);
    if (rc != RC_OK)
        return rc;
    r->channels = calloc(r->roster->channel_count + 1, sizeof *r->channels);
    r->alarms = calloc(r->site->limit_count + 1, sizeof *r->alarms);
    r->drained = malloc(BATCH_READINGS * sizeof *r->drained);
    if (r->channels == NULL || r->alarms == NULL || r->drained == NULL)
        return RC_NOMEM;
    for (size_t i = 0; i < r->roster->channel_count; i++)
        r->channels[i].gap_in_batch = NO_BATCH_GAP;
    for (size_t i = 0; i < r->site->limit_count; i++)
        r->alarms[i].worst = (double)NAN;
    return RC_OK;
}

static void show_alarm(struct recorder *r, size_t limit)
{
    const struct alarm_memory *m = &r->alarms[limit];
    const struct condition *c = engine_condition(r->engine, limit);
    struct live_alarm a = {.id = m->occurrence,
                           .limit = &r->site->limits[limit],
                           .state = m->state,
                           .since_s = m->since_s,
                           .until_s = m->until_s,
                           .value = c->value,
                           .worst = c->raised ? c->worst : m->worst};
    live_put_alarm(r->live, limit, &a);
}

/* What is shown before the first commit: alarms that stand, the status. */
static enum rc show_start(struct recorder *r)
{
    struct live_status *s = live_status_draft(r->live);
    int64_t number, day;
    uint8_t digest[SEAL_DIGEST];
    enum rc rc = store_signed_last(r->store, &number, &day, digest);
    if (rc != RC_OK)
        return rc;
    live_begin(r->live);
    s->writing = true;
    s->started_s = r->started_s;
    s->open_day = r->open_day;
    s->signed_days = (uint64_t)number;
    s->last_signed_day = number > 0 ? day : -1;
    seal_key_id(r->key.public_key, s->key_id);
    for (size_t i = 0; i < r->site->limit_count; i++)
        show_alarm(r, i);
    live_end(r->live);
    return RC_OK;
}

/* The first day of a store, and what came before it under stamps that could not be right. */
static enum rc first_day(struct recorder *r, int64_t day)
{
    enum rc rc = store_meta_put(r->store, "open_day", day);
    return rc == RC_OK ? store_late_adopt(r->store, day) : rc;
}

/* What needs a clock that can be right, once there is one: the first day, and how long nobody
 * recorded. */
static enum rc begin(struct recorder *r, int64_t now_s)
{
    struct live_status *s = live_status_draft(r->live);
    if (r->begun || s->clock == LIVE_CLOCK_IMPLAUSIBLE)
        return RC_OK;
    int64_t day = r->open_day == 0 ? clock_day_of(now_s) : r->open_day;
    enum rc rc = store_begin(r->store);
    if (rc == RC_OK && r->open_day == 0)
        rc = first_day(r, day);
    if (rc == RC_OK)
        rc = outage_begin(r, now_s);
    if (rc == RC_OK)
        rc = store_meta_put(r->store, "alive", now_s);
    if (rc == RC_OK)
        rc = store_commit(r->store);
    if (rc != RC_OK) {
        store_rollback(r->store);
        return rc;
    }
    r->begun = true;
    live_begin(r->live);
    if (r->open_day != day)
        live_cut(r->live, day * CLOCK_DAY_S);
    for (size_t i = 0; i < r->roster->channel_count; i++)
        if (r->channels[i].gap_open)
            live_put_quiet(r->live, (int)i, r->channels[i].gap_reason,
                           r->channels[i].gap_detail, r->channels[i].gap_from_s);
    s->open_day = r->open_day = day;
    live_end(r->live);
    return RC_OK;
}

enum rc recorder_open(const struct recorder_cfg *cfg, struct tick now, struct recorder **out)
{
    struct recorder *r = calloc(1, sizeof *r);
    if (r == NULL)
        return RC_NOMEM;
    r->cfg = *cfg;
    r->site = cfg->site;
    r->started_s = clock_utc_s(now);
    r->alive_written_s = r->started_s;
    enum rc rc = command_open(r);
    if (rc == RC_OK)
        rc = open_store(r);
    if (rc == RC_OK)
        rc = open_parts(r, r->started_s);
    if (rc == RC_OK)
        rc = resume(r);
    if (rc == RC_OK) {
        plausible_clock(r, now);
        rc = begin(r, r->started_s);
    }
    if (rc == RC_OK)
        rc = show_start(r);
    if (rc == RC_OK)
        rc = notify_open(r, r->started_s);
    if (rc != RC_OK) {
        recorder_close(r, now);
        return rc;
    }
    r->opened_well = true;
    *out = r;
    return RC_OK;
}

struct sink *recorder_sink(struct recorder *r)
{
    return queue_sink(r->queue);
}

struct live *recorder_live(struct recorder *r)
{
    return r->live;
}

uint32_t recorder_channel(const struct recorder *r, size_t instrument, size_t read)
{
    enum quantity q = r->site->instruments[instrument].reads[read].quantity;
    int channel = roster_channel_of(r->roster, instrument, q);
    return channel < 0 ? 0 : r->roster->channels[channel].id;
}

/* -- committing -- */

static void publish_batch(struct recorder *r, struct tick now)
{
    struct live_status *s = live_status_draft(r->live);
    live_begin(r->live);
    for (size_t i = 0; i < r->batch.reading_count; i++) {
        const struct batch_reading *b = &r->batch.readings[i];
        s->late += b->late;
        if (!b->late)
            live_put_reading(r->live, b->channel, b->t_s, b->value, b->flags);
    }
    for (size_t i = 0; i < r->batch.derived_count; i++) {
        const struct batch_derived *d = &r->batch.derived[i];
        live_put_derived(r->live, d->zone, d->q, d->t_s, d->value);
    }
    for (size_t i = 0; i < r->batch.gap_count; i++) {
        const struct channel_memory *m = &r->channels[r->batch.gaps[i].channel];
        live_put_quiet(r->live, r->batch.gaps[i].channel,
                       m->gap_open ? m->gap_reason : GAP_NONE, m->gap_detail, m->gap_from_s);
        s->gaps += r->batch.gaps[i].begins;
    }
    for (size_t i = 0; i < r->site->limit_count; i++)
        show_alarm(r, i);
    s->readings += r->batch.reading_count;
    s->last_commit_s = clock_utc_s(now);
    s->queued = queue_length(r->queue);
    s->overflowed = queue_dropped(r->queue);
    s->writing = true;
    live_end(r->live);
}

static void publish_failure(struct recorder *r, enum rc rc)
{
    struct live_status *s = live_status_draft(r->live);
    bool was_writing = s->writing;
    live_begin(r->live);
    s->writing = false;
    s->write_error = rc;
    s->queued = queue_length(r->queue);
    live_end(r->live);
    if (was_writing)
        log_err("cannot record: %s. Readings are held as long as memory allows; %s",
                rc_text(rc),
                rc == RC_FULL ? "make room on the disk" : "see that the disk can be written");
}

enum rc recorder_flush(struct recorder *r, struct tick now)
{
    if (batch_empty(&r->batch)) {
        batch_clear(&r->batch);
        return RC_OK;
    }
    enum rc rc = batch_write(&r->batch, r->roster, r->store);
    if (rc != RC_OK) {
        r->batch_failed = true;
        r->retry_ms = now.mono_ms + RETRY_MS;
        publish_failure(r, rc);
        return rc;
    }
    if (r->batch_failed)
        log_info("recording again");
    r->batch_failed = false;
    r->outbox_changed = r->outbox_changed || r->batch.alarm_count > 0;
    for (size_t i = 0; i < r->batch.alarm_count; i++)
        r->alarms[r->batch.alarms[i].limit].occurrence = r->batch.alarms[i].alarm.occurrence;
    outage_numbered(r);
    publish_batch(r, now);
    batch_clear(&r->batch);
    r->batch_since_ms = 0;
    return RC_OK;
}

/* Judges what waits in the queue, as far as the batch has room; true if more may wait. */
static bool drain(struct recorder *r, struct tick now)
{
    size_t room = BATCH_READINGS - r->batch.reading_count;
    size_t n = queue_take(r->queue, r->drained, room);
    live_count_polls(r->live, r->drained, n);
    r->batch.received_s = clock_utc_s(now);
    r->batch.late_day = r->open_day;
    for (size_t i = 0; i < n; i++)
        judge_reading(r, &r->drained[i]);
    if (r->batch_since_ms == 0 && !batch_empty(&r->batch))
        r->batch_since_ms = now.mono_ms;
    return n == room;
}

/* Empties the queue, which a day must not be closed before; false if the batch cannot be
 * written. */
static bool drain_all(struct recorder *r, struct tick now)
{
    int64_t commit_ms = r->cfg.commit_ms == 0 ? COMMIT_MS : r->cfg.commit_ms;
    for (bool more = true; more && !r->batch_failed;) {
        more = drain(r, now);
        bool full = r->batch.reading_count == BATCH_READINGS;
        bool first = live_status_draft(r->live)->last_commit_s == 0;
        bool due = r->batch_since_ms != 0 && now.mono_ms - r->batch_since_ms >= commit_ms;
        if ((full || due || first) && recorder_flush(r, now) != RC_OK)
            break;
    }
    return !r->batch_failed;
}

/* Marks that we are alive while nothing is read, so that a power cut's time is known. */
static void mark_alive(struct recorder *r, struct tick now)
{
    int64_t now_s = clock_utc_s(now);
    bool silent = now_s - live_status_draft(r->live)->last_commit_s >= ALIVE_S;
    if (!silent || now_s - r->alive_written_s < ALIVE_S || r->batch_failed ||
        live_status_draft(r->live)->clock == LIVE_CLOCK_IMPLAUSIBLE)
        return;
    r->alive_written_s = now_s;
    if (store_meta_put(r->store, "alive", now_s) != RC_OK)
        log_warn("could not mark that we are alive");
}

static void close_days(struct recorder *r, struct tick now)
{
    enum {
        GOOD = LIVE_CLOCK_GOOD,
        TRUSTED = LIVE_CLOCK_TRUSTED
    };
    int clock = (int)live_status_draft(r->live)->clock;
    if ((clock != GOOD && clock != TRUSTED) || now.mono_ms < r->close_retry_ms ||
        r->batch_failed)
        return;
    enum rc rc = closing_run(r, now);
    if (rc == RC_OK)
        return;
    r->close_retry_ms = now.mono_ms + 12 * RETRY_MS;
    log_err("the day could not be closed (%s); trying again in a minute", rc_text(rc));
}

/* Writes what waits, as far as it can be written; RC_OK if nothing was held up. */
static enum rc record(struct recorder *r, struct tick now)
{
    if (!r->begun && now.mono_ms < r->retry_ms)
        return RC_BUSY;
    enum rc rc = begin(r, clock_utc_s(now));
    if (rc != RC_OK) {
        r->retry_ms = now.mono_ms + RETRY_MS;
        return rc;
    }
    if (r->batch_failed && now.mono_ms >= r->retry_ms)
        rc = recorder_flush(r, now);
    if (rc != RC_OK || drain_all(r, now))
        return rc;
    return live_status_draft(r->live)->write_error;
}

int64_t recorder_step(struct recorder *r, struct tick now)
{
    plausible_clock(r, now);
    enum rc rc = record(r, now);
    /* At a date that cannot be right, nothing can be said of how long something lasts. */
    if (rc == RC_OK && live_status_draft(r->live)->clock != LIVE_CLOCK_IMPLAUSIBLE) {
        judge_silence(r, clock_utc_s(now));
        judge_shelves(r, clock_utc_s(now));
    }
    command_answer(r, now, rc);
    notify_step(r, now);
    if (rc == RC_OK) {
        mark_alive(r, now);
        close_days(r, now);
    }
    return STEP_MS;
}

/* -- the thread -- */

static void *run(void *context)
{
    struct recorder *r = context;
    for (;;) {
        struct tick now = clock_now();
        int64_t wait_ms = recorder_step(r, now);
        pthread_mutex_lock(&r->lock);
        r->moved_ms = now.mono_ms;
        bool stop = r->stop;
        pthread_mutex_unlock(&r->lock);
        if (stop) {
            notify_finish(r);
            return NULL;
        }
        if (!command_waits(r))
            queue_wait(r->queue, (int)wait_ms);
    }
}

enum rc recorder_start(struct recorder *r)
{
    r->moved_ms = clock_now().mono_ms;
    if (pthread_create(&r->thread, NULL, run, r) != 0)
        return RC_NOMEM;
    r->running = true;
    return RC_OK;
}

void recorder_stop(struct recorder *r)
{
    if (!r->running)
        return;
    pthread_mutex_lock(&r->lock);
    r->stop = true;
    pthread_cond_broadcast(&r->answered);
    pthread_mutex_unlock(&r->lock);
    queue_wake(r->queue);
    pthread_join(r->thread, NULL);
    r->running = false;
}

int64_t recorder_moved_ms(struct recorder *r)
{
    pthread_mutex_lock(&r->lock);
    int64_t ms = r->moved_ms;
    pthread_mutex_unlock(&r->lock);
    return ms;
}

static void stop_cleanly(struct recorder *r, struct tick now)
{
    do
        (void)drain(r, now);
    while (recorder_flush(r, now) == RC_OK && queue_length(r->queue) > 0);
    /* A stamp that cannot be right would hide the outage that begins now. */
    bool odd = live_status_draft(r->live)->clock == LIVE_CLOCK_IMPLAUSIBLE;
    int64_t stop_s = odd ? r->alive_written_s : clock_utc_s(now);
    if (r->batch_failed)
        log_err("the last %zu readings could not be written", r->batch.reading_count);
    else if (r->begun && store_meta_put(r->store, "clean", stop_s) != RC_OK)
        log_warn("the clean stop could not be marked");
}

void recorder_close(struct recorder *r, struct tick now)
{
    if (r == NULL)
        return;
    notify_close(r);
    if (r->opened_well)
        stop_cleanly(r, now);
    batch_free(&r->batch);
    free(r->channels);
    free(r->alarms);
    free(r->drained);
    queue_close(r->queue);
    live_close(r->live);
    engine_close(r->engine);
    roster_free(r->roster);
    store_close(r->store);
    buf_free(&r->key_path);
    buf_free(&r->head_path);
    pthread_cond_destroy(&r->answered);
    pthread_mutex_destroy(&r->lock);
    free(r);
}
