/* bench_band.c - time of one EN 15757 band of hourly values read from a file of doubles.
 *
 *   bench_band FILE ROUNDS -> best seconds a round, P7, P93
 *
 * bench_band.py writes the file and runs pandas on the same numbers in the same run.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "stillroom/seasonal.h"

#define HOURS_MAX 1000000

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

int main(int argc, char **argv)
{
    static double v[HOURS_MAX], mean[HOURS_MAX], work[HOURS_MAX];
    FILE *f = argc == 3 ? fopen(argv[1], "rb") : NULL;
    if (f == NULL) {
        fprintf(stderr, "usage: bench_band FILE ROUNDS\n");
        return 2;
    }
    size_t n = fread(v, sizeof *v, HOURS_MAX, f);
    fclose(f);
    double best_s = 1e9;
    struct sr_seasonal_band band = {0};
    for (int round = atoi(argv[2]); round > 0; round--) {
        double begin_s = now_s();
        enum sr_rc rc = sr_seasonal_band(v, n, 3600, &sr_seasonal_en15757, mean, work, &band);
        double took_s = now_s() - begin_s;
        if (rc != SR_OK)
            return 1;
        best_s = took_s < best_s ? took_s : best_s;
    }
    printf("%.9f %.17g %.17g\n", best_s, band.fluct_low, band.fluct_high);
    return 0;
}
