/* busrun.h - a source on one bus against an unruly device, and what it put.
 *
 * Each unit has two channels: 2n reads register 0 (the number of the request), 2n + 1 register 1
 * (the second of the request), n counting the units from 0.
 */
#ifndef SUPPORT_BUSRUN_H
#define SUPPORT_BUSRUN_H

#include "source/source.h"

enum {
    BUSRUN_UNITS = 32,
    BUSRUN_MAX = 8192
};

struct busrun;

/* Starts a source for units 1 to `units`, all at `every_s`. */
struct busrun *busrun_start(enum site_bus_kind kind, const char *address, int units,
                            int every_s, int response_ms);

/* The same with other reads than the two. */
struct busrun *busrun_start_reads(enum site_bus_kind kind, const char *address, int units,
                                  int every_s, int response_ms, const struct site_read *reads,
                                  size_t read_count);

/* Waits until `slots` slots of the first unit have been put since the start; false if that takes
 * far too long. */
bool busrun_wait(struct busrun *run, int slots);

/* Stops the source; the readings stay until busrun_free. */
void busrun_stop(struct busrun *run);
void busrun_free(struct busrun *run);

struct source *busrun_source(struct busrun *run);

/* The readings of one channel in the order they came; returns how many, at most `max`. */
size_t busrun_readings(struct busrun *run, uint32_t channel, struct reading *out, size_t max);

/* How many readings of a channel are gaps for this reason (values: GAP_NONE). */
unsigned busrun_count(struct busrun *run, uint32_t channel, enum gap_reason reason);

/* NULL if all is well, else what is wrong: each channel has one reading for each slot, one
 * after the other; no value is older than its slot; no two readings are of one request. */
const char *busrun_fault(struct busrun *run);

#endif
