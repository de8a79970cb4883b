/* world.c - weather, studio and instruments in step.  Contract in world.h. */
#include "world.h"

#include "calendar.h"
#include "instrument.h"
#include "moist.h"
#include "rng.h"
#include "studio.h"
#include "weather.h"

#include <math.h>
#include <stdlib.h>

enum {
    STREAM_READING = 500
};

/* What the sensing elements of an instrument feel, behind its lag. */
struct felt {
    double t_c;
    double rh_pct;
    double surface_c;
};

struct world {
    uint64_t seed;
    int64_t utc_s;
    struct weather weather;
    struct studio studio;
    struct felt now[INSTRUMENT_COUNT];
    struct felt before[INSTRUMENT_COUNT]; /* a step ago, to read between two steps */
};

/* What a capacitive humidity sensor makes of solvent in the air (project choice). */
static const double solvent_rh_pct = 3.0;

static struct felt feel(const struct world *w, const struct instrument *in)
{
    struct felt f = {0};
    if (in->place == INSTRUMENT_OUTDOOR) {
        f.t_c =
            w->weather.t_c + 0.0006 * w->weather.sun_flat_w_m2; /* a naturally aired shield */
        f.rh_pct = 100.0 * w->weather.p_pa / moist_svp(f.t_c);
        return f;
    }
    const struct room *r = &w->studio.rooms[in->place];
    f.t_c = r->t_c - in->cooler_k;
    f.rh_pct = fmin(100.0, 100.0 * moist_pressure(r->kg_m3, r->t_c) / moist_svp(f.t_c));
    if (in->place == PLAN_DRYING)
        f.rh_pct += solvent_rh_pct * w->studio.solvent;
    f.surface_c = r->t_c - (1.0 - in->face) * (r->t_c - w->studio.out_wall_c);
    return f;
}

static void step_instruments(struct world *w)
{
    for (size_t i = 0; i < INSTRUMENT_COUNT; i++) {
        const struct instrument *in = instrument_at(i);
        struct felt f = feel(w, in);
        double share = in->lag_s > 0.0 ? 1.0 - exp(-ROOM_STEP_S / in->lag_s) : 1.0;
        struct felt *now = &w->now[i];
        w->before[i] = *now;
        now->t_c += share * (f.t_c - now->t_c);
        now->rh_pct += share * (f.rh_pct - now->rh_pct);
        now->surface_c += share * (f.surface_c - now->surface_c);
    }
}

enum rc world_open(const struct world_cfg *cfg, struct world **out)
{
    if (cfg->start_utc_s < calendar_day_of(1990, 1, 1) * CALENDAR_DAY_S ||
        cfg->start_utc_s > calendar_day_of(2190, 1, 1) * CALENDAR_DAY_S)
        return RC_BAD_INPUT;
    struct world *w = calloc(1, sizeof *w);
    if (w == NULL)
        return RC_NOMEM;
    w->seed = cfg->seed;
    w->utc_s = cfg->start_utc_s - cfg->start_utc_s % ROOM_STEP_S;
    weather_open(&w->weather, cfg->seed, w->utc_s);
    studio_open(&w->studio, cfg->seed, cfg->scene_utc_s, &w->weather);
    for (size_t i = 0; i < INSTRUMENT_COUNT; i++)
        w->now[i] = w->before[i] = feel(w, instrument_at(i));
    *out = w;
    return RC_OK;
}

void world_close(struct world *w)
{
    free(w);
}

void world_advance(struct world *w, int64_t to_utc_s)
{
    while (w->utc_s < to_utc_s) {
        w->utc_s += ROOM_STEP_S;
        weather_step(&w->weather);
        studio_step(&w->studio, &w->weather);
        step_instruments(w);
    }
}

static bool contact(const struct world *w, const struct instrument *in, enum quantity quantity,
                    int64_t utc_s)
{
    const struct studio *s = &w->studio;
    enum plan_room room = (enum plan_room)in->place;
    bool mains = !studio_happens(s, PLAN_MAINS, PLAN_BENCH, utc_s);
    if (quantity == QUANTITY_LEAK)
        return studio_happens(s, PLAN_LEAK, room, utc_s);
    if (quantity == QUANTITY_DOOR)
        return studio_happens(s, PLAN_DOOR, room, utc_s);
    if (quantity == QUANTITY_TANK_FULL)
        return s->rooms[room].tank_full;
    /* The dehumidifier's "in running order" contact: it opens on a fault, not in a pause. */
    if (quantity == QUANTITY_PLANT_RUNNING)
        return mains && !studio_happens(s, PLAN_PLANT_FAIL, room, utc_s);
    return mains;
}

/* Between the last two steps by proportion, so that seconds do not come in stairs. */
static double between(const struct world *w, int64_t utc_s, double before, double now)
{
    double share = 1.0 - (double)(w->utc_s - utc_s) / ROOM_STEP_S;
    return before + fmin(1.0, fmax(0.0, share)) * (now - before);
}

static double tenths(double value)
{
    return round(10.0 * value) / 10.0;
}

bool world_read(const struct world *w, size_t instrument, enum quantity quantity, int64_t utc_s,
                double *out)
{
    const struct instrument *in = instrument_at(instrument);
    const struct instrument_channel *c = instrument_channel(in, quantity);
    if (c == NULL)
        return false;
    if (c->form == INSTRUMENT_BIT) {
        *out = contact(w, in, quantity, utc_s) ? 1.0 : 0.0;
        return true;
    }
    const struct felt *b = &w->before[instrument];
    const struct felt *n = &w->now[instrument];
    uint64_t stream = STREAM_READING + instrument * 8 + (uint64_t)quantity;
    double noise = rng_normal(w->seed, stream, (uint64_t)utc_s);
    if (quantity == QUANTITY_HUMIDITY) {
        double rh_pct = between(w, utc_s, b->rh_pct, n->rh_pct) + c->offset + 0.05 * noise;
        *out = tenths(fmin(100.0, fmax(0.0, rh_pct)));
    } else if (quantity == QUANTITY_SURFACE_TEMPERATURE) {
        *out = tenths(between(w, utc_s, b->surface_c, n->surface_c) + c->offset + 0.02 * noise);
    } else {
        *out = tenths(between(w, utc_s, b->t_c, n->t_c) + c->offset + 0.02 * noise);
    }
    return true;
}

bool world_is_silent(const struct world *w, size_t instrument)
{
    return studio_is_silent(&w->studio, instrument, w->utc_s);
}

struct world_air world_room(const struct world *w, enum plan_room room)
{
    const struct room *r = &w->studio.rooms[room];
    return (struct world_air){
        .t_c = r->t_c, .rh_pct = room_rh_pct(r), .p_pa = moist_pressure(r->kg_m3, r->t_c)};
}

struct world_air world_outdoor(const struct world *w)
{
    return (struct world_air){
        .t_c = w->weather.t_c, .rh_pct = w->weather.rh_pct, .p_pa = w->weather.p_pa};
}

double world_tank_kg(const struct world *w, enum plan_room room)
{
    return w->studio.rooms[room].tank_kg;
}

bool world_happens(const struct world *w, enum plan_kind kind, enum plan_room room)
{
    return studio_happens(&w->studio, kind, room, w->utc_s);
}
