/* swing.c - see swing.h: rates and the response filter. The window is in swing_window.c. */
#include "stillroom/swing.h"

#include <math.h>

#define PI 3.14159265358979323846
#define TAU_MAX_S 1e9
#define UNKNOWN_TAUS 3.0 /* project choice: 5 % of the unknown start is left */
#define GAP_INTERVALS 2  /* project choice */

const char sr_swing_filter_caveat[] =
    "Calculated for an object that follows the room with the stated time constant; real "
    "objects differ, and a backboard, glazing or lining changes it. Read it beside the raw "
    "figure.";

static bool window_ok(int64_t window_s)
{
    return window_s >= 1 && window_s <= SR_SERIES_EVERY_MAX_S;
}

static int64_t apart(int64_t a, int64_t b)
{
    return a > b ? a - b : b - a;
}

/* The change from sample j to sample i, if j lies near enough to where it should. */
static enum sr_rc change(const struct sr_series *s, size_t j, size_t i, int64_t window_s,
                         struct sr_swing_rate *out)
{
    if (j >= i || apart(s->t_s[j], s->t_s[i] - window_s) > s->every_s)
        return SR_THIN;
    double moved = s->v[i] - s->v[j];
    *out = (struct sr_swing_rate){s->t_s[j], s->t_s[i], moved,
                                  moved * 3600.0 / (double)(s->t_s[i] - s->t_s[j])};
    return SR_OK;
}

enum sr_rc sr_swing_rate_at(const struct sr_series *s, size_t i, int64_t window_s,
                            struct sr_swing_rate *out)
{
    if (i >= s->n || s->every_s < 1 || !window_ok(window_s))
        return SR_RANGE;
    if (isnan(s->v[i]))
        return SR_THIN;
    int64_t want_s = s->t_s[i] - window_s;
    size_t valid = i; /* the oldest sample reached without a gap */
    size_t best = i;
    for (size_t j = i; j-- > 0;) {
        if (s->t_s[valid] - s->t_s[j] > GAP_INTERVALS * s->every_s)
            break;
        if (isnan(s->v[j]))
            continue;
        valid = j;
        if (best == i || apart(s->t_s[j], want_s) <= apart(s->t_s[best], want_s))
            best = j;
        if (s->t_s[j] <= want_s)
            break;
    }
    return change(s, best, i, window_s, out);
}

enum sr_rc sr_swing_steepest(const struct sr_series *s, int64_t window_s,
                             struct sr_swing_rate *out)
{
    enum sr_rc rc = sr_series_check(s);
    if (rc != SR_OK)
        return rc;
    if (!window_ok(window_s))
        return SR_RANGE;
    struct sr_swing_rate steepest = {0};
    bool found = false;
    size_t j = 0;    /* the partner, moving up with i */
    size_t last = 0; /* the valid sample before i */
    bool have = false;
    for (size_t i = 0; i < s->n; i++) {
        if (isnan(s->v[i]))
            continue;
        if (!have || s->t_s[i] - s->t_s[last] > GAP_INTERVALS * s->every_s)
            j = i;
        have = true;
        last = i;
        int64_t want_s = s->t_s[i] - window_s;
        for (size_t k = j + 1; k < i; k++) {
            if (isnan(s->v[k]))
                continue;
            if (apart(s->t_s[k], want_s) >= apart(s->t_s[j], want_s))
                break;
            j = k;
        }
        struct sr_swing_rate rate;
        if (change(s, j, i, window_s, &rate) != SR_OK)
            continue;
        if (!found || fabs(rate.per_h) > fabs(steepest.per_h))
            steepest = rate;
        found = true;
    }
    if (!found)
        return SR_THIN;
    *out = steepest;
    return SR_OK;
}

