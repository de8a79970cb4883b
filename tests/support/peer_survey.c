/* peer_survey.c - runs one record of air through every model that takes one, and prints what
 * each says to the last bit.
 *
 *   peer_survey EVERY_S < lines of "t_s t_c rh_pct" ("nan" for none)
 *
 * Fails if any model refuses the record or gives a figure that is no number.
 */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "stillroom/ageing.h"
#include "stillroom/canvas.h"
#include "stillroom/coating.h"
#include "stillroom/control.h"
#include "stillroom/drying.h"
#include "stillroom/gesso.h"
#include "stillroom/instrument.h"
#include "stillroom/rainflow.h"
#include "stillroom/seasonal.h"
#include "stillroom/spec.h"
#include "stillroom/stats.h"
#include "stillroom/swing.h"

#define MAX 200000
#define SLOTS 20000

static int64_t t_s[MAX];
static double t_c[MAX], rh[MAX], felt[MAX], hours_t[MAX], hours_rh[MAX], mean[MAX], work[MAX];
static struct sr_swing_slot slots[SLOTS];
static struct sr_rainflow_cycle cycles[MAX];
static int faults;

static void figure(const char *what, double x)
{
    printf("%-28s %.13a %.5g\n", what, x, x);
    if (!isfinite(x)) {
        printf("FAULT %s is no number\n", what);
        faults++;
    }
}

/* Thin is an answer for a short record; anything else than that and OK is a fault. */
static int answered(const char *what, enum sr_rc rc)
{
    if (rc == SR_OK)
        return 1;
    printf("%-28s %s\n", what, sr_rc_text(rc));
    if (rc != SR_THIN) {
        printf("FAULT %s refused\n", what);
        faults++;
    }
    return 0;
}

static void statistics(const struct sr_series *s, int64_t to_s)
{
    struct sr_stats st;
    struct sr_stats_share share;
    double p;
    if (answered("mean", sr_stats_over(s, s->t_s[0], to_s, &st))) {
        figure("mean", st.mean);
        figure("sd", st.sd);
        figure("min", st.min);
        figure("max", st.max);
        figure("coverage", st.coverage_pct);
    }
    if (answered("share", sr_stats_time_in_range(s, s->t_s[0], to_s, 40, 60, &share)))
        figure("inside 40-60", share.inside_pct);
    for (size_t i = 0; i < s->n; i++)
        work[i] = s->v[i];
    if (answered("percentile", sr_stats_percentile(work, s->n, 93, &p)))
        figure("P93", p);
}

static void swings(const struct sr_series *s)
{
    static const struct {
        const char *name;
        int64_t window_s;
    } rows[] = {{"range 1 h", 3600}, {"range 24 h", 86400}, {"range 7 d", 604800}};
    for (size_t i = 0; i < 3; i++) {
        struct sr_swing_range r;
        struct sr_swing_rate rate;
        if (answered(rows[i].name,
                     sr_swing_greatest(s, rows[i].window_s, 75, slots, SLOTS, &r))) {
            figure(rows[i].name, r.range);
            figure("  its mean", r.mean);
        }
        if (answered("rate", sr_swing_steepest(s, rows[i].window_s, &rate)))
            figure("  steepest per h", rate.per_h);
    }
    if (answered("filter", sr_swing_filter_series(s, 12 * 3600.0, felt))) {
        double sum = 0;
        for (size_t i = 0; i < s->n; i++)
            sum += isnan(felt[i]) ? 0 : felt[i];
        figure("sum of felt humidity", sum);
    }
    struct sr_rainflow_list list = {cycles, MAX, 0};
    double rank;
    if (answered("rainflow", sr_rainflow_count(felt, s->n, 1, work, &list)) &&
        answered("rank", sr_rainflow_rank(&list, 3, &rank))) {
        figure("cycles", (double)list.n);
        figure("rank", rank);
    }
}

static void seasons(const struct sr_air_series *air, int64_t to_s)
{
    struct sr_series t = sr_series_temperature(air), h = sr_series_humidity(air);
    int64_t first_s = air->t_s[0] - air->t_s[0] % 3600;
    size_t n = (size_t)((to_s - first_s) / 3600) + 1;
    struct sr_seasonal_band band;
    struct sr_control c;
    if (n > MAX || !answered("hours", sr_seasonal_hourly(&t, first_s, n, hours_t)) ||
        !answered("hours", sr_seasonal_hourly(&h, first_s, n, hours_rh)))
        return;
    if (answered("band", sr_seasonal_band(hours_rh, n, air->every_s, &sr_seasonal_en15757, mean,
                                          work, &band))) {
        figure("evaluated hours", (double)band.evaluated);
        figure("P7", band.fluct_low);
        figure("P93", band.fluct_high);
        figure("cycle low", band.cycle_low);
        figure("cycle high", band.cycle_high);
        figure("provisional", band.provisional);
    }
    if (answered("control",
                 sr_control_assess(hours_rh, hours_t, n, air->every_s, mean, work, &c))) {
        figure("type on all", c.best_all);
        figure("type on P1-P99", c.best_p);
        figure("short-term P99", c.rh.short_term.p99);
        figure("seasonal max", c.rh.seasonal.max);
        figure("above 30 degC", c.above_30_pct);
    }
}

