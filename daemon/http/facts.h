/* facts.h - what the store knows of a zone and what changes once a day at most: kept, so that
 * the page of all zones needs no question to the store.
 *
 * Threads: any.
 */
#ifndef HTTP_FACTS_H
#define HTTP_FACTS_H

#include <stddef.h>
#include <stdint.h>

#include "base/rc.h"

struct facts;
struct pool;

enum {
    FACTS_DAMP_DAYS = 30,
    FACTS_RETRY_MS = 5000 /* what could not be learnt is not asked for again sooner */
};

struct facts_zone {
    int64_t first_s;    /* first reading ever; 0 if none or not known */
    double damp_h[3];   /* hours at or above 65, 75, 80 % in the last 30 closed days */
    double covered_h;   /* hours of those that were recorded; 0: nothing is known */
    int64_t first_open; /* UTC day for which all this holds */
};

MUST_USE enum rc facts_open(size_t zone_count, struct facts **out);
void facts_close(struct facts *facts);

/* Of the zone that is `index`th in the site file. If the store cannot be asked now, the answer
 * is what was known last, or zeros, and the store is asked again a little later. */
void facts_of(struct facts *facts, struct pool *pool, size_t index, uint32_t zone,
              int64_t open_day, struct facts_zone *out);

#endif
