/* seasonal.c - see seasonal.h. */
#include "stillroom/seasonal.h"

#include <math.h>

#include "stillroom/stats.h"

#define FIXED 536870912.0 /* 2^29 steps to the unit: 1000 x 2^29 x 8801 hours is below 2^53 */
#define HALF_WINDOW_MAX_H 4400
#define FILL_MAX_H 3 /* project choice */

const char sr_seasonal_caveat[] =
    "Describes this room's past. Fourteen hours in a hundred lie outside the band by "
    "construction; being inside it is no proof of safety, outside it no proof of damage.";
const char sr_seasonal_provisional_caveat[] =
    "Provisional, not EN 15757: the standard asks for at least 13 months of data with at "
    "least one sample an hour.";

const struct sr_seasonal_rules sr_seasonal_en15757 = {
    .half_window_h = 360,
    .coverage_min_pct = 75.0,
    .low_pct = 7.0,
    .high_pct = 93.0,
    .min_band = 10.0,
};

static void fill_short_gaps(double v[], size_t n)
{
    size_t last = 0;
    bool have = false;
    for (size_t i = 0; i < n; i++) {
        if (isnan(v[i]))
            continue;
        size_t empty = have ? i - last - 1 : 0;
        if (empty > 0 && empty <= FILL_MAX_H)
            for (size_t k = 1; k <= empty; k++)
                v[last + k] = v[last] + (v[i] - v[last]) * ((double)k / (double)(empty + 1));
        last = i;
        have = true;
    }
}

enum sr_rc sr_seasonal_hourly(const struct sr_series *s, int64_t first_hour_s, size_t n,
                              double out[])
{
    enum sr_rc rc = sr_series_check(s);
    if (rc != SR_OK)
        return rc;
    if (n == 0 || n > SR_SEASONAL_HOURS_MAX || first_hour_s < -SR_SERIES_T_MAX_S ||
        first_hour_s > SR_SERIES_T_MAX_S)
        return SR_RANGE;
    size_t i = 0;
    while (i < s->n && s->t_s[i] < first_hour_s)
        i++;
    for (size_t h = 0; h < n; h++) {
        int64_t end_s = first_hour_s + (int64_t)(h + 1) * 3600;
        double mean = 0.0;
        double count = 0.0;
        for (; i < s->n && s->t_s[i] < end_s; i++) {
            if (isnan(s->v[i]))
                continue;
            count += 1.0;
            mean += (s->v[i] - mean) / count;
        }
        out[h] = count > 0.0 ? mean : (double)NAN;
    }
    fill_short_gaps(out, n);
    return SR_OK;
}

static enum sr_rc check_hourly(const double hourly[], size_t n)
{
    if (hourly == NULL || n == 0)
        return SR_THIN;
    if (n > SR_SEASONAL_HOURS_MAX)
        return SR_RANGE;
    bool beyond = false;
    for (size_t i = 0; i < n; i++)
        beyond |= fabs(hourly[i]) > SR_SEASONAL_V_MAX;
    return beyond ? SR_RANGE : SR_OK;
}

/* To the nearest whole step. Adding 1.5 x 2^52 leaves no bits for a fraction: it rounds as
 * rint does, in two plain additions. */
static inline double steps(double v)
{
    const double whole = 6755399441055744.0;
    return (v * FIXED + whole) - whole;
}

static double steps_or_0(double v)
{
    return isnan(v) ? 0.0 : steps(v);
}

/* The inverse of so many values, in units of a step; NaN where they are too few. */
static double share_of(int count, double need)
{
    return count > 0 && count >= need ? 1.0 / (count * FIXED) : (double)NAN;
}

/* The sum is of whole steps and stays below 2^53, so it is exact whatever came and went. One
 * test finds a missing value at either end of the window: a gappy record is no slower. */
static void centred_mean(const double hourly[], size_t n, size_t half, double need,
                         double mean[])
{
    size_t window = 2 * half + 1;
    for (size_t i = 0; i < n && (i < half || n < window); i++)
        mean[i] = (double)NAN;
    if (n < window)
        return;
    double sum = 0.0;
    int count = 0;
    for (size_t i = 0; i < window; i++) {
        sum += steps_or_0(hourly[i]);
        count += !isnan(hourly[i]);
    }
    double share = share_of(count, need);
    mean[half] = sum * share;
    for (size_t i = half + 1; i + half < n; i++) {
        double enters = hourly[i + half];
        double leaves = hourly[i - half - 1];
        double change = steps(enters) - steps(leaves);
        if (isnan(change)) {
            change = steps_or_0(enters) - steps_or_0(leaves);
            count += !isnan(enters) - !isnan(leaves);
            share = share_of(count, need);
        }
        sum += change;
        mean[i] = sum * share;
    }
    for (size_t i = n - half; i < n; i++)
        mean[i] = (double)NAN;
}

static bool window_ok(int half_window_h, double coverage_min_pct)
{
    return half_window_h >= 1 && half_window_h <= HALF_WINDOW_MAX_H && coverage_min_pct > 0.0 &&
           coverage_min_pct <= 100.0;
}

/* The hours from the first value to behind the last: empty ones around them are no record. */
struct record {
    size_t first, end;
};

