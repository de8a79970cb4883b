/* test_sim_world.c - the invented studio is repeatable, and behaves as air in a studio does. */
#include "support/near.h"

#include <string.h>

#include "calendar.h"
#include "instrument.h"
#include "moist.h"
#include "room.h"
#include "world.h"

enum {
    HOUR_S = 3600
};

static int64_t utc_of(int year, int month, int day)
{
    return calendar_day_of(year, month, day) * CALENDAR_DAY_S;
}

static struct world *opened(uint64_t seed, int64_t start_utc_s, int64_t scene_utc_s)
{
    struct world_cfg cfg = {
        .seed = seed, .start_utc_s = start_utc_s, .scene_utc_s = scene_utc_s};
    struct world *w = NULL;
    assert_int_equal(world_open(&cfg, &w), RC_OK);
    return w;
}

static double shown(const struct world *w, size_t instrument, enum quantity q, int64_t utc_s)
{
    double value = nan("");
    assert_true(world_read(w, instrument, q, utc_s, &value));
    return value;
}

static void a_world_opened_again_reads_the_same(void **state)
{
    (void)state;
    int64_t from = utc_of(2026, 2, 1);
    struct world *a = opened(7, from, 0);
    struct world *b = opened(7, from, 0);
    world_advance(b, from + 20 * CALENDAR_DAY_S); /* in one leap */
    for (int64_t t = from; t <= from + 20 * CALENDAR_DAY_S; t += 37)
        world_advance(a, t); /* in small uneven steps */
    world_advance(a, from + 20 * CALENDAR_DAY_S);
    for (size_t i = 0; i < INSTRUMENT_COUNT; i++) {
        const struct instrument *in = instrument_at(i);
        for (size_t c = 0; c < in->channel_count; c++) {
            int64_t t = from + 20 * CALENDAR_DAY_S - 15;
            enum quantity q = in->channels[c].quantity;
            assert_near(shown(a, i, q, t), shown(b, i, q, t), 0.0);
        }
    }
    world_close(a);
    world_close(b);
}

static void another_seed_gives_other_weather(void **state)
{
    (void)state;
    int64_t from = utc_of(2026, 2, 1);
    struct world *a = opened(7, from, 0);
    struct world *b = opened(8, from, 0);
    double apart = 0.0;
    for (int h = 1; h <= 240; h++) {
        world_advance(a, from + h * HOUR_S);
        world_advance(b, from + h * HOUR_S);
        apart += fabs(world_outdoor(a).t_c - world_outdoor(b).t_c);
    }
    assert_true(apart / 240 > 0.3);
    world_close(a);
    world_close(b);
}

static void air_stays_physical_for_a_year(void **state)
{
    (void)state;
    int64_t from = utc_of(2025, 6, 1);
    struct world *w = opened(3, from, 0);
    double before_c = world_outdoor(w).t_c;
    for (int64_t m = 1; m <= 366 * 1440; m++) {
        world_advance(w, from + m * 60);
        struct world_air out = world_outdoor(w);
        assert_true(out.rh_pct > 0.0 && out.rh_pct <= 100.0);
        assert_true(out.t_c > -15.0 && out.t_c < 38.0); /* project choice: a mild coast */
        assert_near(out.t_c, before_c, 1.0);            /* air has no stairs */
        before_c = out.t_c;
        for (int r = 0; r < PLAN_ROOMS; r++) {
            struct world_air air = world_room(w, (enum plan_room)r);
            assert_true(air.rh_pct > 5.0 && air.rh_pct < 100.0);
            assert_true(air.t_c > 5.0 && air.t_c < 35.0);
        }
    }
    world_close(w);
}

