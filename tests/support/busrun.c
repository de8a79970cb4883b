/* busrun.c - see busrun.h. */
#include "support/busrun.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"

struct busrun {
    struct sink sink; /* first: the source's sink is the run */
    struct site_bus bus;
    struct site_instrument configs[BUSRUN_UNITS];
    struct source_instrument instruments[BUSRUN_UNITS];
    char names[BUSRUN_UNITS][8];
    int units, every_s;
    size_t read_count;
    struct source *source;
    pthread_mutex_t lock; /* of what follows */
    struct reading *readings, *scratch;
    size_t count;
    char fault[200];
};

static const struct site_read own_reads[2] = {
    {.quantity = QUANTITY_TEMPERATURE,
     .table = TABLE_INPUT,
     .address = 0,
     .type = TYPE_UINT16,
     .scale = 0.01},
    {.quantity = QUANTITY_HUMIDITY,
     .table = TABLE_INPUT,
     .address = 1,
     .type = TYPE_UINT16,
     .scale = 0.01},
};

static void put(struct sink *sink, const struct reading *readings, unsigned count)
{
    struct busrun *run = (struct busrun *)sink;
    pthread_mutex_lock(&run->lock);
    for (unsigned i = 0; i < count && run->count < BUSRUN_MAX; i++)
        run->readings[run->count++] = readings[i];
    pthread_mutex_unlock(&run->lock);
}

struct busrun *busrun_start_reads(enum site_bus_kind kind, const char *address, int units,
                                  int every_s, int response_ms, const struct site_read *reads,
                                  size_t read_count)
{
    struct busrun *run = calloc(1, sizeof *run);
    if (run == NULL || (run->readings = calloc(BUSRUN_MAX, sizeof *run->readings)) == NULL ||
        (run->scratch = calloc(BUSRUN_MAX, sizeof *run->scratch)) == NULL)
        abort();
    run->sink.put = put;
    run->units = units;
    run->every_s = every_s;
    run->read_count = read_count;
    run->bus = (struct site_bus){.name = "test",
                                 .kind = kind,
                                 .device = address,
                                 .host = "127.0.0.1",
                                 .port = address,
                                 .baud = 19200,
                                 .parity = PARITY_EVEN,
                                 .stop_bits = 1,
                                 .response_ms = response_ms,
                                 .byte_ms = 50};
    pthread_mutex_init(&run->lock, NULL);
    for (int i = 0; i < units; i++) {
        snprintf(run->names[i], sizeof run->names[i], "u%d", (i + 1) % 1000);
        run->configs[i] = (struct site_instrument){.name = run->names[i],
                                                   .bus = &run->bus,
                                                   .unit = i + 1,
                                                   .every_s = every_s,
                                                   .reads = reads,
                                                   .read_count = read_count};
        run->instruments[i].config = &run->configs[i];
        for (size_t k = 0; k < read_count; k++)
            run->instruments[i].channel[k] = (uint32_t)((size_t)i * read_count + k);
    }
    const struct source_config config = {.bus = &run->bus,
                                         .instruments = run->instruments,
                                         .instrument_count = (size_t)units,
                                         .clock_trusted = true};
    if (source_start(&config, &run->sink, &run->source) != RC_OK)
        abort();
    return run;
}

struct busrun *busrun_start(enum site_bus_kind kind, const char *address, int units,
                            int every_s, int response_ms)
{
    return busrun_start_reads(kind, address, units, every_s, response_ms, own_reads, 2);
}

static size_t of_channel(struct busrun *run, uint32_t channel)
{
    size_t n = 0;
    pthread_mutex_lock(&run->lock);
    for (size_t i = 0; i < run->count; i++)
        n += run->readings[i].channel == channel ? 1 : 0;
    pthread_mutex_unlock(&run->lock);
    return n;
}

bool busrun_wait(struct busrun *run, int slots)
{
    size_t enough = (size_t)slots;
    int64_t patience = clock_now().mono_ms + (slots + 10) * run->every_s * INT64_C(1000);
    while (of_channel(run, 0) < enough) {
        if (clock_now().mono_ms > patience)
            return false;
        clock_sleep_ms(10);
    }
    return true;
}

void busrun_stop(struct busrun *run)
{
    source_stop(run->source);
    run->source = NULL;
}

void busrun_free(struct busrun *run)
{
    busrun_stop(run);
    pthread_mutex_destroy(&run->lock);
    free(run->readings);
    free(run->scratch);
    free(run);
}

struct source *busrun_source(struct busrun *run)
{
    return run->source;
}

size_t busrun_readings(struct busrun *run, uint32_t channel, struct reading *out, size_t max)
{
    size_t n = 0;
    pthread_mutex_lock(&run->lock);
    for (size_t i = 0; i < run->count && n < max; i++)
        if (run->readings[i].channel == channel)
            out[n++] = run->readings[i];
    pthread_mutex_unlock(&run->lock);
    return n;
}

unsigned busrun_count(struct busrun *run, uint32_t channel, enum gap_reason reason)
{
    unsigned n = 0;
    pthread_mutex_lock(&run->lock);
    for (size_t i = 0; i < run->count; i++)
        n += run->readings[i].channel == channel && run->readings[i].gap == reason ? 1 : 0;
    pthread_mutex_unlock(&run->lock);
    return n;
}

static const char *fault_of(struct busrun *run, const struct reading *before,
                            const struct reading *r)
{
    const char *what = NULL;
    /* Seconds from the slot to the request, of which register 1 keeps 16 bits. */
    int later = (int)(((uint32_t)r->value - (uint32_t)r->t_s) & 0xffff);
    if (before != NULL && r->t_s != before->t_s + run->every_s)
        what = "is not the slot after";
    else if (r->gap == GAP_NONE && r->channel % 2 == 1 && later > run->every_s)
        what = "carries the answer to an older request, by its second";
    if (what == NULL)
        return NULL;
    snprintf(run->fault, sizeof run->fault,
             "channel %u: reading at %lld (value %d, %s) %s %lld", r->channel,
             (long long)r->t_s, r->value, gap_reason_word((enum gap_reason)r->gap), what,
             before == NULL ? 0 : (long long)before->t_s);
    return run->fault;
}

const char *busrun_fault(struct busrun *run)
{
    struct reading *all = run->scratch;
    for (uint32_t channel = 0; channel < 2 * (uint32_t)run->units; channel++) {
        size_t n = busrun_readings(run, channel, all, BUSRUN_MAX);
        int32_t last = 0;
        for (size_t i = 0; i < n; i++) {
            const char *fault = fault_of(run, i == 0 ? NULL : &all[i - 1], &all[i]);
            if (fault != NULL)
                return fault;
            if (all[i].gap != GAP_NONE || channel % 2 == 1)
                continue;
            if (all[i].value <= last)
                return "two readings are of one request";
            last = all[i].value;
        }
    }
    return NULL;
}
