/* room.h - one room: its air, its walls, the wood and canvas in it, its heater and dehumidifier.
 *
 * Heat: two nodes (air with what stands in it; walls), solved implicitly. Vapour: the air and
 * two stores of moisture, a quick one (canvas, paper, skins of wood) and a slow one (the depth
 * of wood and plaster). All parameters are project choices in the range of building physics
 * textbooks.
 *
 * Units:   degC, W/K, J/K, kg, kg/h, m3, m3/h; humidity of a store as a fraction of saturation.
 * Owner:   plain values; nothing is allocated.
 * Threads: none; one owner.
 */
#ifndef SIMULATOR_ROOM_H
#define SIMULATOR_ROOM_H

#include <stdbool.h>

enum {
    ROOM_STEP_S = 60,
    ROOM_FAST = 0,
    ROOM_SLOW = 1,
    ROOM_STORES = 2
};

struct room_cfg {
    double volume_m3;
    double leak_per_h;              /* air change in calm air, doors shut */
    double wind_per_h;              /* more a metre a second of wind */
    double window_w_k;              /* straight from air to outdoors */
    double wall_w_k;                /* from the walls to outdoors */
    double wall_area_m2;            /* inside, exchanging heat with the air */
    double wall_j_k;                /* heat that the walls hold */
    double ground_w_k;              /* from the walls to the ground */
    double sun_m2;                  /* window to the south, times what passes it */
    double base_w;                  /* always: lamps, machines, the house above */
    double base_kg_h;               /* always: sink, glue pots, drying things */
    double inner_w_k;               /* through the wall to the frame bench */
    double inner_m3_h;              /* air under the door to the frame bench */
    double store_kg[ROOM_STORES];   /* water taken up from dry to saturated */
    double store_m3_h[ROOM_STORES]; /* how fast it comes and goes */
    double heater_w;
    double day_c, night_c; /* thermostat */
    double warm_above_pct; /* conservation heating against damp; 0: none */
    double dry_rate_kg_h;  /* dehumidifier at 20 degC and 60 %; 0: none */
    double dry_set_pct;
    double dry_band_pct; /* on above set + half, off below set - half */
    double dry_power_w;
    double tank_kg;
};

struct room {
    double t_c;
    double wall_c;
    double kg_m3; /* vapour */
    double store[ROOM_STORES];
    bool drying; /* the dehumidifier runs */
    bool tank_full;
    double tank_kg;
};

/* What acts on the room during one step. */
struct room_drive {
    double out_c, out_kg_m3; /* outdoor air */
    double face_c;           /* outdoors as sunlit walls feel it: sol-air temperature */
    double wind_m_s;
    double sun_w_m2;
    double ground_c;
    double inner_c, inner_kg_m3; /* air of the neighbouring room */
    double inner_extra_m3_h;     /* by doors that people use */
    double open_m3_h;            /* outdoor air by an open door, window or fan */
    double heat_w;               /* people, lamps, machines */
    double water_kg_h;           /* people, wet work */
    double set_c;                /* thermostat now; -100 while the boiler is off */
    bool dry_ready;              /* the dehumidifier has mains and no fault */
};

/* At rest in air of this temperature and humidity. */
void room_settle(const struct room_cfg *cfg, double t_c, double rh_pct, struct room *out);

/* One step of ROOM_STEP_S on. */
void room_step(const struct room_cfg *cfg, const struct room_drive *drive, struct room *room);

double room_rh_pct(const struct room *room);

#endif
