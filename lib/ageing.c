/* ageing.c - see ageing.h. */
#include "stillroom/ageing.h"

#include <math.h>

#include "stillroom/stats.h"

#define GAS_CONSTANT 8.314462618 /* J/(mol K), exact since 2019 */
#define EXPONENT 1.3
#define REFERENCE_RH_PCT 50.0
#define REFERENCE_K 293.15
#define DRY_RH_PCT 5.0
#define DAMP_RH_PCT 90.0

const char sr_ageing_caveat[] =
    "Comparative only: it ignores light, pollutants, mechanical damage and softening, and "
    "says nothing in years.";

static bool energy_ok(double ea_j_mol)
{
    return ea_j_mol >= 1e4 && ea_j_mol <= 2e5;
}

static bool air_ok(double t_c, double rh_pct)
{
    return t_c >= -40.0 && t_c <= 60.0 && rh_pct >= 0.0 && rh_pct <= 100.0;
}

enum sr_rc sr_ageing_multiplier(double t_c, double rh_pct, double ea_j_mol,
                                struct sr_ageing *out)
{
    if (!air_ok(t_c, rh_pct) || !energy_ok(ea_j_mol))
        return SR_RANGE;
    double rh = rh_pct < DRY_RH_PCT ? DRY_RH_PCT : rh_pct;
    double inverse_k = 1.0 / (t_c + 273.15) - 1.0 / REFERENCE_K;
    *out = (struct sr_ageing){.multiplier = pow(REFERENCE_RH_PCT / rh, EXPONENT) *
                                            exp(ea_j_mol / GAS_CONSTANT * inverse_k),
                              .dry_clamped = rh_pct<DRY_RH_PCT, .damp = rh_pct> DAMP_RH_PCT};
    return SR_OK;
}

enum sr_rc sr_ageing_over(const struct sr_air_series *s, int64_t from_s, int64_t to_s,
                          double ea_j_mol, struct sr_ageing *out, double *coverage_pct)
{
    enum sr_rc rc = sr_series_check_air(s);
    if (rc != SR_OK)
        return rc;
    if (!energy_ok(ea_j_mol))
        return SR_RANGE;
    struct sr_stats_run rate;
    rc = sr_stats_begin(from_s, to_s, s->every_s, &rate);
    struct sr_ageing whole = {0};
    for (size_t i = 0; rc == SR_OK && i < s->n; i++) {
        struct sr_ageing one;
        double r = (double)NAN;
        if (sr_ageing_multiplier(s->t_c[i], s->rh_pct[i], ea_j_mol, &one) == SR_OK) {
            r = 1.0 / one.multiplier;
            struct sr_series rh = sr_series_humidity(s);
            if (sr_series_covered_s(&rh, i, from_s, to_s) > 0) {
                whole.dry_clamped |= one.dry_clamped;
                whole.damp |= one.damp;
            }
        }
        rc = sr_stats_add(&rate, s->t_s[i], r);
    }
    struct sr_stats stats;
    if (rc == SR_OK)
        rc = sr_stats_so_far(&rate, &stats);
    if (rc != SR_OK)
        return rc;
    whole.multiplier = 1.0 / stats.mean;
    *out = whole;
    *coverage_pct = stats.coverage_pct;
    return SR_OK;
}
