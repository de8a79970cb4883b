/* quantity.c - see quantity.h. */
#include "base/quantity.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

static const struct quantity_info table[QUANTITY_COUNT] = {
    [QUANTITY_TEMPERATURE] = {"temperature", "Temperature", "°C", 2, QUANTITY_MEASURED, -40,
                              80},
    [QUANTITY_HUMIDITY] = {"humidity", "Relative humidity", "%", 2, QUANTITY_MEASURED, 0,
                           100.5},
    [QUANTITY_SURFACE_TEMPERATURE] = {"surface_temperature", "Surface temperature", "°C", 2,
                                      QUANTITY_MEASURED, -40, 80},
    [QUANTITY_WOOD_MOISTURE] = {"wood_moisture", "Wood moisture", "%", 2, QUANTITY_MEASURED, 0,
                                120},
    [QUANTITY_LEAK] = {"leak", "Leak", "", 0, QUANTITY_CONTACT, 0, 1},
    [QUANTITY_MAINS] = {"mains", "Mains power", "", 0, QUANTITY_CONTACT, 0, 1},
    [QUANTITY_DOOR] = {"door", "Door open", "", 0, QUANTITY_CONTACT, 0, 1},
    [QUANTITY_TANK_FULL] = {"tank_full", "Tank full", "", 0, QUANTITY_CONTACT, 0, 1},
    [QUANTITY_PLANT_RUNNING] = {"plant_running", "Plant running", "", 0, QUANTITY_CONTACT, 0,
                                1},
    [QUANTITY_DEW_POINT] = {"dew_point", "Dew point", "°C", 2, QUANTITY_DERIVED, -100, 100},
    [QUANTITY_ABSOLUTE_HUMIDITY] = {"absolute_humidity", "Absolute humidity", "g/m³", 2,
                                    QUANTITY_DERIVED, 0, 300},
    [QUANTITY_EMC] = {"emc", "Equilibrium moisture content of wood", "%", 2, QUANTITY_DERIVED,
                      0, 40},
    [QUANTITY_MOULD_INDEX] = {"mould_index", "Mould index", "", 4, QUANTITY_DERIVED, 0, 6},
    [QUANTITY_SURFACE_HUMIDITY] = {"surface_humidity", "Humidity at the surface", "%", 2,
                                   QUANTITY_DERIVED, 0, 1000},
    [QUANTITY_DEW_MARGIN] = {"dew_margin", "Surface above dew point", "K", 2, QUANTITY_DERIVED,
                             -100, 100},
};

static const double powers[] = {1, 10, 100, 1000, 10000};

const struct quantity_info *quantity_info(enum quantity q)
{
    return &table[q];
}

bool quantity_by_name(const char *name, enum quantity *out)
{
    for (int i = 0; i < QUANTITY_COUNT; i++)
        if (strcmp(table[i].name, name) == 0) {
            *out = (enum quantity)i;
            return true;
        }
    return false;
}

bool quantity_encode(enum quantity q, double value, int32_t *out)
{
    double scaled = round(value * powers[table[q].decimals]);
    if (!(scaled >= INT32_MIN && scaled <= INT32_MAX)) /* NaN fails this too */
        return false;
    *out = (int32_t)scaled;
    return true;
}

double quantity_decode(enum quantity q, int64_t value)
{
    return (double)value / powers[table[q].decimals];
}
