/* build.c - see build.h. */
#include "site/build.h"

enum rc build_arrays(struct build *b)
{
    struct draft *d = &b->draft;
    struct site *site = b->site;
    b->buses = arena_new(d->arena, d->count[SECTION_BUS], sizeof *b->buses);
    b->instruments = arena_new(d->arena, d->count[SECTION_INSTRUMENT], sizeof *b->instruments);
    b->zones = arena_new(d->arena, d->count[SECTION_ZONE], sizeof *b->zones);
    size_t recipients =
        d->count[SECTION_PERSON] + d->count[SECTION_WEBHOOK] + d->count[SECTION_COMMAND];
    b->recipients = arena_new(d->arena, recipients, sizeof *b->recipients);
    b->maps = arena_new(d->arena, d->count[SECTION_MAP], sizeof *b->maps);
    if (d->arena->failed)
        return RC_NOMEM;
    for (const struct draft_section *s = d->sections; s != NULL; s = s->next) {
        if (s->kind == SECTION_BUS) {
            b->buses[s->index].name = s->name;
            b->buses[s->index].line = s->line;
        } else if (s->kind == SECTION_INSTRUMENT) {
            b->instruments[s->index].name = s->name;
            b->instruments[s->index].line = s->line;
        } else if (s->kind == SECTION_ZONE) {
            b->zones[s->index].name = s->name;
            b->zones[s->index].line = s->line;
        }
    }
    site->buses = b->buses;
    site->bus_count = d->count[SECTION_BUS];
    site->instruments = b->instruments;
    site->instrument_count = d->count[SECTION_INSTRUMENT];
    site->zones = b->zones;
    site->zone_count = d->count[SECTION_ZONE];
    site->recipients = b->recipients;
    site->recipient_count = recipients;
    return RC_OK;
}
