/* engine.c - see engine.h. */
#include "recorder/engine.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <stillroom/mould.h>

#include "base/derive.h"
#include "source/sink.h"

enum {
    STUCK_S = 86400,        /* project choice: a closed crate can be still for a day */
    JUMP_WITHIN_S = 600,    /* over a longer silence a difference is no jump */
    SURFACE_PAIR_S = 900,   /* a surface reading is judged with air at most so old */
    MOULD_GAP_S = 6 * 3600, /* over a longer gap the index is held */
};

struct channel_state {
    int64_t last_s;       /* 0: none yet */
    int64_t same_since_s; /* since when the value has not moved */
    int32_t last;
};

struct zone_state {
    int64_t t_s[2];   /* of the last temperature and humidity of the leading instrument */
    int32_t value[2]; /* 0 temperature, 1 humidity */
    int64_t pair_s;   /* the last moment that had both; 0: none */
    int32_t pair[2];  /* and what they were */
    int64_t mould_s;  /* the moment that the mould index holds for; 0: none */
    struct sr_mould_state mould;
};

struct engine {
    const struct roster *roster; /* borrowed */
    struct channel_state *channels;
    struct zone_state *zones;
    struct condition *conditions; /* one a limit of the site */
    size_t limit_count;
    size_t *limits; /* indexes of the limits that readings are judged by, zone by zone */
    size_t *first;  /* where a zone's begin in it; one more than there are zones */
    struct sr_mould_class mould_class;
};

/* A reading is judged by the limits of its own zone: in a house of a hundred zones they are a
 * hundredth of all. Silence is no reading. */
static void sort_limits(struct engine *e)
{
    const struct site *site = e->roster->site;
    size_t n = 0;
    for (size_t zone = 0; zone < e->roster->zone_count; zone++) {
        e->first[zone] = n;
        for (size_t i = 0; i < site->limit_count; i++) {
            const struct site_limit *l = &site->limits[i];
            const struct site_zone *at = l->zone != NULL ? l->zone : l->instrument->zone;
            if (l->rule != RULE_SILENT && at == &site->zones[zone])
                e->limits[n++] = i;
        }
    }
    e->first[e->roster->zone_count] = n;
}

static enum rc make(const struct roster *r, struct engine *e)
{
    const struct site *site = r->site;
    e->roster = r;
    e->limit_count = site->limit_count;
    e->channels = calloc(r->channel_count + 1, sizeof *e->channels);
    e->zones = calloc(r->zone_count + 1, sizeof *e->zones);
    e->conditions = calloc(site->limit_count + 1, sizeof *e->conditions);
    e->limits = calloc(site->limit_count + 1, sizeof *e->limits);
    e->first = calloc(r->zone_count + 1, sizeof *e->first);
    if (e->channels == NULL || e->zones == NULL || e->conditions == NULL || e->limits == NULL ||
        e->first == NULL)
        return RC_NOMEM;
    sort_limits(e);
    for (size_t i = 0; i < site->limit_count; i++)
        condition_begin(&e->conditions[i], &site->limits[i]);
    /* Size, paste and animal-glue gesso are what a studio has to fear for (project choice). */
    return sr_mould_class_get(SR_MOULD_VERY_SENSITIVE, &e->mould_class) == SR_OK ? RC_OK
                                                                                 : RC_BAD_INPUT;
}

enum rc engine_open(const struct roster *roster, struct engine **out)
{
    struct engine *e = calloc(1, sizeof *e);
    enum rc rc = e == NULL ? RC_NOMEM : make(roster, e);
    if (rc != RC_OK) {
        engine_close(e);
        return rc;
    }
    *out = e;
    return RC_OK;
}

void engine_close(struct engine *e)
{
    if (e == NULL)
        return;
    free(e->channels);
    free(e->zones);
    free(e->conditions);
    free(e->limits);
    free(e->first);
    free(e);
}

int64_t engine_last_s(const struct engine *e, int channel)
{
    return e->channels[channel].last_s;
}

const struct condition *engine_condition(const struct engine *e, size_t limit)
{
    return &e->conditions[limit];
}

/* Faster than air changes. A chamber's lid or a door is a real jump: the flag drops nothing. */
static bool jumped(enum quantity q, const struct channel_state *s, int64_t t_s, int32_t value)
{
    double per_min = q == QUANTITY_HUMIDITY ? 20 : q == QUANTITY_TEMPERATURE ? 5 : 0;
    int64_t dt = t_s - s->last_s;
    if (per_min <= 0 || s->last_s == 0 || dt > JUMP_WITHIN_S)
        return false;
    double change = fabs(quantity_decode(q, (int64_t)value - s->last));
    return change > per_min * (dt < 60 ? 1 : (double)dt / 60);
}

