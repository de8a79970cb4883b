/* moist.c - moist-air arithmetic.  Contract in moist.h. */
#include "moist.h"

#include <assert.h>
#include <math.h>

#include "stillroom/psychro.h"

static const double gas_constant = 461.52; /* of water vapour, J/(kg K) */
static const double zero_c_k = 273.15;

double moist_svp(double t_c)
{
    double p_pa = 0.0;
    enum sr_rc rc = sr_psychro_svp_water(fmin(100.0, fmax(-60.0, t_c)), &p_pa);
    assert(rc == SR_OK);
    (void)rc;
    return p_pa;
}

double moist_density(double p_pa, double t_c)
{
    return p_pa / (gas_constant * (t_c + zero_c_k));
}

double moist_pressure(double kg_m3, double t_c)
{
    return kg_m3 * gas_constant * (t_c + zero_c_k);
}

double moist_saturated(double t_c)
{
    return moist_density(moist_svp(t_c), t_c);
}
