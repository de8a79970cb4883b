/* board_run.c - see board_run.h. */
#include "stillroom/board_run.h"

#include "stillroom/wood.h"

#define EMC_RH_MAX_PCT 98.0

static enum sr_rc pass(struct sr_board_run *run, const struct sr_hold_span *span)
{
    enum sr_rc rc = SR_OK;

    if (span->covered_s > 0) {
        rc = sr_board_band_step_air(&run->band, span->t_c, span->rh_pct,
                                    (double)span->covered_s);
        run->covered_s += span->covered_s;
        if (span->t_c < SR_WOOD_T_MIN_C || span->rh_pct > EMC_RH_MAX_PCT)
            run->edge_s += span->covered_s;
    }
    if (rc == SR_OK && span->blind_s > 0) {
        run->gap_s += span->blind_s;
        if (span->known)
            rc = sr_board_band_step_air(&run->band, span->t_c, span->rh_pct,
                                        span->blind_s < 1000000000 ? (double)span->blind_s
                                                                   : 1e9);
    }
    return rc;
}

enum sr_rc sr_board_run_begin(const struct sr_board_spec *spec, double moisture_pct,
                              int64_t every_s, struct sr_board_run *out)
{
    struct sr_board_run run = {0};

    enum sr_rc rc = sr_hold_begin(every_s, &run.hold);
    if (rc == SR_OK)
        rc = sr_board_band_begin(spec, moisture_pct, &run.band);
    if (rc == SR_OK)
        *out = run;
    return rc;
}

enum sr_rc sr_board_run_add(struct sr_board_run *run, int64_t t_s, double t_c, double rh_pct)
{
    struct sr_board_run next = *run;
    struct sr_hold_span span;

    enum sr_rc rc = sr_hold_take(&next.hold, t_s, t_c, rh_pct, &span);
    if (rc == SR_OK)
        rc = pass(&next, &span);
    if (rc == SR_OK)
        *run = next;
    return rc;
}

enum sr_rc sr_board_run_series(struct sr_board_run *run, const struct sr_air_series *s)
{
    struct sr_board_run next = *run;
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

enum sr_rc sr_board_run_at(const struct sr_board_run *run, int64_t t_s,
                           struct sr_board_run *out)
{
    struct sr_board_run next = *run;
    struct sr_hold_span span;

    enum sr_rc rc = sr_hold_until(&run->hold, t_s, &span);
    if (rc == SR_OK)
        rc = pass(&next, &span);
    if (rc == SR_OK)
        *out = next;
    return rc;
}
