/* room.c - heat and vapour balance of a room.  Contract in room.h. */
#include "room.h"

#include "moist.h"

#include <math.h>

static const double air_j_m3_k = 1210.0; /* heat that a cubic metre of air holds */
static const double heat_of_vapour_j_kg = 2.45e6;
static const double film_w_m2_k = 7.7; /* air to wall, EN ISO 6946: 1 / 0.13 */
/* What stands in a room holds several times the heat of its air. */
static const double furnished = 6.0;
/* Equilibrium of wood rises by about 0.16 %RH a kelvin at constant moisture content
 * (Wood Handbook, FPL-GTR-282, eq. 4-5, taken at 50 %RH). */
static const double wood_per_k = 0.0016;

void room_settle(const struct room_cfg *cfg, double t_c, double rh_pct, struct room *out)
{
    *out = (struct room){.t_c = t_c, .wall_c = t_c};
    out->kg_m3 = rh_pct / 100.0 * moist_saturated(t_c);
    for (int i = 0; i < ROOM_STORES; i++)
        out->store[i] = rh_pct / 100.0;
    out->tank_kg = 0.2 * cfg->tank_kg;
}

double room_rh_pct(const struct room *room)
{
    return fmin(100.0, 100.0 * room->kg_m3 / moist_saturated(room->t_c));
}

static double outdoor_air_m3_h(const struct room_cfg *cfg, const struct room_drive *d)
{
    return cfg->volume_m3 * (cfg->leak_per_h + cfg->wind_per_h * d->wind_m_s) + d->open_m3_h;
}

static void step_heat(const struct room_cfg *cfg, const struct room_drive *d, double out_m3_h,
                      double inner_m3_h, double gain_w, struct room *r)
{
    double band_w_k = cfg->heater_w / 1.2; /* the thermostatic valve opens over 1.2 K */
    double heater_w = fmin(cfg->heater_w, fmax(0.0, band_w_k * (d->set_c + 0.4 - r->t_c)));

    double air_store = cfg->volume_m3 * air_j_m3_k * furnished / ROOM_STEP_S;
    double wall_store = cfg->wall_j_k / ROOM_STEP_S;
    double film = film_w_m2_k * cfg->wall_area_m2;
    double out = cfg->window_w_k + out_m3_h / 3600.0 * air_j_m3_k;
    double inner = cfg->inner_w_k + inner_m3_h / 3600.0 * air_j_m3_k;

    /* Both nodes at the end of the step: two linear equations. */
    double a = air_store + film + out + inner;
    double b = wall_store + film + cfg->wall_w_k + cfg->ground_w_k;
    double air = air_store * r->t_c + out * d->out_c + inner * d->inner_c + gain_w + heater_w;
    double wall =
        wall_store * r->wall_c + cfg->wall_w_k * d->face_c + cfg->ground_w_k * d->ground_c;
    double determinant = a * b - film * film;
    r->t_c = (air * b + wall * film) / determinant;
    r->wall_c = (wall * a + air * film) / determinant;
}

/* Returns the water taken from the air, kg/h, and fills the tank. */
static double step_dehumidifier(const struct room_cfg *cfg, const struct room_drive *d,
                                struct room *r)
{
    if (cfg->dry_rate_kg_h <= 0.0)
        return 0.0;
    double rh_pct = room_rh_pct(r);
    if (rh_pct > cfg->dry_set_pct + 0.5 * cfg->dry_band_pct)
        r->drying = true;
    else if (rh_pct < cfg->dry_set_pct - 0.5 * cfg->dry_band_pct)
        r->drying = false;
    r->tank_full = r->tank_kg >= cfg->tank_kg;
    if (!r->drying || !d->dry_ready || r->tank_full)
        return 0.0;
    double kg_h = cfg->dry_rate_kg_h * fmax(0.0, (rh_pct / 60.0) * (0.3 + 0.035 * r->t_c));
    r->tank_kg = fmin(cfg->tank_kg, r->tank_kg + kg_h * ROOM_STEP_S / 3600.0);
    return kg_h;
}

static void step_vapour(const struct room_cfg *cfg, const struct room_drive *d, double out_m3_h,
                        double inner_m3_h, double water_kg_h, struct room *r)
{
    double saturated = moist_saturated(r->t_c);
    double hours = ROOM_STEP_S / 3600.0;
    double shift = wood_per_k * (r->t_c - 20.0);

    double give = cfg->volume_m3 / hours * r->kg_m3 + out_m3_h * d->out_kg_m3 +
                  inner_m3_h * d->inner_kg_m3 + water_kg_h;
    double take = cfg->volume_m3 / hours + out_m3_h + inner_m3_h;
    for (int i = 0; i < ROOM_STORES; i++) {
        give += cfg->store_m3_h[i] * fmax(0.0, r->store[i] + shift) * saturated;
        take += cfg->store_m3_h[i];
    }
    r->kg_m3 = fmin(saturated, fmax(1e-4, give / take));
    for (int i = 0; i < ROOM_STORES; i++) {
        double kg_h =
            cfg->store_m3_h[i] * (r->kg_m3 - fmax(0.0, r->store[i] + shift) * saturated);
        r->store[i] += kg_h * hours / cfg->store_kg[i];
    }
}

void room_step(const struct room_cfg *cfg, const struct room_drive *drive, struct room *room)
{
    double out_m3_h = outdoor_air_m3_h(cfg, drive);
    double inner_m3_h = cfg->inner_m3_h + drive->inner_extra_m3_h;
    double dried_kg_h = step_dehumidifier(cfg, drive, room);
    double dryer_w =
        dried_kg_h > 0.0 ? cfg->dry_power_w + dried_kg_h / 3600.0 * heat_of_vapour_j_kg : 0.0;
    double gain_w = cfg->base_w + drive->heat_w + dryer_w + cfg->sun_m2 * drive->sun_w_m2;
    step_heat(cfg, drive, out_m3_h, inner_m3_h, gain_w, room);
    step_vapour(cfg, drive, out_m3_h, inner_m3_h,
                cfg->base_kg_h + drive->water_kg_h - dried_kg_h, room);
}
