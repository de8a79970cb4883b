/* fitness.c - see fitness.h.
 *
 * Whole nights only count, so they are worked out once a day, when first asked for after the
 * last one ended at 08:00.
 */
#include "http/fitness.h"

#include <math.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/clock.h"
#include "http/chart.h"
#include "http/context.h"
#include "http/facts.h"
#include "http/pool.h"
#include "recorder/live.h"
#include "stillroom/coating.h"

enum {
    QUARTER_S = 900,
    NIGHT_ENDS_S = 8 * 3600, /* of the local day, as coating.h has it */
    QUARTERS = 8 * 96        /* seven nights before now lie within eight days */
};

struct entry {
    bool known;
    int64_t tried_ms; /* when the store was last asked; 0: never */
    int64_t day;      /* for which the nights hold, from morning to morning */
    struct sr_coating_nights nights;
};

struct fitness {
    pthread_mutex_t lock;
    struct entry entries[]; /* in the order of the site file */
};

/* Quarter-hour means side by side; NaN where there is none. */
struct quarters {
    int64_t t_s[QUARTERS];
    double t_c[QUARTERS], rh_pct[QUARTERS], surface_c[QUARTERS];
};

enum rc fitness_open(size_t zone_count, struct fitness **out)
{
    struct fitness *f = calloc(1, sizeof *f + zone_count * sizeof f->entries[0]);
    if (f == NULL)
        return RC_NOMEM;
    pthread_mutex_init(&f->lock, NULL);
    *out = f;
    return RC_OK;
}

void fitness_close(struct fitness *f)
{
    if (f == NULL)
        return;
    pthread_mutex_destroy(&f->lock);
    free(f);
}

static enum rc column(struct context *context, const struct live_zone *zone,
                      enum quantity quantity, int64_t to_s, double out[QUARTERS])
{
    for (size_t i = 0; i < QUARTERS; i++)
        out[i] = (double)NAN;
    if (!zone->has[quantity])
        return RC_OK;
    const struct chart_question ask = {.zone = zone,
                                       .quantity = quantity,
                                       .from_s = to_s - (int64_t)QUARTERS * QUARTER_S,
                                       .to_s = to_s,
                                       .points = QUARTERS,
                                       .wait_ms = POOL_GLANCE_MS};
    struct series series = {0};
    enum rc rc = chart_fetch(context, &ask, &series, NULL, 0, NULL);
    for (size_t i = 0; rc == RC_OK && i < series.count; i++) {
        const struct series_bucket *b = &series.buckets[i];
        size_t at = (size_t)((b->t_s - ask.from_s) / QUARTER_S);
        out[at] = quantity_decode(quantity, b->sum) / (double)b->n;
    }
    series_free(&series);
    return rc;
}

/* No nights known, as sr_coating_cure takes it. */
static const struct sr_coating_nights no_nights = {.t_min_c = (double)NAN,
                                                   .t_max_c = (double)NAN,
                                                   .rh_min_pct = (double)NAN,
                                                   .rh_max_pct = (double)NAN,
                                                   .dew_gap_min_k = (double)NAN};

static struct sr_coating_nights work_out(const struct quarters *q, int64_t now_s)
{
    struct sr_coating_nights nights = no_nights;
    const struct sr_air_series air = {
        .t_s = q->t_s, .t_c = q->t_c, .rh_pct = q->rh_pct, .n = QUARTERS, .every_s = QUARTER_S};
    if (sr_coating_nights_before(&air, q->surface_c, now_s, clock_offset_s(now_s), &nights) !=
        SR_OK)
        return no_nights;
    return nights;
}

static enum rc ask_nights(struct context *context, const struct live_zone *zone, int64_t now_s,
                          struct sr_coating_nights *out)
{
    struct quarters *q = malloc(sizeof *q);
    if (q == NULL)
        return RC_NOMEM;
    int64_t to_s = now_s - now_s % QUARTER_S;
    for (size_t i = 0; i < QUARTERS; i++)
        q->t_s[i] = to_s - (int64_t)(QUARTERS - i) * QUARTER_S;
    enum rc rc = column(context, zone, QUANTITY_TEMPERATURE, to_s, q->t_c);
    if (rc == RC_OK)
        rc = column(context, zone, QUANTITY_HUMIDITY, to_s, q->rh_pct);
    if (rc == RC_OK)
        rc = column(context, zone, QUANTITY_SURFACE_TEMPERATURE, to_s, q->surface_c);
    if (rc == RC_OK)
        *out = work_out(q, now_s);
    free(q);
    return rc;
}

/* True for the one caller that is to work the nights out. */
static bool take_turn(struct entry *entry, int64_t day)
{
    int64_t now_ms = clock_now().mono_ms;
    bool fresh = entry->known && entry->day == day;
    if (fresh || (entry->tried_ms != 0 && now_ms - entry->tried_ms < FACTS_RETRY_MS))
        return false;
    entry->tried_ms = now_ms;
    return true;
}