/* Bounds: project choice, a few kelvin about what the English Channel coast is known for. */
static void seasons_are_those_of_a_temperate_coast(void **state)
{
    (void)state;
    const struct {
        int month;
        double least_c, most_c, least_rh, most_rh;
    } rows[] = {{1, 1.5, 8.5, 75, 95},
                {4, 6.5, 13.0, 68, 92},
                {7, 14.0, 21.0, 65, 88},
                {10, 9.0, 15.5, 72, 93}};
    double t_sum[13] = {0}, rh_sum[13] = {0};
    int count[13] = {0};
    int64_t from = utc_of(2023, 1, 1), to = utc_of(2026, 1, 1);
    struct world *w = opened(5, from, 0);
    for (int64_t t = from; t < to; t += HOUR_S) {
        world_advance(w, t);
        int month = calendar_local(t).month;
        t_sum[month] += world_outdoor(w).t_c;
        rh_sum[month] += world_outdoor(w).rh_pct;
        count[month]++;
    }
    world_close(w);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int m = rows[i].month;
        double t_c = t_sum[m] / count[m], rh_pct = rh_sum[m] / count[m];
        if (t_c < rows[i].least_c || t_c > rows[i].most_c || rh_pct < rows[i].least_rh ||
            rh_pct > rows[i].most_rh)
            fail_msg("month %d: mean %.2f degC, %.1f %%", m, t_c, rh_pct);
    }
}

static void rooms_are_dry_in_winter_and_damp_in_late_summer(void **state)
{
    (void)state;
    double sum[2] = {0};
    int count[2] = {0};
    int64_t from = utc_of(2023, 10, 1), to = utc_of(2025, 10, 1);
    struct world *w = opened(5, from, 0);
    for (int64_t t = from; t < to; t += HOUR_S) {
        world_advance(w, t);
        int month = calendar_local(t).month;
        int late_summer = month == 8 || month == 9;
        if (!late_summer && month != 1 && month != 2)
            continue;
        sum[late_summer] += world_room(w, PLAN_GALLERY).rh_pct;
        count[late_summer]++;
    }
    world_close(w);
    double winter = sum[0] / count[0], summer = sum[1] / count[1];
    assert_true(winter > 38.0 && winter < 53.0); /* project choice */
    assert_true(summer > 55.0 && summer < 65.0); /* project choice */
}

static void every_reading_is_a_tenth_and_near_the_truth(void **state)
{
    (void)state;
    int64_t from = utc_of(2026, 3, 1);
    struct world *w = opened(7, from, 0);
    size_t st = 0;
    assert_true(instrument_by_name("st-1", &st));
    for (int64_t t = from + HOUR_S; t < from + 10 * CALENDAR_DAY_S; t += 300) {
        world_advance(w, t);
        double t_c = shown(w, st, QUANTITY_TEMPERATURE, t);
        double rh_pct = shown(w, st, QUANTITY_HUMIDITY, t);
        assert_near(10.0 * t_c, round(10.0 * t_c), 1e-9);
        assert_near(10.0 * rh_pct, round(10.0 * rh_pct), 1e-9);
        assert_near(t_c, world_room(w, PLAN_STORE).t_c, 0.5);
        assert_near(rh_pct, world_room(w, PLAN_STORE).rh_pct, 3.0);
    }
    world_close(w);
}

static void the_days_before_the_scene_have_something_to_show(void **state)
{
    (void)state;
    int64_t scene = utc_of(2026, 11, 25) + 9 * HOUR_S;
    struct world *w = opened(7, scene - 30 * CALENDAR_DAY_S, scene);
    bool entry = false, canvas = false, failure = false;
    for (int64_t t = scene - 12 * CALENDAR_DAY_S; t < scene; t += 600) {
        world_advance(w, t);
        entry = entry || world_happens(w, PLAN_WET, PLAN_QUARANTINE);
        canvas = canvas || world_happens(w, PLAN_WET, PLAN_DRYING);
        failure = failure || world_happens(w, PLAN_PLANT_FAIL, PLAN_DRYING) ||
                  world_happens(w, PLAN_PLANT_FAIL, PLAN_STORE);
    }
    assert_true(entry && canvas && failure);
    world_close(w);
}

static struct room_cfg plain_room(void)
{
    return (struct room_cfg){.volume_m3 = 70,
                             .leak_per_h = 0.3,
                             .window_w_k = 15,
                             .wall_w_k = 40,
                             .wall_area_m2 = 90,
                             .wall_j_k = 12e6,
                             .store_kg = {9, 30},
                             .store_m3_h = {120, 10},
                             .heater_w = 3000,
                             .dry_rate_kg_h = 0.5,
                             .dry_set_pct = 50,
                             .dry_band_pct = 4,
                             .dry_power_w = 300,
                             .tank_kg = 5};
}

