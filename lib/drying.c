/* drying.c - see drying.h. */
#include "stillroom/drying.h"

#include "stillroom/mixture.h"
#include "stillroom/psychro.h"

#define REFERENCE_T_C 20.0
#define REFERENCE_RH_PCT 50.0
#define AIR_HEAT_J_M3_K 1207.0 /* density times specific heat, about 20 degC */
/* The Lewis number 0.865 to the power 2/3, written out: compilers that fold the power at build
 * time round it differently. */
#define LEWIS_2_3 0.907842977110
#define LATENT_0_KJ_KG 2501.0
#define LATENT_PER_K 2.361

const char sr_drying_solvent_caution[] =
    "Where solvents are about, ignition sources, hot-work and exposure rules come first; "
    "nothing here switches a heater or a fan.";
const char sr_drying_caveat[] =
    "Bounds for a wet surface only; once it is dry to the touch, drying goes on inside at its "
    "own pace.";

enum sr_rc sr_drying_potential(double t_c, double rh_pct, double *out)
{
    double vpd_pa, reference_pa;
    if (!(rh_pct <= 100.0))
        return SR_RANGE;
    enum sr_rc rc = sr_psychro_vpd(t_c, rh_pct, &vpd_pa);
    if (rc == SR_OK)
        rc = sr_psychro_vpd(REFERENCE_T_C, REFERENCE_RH_PCT, &reference_pa);
    if (rc != SR_OK)
        return rc;
    *out = vpd_pa / reference_pa;
    return SR_OK;
}

enum sr_rc sr_drying_evaporation(double t_c, double rh_pct, double p_pa, double h_w_m2_k,
                                 struct sr_drying_rates *out)
{
    if (!(t_c >= 0.0 && t_c <= 60.0 && rh_pct <= 100.0 && h_w_m2_k >= 0.5 && h_w_m2_k <= 50.0))
        return SR_RANGE;
    double wet_c, held_g_m3, full_g_m3;
    enum sr_rc rc = sr_mixture_wet_bulb(t_c, rh_pct, p_pa, &wet_c);
    if (rc == SR_OK)
        rc = sr_psychro_absolute_humidity(t_c, rh_pct, &held_g_m3);
    if (rc == SR_OK)
        rc = sr_psychro_absolute_humidity(t_c, 100.0, &full_g_m3);
    if (rc != SR_OK)
        return rc;
    double latent_j_g = LATENT_0_KJ_KG - LATENT_PER_K * wet_c;
    double mass_m_s = h_w_m2_k / (AIR_HEAT_J_M3_K * LEWIS_2_3);
    *out = (struct sr_drying_rates){
        .adiabatic_g_m2_h = 3600.0 * h_w_m2_k * (t_c - wet_c) / latent_j_g,
        .isothermal_g_m2_h = 3600.0 * mass_m_s * (full_g_m3 - held_g_m3),
        .wet_bulb_c = wet_c,
        .cooling_k = t_c - wet_c};
    return SR_OK;
}
