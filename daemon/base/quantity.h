/* quantity.h - the quantities Stillroom knows, with their unit and their power of ten.
 *
 * A value is an integer at its quantity's fixed power of ten (0.01 degC, 0.01 %RH), rounded
 * half away from zero, so that a digest never hangs on how a float prints.
 */
#ifndef BASE_QUANTITY_H
#define BASE_QUANTITY_H

#include <stdbool.h>
#include <stdint.h>

enum quantity {
    /* measured */
    QUANTITY_TEMPERATURE,
    QUANTITY_HUMIDITY,
    QUANTITY_SURFACE_TEMPERATURE,
    QUANTITY_WOOD_MOISTURE,
    /* contacts: 0 or 1, 1 being what the name says */
    QUANTITY_LEAK,
    QUANTITY_MAINS,
    QUANTITY_DOOR,
    QUANTITY_TANK_FULL,
    QUANTITY_PLANT_RUNNING,
    /* derived: never a channel, only a series of a zone */
    QUANTITY_DEW_POINT,
    QUANTITY_ABSOLUTE_HUMIDITY,
    QUANTITY_EMC,
    QUANTITY_MOULD_INDEX,
    QUANTITY_SURFACE_HUMIDITY,
    QUANTITY_DEW_MARGIN,
    QUANTITY_COUNT
};

enum quantity_kind {
    QUANTITY_MEASURED,
    QUANTITY_CONTACT,
    QUANTITY_DERIVED
};

struct quantity_info {
    const char *name;  /* in the site file, the tables, the interface */
    const char *title; /* for people */
    const char *unit;  /* "" for contacts and indices */
    int decimals;      /* value = integer / 10^decimals */
    enum quantity_kind kind;
    double least, most; /* outside these a reading is flagged "out of range" */
};

const struct quantity_info *quantity_info(enum quantity q);

/* Finds a quantity by its name; false if there is none. */
bool quantity_by_name(const char *name, enum quantity *out);

/* The integer of a value, half away from zero; false for NaN, infinity and what does not fit
 * 32 bits. */
bool quantity_encode(enum quantity q, double value, int32_t *out);

double quantity_decode(enum quantity q, int64_t value);

#endif
