/* studio.c - rooms, people, works and plant together.  Contract in studio.h. */
#include "studio.h"

#include "calendar.h"
#include "moist.h"

#include <math.h>
#include <string.h>

/* Project choices: a brick building of about 1900 with secondary glazing. */
static const struct room_cfg cfgs[PLAN_ROOMS] = {
    [PLAN_DRYING] = {.volume_m3 = 72,
                     .leak_per_h = 0.20,
                     .wind_per_h = 0.015,
                     .window_w_k = 10,
                     .wall_w_k = 36,
                     .wall_area_m2 = 95,
                     .wall_j_k = 14e6,
                     .sun_m2 = 0.6,
                     .base_w = 190,
                     .base_kg_h = 0.02,
                     .inner_w_k = 25,
                     .inner_m3_h = 8,
                     .store_kg = {9, 40},
                     .store_m3_h = {130, 12},
                     .heater_w = 3000,
                     .day_c = 20,
                     .night_c = 18.5,
                     .dry_rate_kg_h = 0.42,
                     .dry_set_pct = 54,
                     .dry_band_pct = 3,
                     .dry_power_w = 330,
                     .tank_kg = 5},
    [PLAN_BENCH] = {.volume_m3 = 170,
                    .leak_per_h = 0.25,
                    .wind_per_h = 0.03,
                    .window_w_k = 34,
                    .wall_w_k = 70,
                    .wall_area_m2 = 190,
                    .wall_j_k = 26e6,
                    .sun_m2 = 2.4,
                    .base_w = 320,
                    .base_kg_h = 0.05,
                    .store_kg = {26, 110},
                    .store_m3_h = {330, 30},
                    .heater_w = 8000,
                    .day_c = 19.5,
                    .warm_above_pct = 57,
                    .night_c = 15.5},
    [PLAN_STORE] = {.volume_m3 = 95,
                    .leak_per_h = 0.07,
                    .wind_per_h = 0.008,
                    .window_w_k = 2,
                    .wall_w_k = 34,
                    .wall_area_m2 = 120,
                    .wall_j_k = 38e6,
                    .ground_w_k = 10,
                    .base_w = 60,
                    .base_kg_h = 0.012,
                    .inner_w_k = 18,
                    .inner_m3_h = 4,
                    .store_kg = {45, 160},
                    .store_m3_h = {280, 30},
                    .heater_w = 2000,
                    .day_c = 16.5,
                    .night_c = 16.5,
                    .dry_rate_kg_h = 0.26,
                    .dry_set_pct = 54,
                    .dry_band_pct = 3,
                    .dry_power_w = 240,
                    .tank_kg = 4.5},
    [PLAN_QUARANTINE] = {.volume_m3 = 34,
                         .leak_per_h = 0.25,
                         .wind_per_h = 0.02,
                         .window_w_k = 6,
                         .wall_w_k = 18,
                         .wall_area_m2 = 58,
                         .wall_j_k = 8e6,
                         .sun_m2 = 0.3,
                         .base_w = 80,
                         .base_kg_h = 0.006,
                         .inner_w_k = 16,
                         .inner_m3_h = 4,
                         .store_kg = {4.5, 14},
                         .store_m3_h = {70, 6},
                         .heater_w = 1600,
                         .warm_above_pct = 55,
                         .day_c = 18.5,
                         .night_c = 16.5},
    [PLAN_GALLERY] = {.volume_m3 = 58,
                      .leak_per_h = 0.22,
                      .wind_per_h = 0.025,
                      .window_w_k = 17,
                      .wall_w_k = 26,
                      .wall_area_m2 = 80,
                      .wall_j_k = 11e6,
                      .sun_m2 = 1.0,
                      .base_w = 180,
                      .base_kg_h = 0.02,
                      .inner_w_k = 20,
                      .inner_m3_h = 8,
                      .store_kg = {10, 36},
                      .store_m3_h = {140, 12},
                      .heater_w = 2600,
                      .day_c = 20,
                      .warm_above_pct = 58,
                      .night_c = 17},
};

static const struct {
    double t_c, rh_pct; /* at the opening of the world; forgotten within weeks */
} at_first[PLAN_ROOMS] = {{19, 54}, {17, 55}, {16.5, 54}, {17, 57}, {18, 52}};

