/* live.c - see live.h and publish.h. */
#include "recorder/publish.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/derive.h"
#include "base/log.h"
#include "recorder/daybuf.h"
#include "recorder/quarters.h"

enum {
    TREND_S = 3 * 3600,
    TREND_LEAST = 5
};

struct live_channel {
    struct daybuf days;
    struct quarters quarters;
    struct live_value now;
    enum gap_reason quiet;
    uint8_t detail;
    int64_t quiet_since_s;
    uint64_t polls, failures;
};

struct zone_memory {
    struct quarters quarters[QUANTITY_COUNT]; /* derived ones only */
    struct live_value now[QUANTITY_COUNT];    /* likewise */
};

struct live {
    const struct roster *roster; /* borrowed */
    pthread_mutex_t lock;
    pthread_cond_t changed;
    struct live_channel *channels;
    struct zone_memory *zones;
    struct live_alarm *alarms; /* one a limit; id 0: normal since ever */
    struct live_status status, draft;
    int64_t open_from_s;
    bool stopped, short_of_memory;
};

enum rc live_open(const struct roster *roster, struct live **out)
{
    struct live *l = calloc(1, sizeof *l);
    if (l == NULL)
        return RC_NOMEM;
    l->roster = roster;
    pthread_mutex_init(&l->lock, NULL);
    pthread_condattr_t attr;
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    pthread_cond_init(&l->changed, &attr);
    pthread_condattr_destroy(&attr);
    l->channels = calloc(roster->channel_count + 1, sizeof *l->channels);
    l->zones = calloc(roster->zone_count + 1, sizeof *l->zones);
    l->alarms = calloc(roster->site->limit_count + 1, sizeof *l->alarms);
    if (l->channels == NULL || l->zones == NULL || l->alarms == NULL) {
        live_close(l);
        return RC_NOMEM;
    }
    l->draft.last_signed_day = -1;
    *out = l;
    return RC_OK;
}

void live_close(struct live *l)
{
    if (l == NULL)
        return;
    for (size_t i = 0; l->channels != NULL && i < l->roster->channel_count; i++) {
        daybuf_free(&l->channels[i].days);
        quarters_free(&l->channels[i].quarters);
    }
    for (size_t i = 0; l->zones != NULL && i < l->roster->zone_count; i++)
        for (int q = 0; q < QUANTITY_COUNT; q++)
            quarters_free(&l->zones[i].quarters[q]);
    pthread_cond_destroy(&l->changed);
    pthread_mutex_destroy(&l->lock);
    free(l->channels);
    free(l->zones);
    free(l->alarms);
    free(l);
}

/* -- the recorder's side -- */

void live_begin(struct live *l)
{
    pthread_mutex_lock(&l->lock);
}

void live_end(struct live *l)
{
    l->draft.generation++;
    l->status = l->draft;
    pthread_cond_broadcast(&l->changed);
    pthread_mutex_unlock(&l->lock);
}

static void memory(struct live *l, enum rc rc)
{
    if (rc != RC_OK && !l->short_of_memory) {
        log_err("out of memory for today's chart, which misses readings now; the record itself "
                "goes on");
        l->short_of_memory = true;
    }
}

void live_miss(struct live *l)
{
    memory(l, RC_NOMEM);
}

bool live_whole(const struct live *l)
{
    return !l->short_of_memory;
}

void live_forget_open(struct live *l)
{
    for (size_t i = 0; i < l->roster->channel_count; i++) {
        daybuf_free(&l->channels[i].days);
        quarters_cut_from(&l->channels[i].quarters, l->open_from_s);
    }
    for (size_t i = 0; i < l->roster->zone_count; i++)
        for (int q = 0; q < QUANTITY_COUNT; q++)
            quarters_cut_from(&l->zones[i].quarters[q], l->open_from_s);
    l->short_of_memory = false;
}

void live_put_reading(struct live *l, int channel, int64_t t_s, int32_t value, uint16_t flags)
{
    struct live_channel *c = &l->channels[channel];
    memory(l, daybuf_add(&c->days, t_s, value, flags));
    memory(l, quarters_add(&c->quarters, t_s, value));
    c->now = (struct live_value){.known = true, .flags = flags, .value = value, .t_s = t_s};
}

