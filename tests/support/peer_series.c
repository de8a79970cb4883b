/* peer_series.c - answers for a script that compares with pandas and numpy.
 *
 *   peer_series percentile P    numbers on stdin -> their P-th percentile
 *   peer_series mean HALF PCT   hourly values ("nan" for none) -> centred means, one a line
 *   peer_series band            hourly values -> evaluated, P7, P93, outside raw, outside band
 *   peer_series range HOURS     hourly values -> range of the closed window ending at each
 */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stillroom/seasonal.h"
#include "stillroom/stats.h"
#include "stillroom/swing.h"

static double v[1 << 20], mean[1 << 20], work[1 << 20];

static size_t read_values(void)
{
    size_t n = 0;
    char line[64];
    while (n < sizeof v / sizeof *v && fgets(line, sizeof line, stdin) != NULL)
        v[n++] = strtod(line, NULL);
    return n;
}

static void print_all(const double x[], size_t n)
{
    for (size_t i = 0; i < n; i++)
        printf("%.17g\n", x[i]);
}

static enum sr_rc ranges(size_t n, int64_t hours)
{
    static struct sr_swing_slot slots[1024];
    struct sr_swing_window w;
    enum sr_rc rc = sr_swing_window_begin(hours * 3600, 3600, 75.0, slots, 1024, &w);
    for (size_t i = 0; rc == SR_OK && i < n; i++) {
        struct sr_swing_range r;
        rc = sr_swing_window_push(&w, (int64_t)i * 3600, v[i], &r);
        mean[i] = rc == SR_OK ? r.range : (double)NAN;
        if (rc == SR_THIN)
            rc = SR_OK;
    }
    print_all(mean, rc == SR_OK ? n : 0);
    return rc;
}

static enum sr_rc answer(int argc, char **argv, size_t n)
{
    enum sr_rc rc = SR_RANGE;
    if (argc == 3 && strcmp(argv[1], "percentile") == 0) {
        double p;
        rc = sr_stats_percentile(v, n, strtod(argv[2], NULL), &p);
        print_all(&p, rc == SR_OK ? 1 : 0);
    } else if (argc == 4 && strcmp(argv[1], "mean") == 0) {
        rc = sr_seasonal_mean(v, n, atoi(argv[2]), strtod(argv[3], NULL), mean);
        print_all(mean, rc == SR_OK ? n : 0);
    } else if (argc == 2 && strcmp(argv[1], "band") == 0) {
        struct sr_seasonal_band b = {0};
        rc = sr_seasonal_band(v, n, 3600, &sr_seasonal_en15757, mean, work, &b);
        printf("%zu\n%.17g\n%.17g\n%zu\n%zu\n", b.evaluated, b.fluct_low, b.fluct_high,
               b.outside_raw, b.outside_band);
    } else if (argc == 3 && strcmp(argv[1], "range") == 0) {
        rc = ranges(n, strtoll(argv[2], NULL, 10));
    }
    return rc;
}

int main(int argc, char **argv)
{
    enum sr_rc rc = answer(argc, argv, read_values());
    if (rc != SR_OK)
        fprintf(stderr, "peer_series: %s\n", sr_rc_text(rc));
    return rc == SR_OK ? 0 : 1;
}
