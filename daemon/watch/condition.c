/* condition.c - see condition.h. */
#include "watch/condition.h"

#include <math.h>

void condition_begin(struct condition *c, const struct site_limit *limit)
{
    *c = (struct condition){.limit = limit, .value = (double)NAN, .worst = (double)NAN};
    for (int i = 0; i <= CONDITION_SLICES; i++)
        c->slices[i].index = -1;
}

static bool wants_low(const struct site_limit *l)
{
    return l->rule == RULE_BELOW || l->rule == RULE_DEW_MARGIN;
}

bool condition_worse(const struct site_limit *limit, double a, double b)
{
    return isnan(b) || (wants_low(limit) ? a < b : a > b);
}

/* +1 in breach, -1 back inside by the deadband, 0 between the two. */
static int judge(const struct site_limit *l, double v)
{
    if (l->rule == RULE_CONTACT)
        return (v >= 0.5) == l->on ? 1 : -1;
    double out_by = wants_low(l) ? l->value - v : v - l->value;
    return out_by > 0 ? 1 : out_by <= -l->deadband ? -1 : 0;
}

/* Puts a value into its slice; true when it begins a new one, so that the range of the slices
 * before it can be judged. */
static bool slice_add(struct condition *c, int64_t t_s, double value)
{
    int64_t index = t_s / (c->limit->window_s / CONDITION_SLICES);
    struct condition_slice *slot = &c->slices[index % (CONDITION_SLICES + 1)];
    if (slot->index == index) {
        slot->sum += value;
        slot->n++;
        return false;
    }
    *slot = (struct condition_slice){.index = index, .sum = value, .n = 1};
    return true;
}

/* Range of the means of the whole slices in the window that ends before `now`'s slice; NaN
 * with less than three quarters of them there. */
static double slice_range(const struct condition *c, int64_t t_s)
{
    int64_t now = t_s / (c->limit->window_s / CONDITION_SLICES);
    double low = INFINITY, high = -INFINITY;
    int have = 0;
    for (int i = 0; i <= CONDITION_SLICES; i++) {
        const struct condition_slice *s = &c->slices[i];
        if (s->index < 0 || s->index >= now || s->index < now - CONDITION_SLICES)
            continue;
        double mean = s->sum / (double)s->n;
        low = fmin(low, mean);
        high = fmax(high, mean);
        have++;
    }
    return have * 4 >= CONDITION_SLICES * 3 ? high - low : (double)NAN;
}

static enum condition_edge in_breach(struct condition *c, int64_t t_s)
{
    c->clear_since_s = 0;
    if (c->breach_since_s == 0) {
        c->breach_since_s = t_s;
        c->worst = c->value;
    } else if (condition_worse(c->limit, c->value, c->worst)) {
        c->worst = c->value;
    }
    if (c->raised || t_s - c->breach_since_s < c->limit->on_delay_s)
        return EDGE_NONE;
    c->raised = true;
    return EDGE_RAISED;
}

static enum condition_edge back_inside(struct condition *c, int64_t t_s)
{
    if (!c->raised) {
        c->breach_since_s = 0;
        c->worst = (double)NAN;
        return EDGE_NONE;
    }
    if (c->clear_since_s == 0)
        c->clear_since_s = t_s;
    if (t_s - c->clear_since_s < c->limit->off_delay_s)
        return EDGE_NONE;
    c->raised = false;
    c->breach_since_s = 0;
    c->clear_since_s = 0;
    return EDGE_CLEARED;
}

enum condition_edge condition_feed(struct condition *c, int64_t t_s, double value)
{
    if (c->limit->rule == RULE_RANGE) {
        if (!slice_add(c, t_s, value))
            return EDGE_NONE;
        value = slice_range(c, t_s);
        if (isnan(value))
            return EDGE_NONE;
    }
    c->value = value;
    int side = judge(c->limit, value);
    if (side > 0)
        return in_breach(c, t_s);
    if (side < 0)
        return back_inside(c, t_s);
    /* Within the deadband an alarm lasts, but a breach that has not become one is over. */
    c->clear_since_s = 0;
    if (!c->raised) {
        c->breach_since_s = 0;
        c->worst = (double)NAN;
    }
    return EDGE_NONE;
}

size_t condition_save(const struct condition *c, double out[CONDITION_STATE])
{
    out[0] = c->raised ? 1 : 0;
    out[1] = (double)c->breach_since_s;
    out[2] = (double)c->clear_since_s;
    out[3] = c->value;
    out[4] = c->worst;
    if (c->limit->rule != RULE_RANGE)
        return CONDITION_HEAD; /* the slices are another rule's */
    double *at = out + CONDITION_HEAD;
    for (int i = 0; i <= CONDITION_SLICES; i++) {
        *at++ = (double)c->slices[i].index;
        *at++ = c->slices[i].sum;
        *at++ = (double)c->slices[i].n;
    }
    return CONDITION_STATE;
}

void condition_load(struct condition *c, const double in[CONDITION_STATE])
{
    c->raised = in[0] > 0.5;
    c->breach_since_s = (int64_t)in[1];
    c->clear_since_s = (int64_t)in[2];
    c->value = in[3];
    c->worst = in[4];
    if (c->limit->rule != RULE_RANGE)
        return;
    const double *at = in + CONDITION_HEAD;
    for (int i = 0; i <= CONDITION_SLICES; i++) {
        c->slices[i].index = (int64_t)*at++;
        c->slices[i].sum = *at++;
        c->slices[i].n = (int64_t)*at++;
    }
}
