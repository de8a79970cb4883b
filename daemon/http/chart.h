/* chart.h - the buckets of one quantity of a zone: closed days from the store, today from memory.
 *
 * Errors:  RC_BAD_INPUT for an empty span, RC_BUSY and RC_TIMEOUT if the store has no time.
 * Owner:   the caller frees the series, whatever came back (series_free).
 * Threads: any.
 */
#ifndef HTTP_CHART_H
#define HTTP_CHART_H

#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"
#include "base/rc.h"
#include "store/series.h"

struct context;
struct live_zone;

struct chart_question {
    const struct live_zone *zone; /* borrowed */
    enum quantity quantity;
    int64_t from_s, to_s;
    int points;
    int wait_ms; /* for a connection to the store */
};

/* Fills an empty series, and `gaps` with the longest `gaps_most` gaps in the span; gaps may be
 * NULL if none are wanted. */
MUST_USE enum rc chart_fetch(struct context *context, const struct chart_question *ask,
                             struct series *series, struct series_gap *gaps, size_t gaps_most,
                             size_t *out_gap_count);

#endif
