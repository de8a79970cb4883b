/* world.h - the invented studio and its weather, from a moment on, by a seed.
 *
 * The world moves in steps of a minute on the UTC grid from its opening, so its state hangs on
 * the seed, the scene and the opening alone: a program that opens the same world later and
 * advances it to the same moment reads the same values.
 *
 * Units:   as the quantities of the studio (degC, %RH, contacts 0 or 1); seconds UTC.
 * Errors:  RC_NOMEM; RC_BAD_INPUT for a time outside 1990-2190.
 * Owner:   world_close releases a world; it takes NULL.
 * Threads: none; one owner.
 */
#ifndef SIMULATOR_WORLD_H
#define SIMULATOR_WORLD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"
#include "base/rc.h"
#include "plan.h"

struct world;

struct world_cfg {
    uint64_t seed;
    int64_t start_utc_s; /* the opening; rooms need some weeks to forget how they began */
    int64_t scene_utc_s; /* see plan_day(); 0: none */
};

struct world_air {
    double t_c;
    double rh_pct;
    double p_pa; /* of vapour */
};

MUST_USE enum rc world_open(const struct world_cfg *cfg, struct world **out);
void world_close(struct world *w);

/* Runs on until the moment is reached; a moment in the past changes nothing. */
void world_advance(struct world *w, int64_t to_utc_s);

/* What an instrument shows for a quantity at a moment of the last minute the world ran
 * through (else at the nearer end of it): with its lag, offset, noise and tenths. False if it
 * has no such quantity. */
bool world_read(const struct world *w, size_t instrument, enum quantity quantity, int64_t utc_s,
                double *out);

/* Whether an instrument gives no answer now, by the studio's own plan of faults. */
bool world_is_silent(const struct world *w, size_t instrument);

/* The truth, for charts and tests. */
struct world_air world_room(const struct world *w, enum plan_room room);
struct world_air world_outdoor(const struct world *w);
double world_tank_kg(const struct world *w, enum plan_room room);
bool world_happens(const struct world *w, enum plan_kind kind, enum plan_room room);

#endif
