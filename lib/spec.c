/* spec.c - see spec.h: one clause watched sample by sample, and whole series of it. */
#include "stillroom/spec.h"

#include <math.h>

#include "stillroom/stats.h"

#define DAY_S INT64_C(86400)
#define HOUR_S INT64_C(3600)

const char sr_spec_caveat[] =
    "Keeping within a specification is no proof of safety, and an excursion is no proof of "
    "damage; the conservator decides.";

static bool is_humidity(enum sr_spec_clause clause)
{
    return clause == SR_SPEC_RH || clause == SR_SPEC_RH_24H || clause == SR_SPEC_RH_1H;
}

/* The allowance of a windowed clause; NaN if it was not agreed. */
static double allowance_of(const struct sr_spec *spec, enum sr_spec_clause clause)
{
    switch (clause) {
    case SR_SPEC_RH_24H:
        return spec->rh_24h_pct;
    case SR_SPEC_T_24H:
        return spec->t_24h_k;
    case SR_SPEC_RH_1H:
        return spec->rh_1h_pct;
    case SR_SPEC_T_1H:
        return spec->t_1h_k;
    case SR_SPEC_RH:
    case SR_SPEC_T:
        break;
    }
    return (double)NAN;
}

static bool agreed(const struct sr_spec *spec, enum sr_spec_clause clause)
{
    if (clause == SR_SPEC_RH)
        return !isnan(spec->rh_min_pct) || !isnan(spec->rh_max_pct);
    if (clause == SR_SPEC_T)
        return !isnan(spec->t_min_c) || !isnan(spec->t_max_c);
    return !isnan(allowance_of(spec, clause));
}

/* What is inside, for the value that the reading tests. */
static void set_limits(struct sr_spec_watch *w, const struct sr_spec *spec)
{
    double low = w->clause == SR_SPEC_RH ? spec->rh_min_pct : spec->t_min_c;
    double high = w->clause == SR_SPEC_RH ? spec->rh_max_pct : spec->t_max_c;
    if (w->windowed) {
        low = w->reading == SR_SPEC_CENTRED ? -w->allowance : (double)NAN;
        high = w->reading == SR_SPEC_HALF_RANGE ? 2.0 * w->allowance : w->allowance;
    }
    w->low = isnan(low) ? (double)-INFINITY : low;
    w->high = isnan(high) ? (double)INFINITY : high;
}

static bool limits_ok(const struct sr_spec *spec, const struct sr_spec_watch *w,
                      const struct sr_spec_sensor *sensor)
{
    return w->low <= w->high && !(w->windowed && !(w->allowance > 0.0)) &&
           spec->max_excursion_min >= 0 && spec->coverage_min_pct >= 0.0 &&
           spec->coverage_min_pct <= 100.0 && spec->percentile >= 0.0 &&
           spec->percentile <= 100.0 && w->uncertainty >= 0.0 && sensor->response_s >= 0 &&
           sensor->response_s <= SR_SERIES_EVERY_MAX_S;
}

static double uncertainty_of(const struct sr_spec_sensor *sensor, enum sr_spec_clause clause)
{
    if (clause == SR_SPEC_RH)
        return sensor->u_rh_pct;
    if (clause == SR_SPEC_T)
        return sensor->u_t_k;
    return is_humidity(clause) ? sensor->u_rh_change_pct : sensor->u_t_change_k;
}