static const double person_w = 90.0;
static const double person_kg_h = 0.06;

const struct room_cfg *studio_room_cfg(enum plan_room room)
{
    return &cfgs[room];
}

void studio_open(struct studio *s, uint64_t seed, int64_t scene_utc_s, const struct weather *w)
{
    *s = (struct studio){.seed = seed, .scene_utc_s = scene_utc_s};
    s->planned_day = calendar_local(w->utc_s).day - 1;
    s->out_day_c = w->t_c;
    s->out_wall_c = w->t_c;
    for (int i = 0; i < PLAN_ROOMS; i++)
        room_settle(&cfgs[i], at_first[i].t_c, at_first[i].rh_pct, &s->rooms[i]);
}

static bool is_on(const struct plan_event *e, int64_t utc_s)
{
    return utc_s >= e->from_utc_s && utc_s < e->to_utc_s;
}

bool studio_happens(const struct studio *s, enum plan_kind kind, enum plan_room room,
                    int64_t utc_s)
{
    for (size_t i = 0; i < s->event_count; i++) {
        const struct plan_event *e = &s->events[i].plan;
        if (e->kind == kind && e->room == room && is_on(e, utc_s))
            return true;
    }
    return false;
}

bool studio_is_silent(const struct studio *s, size_t instrument, int64_t utc_s)
{
    for (size_t i = 0; i < s->event_count; i++) {
        const struct plan_event *e = &s->events[i].plan;
        if (e->kind == PLAN_SILENT && e->size >= (double)instrument &&
            e->size < (double)instrument + 1.0 && is_on(e, utc_s))
            return true;
    }
    return false;
}

/* Forgets what is over and draws the events of a day that has begun. */
static void plan(struct studio *s, int64_t day, int64_t utc_s)
{
    size_t kept = 0;
    for (size_t i = 0; i < s->event_count; i++)
        if (s->events[i].plan.to_utc_s > utc_s)
            s->events[kept++] = s->events[i];
    s->event_count = kept;

    struct plan_event fresh[PLAN_EVENTS_MAX];
    size_t count = plan_day(s->seed, day, s->scene_utc_s, fresh);
    for (size_t i = 0; i < count && s->event_count < STUDIO_EVENTS_MAX; i++)
        s->events[s->event_count++] = (struct studio_event){
            .plan = fresh[i], .water_kg = fresh[i].kind == PLAN_WET ? fresh[i].size : 0.0};
    s->planned_day = day;
}

/* Water that wet things give to the air of a room, kg/h. A thing that is half dry begins to
 * hold on to its water, and stops where wood would rest in that air. */
static double wet_kg_h(struct studio *s, enum plan_room room, int64_t utc_s)
{
    const struct room *r = &s->rooms[room];
    double saturated = moist_saturated(r->t_c);
    double sum = 0.0;
    for (size_t i = 0; i < s->event_count; i++) {
        struct studio_event *e = &s->events[i];
        if (e->plan.kind != PLAN_WET || e->plan.room != room || !is_on(&e->plan, utc_s))
            continue;
        double wet = fmin(1.0, 0.45 + 1.1 * e->water_kg / e->plan.size);
        double kg_h =
            e->plan.beta_m_h * e->plan.area_m2 * fmax(0.0, wet * saturated - r->kg_m3);
        kg_h = fmin(kg_h, e->water_kg * 3600.0 / ROOM_STEP_S);
        e->water_kg -= kg_h * ROOM_STEP_S / 3600.0;
        sum += kg_h;
    }
    return sum;
}

static double open_m3_h(const struct studio *s, enum plan_room room, const struct weather *w)
{
    double sum = 0.0;
    for (size_t i = 0; i < s->event_count; i++) {
        const struct plan_event *e = &s->events[i].plan;
        if (e->room != room || !is_on(e, w->utc_s))
            continue;
        if (e->kind == PLAN_WINDOW)
            sum += e->size;
        else if (e->kind == PLAN_DOOR)
            sum += 500.0 + 120.0 * w->wind_m_s;
    }
    return sum;
}

