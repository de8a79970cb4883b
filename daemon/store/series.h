/* series.h - a chart of any span in at most N buckets, from the coarsest rollup that serves.
 *
 * A chart is made in two steps: store_series_fill adds what is in closed days (rollups, or the
 * day files themselves where a bucket is shorter than a quarter of an hour), then the daemon
 * adds today from memory (live_series_fill) or the tool from the tail (store_series_tail).
 *
 * Errors:  RC_NOT_FOUND if the zone has no such series; RC_TIMEOUT if the reader's time ran out.
 * Owner:   series_free releases the buckets; a zeroed struct is an empty chart.
 * Threads: a chart and a reader belong to one thread at a time.
 */
#ifndef STORE_SERIES_H
#define STORE_SERIES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"
#include "base/rc.h"

struct reader;

struct series_bucket {
    int64_t t_s; /* start of the bucket, or the stamp of the only reading in it */
    int64_t min, max;
    int64_t sum;
    int64_t n; /* 0: empty */
};

struct series {
    int64_t from_s, to_s; /* half open: from <= t < to */
    int64_t width_s;      /* of a bucket; 0: every reading as it came */
    int64_t closed_to_s;  /* what lies before came from closed days; set by store_series_fill */
    int64_t step_s;       /* of the rollup used: 0 (readings), 900, 3600, 21600, 86400 */
    enum quantity quantity;
    size_t count, cap;
    struct series_bucket *buckets; /* owned; width 0: in order of time, else by index */
};

/* Lays out a chart of [from, to) in at most `points` buckets (2..4000). A span of fewer
 * readings than points comes back as the readings themselves (width 0) if `interval_s`, the
 * usual interval of the series, says so. RC_BAD_INPUT for an empty or reversed span. */
MUST_USE enum rc series_begin(struct series *s, enum quantity quantity, int64_t from_s,
                              int64_t to_s, int points, int interval_s);
void series_free(struct series *s);

/* Adds a run of n values known by their extremes and sum, that begins at t. */
MUST_USE enum rc series_add(struct series *s, int64_t t_s, int64_t n, int64_t min, int64_t max,
                            int64_t sum);

/* Drops the empty buckets; the chart is then ready to be read in order. */
void series_end(struct series *s);

/* A read-only connection with a bound on the time a question may take. */
MUST_USE enum rc reader_open(const char *path, struct reader **out);
void reader_close(struct reader *reader);
void reader_bound_ms(struct reader *reader, int64_t ms);

/* Adds what closed days hold. */
MUST_USE enum rc store_series_fill(struct reader *reader, uint32_t zone, struct series *series);

/* Adds what the open days hold, from the tail on disk; for the tool, where no daemon runs. */
MUST_USE enum rc store_series_tail(struct reader *reader, uint32_t zone, struct series *series);

/* Flag of a reading that came late, beside those that are stored; never stored itself. */
enum {
    STORE_LATE = 1 << 16
};

/* A reading, or a run of them by their sum. */
struct store_value {
    int64_t t_s;
    int64_t sum, n;
    unsigned flags;
};

/* Calls back with every reading of a measured quantity of a zone in [from, to): of closed days,
 * of the tail, and late ones (STORE_LATE), each in order of time but not among one another. */
MUST_USE enum rc store_readings(
    struct reader *reader, uint32_t zone, enum quantity quantity, int64_t from_s, int64_t to_s,
    enum rc (*each)(void *context, int64_t t_s, int32_t value, unsigned flags), void *context);

/* The id of a zone by its name; RC_NOT_FOUND puts the names there are into `names`. */
struct buf;
MUST_USE enum rc store_zone_id(struct reader *reader, const char *name, uint32_t *out_id,
                               struct buf *names);

struct series_gap {
    int64_t from_s, to_s; /* to_s 0: it lasts */
    uint8_t reason;       /* enum gap_reason of the source */
    uint8_t detail;
};

/* Gaps of a zone's quantity that touch [from, to), in order; at most `max` (longest kept). */
MUST_USE enum rc store_gaps(struct reader *reader, uint32_t zone, enum quantity quantity,
                            int64_t from_s, int64_t to_s, size_t max, struct series_gap *out,
                            size_t *out_count);

struct series_alarm {
    int64_t id;
    int64_t since_s, until_s; /* until 0: it lasts */
    double worst;
    char limit[64];
    uint32_t zone;
    uint8_t state; /* enum alarm_state, now */
    uint8_t priority;
};

/* Occurrences of alarms that touch [from, to), newest first, of one zone or (zone 0) all. */
MUST_USE enum rc store_alarms(struct reader *reader, uint32_t zone, int64_t from_s,
                              int64_t to_s, size_t max, struct series_alarm *out,
                              size_t *out_count);

struct series_transition {
    int64_t t_s;
    uint8_t from, to; /* enum alarm_state */
    double value;
    char person[64];
    char reason[128];
};

/* Transitions of one occurrence in order. */
MUST_USE enum rc store_alarm_history(struct reader *reader, int64_t id, size_t max,
                                     struct series_transition *out, size_t *out_count);

/* First reading ever recorded in a zone; 0 if none. */
MUST_USE enum rc store_zone_first(struct reader *reader, uint32_t zone, int64_t *out_s);

/* Hours of [from, to) in which humidity was at or above 65, 75, 80 %, from quarter-hour means
 * of closed days, and hours that were recorded at all. */
MUST_USE enum rc store_damp_hours(struct reader *reader, uint32_t zone, int64_t from_s,
                                  int64_t to_s, double out_hours[3], double *out_covered);

#endif
