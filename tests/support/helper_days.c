/* helper_days.c - days of a small studio through the recorder on simulated time.
 *
 *     helper_days SITE START_S MINUTES [--list] [--kill N | --kill-closing N]
 *
 * Puts four readings a minute from START_S on, the same for the same minute in every run, into
 * the store of the site file tests/support/days.ini. --list prints each as "channel t value".
 * --kill ends the process by SIGKILL before its N-th operation on the database's files,
 * --kill-closing before the N-th of the step that closes the first day. On stderr it prints how
 * many operations closing a day took, and how many there were in all.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recorder/recorder.h"
#include "support/powercut.h"

struct run {
    struct site *site;
    struct recorder *recorder;
    struct tick now;
    bool list;
    int64_t kill_closing; /* -1: not */
};

static int put(struct run *run, size_t instrument, size_t read, int64_t t_s, double value)
{
    struct reading r = {.channel = recorder_channel(run->recorder, instrument, read),
                        .t_s = t_s};
    if (!quantity_encode(run->site->instruments[instrument].reads[read].quantity, value,
                         &r.value))
        return -1;
    struct sink *sink = recorder_sink(run->recorder);
    sink->put(sink, &r, 1);
    if (run->list)
        printf("%u %" PRId64 " %d\n", (unsigned)r.channel, t_s, (int)r.value);
    return 0;
}

/* A damp room with a daily swing; no two minutes alike. */
static int put_minute(struct run *run, int64_t t_s)
{
    int64_t minute = t_s / 60;
    double humidity =
        58 + 14 * ((double)(minute % 1440) / 1440) + (double)(minute * 7919 % 100) / 100;
    return put(run, 0, 0, t_s, 15 + (double)(minute * 31 % 200) / 100) |
           put(run, 0, 1, t_s, humidity) |
           put(run, 1, 0, t_s, 9 + (double)(minute * 17 % 100) / 100) |
           put(run, 1, 1, t_s, t_s / 3600 % 24 == 3);
}

static void step_at(struct run *run, int64_t utc_ms)
{
    struct live_status before, after;
    run->now.mono_ms += utc_ms - run->now.utc_ms;
    run->now.utc_ms = utc_ms;
    live_status(recorder_live(run->recorder), &before);
    if (run->kill_closing >= 0 && utc_ms / 1000 >= (before.open_day + 1) * CLOCK_DAY_S + 60) {
        powercut_arm(POWERCUT_KILL, run->kill_closing, false);
        run->kill_closing = -1;
    }
    int64_t first = powercut_count();
    recorder_step(run->recorder, run->now);
    live_status(recorder_live(run->recorder), &after);
    if (after.open_day != before.open_day)
        fprintf(stderr, "closing %" PRId64 "\n", powercut_count() - first);
}

static int run_minutes(struct run *run, int64_t minutes)
{
    struct recorder_cfg cfg = {.site = run->site};
    enum rc rc = recorder_open(&cfg, run->now, &run->recorder);
    if (rc != RC_OK) {
        fprintf(stderr, "helper_days: %s\n", rc_text(rc));
        return 4;
    }
    int bad = 0;
    int64_t start_ms = run->now.utc_ms;
    for (int64_t m = 0; bad == 0 && m < minutes; m++) {
        int64_t t_ms = start_ms + 60000 * m;
        step_at(run, t_ms);
        bad = put_minute(run, t_ms / 1000);
        step_at(run, t_ms + 500);
        step_at(run, t_ms + 45000);
    }
    recorder_close(run->recorder, run->now);
    return bad;
}

int main(int argc, char **argv)
{
    if (argc < 4)
        return 2;
    struct run run = {.now = {.mono_ms = 1000, .utc_ms = 1000 * strtoll(argv[2], NULL, 10)},
                      .kill_closing = -1};
    int64_t kill_at = -1;
    for (int i = 4; i < argc; i++) {
        if (strcmp(argv[i], "--list") == 0)
            run.list = true;
        else if (strcmp(argv[i], "--kill") == 0 && i + 1 < argc)
            kill_at = strtoll(argv[++i], NULL, 10);
        else if (strcmp(argv[i], "--kill-closing") == 0 && i + 1 < argc)
            run.kill_closing = strtoll(argv[++i], NULL, 10);
    }
    powercut_install();
    powercut_arm(kill_at < 0 ? POWERCUT_NOTHING : POWERCUT_KILL, kill_at, false);
    struct buf mistakes = {0};
    enum rc rc = site_read(argv[1], &mistakes, &run.site);
    if (rc != RC_OK)
        fprintf(stderr, "%s", mistakes.data != NULL ? mistakes.data : rc_text(rc));
    int status = rc == RC_OK ? run_minutes(&run, strtoll(argv[3], NULL, 10)) : 3;
    if (status == 0)
        fprintf(stderr, "operations %" PRId64 "\n", powercut_count());
    buf_free(&mistakes);
    site_free(run.site);
    return status;
}
