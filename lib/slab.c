/* slab.c - see slab.h. */
#include "stillroom/slab.h"

#include <math.h>
#include <stdbool.h>

#define PI 3.14159265358979323846
#define FO_MAX 1e6
/* Below this the series of sines would need many terms, and the board is still as good as
 * infinitely thick: what the other face adds is below 1e-100. */
#define FO_SHORT 1e-3
#define NEGLIGIBLE 40.0 /* exp(-40) is nothing beside 1 */
#define SHARE_MAX (1.0 - 1e-12)

static bool within(double x, double low, double high)
{
    return x >= low && x <= high; /* NaN is not */
}

static double mean_share(double fo)
{
    double left = 0.0;

    if (fo < FO_SHORT)
        return 4.0 * sqrt(fo / PI);
    for (double k = 1.0; k * k * PI * PI * fo < NEGLIGIBLE; k += 2.0)
        left += 8.0 / (k * k * PI * PI) * exp(-k * k * PI * PI * fo);
    return 1.0 - left;
}

static double centre_share(double fo)
{
    double left = 0.0, sign = 1.0;

    if (fo < FO_SHORT)
        return 0.0;
    for (double k = 1.0; k * k * PI * PI * fo < NEGLIGIBLE; k += 2.0, sign = -sign)
        left += sign * 4.0 / (k * PI) * exp(-k * k * PI * PI * fo);
    return fmax(1.0 - left, 0.0);
}

enum sr_rc sr_slab_mean(double fo, double *out)
{
    if (!within(fo, 0.0, FO_MAX))
        return SR_RANGE;
    *out = mean_share(fo);
    return SR_OK;
}

enum sr_rc sr_slab_centre(double fo, double *out)
{
    if (!within(fo, 0.0, FO_MAX))
        return SR_RANGE;
    *out = centre_share(fo);
    return SR_OK;
}

/* Both shares rise with fo, so halving the interval cannot miss. */
static enum sr_rc invert(double (*share_at)(double), double share, double *out_fo)
{
    double low = 0.0, high = 4.0;

    if (!within(share, 0.0, 1.0) || !(share < 1.0))
        return SR_RANGE;
    if (share > SHARE_MAX)
        return SR_NO_SOLUTION;
    for (int i = 0; i < 80; i++) {
        const double middle = 0.5 * (low + high);
        if (share_at(middle) < share)
            low = middle;
        else
            high = middle;
    }
    *out_fo = 0.5 * (low + high);
    return SR_OK;
}

enum sr_rc sr_slab_fo_for_mean(double share, double *out_fo)
{
    return invert(mean_share, share, out_fo);
}

enum sr_rc sr_slab_fo_for_centre(double share, double *out_fo)
{
    return invert(centre_share, share, out_fo);
}

/* The n-th root lies between (n - 1) pi and (n - 1/2) pi; there b sin b - bi cos b rises from
 * below zero to above it and has no pole, unlike the tangent. */
static double root(double bi, int n)
{
    const double base = (n - 1) * PI;
    double low = 0.0, high = 0.5 * PI;

    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        if ((base + middle) * sin(middle) < bi * cos(middle))
            low = middle;
        else
            high = middle;
    }
    return base + 0.5 * (low + high);
}

enum sr_rc sr_slab_root(double bi, int n, double *out_b)
{
    if (!within(bi, 1e-6, 1e9) || n < 1 || n > 1000)
        return SR_RANGE;
    *out_b = root(bi, n);
    return SR_OK;
}

enum sr_rc sr_slab_mean_resisted(double bi, double fo_half, double *out)
{
    double left = 0.0;

    if (!within(bi, 1e-6, 1e9) || !within(fo_half, 0.0, FO_MAX) ||
        (fo_half > 0.0 && fo_half < 1e-5))
        return SR_RANGE;
    if (!(fo_half > 0.0)) {
        *out = 0.0;
        return SR_OK;
    }
    for (int n = 1;; n++) {
        const double b = root(bi, n);
        if (b * b * fo_half > NEGLIGIBLE)
            break;
        left += 2.0 * bi * bi / (b * b * (b * b + bi * bi + bi)) * exp(-b * b * fo_half);
    }
    *out = 1.0 - left;
    return SR_OK;
}

static bool board_ok(double thickness_m, int faces, double d_m2_s)
{
    return within(thickness_m, 1e-5, 1.0) && (faces == 1 || faces == 2) &&
           within(d_m2_s, 1e-14, 1e-6);
}

/* Thickness of the board with both faces open that behaves alike. */
static double two_faced(double thickness_m, int faces)
{
    return faces == 2 ? thickness_m : 2.0 * thickness_m;
}

enum sr_rc sr_slab_response_s(double thickness_m, int faces, double d_m2_s, double share,
                              double *out_s)
{
    double fo;

    if (!board_ok(thickness_m, faces, d_m2_s))
        return SR_RANGE;
    const enum sr_rc rc = sr_slab_fo_for_mean(share, &fo);
    if (rc != SR_OK)
        return rc;
    const double l = two_faced(thickness_m, faces);
    *out_s = fo * l * l / d_m2_s;
    return SR_OK;
}

enum sr_rc sr_slab_gain(double thickness_m, int faces, double d_m2_s, double period_s,
                        double *out)
{
    if (!board_ok(thickness_m, faces, d_m2_s) || !within(period_s, 1.0, 1e10))
        return SR_RANGE;
    /* |tanh z / z| with z = (1 + i) u, written without the difference of two near numbers. */
    const double u = 0.5 * two_faced(thickness_m, faces) * sqrt(PI / period_s / d_m2_s);
    double ratio = 1.0; /* of the squares; far in, sinh overflows and only it matters */
    if (u < 300.0) {
        const double sh = sinh(u), s = sin(u), c = cos(u);
        ratio = (sh * sh + s * s) / (sh * sh + c * c);
    }
    *out = u > 1e-6 ? sqrt(0.5 * ratio) / u : 1.0;
    return SR_OK;
}