static void specifications(const struct sr_air_series *air, int64_t to_s)
{
    static const struct sr_spec_sensor sensor = {2, 0.5, 1, 0.3, 600};
    for (size_t i = 0; sr_spec_published(i) != NULL; i++) {
        const struct sr_spec *spec = sr_spec_published(i);
        struct sr_spec_report r;
        if (!answered(spec->key, sr_spec_evaluate(spec, &sensor, air, air->t_s[0], to_s, slots,
                                                  SLOTS, &r)))
            continue;
        printf("%s: finding %d\n", spec->key, (int)r.finding);
        for (int c = 0; c < SR_SPEC_CLAUSES; c++) {
            const struct sr_spec_totals *t = &r.clause[c].by_reading[r.clause[c].used];
            if (!r.clause[c].agreed)
                continue;
            figure("  inside", t->inside_pct);
            figure("  coverage", t->coverage_pct);
            figure("  excursions", (double)t->excursions);
            figure("  longest h", (double)t->longest_s / 3600);
            figure("  lowest", t->lowest);
            figure("  highest", t->highest);
        }
    }
}

static void paintings(const struct sr_air_series *air, int64_t to_s)
{
    struct sr_series h = sr_series_humidity(air);
    struct sr_canvas_time time;
    for (int m = 0; m < 3; m++) {
        double tau_s = 0;
        if (!answered("tau", sr_canvas_tau_s((enum sr_canvas_mount)m, &tau_s)) ||
            !answered("canvas", sr_canvas_over(&h, tau_s, air->t_s[0], to_s, &time)))
            continue;
        for (int z = 0; z < SR_CANVAS_ZONES; z++)
            figure(sr_canvas_zone_text((enum sr_canvas_zone)z),
                   (double)time.in_zone_s[z] / 3600);
    }
    struct sr_ageing age;
    double coverage_pct;
    if (answered("ageing", sr_ageing_over(air, air->t_s[0], to_s, SR_AGEING_EA_CELLULOSE, &age,
                                          &coverage_pct)))
        figure("lifetime multiplier", age.multiplier);
}

/* Models of one moment, at every sample. */
static void moments(const struct sr_air_series *air)
{
    double potential = 0, evaporation = 0, strain = 0;
    unsigned long fit[SR_COATING_WORKS][3] = {{0}}, flagged[8] = {0};
    unsigned long outside_emc = 0;
    struct sr_instrument watch;
    enum sr_rc rc = sr_instrument_begin(86400, air->every_s, &watch);
    for (size_t i = 0; answered("instrument", rc) && i < air->n; i++) {
        double t = air->t_c[i], h = air->rh_pct[i], x;
        unsigned flags;
        struct sr_drying_rates rates;
        struct sr_coating_air now = {t, h, t, (double)INFINITY, 0.5, 2};
        if (sr_instrument_push(&watch, air->t_s[i], t, h, &flags) == SR_OK)
            flagged[flags & 7]++;
        for (int w = 0; w < SR_COATING_WORKS; w++) {
            struct sr_coating_fitness f = {0};
            if (answered("fitness", sr_coating_now(&sr_coating_practice[w], &now, &f)))
                fit[w][f.answer]++;
        }
        if (isnan(t) || isnan(h))
            continue;
        if (answered("potential", sr_drying_potential(t, h, &x)))
            potential += x;
        if (t >= 0 && answered("evaporation", sr_drying_evaporation(t, h, 101325, 3, &rates)))
            evaporation += rates.adiabatic_g_m2_h + rates.isothermal_g_m2_h;
        if (t < -1 || h > 98)
            outside_emc++; /* the moisture formula ends there, and says so */
        else if (answered("strain", sr_gesso_strain_between(0.0033, t, 50, h, &x)))
            strain += fabs(x);
    }
    figure("sum of potentials", potential);
    figure("sum of evaporations", evaporation);
    figure("sum of strains", strain);
    figure("beyond the EMC formula", (double)outside_emc);
    for (int w = 0; w < SR_COATING_WORKS; w++)
        printf("%-28s no %lu yes %lu unknown %lu\n", sr_coating_practice[w].name, fit[w][0],
               fit[w][1], fit[w][2]);
    printf("%-28s none %lu beyond %lu jump %lu stuck %lu\n", "flags", flagged[0],
           flagged[1] + flagged[3], flagged[2] + flagged[3], flagged[4]);
}

static void nights(const struct sr_air_series *air)
{
    int known = 0;
    double worst = 0;
    for (int64_t now_s = air->t_s[0]; now_s <= air->t_s[air->n - 1]; now_s += 86400) {
        size_t from = 0, to;
        while (from < air->n && air->t_s[from] < now_s - 8 * 86400)
            from++;
        for (to = from; to < air->n && air->t_s[to] <= now_s; to++) {
        }
        struct sr_air_series week = {air->t_s + from, air->t_c + from, air->rh_pct + from,
                                     to - from, air->every_s};
        struct sr_coating_nights n;
        enum sr_rc rc = sr_coating_nights_before(&week, week.t_c, now_s, 7200, &n);
        if (rc == SR_THIN || !answered("nights", rc))
            continue;
        known += n.known;
        worst = fmax(worst, n.rh_max_pct);
    }
    figure("nights known", known);
    figure("worst night", worst);
}

int main(int argc, char **argv)
{
    size_t n = 0;
    while (n < MAX && scanf("%" SCNd64 " %lf %lf", &t_s[n], &t_c[n], &rh[n]) == 3)
        n++;
    struct sr_air_series air = {t_s, t_c, rh, n, argc == 2 ? strtoll(argv[1], NULL, 10) : 0};
    if (!answered("the record", sr_series_check_air(&air)))
        return 1;
    int64_t to_s = t_s[n - 1] + air.every_s;
    struct sr_series temperature = sr_series_temperature(&air);
    struct sr_series humidity = sr_series_humidity(&air);
    statistics(&temperature, to_s);
    statistics(&humidity, to_s);
    swings(&humidity);
    seasons(&air, to_s);
    specifications(&air, to_s);
    paintings(&air, to_s);
    moments(&air);
    nights(&air);
    printf("%zu samples, %d faults\n", n, faults);
    return faults > 0 ? 1 : 0;
}
