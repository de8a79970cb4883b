/* mould_run.c - see mould_run.h. */
#include "stillroom/mould_run.h"

#include <string.h>

#define S_PER_H 3600.0

static bool alike(const struct sr_mould_state *a, const struct sr_mould_state *b)
{
    return memcmp(a, b, sizeof *a) == 0;
}

/* Both states through known air. Mostly they are one, and cost one step. */
static enum sr_rc both(struct sr_mould_run *run, double t_c, double rh_pct, int64_t dt_s)
{
    const bool one = alike(&run->low, &run->high);
    const double dt_h = (double)dt_s / S_PER_H;

    enum sr_rc rc = sr_mould_step(&run->material, run->decline, t_c, rh_pct, dt_h, &run->low);
    if (rc != SR_OK)
        return rc;
    if (one) {
        run->high = run->low;
        return SR_OK;
    }
    rc = sr_mould_step(&run->material, run->decline, t_c, rh_pct, dt_h, &run->high);
    /* Growth slows at index 1, so one coarse step can carry the lower past the upper. */
    if (rc == SR_OK && run->low.index > run->high.index) {
        const double index = run->low.index;
        run->low.index = run->high.index;
        run->high.index = index;
    }
    return rc;
}

/* Over a gap the lower is held; the upper grows, but does not decline. */
static enum sr_rc only_high(struct sr_mould_run *run, const struct sr_hold_span *span)
{
    struct sr_mould_state grown = run->high;
    const double dt_h = (double)span->blind_s / S_PER_H;

    run->gap_s += span->blind_s;
    if (!span->known)
        return SR_OK;
    const enum sr_rc rc =
        sr_mould_step(&run->material, run->decline, span->t_c, span->rh_pct,
                      dt_h < SR_MOULD_STEP_MAX_H ? dt_h : SR_MOULD_STEP_MAX_H, &grown);
    if (rc == SR_OK && grown.index > run->high.index)
        run->high = grown;
    return rc;
}

static enum sr_rc pass(struct sr_mould_run *run, const struct sr_hold_span *span)
{
    enum sr_rc rc = SR_OK;

    if (span->covered_s > 0) {
        rc = both(run, span->t_c, span->rh_pct, span->covered_s);
        run->covered_s += span->covered_s;
        run->at_65_s += span->rh_pct >= 65.0 ? span->covered_s : 0;
        run->at_75_s += span->rh_pct >= 75.0 ? span->covered_s : 0;
        run->at_80_s += span->rh_pct >= 80.0 ? span->covered_s : 0;
    }
    if (rc != SR_OK || span->blind_s == 0)
        return rc;
    if (span->marked || !span->known || span->covered_s + span->blind_s > SR_MOULD_BRIDGE_S)
        return only_high(run, span);
    run->bridged_s += span->blind_s;
    return both(run, span->t_c, span->rh_pct, span->blind_s);
}

enum sr_rc sr_mould_run_begin(const struct sr_mould_class *material, double decline,
                              int64_t every_s, const struct sr_mould_state *low,
                              const struct sr_mould_state *high, struct sr_mould_run *out)
{
    struct sr_mould_run run = {
        .material = *material, .decline = decline, .low = *low, .high = *high};

    /* A step of no length looks at everything and moves nothing. */
    enum sr_rc rc = sr_hold_begin(every_s, &run.hold);
    if (rc == SR_OK)
        rc = both(&run, 20.0, 0.0, 0);
    if (rc != SR_OK)
        return rc;
    if (low->index > high->index)
        return SR_RANGE;
    *out = run;
    return SR_OK;
}

enum sr_rc sr_mould_run_add(struct sr_mould_run *run, int64_t t_s, double t_c, double rh_pct)
{
    struct sr_mould_run next = *run;
    struct sr_hold_span span;

    enum sr_rc rc = sr_hold_take(&next.hold, t_s, t_c, rh_pct, &span);
    if (rc == SR_OK)
        rc = pass(&next, &span);
    if (rc == SR_OK)
        *run = next;
    return rc;
}

enum sr_rc sr_mould_run_series(struct sr_mould_run *run, const struct sr_air_series *s)
{
    struct sr_mould_run next = *run;
    struct sr_hold_span span;

    enum sr_rc rc = sr_series_check_air(s);
    if (rc == SR_OK && s->every_s != run->hold.every_s)
        rc = SR_RANGE;
    for (size_t i = 0; rc == SR_OK && i < s->n; i++) {
        rc = sr_hold_take(&next.hold, s->t_s[i], s->t_c[i], s->rh_pct[i], &span);
        if (rc == SR_OK)
            rc = pass(&next, &span);
    }
    if (rc == SR_OK)
        *run = next;
    return rc;
}

enum sr_rc sr_mould_run_at(const struct sr_mould_run *run, int64_t t_s,
                           struct sr_mould_run *out)
{
    struct sr_mould_run next = *run;
    struct sr_hold_span span;

    enum sr_rc rc = sr_hold_until(&run->hold, t_s, &span);
    if (rc == SR_OK)
        rc = pass(&next, &span);
    if (rc == SR_OK)
        *out = next;
    return rc;
}

void sr_mould_run_cleaned(struct sr_mould_run *run)
{
    run->low = run->high = (struct sr_mould_state){0};
}
