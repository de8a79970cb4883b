/* isopleth.c - see isopleth.h. */
#include "stillroom/isopleth.h"

#include <math.h>

#define POINTS 7
#define SPACING_C 5.0

/* Lowest isopleths at 0, 5, ... 30 degC: provisional, read off, from memory, +-2 % RH. */
static const double table[][POINTS] = {
    [SR_ISOPLETH_USABLE] = {92.0, 86.0, 81.0, 78.0, 76.5, 75.5, 75.0},
    [SR_ISOPLETH_POROUS] = {95.0, 89.0, 84.0, 81.0, 79.5, 78.5, 78.0},
};

static bool known(enum sr_isopleth_substrate substrate)
{
    return substrate == SR_ISOPLETH_USABLE || substrate == SR_ISOPLETH_POROUS;
}

enum sr_rc sr_isopleth_limit(enum sr_isopleth_substrate substrate, double t_c, double *out_pct)
{
    if (!known(substrate) || !isfinite(t_c))
        return SR_RANGE;
    if (!(t_c >= 0.0 && t_c <= SPACING_C * (POINTS - 1)))
        return SR_NO_SOLUTION;
    const double place = t_c / SPACING_C;
    const int i = place < POINTS - 2 ? (int)place : POINTS - 2;
    const double *row = table[substrate];
    *out_pct = row[i] + (place - i) * (row[i + 1] - row[i]);
    return SR_OK;
}

enum sr_rc sr_isopleth_begin(enum sr_isopleth_substrate substrate, int64_t every_s,
                             struct sr_isopleth_run *out)
{
    struct sr_isopleth_run run = {.substrate = substrate};

    if (!known(substrate))
        return SR_RANGE;
    const enum sr_rc rc = sr_hold_begin(every_s, &run.hold);
    if (rc == SR_OK)
        *out = run;
    return rc;
}

static void pass(struct sr_isopleth_run *run, const struct sr_hold_span *span)
{
    double limit_pct;

    if (span->covered_s > 0) {
        const enum sr_rc rc = sr_isopleth_limit(run->substrate, span->t_c, &limit_pct);
        *(rc == SR_OK ? &run->covered_s : &run->outside_s) += span->covered_s;
        if (rc == SR_OK && span->rh_pct >= limit_pct) {
            run->over_s += span->covered_s;
            run->current_s += span->covered_s;
        } else {
            run->current_s = 0;
        }
        if (run->current_s > run->longest_s)
            run->longest_s = run->current_s;
    }
    if (span->blind_s > 0)
        run->current_s = 0;
}

enum sr_rc sr_isopleth_add(struct sr_isopleth_run *run, int64_t t_s, double t_c, double rh_pct)
{
    struct sr_hold_span span;

    const enum sr_rc rc = sr_hold_take(&run->hold, t_s, t_c, rh_pct, &span);
    if (rc == SR_OK)
        pass(run, &span);
    return rc;
}

enum sr_rc sr_isopleth_series(struct sr_isopleth_run *run, const struct sr_air_series *s)
{
    struct sr_isopleth_run next = *run;

    enum sr_rc rc = sr_series_check_air(s);
    if (rc == SR_OK && s->every_s != run->hold.every_s)
        rc = SR_RANGE;
    for (size_t i = 0; rc == SR_OK && i < s->n; i++)
        rc = sr_isopleth_add(&next, s->t_s[i], s->t_c[i], s->rh_pct[i]);
    if (rc == SR_OK)
        *run = next;
    return rc;
}