void live_put_derived(struct live *l, int zone, enum quantity q, int64_t t_s, int32_t value)
{
    struct zone_memory *z = &l->zones[zone];
    memory(l, quarters_add(&z->quarters[q], t_s, value));
    z->now[q] = (struct live_value){.known = true, .value = value, .t_s = t_s};
}

void live_put_quiet(struct live *l, int channel, enum gap_reason reason, uint8_t detail,
                    int64_t since_s)
{
    struct live_channel *c = &l->channels[channel];
    c->quiet = reason;
    c->detail = detail;
    c->quiet_since_s = since_s;
}

void live_count_polls(struct live *l, const struct reading *readings, size_t count)
{
    if (count == 0)
        return;
    pthread_mutex_lock(&l->lock);
    for (size_t i = 0; i < count; i++) {
        int channel = roster_find(l->roster, readings[i].channel);
        if (channel < 0)
            continue;
        l->channels[channel].polls++;
        l->channels[channel].failures += readings[i].gap != GAP_NONE;
    }
    pthread_mutex_unlock(&l->lock);
}

void live_put_alarm(struct live *l, size_t limit, const struct live_alarm *alarm)
{
    l->alarms[limit] = *alarm;
}

struct live_status *live_status_draft(struct live *l)
{
    return &l->draft;
}

void live_cut(struct live *l, int64_t open_from_s)
{
    for (size_t i = 0; i < l->roster->channel_count; i++) {
        memory(l, daybuf_cut(&l->channels[i].days, open_from_s));
        quarters_cut(&l->channels[i].quarters, open_from_s - QUARTERS_KEPT_S);
    }
    for (size_t i = 0; i < l->roster->zone_count; i++)
        for (int q = 0; q < QUANTITY_COUNT; q++)
            quarters_cut(&l->zones[i].quarters[q], open_from_s - QUARTERS_KEPT_S);
    l->open_from_s = open_from_s;
}

const struct daybuf *live_daybuf(const struct live *l, int channel)
{
    return &l->channels[channel].days;
}

const struct quarters *live_channel_quarters(const struct live *l, int channel)
{
    return &l->channels[channel].quarters;
}

const struct quarters *live_zone_quarters(const struct live *l, int zone, enum quantity q)
{
    return &l->zones[zone].quarters[q];
}

/* -- the readers' side -- */

void live_status(struct live *l, struct live_status *out)
{
    pthread_mutex_lock(&l->lock);
    *out = l->status;
    pthread_mutex_unlock(&l->lock);
}

size_t live_zone_count(struct live *l)
{
    return l->roster->zone_count;
}

size_t live_instrument_count(struct live *l)
{
    return l->roster->site->instrument_count;
}

/* Least-squares slope of the quarter means of the last three hours, per hour. */
static double slope_per_h(const struct quarters *q, enum quantity quantity, int64_t now_s)
{
    double n = 0, st = 0, sv = 0, stt = 0, stv = 0;
    for (uint32_t i = q->count; i > 0 && q->items[i - 1].t_s > now_s - TREND_S; i--) {
        const struct quarter *item = &q->items[i - 1];
        double t = (double)(item->t_s - now_s) / 3600;
        double v = quantity_decode(quantity, item->sum) / item->n;
        n++;
        st += t;
        sv += v;
        stt += t * t;
        stv += t * v;
    }
    double below = n * stt - st * st;
    return n < TREND_LEAST || below <= 0 ? (double)NAN : (n * stv - st * sv) / below;
}

static void zone_values(const struct live *l, size_t index, struct live_zone *out)
{
    const struct roster_zone *z = &l->roster->zones[index];
    int64_t now_s = clock_utc_s(clock_now());
    for (int q = 0; q < QUANTITY_COUNT; q++) {
        int c = z->channel[q];
        out->has[q] = c >= 0 || z->series[q] != 0;
        out->now[q] = c >= 0 ? l->channels[c].now : l->zones[index].now[q];
        int every_s = c >= 0 ? l->roster->channels[c].every_s : z->every_s;
        int64_t age_s = now_s - out->now[q].t_s;
        /* Three intervals, and the ten seconds in which a batch is gathered. */
        out->now[q].fresh = out->now[q].known && age_s <= 3 * every_s + 10;
        if (out->now[q].known && out->now[q].t_s > out->last_s)
            out->last_s = out->now[q].t_s;
    }
}