enum sr_rc sr_swing_slope(const struct sr_series *s, int64_t from_s, int64_t to_s,
                          double *out_per_h)
{
    enum sr_rc rc = sr_series_check(s);
    if (rc != SR_OK)
        return rc;
    if (from_s >= to_s)
        return SR_RANGE;
    double n = 0.0, mean_h = 0.0, mean_v = 0.0, var = 0.0, cov = 0.0;
    int64_t last_s = 0;
    for (size_t i = 0; i < s->n && s->t_s[i] <= to_s; i++) {
        if (s->t_s[i] < from_s || isnan(s->v[i]))
            continue;
        if (n > 0.0 && s->t_s[i] - last_s > GAP_INTERVALS * s->every_s)
            return SR_THIN;
        last_s = s->t_s[i];
        n += 1.0;
        double off_h = (double)(s->t_s[i] - from_s) / 3600.0 - mean_h;
        double off_v = s->v[i] - mean_v;
        mean_h += off_h / n;
        mean_v += off_v / n;
        var += off_h * ((double)(s->t_s[i] - from_s) / 3600.0 - mean_h);
        cov += off_h * (s->v[i] - mean_v);
    }
    if (n < 3.0)
        return SR_THIN;
    *out_per_h = cov / var;
    return SR_OK;
}

static bool tau_ok(double tau_s)
{
    return tau_s > 0.0 && tau_s <= TAU_MAX_S;
}

enum sr_rc sr_swing_filter_begin(double tau_s, struct sr_swing_filter *out)
{
    if (!tau_ok(tau_s))
        return SR_RANGE;
    *out = (struct sr_swing_filter){.tau_s = tau_s};
    return SR_OK;
}

enum sr_rc sr_swing_filter_begin_at(double tau_s, int64_t t_s, double y,
                                    struct sr_swing_filter *out)
{
    if (!tau_ok(tau_s) || !(fabs(y) <= SR_SERIES_V_MAX) || t_s < -SR_SERIES_T_MAX_S ||
        t_s > SR_SERIES_T_MAX_S)
        return SR_RANGE;
    *out = (struct sr_swing_filter){
        .tau_s = tau_s, .started = true, .t_s = t_s, .since_s = t_s, .y = y};
    return SR_OK;
}

enum sr_rc sr_swing_filter_push(struct sr_swing_filter *f, int64_t t_s, double x,
                                struct sr_swing_felt *out)
{
    if (t_s < -SR_SERIES_T_MAX_S || t_s > SR_SERIES_T_MAX_S || fabs(x) > SR_SERIES_V_MAX)
        return SR_RANGE;
    if (f->started && t_s <= f->t_s)
        return SR_ORDER;
    if (isnan(x))
        return SR_THIN;
    double dt_s = (double)(t_s - f->t_s); /* means nothing before the start */
    if (!f->started || dt_s > f->tau_s) {
        f->y = x;
        f->since_s = t_s + (int64_t)ceil(UNKNOWN_TAUS * f->tau_s);
    } else {
        f->y -= expm1(-dt_s / f->tau_s) * (x - f->y);
    }
    f->started = true;
    f->t_s = t_s;
    *out = (struct sr_swing_felt){.y = f->y, .known = t_s >= f->since_s};
    return SR_OK;
}

enum sr_rc sr_swing_filter_series(const struct sr_series *s, double tau_s, double y[])
{
    enum sr_rc rc = sr_series_check(s);
    if (rc != SR_OK)
        return rc;
    struct sr_swing_filter f;
    rc = sr_swing_filter_begin(tau_s, &f);
    if (rc != SR_OK)
        return rc;
    for (size_t i = 0; i < s->n; i++) {
        struct sr_swing_felt felt;
        rc = sr_swing_filter_push(&f, s->t_s[i], s->v[i], &felt);
        y[i] = rc == SR_OK && felt.known ? felt.y : (double)NAN;
    }
    return SR_OK;
}

enum sr_rc sr_swing_gain(double period_s, double tau_s, double *out)
{
    if (!tau_ok(tau_s) || !(period_s > 0.0 && period_s <= 1e12))
        return SR_RANGE;
    *out = 1.0 / hypot(1.0, 2.0 * PI * tau_s / period_s);
    return SR_OK;
}
