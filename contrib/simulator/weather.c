/* weather.c - air masses, fronts, seasons and days.  Contract in weather.h. */
#include "weather.h"

#include "calendar.h"
#include "moist.h"
#include "rng.h"

#include <math.h>
#include <stddef.h>

#define PI 3.14159265358979323846

/* One stream of draws for each process, so that changing one leaves the others alone. */
enum {
    STREAM_MASS = 100,
    STREAM_MASS_WARM,
    STREAM_MASS_DRY,
    STREAM_MASS_CLEAR,
    STREAM_MASS_LENGTH,
    STREAM_MONTH,
    STREAM_HALF_DAY,
    STREAM_GUST,
    STREAM_DEW,
    STREAM_CLEAR,
    STREAM_WIND,
};

static const double latitude_deg = 50.8;

/* 1 at the height of summer, -1 in deep winter; the sea puts both off by a month. */
static double season(double year_day)
{
    return cos(2.0 * PI * (year_day - 209.0) / 365.25);
}

/* The kinds of air that reach the coast: share, warmth in winter and in summer, dryness,
 * clearness. */
static const struct {
    double share;
    double winter_k, summer_k;
    double winter_dry_k, summer_dry_k;
    double clear;
} kinds[] = {
    {0.35, -1.6, -1.5, 2.6, 4.6, 0.55}, /* maritime, from the north-west */
    {0.30, 2.9, 1.0, 1.0, 2.4, 0.20},   /* maritime, from the south-west */
    {0.15, -4.6, 3.4, 2.9, 6.0, 0.80},  /* continental high */
    {0.20, 0.2, 0.2, 1.9, 3.6, 0.40},   /* mixed */
};

static struct weather_mass mass_draw(const struct weather *w)
{
    uint64_t n = w->masses;
    double pick = rng_even(w->seed, STREAM_MASS, n);
    size_t k = 0;
    while (k + 1 < sizeof kinds / sizeof kinds[0] && pick >= kinds[k].share)
        pick -= kinds[k++].share;

    double summer = 0.5 + 0.5 * season(calendar_local(w->utc_s).year_day);
    double warm = kinds[k].winter_k + summer * (kinds[k].summer_k - kinds[k].winter_k);
    double dry =
        kinds[k].winter_dry_k + summer * (kinds[k].summer_dry_k - kinds[k].winter_dry_k);
    struct weather_mass m = {
        .warm_k = warm + 1.1 * rng_normal(w->seed, STREAM_MASS_WARM, n),
        .dryness_k = fmax(0.4, dry * (1.0 + 0.3 * rng_normal(w->seed, STREAM_MASS_DRY, n))),
        .clear = kinds[k].clear + 0.15 * rng_normal(w->seed, STREAM_MASS_CLEAR, n),
    };
    return m;
}

static void mass_next(struct weather *w)
{
    w->before = w->after;
    w->after = mass_draw(w);
    double length_d = 0.9 - 2.4 * log(1.0 - rng_even(w->seed, STREAM_MASS_LENGTH, w->masses));
    w->masses++;
    /* A cold front passes within an hour or two, a warm one takes most of a day. */
    w->front_width_s = w->after.warm_k < w->before.warm_k ? 2000.0 : 9000.0;
    w->front_utc_s = w->utc_s + (int64_t)(4.0 * w->front_width_s);
    w->next_utc_s = w->front_utc_s + (int64_t)(fmin(length_d, 9.0) * CALENDAR_DAY_S);
}

/* A step of noise that forgets with time constant tau_s and keeps the spread sd. */
static void remember(const struct weather *w, int stream, double tau_s, double sd, double *x)
{
    double keep = exp(-WEATHER_STEP_S / tau_s);
    uint64_t n = (uint64_t)(w->utc_s / WEATHER_STEP_S);
    *x = keep * *x + sd * sqrt(1.0 - keep * keep) * rng_normal(w->seed, (uint64_t)stream, n);
}

