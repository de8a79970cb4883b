/* bench.h - what the benchmarks of the recorder share: a house of any size on simulated time,
 * and one line a row: work, project, baseline, ratio, bar. */
#ifndef TESTS_BENCH_BENCH_H
#define TESTS_BENCH_BENCH_H

#include <stdbool.h>
#include <stdint.h>

#include "recorder/recorder.h"
#include "site/site.h"

struct house {
    char folder[64];
    char db[96];
    struct site *site;
    struct recorder *recorder;
    struct tick now;
    int instruments, every_s;
    int slots_a_step; /* how many slots are put before the recorder is let go on */
};

/* A house of so many instruments of temperature and humidity, each in a zone of its own, with
 * the usual limits. Batches are committed when they hold a thousand readings. */
bool house_make(struct house *h, int instruments, int every_s, int64_t start_s);
void house_remove(struct house *h);

/* Records a span of plausible air: one put a slot, one step a slot, as many batches as fill.
 * Returns the readings. */
int64_t house_record(struct house *h, int64_t from_s, int64_t to_s);

/* Plausible air of an instrument at a moment, as it is stored. */
void house_air(int instrument, int64_t t_s, int32_t *temperature, int32_t *humidity);

double bench_seconds(void);

/* Processor seconds of this process: what an answer costs, whatever else the machine does. */
double bench_cpu_seconds(void);

/* Bytes that this process had written to the disk so far; -1 if the kernel does not say. */
int64_t bench_written(void);

/* Size of a file; -1 if it cannot be had. */
int64_t bench_size(const char *path);

/* One row. `more_is_better`: the ratio must be at least the bar, else at most. */
void bench_row(const char *work, double project, double baseline, const char *unit,
               double ratio, double bar, bool more_is_better);

#endif
