/* view.h - the JSON shapes that several answers share.
 *
 * Every function returns a new reference, or NULL if memory ran out.
 */
#ifndef HTTP_VIEW_H
#define HTTP_VIEW_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/json.h"
#include "recorder/live.h"
#include "store/series.h"

enum {
    VIEW_ALARMS_MOST = 500
};

/* A moment; null for 0, "never". */
json_t *view_time(int64_t utc_s);

/* A number; null for NaN. */
json_t *view_number(double value);

/* A text; null for NULL and "". */
json_t *view_text(const char *text);

/* A text for people about a gap, with the exception's code if there is one. */
json_t *view_gap_text(enum gap_reason reason, uint8_t detail);

/* The latest readings of a zone; null if there never was one. */
json_t *view_now(const struct live_zone *zone);

/* Names of what an instrument reads. */
json_t *view_reads(const struct site_instrument *instrument);

/* An alarm that is not normal. */
json_t *view_alarm(const struct live_alarm *alarm, int64_t now_s);

/* An occurrence that the store remembers; its limit may be gone from the site file. */
json_t *view_past_alarm(const struct site *site, struct live *live,
                        const struct series_alarm *alarm, int64_t now_s);

/* The zone that a limit watches; NULL if neither it nor its instrument names one. */
const struct site_zone *view_limit_zone(const struct site_limit *limit);

/* The figure of a limit; null where its rule has none: contacts and silence. */
json_t *view_threshold(const struct site_limit *limit);

/* All alarms that are not normal, newest first, in memory that the caller frees. */
MUST_USE enum rc view_alarms_now(struct live *live, struct live_alarm **out, size_t *out_count);

#endif
