/* psychro.h - moist-air physics: what temperature and relative humidity say together.
 *
 * Relative humidity is over liquid water at every temperature, below freezing too: the
 * convention of weather services (WMO-No. 8, from memory) and of polymer sensors. Programs
 * that change to ice below 0.01 degC differ there, by 10 % of the vapour at -10 degC.
 *
 * Units:   temperature degC, relative humidity percent, pressure Pa.
 * Range:   air temperature -60..100 degC. Humidity 0..105 %: a saturated sensor reads a little
 *          above 100, so what lies above 100 is taken as 100.
 * Errors:  SR_RANGE for any argument outside its range, NaN and infinity included;
 *          SR_NO_SOLUTION where said. The result is left alone unless SR_OK is returned.
 * Source:  saturation pressure: Hyland & Wexler (1983), in the form of ASHRAE Handbook -
 *          Fundamentals, chapter 1, eqs (5) ice and (6) water. Agrees with IAPWS within 0.02 %
 *          (water, 0..50 degC) and 0.03 % (ice, down to -30 degC). The water form is
 *          extrapolated below 0.01 degC; it lies within 0.25 % of Murphy & Koop (2005; their
 *          formula from memory) down to -30 degC and is less certain below that.
 *          The enhancement factor of moist air (about 1.004) is left out on both sides.
 * Threads: pure functions - no state, no allocation; call from anywhere.
 * Same:    the same bits at every optimisation level and from gcc and clang, for one libm.
 */
#ifndef STILLROOM_PSYCHRO_H
#define STILLROOM_PSYCHRO_H

#include "stillroom/rc.h"

#define SR_PSYCHRO_T_MIN_C (-60.0)
#define SR_PSYCHRO_T_MAX_C 100.0
#define SR_PSYCHRO_RH_MAX_PCT 105.0

/* Saturation vapour pressure over liquid water, -100..200 degC. */
SR_MUST_USE enum sr_rc sr_psychro_svp_water(double t_c, double *out_pa);

/* Saturation vapour pressure over ice, -100..0.01 degC. */
SR_MUST_USE enum sr_rc sr_psychro_svp_ice(double t_c, double *out_pa);

/* d ln(svp_water) / dT, per kelvin, -100..200 degC: about 0.062 at 20 degC. What a kelvin of
 * error does: humidity moves by -RH times this at constant vapour. */
SR_MUST_USE enum sr_rc sr_psychro_svp_slope(double t_c, double *out_per_k);

/* Partial pressure of the water vapour in this air. */
SR_MUST_USE enum sr_rc sr_psychro_vapour_pressure(double t_c, double rh_pct, double *out_pa);

/* Relative humidity of air that holds vapour of e_pa (0..200,000 Pa). Not capped at 100. */
SR_MUST_USE enum sr_rc sr_psychro_rh(double t_c, double e_pa, double *out_pct);

/* Vapour pressure deficit: what is missing to saturation over water. */
SR_MUST_USE enum sr_rc sr_psychro_vpd(double t_c, double rh_pct, double *out_pa);

/* Temperature at which the vapour in this air would start to condense as water; below zero it
 * is still a dew point, over supercooled water. Solved to 1e-9 K. SR_RANGE for perfectly dry
 * air, SR_NO_SOLUTION for air so dry that it lies below -60 degC.
 * Uncertainty: at 20 degC and 50 %, 0.65 K for a sensor good to 0.3 K and 2 % (uncertainty.h). */
SR_MUST_USE enum sr_rc sr_psychro_dew_point(double t_c, double rh_pct, double *out_c);

/* Temperature at which the vapour in this air would start to form frost: above the dew point,
 * so frost comes first. SR_NO_SOLUTION where the vapour would condense above 0.01 degC, or
 * form frost only below -100 degC. Solved to 1e-9 K. */
SR_MUST_USE enum sr_rc sr_psychro_frost_point(double t_c, double rh_pct, double *out_c);

/* Mass of water vapour in a volume of this air, g/m3, as an ideal gas of 461.52 J/(kg K). */
SR_MUST_USE enum sr_rc sr_psychro_absolute_humidity(double t_c, double rh_pct,
                                                    double *out_g_m3);

/* Relative humidity at a surface of ts_c (-60..100 degC) in this air, or of the air itself once
 * it is warmed or cooled to ts_c: same vapour, other temperature. Not capped: above 100 it says by how much the surface would be wet. */
SR_MUST_USE enum sr_rc sr_psychro_surface_rh(double t_c, double rh_pct, double ts_c,
                                             double *out_pct);

#endif
