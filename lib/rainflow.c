/* rainflow.c - see rainflow.h. */
#include "stillroom/rainflow.h"

#include <math.h>
#include <string.h>

#define V_MAX 1e6
#define RANK_RANGE 20.0

const char sr_rainflow_caveat[] =
    "Ranking only: the sum may put periods of one room in order; no exponent has been "
    "validated for paintings.";

enum sr_rc sr_rainflow_begin(double gate, double stack[], size_t room, struct sr_rainflow *out)
{
    if (!(gate >= 0.0 && gate <= V_MAX))
        return SR_RANGE;
    if (stack == NULL || room == 0)
        return SR_NOMEM;
    *out = (struct sr_rainflow){.gate = gate, .stack = stack, .room = room};
    return SR_OK;
}

static void found(struct sr_rainflow_list *list, double a, double b, double count)
{
    list->cycles[list->n++] =
        (struct sr_rainflow_cycle){.range = fabs(b - a), .mean = (a + b) / 2.0, .count = count};
}

/* The rule of the three last reversals, E1049 5.4.4: the inner range is a cycle once the
 * outer one is at least as great - half a cycle where it holds the starting point. */
static enum sr_rc reversal(struct sr_rainflow *rf, double v, struct sr_rainflow_list *list)
{
    /* Each cycle found takes a reversal off the stack, so this much room always does. */
    if (rf->depth == rf->room || list->room - list->n < rf->depth)
        return SR_NOMEM;
    double *stack = rf->stack;
    stack[rf->depth++] = v;
    while (rf->depth >= 3) {
        size_t top = rf->depth - 1;
        double outer = fabs(stack[top] - stack[top - 1]);
        double inner = fabs(stack[top - 1] - stack[top - 2]);
        if (outer < inner)
            break;
        if (rf->depth == 3) {
            found(list, stack[0], stack[1], 0.5);
            memmove(stack, stack + 1, 2 * sizeof *stack);
            rf->depth = 2;
        } else {
            found(list, stack[top - 2], stack[top - 1], 1.0);
            stack[top - 2] = stack[top];
            rf->depth -= 2;
        }
    }
    return SR_OK;
}

enum sr_rc sr_rainflow_push(struct sr_rainflow *rf, double v, struct sr_rainflow_list *list)
{
    if (isnan(v))
        return SR_OK;
    if (fabs(v) > V_MAX)
        return SR_RANGE;
    if (!rf->started) {
        enum sr_rc rc = reversal(rf, v, list);
        if (rc != SR_OK)
            return rc;
        rf->started = true;
        rf->turn = v;
        return SR_OK;
    }
    double move = v - rf->turn;
    if (rf->heading == 0) {
        if (fabs(move) > rf->gate) {
            rf->heading = move > 0.0 ? 1 : -1;
            rf->turn = v;
        }
    } else if (move * rf->heading > 0.0) {
        rf->turn = v;
    } else if (fabs(move) > rf->gate) {
        enum sr_rc rc = reversal(rf, rf->turn, list);
        if (rc != SR_OK)
            return rc;
        rf->heading = -rf->heading;
        rf->turn = v;
    }
    return SR_OK;
}

enum sr_rc sr_rainflow_close(struct sr_rainflow *rf, struct sr_rainflow_list *list)
{
    if (rf->heading != 0) {
        enum sr_rc rc = reversal(rf, rf->turn, list);
        if (rc != SR_OK)
            return rc;
        rf->heading = 0;
    }
    if (rf->depth > 0 && list->room - list->n < rf->depth - 1)
        return SR_NOMEM;
    for (size_t i = 1; i < rf->depth; i++)
        found(list, rf->stack[i - 1], rf->stack[i], 0.5);
    rf->depth = 0;
    rf->started = false;
    return SR_OK;
}

enum sr_rc sr_rainflow_count(const double v[], size_t n, double gate, double stack[],
                             struct sr_rainflow_list *list)
{
    struct sr_rainflow_list counted = {list->cycles, list->room, 0};
    if (!(gate >= 0.0 && gate <= V_MAX))
        return SR_RANGE;
    if (n > 0) {
        struct sr_rainflow rf;
        enum sr_rc rc = sr_rainflow_begin(gate, stack, n, &rf);
        for (size_t i = 0; rc == SR_OK && i < n; i++)
            rc = sr_rainflow_push(&rf, v[i], &counted);
        if (rc == SR_OK)
            rc = sr_rainflow_close(&rf, &counted);
        if (rc != SR_OK)
            return rc;
    }
    list->n = counted.n;
    return SR_OK;
}

enum sr_rc sr_rainflow_histogram(const struct sr_rainflow_list *list, double width,
                                 double bins[], size_t n)
{
    if (!(width > 0.0) || n == 0)
        return SR_RANGE;
    for (size_t i = 0; i < n; i++)
        bins[i] = 0.0;
    for (size_t i = 0; i < list->n; i++) {
        double bin = list->cycles[i].range / width;
        bins[bin < (double)n ? (size_t)bin : n - 1] += list->cycles[i].count;
    }
    return SR_OK;
}

enum sr_rc sr_rainflow_rank(const struct sr_rainflow_list *list, double m, double *out)
{
    if (!(m >= 1.0 && m <= 20.0))
        return SR_RANGE;
    double sum = 0.0;
    for (size_t i = 0; i < list->n; i++)
        sum += list->cycles[i].count * pow(list->cycles[i].range / RANK_RANGE, m);
    *out = sum;
    return SR_OK;
}
