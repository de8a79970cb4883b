/* moist.h - the moist-air arithmetic of the model, on libstillroom's saturation curve.
 *
 * Units:   degC, Pa, kg of vapour a cubic metre.
 * Range:   temperatures are held within -60..100 degC: the model never leaves it.
 * Threads: pure functions.
 */
#ifndef SIMULATOR_MOIST_H
#define SIMULATOR_MOIST_H

/* Saturation pressure over water. */
double moist_svp(double t_c);

/* Vapour in a cubic metre at a partial pressure, and back; an ideal gas. */
double moist_density(double p_pa, double t_c);
double moist_pressure(double kg_m3, double t_c);

/* Vapour in a cubic metre of saturated air. */
double moist_saturated(double t_c);

#endif