static struct room_drive plain_drive(void)
{
    return (struct room_drive){.out_c = 8,
                               .out_kg_m3 = 0.8 * moist_saturated(8),
                               .face_c = 8,
                               .inner_c = 19,
                               .inner_kg_m3 = 0.5 * moist_saturated(19),
                               .set_c = 19};
}

static void run(const struct room_cfg *cfg, const struct room_drive *d, int minutes,
                struct room *r)
{
    for (int i = 0; i < minutes; i++)
        room_step(cfg, d, r);
}

static void a_dehumidifier_lowers_the_vapour_of_a_damp_room(void **state)
{
    (void)state;
    struct room_cfg cfg = plain_room();
    struct room_drive d = plain_drive();
    struct room with, without;
    room_settle(&cfg, 19, 70, &with);
    without = with;
    run(&cfg, &d, 360, &without);
    d.dry_ready = true;
    run(&cfg, &d, 360, &with);
    assert_true(with.kg_m3 < without.kg_m3 - 0.0005);
    assert_true(with.tank_kg > without.tank_kg + 0.5);
}

static void a_dehumidifier_pauses_between_its_two_humidities(void **state)
{
    (void)state;
    struct room_cfg cfg = plain_room();
    struct room_drive d = plain_drive();
    d.out_kg_m3 = 0.95 * moist_saturated(15); /* muggy outdoors: it has to work */
    d.dry_ready = true;
    cfg.tank_kg = 1000;
    struct room r;
    room_settle(&cfg, 19, 52, &r);
    bool ran = false, paused = false;
    for (int i = 0; i < 3 * 1440; i++) {
        room_step(&cfg, &d, &r);
        ran = ran || r.drying;
        paused = paused || (ran && !r.drying);
    }
    assert_true(ran && paused);
    assert_true(room_rh_pct(&r) > 47.0 && room_rh_pct(&r) < 53.0); /* 50 and half the band */
}

static void a_full_tank_stops_it_and_an_empty_one_starts_it_again(void **state)
{
    (void)state;
    struct room_cfg cfg = plain_room();
    struct room_drive d = plain_drive();
    d.dry_ready = true;
    d.water_kg_h = 0.4;
    struct room r;
    room_settle(&cfg, 19, 75, &r);
    for (int i = 0; i < 1440 && !r.tank_full; i++)
        room_step(&cfg, &d, &r);
    assert_true(r.tank_full);
    assert_near(r.tank_kg, cfg.tank_kg, 1e-9);
    double before = room_rh_pct(&r);
    run(&cfg, &d, 60, &r);
    assert_near(r.tank_kg, cfg.tank_kg, 1e-9);
    double full = room_rh_pct(&r);
    assert_true(full > before);
    r.tank_kg = 0;
    run(&cfg, &d, 60, &r);
    assert_false(r.tank_full);
    assert_true(r.tank_kg > 0.1);
    assert_true(room_rh_pct(&r) < full);
}

static void a_night_set_back_cools_the_room_and_raises_its_humidity(void **state)
{
    (void)state;
    struct room_cfg cfg = plain_room();
    cfg.dry_rate_kg_h = 0;
    struct room_drive d = plain_drive();
    struct room r;
    room_settle(&cfg, 19, 45, &r);
    run(&cfg, &d, 2880, &r);
    double day_c = r.t_c, day_rh = room_rh_pct(&r);
    d.set_c = 15;
    run(&cfg, &d, 720, &r);
    assert_true(r.t_c < day_c - 0.5 && r.t_c > 14.5);
    assert_true(room_rh_pct(&r) > day_rh + 0.5);
}

