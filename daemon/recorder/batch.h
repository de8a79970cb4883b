/* batch.h - what is written in one transaction and shown once that was committed.
 *
 * It is filled by the judging of readings, written as often as it takes, then published; so a
 * full disk never makes a reading be judged twice.
 */
#ifndef RECORDER_BATCH_H
#define RECORDER_BATCH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/rc.h"
#include "recorder/live.h"
#include "recorder/roster.h"
#include "store/store.h"

enum {
    BATCH_READINGS = 1000
};

struct batch_reading {
    int channel; /* index on the roster */
    bool late;
    uint16_t flags;
    int32_t value;
    int64_t t_s;
};

struct batch_derived {
    int zone;
    enum quantity q;
    int32_t value;
    int64_t t_s;
};

/* A gap that begins in this batch, ends in it, or both. */
struct batch_gap {
    int channel;
    bool begins;
    int64_t id;           /* of the store: given for one that ends, found for one that begins */
    int64_t from_s, to_s; /* to_s 0: it lasts */
    enum gap_reason reason;
    uint8_t detail;
    bool forget; /* the open one turned out to be empty */
};

struct batch_alarm {
    size_t limit;
    struct store_alarm alarm; /* its limit name is borrowed from the site */
    struct store_alarm_event event;
    char person[64], reason[128];
    bool fresh; /* begins a new occurrence */
};

struct batch {
    struct batch_reading readings[BATCH_READINGS];
    size_t reading_count;
    struct batch_derived *derived; /* owned */
    size_t derived_count, derived_cap;
    struct batch_gap *gaps; /* owned */
    size_t gap_count, gap_cap;
    struct batch_alarm *alarms; /* owned */
    size_t alarm_count, alarm_cap;
    int64_t clock_step_ms, clock_step_s; /* 0: none */
    int64_t received_s;                  /* when the batch was drained */
    int64_t late_day; /* the day in whose MANIFEST late readings are listed */
};

/* Takes the room that a batch usually needs, so that a transition or a gap is not lost where
 * memory runs out later. */
MUST_USE enum rc batch_reserve(struct batch *b);
void batch_free(struct batch *b);
void batch_clear(struct batch *b);
bool batch_empty(const struct batch *b);

/* The three below return a zeroed place to fill in, or NULL when memory ran out. */
struct batch_derived *batch_derived_add(struct batch *b);
struct batch_gap *batch_gap_add(struct batch *b);
struct batch_alarm *batch_alarm_add(struct batch *b);

/* Writes it in one transaction and commits. New ids come back in gaps[].id and
 * alarms[].alarm.occurrence. */
MUST_USE enum rc batch_write(struct batch *b, const struct roster *roster, struct store *store);

#endif
