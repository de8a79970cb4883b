/* criterion.c - see criterion.h. */
#include "stillroom/criterion.h"

#include <math.h>

/* ASHRAE 160-2009. */
static const double limit_rh_pct = 80.0;
static const double from_t_c = 5.0;
static const double to_t_c = 40.0;

#define COVERAGE_MIN 0.9

/* Sums over a sliding window, weighted by seconds. */
struct sums {
    double t, rh;
    int64_t covered_s;
};

/* Adds (or, with sign -1, takes away) what sample i holds of [from_s, to_s). */
static void weigh(const struct sr_air_series *s, size_t i, int64_t from_s, int64_t to_s,
                  int sign, struct sums *sums)
{
    const struct sr_series rh = sr_series_humidity(s);
    const int64_t part_s =
        isnan(s->t_c[i]) ? 0 : sr_series_covered_s(&rh, i, from_s, to_s) * sign;

    if (part_s == 0)
        return;
    sums->covered_s += part_s;
    sums->t += (double)part_s * s->t_c[i];
    sums->rh += (double)part_s * s->rh_pct[i];
}

static void judge(const struct sums *sums, int64_t end_s, struct sr_criterion_30d *r)
{
    const double t_c = sums->t / (double)sums->covered_s;
    const double rh_pct = sums->rh / (double)sums->covered_s;

    r->judged++;
    if (!(t_c >= from_t_c && t_c <= to_t_c))
        return;
    if (rh_pct > r->worst_rh_pct) {
        r->worst_rh_pct = rh_pct;
        r->worst_t_c = t_c;
        r->worst_s = end_s;
    }
    if (!(rh_pct < limit_rh_pct)) {
        r->unmet++;
        if (r->unmet == 1)
            r->first_unmet_s = end_s;
    }
}

enum sr_rc sr_criterion_surface_30d(const struct sr_air_series *s, struct sr_criterion_30d *out)
{
    struct sr_criterion_30d r = {0};
    struct sums sums = {0};
    size_t first = 0;    /* the oldest sample with a part in the window */
    int64_t start_s = 0; /* of the window that sums hold */

    const enum sr_rc rc = sr_series_check_air(s);
    if (rc != SR_OK)
        return rc;
    const struct sr_series rh = sr_series_humidity(s);
    start_s = s->t_s[0];
    for (size_t i = 0; i < s->n; i++) {
        const int64_t end_s = sr_series_end_s(&rh, i);
        weigh(s, i, s->t_s[i], end_s, 1, &sums);
        const int64_t next_s = end_s - SR_CRITERION_WINDOW_S;
        if (next_s < s->t_s[0])
            continue;
        /* Whole samples leave first, then the part of the one that straddles the start. */
        for (; sr_series_end_s(&rh, first) <= next_s; first++)
            weigh(s, first, start_s, next_s, -1, &sums);
        weigh(s, first, start_s, next_s, -1, &sums);
        start_s = next_s;
        if ((double)sums.covered_s >= COVERAGE_MIN * (double)SR_CRITERION_WINDOW_S)
            judge(&sums, end_s, &r);
    }
    if (r.judged == 0)
        return SR_THIN;
    r.met = r.unmet == 0;
    *out = r;
    return SR_OK;
}
