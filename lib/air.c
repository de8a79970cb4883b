/* air.c - see air.h. */
#include "stillroom/air.h"

#include <math.h>

#include "stillroom/psychro.h"
#include "stillroom/uncertainty.h"

#define MIXING_STEPS 200

struct vapour {
    double e_pa, u_pa;
};

static enum sr_rc vapour_of(const struct sr_air *air, struct vapour *out)
{
    const struct sr_uncertainty_input in = {
        .t_c = air->t_c, .rh_pct = air->rh_pct, .u_t_k = air->u_t_k, .u_rh_pct = air->u_rh_pct};
    struct sr_uncertainty e;

    if (!(air->rh_pct > 0.0))
        return SR_RANGE;
    const enum sr_rc rc = sr_uncertainty_of(SR_UNCERTAINTY_VAPOUR_PRESSURE, &in, &e);
    if (rc == SR_OK)
        *out = (struct vapour){.e_pa = e.value, .u_pa = e.u};
    return rc;
}

enum sr_rc sr_air_changed(const struct sr_air *before, const struct sr_air *after,
                          struct sr_air_change *out)
{
    struct vapour e0, e1;
    double moved_pct;

    enum sr_rc rc = vapour_of(before, &e0);
    if (rc == SR_OK)
        rc = vapour_of(after, &e1);
    if (rc == SR_OK)
        rc = sr_psychro_surface_rh(before->t_c, before->rh_pct, after->t_c, &moved_pct);
    if (rc != SR_OK)
        return rc;

    const double de = e1.e_pa - e0.e_pa;
    const double u_de = hypot(e0.u_pa, e1.u_pa);
    const double dt = after->t_c - before->t_c;
    enum sr_air_cause cause = SR_AIR_STEADY;
    if (fabs(de) > 2.0 * u_de)
        cause = de > 0.0 ? SR_AIR_VAPOUR_ADDED : SR_AIR_VAPOUR_REMOVED;
    else if (fabs(dt) > 2.0 * hypot(before->u_t_k, after->u_t_k))
        cause = SR_AIR_TEMPERATURE_ONLY;
    const double rh0 = fmin(before->rh_pct, 100.0);
    const double rh1 = fmin(after->rh_pct, 100.0);
    *out = (struct sr_air_change){.cause = cause,
                                  .by_temperature_pct = moved_pct - rh0,
                                  .by_vapour_pct = rh1 - moved_pct,
                                  .vapour_pa = de,
                                  .u_vapour_pa = u_de};
    return SR_OK;
}

/* Highest humidity along the straight line in (T, e) that the two airs make as they mix. */
static enum sr_rc mixing_peak(double t0_c, double e0_pa, double t1_c, double e1_pa, double *out)
{
    double peak = 0.0;

    for (int i = 0; i <= MIXING_STEPS; i++) {
        const double f = (double)i / MIXING_STEPS;
        double rh;
        const enum sr_rc rc =
            sr_psychro_rh(t0_c + f * (t1_c - t0_c), e0_pa + f * (e1_pa - e0_pa), &rh);
        if (rc != SR_OK)
            return rc;
        peak = fmax(peak, rh);
    }
    *out = peak;
    return SR_OK;
}

enum sr_rc sr_air_window(const struct sr_air *indoor, const struct sr_air *outdoor,
                         struct sr_air_window *out)
{
    struct vapour in, air;
    struct sr_air_window w = {.exchange = SR_AIR_NO_DIFFERENCE};
    double saturated_g_m3, saturated_pa;

    enum sr_rc rc = vapour_of(indoor, &in);
    if (rc == SR_OK)
        rc = vapour_of(outdoor, &air);
    if (rc == SR_OK)
        rc =
            sr_psychro_surface_rh(outdoor->t_c, outdoor->rh_pct, indoor->t_c, &w.rh_warmed_pct);
    if (rc == SR_OK)
        rc = mixing_peak(indoor->t_c, in.e_pa, outdoor->t_c, air.e_pa, &w.rh_peak_pct);
    if (rc == SR_OK)
        rc = sr_psychro_dew_point(outdoor->t_c, outdoor->rh_pct, &w.outdoor_dew_c);
    /* Vapour density follows pressure at one temperature, so saturation serves as the scale. */
    if (rc == SR_OK)
        rc = sr_psychro_absolute_humidity(indoor->t_c, 100.0, &saturated_g_m3);
    if (rc == SR_OK)
        rc = sr_psychro_svp_water(indoor->t_c, &saturated_pa);
    if (rc != SR_OK)
        return rc;

    w.vapour_pa = air.e_pa - in.e_pa;
    w.u_vapour_pa = hypot(in.u_pa, air.u_pa);
    w.carried_g_m3 = saturated_g_m3 * w.vapour_pa / saturated_pa;
    if (fabs(w.vapour_pa) > 2.0 * w.u_vapour_pa)
        w.exchange = w.vapour_pa < 0.0 ? SR_AIR_DRIES : SR_AIR_DAMPENS;
    *out = w;
    return SR_OK;
}
