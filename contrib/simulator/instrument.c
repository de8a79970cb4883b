/* instrument.c - the table of transmitters.  Contract in instrument.h. */
#include "instrument.h"

#include <assert.h>
#include <string.h>

#define T_RH(t_offset, rh_offset)                                                              \
    {QUANTITY_TEMPERATURE, INSTRUMENT_INT16, 0, t_offset},                                     \
    {                                                                                          \
        QUANTITY_HUMIDITY, INSTRUMENT_UINT16, 1, rh_offset                                     \
    }

#define SURFACE(address)                                                                       \
    {                                                                                          \
        QUANTITY_SURFACE_TEMPERATURE, INSTRUMENT_INT16, address, 0.0                           \
    }

/* The offsets are what a year in use makes of a factory calibration. `face` is the factor fRsi
 * of EN ISO 13788: 0.7 for a poor solid wall, more for a work on an easel near one. Both are
 * project choices. */
static const struct instrument table[INSTRUMENT_COUNT] = {
    {"dr-1", INSTRUMENT_TCP, 1, PLAN_DRYING, 0.0, 0.93, 240, 3, {T_RH(0.1, 0.8), SURFACE(2)}},
    {"fb-1",
     INSTRUMENT_TCP,
     2,
     PLAN_BENCH,
     -0.3,
     0.90,
     240,
     4,
     {T_RH(-0.1, -0.6), SURFACE(2), {QUANTITY_DOOR, INSTRUMENT_BIT, 0, 0.0}}},
    {"qu-1", INSTRUMENT_TCP, 3, PLAN_QUARANTINE, 0.2, 1.0, 240, 2, {T_RH(0.0, 1.1)}},
    {"ga-1",
     INSTRUMENT_TCP,
     4,
     PLAN_GALLERY,
     0.0,
     1.0,
     400,
     2,
     {{QUANTITY_TEMPERATURE, INSTRUMENT_FLOAT32, 0, 0.05},
      {QUANTITY_HUMIDITY, INSTRUMENT_FLOAT32, 2, -0.4}}},
    {"dr-io",
     INSTRUMENT_TCP,
     5,
     PLAN_DRYING,
     0.0,
     1.0,
     0,
     3,
     {{QUANTITY_PLANT_RUNNING, INSTRUMENT_BIT, 0, 0.0},
      {QUANTITY_TANK_FULL, INSTRUMENT_BIT, 1, 0.0},
      {QUANTITY_MAINS, INSTRUMENT_BIT, 2, 0.0}}},
    {"st-1", INSTRUMENT_RTU, 11, PLAN_STORE, 0.0, 1.0, 240, 2, {T_RH(0.0, 0.3)}},
    {"st-2", INSTRUMENT_RTU, 12, PLAN_STORE, 0.7, 1.0, 240, 2, {T_RH(0.15, -0.9)}},
    {"st-wall", INSTRUMENT_RTU, 13, PLAN_STORE, 0.0, 0.72, 900, 1, {SURFACE(0)}},
    {"out-1", INSTRUMENT_RTU, 14, INSTRUMENT_OUTDOOR, 0.0, 1.0, 600, 2, {T_RH(0.1, 0.0)}},
    {"st-io",
     INSTRUMENT_RTU,
     15,
     PLAN_STORE,
     0.0,
     1.0,
     0,
     3,
     {{QUANTITY_LEAK, INSTRUMENT_BIT, 0, 0.0},
      {QUANTITY_PLANT_RUNNING, INSTRUMENT_BIT, 1, 0.0},
      {QUANTITY_TANK_FULL, INSTRUMENT_BIT, 2, 0.0}}},
};

const struct instrument *instrument_at(size_t index)
{
    assert(index < INSTRUMENT_COUNT);
    return &table[index];
}

bool instrument_by_name(const char *name, size_t *out)
{
    for (size_t i = 0; i < INSTRUMENT_COUNT; i++) {
        if (strcmp(table[i].name, name) == 0) {
            *out = i;
            return true;
        }
    }
    return false;
}

bool instrument_by_unit(enum instrument_bus bus, int unit, size_t *out)
{
    for (size_t i = 0; i < INSTRUMENT_COUNT; i++) {
        if (table[i].bus == bus && table[i].unit == unit) {
            *out = i;
            return true;
        }
    }
    return false;
}

const struct instrument_channel *instrument_channel(const struct instrument *in,
                                                    enum quantity quantity)
{
    for (size_t i = 0; i < in->channel_count; i++)
        if (in->channels[i].quantity == quantity)
            return &in->channels[i];
    return NULL;
}
