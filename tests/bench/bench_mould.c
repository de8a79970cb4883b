/* bench_mould.c - mould index over ten years of hours, growing in every one of them, against the
 * exp and log calls that its equations ask for and nothing else.
 *
 *   bench_mould -> project, baseline, ratio, bar; exit status 1 if the steps are beyond the bar
 *
 * The series does more than the index: it checks every sample, tells gaps from data and counts the
 * hours at or above 65, 75 and 80 %. It is shown against the same bar.
 */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <time.h>

#include "stillroom/mould_run.h"

#define HOURS 87660
#define ROUNDS 15
#define BAR 2.0

static int64_t t_s[HOURS];
static double t_c[HOURS], rh_pct[HOURS];

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Days and years of a damp cellar, always above the critical humidity of sensitive materials. */
static void fill(void)
{
    const double turn = 6.283185307179586 / 24;

    for (int i = 0; i < HOURS; i++) {
        t_s[i] = INT64_C(3600) * i;
        t_c[i] = 16 + 3 * sin(turn * i) + 4 * sin(turn / 365.25 * i);
        rh_pct[i] = 92 + 2 * cos(turn * i) + 3 * cos(turn / 365.25 * i);
    }
}

/* Two logarithms and the exponential of the weeks, and the exponential of the slowing, an hour. */
static double calls_alone(void)
{
    double sum = 0;

    for (int i = 0; i < HOURS; i++)
        sum +=
            exp(66.02 - 0.68 * log(t_c[i]) - 13.9 * log(rh_pct[i])) + exp(2.3 * (1e-6 * i - 3));
    return sum;
}

/* The index begins again from none before it nears its limit, where growth would cost less. */
static enum sr_rc stepped(double *index)
{
    struct sr_mould_class c;
    struct sr_mould_state state = {0};

    enum sr_rc rc = sr_mould_class_get(SR_MOULD_SENSITIVE, &c);
    for (int i = 0; rc == SR_OK && i < HOURS; i++) {
        if (state.index > 0.9)
            state.index = 0;
        rc = sr_mould_step(&c, SR_MOULD_DECLINE_LOW, t_c[i], rh_pct[i], 1, &state);
        if (state.dry_h > 0)
            return SR_RANGE; /* it must have grown */
    }
    *index = state.index;
    return rc;
}

static enum sr_rc as_series(double *index)
{
    const struct sr_mould_state none = {0};
    struct sr_mould_class c;
    struct sr_mould_run run;

    enum sr_rc rc = sr_mould_class_get(SR_MOULD_SENSITIVE, &c);
    c.k1_start = c.k1_grown = 1e-3; /* never near its limit in ten years */
    if (rc == SR_OK)
        rc = sr_mould_run_begin(&c, SR_MOULD_DECLINE_LOW, 3600, &none, &none, &run);
    if (rc == SR_OK)
        rc = sr_mould_run_series(&run, &(struct sr_air_series){t_s, t_c, rh_pct, HOURS, 3600});
    *index = run.low.index;
    return rc;
}

static double report(const char *what, double took_s, double calls_s)
{
    const double ratio = took_s / calls_s;

    printf("mould index, %s, %d h: project %.3f ms, exp and log alone %.3f ms, ratio %.2f, "
           "bar %.1f\n",
           what, HOURS, 1e3 * took_s, 1e3 * calls_s, ratio, BAR);
    return ratio;
}

int main(void)
{
    double calls_s = 1e9, steps_s = 1e9, series_s = 1e9, sum = 0, index;

    fill();
    for (int round = 0; round < ROUNDS; round++) {
        double begin_s = now_s();
        sum += calls_alone();
        calls_s = fmin(calls_s, now_s() - begin_s);
        begin_s = now_s();
        if (stepped(&index) != SR_OK)
            return 1;
        steps_s = fmin(steps_s, now_s() - begin_s);
        sum += index;
        begin_s = now_s();
        if (as_series(&index) != SR_OK)
            return 1;
        series_s = fmin(series_s, now_s() - begin_s);
        sum += index;
    }
    if (!isfinite(sum)) /* and so nothing above may be left out */
        return 1;
    report("as a series with hours and gaps", series_s, calls_s);
    return report("by steps", steps_s, calls_s) <= BAR ? 0 : 1;
}
