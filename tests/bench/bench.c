/* bench.c - see bench.h. */
#define _GNU_SOURCE /* mkdtemp */
#include "bench/bench.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "base/log.h"

bool house_make(struct house *h, int instruments, int every_s, int64_t start_s)
{
    *h = (struct house){.instruments = instruments,
                        .every_s = every_s,
                        .slots_a_step = instruments < 500 ? 500 / instruments : 1,
                        .now = {.mono_ms = 1, .utc_ms = start_s * 1000}};
    const char *base = getenv("BENCH_FOLDER"); /* a real disk, where /tmp is none */
    snprintf(h->folder, sizeof h->folder, "%.32s/stillroom-bench-XXXXXX",
             base == NULL ? "/tmp" : base);
    if (mkdtemp(h->folder) == NULL)
        return false;
    snprintf(h->db, sizeof h->db, "%s/stillroom.db", h->folder);
    struct buf text = {0}, mistakes = {0};
    buf_printf(&text,
               "[studio]\nname = Bench\ntimezone = UTC\nclock = trusted\n"
               "[store]\npath = %s\n[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
               "[map air]\nread = temperature input 0 int16 x0.1\n"
               "read = humidity input 1 uint16 x0.1\n",
               h->db);
    for (int i = 0; i < instruments; i++)
        buf_printf(&text,
                   "[zone z%d]\ntitle = Zone %d\npurpose = store\n"
                   "[instrument i%d]\nbus = b\nunit = %d\nserial = %d\nevery = %d s\n"
                   "zone = z%d\nmap = air\n",
                   i, i, i, 1 + i % 247, i, every_s, i);
    enum rc rc = site_parse("bench.ini", text.data, text.len, &mistakes, &h->site);
    if (rc != RC_OK)
        fprintf(stderr, "%s\n", mistakes.data == NULL ? "?" : mistakes.data);
    buf_free(&text);
    buf_free(&mistakes);
    log_setup(LOG_LEVEL_ERR);
    struct recorder_cfg cfg = {.site = h->site, .commit_ms = 6 * 3600 * 1000};
    return rc == RC_OK && recorder_open(&cfg, h->now, &h->recorder) == RC_OK;
}

void house_remove(struct house *h)
{
    char command[128];
    recorder_close(h->recorder, h->now);
    site_free(h->site);
    snprintf(command, sizeof command, "rm -rf '%s'", h->folder);
    if (system(command) != 0)
        fprintf(stderr, "%s was not removed\n", h->folder);
}

/* Tenths, as transmitters give them: slow swings, and the last digit's noise. */
void house_air(int instrument, int64_t t_s, int32_t *temperature, int32_t *humidity)
{
    double day = (double)(t_s % 86400) / 86400 * 6.283185307;
    double days = (double)t_s / 86400;
    uint32_t noise = (uint32_t)(t_s / 10 * 2654435761U) ^ (uint32_t)instrument * 40503U;
    noise ^= noise >> 13;
    double t = 19 + 1.2 * sin(day + instrument) + 1.5 * sin(days / 3.1 + instrument);
    double rh = 52 + 3 * sin(day + 1) + 6 * sin(days / 5.3 + 2 * instrument);
    *temperature = (int32_t)lround(t * 10 + (noise % 8 == 0)) * 10;
    *humidity = (int32_t)lround(rh * 10 + (noise % 3)) * 10;
}

int64_t house_record(struct house *h, int64_t from_s, int64_t to_s)
{
    struct sink *sink = recorder_sink(h->recorder);
    int64_t readings = 0;
    int slot = 0;
    for (int64_t t_s = from_s; t_s < to_s; t_s += h->every_s) {
        h->now.mono_ms += t_s * 1000 - h->now.utc_ms;
        h->now.utc_ms = t_s * 1000;
        for (int i = 0; i < h->instruments; i++) {
            struct reading r[2] = {{.t_s = t_s}, {.t_s = t_s}};
            for (size_t k = 0; k < 2; k++)
                r[k].channel = recorder_channel(h->recorder, (size_t)i, k);
            house_air(i, t_s, &r[0].value, &r[1].value);
            sink->put(sink, r, 2);
            readings += 2;
        }
        if (++slot % h->slots_a_step == 0 || t_s + h->every_s >= to_s)
            recorder_step(h->recorder, h->now);
    }
    return readings;
}

static double seconds_of(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

double bench_seconds(void)
{
    return seconds_of(CLOCK_MONOTONIC);
}

double bench_cpu_seconds(void)
{
    return seconds_of(CLOCK_PROCESS_CPUTIME_ID);
}

int64_t bench_written(void)
{
    FILE *f = fopen("/proc/self/io", "re");
    if (f == NULL)
        return -1;
    char line[80];
    long long bytes = -1;
    while (fgets(line, sizeof line, f) != NULL)
        if (sscanf(line, "write_bytes: %lld", &bytes) == 1)
            break;
    fclose(f);
    return bytes;
}

int64_t bench_size(const char *path)
{
    struct stat st;
    return stat(path, &st) == 0 ? (int64_t)st.st_size : -1;
}

void bench_row(const char *work, double project, double baseline, const char *unit,
               double ratio, double bar, bool more_is_better)
{
    bool met = more_is_better ? ratio >= bar : ratio <= bar;
    printf("%-44s project %12.2f  baseline %12.2f %-12s ratio %8.3f  bar %s %g  %s\n", work,
           project, baseline, unit, ratio, more_is_better ? ">=" : "<=", bar,
           met ? "met" : "NOT MET");
    fflush(stdout);
}
