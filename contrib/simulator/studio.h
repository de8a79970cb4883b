/* studio.h - the rooms of Harbour Lane Studio, and what people, works and faults do to them.
 *
 * Units:   degC, percent, kg, seconds UTC.
 * Owner:   a plain value; nothing is allocated.
 * Threads: none; one owner.
 */
#ifndef SIMULATOR_STUDIO_H
#define SIMULATOR_STUDIO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "plan.h"
#include "room.h"
#include "weather.h"

enum {
    STUDIO_EVENTS_MAX = 96
};

struct studio_event {
    struct plan_event plan;
    double water_kg; /* left in a wet thing */
};

struct studio {
    uint64_t seed;
    int64_t scene_utc_s;
    int64_t planned_day; /* the last whose events were drawn */
    struct room rooms[PLAN_ROOMS];
    struct studio_event events[STUDIO_EVENTS_MAX];
    size_t event_count;
    double out_day_c;  /* outdoor temperature, mean of about a day: the boiler's reading */
    double out_wall_c; /* outdoor temperature as it has soaked into a wall */
    double solvent;    /* in the drying room; 1 while varnish flashes off under the fan */
    bool boiler;
};

void studio_open(struct studio *s, uint64_t seed, int64_t scene_utc_s, const struct weather *w);

/* One step of ROOM_STEP_S, to the moment of the weather. */
void studio_step(struct studio *s, const struct weather *w);

/* Whether such an event goes on in a room now. */
bool studio_happens(const struct studio *s, enum plan_kind kind, enum plan_room room,
                    int64_t utc_s);

/* Whether an instrument does not answer now. */
bool studio_is_silent(const struct studio *s, size_t instrument, int64_t utc_s);

/* The parameters of a room. */
const struct room_cfg *studio_room_cfg(enum plan_room room);

#endif
