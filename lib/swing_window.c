/* swing_window.c - the moving-window range of swing.h.
 *
 * The slots are a ring of the samples in the window and the one before it, which may still
 * stand for the window's beginning. Two queues of running numbers lie in the same slots, one
 * with values rising, one falling: their fronts are the extremes, each sample enters and
 * leaves each once. Sums are kept in whole steps of 2^-20, so taking away what leaves is
 * exact and a year of pushing drifts by nothing.
 */
#include "stillroom/swing.h"

#include <math.h>

#define FIXED 1048576.0 /* 2^20 steps to the unit: 1e6 x 366 days x this stays below 2^63 */

size_t sr_swing_slots(int64_t window_s, int64_t every_s)
{
    return every_s > 0 && window_s > 0 ? (size_t)(window_s / every_s) + 3 : 3;
}

enum sr_rc sr_swing_window_begin(int64_t window_s, int64_t every_s, double coverage_min_pct,
                                 struct sr_swing_slot slots[], size_t room,
                                 struct sr_swing_window *out)
{
    if (window_s < 1 || window_s > SR_SERIES_EVERY_MAX_S || every_s < 1 ||
        every_s > SR_SERIES_EVERY_MAX_S || !(coverage_min_pct > 0.0) ||
        !(coverage_min_pct <= 100.0))
        return SR_RANGE;
    if (slots == NULL || room < 2)
        return SR_NOMEM;
    *out = (struct sr_swing_window){.window_s = window_s,
                                    .every_s = every_s,
                                    .coverage_min_pct = coverage_min_pct,
                                    .slots = slots,
                                    .room = room};
    return SR_OK;
}

static struct sr_swing_slot *slot(const struct sr_swing_window *w, size_t number)
{
    return &w->slots[number % w->room];
}

/* How long a sample stands when the next one comes at next_t_s. */
static int64_t stood_s(const struct sr_swing_window *w, const struct sr_swing_slot *sample,
                       int64_t next_t_s)
{
    int64_t hold_s = sr_series_hold_s(w->every_s);
    if (isnan(sample->v))
        return 0;
    return next_t_s - sample->t_s < hold_s ? next_t_s - sample->t_s : hold_s;
}

static int64_t fixed(double v)
{
    return isnan(v) ? 0 : (int64_t)llround(v * FIXED);
}

/* Drops what a window ending at t_s no longer needs; keeps one sample at or before its
 * beginning. */
static void evict(struct sr_swing_window *w, int64_t t_s)
{
    int64_t begin_s = t_s - w->window_s;
    while (w->next - w->first >= 2 && slot(w, w->first + 1)->t_s <= begin_s) {
        const struct sr_swing_slot *old = slot(w, w->first);
        int64_t held_s = stood_s(w, old, slot(w, w->first + 1)->t_s);
        w->covered_s -= held_s;
        w->sum -= held_s * fixed(old->v);
        w->first++;
    }
    while (w->low_first < w->low_next && slot(w, slot(w, w->low_first)->low)->t_s < begin_s)
        w->low_first++;
    while (w->high_first < w->high_next && slot(w, slot(w, w->high_first)->high)->t_s < begin_s)
        w->high_first++;
}

static void enter(struct sr_swing_window *w, int64_t t_s, double v)
{
    if (w->next > w->first) {
        const struct sr_swing_slot *before = slot(w, w->next - 1);
        int64_t held_s = stood_s(w, before, t_s);
        w->covered_s += held_s;
        w->sum += held_s * fixed(before->v);
    }
    size_t number = w->next++;
    slot(w, number)->t_s = t_s;
    slot(w, number)->v = v;
    if (isnan(v))
        return;
    while (w->low_next > w->low_first && slot(w, slot(w, w->low_next - 1)->low)->v >= v)
        w->low_next--;
    slot(w, w->low_next++)->low = number;
    while (w->high_next > w->high_first && slot(w, slot(w, w->high_next - 1)->high)->v <= v)
        w->high_next--;
    slot(w, w->high_next++)->high = number;
}

static enum sr_rc answer(const struct sr_swing_window *w, int64_t t_s,
                         struct sr_swing_range *out)
{
    int64_t covered_s = w->covered_s;
    int64_t inside_s = w->covered_s; /* by the samples within: the mean is theirs, as the */
    int64_t sum = w->sum;            /* range is, so no value is further from it than that */
    const struct sr_swing_slot *oldest = slot(w, w->first);
    int64_t before_s = t_s - w->window_s - oldest->t_s;
    if (before_s > 0 && w->next - w->first >= 2) {
        int64_t held_s = stood_s(w, oldest, slot(w, w->first + 1)->t_s);
        covered_s -= before_s < held_s ? before_s : held_s;
        inside_s -= held_s;
        sum -= held_s * fixed(oldest->v);
    }
    double coverage_pct = 100.0 * (double)covered_s / (double)w->window_s;
    if (covered_s <= 0 || coverage_pct < w->coverage_min_pct)
        return SR_THIN;
    const struct sr_swing_slot *low = slot(w, slot(w, w->low_first)->low);
    const struct sr_swing_slot *high = slot(w, slot(w, w->high_first)->high);
    *out = (struct sr_swing_range){
        .t_s = t_s,
        .low = low->v,
        .high = high->v,
        .range = high->v - low->v,
        .low_at_s = low->t_s,
        .high_at_s = high->t_s,
        .mean = inside_s > 0 ? (double)sum / ((double)inside_s * FIXED) : low->v,
        .coverage_pct = coverage_pct};
    return SR_OK;
}

enum sr_rc sr_swing_window_push(struct sr_swing_window *w, int64_t t_s, double v,
                                struct sr_swing_range *out)
{
    if (t_s < -SR_SERIES_T_MAX_S || t_s > SR_SERIES_T_MAX_S || fabs(v) > SR_SERIES_V_MAX)
        return SR_RANGE;
    if (w->next > w->first && t_s <= slot(w, w->next - 1)->t_s)
        return SR_ORDER;
    struct sr_swing_window as_before = *w;
    evict(w, t_s);
    if (w->next - w->first == w->room) {
        *w = as_before;
        return SR_NOMEM;
    }
    enter(w, t_s, v);
    return isnan(v) ? SR_THIN : answer(w, t_s, out);
}

enum sr_rc sr_swing_greatest(const struct sr_series *s, int64_t window_s,
                             double coverage_min_pct, struct sr_swing_slot slots[], size_t room,
                             struct sr_swing_range *out)
{
    enum sr_rc rc = sr_series_check(s);
    if (rc != SR_OK)
        return rc;
    struct sr_swing_window w;
    rc = sr_swing_window_begin(window_s, s->every_s, coverage_min_pct, slots, room, &w);
    if (rc != SR_OK)
        return rc;
    struct sr_swing_range greatest = {.range = -1.0};
    for (size_t i = 0; i < s->n; i++) {
        struct sr_swing_range now;
        rc = sr_swing_window_push(&w, s->t_s[i], s->v[i], &now);
        if (rc != SR_OK && rc != SR_THIN)
            return rc;
        if (rc == SR_OK && now.range > greatest.range)
            greatest = now;
    }
    if (greatest.range < 0.0)
        return SR_THIN;
    *out = greatest;
    return SR_OK;
}
