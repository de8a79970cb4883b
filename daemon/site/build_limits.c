/* build_limits.c - [limit NAME], and the limits that zones have by their purpose. */
#include <stdio.h>
#include <string.h>

#include "site/build.h"
#include "site/defaults.h"
#include "site/field.h"
#include "site/ruleline.h"

static const char *const priorities[] = {"digest", "low", "medium", "high", "highest", NULL};

const char *site_priority_word(enum site_priority priority)
{
    return priorities[priority];
}

/* A gap shorter than a few polls is no silence. */
static int silent_delay_s(const struct build *b, const struct site_limit *limit, int delay_s)
{
    enum {
        POLLS = 3
    };
    for (size_t i = 0; i < b->site->instrument_count; i++) {
        const struct site_instrument *in = &b->instruments[i];
        if ((in == limit->instrument || (limit->zone != NULL && in->zone == limit->zone)) &&
            delay_s < POLLS * in->every_s)
            delay_s = POLLS * in->every_s;
    }
    return delay_s;
}

/* The limits being gathered: the file's, then the defaults. */
struct gather {
    struct build *b;
    struct site_limit *all;
    size_t count;
    bool sound; /* the wiring: else what seems missing may be what was wrong in it */
    const struct draft_section **used; /* of the default that a [limit NAME] replaces */
    size_t used_count;
};

static bool reads(const struct build *b, const struct site_limit *limit)
{
    if (limit->rule == RULE_SILENT)
        return true;
    return limit->zone != NULL ? build_zone_reads(b, limit->zone, limit->quantity)
                               : build_reads(limit->instrument, limit->quantity);
}

static void scope(struct build *b, const struct draft_section *s, struct site_limit *limit)
{
    const struct draft *d = &b->draft;
    const struct draft_section *zone = field_reference(d, s, "zone", SECTION_ZONE);
    const struct draft_section *in = field_reference(d, s, "instrument", SECTION_INSTRUMENT);
    bool zone_said = draft_entry(s, "zone") != NULL;
    bool in_said = draft_entry(s, "instrument") != NULL;
    if (zone_said == in_said)
        mistakes_add(d->mistakes, s->line,
                     "%s has %s; allowed: zone = NAME or instrument = NAME", s->label,
                     zone_said ? "both a zone and an instrument" : "no zone and no instrument");
    limit->zone = zone != NULL && !in_said ? &b->zones[zone->index] : NULL;
    limit->instrument = in != NULL && !zone_said ? &b->instruments[in->index] : NULL;
}

static void rule(const struct gather *g, const struct draft_section *s,
                 struct site_limit *limit)
{
    struct build *b = g->b;
    const struct draft *d = &b->draft;
    const struct draft_entry *e = field_entry(s, "rule");
    char why[RULELINE_WHY];
    if (e == NULL)
        return;
    if (ruleline_parse(e->value, limit, why) != RC_OK) {
        mistakes_add(d->mistakes, e->line, "rule in %s: %s", s->label, why);
        return;
    }
    ruleline_defaults(limit);
    bool derived =
        limit->rule != RULE_SILENT && quantity_info(limit->quantity)->kind == QUANTITY_DERIVED;
    if (limit->instrument != NULL && derived) {
        mistakes_add(d->mistakes, e->line,
                     "rule in %s: %s is worked out for a zone, not for an instrument; allowed: "
                     "zone = NAME",
                     s->label, quantity_info(limit->quantity)->name);
        return;
    }
    bool placed = limit->zone != NULL || limit->instrument != NULL;
    if (placed && g->sound && !reads(b, limit))
        mistakes_add(d->mistakes, e->line,
                     "rule in %s: nothing there reads %s%s; allowed: what the instruments of "
                     "its zone read",
                     s->label, quantity_info(limit->quantity)->name,
                     derived ? " or what it is worked out from" : "");
    if (limit->rule == RULE_SILENT && placed)
        limit->on_delay_s = silent_delay_s(b, limit, limit->on_delay_s);
}

static void whom(struct build *b, const struct draft_section *s, struct site_limit *limit)
{
    const struct site_recipient **tell = b->tell;
    limit->tell_count = b->tell_count;
    build_tell(b, s, &tell, &limit->tell_count);
    limit->tell = tell;
}

static void file_limit(struct gather *g, const struct draft_section *s, bool off)
{
    enum {
        WEEK_S = 7 * 86400
    };
    struct build *b = g->b;
    const struct draft *d = &b->draft;
    struct site_limit limit = {.name = s->name, .line = s->line};
    int priority = PRIORITY_MEDIUM;
    field_required(d, s, "rule", "humidity above 65");
    scope(b, s, &limit);
    rule(g, s, &limit);
    field_duration_s(d, s, "on_delay", 0, WEEK_S, &limit.on_delay_s);
    field_duration_s(d, s, "off_delay", 0, WEEK_S, &limit.off_delay_s);
    field_double(d, s, "deadband", 0, 100, &limit.deadband);
    field_word(d, s, "priority", priorities, &priority);
    limit.priority = (enum site_priority)priority;
    limit.source = "set in the site file";
    field_text(d, s, "source", &limit.source);
    whom(b, s, &limit);
    if (!off)
        g->all[g->count++] = limit;
}

