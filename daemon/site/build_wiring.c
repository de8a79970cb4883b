/* build_wiring.c - [bus NAME], [map NAME], [instrument NAME] and [zone NAME]. */
#include <stdlib.h>
#include <string.h>

#include "site/build.h"
#include "site/field.h"
#include "site/regline.h"

static const char *const bus_kinds[] = {"modbus-rtu", "modbus-tcp", NULL};
static const char *const parities[] = {"none", "even", "odd", NULL};
static const char *const bauds[] = {"1200",  "2400",  "4800",   "9600", "19200",
                                    "38400", "57600", "115200", NULL};
static const char *const purposes[] = {"drying",  "bench",   "store", "quarantine",
                                       "gallery", "chamber", "crate", "transit",
                                       "outdoor", "other",   NULL};

const char *site_purpose_word(enum site_purpose purpose)
{
    return purposes[purpose];
}

/* Keys of the other kind of bus would be passed over in silence. */
static void refuse_other_kind(const struct build *b, const struct draft_section *s,
                              const char *const *keys, const char *kind)
{
    for (; *keys != NULL; keys++) {
        const struct draft_entry *e = draft_entry(s, *keys);
        if (e != NULL)
            mistakes_add(b->draft.mistakes, e->line,
                         "%s in %s; allowed: only in a bus of kind %s", *keys, s->label, kind);
    }
}

static void rtu(struct build *b, const struct draft_section *s, struct site_bus *bus)
{
    static const char *const others[] = {"address", NULL};
    const struct draft *d = &b->draft;
    int baud = 3, parity = PARITY_EVEN;
    field_required(d, s, "device", "/dev/ttyUSB0");
    const struct draft_entry *e = field_entry(s, "device");
    if (e != NULL && e->value[0] != '/')
        field_refuse(d, s, e, "a path, as /dev/ttyUSB0");
    field_text(d, s, "device", &bus->device);
    field_word(d, s, "baud", bauds, &baud);
    bus->baud = atoi(bauds[baud]);
    field_word(d, s, "parity", parities, &parity);
    bus->parity = (enum site_parity)parity;
    bus->stop_bits = bus->parity == PARITY_NONE ? 2 : 1;
    field_int(d, s, "stop_bits", 1, 2, &bus->stop_bits);
    refuse_other_kind(b, s, others, "modbus-tcp");
    for (size_t i = 0; i < s->index; i++)
        if (e != NULL && b->buses[i].device != NULL &&
            strcmp(b->buses[i].device, e->value) == 0)
            field_refuse(d, s, e, "a device of its own; [bus %s] has this one",
                         b->buses[i].name);
}

static void tcp(struct build *b, const struct draft_section *s, struct site_bus *bus)
{
    static const char *const others[] = {"device", "baud", "parity", "stop_bits", NULL};
    field_required(&b->draft, s, "address", "host:port");
    field_address(&b->draft, s, "address", "502", "host, host:port, [IPv6]:port", &bus->host,
                  &bus->port);
    refuse_other_kind(b, s, others, "modbus-rtu");
}

void build_buses(struct build *b)
{
    const struct draft *d = &b->draft;
    for (const struct draft_section *s = draft_next(d, SECTION_BUS, NULL); s != NULL;
         s = draft_next(d, SECTION_BUS, s)) {
        struct site_bus *bus = &b->buses[s->index];
        int kind = 0;
        bus->response_ms = 500;
        bus->byte_ms = 50;
        field_duration_ms(d, s, "response_timeout", 20, 5000, &bus->response_ms);
        field_duration_ms(d, s, "byte_timeout", 1, 50, &bus->byte_ms);
        if (!field_required(d, s, "kind", "modbus-rtu or modbus-tcp") ||
            !field_word(d, s, "kind", bus_kinds, &kind))
            continue;
        bus->kind = (enum site_bus_kind)kind;
        if (bus->kind == BUS_MODBUS_RTU)
            rtu(b, s, bus);
        else
            tcp(b, s, bus);
    }
}

static void build_maps(struct build *b)
{
    const struct draft *d = &b->draft;
    for (const struct draft_section *s = draft_next(d, SECTION_MAP, NULL); s != NULL;
         s = draft_next(d, SECTION_MAP, s)) {
        struct build_map *map = &b->maps[s->index];
        field_required(d, s, "read", "QUANTITY TABLE ADDRESS TYPE");
        map->count = regline_all(d, s, map->reads);
        regline_uncertainty(d, s, map->reads, map->count);
    }
}

/* The map's reads, each replaced by the instrument's own of the same quantity. */
static enum rc reads(struct build *b, const struct draft_section *s, struct site_instrument *in)
{
    const struct draft *d = &b->draft;
    struct site_read *all = arena_new(d->arena, SITE_READS_MAX, sizeof *all);
    if (all == NULL)
        return RC_NOMEM;
    size_t n = regline_all(d, s, all);
    const struct draft_section *m = field_reference(d, s, "map", SECTION_MAP);
    for (size_t i = 0; m != NULL && i < b->maps[m->index].count; i++) {
        const struct site_read *r = &b->maps[m->index].reads[i];
        bool own = false;
        for (size_t k = 0; k < n; k++)
            own = own || all[k].quantity == r->quantity;
        if (!own && n < SITE_READS_MAX)
            all[n++] = *r;
    }
    regline_uncertainty(d, s, all, n);
    if (draft_entry(s, "read") == NULL && draft_entry(s, "map") == NULL)
        mistakes_add(d->mistakes, s->line,
                     "%s reads nothing; allowed: read = QUANTITY TABLE ADDRESS TYPE, or "
                     "map = NAME",
                     s->label);
    in->reads = all;
    in->read_count = n;
    return RC_OK;
}

