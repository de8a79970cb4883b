/* chart.c - see chart.h. */
#include "http/chart.h"

#include "http/context.h"
#include "http/pool.h"
#include "recorder/live.h"

enum {
    INTERVAL_DEFAULT_S = 60
};

/* The usual interval of the series: the shortest of those that read the quantity here, or of
 * the leading instrument for what is derived from its readings. */
static int interval_s(const struct site *site, const struct chart_question *ask)
{
    const struct site_zone *zone = ask->zone->site;
    int shortest = 0;
    for (size_t i = 0; i < site->instrument_count; i++) {
        const struct site_instrument *in = &site->instruments[i];
        for (size_t r = 0; in->zone == zone && r < in->read_count; r++)
            if (in->reads[r].quantity == ask->quantity &&
                (shortest == 0 || in->every_s < shortest))
                shortest = in->every_s;
    }
    if (shortest == 0 && zone->lead != NULL)
        shortest = zone->lead->every_s;
    return shortest > 0 ? shortest : INTERVAL_DEFAULT_S;
}

static enum rc from_store(struct context *context, const struct chart_question *ask,
                          struct series *series, struct series_gap *gaps, size_t gaps_most,
                          size_t *out_gap_count)
{
    struct reader *reader;
    enum rc rc = pool_take(context->pool, ask->wait_ms, &reader);
    if (rc != RC_OK)
        return rc;
    rc = store_series_fill(reader, ask->zone->id, series);
    if (rc == RC_OK && gaps != NULL)
        rc = store_gaps(reader, ask->zone->id, ask->quantity, ask->from_s, ask->to_s, gaps_most,
                        gaps, out_gap_count);
    if (rc == RC_NOT_FOUND)
        rc = RC_OK; /* the store does not know the series yet; today's readings may */
    pool_give(context->pool, reader, rc);
    return rc;
}

enum rc chart_fetch(struct context *context, const struct chart_question *ask,
                    struct series *series, struct series_gap *gaps, size_t gaps_most,
                    size_t *out_gap_count)
{
    enum rc rc = series_begin(series, ask->quantity, ask->from_s, ask->to_s, ask->points,
                              interval_s(context->site, ask));
    if (rc == RC_OK)
        rc = from_store(context, ask, series, gaps, gaps_most, out_gap_count);
    if (rc == RC_OK)
        rc = live_series_fill(context->live, ask->zone->id, ask->quantity, series);
    if (rc == RC_OK)
        series_end(series);
    return rc;
}