void live_zone(struct live *l, size_t index, struct live_zone *out)
{
    const struct roster_zone *z = &l->roster->zones[index];
    *out = (struct live_zone){.site = z->site,
                              .id = z->id,
                              .humidity_per_h = (double)NAN,
                              .temperature_per_h = (double)NAN};
    pthread_mutex_lock(&l->lock);
    zone_values(l, index, out);
    int rh = z->channel[QUANTITY_HUMIDITY], t = z->channel[QUANTITY_TEMPERATURE];
    if (rh >= 0)
        out->humidity_per_h =
            slope_per_h(&l->channels[rh].quarters, QUANTITY_HUMIDITY, l->channels[rh].now.t_s);
    if (t >= 0)
        out->temperature_per_h =
            slope_per_h(&l->channels[t].quarters, QUANTITY_TEMPERATURE, l->channels[t].now.t_s);
    int lead = rh >= 0 ? rh : t;
    if (lead >= 0) {
        out->quiet = l->channels[lead].quiet;
        out->quiet_since_s = l->channels[lead].quiet_since_s;
    }
    pthread_mutex_unlock(&l->lock);
}

bool live_zone_find(struct live *l, const char *name, struct live_zone *out)
{
    for (size_t i = 0; i < l->roster->zone_count; i++)
        if (strcmp(l->roster->zones[i].site->name, name) == 0) {
            live_zone(l, i, out);
            return true;
        }
    return false;
}

void live_instrument(struct live *l, size_t index, struct live_instrument *out)
{
    *out = (struct live_instrument){.site = &l->roster->site->instruments[index]};
    pthread_mutex_lock(&l->lock);
    for (size_t i = 0; i < l->roster->channel_count; i++) {
        const struct live_channel *c = &l->channels[i];
        if (l->roster->channels[i].instrument != (int)index)
            continue;
        if (c->now.t_s > out->last_s)
            out->last_s = c->now.t_s;
        if (c->quiet != GAP_NONE && out->quiet == GAP_NONE) {
            out->quiet = c->quiet;
            out->detail = c->detail;
            out->quiet_since_s = c->quiet_since_s;
        }
        if (c->polls > out->polls)
            out->polls = c->polls;
        if (c->failures > out->failures)
            out->failures = c->failures;
    }
    pthread_mutex_unlock(&l->lock);
}

static int newest_first(const void *a, const void *b)
{
    const struct live_alarm *x = a, *y = b;
    return x->since_s < y->since_s ? 1 : x->since_s > y->since_s ? -1 : 0;
}

size_t live_alarms(struct live *l, struct live_alarm *out, size_t max)
{
    size_t count = 0;
    pthread_mutex_lock(&l->lock);
    for (size_t i = 0; i < l->roster->site->limit_count && count < max; i++)
        if (l->alarms[i].state != ALARM_NORMAL)
            out[count++] = l->alarms[i];
    pthread_mutex_unlock(&l->lock);
    qsort(out, count, sizeof *out, newest_first);
    return count;
}

uint64_t live_wait(struct live *l, uint64_t seen, int timeout_ms)
{
    struct timespec until = clock_deadline(timeout_ms);
    pthread_mutex_lock(&l->lock);
    while (!l->stopped && l->status.generation == seen)
        if (pthread_cond_timedwait(&l->changed, &l->lock, &until) != 0)
            break;
    uint64_t now = l->status.generation;
    pthread_mutex_unlock(&l->lock);
    return now;
}

void live_stop(struct live *l)
{
    pthread_mutex_lock(&l->lock);
    l->stopped = true;
    pthread_cond_broadcast(&l->changed);
    pthread_mutex_unlock(&l->lock);
}

bool live_stopped(struct live *l)
{
    pthread_mutex_lock(&l->lock);
    bool stopped = l->stopped;
    pthread_mutex_unlock(&l->lock);
    return stopped;
}

/* What gives a zone's quantity now, and what gave it earlier in the open days. */
struct giver {
    const struct roster *roster;
    int channel; /* -1: nothing measured */
    int zone;
};

static bool gave(const struct giver *g, int64_t t_s)
{
    int zone;
    bool leads;
    if (g->channel < 0)
        return true;
    roster_place(g->roster, g->channel, t_s, &zone, &leads);
    return leads && zone == g->zone;
}

