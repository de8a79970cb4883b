/* helper_years.c - a database of years behind it for the benchmarks: two channels of the given
 * site whole, at ten minutes, through the recorder.  Arguments: site file, years. */
#include <stdio.h>
#include <stdlib.h>

#include "base/log.h"
#include "recorder/recorder.h"

enum {
    DAY_S = 86400,
    SLOT_S = 600
};

static void put(struct recorder *r, int64_t t_s)
{
    struct sink *sink = recorder_sink(r);
    struct reading both[2] = {{.t_s = t_s}, {.t_s = t_s}};
    both[0].channel = recorder_channel(r, 0, 0);
    both[0].value = (int32_t)(1900 + t_s / SLOT_S * 7 % 300);
    both[1].channel = recorder_channel(r, 0, 1);
    both[1].value = (int32_t)(5000 + t_s / SLOT_S * 13 % 900);
    sink->put(sink, both, 2);
}

int main(int argc, char **argv)
{
    struct buf mistakes = {0};
    struct site *site;
    if (argc != 3 || site_read(argv[1], &mistakes, &site) != RC_OK) {
        fprintf(stderr, "helper_years SITE YEARS\n%s",
                mistakes.data == NULL ? "" : mistakes.data);
        return 2;
    }
    log_setup(LOG_LEVEL_ERR);
    struct tick now = clock_now();
    int64_t end_s = clock_utc_s(now) - clock_utc_s(now) % SLOT_S;
    int64_t begin_s = end_s - strtol(argv[2], NULL, 10) * 365 * DAY_S;
    struct recorder_cfg cfg = {.site = site, .commit_ms = DAY_S * 1000};
    struct recorder *r;
    now = (struct tick){.mono_ms = 1, .utc_ms = begin_s * 1000};
    if (recorder_open(&cfg, now, &r) != RC_OK)
        return 4;
    for (int64_t t_s = begin_s; t_s < end_s; t_s += SLOT_S) {
        put(r, t_s);
        now.utc_ms += SLOT_S * 1000;
        now.mono_ms += SLOT_S * 1000;
        if (t_s % (DAY_S / 4) < SLOT_S)
            recorder_step(r, now);
    }
    recorder_close(r, now);
    site_free(site);
    return 0;
}
