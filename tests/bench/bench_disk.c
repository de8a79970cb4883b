/* bench_disk.c - bytes written to the disk in a day of steady recording, commits at most ten
 * seconds after a reading. Simulated time, real writes: run it with BENCH_FOLDER on a real disk.
 * Buses poll on the grid of UTC, all in one slot of the minute; the rows "spread" put a sixth of
 * the instruments into each ten seconds, so that every commit is a small one.  Argument: "short"
 * for an hour scaled up, which leaves the closing of the day out. */
#include <stdio.h>
#include <string.h>

#include "bench/bench.h"

enum {
    DAY_S = 86400,
    SLICE_S = 10,
    SLICES = 6
};
static const int64_t start_s = 1767225600;

static void record(struct house *h, bool spread, int64_t from_s, int64_t to_s)
{
    struct sink *sink = recorder_sink(h->recorder);
    for (int64_t t_s = from_s; t_s < to_s; t_s += SLICE_S) {
        h->now.mono_ms += t_s * 1000 - h->now.utc_ms;
        h->now.utc_ms = t_s * 1000;
        int slice = (int)(t_s / SLICE_S % SLICES);
        for (int i = spread ? slice : 0; i < h->instruments && (spread || slice == 0);
             i += spread ? SLICES : 1) {
            struct reading r[2] = {{.t_s = t_s}, {.t_s = t_s}};
            for (size_t k = 0; k < 2; k++)
                r[k].channel = recorder_channel(h->recorder, (size_t)i, k);
            house_air(i, t_s, &r[0].value, &r[1].value);
            sink->put(sink, r, 2);
        }
        recorder_step(h->recorder, h->now);
        recorder_step(h->recorder, (struct tick){h->now.mono_ms + 9999, h->now.utc_ms + 9999});
        if (recorder_flush(h->recorder, h->now) != RC_OK)
            return;
    }
}

static void measure(int channels, bool spread, double bar_mb, bool brief)
{
    struct house h;
    char work[64];
    if (!house_make(&h, channels / 2, 60, start_s))
        return;
    int64_t span_s = brief ? 3600 : DAY_S + 300;
    int64_t before = bench_written();
    record(&h, spread, start_s, start_s + span_s);
    double mb = (double)(bench_written() - before) / 1e6 * (brief ? 24 : 1);
    snprintf(work, sizeof work, "bytes written a day, %d channels%s", channels,
             spread ? ", spread" : "");
    bench_row(work, mb, bar_mb, "MB", mb / bar_mb, 1.0, false);
    house_remove(&h);
}

int main(int argc, char **argv)
{
    bool brief = argc > 1 && strcmp(argv[1], "short") == 0;
    for (int spread = 0; spread < 2; spread++) {
        measure(200, spread, 110, brief);
        measure(12, spread, 35, brief);
    }
    return 0;
}