static double thermostat_c(const struct studio *s, enum plan_room room, int64_t day, int minute)
{
    const struct room_cfg *cfg = &cfgs[room];
    bool day_time = minute >= 6 * 60 + 15 && minute < 17 * 60 + 30 && calendar_is_working(day);
    double set_c = !s->boiler ? -100.0 : day_time ? cfg->day_c : cfg->night_c;
    if (cfg->warm_above_pct <= 0.0)
        return set_c;
    double damp_pct = fmax(0.0, room_rh_pct(&s->rooms[room]) - cfg->warm_above_pct);
    return damp_pct > 0.0 ? fmax(set_c, fmin(23.0, cfg->night_c + 1.2 * damp_pct)) : set_c;
}

static void step_plant(struct studio *s, const struct calendar_time *now, int64_t utc_s)
{
    if (!plan_empties(s->seed, now->day, now->minute) ||
        studio_happens(s, PLAN_NO_EMPTY, PLAN_DRYING, utc_s))
        return;
    for (int i = 0; i < PLAN_ROOMS; i++)
        s->rooms[i].tank_kg = 0.0;
}

/* Mean of what came, forgotten with time constant tau_s. */
static void soak(double *mean, double value, double tau_s)
{
    *mean += (value - *mean) * ROOM_STEP_S / tau_s;
}

static void step_solvent(struct studio *s, int64_t utc_s)
{
    bool flashing = studio_happens(s, PLAN_VARNISH, PLAN_DRYING, utc_s);
    bool fan = studio_happens(s, PLAN_WINDOW, PLAN_DRYING, utc_s);
    double change_per_h = fan ? 2.6 : 0.4;
    double target = flashing ? 1.0 : 0.0;
    s->solvent += (target - s->solvent) * (1.0 - exp(-change_per_h * ROOM_STEP_S / 3600.0));
}

void studio_step(struct studio *s, const struct weather *w)
{
    struct calendar_time now = calendar_local(w->utc_s);
    if (now.day != s->planned_day)
        plan(s, now.day, w->utc_s);
    soak(&s->out_day_c, w->t_c, 86400.0);
    soak(&s->out_wall_c, w->t_c, 36000.0);
    s->boiler = s->out_day_c < (s->boiler ? 17.0 : 16.0);
    step_plant(s, &now, w->utc_s);
    step_solvent(s, w->utc_s);

    bool mains = !studio_happens(s, PLAN_MAINS, PLAN_BENCH, w->utc_s);
    int people = plan_people(s->seed, now.day, now.minute);
    const struct room bench = s->rooms[PLAN_BENCH]; /* as it was: all neighbours see the same */
    struct room_drive d = {
        .out_c = w->t_c,
        .out_kg_m3 = moist_density(w->p_pa, w->t_c),
        .face_c = w->t_c + 0.012 * w->sun_flat_w_m2,
        .wind_m_s = w->wind_m_s,
        .sun_w_m2 = w->sun_south_w_m2,
        .ground_c = 11.5 + 2.5 * cos(6.2831853 * (now.year_day - 250.0) / 365.25),
        .inner_c = bench.t_c,
        .inner_kg_m3 = bench.kg_m3,
    };
    for (int i = 0; i < PLAN_ROOMS; i++) {
        enum plan_room room = (enum plan_room)i;
        /* Most people are at the bench; the other rooms see one now and then. */
        double here = room == PLAN_BENCH ? 0.7 * people : 0.1 * people;
        d.heat_w = here * person_w + (room == PLAN_BENCH && people > 0 ? 350.0 : 0.0);
        d.water_kg_h = here * person_kg_h + wet_kg_h(s, room, w->utc_s);
        d.inner_extra_m3_h = room == PLAN_STORE ? 3.0 * people : 9.0 * people;
        d.open_m3_h = open_m3_h(s, room, w);
        d.set_c = mains ? thermostat_c(s, room, now.day, now.minute) : -100.0;
        d.dry_ready = mains && !studio_happens(s, PLAN_PLANT_FAIL, room, w->utc_s);
        if (room == PLAN_BENCH) {
            /* Its neighbours' share in its air is small against its own leaks. */
            d.inner_extra_m3_h = 0.0;
        }
        room_step(&cfgs[i], &d, &s->rooms[i]);
    }
}
