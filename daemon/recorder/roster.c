/* roster.c - see roster.h. */
#include "recorder/roster.h"

#include <stdlib.h>
#include <string.h>

enum {
    CHANNELS_MOST = 4096
};

static const enum quantity from_air[] = {QUANTITY_DEW_POINT, QUANTITY_ABSOLUTE_HUMIDITY,
                                         QUANTITY_EMC, QUANTITY_MOULD_INDEX};
static const enum quantity from_surface[] = {QUANTITY_SURFACE_HUMIDITY, QUANTITY_DEW_MARGIN};

static int zone_index(const struct site *site, const struct site_zone *zone)
{
    return zone == NULL ? -1 : (int)(zone - site->zones);
}

static enum rc add_channel(struct roster *r, const struct roster_channel *channel)
{
    if (r->channel_count >= CHANNELS_MOST)
        return RC_BAD_INPUT;
    struct roster_channel *more =
        realloc(r->channels, (r->channel_count + 1) * sizeof *r->channels);
    if (more == NULL)
        return RC_NOMEM;
    r->channels = more;
    r->channels[r->channel_count++] = *channel;
    return RC_OK;
}

static void list_id(struct buf *list, uint32_t id)
{
    buf_printf(list, "%s%u", list->len == 0 ? "[" : ",", (unsigned)id);
}

static enum rc add_instrument(struct store *store, struct roster *r, size_t index, int64_t t_s,
                              struct buf *ids)
{
    const struct site_instrument *in = &r->site->instruments[index];
    uint32_t id;
    enum rc rc = store_instrument(store, in->name, in->serial, &id);
    int zone = zone_index(r->site, in->zone);
    if (rc == RC_OK)
        list_id(ids, id);
    if (rc == RC_OK && zone >= 0)
        rc = store_place(store, id, r->zones[zone].id, in->placement, t_s);
    for (size_t i = 0; rc == RC_OK && i < in->read_count; i++) {
        struct roster_channel c = {.quantity = in->reads[i].quantity,
                                   .instrument = (int)index,
                                   .zone = zone,
                                   .every_s = in->every_s};
        rc = store_channel(store, id, c.quantity, &c.id);
        if (rc == RC_OK)
            rc = store_series(store, c.id, 0, c.quantity, c.every_s, r->open_s, &c.series,
                              &c.steps);
        if (rc == RC_OK)
            rc = add_channel(r, &c);
    }
    return rc;
}

/* Which instrument leads a quantity: the zone's leading one if it has it, else the first. */
static void choose_leads(struct roster *r)
{
    for (size_t i = 0; i < r->channel_count; i++) {
        struct roster_channel *c = &r->channels[i];
        if (c->zone < 0)
            continue;
        struct roster_zone *z = &r->zones[c->zone];
        int *slot = &z->channel[c->quantity];
        bool is_lead = &r->site->instruments[c->instrument] == z->site->lead;
        if (*slot < 0 || is_lead)
            *slot = (int)i;
    }
    for (size_t i = 0; i < r->zone_count; i++)
        for (int q = 0; q < QUANTITY_COUNT; q++)
            if (r->zones[i].channel[q] >= 0) {
                struct roster_channel *c = &r->channels[r->zones[i].channel[q]];
                c->leads = true;
                if (r->zones[i].every_s == 0 || q == QUANTITY_HUMIDITY)
                    r->zones[i].every_s = c->every_s;
            }
}

static enum rc derive_series(struct store *store, struct roster_zone *z, enum quantity q,
                             int64_t open_s)
{
    return store_series(store, 0, z->id, q, z->every_s, open_s, &z->series[q], &z->steps[q]);
}

static enum rc add_derived(struct store *store, struct roster_zone *z, int64_t open_s)
{
    enum rc rc = RC_OK;
    if (z->channel[QUANTITY_TEMPERATURE] < 0 || z->channel[QUANTITY_HUMIDITY] < 0)
        return RC_OK;
    for (size_t i = 0; rc == RC_OK && i < sizeof from_air / sizeof *from_air; i++)
        rc = derive_series(store, z, from_air[i], open_s);
    if (z->channel[QUANTITY_SURFACE_TEMPERATURE] < 0)
        return rc;
    for (size_t i = 0; rc == RC_OK && i < sizeof from_surface / sizeof *from_surface; i++)
        rc = derive_series(store, z, from_surface[i], open_s);
    return rc;
}

static enum rc record_leads(struct store *store, struct roster *r, int64_t t_s)
{
    enum rc rc = RC_OK;
    for (size_t i = 0; rc == RC_OK && i < r->zone_count; i++) {
        struct roster_zone *z = &r->zones[i];
        for (int q = 0; rc == RC_OK && q < QUANTITY_DEW_POINT; q++)
            rc = store_lead(store, z->id, (enum quantity)q,
                            z->channel[q] < 0 ? 0 : r->channels[z->channel[q]].id, t_s);
        if (rc == RC_OK)
            rc = add_derived(store, z, r->open_s);
    }
    return rc;
}

static enum rc add_zones(struct store *store, struct roster *r)
{
    r->zone_count = r->site->zone_count;
    r->zones = calloc(r->zone_count + 1, sizeof *r->zones);
    if (r->zones == NULL)
        return RC_NOMEM;
    enum rc rc = RC_OK;
    for (size_t i = 0; rc == RC_OK && i < r->zone_count; i++) {
        struct roster_zone *z = &r->zones[i];
        z->site = &r->site->zones[i];
        for (int q = 0; q < QUANTITY_COUNT; q++)
            z->channel[q] = -1;
        rc = store_zone(store, z->site->name, z->site->title,
                        site_purpose_word(z->site->purpose), &z->id);
    }
    return rc;
}