static void wood_and_canvas_smooth_a_swing_of_the_outdoor_air(void **state)
{
    (void)state;
    struct room_cfg bare = plain_room(), full = plain_room();
    bare.dry_rate_kg_h = full.dry_rate_kg_h = 0;
    bare.store_m3_h[ROOM_FAST] = bare.store_m3_h[ROOM_SLOW] = 0;
    struct room_drive d = plain_drive();
    struct room a, b;
    room_settle(&bare, 19, 50, &a);
    room_settle(&full, 19, 50, &b);
    d.out_kg_m3 = 0.9 * moist_saturated(17);
    run(&bare, &d, 240, &a);
    run(&full, &d, 240, &b);
    assert_true(room_rh_pct(&b) - 50.0 < 0.5 * (room_rh_pct(&a) - 50.0));
}

static double water_kg(const struct room_cfg *cfg, const struct room *r)
{
    double kg = cfg->volume_m3 * r->kg_m3;
    for (int i = 0; i < ROOM_STORES; i++)
        kg += cfg->store_kg[i] * r->store[i];
    return kg;
}

static void a_sealed_room_keeps_its_water(void **state)
{
    (void)state;
    struct room_cfg cfg = plain_room();
    cfg.leak_per_h = 0;
    cfg.dry_rate_kg_h = 0;
    struct room_drive d = plain_drive();
    struct room r;
    room_settle(&cfg, 19, 55, &r);
    double before = water_kg(&cfg, &r);
    d.water_kg_h = 0.02;
    run(&cfg, &d, 1440, &r);
    assert_near(water_kg(&cfg, &r), before + 24 * 0.02, 1e-9);
}

/* Dates of the published calendar: Easter 5 April 2026 and 28 March 2027; summer time from
 * 29 March to 25 October 2026. */
static void the_calendar_knows_holidays_and_summer_time(void **state)
{
    (void)state;
    const struct {
        int year, month, day;
        bool working;
    } rows[] = {
        {2026, 4, 2, true},    {2026, 4, 3, false},  {2026, 4, 6, false},
        {2026, 4, 7, true},    {2027, 3, 26, false}, {2027, 3, 29, false},
        {2026, 5, 4, false},   {2026, 5, 25, false}, {2026, 8, 31, false},
        {2026, 12, 24, false}, {2026, 11, 25, true}, {2026, 11, 28, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int64_t day = calendar_day_of(rows[i].year, rows[i].month, rows[i].day);
        if (calendar_is_working(day) != rows[i].working)
            fail_msg("%d-%d-%d", rows[i].year, rows[i].month, rows[i].day);
    }
    int64_t spring = utc_of(2026, 3, 29) + HOUR_S, autumn = utc_of(2026, 10, 25) + HOUR_S;
    assert_int_equal(calendar_local(spring - 60).minute, 59);
    assert_int_equal(calendar_local(spring).minute, 120);
    assert_int_equal(calendar_local(autumn - 60).minute, 119);
    assert_int_equal(calendar_local(autumn).minute, 60);
    int64_t noon = calendar_utc(calendar_day_of(2026, 7, 1), 720);
    assert_int_equal(noon, utc_of(2026, 7, 1) + 11 * HOUR_S);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_world_opened_again_reads_the_same),
        cmocka_unit_test(another_seed_gives_other_weather),
        cmocka_unit_test(air_stays_physical_for_a_year),
        cmocka_unit_test(seasons_are_those_of_a_temperate_coast),
        cmocka_unit_test(rooms_are_dry_in_winter_and_damp_in_late_summer),
        cmocka_unit_test(every_reading_is_a_tenth_and_near_the_truth),
        cmocka_unit_test(the_days_before_the_scene_have_something_to_show),
        cmocka_unit_test(a_dehumidifier_lowers_the_vapour_of_a_damp_room),
        cmocka_unit_test(a_dehumidifier_pauses_between_its_two_humidities),
        cmocka_unit_test(a_full_tank_stops_it_and_an_empty_one_starts_it_again),
        cmocka_unit_test(a_night_set_back_cools_the_room_and_raises_its_humidity),
        cmocka_unit_test(wood_and_canvas_smooth_a_swing_of_the_outdoor_air),
        cmocka_unit_test(a_sealed_room_keeps_its_water),
        cmocka_unit_test(the_calendar_knows_holidays_and_summer_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
