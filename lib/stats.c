/* stats.c - see stats.h; the percentile is in percentile.c. */
#include "stillroom/stats.h"

#include <math.h>

enum sr_rc sr_stats_begin(int64_t from_s, int64_t to_s, int64_t every_s,
                          struct sr_stats_run *out)
{
    if (from_s < -SR_SERIES_T_MAX_S || to_s > SR_SERIES_T_MAX_S || from_s >= to_s ||
        every_s < 1 || every_s > SR_SERIES_EVERY_MAX_S)
        return SR_RANGE;
    *out = (struct sr_stats_run){.from_s = from_s, .to_s = to_s, .every_s = every_s};
    return SR_OK;
}

/* Counts the last reading for the time until end_s. The mean is updated rather than summed:
 * a constant series then has exactly its own value as mean, however it is cut. */
static void account(struct sr_stats_run *run, int64_t end_s)
{
    int64_t start_s = run->last_t_s > run->from_s ? run->last_t_s : run->from_s;
    if (end_s > run->to_s)
        end_s = run->to_s;
    if (isnan(run->last_v) || end_s <= start_s)
        return;
    double v = run->last_v;
    double weight = (double)(end_s - start_s);
    run->covered_s += end_s - start_s;
    double off = v - run->mean;
    run->mean += off * (weight / (double)run->covered_s);
    run->m2 += weight * off * (v - run->mean);
    run->min = run->n == 0 || v < run->min ? v : run->min;
    run->max = run->n == 0 || v > run->max ? v : run->max;
    run->n++;
}

enum sr_rc sr_stats_add(struct sr_stats_run *run, int64_t t_s, double v)
{
    if (t_s < -SR_SERIES_T_MAX_S || t_s > SR_SERIES_T_MAX_S || fabs(v) > SR_SERIES_V_MAX)
        return SR_RANGE;
    if (run->started) {
        if (t_s <= run->last_t_s)
            return SR_ORDER;
        int64_t end_s = run->last_t_s + sr_series_hold_s(run->every_s);
        account(run, t_s < end_s ? t_s : end_s);
    }
    run->started = true;
    run->last_t_s = t_s;
    run->last_v = v;
    return SR_OK;
}

enum sr_rc sr_stats_so_far(const struct sr_stats_run *run, struct sr_stats *out)
{
    struct sr_stats_run end = *run;
    if (end.started)
        account(&end, end.last_t_s + sr_series_hold_s(end.every_s));
    if (end.n == 0)
        return SR_THIN;
    int64_t span_s = end.to_s - end.from_s;
    double coverage_pct = 100.0 * (double)end.covered_s / (double)span_s;
    *out = (struct sr_stats){.n = end.n,
                             .span_s = span_s,
                             .covered_s = end.covered_s,
                             .coverage_pct = coverage_pct,
                             .enough = coverage_pct >= SR_STATS_COVERAGE_MIN_PCT,
                             .mean = end.mean,
                             .min = end.min,
                             .max = end.max,
                             .sd = sqrt(fmax(end.m2, 0.0) / (double)end.covered_s)};
    return SR_OK;
}

enum sr_rc sr_stats_over(const struct sr_series *s, int64_t from_s, int64_t to_s,
                         struct sr_stats *out)
{
    enum sr_rc rc = sr_series_check(s);
    if (rc != SR_OK)
        return rc;
    struct sr_stats_run run;
    rc = sr_stats_begin(from_s, to_s, s->every_s, &run);
    for (size_t i = 0; rc == SR_OK && i < s->n; i++)
        rc = sr_stats_add(&run, s->t_s[i], s->v[i]);
    return rc == SR_OK ? sr_stats_so_far(&run, out) : rc;
}

enum sr_rc sr_stats_time_in_range(const struct sr_series *s, int64_t from_s, int64_t to_s,
                                  double low, double high, struct sr_stats_share *out)
{
    enum sr_rc rc = sr_series_check(s);
    if (rc != SR_OK)
        return rc;
    if (!(low <= high) || from_s < -SR_SERIES_T_MAX_S || to_s > SR_SERIES_T_MAX_S ||
        from_s >= to_s)
        return SR_RANGE;
    struct sr_stats_share share = {.span_s = to_s - from_s};
    for (size_t i = 0; i < s->n; i++) {
        int64_t stood_s = sr_series_covered_s(s, i, from_s, to_s);
        share.covered_s += stood_s;
        if (s->v[i] < low)
            share.below_s += stood_s;
        else if (s->v[i] > high)
            share.above_s += stood_s;
        else
            share.inside_s += stood_s;
    }
    if (share.covered_s == 0)
        return SR_THIN;
    share.inside_pct = 100.0 * (double)share.inside_s / (double)share.covered_s;
    share.coverage_pct = 100.0 * (double)share.covered_s / (double)share.span_s;
    share.enough = share.coverage_pct >= SR_STATS_COVERAGE_MIN_PCT;
    *out = share;
    return SR_OK;
}
