/* defaults.c - see defaults.h. */
#include "site/defaults.h"

enum {
    MIN = 60,
    HOUR = 3600
};

#define IN(purpose) (1U << PURPOSE_##purpose)
/* Outdoor air is nobody's to keep, and in a humidification chamber damp is the intent. */
#define INDOORS                                                                                \
    (IN(DRYING) | IN(BENCH) | IN(STORE) | IN(QUARANTINE) | IN(GALLERY) | IN(CRATE) |           \
     IN(TRANSIT) | IN(OTHER))
#define ANYWHERE (INDOORS | IN(CHAMBER) | IN(OUTDOOR))

static const char common[] = "common practice";

/* The figure of a row stands in its rule; beside it, where it comes from. */
static const struct defaults_row rows[] = {
    {IN(DRYING), "damp", "humidity above 65", 30 * MIN, 3, PRIORITY_MEDIUM,
     "common practice: no varnishing above 65 %"},
    {IN(DRYING), "dew", "dew margin below 3", 15 * MIN, 0.5, PRIORITY_MEDIUM,
     "paint trade rule: coat only at 3 K above the dew point or more"},
    {IN(BENCH), "damp", "humidity above 65", 60 * MIN, 3, PRIORITY_MEDIUM, common},
    {IN(BENCH), "dry", "humidity below 35", 60 * MIN, 3, PRIORITY_MEDIUM, common},
    {IN(STORE), "damp-60", "humidity above 60", 6 * HOUR, 3, PRIORITY_DIGEST, common},
    {IN(STORE), "damp", "humidity above 65", 2 * HOUR, 3, PRIORITY_MEDIUM,
     "common practice: mould is unlikely below 65 %"},
    {IN(STORE), "swing", "humidity range above 10 within 24 h", 1 * HOUR, 2, PRIORITY_LOW,
     common},
    {IN(STORE), "cold", "temperature below 5", 30 * MIN, 0.5, PRIORITY_HIGH,
     "Canadian conservation guidance: paint films brittle below 5 °C"},
    {IN(QUARANTINE), "damp", "humidity above 60", 2 * HOUR, 3, PRIORITY_MEDIUM, common},
    {IN(QUARANTINE), "damp-70", "humidity above 70", 1 * HOUR, 3, PRIORITY_HIGH, common},
    {IN(GALLERY), "damp", "humidity above 60", 1 * HOUR, 3, PRIORITY_LOW,
     "common practice: 40 to 60 % in galleries"},
    {IN(GALLERY), "dry", "humidity below 40", 1 * HOUR, 3, PRIORITY_LOW,
     "common practice: 40 to 60 % in galleries"},
    {IN(GALLERY), "swing", "humidity range above 20 within 24 h", 1 * HOUR, 4, PRIORITY_LOW,
     "common practice: 10 % either way in 24 h"},
    {INDOORS, "damp-75", "humidity above 75", 30 * MIN, 3, PRIORITY_HIGH,
     "Canadian guidance on damp: above 75 %"},
    {INDOORS, "dry-30", "humidity below 30", 2 * HOUR, 3, PRIORITY_MEDIUM, common},
    {INDOORS, "dry-25", "humidity below 25", 30 * MIN, 3, PRIORITY_HIGH,
     "Padfield: laminated materials likely to split or flake below 25 %"},
    {INDOORS, "cold-surface", "surface_humidity above 80", 6 * HOUR, 3, PRIORITY_MEDIUM,
     "BS 5250: surfaces not above 80 % for several days"},
    {ANYWHERE, "leak", "leak is on", 0, 0, PRIORITY_HIGHEST, common},
    {ANYWHERE, "mains", "mains is off", 5 * MIN, 0, PRIORITY_MEDIUM, common},
    {ANYWHERE, "tank-full", "tank_full is on", 5 * MIN, 0, PRIORITY_MEDIUM, common},
    {0, "silent", "silent", 20 * MIN, 0, PRIORITY_LOW, "project choice"},
};

const struct defaults_row *defaults_rows(size_t *out_count)
{
    *out_count = sizeof rows / sizeof rows[0];
    return rows;
}
