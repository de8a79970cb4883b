/* shrink.c - see shrink.h. */
#include "stillroom/shrink.h"

#include <math.h>
#include <string.h>

#define HANDBOOK SR_SHRINK_HANDBOOK
#define HOADLEY SR_SHRINK_HOADLEY

static const struct sr_shrink_species species[] = {
    /* Wood Handbook, Table 13-5: coefficients. */
    {"basswood", "American lime (basswood)", HANDBOOK, false, 0.00230, 0.00330},
    {"american-beech", "American beech", HANDBOOK, false, 0.00190, 0.00431},
    {"american-white-oak", "American white oak", HANDBOOK, false, 0.00180, 0.00365},
    {"black-walnut", "black walnut", HANDBOOK, false, 0.00190, 0.00274},
    {"yellow-poplar", "tulipwood (yellow-poplar)", HANDBOOK, false, 0.00158, 0.00289},
    {"red-alder", "red alder", HANDBOOK, false, 0.00151, 0.00256},
    {"black-cherry", "black cherry", HANDBOOK, false, 0.00126, 0.00248},
    {"white-pine", "eastern white pine", HANDBOOK, true, 0.00071, 0.00212},
    {"sitka-spruce", "Sitka spruce", HANDBOOK, true, 0.00148, 0.00263},
    {"swietenia-mahogany", "mahogany (Swietenia)", HANDBOOK, true, 0.00172, 0.00238},
    /* Hoadley (1998), Table 1: total shrinkage. */
    {"spruce", "spruce (Picea)", HOADLEY, false, 3.6, 7.4},
    {"scots-pine", "Scots pine", HOADLEY, false, 4.0, 7.7},
    {"lime", "lime (Tilia)", HOADLEY, false, 6.8, 9.5},
    {"poplar", "poplar (Populus)", HOADLEY, false, 3.4, 8.5},
    {"walnut", "walnut (Juglans regia)", HOADLEY, false, 4.3, 6.4},
    {"oak", "oak", HOADLEY, false, 5.2, 10.2},
    {"beech", "beech", HOADLEY, false, 5.8, 11.8},
    {"mahogany", "mahogany", HOADLEY, false, 3.2, 5.1},
};

/* Wood Handbook ch. 13: the coefficient from total shrinkage, and where it may be used. */
static const double relation_slope = 3000.0;
static const double relation_offset = 20.0;
static const double linear_from_pct = 6.0;
static const double linear_to_pct = 14.0;

static bool within(double x, double low, double high)
{
    return x >= low && x <= high; /* NaN is not */
}

static bool cut_ok(enum sr_shrink_cut cut)
{
    return cut == SR_SHRINK_RADIAL || cut == SR_SHRINK_TANGENTIAL;
}

const struct sr_shrink_species *sr_shrink_species(size_t i)
{
    return i < sizeof species / sizeof *species ? &species[i] : NULL;
}

const struct sr_shrink_species *sr_shrink_find(const char *key)
{
    for (size_t i = 0; i < sizeof species / sizeof *species; i++)
        if (strcmp(species[i].key, key) == 0)
            return &species[i];
    return NULL;
}

/* A caller's own species must be as sane as one of ours: movement below 2 % per percent. */
static enum sr_rc printed(const struct sr_shrink_species *s, enum sr_shrink_cut cut,
                          double *out)
{
    const double x = cut == SR_SHRINK_RADIAL ? s->radial : s->tangential;

    if (!cut_ok(cut) || (s->source != HANDBOOK && s->source != HOADLEY) ||
        !within(x, 1e-6, s->source == HANDBOOK ? 0.02 : 30.0))
        return SR_RANGE;
    *out = x;
    return SR_OK;
}

enum sr_rc sr_shrink_coefficient(const struct sr_shrink_species *s, enum sr_shrink_cut cut,
                                 double *out_per_pct)
{
    double x;
    const enum sr_rc rc = printed(s, cut, &x);

    if (rc == SR_OK)
        *out_per_pct = s->source == HANDBOOK ? x : x / 100.0 / SR_SHRINK_FIBRE_SATURATION_PCT;
    return rc;
}

enum sr_rc sr_shrink_total(const struct sr_shrink_species *s, enum sr_shrink_cut cut,
                           double *out_pct)
{
    double x;
    const enum sr_rc rc = printed(s, cut, &x);

    if (rc == SR_OK)
        *out_pct = s->source == HANDBOOK ? relation_slope / (1.0 / x + relation_offset) : x;
    return rc;
}

enum sr_rc sr_shrink_from_total(double total_pct, double *out_per_pct)
{
    if (!(total_pct > 0.0 && total_pct <= 30.0))
        return SR_RANGE;
    *out_per_pct = 1.0 / (relation_slope / total_pct - relation_offset);
    return SR_OK;
}

enum sr_rc sr_shrink_movement(const struct sr_shrink_species *s, enum sr_shrink_cut cut,
                              double width_mm, double m1_pct, double m2_pct, double *out_mm)
{
    double per_pct, total_pct;

    enum sr_rc rc = sr_shrink_coefficient(s, cut, &per_pct);
    if (rc == SR_OK)
        rc = sr_shrink_total(s, cut, &total_pct);
    if (rc != SR_OK)
        return rc;
    if (!within(width_mm, 0.0, 10000.0) || !within(m1_pct, 0.0, 300.0) ||
        !within(m2_pct, 0.0, 300.0))
        return SR_RANGE;
    if (!within(m1_pct, linear_from_pct, linear_to_pct) ||
        !within(m2_pct, linear_from_pct, linear_to_pct)) {
        per_pct = total_pct / 100.0 / SR_SHRINK_FIBRE_SATURATION_PCT;
        m1_pct = fmin(m1_pct, SR_SHRINK_FIBRE_SATURATION_PCT);
        m2_pct = fmin(m2_pct, SR_SHRINK_FIBRE_SATURATION_PCT);
    }
    *out_mm = width_mm * per_pct * (m2_pct - m1_pct);
    return SR_OK;
}
