/* control.c - see control.h. */
#include "stillroom/control.h"

#include <math.h>

#include "stillroom/stats.h"

#define NONE ((double)NAN)
#define YEAR_H 8760

const char sr_control_caveat[] =
    "Describes this room's past. ASHRAE's limits are quoted from memory: verify them before "
    "they enter a contract. Types C and D also ask that humidity never stays high long enough "
    "for mould; see the mould figures.";

const struct sr_control_type sr_control_types[SR_CONTROL_TYPES] = {
    {"AA", 5.0, 2.0, 0.0, 0.0, 5.0, 5.0, 35.0, 65.0, 10.0, 25.0},
    {"A1", 5.0, 2.0, 10.0, 10.0, 10.0, 5.0, 35.0, 65.0, 10.0, 25.0},
    {"A2", 10.0, 2.0, 0.0, 0.0, 10.0, 5.0, 35.0, 65.0, 10.0, 25.0},
    {"B", 10.0, 5.0, 10.0, 10.0, 20.0, 10.0, 30.0, 70.0, NONE, 30.0},
    {"C", NONE, NONE, NONE, NONE, NONE, NONE, 25.0, 75.0, NONE, 40.0},
    {"D", NONE, NONE, NONE, NONE, NONE, NONE, NONE, 75.0, NONE, NONE},
};

static enum sr_rc spread_of(double v[], size_t n, struct sr_control_spread *out)
{
    struct sr_control_spread s;
    enum sr_rc rc = sr_stats_percentile(v, n, 0.0, &s.min);
    if (rc == SR_OK)
        rc = sr_stats_percentile(v, n, 1.0, &s.p1);
    if (rc == SR_OK)
        rc = sr_stats_percentile(v, n, 99.0, &s.p99);
    if (rc == SR_OK)
        rc = sr_stats_percentile(v, n, 100.0, &s.max);
    if (rc == SR_OK)
        *out = s;
    return rc;
}

/* The last year of hours that have a value and a seasonal mean. */
static size_t first_hour(const double v[], const double mean[], size_t n)
{
    size_t end = n;
    while (end > 0 && (isnan(v[end - 1]) || isnan(mean[end - 1])))
        end--;
    return end > YEAR_H ? end - YEAR_H : 0;
}

static enum sr_rc measure(const double v[], const double mean[], size_t n, double work[],
                          struct sr_control_quantity *out)
{
    struct sr_control_quantity q = {0};
    double sum = 0.0;
    size_t begin = first_hour(v, mean, n);
    for (size_t i = begin; i < n; i++) {
        if (isnan(v[i]) || isnan(mean[i]))
            continue;
        work[q.hours++] = v[i] - mean[i];
        sum += v[i];
    }
    if (q.hours == 0)
        return SR_THIN;
    q.annual_mean = sum / (double)q.hours;
    enum sr_rc rc = spread_of(work, q.hours, &q.short_term);
    size_t k = 0;
    for (size_t i = begin; i < n; i++)
        if (!isnan(v[i]) && !isnan(mean[i]))
            work[k++] = mean[i] - q.annual_mean;
    if (rc == SR_OK)
        rc = spread_of(work, k, &q.seasonal);
    k = 0;
    for (size_t i = begin; i < n; i++)
        if (!isnan(v[i]) && !isnan(mean[i]))
            work[k++] = v[i] - q.annual_mean;
    if (rc == SR_OK)
        rc = spread_of(work, k, &q.departure);
    k = 0;
    for (size_t i = begin; i < n; i++)
        if (!isnan(v[i]))
            work[k++] = v[i];
    if (rc == SR_OK)
        rc = spread_of(work, k, &q.outer);
    if (rc == SR_OK)
        *out = q;
    return rc;
}

static bool within(const struct sr_control_spread *s, bool all, double low, double high)
{
    double least = all ? s->min : s->p1;
    double most = all ? s->max : s->p99;
    return !(least < low) && !(most > high); /* true for a NaN limit */
}

static unsigned missed(const struct sr_control_type *type, const struct sr_control *c, bool all)
{
    unsigned out = 0;
    bool drift = !(type->rh_season_down_pct <= 0.0 && type->rh_season_up_pct <= 0.0);
    const struct sr_control_spread *short_term = drift ? &c->rh.short_term : &c->rh.departure;
    if (!within(short_term, all, -type->rh_short_pct, type->rh_short_pct))
        out |= SR_CONTROL_RH_SHORT;
    if (drift &&
        !within(&c->rh.seasonal, all, -type->rh_season_down_pct, type->rh_season_up_pct))
        out |= SR_CONTROL_RH_SEASON;
    if (!within(&c->rh.outer, true, type->rh_min_pct, type->rh_max_pct))
        out |= SR_CONTROL_RH_OUTER;
    if (!within(&c->t.short_term, all, -type->t_short_k, type->t_short_k))
        out |= SR_CONTROL_T_SHORT;
    if (!within(&c->t.seasonal, all, -type->t_season_down_k, type->t_season_up_k))
        out |= SR_CONTROL_T_SEASON;
    if (!within(&c->t.outer, true, type->t_min_c, type->t_max_c))
        out |= SR_CONTROL_T_OUTER;
    return out;
}

static void judge(struct sr_control *c)
{
    c->best_all = -1;
    c->best_p = -1;
    for (int i = SR_CONTROL_TYPES - 1; i >= 0; i--) {
        c->missed_all[i] = missed(&sr_control_types[i], c, true);
        c->missed_p[i] = missed(&sr_control_types[i], c, false);
        if (c->missed_all[i] == 0)
            c->best_all = i;
        if (c->missed_p[i] == 0)
            c->best_p = i;
    }
}

enum sr_rc sr_control_assess(const double rh_pct[], const double t_c[], size_t n,
                             int64_t every_s, double mean[], double work[],
                             struct sr_control *out)
{
    struct sr_control c = {0};
    struct sr_seasonal_band band;
    enum sr_rc rc = sr_seasonal_band(t_c, n, every_s, &sr_seasonal_en15757, mean, work, &band);
    if (rc == SR_OK)
        rc = measure(t_c, mean, n, work, &c.t);
    if (rc != SR_OK)
        return rc;
    c.provisional = band.provisional;
    size_t hot = 0;
    size_t hours = 0;
    for (size_t i = first_hour(t_c, mean, n); i < n; i++) {
        hot += t_c[i] > 30.0;
        hours += isnan(t_c[i]) ? 0 : 1;
    }
    c.above_30_pct = 100.0 * (double)hot / (double)hours;
    rc = sr_seasonal_band(rh_pct, n, every_s, &sr_seasonal_en15757, mean, work, &band);
    if (rc == SR_OK)
        rc = measure(rh_pct, mean, n, work, &c.rh);
    if (rc != SR_OK)
        return rc;
    c.provisional |= band.provisional;
    judge(&c);
    *out = c;
    return SR_OK;
}
