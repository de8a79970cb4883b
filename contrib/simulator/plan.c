/* plan.c - the studio's calendar of events.  Contract in plan.h.
 *
 * How often things happen is a project choice: lively enough to be looked at, quiet enough
 * for a well-kept studio.
 */
#include "plan.h"

#include "calendar.h"
#include "rng.h"

#include <math.h>

enum {
    STREAM_PEOPLE = 300,
    STREAM_EMPTY,
    STREAM_DOORS,
    STREAM_DELIVERY,
    STREAM_WINDOW,
    STREAM_WET,
    STREAM_GESSO,
    STREAM_VARNISH,
    STREAM_ENTRY,
    STREAM_PLANT,
    STREAM_FORGET,
    STREAM_LEAK,
    STREAM_MAINS,
    STREAM_SILENT,
};

enum {
    STAFF = 3,
    INSTRUMENTS = 10, /* that may fall silent; see instrument.h */
    MORNING_MIN = 8 * 60 + 40
};

/* The scene: so many working days before the demo is first opened. */
enum {
    SCENE_ENTRY = 1,
    SCENE_WET = 2,
    SCENE_VARNISH = 3,
    SCENE_PLANT = 6
};

struct plan_list {
    uint64_t seed;
    int64_t day;
    int scene; /* working days until the scene; 0: none, or past */
    struct plan_event *out;
    size_t count;
};

/* A draw of this day for a stream; several draws of one stream differ by `nth`. */
static double even(const struct plan_list *p, uint64_t stream, uint64_t nth)
{
    return rng_even(p->seed, stream, (uint64_t)p->day * 64 + nth);
}

static double between(const struct plan_list *p, uint64_t stream, uint64_t nth, double low,
                      double high)
{
    return low + (high - low) * even(p, stream, nth);
}

static struct plan_event *add(struct plan_list *p, enum plan_kind kind, enum plan_room room,
                              double from_min, double length_min)
{
    struct plan_event *e = &p->out[p->count];
    if (p->count + 1 < PLAN_EVENTS_MAX)
        p->count++;
    *e = (struct plan_event){.kind = kind, .room = room};
    e->from_utc_s = calendar_utc(p->day, (int)from_min);
    e->to_utc_s = e->from_utc_s + (int64_t)(length_min * 60.0);
    return e;
}

static void add_doors(struct plan_list *p)
{
    int doors = 2 + (int)(4.0 * even(p, STREAM_DOORS, 0));
    for (int i = 1; i <= doors; i++)
        add(p, PLAN_DOOR, PLAN_BENCH, between(p, STREAM_DOORS, (uint64_t)(2 * i), 510, 1070),
            between(p, STREAM_DOORS, (uint64_t)(2 * i + 1), 2, 8));
    if (even(p, STREAM_DELIVERY, 0) < 0.3)
        add(p, PLAN_DOOR, PLAN_BENCH, between(p, STREAM_DELIVERY, 1, 560, 960),
            between(p, STREAM_DELIVERY, 2, 12, 28));

    double year_day = calendar_local(calendar_utc(p->day, 720)).year_day;
    double summer = cos(6.2831853 * (year_day - 205.0) / 365.25);
    if (even(p, STREAM_WINDOW, 0) < 0.8 * summer)
        add(p, PLAN_WINDOW, PLAN_BENCH, between(p, STREAM_WINDOW, 1, 600, 760),
            between(p, STREAM_WINDOW, 2, 90, 300))
            ->size = between(p, STREAM_WINDOW, 3, 120, 420);
}

static void add_wet_work(struct plan_list *p)
{
    const double days = 1440.0;
    if (p->scene == SCENE_WET || even(p, STREAM_WET, 0) < 0.15) {
        struct plan_event *e =
            add(p, PLAN_WET, PLAN_DRYING, between(p, STREAM_WET, 1, 590, 930),
                between(p, STREAM_WET, 2, 2, 5) * days);
        e->size = between(p, STREAM_WET, 3, p->scene == SCENE_WET ? 6.0 : 1.5, 7.0);
        e->area_m2 = 1.4 * e->size;
        e->beta_m_h = 18.0;
    }
    if (even(p, STREAM_GESSO, 0) < 0.2) {
        struct plan_event *e =
            add(p, PLAN_WET, PLAN_BENCH, between(p, STREAM_GESSO, 1, 560, 900), 1.5 * days);
        e->size = between(p, STREAM_GESSO, 2, 0.3, 0.8);
        e->area_m2 = 2.0 * e->size;
        e->beta_m_h = 5.0;
    }
    if (p->scene == SCENE_VARNISH || even(p, STREAM_VARNISH, 0) < 0.14) {
        double from_min = between(p, STREAM_VARNISH, 1, 840, 930);
        add(p, PLAN_VARNISH, PLAN_DRYING, from_min, 100);
        add(p, PLAN_WINDOW, PLAN_DRYING, from_min, 190)->size = 160;
    }
    if (p->scene == SCENE_ENTRY || even(p, STREAM_ENTRY, 0) < 0.03) {
        struct plan_event *e =
            add(p, PLAN_WET, PLAN_QUARANTINE, between(p, STREAM_ENTRY, 1, 570, 1000),
                between(p, STREAM_ENTRY, 2, 10, 18) * days);
        e->size = between(p, STREAM_ENTRY, 3, p->scene == SCENE_ENTRY ? 7.5 : 4.0, 8.0);
        e->area_m2 = 0.6 + 0.4 * e->size;
        e->beta_m_h = 5.5;
    }
}

