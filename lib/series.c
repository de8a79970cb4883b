/* series.c - see series.h. */
#include "stillroom/series.h"

#include <math.h>

static enum sr_rc check_times(const int64_t t_s[], size_t n, int64_t every_s)
{
    if (n == 0)
        return SR_THIN;
    if (t_s == NULL || every_s < 1 || every_s > SR_SERIES_EVERY_MAX_S)
        return SR_RANGE;
    for (size_t i = 0; i < n; i++) {
        if (t_s[i] < -SR_SERIES_T_MAX_S || t_s[i] > SR_SERIES_T_MAX_S)
            return SR_RANGE;
        if (i > 0 && t_s[i] <= t_s[i - 1])
            return SR_ORDER;
    }
    return SR_OK;
}

static enum sr_rc check_values(const double v[], size_t n)
{
    if (v == NULL)
        return SR_RANGE;
    for (size_t i = 0; i < n; i++)
        if (fabs(v[i]) > SR_SERIES_V_MAX) /* false for NaN, which is allowed */
            return SR_RANGE;
    return SR_OK;
}

enum sr_rc sr_series_check(const struct sr_series *s)
{
    enum sr_rc rc = check_times(s->t_s, s->n, s->every_s);
    return rc == SR_OK ? check_values(s->v, s->n) : rc;
}

enum sr_rc sr_series_check_air(const struct sr_air_series *s)
{
    enum sr_rc rc = check_times(s->t_s, s->n, s->every_s);
    if (rc == SR_OK)
        rc = check_values(s->t_c, s->n);
    return rc == SR_OK ? check_values(s->rh_pct, s->n) : rc;
}

struct sr_series sr_series_temperature(const struct sr_air_series *s)
{
    return (struct sr_series){s->t_s, s->t_c, s->n, s->every_s};
}

struct sr_series sr_series_humidity(const struct sr_air_series *s)
{
    return (struct sr_series){s->t_s, s->rh_pct, s->n, s->every_s};
}

int64_t sr_series_hold_s(int64_t every_s)
{
    return every_s + every_s / 2;
}

int64_t sr_series_end_s(const struct sr_series *s, size_t i)
{
    int64_t end_s = s->t_s[i] + sr_series_hold_s(s->every_s);
    if (i + 1 < s->n && s->t_s[i + 1] < end_s)
        end_s = s->t_s[i + 1];
    return end_s;
}

int64_t sr_series_covered_s(const struct sr_series *s, size_t i, int64_t from_s, int64_t to_s)
{
    if (isnan(s->v[i]))
        return 0;
    int64_t start_s = s->t_s[i] > from_s ? s->t_s[i] : from_s;
    int64_t end_s = sr_series_end_s(s, i);
    if (end_s > to_s)
        end_s = to_s;
    return end_s > start_s ? end_s - start_s : 0;
}
