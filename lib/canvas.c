/* canvas.c - see canvas.h. */
#include "stillroom/canvas.h"

#include <math.h>

#include "stillroom/swing.h"

#define HOUR_S 3600.0

static const double brittle_alarm_pct = 25.0;
static const double brittle_action_pct = 30.0;
static const double brittle_watch_pct = 40.0;
static const double slack_watch_pct = 65.0;
static const double slack_action_pct = 70.0;
static const double shrink_alarm_pct = 80.0;
static const double cold_stop_c = 5.0;
static const double cold_caution_c = 13.0;

const char sr_canvas_caveat[] =
    "Paintings differ: size, ground, paint, lining and age decide. Whether a slack canvas is "
    "keyed out is decided at the painting, by hand and eye, never from data.";

enum sr_rc sr_canvas_tau_s(enum sr_canvas_mount mount, double *out)
{
    switch (mount) {
    case SR_CANVAS_OPEN:
        *out = 1.0 * HOUR_S;
        return SR_OK;
    case SR_CANVAS_BACKED:
        *out = 12.0 * HOUR_S;
        return SR_OK;
    case SR_CANVAS_PASTE_LINED:
        *out = 24.0 * HOUR_S;
        return SR_OK;
    }
    return SR_RANGE;
}

enum sr_rc sr_canvas_zone_of(double rh_pct, enum sr_canvas_zone *out)
{
    if (!(rh_pct >= 0.0 && rh_pct <= 100.0))
        return SR_RANGE;
    if (rh_pct < brittle_alarm_pct)
        *out = SR_CANVAS_BRITTLE_ALARM;
    else if (rh_pct < brittle_action_pct)
        *out = SR_CANVAS_BRITTLE_ACTION;
    else if (rh_pct < brittle_watch_pct)
        *out = SR_CANVAS_BRITTLE_WATCH;
    else if (rh_pct <= slack_watch_pct)
        *out = SR_CANVAS_EASY;
    else if (rh_pct <= slack_action_pct)
        *out = SR_CANVAS_SLACK_WATCH;
    else if (rh_pct <= shrink_alarm_pct)
        *out = SR_CANVAS_SLACK_ACTION;
    else
        *out = SR_CANVAS_SHRINK_ALARM;
    return SR_OK;
}

const char *sr_canvas_zone_text(enum sr_canvas_zone zone)
{
    switch (zone) {
    case SR_CANVAS_BRITTLE_ALARM:
        return "so dry that laminated layers may split or flake";
    case SR_CANVAS_BRITTLE_ACTION:
        return "dry: glue size pulls hard and is brittle";
    case SR_CANVAS_BRITTLE_WATCH:
        return "on the dry side: tension rises";
    case SR_CANVAS_EASY:
        return "easy";
    case SR_CANVAS_SLACK_WATCH:
        return "damp: canvas begins to slacken";
    case SR_CANVAS_SLACK_ACTION:
        return "so damp that canvas slackens and cockles";
    case SR_CANVAS_SHRINK_ALARM:
        return "so damp that the fabric may shrink and paint come loose";
    }
    return "unknown";
}

enum sr_rc sr_canvas_cold_of(double t_c, enum sr_canvas_cold *out)
{
    if (!(t_c >= -60.0 && t_c <= 60.0))
        return SR_RANGE;
    *out = t_c < cold_stop_c      ? SR_CANVAS_COLD_STOP
           : t_c < cold_caution_c ? SR_CANVAS_COLD_CAUTION
                                  : SR_CANVAS_WARM;
    return SR_OK;
}

static double clamp_rh(double rh_pct)
{
    return rh_pct < 0.0 ? 0.0 : rh_pct > 100.0 ? 100.0 : rh_pct; /* NaN stays */
}

enum sr_rc sr_canvas_over(const struct sr_series *rh, double tau_s, int64_t from_s,
                          int64_t to_s, struct sr_canvas_time *out)
{
    enum sr_rc rc = sr_series_check(rh);
    struct sr_swing_filter filter;
    if (rc == SR_OK)
        rc = sr_swing_filter_begin(tau_s, &filter);
    if (rc != SR_OK)
        return rc;
    if (from_s >= to_s || from_s < -SR_SERIES_T_MAX_S || to_s > SR_SERIES_T_MAX_S)
        return SR_RANGE;
    struct sr_canvas_time time = {.span_s = to_s - from_s};
    for (size_t i = 0; i < rh->n; i++) {
        double raw = clamp_rh(rh->v[i]);
        struct sr_swing_felt felt;
        if (sr_swing_filter_push(&filter, rh->t_s[i], raw, &felt) != SR_OK)
            continue; /* no value here */
        int64_t stood_s = sr_series_covered_s(rh, i, from_s, to_s);
        time.covered_s += stood_s;
        time.raw_below_25_s += raw < brittle_alarm_pct ? stood_s : 0;
        enum sr_canvas_zone zone;
        if (felt.known && sr_canvas_zone_of(felt.y, &zone) == SR_OK)
            time.in_zone_s[zone] += stood_s;
        else
            time.unknown_s += stood_s;
    }
    if (time.covered_s == 0)
        return SR_THIN;
    *out = time;
    return SR_OK;
}