static void place(struct build *b, const struct draft_section *s, struct site_instrument *in,
                  size_t *on_bus)
{
    const struct draft *d = &b->draft;
    field_required(d, s, "bus", "the NAME of a [bus NAME]");
    const struct draft_section *bus = field_reference(d, s, "bus", SECTION_BUS);
    if (bus != NULL) {
        in->bus = &b->buses[bus->index];
        if (on_bus[bus->index]++ == SITE_UNITS_MAX)
            field_refuse(d, s, field_entry(s, "bus"), "at most %d instruments on a bus",
                         (int)SITE_UNITS_MAX);
    }
    field_required(d, s, "zone", "the NAME of a [zone NAME]");
    const struct draft_section *zone = field_reference(d, s, "zone", SECTION_ZONE);
    if (zone != NULL)
        in->zone = &b->zones[zone->index];
    bool tcp_bus = in->bus != NULL && in->bus->kind == BUS_MODBUS_TCP;
    if (tcp_bus || field_required(d, s, "unit", "1 to 247"))
        field_int(d, s, "unit", tcp_bus ? 0 : 1, tcp_bus ? 255 : 247, &in->unit);
}

enum rc build_instruments(struct build *b)
{
    const struct draft *d = &b->draft;
    build_maps(b);
    size_t *on_bus = arena_new(d->arena, d->count[SECTION_BUS] + 1, sizeof *on_bus);
    if (on_bus == NULL)
        return RC_NOMEM;
    for (const struct draft_section *s = draft_next(d, SECTION_INSTRUMENT, NULL); s != NULL;
         s = draft_next(d, SECTION_INSTRUMENT, s)) {
        struct site_instrument *in = &b->instruments[s->index];
        in->unit = 1;
        in->serial = "";
        in->placement = "";
        in->every_s = 60;
        place(b, s, in, on_bus);
        field_text(d, s, "serial", &in->serial);
        field_text(d, s, "placement", &in->placement);
        field_duration_s(d, s, "every", 1, 3600, &in->every_s);
        enum rc rc = reads(b, s, in);
        if (rc != RC_OK)
            return rc;
    }
    return RC_OK;
}

/* Without `lead =`, the first that gives what the derived values need, else the first. */
static const struct site_instrument *first_of(const struct build *b,
                                              const struct site_zone *zone)
{
    const struct site_instrument *first = NULL;
    for (size_t i = 0; i < b->site->instrument_count; i++) {
        const struct site_instrument *in = &b->instruments[i];
        if (in->zone != zone)
            continue;
        if (build_reads(in, QUANTITY_DEW_POINT))
            return in;
        if (first == NULL)
            first = in;
    }
    return first;
}

void build_zones(struct build *b)
{
    const struct draft *d = &b->draft;
    for (const struct draft_section *s = draft_next(d, SECTION_ZONE, NULL); s != NULL;
         s = draft_next(d, SECTION_ZONE, s)) {
        struct site_zone *zone = &b->zones[s->index];
        int purpose = PURPOSE_OTHER;
        zone->title = zone->name;
        field_text(d, s, "title", &zone->title);
        field_word(d, s, "purpose", purposes, &purpose);
        zone->purpose = (enum site_purpose)purpose;
        zone->lead = first_of(b, zone);
        const struct draft_section *lead = field_reference(d, s, "lead", SECTION_INSTRUMENT);
        if (lead == NULL)
            continue;
        zone->lead = &b->instruments[lead->index];
        if (zone->lead->zone != zone)
            field_refuse(d, s, field_entry(s, "lead"), "an instrument with zone = %s",
                         zone->name);
    }
}

static bool has(const struct site_instrument *in, enum quantity q)
{
    for (size_t i = 0; i < in->read_count; i++)
        if (in->reads[i].quantity == q)
            return true;
    return false;
}

static bool air(const struct site_instrument *in)
{
    return has(in, QUANTITY_TEMPERATURE) && has(in, QUANTITY_HUMIDITY);
}

bool build_reads(const struct site_instrument *in, enum quantity q)
{
    if (quantity_info(q)->kind != QUANTITY_DERIVED)
        return has(in, q);
    bool surface = q == QUANTITY_DEW_MARGIN || q == QUANTITY_SURFACE_HUMIDITY;
    return air(in) && (!surface || has(in, QUANTITY_SURFACE_TEMPERATURE));
}

bool build_zone_reads(const struct build *b, const struct site_zone *zone, enum quantity q)
{
    bool surface = false, whole = false;
    for (size_t i = 0; i < b->site->instrument_count; i++)
        if (b->instruments[i].zone == zone) {
            surface = surface || has(&b->instruments[i], QUANTITY_SURFACE_TEMPERATURE);
            whole = whole || build_reads(&b->instruments[i], q);
        }
    if (q != QUANTITY_DEW_MARGIN && q != QUANTITY_SURFACE_HUMIDITY)
        return whole;
    return whole || (surface && build_zone_reads(b, zone, QUANTITY_DEW_POINT));
}
