/* derive.c - see derive.h. */
#include "base/derive.h"

#include <stillroom/psychro.h>
#include <stillroom/wood.h>

static bool air(enum quantity q, double t_c, double rh_pct, double *out)
{
    if (q == QUANTITY_DEW_POINT)
        return sr_psychro_dew_point(t_c, rh_pct, out) == SR_OK;
    if (q == QUANTITY_ABSOLUTE_HUMIDITY)
        return sr_psychro_absolute_humidity(t_c, rh_pct, out) == SR_OK;
    return q == QUANTITY_EMC && sr_wood_emc(t_c, rh_pct, out) == SR_OK;
}

bool derive_air(enum quantity q, int32_t temperature, int32_t humidity, int32_t *out)
{
    double t_c = quantity_decode(QUANTITY_TEMPERATURE, temperature);
    double rh_pct = quantity_decode(QUANTITY_HUMIDITY, humidity), value;
    return air(q, t_c, rh_pct > 100 ? 100 : rh_pct, &value) && quantity_encode(q, value, out);
}

bool derive_surface(enum quantity q, int32_t temperature, int32_t humidity, int32_t surface,
                    int32_t *out)
{
    double t_c = quantity_decode(QUANTITY_TEMPERATURE, temperature);
    double rh_pct = quantity_decode(QUANTITY_HUMIDITY, humidity);
    double ts_c = quantity_decode(QUANTITY_SURFACE_TEMPERATURE, surface), value;
    if (rh_pct > 100)
        rh_pct = 100;
    if (q == QUANTITY_SURFACE_HUMIDITY)
        return sr_psychro_surface_rh(t_c, rh_pct, ts_c, &value) == SR_OK &&
               quantity_encode(q, value, out);
    if (q != QUANTITY_DEW_MARGIN)
        return false;
    /* On a freezing surface frost forms before dew. */
    enum sr_rc rc = ts_c < 0 ? sr_psychro_frost_point(t_c, rh_pct, &value)
                             : sr_psychro_dew_point(t_c, rh_pct, &value);
    return rc == SR_OK && quantity_encode(q, ts_c - value, out);
}