static void sun(struct weather *w, double year_day, double clear)
{
    double declination = 23.45 * PI / 180.0 * sin(2.0 * PI * (year_day + 284.0) / 365.0);
    double latitude = latitude_deg * PI / 180.0;
    double hour = 2.0 * PI * (year_day - floor(year_day) - 0.5); /* solar noon at 12 UTC */
    double high =
        sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * cos(hour);
    w->sun_flat_w_m2 = 0.0;
    w->sun_south_w_m2 = 0.0;
    if (high <= 0.0)
        return;
    /* Beam through a clear sky after Meinel and Meinel (1976), air mass by 1/sin. */
    double beam = 1353.0 * pow(0.7, pow(1.0 / fmax(high, 0.02), 0.678)) * clear * clear;
    double diffuse = high * (120.0 + 160.0 * (1.0 - clear));
    double south =
        cos(declination) * cos(hour) * sin(latitude) - sin(declination) * cos(latitude);
    w->sun_flat_w_m2 = beam * high + diffuse;
    w->sun_south_w_m2 = beam * fmax(0.0, south) + 0.5 * diffuse;
}

static void observe(struct weather *w)
{
    double year_day = calendar_local(w->utc_s).year_day;
    double summer = season(year_day);
    double share = 1.0 / (1.0 + exp(-(double)(w->utc_s - w->front_utc_s) / w->front_width_s));
    double warm = w->before.warm_k + share * (w->after.warm_k - w->before.warm_k);
    double dry = w->before.dryness_k + share * (w->after.dryness_k - w->before.dryness_k);
    double clear =
        w->before.clear + share * (w->after.clear - w->before.clear) + w->clear_noise;
    clear = fmin(1.0, fmax(0.05, clear));

    double mean = 11.5 + 6.2 * summer + warm + w->month_k + w->half_day_k;
    double phase = 2.0 * PI * (year_day - floor(year_day) - 14.3 / 24.0);
    double swing = (2.6 + 1.5 * summer) * (0.25 + 0.95 * clear);
    w->t_c = mean + swing * (cos(phase) + 0.2 * cos(2.0 * phase)) + w->gust_k;

    /* Where the air would cool below its dew point, dew and fog take the vapour: the margin
     * closes softly and never becomes negative. */
    double margin = w->t_c - (mean - dry + 0.5 * swing * 0.2 * cos(phase) + w->dew_k);
    const double soft = 0.5;
    margin = 0.08 + (margin > 20.0 * soft ? margin : soft * log1p(exp(margin / soft)));
    w->dew_c = w->t_c - margin;
    w->p_pa = moist_svp(w->dew_c);
    w->rh_pct = 100.0 * w->p_pa / moist_svp(w->t_c);

    double front = 4.0 * share * (1.0 - share); /* gusts as the front goes through */
    w->wind_m_s = 4.2 * exp(w->wind_ln) * (1.0 + 0.8 * front);
    sun(w, year_day, clear);
}

void weather_open(struct weather *w, uint64_t seed, int64_t utc_s)
{
    *w = (struct weather){.seed = seed, .utc_s = utc_s};
    w->after = mass_draw(w);
    w->masses = 1;
    mass_next(w);
    observe(w);
}

void weather_step(struct weather *w)
{
    w->utc_s += WEATHER_STEP_S;
    if (w->utc_s >= w->next_utc_s)
        mass_next(w);
    remember(w, STREAM_MONTH, 35.0 * CALENDAR_DAY_S, 0.8, &w->month_k);
    remember(w, STREAM_HALF_DAY, 43200.0, 0.9, &w->half_day_k);
    remember(w, STREAM_GUST, 1500.0, 0.12, &w->gust_k);
    remember(w, STREAM_DEW, 30000.0, 0.8, &w->dew_k);
    remember(w, STREAM_CLEAR, 9000.0, 0.12, &w->clear_noise);
    remember(w, STREAM_WIND, 30000.0, 0.45, &w->wind_ln);
    observe(w);
}
