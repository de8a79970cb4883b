/* weather.h - invented weather of a temperate coastal town, a minute at a time.
 *
 * A seasonal mean, a chain of air masses with a front between each two, a day's course that
 * the cloud damps, and noise that remembers itself for hours and weeks.  All parameters are
 * project choices; they aim at the climate of the English Channel coast.
 *
 * Units:   degC, Pa, percent, m/s, W/m2.
 * Range:   relative humidity stays in 0-100 by construction.
 * Owner:   a plain value; nothing is allocated.
 * Threads: none; one owner.
 */
#ifndef SIMULATOR_WEATHER_H
#define SIMULATOR_WEATHER_H

#include <stdint.h>

enum {
    WEATHER_STEP_S = 60
};

struct weather_mass {
    double warm_k;    /* above the seasonal mean */
    double dryness_k; /* mean temperature above dew point */
    double clear;     /* 0 overcast - 1 clear */
};

struct weather {
    uint64_t seed;
    int64_t utc_s;
    struct weather_mass before; /* the air mass that leaves */
    struct weather_mass after;  /* the one that comes */
    int64_t front_utc_s;        /* middle of the change between them */
    double front_width_s;
    int64_t next_utc_s; /* when `after` begins to be `before` */
    uint64_t masses;    /* drawn so far */
    double month_k, half_day_k, gust_k, dew_k, clear_noise,
        wind_ln; /* self-remembering noise */

    double t_c;
    double dew_c;
    double p_pa; /* of vapour */
    double rh_pct;
    double wind_m_s;
    double sun_flat_w_m2;  /* on level ground */
    double sun_south_w_m2; /* on a south front */
};

void weather_open(struct weather *w, uint64_t seed, int64_t utc_s);

/* One step of WEATHER_STEP_S on. */
void weather_step(struct weather *w);

#endif
