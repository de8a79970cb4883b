/* gesso.c - see gesso.h. */
#include "stillroom/gesso.h"

#include <math.h>

#include "stillroom/wood.h"

const char sr_gesso_caveat[] =
    "For ranking events, not a prediction of cracking: limits from this strain are about three "
    "times tighter than the swings of 15 % that sound new gesso was found to bear. The "
    "object's own history outranks them.";

static bool coefficient_ok(double c_per_pct)
{
    return c_per_pct > 0.0 && c_per_pct <= 0.02;
}

enum sr_rc sr_gesso_strain(double c_per_pct, double m1_pct, double m2_pct, double *out)
{
    if (!coefficient_ok(c_per_pct) || !(m1_pct >= 0.0 && m1_pct <= 100.0) ||
        !(m2_pct >= 0.0 && m2_pct <= 100.0))
        return SR_RANGE;
    *out = c_per_pct * (m2_pct - m1_pct);
    return SR_OK;
}

enum sr_rc sr_gesso_strain_between(double c_per_pct, double t_c, double rh1_pct, double rh2_pct,
                                   double *out)
{
    double m1_pct, m2_pct;
    enum sr_rc rc = sr_wood_emc(t_c, rh1_pct, &m1_pct);
    if (rc == SR_OK)
        rc = sr_wood_emc(t_c, rh2_pct, &m2_pct);
    return rc == SR_OK ? sr_gesso_strain(c_per_pct, m1_pct, m2_pct, out) : rc;
}

enum sr_rc sr_gesso_limits(double c_per_pct, double t_c, double rh_pct, double strain_limit,
                           double *out_low_pct, double *out_high_pct)
{
    double m_pct;
    double low_pct = 0.0;
    double high_pct = SR_WOOD_RH_MAX_PCT;
    if (!coefficient_ok(c_per_pct) || !(strain_limit > 0.0 && strain_limit <= 0.1))
        return SR_RANGE;
    enum sr_rc rc = sr_wood_emc(t_c, rh_pct, &m_pct);
    if (rc != SR_OK)
        return rc;
    double change_pct = strain_limit / c_per_pct;
    if (m_pct > change_pct)
        rc = sr_wood_rh(t_c, m_pct - change_pct, &low_pct);
    if (rc == SR_OK)
        rc = sr_wood_rh(t_c, m_pct + change_pct, &high_pct);
    if (rc == SR_NO_SOLUTION) /* more than any air can give */
        rc = SR_OK;
    if (rc != SR_OK)
        return rc;
    *out_low_pct = low_pct;
    *out_high_pct = high_pct;
    return SR_OK;
}

enum sr_rc sr_gesso_judge(const struct sr_gesso_state *state, struct sr_gesso *out)
{
    struct sr_gesso g = {.level = SR_GESSO_EASY};
    enum sr_rc rc = sr_gesso_strain_between(state->c_per_pct, state->t_c, state->mean_rh_pct,
                                            state->felt_rh_pct, &g.felt_strain);
    if (rc == SR_OK)
        rc = sr_gesso_strain_between(state->c_per_pct, state->t_c, state->mean_rh_pct,
                                     state->raw_rh_pct, &g.raw_strain);
    if (rc != SR_OK)
        return rc;
    double band_pct = state->flaking ? SR_GESSO_FLAKING_RH_PCT : SR_GESSO_SAFE_RH_PCT;
    g.low_pct = state->mean_rh_pct - band_pct;
    g.high_pct = state->mean_rh_pct + band_pct;
    if (state->felt_rh_pct < g.low_pct || state->felt_rh_pct > g.high_pct)
        g.level = SR_GESSO_CAUTION;
    if (fabs(g.felt_strain) > SR_GESSO_YIELD_STRAIN ||
        fabs(g.raw_strain) > SR_GESSO_FAILURE_STRAIN)
        g.level = SR_GESSO_ACTION;
    *out = g;
    return SR_OK;
}
