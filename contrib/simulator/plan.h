/* plan.h - what happens in the studio on a day: people, wet work, entries, faults.
 *
 * A day's events hang on the seed and the day alone, not on what was asked before.
 *
 * Units:   seconds UTC; kg of water; minutes of the local day.
 * Threads: pure functions.
 */
#ifndef SIMULATOR_PLAN_H
#define SIMULATOR_PLAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum plan_room {
    PLAN_DRYING,
    PLAN_BENCH,
    PLAN_STORE,
    PLAN_QUARANTINE,
    PLAN_GALLERY,
    PLAN_ROOMS
};

enum plan_kind {
    PLAN_DOOR,       /* an outer door stands open */
    PLAN_WINDOW,     /* a window is opened, or the fan runs: size is m3/h */
    PLAN_WET,        /* a wet canvas, size, gesso or a damp frame: size is kg of water */
    PLAN_VARNISH,    /* solvent in the air; the fan runs */
    PLAN_PLANT_FAIL, /* the dehumidifier stands still */
    PLAN_NO_EMPTY,   /* nobody empties the tank */
    PLAN_LEAK,       /* water on the floor: size is kg */
    PLAN_MAINS,      /* no mains */
    PLAN_SILENT,     /* an instrument does not answer: size is its number */
};

struct plan_event {
    enum plan_kind kind;
    enum plan_room room;
    int64_t from_utc_s;
    int64_t to_utc_s;
    double size;
    double area_m2;  /* PLAN_WET: wet surface */
    double beta_m_h; /* PLAN_WET: how readily it gives water off */
};

enum {
    PLAN_EVENTS_MAX = 24 /* a day */
};

/* Writes the day's events in no particular order and returns how many. On the working days
 * before scene_utc_s (0: none) a few things happen for certain, so that whoever opens a demo
 * at that moment has something to look at. */
size_t plan_day(uint64_t seed, int64_t day, int64_t scene_utc_s,
                struct plan_event out[PLAN_EVENTS_MAX]);

/* How many people are in at a minute of a working day; 0 on other days. */
int plan_people(uint64_t seed, int64_t day, int minute);

/* True in the minute in which the tanks are emptied; twice on a working day. */
bool plan_empties(uint64_t seed, int64_t day, int minute);

#endif
