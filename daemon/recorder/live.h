/* live.h - what the recorder lets others see: the latest values, today's readings, alarms.
 *
 * Everything here was committed before it is shown: what a reader saw can never be lost.
 *
 * Threads: the recorder alone publishes; readers call from any thread. Copies are taken under
 *          a lock that is never held while waiting or writing to a disk.
 * Owner:   the recorder owns it; zones and limits are borrowed from the site, which outlives it.
 */
#ifndef RECORDER_LIVE_H
#define RECORDER_LIVE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"
#include "base/rc.h"
#include "site/site.h"
#include "source/sink.h"
#include "store/series.h"
#include "watch/alarm.h"

struct live;

struct live_value {
    bool known;     /* a reading exists, however old */
    bool fresh;     /* and it is not older than three intervals */
    uint16_t flags; /* enum reading_flag */
    int64_t value;  /* integer at the quantity's power of ten */
    int64_t t_s;
};

struct live_zone {
    const struct site_zone *site; /* borrowed */
    uint32_t id;                  /* of the store */
    bool has[QUANTITY_COUNT];     /* a series of this quantity exists here */
    struct live_value now[QUANTITY_COUNT];
    double humidity_per_h;    /* least-squares slope of the last 3 h; NaN if not known */
    double temperature_per_h; /* the same */
    enum gap_reason quiet;    /* GAP_NONE, or why the leading instrument gives nothing now */
    int64_t quiet_since_s;
    int64_t last_s; /* newest reading of any quantity; 0 if none */
};

struct live_instrument {
    const struct site_instrument *site; /* borrowed */
    int64_t last_s;                     /* newest reading; 0 if never */
    enum gap_reason quiet;
    uint8_t detail; /* exception code */
    int64_t quiet_since_s;
    uint64_t polls, failures; /* since the start */
};

struct live_alarm {
    int64_t id;                     /* of this occurrence: first alarm_event's id */
    const struct site_limit *limit; /* borrowed */
    enum alarm_state state;
    int64_t since_s, until_s; /* until_s: when it returned; 0 while the condition lasts */
    double value, worst;      /* NaN where the rule has no value */
};

struct live_status {
    bool writing;        /* false: the disk is full or read-only; reads go on */
    enum rc write_error; /* why not */
    enum {
        LIVE_CLOCK_GOOD,
        LIVE_CLOCK_UNSYNCHRONISED,
        LIVE_CLOCK_IMPLAUSIBLE,
        LIVE_CLOCK_TRUSTED
    } clock;
    int64_t started_s, last_commit_s;
    uint64_t readings, gaps, late, overflowed; /* since the start */
    size_t queued;
    int64_t open_day;        /* first UTC day that is not closed */
    int64_t last_signed_day; /* -1 if none */
    uint64_t signed_days;
    char key_id[17];
    uint64_t messages_waiting;
    uint64_t messages_given_up; /* of the last thirty days */
    uint64_t generation;        /* rises with every publication */
};

void live_status(struct live *live, struct live_status *out);

/* Zones and instruments stand in the order of the site file. */
size_t live_zone_count(struct live *live);
void live_zone(struct live *live, size_t index, struct live_zone *out);
bool live_zone_find(struct live *live, const char *name, struct live_zone *out);
size_t live_instrument_count(struct live *live);
void live_instrument(struct live *live, size_t index, struct live_instrument *out);

/* Alarms that are not normal, newest first; at most `max`, returns how many. */
size_t live_alarms(struct live *live, struct live_alarm *out, size_t max);

/* Waits until the generation differs from `seen`, `timeout_ms` passes or live_stop is called;
 * returns the generation now. */
uint64_t live_wait(struct live *live, uint64_t seen, int timeout_ms);

/* Wakes every waiter for good; live_stopped is true from then on. */
void live_stop(struct live *live);
bool live_stopped(struct live *live);

/* Adds what was recorded since open_day (readings that are in no closed day) of one quantity
 * of one zone to a chart that store_series_fill has begun. */
MUST_USE enum rc live_series_fill(struct live *live, uint32_t zone, enum quantity quantity,
                                  struct series *series);

#endif