enum sr_rc sr_spec_watch_begin(const struct sr_spec *spec, enum sr_spec_clause clause,
                               enum sr_spec_reading reading,
                               const struct sr_spec_sensor *sensor, int64_t from_s,
                               int64_t to_s, int64_t every_s, struct sr_swing_slot slots[],
                               size_t room, struct sr_spec_watch *out)
{
    struct sr_spec_watch w = {.clause = clause, .reading = reading};
    if ((int)clause < 0 || clause > SR_SPEC_T_1H || (int)reading < 0 ||
        reading > SR_SPEC_UNAGREED || !agreed(spec, clause) || from_s >= to_s ||
        from_s < -SR_SERIES_T_MAX_S || to_s > SR_SERIES_T_MAX_S || every_s < 1 ||
        every_s > SR_SERIES_EVERY_MAX_S)
        return SR_RANGE;
    if (w.reading == SR_SPEC_UNAGREED)
        w.reading = SR_SPEC_FULL_RANGE;
    w.windowed = clause != SR_SPEC_RH && clause != SR_SPEC_T;
    w.allowance = allowance_of(spec, clause);
    w.uncertainty = uncertainty_of(sensor, clause);
    set_limits(&w, spec);
    if (!limits_ok(spec, &w, sensor))
        return SR_RANGE;
    w.percentile = spec->percentile;
    w.coverage_min_pct = spec->coverage_min_pct;
    w.from_s = from_s;
    w.to_s = to_s;
    w.every_s = every_s;
    w.brief_s = sensor->response_s + 2 * every_s;
    w.tolerated_s = (int64_t)spec->max_excursion_min * 60;
    if (w.windowed) {
        int64_t window_s = clause == SR_SPEC_RH_24H || clause == SR_SPEC_T_24H ? DAY_S : HOUR_S;
        enum sr_rc rc = sr_swing_window_begin(window_s, every_s, SR_STATS_COVERAGE_MIN_PCT,
                                              slots, room, &w.window);
        if (rc != SR_OK)
            return rc;
    }
    *out = w;
    return SR_OK;
}

/* Ends the running excursion and books it. */
static struct sr_spec_excursion book(struct sr_spec_watch *w)
{
    struct sr_spec_excursion *e = &w->now;
    int64_t lasted_s = e->end_s - e->start_s;
    e->brief = lasted_s < w->brief_s;
    e->within_uncertainty = fabs(e->extreme - e->limit) <= w->uncertainty;
    w->totals.excursions++;
    w->totals.brief += e->brief;
    w->totals.within_uncertainty += e->within_uncertainty;
    w->totals.counted_s += lasted_s > w->tolerated_s ? lasted_s : 0;
    w->totals.longest_s = lasted_s > w->totals.longest_s ? lasted_s : w->totals.longest_s;
    w->out = false;
    return *e;
}

static void open_excursion(struct sr_spec_watch *w, int64_t start_s, bool above)
{
    w->out = true;
    w->now = (struct sr_spec_excursion){
        .clause = w->clause,
        .reading = w->reading,
        .start_s = start_s,
        .extreme = w->v,
        .extreme_at_s = w->t_s,
        .limit = above ? w->high : w->low,
        .above = above,
        .from_gap = !w->known || w->known_until_s < start_s,
    };
}

static int side_of(const struct sr_spec_watch *w, double v)
{
    return (v > w->high) - (v < w->low); /* 0 for NaN */
}

/* Accounts for the newest sample, which stood until end_s. */
static void account(struct sr_spec_watch *w, int64_t end_s)
{
    int64_t start_s = w->t_s > w->from_s ? w->t_s : w->from_s;
    if (end_s > w->to_s)
        end_s = w->to_s;
    if (isnan(w->v) || end_s <= start_s)
        return;
    int side = side_of(w, w->v);
    if (side != 0 && !w->out)
        open_excursion(w, start_s, side > 0);
    if (side != 0) {
        if (side > 0 ? w->v > w->now.extreme : w->v < w->now.extreme) {
            w->now.extreme = w->v;
            w->now.extreme_at_s = w->t_s;
        }
        w->now.end_s = end_s;
        w->totals.outside_s += end_s - start_s;
    }
    if (w->totals.covered_s == 0 || w->v < w->totals.lowest)
        w->totals.lowest = w->v;
    if (w->totals.covered_s == 0 || w->v > w->totals.highest)
        w->totals.highest = w->v;
    w->totals.covered_s += end_s - start_s;
    w->known = true;
    w->known_until_s = end_s;
}

