/* build.h - makes a site of a draft, one function a group of sections, in this order.
 *
 * Errors: mistakes go to the draft's; a site with mistakes is thrown away whole, so a builder
 *         goes on after one with whatever stands there. RC_NOMEM otherwise.
 * Owner:  all lies in the draft's arena.
 */
#ifndef SITE_BUILD_H
#define SITE_BUILD_H

#include "base/rc.h"
#include "site/draft.h"
#include "site/site.h"

struct build_map {
    struct site_read reads[SITE_READS_MAX];
    size_t count;
};

struct build {
    struct draft draft;
    struct site *site;
    /* By the index of their sections; what the site's const pointers point to. */
    struct site_bus *buses;
    struct site_instrument *instruments;
    struct site_zone *zones;
    struct site_recipient *recipients; /* of persons, then webhooks, then commands */
    struct build_map *maps;
    bool defaults;                      /* [studio] defaults */
    const struct site_recipient **tell; /* whom a limit tells that names nobody */
    size_t tell_count;
};

/* The arrays, with the names in them, so that sections may refer to later ones. */
MUST_USE enum rc build_arrays(struct build *b);

void build_recipients(struct build *b); /* [person], [webhook], [command], [mail] */
void build_studio(struct build *b);     /* [studio], [store], [http] */
void build_buses(struct build *b);
MUST_USE enum rc build_instruments(struct build *b); /* and the maps */
void build_zones(struct build *b);
MUST_USE enum rc build_limits(struct build *b); /* and the defaults */

/* `tell = NAME, NAME` or nobody, in a section that has it; leaves *out alone if it has not. */
void build_tell(struct build *b, const struct draft_section *s,
                const struct site_recipient ***out, size_t *out_count);

/* An address that only this machine answers. */
bool build_own_machine(const char *host);

/* True if an instrument reads a quantity, or all that a derived one is worked out from. */
bool build_reads(const struct site_instrument *instrument, enum quantity q);

/* The same of any one instrument of a zone; surface quantities may take the air from one
 * instrument and the surface from another. */
bool build_zone_reads(const struct build *b, const struct site_zone *zone, enum quantity q);

#endif