/* Temperature and humidity both unmoved for a day: a dead sensor repeats itself in both. */
static bool stuck(const struct engine *e, int channel, int64_t t_s)
{
    const struct roster_channel *c = &e->roster->channels[channel];
    enum quantity other;
    if (c->quantity == QUANTITY_TEMPERATURE)
        other = QUANTITY_HUMIDITY;
    else if (c->quantity == QUANTITY_HUMIDITY)
        other = QUANTITY_TEMPERATURE;
    else
        return false;
    if (c->instrument < 0 || t_s - e->channels[channel].same_since_s <= STUCK_S)
        return false;
    int twin = roster_channel_of(e->roster, (size_t)c->instrument, other);
    return twin >= 0 && t_s - e->channels[twin].same_since_s > STUCK_S;
}

static uint16_t check(struct engine *e, int channel, int64_t t_s, int32_t value)
{
    const struct roster_channel *c = &e->roster->channels[channel];
    const struct quantity_info *q = quantity_info(c->quantity);
    struct channel_state *s = &e->channels[channel];
    uint16_t flags = 0;
    double v = quantity_decode(c->quantity, value);
    if (v < q->least || v > q->most)
        flags |= READING_OUT_OF_RANGE;
    if (jumped(c->quantity, s, t_s, value))
        flags |= READING_JUMP;
    if (s->last_s == 0 || s->last != value)
        s->same_since_s = t_s;
    s->last_s = t_s;
    s->last = value;
    if (stuck(e, channel, t_s))
        flags |= READING_STUCK;
    return flags;
}

static void feed_limit(struct engine *e, size_t limit, int64_t t_s, double value,
                       const struct engine_out *out)
{
    enum condition_edge edge = condition_feed(&e->conditions[limit], t_s, value);
    if (edge != EDGE_NONE)
        out->edge(out->context, limit, edge, t_s, &e->conditions[limit]);
}

/* A contact of a zone stands as the limit fears it while any in the zone does: water is on the
 * floor whichever of two sensors has seen it. One that fell silent keeps its last word. */
static double contact(const struct engine *e, const struct site_limit *l, int zone)
{
    for (size_t i = 0; i < e->roster->channel_count; i++) {
        const struct roster_channel *c = &e->roster->channels[i];
        if (c->zone == zone && c->quantity == l->quantity && e->channels[i].last_s != 0 &&
            (e->channels[i].last != 0) == l->on)
            return l->on ? 1 : 0;
    }
    return l->on ? 0 : 1;
}

/* A limit is fed by its own instrument, else by what leads its zone. */
static void judge_reading(struct engine *e, const struct roster_channel *c, int zone,
                          bool leads, int64_t t_s, int32_t value, const struct engine_out *out)
{
    const struct site *site = e->roster->site;
    for (size_t k = e->first[zone]; k < e->first[zone + 1]; k++) {
        const struct site_limit *l = &site->limits[e->limits[k]];
        if (l->quantity != c->quantity)
            continue;
        bool mine = c->instrument >= 0 && l->instrument == &site->instruments[c->instrument];
        if (l->zone != NULL && l->rule == RULE_CONTACT)
            feed_limit(e, e->limits[k], t_s, contact(e, l, zone), out);
        else if (mine || (l->zone != NULL && leads))
            feed_limit(e, e->limits[k], t_s, quantity_decode(c->quantity, value), out);
    }
}

static void judge_derived(struct engine *e, int zone, enum quantity q, int64_t t_s,
                          int32_t value, const struct engine_out *out)
{
    for (size_t k = e->first[zone]; k < e->first[zone + 1]; k++) {
        const struct site_limit *l = &e->roster->site->limits[e->limits[k]];
        if (l->zone != NULL && l->quantity == q)
            feed_limit(e, e->limits[k], t_s, quantity_decode(q, value), out);
    }
}

static void give(struct engine *e, int zone, enum quantity q, int64_t t_s, int32_t value,
                 const struct engine_out *out)
{
    out->derived(out->context, zone, q, t_s, value);
    judge_derived(e, zone, q, t_s, value, out);
}

