/* mixture.h - moist-air quantities that depend on the barometric pressure.
 *
 * Units:   temperature degC, relative humidity percent (over water), pressure Pa.
 * Range:   as psychro.h; pressure 50,000..110,000 Pa.
 * Errors:  SR_RANGE outside the range, NaN and infinity included; SR_NO_SOLUTION where the
 *          vapour pressure reaches the barometric pressure. The result is left alone then.
 * Source:  ASHRAE Handbook - Fundamentals, chapter 1: ideal-gas humidity ratio, enthalpy,
 *          wet bulb eqs (33) water and (35) ice (numbers from memory).
 * Threads: pure functions - no state, no allocation.
 */
#ifndef STILLROOM_MIXTURE_H
#define STILLROOM_MIXTURE_H

#include "stillroom/rc.h"

#define SR_MIXTURE_SEA_LEVEL_PA 101325.0
#define SR_MIXTURE_P_MIN_PA 50000.0
#define SR_MIXTURE_P_MAX_PA 110000.0

/* Standard atmosphere at altitude_m, -400..5,500 m. Weather moves it by 3 % either way. */
SR_MUST_USE enum sr_rc sr_mixture_pressure_at(double altitude_m, double *out_pa);

/* Mass of vapour per mass of dry air, kg/kg. */
SR_MUST_USE enum sr_rc sr_mixture_ratio(double t_c, double rh_pct, double p_pa,
                                        double *out_kg_kg);

/* Enthalpy per mass of dry air, kJ/kg, zero for dry air at 0 degC. */
SR_MUST_USE enum sr_rc sr_mixture_enthalpy(double t_c, double rh_pct, double p_pa,
                                           double *out_kj_kg);

/* Thermodynamic wet-bulb temperature: how far a wet surface may cool in this air. Over water at
 * or above 0 degC, over ice below; the two do not meet, and where both have a solution it is that
 * over water. At most t_c, even where the air is more than saturated over ice. Solved to 1e-9 K.
 * Needs rh_pct > 0 and a dew point at or above -60 degC (SR_NO_SOLUTION). */
SR_MUST_USE enum sr_rc sr_mixture_wet_bulb(double t_c, double rh_pct, double p_pa,
                                           double *out_c);

#endif