/* Those of the day before while the new ones are worked out or the store has no time. */
static void nights_of(struct context *context, size_t index, const struct live_zone *zone,
                      int64_t now_s, struct sr_coating_nights *out)
{
    struct fitness *f = context->fitness;
    int64_t day = clock_day_of(now_s + clock_offset_s(now_s) - NIGHT_ENDS_S);
    pthread_mutex_lock(&f->lock);
    bool mine = take_turn(&f->entries[index], day);
    struct entry entry = f->entries[index];
    pthread_mutex_unlock(&f->lock);
    if (mine && ask_nights(context, zone, now_s, &entry.nights) == RC_OK) {
        entry.known = true;
        entry.day = day;
        pthread_mutex_lock(&f->lock);
        f->entries[index] = entry;
        pthread_mutex_unlock(&f->lock);
    }
    *out = entry.known ? entry.nights : no_nights;
}

static double now_of(const struct live_zone *zone, enum quantity q)
{
    const struct live_value *v = &zone->now[q];
    return v->known && v->fresh ? quantity_decode(q, v->value) : (double)NAN;
}

static double uncertainty(const struct site_instrument *lead, enum quantity q)
{
    for (size_t i = 0; lead != NULL && i < lead->read_count; i++)
        if (lead->reads[i].quantity == q && lead->reads[i].uncertainty >= 0)
            return lead->reads[i].uncertainty;
    return 0;
}

static void list_reasons(unsigned bits, struct buf *out)
{
    const char *comma = "";
    for (unsigned i = 0; i < SR_COATING_REASONS; i++) {
        if ((bits & (1U << i)) == 0)
            continue;
        buf_printf(out, "%s%s", comma, sr_coating_reason_text(1U << i));
        comma = ", ";
    }
}

/* "too damp", or where they differ "now: too damp; until morning: too cold". */
static void say_why(unsigned now, unsigned morning, struct buf *out)
{
    if (now == morning) {
        list_reasons(now, out);
        return;
    }
    if (now != 0)
        buf_str(out, "now: ");
    list_reasons(now, out);
    if (morning != 0)
        buf_printf(out, "%suntil morning: ", now != 0 ? "; " : "");
    list_reasons(morning, out);
}

static const char *answer_word(enum sr_coating_answer answer)
{
    static const char *const words[] = {
        [SR_COATING_NO] = "unfit", [SR_COATING_YES] = "fit", [SR_COATING_UNKNOWN] = "unknown"};
    return words[answer];
}

static json_t *one_work(enum sr_coating_work work, const struct sr_coating_air *air,
                        const struct sr_coating_nights *nights)
{
    const struct sr_coating_limits *limits = &sr_coating_practice[work];
    struct sr_coating_fitness now, cure;
    if (sr_coating_now(limits, air, &now) != SR_OK)
        now = (struct sr_coating_fitness){
            SR_COATING_UNKNOWN, SR_COATING_NO_READING, 0, 0, 0, 0, 0};
    if (sr_coating_cure(limits, air, nights, &cure) != SR_OK)
        cure = (struct sr_coating_fitness){
            SR_COATING_UNKNOWN, SR_COATING_FEW_NIGHTS, 0, 0, 0, 0, 0};
    struct buf why = {0};
    say_why(now.reasons, cure.reasons, &why);
    struct buf caution = {0};
    buf_str(&caution, sr_coating_caveat);
    if (work == SR_COATING_VARNISH)
        buf_printf(&caution, " %s", sr_coating_solvent_caution);
    json_t *row = json_object();
    json_object_set_new(row, "work", json_string(limits->name));
    json_object_set_new(row, "now", json_string(answer_word(now.answer)));
    json_object_set_new(row, "until_morning", json_string(answer_word(cure.answer)));
    json_object_set_new(row, "reason",
                        json_string(why.len > 0 ? why.data : "within common practice"));
    json_object_set_new(row, "caution", json_string(caution.data != NULL ? caution.data : ""));
    buf_free(&why);
    buf_free(&caution);
    return row;
}

json_t *fitness_json(struct context *context, size_t index, const struct live_zone *zone,
                     int64_t now_s)
{
    enum site_purpose purpose = zone->site->purpose;
    if (purpose != PURPOSE_DRYING && purpose != PURPOSE_BENCH)
        return json_null();
    struct sr_coating_nights nights;
    nights_of(context, index, zone, now_s, &nights);
    const struct site_instrument *lead = zone->site->lead;
    const struct sr_coating_air air = {
        .t_c = now_of(zone, QUANTITY_TEMPERATURE),
        .rh_pct = now_of(zone, QUANTITY_HUMIDITY),
        .surface_c = now_of(zone, QUANTITY_SURFACE_TEMPERATURE),
        .since_cold_h = (double)INFINITY,
        .u_t_k = uncertainty(lead, QUANTITY_TEMPERATURE),
        .u_rh_pct = uncertainty(lead, QUANTITY_HUMIDITY),
    };
    json_t *list = json_array();
    for (int work = 0; work < SR_COATING_WORKS; work++)
        json_array_append_new(list, one_work((enum sr_coating_work)work, &air, &nights));
    return list;
}