static enum rc add_quarters(const struct quarters *q, const struct giver *g,
                            int64_t open_from_s, struct series *s)
{
    enum rc rc = RC_OK;
    for (uint32_t i = 0; rc == RC_OK && i < q->count; i++) {
        const struct quarter *item = &q->items[i];
        if (!gave(g, item->t_s))
            continue;
        int64_t t =
            item->t_s < s->from_s && item->t_s + QUARTER_S > s->from_s ? s->from_s : item->t_s;
        if (item->t_s >= open_from_s && item->t_s >= s->closed_to_s)
            rc = series_add(s, t, item->n, item->min, item->max, item->sum);
    }
    return rc;
}

static enum rc add_readings(const struct daybuf *b, const struct giver *g, struct series *s)
{
    struct daybuf_cursor c;
    enum rc rc = RC_OK;
    daybuf_start(b, &c);
    while (rc == RC_OK && daybuf_next(&c))
        if (c.t_s >= s->closed_to_s && gave(g, c.t_s))
            rc = series_add(s, c.t_s, 1, c.value, c.value, c.value);
    return rc;
}

/* Works out a quantity of the air again from both channels' readings, moment by moment. */
static enum rc add_air(const struct daybuf *temperature, const struct daybuf *humidity,
                       const struct giver *g, struct series *s)
{
    struct daybuf_cursor t, rh;
    daybuf_start(temperature, &t);
    daybuf_start(humidity, &rh);
    enum rc rc = RC_OK;
    bool more = daybuf_next(&t);
    while (rc == RC_OK && more && daybuf_next(&rh)) {
        while (more && t.t_s < rh.t_s)
            more = daybuf_next(&t);
        int32_t value;
        if (more && t.t_s == rh.t_s && rh.t_s >= s->closed_to_s && gave(g, rh.t_s) &&
            derive_air(s->quantity, t.value, rh.value, &value))
            rc = series_add(s, rh.t_s, 1, value, value, value);
    }
    return rc;
}

static enum rc fill_measured(const struct live *l, size_t index, struct series *s)
{
    const struct roster *roster = l->roster;
    int now = roster->zones[index].channel[s->quantity];
    enum rc rc = RC_OK;
    for (size_t i = 0; rc == RC_OK && i < roster->channel_count; i++) {
        const struct giver g = {.roster = roster, .channel = (int)i, .zone = (int)index};
        if (roster->channels[i].quantity != s->quantity ||
            ((int)i != now && roster->former_count == 0))
            continue;
        rc = s->width_s < QUARTER_S
                 ? add_readings(&l->channels[i].days, &g, s)
                 : add_quarters(&l->channels[i].quarters, &g, l->open_from_s, s);
    }
    return rc;
}

static enum rc fill(const struct live *l, size_t index, struct series *s)
{
    const struct roster_zone *z = &l->roster->zones[index];
    struct giver g = {.roster = l->roster, .channel = -1, .zone = (int)index};
    bool from_air = s->quantity == QUANTITY_DEW_POINT ||
                    s->quantity == QUANTITY_ABSOLUTE_HUMIDITY || s->quantity == QUANTITY_EMC;
    if (quantity_info(s->quantity)->kind != QUANTITY_DERIVED)
        return fill_measured(l, index, s);
    if (z->series[s->quantity] == 0)
        return RC_OK; /* closed days alone have it */
    if (s->width_s >= QUARTER_S || !from_air)
        return add_quarters(&l->zones[index].quarters[s->quantity], &g, l->open_from_s, s);
    g.channel = z->channel[QUANTITY_HUMIDITY];
    return add_air(&l->channels[z->channel[QUANTITY_TEMPERATURE]].days,
                   &l->channels[g.channel].days, &g, s);
}

enum rc live_series_fill(struct live *l, uint32_t zone, enum quantity quantity,
                         struct series *series)
{
    (void)quantity;
    enum rc rc = RC_NOT_FOUND;
    pthread_mutex_lock(&l->lock);
    for (size_t i = 0; i < l->roster->zone_count; i++)
        if (l->roster->zones[i].id == zone)
            rc = fill(l, i, series);
    pthread_mutex_unlock(&l->lock);
    return rc;
}