/* Minutes from this day's midnight to the next working morning. */
static double until_morning(const struct plan_list *p)
{
    int64_t day = p->day + 1;
    while (!calendar_is_working(day))
        day++;
    return (double)(day - p->day) * 1440.0 + MORNING_MIN;
}

static void add_faults(struct plan_list *p)
{
    if (p->scene == SCENE_PLANT || even(p, STREAM_PLANT, 0) < 0.014) {
        enum plan_room room = even(p, STREAM_PLANT, 1) < 0.5 ? PLAN_DRYING : PLAN_STORE;
        double from_min = between(p, STREAM_PLANT, 2, 1310, 1439);
        add(p, PLAN_PLANT_FAIL, room, from_min, until_morning(p) - from_min);
    }
    if (even(p, STREAM_LEAK, 0) < 0.002) {
        double from_min = between(p, STREAM_LEAK, 1, 0, 1300);
        double length_min = between(p, STREAM_LEAK, 2, 25, 110);
        add(p, PLAN_LEAK, PLAN_STORE, from_min, length_min);
        struct plan_event *e = add(p, PLAN_WET, PLAN_STORE, from_min, 900);
        e->size = length_min / 60.0;
        e->area_m2 = 1.0;
        e->beta_m_h = 5.5;
    }
    if (even(p, STREAM_MAINS, 0) < 0.004)
        add(p, PLAN_MAINS, PLAN_BENCH, between(p, STREAM_MAINS, 1, 0, 1400),
            between(p, STREAM_MAINS, 2, 12, 90));
    if (even(p, STREAM_SILENT, 0) < 0.012) {
        double length_min = exp(between(p, STREAM_SILENT, 1, log(25.0), log(1500.0)));
        add(p, PLAN_SILENT, PLAN_BENCH, between(p, STREAM_SILENT, 2, 0, 1400), length_min)
            ->size = floor(INSTRUMENTS * even(p, STREAM_SILENT, 3));
    }
}

/* Wet work is left over the weekend, and nobody empties the tank before going home. */
static void add_forgotten_tank(struct plan_list *p)
{
    add(p, PLAN_NO_EMPTY, PLAN_DRYING, 0, 1439);
    struct plan_event *e =
        add(p, PLAN_WET, PLAN_DRYING, between(p, STREAM_FORGET, 1, 960, 1020), 3.0 * 1440.0);
    e->size = between(p, STREAM_FORGET, 2, 7.0, 9.0);
    e->area_m2 = 0.9 * e->size;
    e->beta_m_h = 5.0;
}

/* How many working days lie in [day, scene): 1 is the last before it. */
static int days_to_scene(int64_t day, int64_t scene_utc_s)
{
    int64_t scene_day = calendar_local(scene_utc_s).day;
    if (scene_utc_s == 0 || day >= scene_day || scene_day - day > 21 ||
        !calendar_is_working(day))
        return 0;
    int count = 0;
    for (int64_t d = day; d < scene_day; d++)
        count += calendar_is_working(d) ? 1 : 0;
    return count;
}

size_t plan_day(uint64_t seed, int64_t day, int64_t scene_utc_s,
                struct plan_event out[PLAN_EVENTS_MAX])
{
    struct plan_list p = {.seed = seed, .day = day, .out = out};
    p.scene = days_to_scene(day, scene_utc_s);
    if (calendar_is_working(day)) {
        add_doors(&p);
        add_wet_work(&p);
        if (!calendar_is_working(day + 1) && even(&p, STREAM_FORGET, 0) < 0.07)
            add_forgotten_tank(&p);
    }
    add_faults(&p);
    return p.count;
}

int plan_people(uint64_t seed, int64_t day, int minute)
{
    if (!calendar_is_working(day))
        return 0;
    int people = 0;
    for (uint64_t i = 0; i < STAFF; i++) {
        uint64_t n = (uint64_t)day * 64 + 4 * i;
        double come = 500.0 + 45.0 * rng_even(seed, STREAM_PEOPLE, n);
        double go = 1030.0 + 55.0 * rng_even(seed, STREAM_PEOPLE, n + 1);
        bool away = rng_even(seed, STREAM_PEOPLE, n + 2) < 0.12; /* a day off, a visit */
        bool lunch = minute >= 750 && minute < 795 && i > 0;
        people += !away && !lunch && minute >= come && minute < go ? 1 : 0;
    }
    return people;
}

bool plan_empties(uint64_t seed, int64_t day, int minute)
{
    if (!calendar_is_working(day))
        return false;
    uint64_t n = (uint64_t)day * 64;
    int morning = 525 + (int)(25.0 * rng_even(seed, STREAM_EMPTY, n));
    int evening = 1035 + (int)(25.0 * rng_even(seed, STREAM_EMPTY, n + 1));
    return minute == morning || minute == evening;
}