/* The file's limit that has the name of a default, if any. */
static const struct draft_section *replaced(struct gather *g, const char *name)
{
    const struct draft_section *s = draft_find(&g->b->draft, SECTION_LIMIT, name);
    if (s != NULL)
        g->used[g->used_count++] = s;
    return s;
}

/* A limit of that name elsewhere would leave this zone or instrument unwatched. */
static void check_replacement(const struct gather *g, const struct draft_section *s,
                              const struct site_limit *limit)
{
    const struct draft *d = &g->b->draft;
    const char *key = limit->zone != NULL ? "zone" : "instrument";
    const char *name = limit->zone != NULL ? limit->zone->name : limit->instrument->name;
    const struct draft_entry *e = draft_entry(s, key);
    bool scoped = draft_entry(s, "zone") != NULL || draft_entry(s, "instrument") != NULL;
    if (scoped && (e == NULL || strcmp(e->value, name) != 0))
        mistakes_add(
            d->mistakes, s->line,
            "%s has the name of a default limit of %s %s; allowed: %s = %s, or another "
            "name",
            s->label, key, name, key, name);
}

static void default_limit(struct gather *g, const struct defaults_row *row,
                          const struct site_zone *zone, const struct site_instrument *in)
{
    struct build *b = g->b;
    struct site_limit limit = {.zone = zone,
                               .instrument = in,
                               .priority = row->priority,
                               .source = row->source,
                               .tell = b->tell,
                               .tell_count = b->tell_count,
                               .line = zone != NULL ? zone->line : in->line};
    char why[RULELINE_WHY];
    if (ruleline_parse(row->rule, &limit, why) != RC_OK || !reads(b, &limit))
        return;
    limit.on_delay_s = row->on_delay_s;
    limit.deadband = row->deadband;
    if (limit.rule == RULE_SILENT)
        limit.on_delay_s = silent_delay_s(b, &limit, limit.on_delay_s);
    limit.name =
        arena_printf(b->draft.arena, "%s-%s", zone != NULL ? zone->name : in->name, row->what);
    const struct draft_section *s = replaced(g, limit.name);
    if (s != NULL)
        check_replacement(g, s, &limit);
    else if (b->defaults)
        g->all[g->count++] = limit;
}

static void default_limits(struct gather *g)
{
    const struct site *site = g->b->site;
    size_t n = 0;
    const struct defaults_row *rows = defaults_rows(&n);
    for (size_t i = 0; i < site->zone_count; i++)
        for (size_t k = 0; k < n; k++)
            if ((rows[k].purposes >> site->zones[i].purpose & 1U) != 0)
                default_limit(g, &rows[k], &site->zones[i], NULL);
    for (size_t i = 0; i < site->instrument_count; i++)
        for (size_t k = 0; k < n; k++)
            if (rows[k].purposes == 0)
                default_limit(g, &rows[k], NULL, &site->instruments[i]);
}

/* "off = yes" alone switches a default off, so there must be one of that name. */
static void check_off(const struct gather *g, const struct draft_section *s)
{
    for (size_t i = 0; i < g->used_count; i++)
        if (g->used[i] == s)
            return;
    struct buf names = {0};
    for (size_t i = 0; i < g->count; i++)
        if (draft_find(&g->b->draft, SECTION_LIMIT, g->all[i].name) == NULL)
            buf_printf(&names, "%s%s", names.len > 0 ? ", " : "", g->all[i].name);
    mistakes_add(g->b->draft.mistakes, s->line,
                 "%s switches off a default limit that there is not; allowed: %s", s->label,
                 names.len > 0 && !names.failed ? names.data : "none in this file");
    buf_free(&names);
}

static bool wiring_sound(const struct draft *d)
{
    for (const struct draft_section *s = d->sections; s != NULL; s = s->next)
        if ((s->kind == SECTION_MAP || s->kind == SECTION_INSTRUMENT ||
             s->kind == SECTION_ZONE) &&
            draft_flawed(d, s))
            return false;
    return true;
}

enum rc build_limits(struct build *b)
{
    const struct draft *d = &b->draft;
    size_t rows = 0;
    (void)defaults_rows(&rows);
    size_t most =
        d->count[SECTION_LIMIT] + rows * (b->site->zone_count + b->site->instrument_count);
    struct gather g = {.b = b, .sound = wiring_sound(d)};
    g.all = arena_new(d->arena, most, sizeof *g.all);
    g.used = arena_new(d->arena, most, sizeof *g.used);
    if (g.all == NULL || g.used == NULL)
        return RC_NOMEM;
    for (const struct draft_section *s = draft_next(d, SECTION_LIMIT, NULL); s != NULL;
         s = draft_next(d, SECTION_LIMIT, s)) {
        bool off = false;
        field_yes_no(d, s, "off", &off);
        if (!off || draft_entry(s, "rule") != NULL)
            file_limit(&g, s, off);
    }
    default_limits(&g);
    for (const struct draft_section *s = draft_next(d, SECTION_LIMIT, NULL); s != NULL;
         s = draft_next(d, SECTION_LIMIT, s)) {
        bool off = false;
        const struct draft_entry *e = field_entry(s, "off");
        off = e != NULL && strcmp(e->value, "yes") == 0;
        if (off && g.sound && draft_entry(s, "rule") == NULL)
            check_off(&g, s);
    }
    b->site->limits = g.all;
    b->site->limit_count = g.count;
    return RC_OK;
}