/* The value that the clause tests, made of the sample and the window before it. */
static enum sr_rc tested(struct sr_spec_watch *w, int64_t t_s, double v, double *out)
{
    *out = v;
    if (!w->windowed)
        return SR_OK;
    struct sr_swing_range r;
    enum sr_rc rc = sr_swing_window_push(&w->window, t_s, v, &r);
    if (rc == SR_OK)
        *out = w->reading == SR_SPEC_CENTRED ? v - r.mean : r.range;
    else if (rc == SR_THIN)
        *out = (double)NAN;
    return rc == SR_THIN ? SR_OK : rc;
}

enum sr_rc sr_spec_watch_push(struct sr_spec_watch *w, int64_t t_s, double v,
                              struct sr_spec_excursion *excursion, bool *ended)
{
    if (t_s < -SR_SERIES_T_MAX_S || t_s > SR_SERIES_T_MAX_S || fabs(v) > SR_SERIES_V_MAX)
        return SR_RANGE;
    if (w->started && t_s <= w->t_s)
        return SR_ORDER;
    double value = (double)NAN;
    enum sr_rc rc = tested(w, t_s, v, &value);
    if (rc != SR_OK)
        return rc;
    *ended = false;
    if (w->started) {
        int64_t end_s = w->t_s + sr_series_hold_s(w->every_s);
        bool gap = t_s > end_s || isnan(value);
        account(w, t_s < end_s ? t_s : end_s);
        if (w->out && (gap || t_s >= w->to_s || side_of(w, value) != (w->now.above ? 1 : -1))) {
            w->now.to_gap = gap || w->now.end_s == w->to_s;
            *excursion = book(w);
            *ended = true;
        }
    }
    w->started = true;
    w->t_s = t_s;
    w->v = value;
    return SR_OK;
}

/* Outside is a fact however little was seen, where all of the time must be inside; for a
 * share of it enough must be known. */
static enum sr_spec_finding finding_of(const struct sr_spec_watch *w)
{
    const struct sr_spec_totals *t = &w->totals;
    bool kept =
        100.0 * (double)(t->covered_s - t->counted_s) >= w->percentile * (double)t->covered_s;
    if (t->coverage_pct >= w->coverage_min_pct)
        return kept ? SR_SPEC_INSIDE : SR_SPEC_OUTSIDE;
    return !kept && w->percentile >= 100.0 ? SR_SPEC_OUTSIDE : SR_SPEC_UNDECIDED;
}

enum sr_rc sr_spec_watch_so_far(const struct sr_spec_watch *w, struct sr_spec_totals *totals,
                                struct sr_spec_excursion *excursion, bool *running)
{
    struct sr_spec_watch end = *w;
    if (end.started)
        account(&end, end.t_s + sr_series_hold_s(end.every_s));
    if (end.totals.covered_s == 0)
        return SR_THIN;
    *running = end.out;
    if (end.out) {
        end.now.to_gap = true;
        *excursion = book(&end);
    }
    end.totals.inside_pct = 100.0 * (double)(end.totals.covered_s - end.totals.outside_s) /
                            (double)end.totals.covered_s;
    end.totals.coverage_pct =
        100.0 * (double)end.totals.covered_s / (double)(end.to_s - end.from_s);
    end.totals.finding = finding_of(&end);
    *totals = end.totals;
    return SR_OK;
}

static const double *values_of(const struct sr_air_series *s, enum sr_spec_clause clause)
{
    return is_humidity(clause) ? s->rh_pct : s->t_c;
}

