/* instrument.c - see instrument.h. */
#include "stillroom/instrument.h"

#include <math.h>

#include "stillroom/series.h"
#include "stillroom/uncertainty.h"

#define HOUR_S INT64_C(3600)
#define MINUTE_S 60.0
#define RH_MAX_PCT 100.5
#define T_MIN_C (-60.0)
#define T_MAX_C 100.0
#define JUMP_PCT_MIN 20.0
#define JUMP_K_MIN 5.0
#define STUCK_S (24 * HOUR_S)
#define STUCK_COARSE_S (72 * HOUR_S)
#define COARSE_PCT 1.0
#define COARSE_K 0.5
#define APART_S (6 * HOUR_S)
#define COVERAGE_FACTOR 2.0
#define LN_10 2.302585092994046

const char sr_instrument_caveat[] =
    "Uncalibrated: no calibration is in force for this instrument. A lender or insurer may ask "
    "for an accredited certificate.";

enum sr_rc sr_instrument_stuck_after(double t_resolution_k, double rh_resolution_pct,
                                     int64_t *out_s)
{
    if (!(t_resolution_k > 0.0) || !(rh_resolution_pct > 0.0))
        return SR_RANGE;
    *out_s = t_resolution_k >= COARSE_K || rh_resolution_pct >= COARSE_PCT ? STUCK_COARSE_S
                                                                           : STUCK_S;
    return SR_OK;
}

enum sr_rc sr_instrument_begin(int64_t stuck_after_s, int64_t every_s,
                               struct sr_instrument *out)
{
    if (stuck_after_s < 1 || stuck_after_s > SR_SERIES_EVERY_MAX_S || every_s < 1 ||
        every_s > SR_SERIES_EVERY_MAX_S)
        return SR_RANGE;
    *out = (struct sr_instrument){.stuck_after_s = stuck_after_s,
                                  .silence_s = sr_series_hold_s(every_s)};
    return SR_OK;
}

static bool same(double a, double b)
{
    return a <= b && a >= b;
}

enum sr_rc sr_instrument_push(struct sr_instrument *in, int64_t t_s, double t_c, double rh_pct,
                              unsigned *out_flags)
{
    if (isinf(t_c) || isinf(rh_pct) || t_s < -SR_SERIES_T_MAX_S || t_s > SR_SERIES_T_MAX_S)
        return SR_RANGE;
    if (in->started && t_s <= in->t_s)
        return SR_ORDER;
    if (isnan(t_c) || isnan(rh_pct))
        return SR_THIN;
    unsigned flags = 0;
    if (rh_pct < 0.0 || rh_pct > RH_MAX_PCT || t_c < T_MIN_C || t_c > T_MAX_C)
        flags |= SR_INSTRUMENT_BEYOND;
    bool still = false;
    if (in->started) {
        double minutes = fmax((double)(t_s - in->t_s) / MINUTE_S, 1.0);
        if (fabs(rh_pct - in->rh_pct) > JUMP_PCT_MIN * minutes ||
            fabs(t_c - in->t_c) > JUMP_K_MIN * minutes)
            flags |= SR_INSTRUMENT_JUMP;
        still =
            same(t_c, in->t_c) && same(rh_pct, in->rh_pct) && t_s - in->t_s <= in->silence_s;
    }
    if (!still)
        in->since_s = t_s;
    if (t_s - in->since_s > in->stuck_after_s)
        flags |= SR_INSTRUMENT_STUCK;
    in->started = true;
    in->t_s = t_s;
    in->t_c = t_c;
    in->rh_pct = rh_pct;
    *out_flags = flags;
    return SR_OK;
}

void sr_instrument_twins_begin(struct sr_instrument_twins *out)
{
    *out = (struct sr_instrument_twins){.started = false};
}

static enum sr_rc dew_point(const struct sr_instrument_pair_reading *r,
                            struct sr_uncertainty *out)
{
    struct sr_uncertainty_input in = {
        .t_c = r->t_c, .rh_pct = r->rh_pct, .u_t_k = r->u_t_k, .u_rh_pct = r->u_rh_pct};
    if (isnan(r->t_c) || isnan(r->rh_pct) || (r->rh_pct >= 0.0 && r->rh_pct <= 0.0))
        return SR_THIN;
    enum sr_rc rc = sr_uncertainty_of(SR_UNCERTAINTY_DEW_POINT, &in, out);
    return rc == SR_NO_SOLUTION ? SR_THIN : rc;
}

enum sr_rc sr_instrument_twins_push(struct sr_instrument_twins *tw, int64_t t_s,
                                    const struct sr_instrument_pair_reading *first,
                                    const struct sr_instrument_pair_reading *second,
                                    struct sr_instrument_apart *out)
{
    if (t_s < -SR_SERIES_T_MAX_S || t_s > SR_SERIES_T_MAX_S)
        return SR_RANGE;
    if (tw->started && t_s <= tw->t_s)
        return SR_ORDER;
    struct sr_uncertainty a, b;
    enum sr_rc rc = dew_point(first, &a);
    if (rc == SR_OK)
        rc = dew_point(second, &b);
    if (rc != SR_OK)
        return rc;
    struct sr_instrument_apart now = {.difference_k = a.value - b.value,
                                      .allowed_k = COVERAGE_FACTOR * hypot(a.u, b.u)};
    now.apart = fabs(now.difference_k) > now.allowed_k;
    bool goes_on = tw->started && tw->apart && t_s - tw->t_s <= APART_S;
    if (now.apart && !goes_on)
        tw->apart_since_s = t_s;
    now.alarm = now.apart && t_s - tw->apart_since_s >= APART_S;
    tw->started = true;
    tw->apart = now.apart;
    tw->t_s = t_s;
    *out = now;
    return SR_OK;
}

enum sr_rc sr_instrument_solvent(const struct sr_instrument_episode *e, bool *out_suspect)
{
    if (!isfinite(e->rh_change_pct) || !isfinite(e->t_change_k) ||
        (e->has_twin && !isfinite(e->twin_rh_change_pct)))
        return SR_RANGE;
    bool jumped = fabs(e->rh_change_pct) >= SR_INSTRUMENT_SOLVENT_JUMP_PCT;
    bool steady = fabs(e->t_change_k) <= SR_INSTRUMENT_SOLVENT_STEADY_K;
    bool twin_held = e->has_twin && fabs(e->twin_rh_change_pct) <= SR_INSTRUMENT_TWIN_HOLDS_PCT;
    *out_suspect = jumped && steady && (twin_held || e->solvent_in_use);
    return SR_OK;
}

enum sr_rc sr_instrument_settle_s(double tau_s, double *out_s)
{
    if (!(tau_s >= 0.0 && tau_s <= 1e7))
        return SR_RANGE;
    *out_s = tau_s * LN_10;
    return SR_OK;
}
