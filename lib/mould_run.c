/* mould_run.c - see mould_run.h. */
#include "stillroom/mould_run.h"

#include "hold_inner.h"
#include "mould_step.h"

static bool alike(const struct sr_mould_state *a, const struct sr_mould_state *b)
{
    return !(a->index < b->index || a->index > b->index || a->dry_h < b->dry_h ||
             a->dry_h > b->dry_h);
}

static double hours(int64_t s)
{
    return s == 3600 ? 1.0 : (double)s / 3600.0; /* mostly it is, and a division is slow */
}

static void one(const struct sr_mould_run *run, double t_c, double rh_pct, double dt_h,
                struct sr_mould_state *state)
{
    double dry_h = state->dry_h;

    state->index = sr_mould_step_checked(&run->material, run->decline, t_c, rh_pct, dt_h,
                                         state->index, &dry_h);
    state->dry_h = dry_h;
}

/* Both states through known air. Mostly they are alike, and cost one step. */
static void both(struct sr_mould_run *run, double t_c, double rh_pct, int64_t dt_s)
{
    const bool were_alike = alike(&run->low, &run->high);
    const double dt_h = hours(dt_s);

    one(run, t_c, rh_pct, dt_h, &run->low);
    if (were_alike) {
        run->high.index = run->low.index;
        run->high.dry_h = run->low.dry_h;
        return;
    }
    one(run, t_c, rh_pct, dt_h, &run->high);
    /* Growth slows at index 1, so one coarse step can carry the lower past the upper. */
    if (run->low.index > run->high.index) {
        const double index = run->low.index;
        run->low.index = run->high.index;
        run->high.index = index;
    }
}

/* Over a gap the lower is held; the upper grows, but does not decline. */
static void only_high(struct sr_mould_run *run, const struct sr_hold_span *span)
{
    const double dt_h = hours(span->blind_s);
    struct sr_mould_state grown = run->high;

    run->gap_s += span->blind_s;
    if (!span->known)
        return;
    one(run, span->t_c, span->rh_pct, dt_h < SR_MOULD_STEP_MAX_H ? dt_h : SR_MOULD_STEP_MAX_H,
        &grown);
    if (grown.index > run->high.index)
        run->high = grown;
}

static void pass(struct sr_mould_run *run, const struct sr_hold_span *span)
{
    if (span->covered_s > 0) {
        both(run, span->t_c, span->rh_pct, span->covered_s);
        run->covered_s += span->covered_s;
        run->at_65_s += span->rh_pct >= 65.0 ? span->covered_s : 0;
        run->at_75_s += span->rh_pct >= 75.0 ? span->covered_s : 0;
        run->at_80_s += span->rh_pct >= 80.0 ? span->covered_s : 0;
    }
    if (span->blind_s == 0)
        return;
    if (span->marked || !span->known || span->covered_s + span->blind_s > SR_MOULD_BRIDGE_S) {
        only_high(run, span);
        return;
    }
    run->bridged_s += span->blind_s;
    both(run, span->t_c, span->rh_pct, span->blind_s);
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
        rc = sr_mould_step(material, decline, 20.0, 0.0, 0.0, &run.low);
    if (rc == SR_OK)
        rc = sr_mould_step(material, decline, 20.0, 0.0, 0.0, &run.high);
    if (rc != SR_OK)
        return rc;
    if (low->index > high->index)
        return SR_RANGE;
    *out = run;
    return SR_OK;
}

/* A run may have been kept in a file for years. */
static bool run_ok(const struct sr_mould_run *run)
{
    return sr_mould_step_state_ok(&run->low) && sr_mould_step_state_ok(&run->high) &&
           run->low.index <= run->high.index;
}

enum sr_rc sr_mould_run_add(struct sr_mould_run *run, int64_t t_s, double t_c, double rh_pct)
{
    struct sr_hold_span span;

    if (!run_ok(run))
        return SR_RANGE;
    const enum sr_rc rc = sr_hold_take(&run->hold, t_s, t_c, rh_pct, &span);
    if (rc == SR_OK)
        pass(run, &span);
    return rc;
}

enum sr_rc sr_mould_run_series(struct sr_mould_run *run, const struct sr_air_series *s)
{
    struct sr_mould_run next = *run;
    struct sr_hold_span span;

    enum sr_rc rc = sr_series_check_air(s);
    if (rc == SR_OK && (s->every_s != run->hold.every_s || !run_ok(run)))
        rc = SR_RANGE;
    for (size_t i = 0; rc == SR_OK && i < s->n; i++) {
        rc = hold_inner_take(&next.hold, s->t_s[i], s->t_c[i], s->rh_pct[i], &span);
        if (rc == SR_OK)
            pass(&next, &span);
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

    if (!run_ok(run))
        return SR_RANGE;
    const enum sr_rc rc = sr_hold_until(&run->hold, t_s, &span);
    if (rc != SR_OK)
        return rc;
    pass(&next, &span);
    *out = next;
    return SR_OK;
}

void sr_mould_run_cleaned(struct sr_mould_run *run)
{
    run->low = run->high = (struct sr_mould_state){0};
}
