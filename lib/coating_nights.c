/* coating_nights.c - the worst of a room's last nights, for coating.h. */
#include "stillroom/coating.h"

#include <math.h>

#include "stillroom/psychro.h"
#include "stillroom/stats.h"

#define DAY_S INT64_C(86400)
#define EVENING_S (INT64_C(18) * 3600) /* of the local day; project choice */
#define NIGHT_S (INT64_C(14) * 3600)   /* until 08:00 */

struct night {
    int64_t from_s, to_s;
    int64_t covered_s, surface_s;
    struct sr_coating_nights worst;
};

/* The last evening whose night is over. */
static int64_t last_evening_s(int64_t now_s, int64_t utc_offset_s)
{
    int64_t local_s = now_s + utc_offset_s - EVENING_S - NIGHT_S;
    int64_t day = local_s / DAY_S - (local_s % DAY_S < 0 ? 1 : 0);
    return day * DAY_S + EVENING_S - utc_offset_s;
}

static void take(struct night *n, int64_t stood_s, double t_c, double rh_pct, double surface_c)
{
    struct sr_coating_nights *w = &n->worst;
    n->covered_s += stood_s;
    w->t_min_c = fmin(w->t_min_c, t_c);
    w->t_max_c = fmax(w->t_max_c, t_c);
    w->rh_min_pct = fmin(w->rh_min_pct, rh_pct);
    w->rh_max_pct = fmax(w->rh_max_pct, rh_pct);
    double dew_c;
    if (isnan(surface_c) || sr_psychro_dew_point(t_c, rh_pct, &dew_c) != SR_OK)
        return;
    n->surface_s += stood_s;
    w->dew_gap_min_k = fmin(w->dew_gap_min_k, surface_c - dew_c);
}

static bool enough(const struct night *n, int64_t covered_s)
{
    return 100.0 * (double)covered_s >=
           SR_STATS_COVERAGE_MIN_PCT * (double)(n->to_s - n->from_s);
}

static void add(struct sr_coating_nights *all, const struct night *n)
{
    if (!enough(n, n->covered_s))
        return;
    all->known++;
    all->t_min_c = fmin(all->t_min_c, n->worst.t_min_c);
    all->t_max_c = fmax(all->t_max_c, n->worst.t_max_c);
    all->rh_min_pct = fmin(all->rh_min_pct, n->worst.rh_min_pct);
    all->rh_max_pct = fmax(all->rh_max_pct, n->worst.rh_max_pct);
    if (!enough(n, n->surface_s))
        return;
    all->surface_known++;
    all->dew_gap_min_k = fmin(all->dew_gap_min_k, n->worst.dew_gap_min_k);
}

/* fmin and fmax pass over NaN, so NaN stands for "none yet". */
static const struct sr_coating_nights none_yet = {
    .t_min_c = (double)NAN,
    .t_max_c = (double)NAN,
    .rh_min_pct = (double)NAN,
    .rh_max_pct = (double)NAN,
    .dew_gap_min_k = (double)NAN,
};

enum sr_rc sr_coating_nights_before(const struct sr_air_series *s, const double surface_c[],
                                    int64_t now_s, int64_t utc_offset_s,
                                    struct sr_coating_nights *out)
{
    enum sr_rc rc = sr_series_check_air(s);
    if (rc != SR_OK)
        return rc;
    if (now_s < -SR_SERIES_T_MAX_S || now_s > SR_SERIES_T_MAX_S || utc_offset_s < -DAY_S ||
        utc_offset_s > DAY_S)
        return SR_RANGE;
    for (size_t i = 0; surface_c != NULL && i < s->n; i++)
        if (fabs(surface_c[i]) > SR_SERIES_V_MAX)
            return SR_RANGE;
    struct sr_series rh = sr_series_humidity(s);
    struct sr_coating_nights all = none_yet;
    int64_t evening_s = last_evening_s(now_s, utc_offset_s);
    for (int k = 0; k < SR_COATING_NIGHTS; k++) {
        struct night n = {.from_s = evening_s - k * DAY_S, .worst = none_yet};
        n.to_s = n.from_s + NIGHT_S;
        for (size_t i = 0; i < s->n; i++) {
            int64_t stood_s = sr_series_covered_s(&rh, i, n.from_s, n.to_s);
            if (stood_s > 0 && !isnan(s->t_c[i]))
                take(&n, stood_s, s->t_c[i], s->rh_pct[i],
                     surface_c == NULL ? (double)NAN : surface_c[i]);
        }
        add(&all, &n);
    }
    if (all.known == 0)
        return SR_THIN;
    *out = all;
    return SR_OK;
}
