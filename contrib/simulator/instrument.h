/* instrument.h - the studio's transmitters: where they hang and what their registers hold.
 *
 * Units:   degC, percent; offsets in the quantity's unit.
 * Threads: constant data.
 */
#ifndef SIMULATOR_INSTRUMENT_H
#define SIMULATOR_INSTRUMENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"
#include "plan.h"

enum instrument_bus {
    INSTRUMENT_TCP,
    INSTRUMENT_RTU
};

enum instrument_form {
    INSTRUMENT_INT16,   /* input register, tenths; INSTRUMENT_NO_INT16 means "no value" */
    INSTRUMENT_UINT16,  /* input register, tenths; INSTRUMENT_NO_UINT16 means "no value" */
    INSTRUMENT_FLOAT32, /* two input registers, high word first; NaN means "no value" */
    INSTRUMENT_BIT,     /* discrete input */
};

#define INSTRUMENT_NO_INT16 0x8000u
#define INSTRUMENT_NO_UINT16 0xffffu

struct instrument_channel {
    enum quantity quantity;
    enum instrument_form form;
    uint16_t address; /* from 0 */
    double offset;    /* of this one from the truth */
};

enum {
    INSTRUMENT_CHANNELS_MAX = 4,
    INSTRUMENT_OUTDOOR = PLAN_ROOMS, /* in place of a room */
    INSTRUMENT_COUNT = 10
};

struct instrument {
    const char *name;
    enum instrument_bus bus;
    int unit;
    int place;       /* enum plan_room, or INSTRUMENT_OUTDOOR */
    double cooler_k; /* than the middle of the room, with the same vapour */
    double face;     /* its surface probe: what the surface keeps of indoors less outdoors */
    double lag_s;    /* its answer to a step */
    size_t channel_count;
    struct instrument_channel channels[INSTRUMENT_CHANNELS_MAX];
};

const struct instrument *instrument_at(size_t index);

/* By its name in the site file, or by bus and unit; false if there is none. */
bool instrument_by_name(const char *name, size_t *out);
bool instrument_by_unit(enum instrument_bus bus, int unit, size_t *out);

/* The channel of a quantity, or NULL. */
const struct instrument_channel *instrument_channel(const struct instrument *in,
                                                    enum quantity quantity);

#endif
