/* percentile.c - the percentile of stats.h: selection in place, without sorting. */
#include "stillroom/stats.h"

#include <float.h>
#include <math.h>

enum {
    SORT_BELOW = 48, /* so few are sorted outright */
    SAMPLE_MAX = 128
};

static void insertion_sort(double v[], size_t n)
{
    for (size_t i = 1; i < n; i++) {
        double x = v[i];
        size_t j = i;
        for (; j > 0 && v[j - 1] > x; j--)
            v[j] = v[j - 1];
        v[j] = x;
    }
}

/* A pivot just past the k-th of n values on the side of the greater part, guessed from an
 * even sample, so that the first pass throws nearly all of that part away: the thought of
 * Floyd & Rivest (1975), Algorithm 489. */
static double pick_pivot(const double v[], size_t n, size_t k)
{
    double sample[SAMPLE_MAX];
    size_t m = n / 16 < SAMPLE_MAX ? n / 16 + 1 : SAMPLE_MAX;
    for (size_t i = 0; i < m; i++)
        sample[i] = v[i * (n / m)];
    insertion_sort(sample, m);
    double p = ((double)k + 0.5) / (double)n;
    double margin = 1.5 * sqrt((double)m * p * (1.0 - p)) + 0.5;
    double rank = (double)m * p + (p < 0.5 ? margin : -margin);
    if (rank < 0.0)
        rank = 0.0;
    return sample[rank < (double)m ? (size_t)rank : m - 1];
}

/* Moves the values below the pivot (or equal to it as well) to the front and counts them.
 * No branch depends on a value, so noise costs no mispredictions. */
static size_t partition_below(double v[], size_t n, double pivot)
{
    size_t front = 0;
    for (size_t i = 0; i < n; i++) {
        double x = v[i];
        v[i] = v[front];
        v[front] = x;
        front += x < pivot;
    }
    return front;
}

static size_t partition_not_above(double v[], size_t n, double pivot)
{
    size_t front = 0;
    for (size_t i = 0; i < n; i++) {
        double x = v[i];
        v[i] = v[front];
        v[front] = x;
        front += x <= pivot;
    }
    return front;
}

/* Puts the k-th smallest of v at v[k], with nothing greater before and nothing smaller
 * after it. True: the next greater one is at v[k + 1] as well. */
static bool select_kth(double v[], size_t n, size_t k)
{
    while (n >= SORT_BELOW) {
        double pivot = pick_pivot(v, n, k);
        size_t front = partition_below(v, n, pivot);
        if (k < front) {
            n = front;
            continue;
        }
        if (front == 0) { /* nothing smaller: the equal ones are the front, and in place */
            front = partition_not_above(v, n, pivot);
            if (k < front)
                return k + 1 < front;
        }
        v += front;
        n -= front;
        k -= front;
    }
    insertion_sort(v, n);
    return k + 1 < n;
}

/* Moves the NaN values to the end and leaves them out of n. */
static enum sr_rc set_aside(double v[], size_t *n)
{
    size_t left = *n;
    for (size_t i = 0; i < left;) {
        double x = v[i];
        if (isinf(x))
            return SR_RANGE;
        if (isnan(x)) {
            v[i] = v[--left];
            v[left] = x;
        } else {
            i++;
        }
    }
    *n = left;
    return SR_OK;
}

enum sr_rc sr_stats_percentile(double v[], size_t n, double p_pct, double *out)
{
    if (!(p_pct >= 0.0 && p_pct <= 100.0) || (v == NULL && n > 0))
        return SR_RANGE;
    size_t odd = 0;
    for (size_t i = 0; i < n; i++)
        odd += !(fabs(v[i]) <= DBL_MAX);
    if (odd > 0) {
        enum sr_rc rc = set_aside(v, &n);
        if (rc != SR_OK)
            return rc;
    }
    if (n == 0)
        return SR_THIN;
    double h = (double)(n - 1) * (p_pct / 100.0);
    size_t k = (size_t)h;
    bool next_placed = select_kth(v, n, k);
    double low = v[k];
    double part = h - (double)k;
    if (k + 1 < n && part > 0.0) {
        double next = v[k + 1];
        for (size_t i = k + 2; i < n && !next_placed; i++)
            next = v[i] < next ? v[i] : next;
        low += part * (next - low);
    }
    *out = low;
    return SR_OK;
}
