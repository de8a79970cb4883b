/* roster.h - the site as the store numbers it: which channel stands where and feeds what.
 *
 * Made once at the start from the site file and the catalogue; channels that still have
 * readings in an open day but are no longer in the site file are on it too, so that their day
 * is closed and signed like any other.
 *
 * Owner:   roster_free releases it; the site is borrowed and outlives it.
 * Threads: never changed after roster_make; share it as const.
 */
#ifndef RECORDER_ROSTER_H
#define RECORDER_ROSTER_H

#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"
#include "base/rc.h"
#include "site/site.h"
#include "store/store.h"

struct roster_channel {
    uint32_t id; /* of the store */
    enum quantity quantity;
    int instrument; /* index in the site; -1: not in the site file any more */
    int zone;       /* index in the site; -1 likewise */
    bool leads;     /* gives its zone's quantity */
    int every_s;
    uint32_t series;
    unsigned steps; /* bits of store_step_s */
};

struct roster_zone {
    const struct site_zone *site;
    uint32_t id;
    int channel[QUANTITY_COUNT];     /* index of the channel that leads a quantity; -1: none */
    uint32_t series[QUANTITY_COUNT]; /* of derived quantities; 0: none */
    unsigned steps[QUANTITY_COUNT];  /* likewise */
    int every_s;                     /* interval of humidity, else of anything here; 0: none */
};

/* A stretch of the open days in which a channel led a quantity of a zone, and does no more. */
struct roster_former {
    int channel;
    int zone; /* -1: not in the site file any more */
    int64_t from_s, to_s;
};

struct roster {
    const struct site *site;
    int64_t open_s; /* start of the first open day when it was made */
    struct roster_channel *channels;
    size_t channel_count;
    struct roster_zone *zones; /* in the order of the site */
    size_t zone_count;
    struct roster_former *former;
    size_t former_count;
    int32_t *by_id; /* channel id to index; -1 */
    size_t by_id_count;
};

/* The site file holds from t on; what is rolled up when a day closes, from the start of the first
 * open day. */
MUST_USE enum rc roster_make(struct store *store, const struct site *site, int64_t t_s,
                             int64_t open_s, struct roster **out);
void roster_free(struct roster *roster);

/* Where a reading of a moment counts, and whether it gives its zone's quantity: readings of an
 * open day are fed again after the instrument was moved or replaced. */
void roster_place(const struct roster *roster, int channel, int64_t t_s, int *out_zone,
                  bool *out_leads);

/* Index of a channel by the store's id; -1 if it is not on the roster. */
int roster_find(const struct roster *roster, uint32_t id);

/* Index of the channel of an instrument's quantity; -1 if it has none. */
int roster_channel_of(const struct roster *roster, size_t instrument, enum quantity quantity);

#endif