static void grow_mould(struct engine *e, int zone, int64_t t_s, const struct engine_out *out)
{
    struct zone_state *z = &e->zones[zone];
    int64_t dt_s = t_s - z->mould_s;
    if (z->mould_s != 0 && dt_s <= MOULD_GAP_S) {
        double rh_pct = quantity_decode(QUANTITY_HUMIDITY, z->pair[1]);
        enum sr_rc rc = sr_mould_step(&e->mould_class, SR_MOULD_DECLINE_LOW,
                                      quantity_decode(QUANTITY_TEMPERATURE, z->pair[0]), rh_pct,
                                      (double)dt_s / 3600, &z->mould);
        if (rc != SR_OK)
            return; /* a value the model has no answer for holds the index */
    }
    z->mould_s = t_s;
    int32_t index;
    if (quantity_encode(QUANTITY_MOULD_INDEX, z->mould.index, &index))
        give(e, zone, QUANTITY_MOULD_INDEX, t_s, index, out);
}

static void feed_air(struct engine *e, int zone, enum quantity q, int64_t t_s, int32_t value,
                     const struct engine_out *out)
{
    static const enum quantity from_air[] = {QUANTITY_DEW_POINT, QUANTITY_ABSOLUTE_HUMIDITY,
                                             QUANTITY_EMC};
    struct zone_state *z = &e->zones[zone];
    int mine = q == QUANTITY_HUMIDITY;
    z->t_s[mine] = t_s;
    z->value[mine] = value;
    if (z->t_s[!mine] != t_s)
        return;
    /* The mould index grows over the time before this moment, in the air of its start. */
    grow_mould(e, zone, t_s, out);
    z->pair_s = t_s;
    z->pair[0] = z->value[0];
    z->pair[1] = z->value[1];
    for (size_t i = 0; i < sizeof from_air / sizeof *from_air; i++) {
        int32_t derived;
        if (derive_air(from_air[i], z->pair[0], z->pair[1], &derived))
            give(e, zone, from_air[i], t_s, derived, out);
    }
}

static void feed_surface(struct engine *e, int zone, int64_t t_s, int32_t surface,
                         const struct engine_out *out)
{
    static const enum quantity from_surface[] = {QUANTITY_SURFACE_HUMIDITY,
                                                 QUANTITY_DEW_MARGIN};
    const struct zone_state *z = &e->zones[zone];
    if (z->pair_s == 0 || llabs(t_s - z->pair_s) > SURFACE_PAIR_S)
        return;
    for (size_t i = 0; i < sizeof from_surface / sizeof *from_surface; i++) {
        int32_t derived;
        if (derive_surface(from_surface[i], z->pair[0], z->pair[1], surface, &derived))
            give(e, zone, from_surface[i], t_s, derived, out);
    }
}

uint16_t engine_feed(struct engine *e, int channel, int64_t t_s, int32_t value, uint16_t flags,
                     const struct engine_out *out)
{
    const struct roster_channel *c = &e->roster->channels[channel];
    flags |= check(e, channel, t_s, value);
    /* A value that cannot be is shown and kept, but nothing is concluded from it. */
    int zone;
    bool leads;
    roster_place(e->roster, channel, t_s, &zone, &leads);
    if (zone < 0 || (flags & (READING_OUT_OF_RANGE | READING_IN_CHECK)) != 0)
        return flags;
    judge_reading(e, c, zone, leads, t_s, value, out);
    if (!leads)
        return flags;
    if (c->quantity == QUANTITY_TEMPERATURE || c->quantity == QUANTITY_HUMIDITY)
        feed_air(e, zone, c->quantity, t_s, value, out);
    else if (c->quantity == QUANTITY_SURFACE_TEMPERATURE)
        feed_surface(e, zone, t_s, value, out);
    return flags;
}

/* -- states -- */

enum {
    CHANNEL_STATE = 3,
    ZONE_STATE = 10
};

/* Visits every object that has a state, in one order for saving and loading. A condition is
 * keyed by its rule's text too: under another rule its timers would mean nothing. */
struct visit {
    const char *kind;
    char scope[160];
    double values[ENGINE_STATE_MOST];
    size_t count;
};

static void channel_visit(const struct engine *e, size_t i, struct visit *v)
{
    const struct channel_state *s = &e->channels[i];
    v->kind = "channel";
    v->count = CHANNEL_STATE;
    snprintf(v->scope, sizeof v->scope, "%u", (unsigned)e->roster->channels[i].id);
    v->values[0] = (double)s->last_s;
    v->values[1] = (double)s->same_since_s;
    v->values[2] = s->last;
}