static struct record record_of(const double hourly[], size_t n)
{
    struct record r = {0, n};
    while (r.first < n && isnan(hourly[r.first]))
        r.first++;
    while (r.end > r.first && isnan(hourly[r.end - 1]))
        r.end--;
    return r;
}

enum sr_rc sr_seasonal_mean(const double hourly[], size_t n, int half_window_h,
                            double coverage_min_pct, double mean[])
{
    enum sr_rc rc = check_hourly(hourly, n);
    if (rc != SR_OK)
        return rc;
    if (!window_ok(half_window_h, coverage_min_pct))
        return SR_RANGE;
    double need = coverage_min_pct / 100.0 * (double)(2 * half_window_h + 1);
    struct record r = record_of(hourly, n);
    for (size_t i = 0; i < r.first; i++)
        mean[i] = (double)NAN;
    for (size_t i = r.end; i < n; i++)
        mean[i] = (double)NAN;
    centred_mean(hourly + r.first, r.end - r.first, (size_t)half_window_h, need,
                 mean + r.first);
    return SR_OK;
}

/* Gathers the fluctuations of all evaluable hours into fluct and the plain figures into
 * band; gives their number. */
static size_t fluctuations(const double hourly[], size_t n, const double mean[], double fluct[],
                           struct sr_seasonal_band *band)
{
    size_t count = 0;
    double sum = 0.0;
    double low = (double)INFINITY;
    double high = -(double)INFINITY;
    for (size_t i = 0; i < n; i++) {
        double f = hourly[i] - mean[i];
        bool there = !isnan(f);
        fluct[count] = f; /* overwritten by the next if this hour does not count */
        count += there;
        sum += there ? hourly[i] : 0.0;
        low = mean[i] < low ? mean[i] : low;
        high = mean[i] > high ? mean[i] : high;
    }
    if (count == 0)
        return 0;
    band->hours = n;
    band->evaluated = count;
    band->mean = sum / (double)count;
    band->cycle_low = low;
    band->cycle_high = high;
    return count;
}

static size_t count_below(const double v[], size_t n, double bound)
{
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        count += v[i] < bound;
    return count;
}

static size_t count_above(const double v[], size_t n, double bound)
{
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        count += v[i] > bound;
    return count;
}

/* The two percentiles of the fluctuations, and how many lie beyond them and beyond the band.
 * A percentile call leaves what lies on either side of it on that side: only those few need
 * counting. */
static enum sr_rc bounds(double fluct[], size_t n, const struct sr_seasonal_rules *rules,
                         struct sr_seasonal_band *band)
{
    double widest = rules->min_band;
    enum sr_rc rc = sr_stats_percentile(fluct, n, rules->low_pct, &band->fluct_low);
    if (rc != SR_OK)
        return rc;
    band->widened_low = band->fluct_low > -widest;
    band->band_low = band->widened_low ? -widest : band->fluct_low;
    size_t k = (size_t)((double)(n - 1) * (rules->low_pct / 100.0));
    band->outside_raw = count_below(fluct, k + 1, band->fluct_low);
    band->outside_band = count_below(fluct, k + 1, band->band_low);

    rc = sr_stats_percentile(fluct, n, rules->high_pct, &band->fluct_high);
    if (rc != SR_OK)
        return rc;
    band->widened_high = band->fluct_high < widest;
    band->band_high = band->widened_high ? widest : band->fluct_high;
    k = (size_t)((double)(n - 1) * (rules->high_pct / 100.0));
    band->outside_raw += count_above(fluct + k, n - k, band->fluct_high);
    band->outside_band += count_above(fluct + k, n - k, band->band_high);
    return SR_OK;
}

static unsigned provisional(const double hourly[], size_t n, int64_t every_s,
                            const struct sr_seasonal_rules *rules, size_t evaluated)
{
    struct record r = record_of(hourly, n);
    size_t span = r.end - r.first;
    size_t ends = 2 * (size_t)rules->half_window_h;
    unsigned why = 0;
    if (span < 8760 + ends)
        why |= SR_SEASONAL_SHORT;
    if (every_s > 3600)
        why |= SR_SEASONAL_COARSE;
    double evaluable = span > ends ? (double)(span - ends) : 1.0;
    if (100.0 * (double)evaluated < rules->coverage_min_pct * evaluable)
        why |= SR_SEASONAL_GAPPY;
    return why;
}

enum sr_rc sr_seasonal_band(const double hourly[], size_t n, int64_t every_s,
                            const struct sr_seasonal_rules *rules, double mean[], double work[],
                            struct sr_seasonal_band *out)
{
    if (every_s < 1 || !(rules->low_pct >= 0.0 && rules->low_pct < rules->high_pct &&
                         rules->high_pct <= 100.0 && rules->min_band >= 0.0))
        return SR_RANGE;
    enum sr_rc rc =
        sr_seasonal_mean(hourly, n, rules->half_window_h, rules->coverage_min_pct, mean);
    if (rc != SR_OK)
        return rc;
    struct sr_seasonal_band band = {0};
    size_t count = fluctuations(hourly, n, mean, work, &band);
    if (count == 0)
        return SR_THIN;
    rc = bounds(work, count, rules, &band);
    if (rc != SR_OK)
        return rc;
    band.provisional = provisional(hourly, n, every_s, rules, count);
    *out = band;
    return SR_OK;
}