static enum rc add_instruments(struct store *store, struct roster *r, int64_t t_s)
{
    struct buf zones = {0}, instruments = {0};
    enum rc rc = RC_OK;
    for (size_t i = 0; i < r->zone_count; i++)
        list_id(&zones, r->zones[i].id);
    for (size_t i = 0; rc == RC_OK && i < r->site->instrument_count; i++)
        rc = add_instrument(store, r, i, t_s, &instruments);
    buf_str(&zones, zones.len == 0 ? "[]" : "]");
    buf_str(&instruments, instruments.len == 0 ? "[]" : "]");
    if (rc == RC_OK)
        rc = zones.failed || instruments.failed
                 ? RC_NOMEM
                 : store_gone(store, zones.data, instruments.data, t_s);
    buf_free(&zones);
    buf_free(&instruments);
    return rc;
}

struct finder {
    struct roster *roster;
    enum rc rc;
};

static bool on_it(const struct roster *r, uint32_t id)
{
    for (size_t i = 0; i < r->channel_count; i++)
        if (r->channels[i].id == id)
            return true;
    return false;
}

static void add_former(void *context, uint32_t id, enum quantity quantity, uint32_t series,
                       unsigned steps, int every_s)
{
    struct finder *f = context;
    if (f->rc != RC_OK || on_it(f->roster, id))
        return;
    struct roster_channel c = {.id = id,
                               .quantity = quantity,
                               .instrument = -1,
                               .zone = -1,
                               .every_s = every_s,
                               .series = series,
                               .steps = steps};
    f->rc = add_channel(f->roster, &c);
}

static enum rc index_by_id(struct roster *r)
{
    for (size_t i = 0; i < r->channel_count; i++)
        if (r->channels[i].id >= r->by_id_count)
            r->by_id_count = r->channels[i].id + 1;
    r->by_id = malloc((r->by_id_count + 1) * sizeof *r->by_id);
    if (r->by_id == NULL)
        return RC_NOMEM;
    for (size_t i = 0; i < r->by_id_count; i++)
        r->by_id[i] = -1;
    for (size_t i = 0; i < r->channel_count; i++)
        r->by_id[r->channels[i].id] = (int32_t)i;
    return RC_OK;
}

static int zone_by_id(const struct roster *r, uint32_t id)
{
    for (size_t i = 0; i < r->zone_count; i++)
        if (r->zones[i].id == id)
            return (int)i;
    return -1;
}

static void note_former(void *context, uint32_t zone, uint32_t channel, int64_t from_s,
                        int64_t to_s)
{
    struct finder *f = context;
    struct roster *r = f->roster;
    int index = roster_find(r, channel);
    if (f->rc != RC_OK || index < 0)
        return;
    struct roster_former *more = realloc(r->former, (r->former_count + 1) * sizeof *more);
    if (more == NULL) {
        f->rc = RC_NOMEM;
        return;
    }
    r->former = more;
    r->former[r->former_count++] = (struct roster_former){
        .channel = index, .zone = zone_by_id(r, zone), .from_s = from_s, .to_s = to_s};
}

enum rc roster_make(struct store *store, const struct site *site, int64_t t_s, int64_t open_s,
                    struct roster **out)
{
    struct roster *r = calloc(1, sizeof *r);
    if (r == NULL)
        return RC_NOMEM;
    r->site = site;
    r->open_s = open_s;
    enum rc rc = add_zones(store, r);
    if (rc == RC_OK)
        rc = add_instruments(store, r, t_s);
    if (rc == RC_OK) {
        choose_leads(r);
        rc = record_leads(store, r, t_s);
    }
    struct finder f = {.roster = r};
    if (rc == RC_OK)
        rc = store_tail_channels(store, add_former, &f);
    if (rc == RC_OK)
        rc = f.rc;
    if (rc == RC_OK)
        rc = index_by_id(r);
    if (rc == RC_OK)
        rc = store_former_leads(store, open_s, note_former, &f);
    if (rc == RC_OK)
        rc = f.rc;
    if (rc != RC_OK) {
        roster_free(r);
        return rc;
    }
    *out = r;
    return RC_OK;
}

void roster_free(struct roster *r)
{
    if (r == NULL)
        return;
    free(r->channels);
    free(r->zones);
    free(r->former);
    free(r->by_id);
    free(r);
}

void roster_place(const struct roster *r, int channel, int64_t t_s, int *out_zone,
                  bool *out_leads)
{
    const struct roster_channel *c = &r->channels[channel];
    *out_zone = c->zone;
    *out_leads = c->leads;
    for (size_t i = 0; i < r->former_count; i++) {
        const struct roster_former *f = &r->former[i];
        if (t_s < f->from_s || t_s >= f->to_s)
            continue;
        if (f->channel == channel) {
            *out_zone = f->zone;
            *out_leads = f->zone >= 0;
            return;
        }
        /* Another led the zone then. */
        if (f->zone == c->zone && r->channels[f->channel].quantity == c->quantity)
            *out_leads = false;
    }
}

int roster_find(const struct roster *r, uint32_t id)
{
    return id < r->by_id_count ? r->by_id[id] : -1;
}

int roster_channel_of(const struct roster *r, size_t instrument, enum quantity quantity)
{
    for (size_t i = 0; i < r->channel_count; i++)
        if (r->channels[i].instrument == (int)instrument && r->channels[i].quantity == quantity)
            return (int)i;
    return -1;
}