static void channel_take(struct engine *e, size_t i, const struct visit *v)
{
    e->channels[i] = (struct channel_state){.last_s = (int64_t)v->values[0],
                                            .same_since_s = (int64_t)v->values[1],
                                            .last = (int32_t)v->values[2]};
}

static void zone_visit(const struct engine *e, size_t i, struct visit *v)
{
    const struct zone_state *z = &e->zones[i];
    const double values[ZONE_STATE] = {(double)z->t_s[0], (double)z->t_s[1],  z->value[0],
                                       z->value[1],       (double)z->pair_s,  z->pair[0],
                                       z->pair[1],        (double)z->mould_s, z->mould.index,
                                       z->mould.dry_h};
    v->kind = "zone";
    v->count = ZONE_STATE;
    snprintf(v->scope, sizeof v->scope, "%u", (unsigned)e->roster->zones[i].id);
    for (int k = 0; k < ZONE_STATE; k++)
        v->values[k] = values[k];
}

static void zone_take(struct engine *e, size_t i, const struct visit *v)
{
    const double *d = v->values;
    e->zones[i] = (struct zone_state){.t_s = {(int64_t)d[0], (int64_t)d[1]},
                                      .value = {(int32_t)d[2], (int32_t)d[3]},
                                      .pair_s = (int64_t)d[4],
                                      .pair = {(int32_t)d[5], (int32_t)d[6]},
                                      .mould_s = (int64_t)d[7],
                                      .mould = {.index = d[8], .dry_h = d[9]}};
}

/* The rule's words are part of the scope: half of them would be another limit's. */
static enum rc limit_visit(const struct engine *e, size_t i, struct visit *v)
{
    struct buf rule = {0};
    site_limit_text(e->conditions[i].limit, &rule);
    v->kind = "limit";
    snprintf(v->scope, sizeof v->scope, "%s: %s", e->conditions[i].limit->name,
             rule.data == NULL ? "" : rule.data);
    enum rc rc = rule.failed ? RC_NOMEM : RC_OK;
    buf_free(&rule);
    v->count = condition_save(&e->conditions[i], v->values);
    return rc;
}

enum rc engine_save(const struct engine *e, struct store *store, int64_t t_s)
{
    struct visit v;
    enum rc rc = RC_OK;
    for (size_t i = 0; rc == RC_OK && i < e->roster->channel_count; i++) {
        channel_visit(e, i, &v);
        rc = store_state_put(store, v.kind, v.scope, t_s, v.values, v.count);
    }
    for (size_t i = 0; rc == RC_OK && i < e->roster->zone_count; i++) {
        zone_visit(e, i, &v);
        rc = store_state_put(store, v.kind, v.scope, t_s, v.values, v.count);
    }
    for (size_t i = 0; rc == RC_OK && i < e->limit_count; i++) {
        if (e->conditions[i].limit->rule == RULE_SILENT)
            continue;
        rc = limit_visit(e, i, &v);
        if (rc == RC_OK)
            rc = store_state_put(store, v.kind, v.scope, t_s, v.values, v.count);
    }
    return rc;
}

/* Fetches the doubles of a visit; *found false if there are none, or fewer than expected. */
static enum rc fetch(struct store *store, struct visit *v, int64_t *out_t_s, bool *found)
{
    size_t count;
    enum rc rc =
        store_state_get(store, v->kind, v->scope, out_t_s, v->values, v->count, &count);
    *found = rc == RC_OK && count == v->count;
    return rc;
}

enum rc engine_load(struct engine *e, struct store *store, int64_t at_s)
{
    struct visit v;
    bool found;
    int64_t t_s = 0;
    enum rc rc = RC_OK;
    for (size_t i = 0; rc == RC_OK && i < e->roster->channel_count; i++) {
        channel_visit(e, i, &v);
        rc = fetch(store, &v, &t_s, &found);
        if (found)
            channel_take(e, i, &v);
    }
    for (size_t i = 0; rc == RC_OK && i < e->roster->zone_count; i++) {
        zone_visit(e, i, &v);
        rc = fetch(store, &v, &t_s, &found);
        if (found)
            zone_take(e, i, &v);
    }
    for (size_t i = 0; rc == RC_OK && i < e->limit_count; i++) {
        rc = limit_visit(e, i, &v);
        found = false;
        if (rc == RC_OK)
            rc = fetch(store, &v, &t_s, &found);
        if (found && t_s == at_s)
            condition_load(&e->conditions[i], v.values);
    }
    return rc;
}