enum sr_rc sr_spec_list(const struct sr_spec *spec, enum sr_spec_clause clause,
                        enum sr_spec_reading reading, const struct sr_spec_sensor *sensor,
                        const struct sr_air_series *s, int64_t from_s, int64_t to_s,
                        struct sr_swing_slot slots[], size_t room,
                        struct sr_spec_excursion list[], size_t max, size_t *n_all)
{
    enum sr_rc rc = sr_series_check_air(s);
    struct sr_spec_watch w;
    if (rc == SR_OK)
        rc = sr_spec_watch_begin(spec, clause, reading, sensor, from_s, to_s, s->every_s, slots,
                                 room, &w);
    if (rc != SR_OK)
        return rc;
    size_t n = 0;
    struct sr_spec_excursion one;
    const double *v = values_of(s, clause);
    for (size_t i = 0; i < s->n; i++) {
        bool ended;
        rc = sr_spec_watch_push(&w, s->t_s[i], v[i], &one, &ended);
        if (rc != SR_OK)
            return rc;
        if (ended && n++ < max)
            list[n - 1] = one;
    }
    struct sr_spec_totals totals;
    bool running;
    rc = sr_spec_watch_so_far(&w, &totals, &one, &running);
    if (rc != SR_OK)
        return rc;
    if (running && n++ < max)
        list[n - 1] = one;
    *n_all = n;
    return SR_OK;
}

static enum sr_rc evaluate_one(const struct sr_spec *spec, enum sr_spec_clause clause,
                               enum sr_spec_reading reading,
                               const struct sr_spec_sensor *sensor,
                               const struct sr_air_series *s, int64_t from_s, int64_t to_s,
                               struct sr_swing_slot slots[], size_t room,
                               struct sr_spec_totals *out)
{
    struct sr_spec_watch w;
    enum sr_rc rc = sr_spec_watch_begin(spec, clause, reading, sensor, from_s, to_s, s->every_s,
                                        slots, room, &w);
    struct sr_spec_excursion one;
    bool flag;
    const double *v = values_of(s, clause);
    for (size_t i = 0; rc == SR_OK && i < s->n; i++)
        rc = sr_spec_watch_push(&w, s->t_s[i], v[i], &one, &flag);
    if (rc == SR_OK)
        rc = sr_spec_watch_so_far(&w, out, &one, &flag);
    if (rc != SR_THIN)
        return rc;
    *out = (struct sr_spec_totals){.finding = SR_SPEC_UNDECIDED};
    return SR_OK;
}

enum sr_rc sr_spec_evaluate(const struct sr_spec *spec, const struct sr_spec_sensor *sensor,
                            const struct sr_air_series *s, int64_t from_s, int64_t to_s,
                            struct sr_swing_slot slots[], size_t room,
                            struct sr_spec_report *out)
{
    enum sr_rc rc = sr_series_check_air(s);
    if (rc != SR_OK)
        return rc;
    struct sr_spec_report report = {.finding = SR_SPEC_INSIDE};
    for (int c = 0; c < SR_SPEC_CLAUSES; c++) {
        struct sr_spec_clause_report *clause = &report.clause[c];
        clause->agreed = agreed(spec, (enum sr_spec_clause)c);
        if (!clause->agreed)
            continue;
        bool windowed = c != SR_SPEC_RH && c != SR_SPEC_T;
        clause->used = SR_SPEC_HALF_RANGE;
        if (windowed)
            clause->used =
                spec->reading == SR_SPEC_UNAGREED ? SR_SPEC_FULL_RANGE : spec->reading;
        for (int r = 0; r < (windowed ? SR_SPEC_READINGS : 1); r++) {
            rc = evaluate_one(spec, (enum sr_spec_clause)c, (enum sr_spec_reading)r, sensor, s,
                              from_s, to_s, slots, room, &clause->by_reading[r]);
            if (rc != SR_OK)
                return rc;
        }
        clause->finding = clause->by_reading[clause->used].finding;
        if (clause->finding == SR_SPEC_OUTSIDE ||
            (clause->finding == SR_SPEC_UNDECIDED && report.finding == SR_SPEC_INSIDE))
            report.finding = clause->finding;
    }
    *out = report;
    return SR_OK;
}
