/* events.c - see events.h. */
#include "http/events.h"

#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "http/handlers.h"
#include "http/view.h"
#include "recorder/live.h"

enum {
    ALARMS_FOLLOWED = 128
};

struct feed {
    pthread_mutex_t lock;
    uint64_t generation;
    struct buf text; /* owned; the readings event of that generation */
};

struct stream {
    struct context *context; /* borrowed */
    uint64_t seen;           /* generation that was sent */
    int64_t sent_ms;         /* when something was last sent */
    struct buf out;          /* owned; not yet taken */
    size_t taken;            /* of out */
    size_t alarm_count;
    struct live_alarm alarms[ALARMS_FOLLOWED]; /* as last sent */
};

enum rc events_feed_open(struct feed **out)
{
    struct feed *feed = calloc(1, sizeof *feed);
    if (feed == NULL)
        return RC_NOMEM;
    pthread_mutex_init(&feed->lock, NULL);
    *out = feed;
    return RC_OK;
}

void events_feed_close(struct feed *feed)
{
    if (feed == NULL)
        return;
    pthread_mutex_destroy(&feed->lock);
    buf_free(&feed->text);
    free(feed);
}

/* Takes a reference; a value that could not be made makes the text fail. */
static void put_event(struct buf *out, const char *name, json_t *data)
{
    buf_printf(out, "event: %s\ndata: ", name);
    if (data == NULL)
        out->failed = true;
    else
        json_put(out, data);
    json_decref(data);
    buf_str(out, "\n\n");
}

static json_t *readings(struct live *live)
{
    json_t *zones = json_array();
    for (size_t i = 0; i < live_zone_count(live); i++) {
        struct live_zone zone;
        live_zone(live, i, &zone);
        json_t *row = json_object();
        json_object_set_new(row, "id", json_string(zone.site->name));
        json_object_set_new(row, "now", view_now(&zone));
        json_array_append_new(zones, row);
    }
    json_t *all = json_object();
    json_object_set_new(all, "t", json_integer(clock_utc_s(clock_now())));
    json_object_set_new(all, "zones", zones);
    return all;
}

/* The first stream that sees a generation makes the text, the others copy it. */
static void put_readings(struct context *context, uint64_t generation, struct buf *out)
{
    struct feed *feed = context->feed;
    pthread_mutex_lock(&feed->lock);
    if (feed->generation != generation || feed->text.len == 0 || feed->text.failed) {
        buf_clear(&feed->text);
        put_event(&feed->text, "readings", readings(context->live));
        feed->generation = generation;
    }
    if (feed->text.failed)
        out->failed = true;
    else
        buf_add(out, feed->text.data, feed->text.len);
    pthread_mutex_unlock(&feed->lock);
}

static const struct live_alarm *with_id(const struct live_alarm *alarms, size_t count,
                                        int64_t id)
{
    for (size_t i = 0; i < count; i++)
        if (alarms[i].id == id)
            return &alarms[i];
    return NULL;
}

/* Sends alarms that are new or have changed, and those that have become normal since. */
static void put_alarms(struct stream *stream, int64_t now_s)
{
    struct live_alarm now[ALARMS_FOLLOWED];
    size_t count = live_alarms(stream->context->live, now, ALARMS_FOLLOWED);
    for (size_t i = 0; i < stream->alarm_count; i++) {
        struct live_alarm gone = stream->alarms[i];
        if (with_id(now, count, gone.id) != NULL)
            continue;
        gone.state = ALARM_NORMAL;
        if (gone.until_s == 0)
            gone.until_s = now_s;
        put_event(&stream->out, "alarm", view_alarm(&gone, now_s));
    }
    for (size_t i = 0; i < count; i++) {
        const struct live_alarm *was = with_id(stream->alarms, stream->alarm_count, now[i].id);
        bool same = was != NULL && was->state == now[i].state && was->until_s == now[i].until_s;
        if (!same)
            put_event(&stream->out, "alarm", view_alarm(&now[i], now_s));
    }
    memcpy(stream->alarms, now, count * sizeof now[0]);
    stream->alarm_count = count;
}

enum rc events_open(struct context *context, struct stream **out)
{
    struct stream *stream = calloc(1, sizeof *stream);
    if (stream == NULL)
        return RC_NOMEM;
    stream->context = context;
    struct tick now = clock_now();
    stream->sent_ms = now.mono_ms;
    json_t *hello = json_object();
    json_object_set_new(hello, "now", json_integer(clock_utc_s(now)));
    json_object_set_new(hello, "version", json_string(context->version));
    buf_str(&stream->out, "retry: 3000\n\n");
    put_event(&stream->out, "hello", hello);
    *out = stream;
    return RC_OK;
}

void events_close(struct stream *stream)
{
    if (stream == NULL)
        return;
    buf_free(&stream->out);
    free(stream);
}

/* Waits for news and writes them, or the heartbeat that is due. */
static void refill(struct stream *stream)
{
    struct context *context = stream->context;
    buf_clear(&stream->out);
    stream->taken = 0;
    uint64_t generation = live_wait(context->live, stream->seen, EVENTS_WAIT_MS);
    if (live_stopped(context->live))
        return;
    struct tick now = clock_now();
    if (generation != stream->seen) {
        stream->seen = generation;
        put_readings(context, generation, &stream->out);
        put_alarms(stream, clock_utc_s(now));
    } else if (now.mono_ms - stream->sent_ms >= EVENTS_HEARTBEAT_MS) {
        buf_str(&stream->out, ":\n\n");
    }
    if (stream->out.len > 0)
        stream->sent_ms = now.mono_ms;
}

ssize_t events_read(struct stream *stream, char *to, size_t size)
{
    if (live_stopped(stream->context->live))
        return -1;
    if (stream->taken == stream->out.len) {
        refill(stream);
        if (stream->out.failed || live_stopped(stream->context->live))
            return -1;
    }
    size_t n = stream->out.len - stream->taken;
    if (n > size)
        n = size;
    if (n > 0)
        memcpy(to, stream->out.data + stream->taken, n);
    stream->taken += n;
    return (ssize_t)n;
}

void events_get(struct context *context, const struct request *request, struct reply *reply)
{
    (void)context;
    (void)request;
    reply->status = 200;
    reply->type = "text/event-stream";
    reply->cache = "no-store";
    reply->stream = true;
}
