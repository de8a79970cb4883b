/* calc_coating.c - see calc_coating.h. */
#include "tool/calc_coating.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "stillroom/coating.h"
#include "stillroom/drying.h"
#include "stillroom/mixture.h"
#include "tool/calc_options.h"
#include "tool/calc_sheet.h"

#define NONE ((double)NAN)
#define PRACTICE "common practice, from memory; 3 K: paint trade rule"
#define BALANCE                                                                                \
    "heat and mass balance of a wet surface (Lewis relation); 3 W/(m² K) from memory"

static const char intro[] =
    "stillroom calc coating --temperature 20 --humidity 55 [--surface-temperature 18]\n"
    "                       [--hours-since-cold 12]\n"
    "Is this air fit to begin varnishing, gesso, glue, gilding or retouching, and how fast "
    "does\n"
    "it dry? This moment only: whether it stays so until the work is safe is seen from the\n"
    "room's nights, not from one reading.";

struct question {
    struct sr_coating_air air;
    double u_t_k, u_rh_pct; /* standard */
    bool json;
};

/* "no: too damp; too near the dew point" */
static void words_of(const struct sr_coating_fitness *f, char *text, size_t size)
{
    static const char *const answers[] = {"no", "yes", "unknown"};
    int n = snprintf(text, size, "%s", answers[f->answer]);

    for (unsigned bit = 0; bit < SR_COATING_REASONS && n > 0 && (size_t)n < size; bit++) {
        const bool first = strchr(text, ':') == NULL;
        if (f->reasons & (1U << bit))
            n += snprintf(text + n, size - (size_t)n, "%s %s", first ? ":" : ";",
                          sr_coating_reason_text(1U << bit));
    }
}

static enum sr_rc add_answers(struct calc_sheet *sheet, const struct question *q,
                              char words[][400])
{
    static const char *const names[] = {"varnish", "gesso", "glue", "gilding", "retouching"};
    static const char *const titles[] = {"Fit to begin varnishing", "  gesso", "  animal glue",
                                         "  water gilding", "  oil fills and retouching"};

    for (int w = 0; w < SR_COATING_WORKS; w++) {
        struct sr_coating_fitness f;
        const enum sr_rc rc = sr_coating_now(&sr_coating_practice[w], &q->air, &f);
        if (rc != SR_OK)
            return rc;
        words_of(&f, words[w], 400);
        calc_sheet_add(sheet,
                       &(struct calc_line){names[w], titles[w], "", words[w], 0.0, NONE, 0,
                                           "within the limits of the work, and its film at "
                                           "least 3 K above the dew point",
                                           PRACTICE});
        if (w == SR_COATING_VARNISH && !isnan(f.dew_margin_k))
            calc_sheet_add(sheet, &(struct calc_line){"varnish_dew_margin",
                                                      "Varnish film above dew point + 3 K by",
                                                      "K", NULL, f.dew_margin_k, NONE, 1,
                                                      "Ts - 4 K - Td - 3 K",
                                                      "paint trade rule; cooling of the film "
                                                      "2 to 6 K, from memory"});
    }
    return SR_OK;
}

static void add_drying(struct calc_sheet *sheet, const struct question *q)
{
    double limit_pct = 0.0, potential = 0.0;
    struct sr_drying_rates rates = {0};
    const double t_c = q->air.t_c, rh_pct = q->air.rh_pct;

    enum sr_rc rc = sr_coating_rh_limit(t_c, SR_COATING_DEW_MARGIN_K, SR_COATING_FILM_COOLING_K,
                                        &limit_pct);
    calc_sheet_add_if(sheet, rc,
                      &(struct calc_line){"varnish_humidity_limit",
                                          "Humidity at which that margin ends", "%", NULL,
                                          limit_pct, NONE, 1, "pw(T - 7 K) / pw(T)",
                                          "paint trade rule; surface as warm as the air"});
    rc = sr_drying_potential(t_c, rh_pct, &potential);
    calc_sheet_add_if(sheet, rc,
                      &(struct calc_line){"drying_potential",
                                          "Drying speed against 20 °C, 50 %", "", NULL,
                                          potential, NONE, 2, "VPD / VPD(20 °C, 50 %)",
                                          "vapour pressure: Hyland & Wexler (1983)"});
    rc = sr_drying_evaporation(t_c, rh_pct, SR_MIXTURE_SEA_LEVEL_PA, SR_DRYING_STILL_AIR_W_M2_K,
                               &rates);
    calc_sheet_add_if(sheet, rc,
                      &(struct calc_line){"evaporation_least", "A wet surface loses at least",
                                          "g/(m² h)", NULL, rates.adiabatic_g_m2_h, NONE, 0,
                                          "h (T - Tw) / Lv", BALANCE});
    calc_sheet_add_if(sheet, rc,
                      &(struct calc_line){"evaporation_most", "  and at most", "g/(m² h)", NULL,
                                          rates.isothermal_g_m2_h, NONE, 0,
                                          "hm (AHs - AH), hm = h/(rho cp Le^(2/3))", BALANCE});
    calc_sheet_add_if(sheet, rc,
                      &(struct calc_line){"wet_surface_cooling", "  and cools by up to", "K",
                                          NULL, rates.cooling_k, NONE, 1, "T - Tw",
                                          "ASHRAE Fundamentals, chapter 1"});
}

int calc_coating_main(int argc, char **argv)
{
    struct question q = {
        .air = {NONE, NONE, NONE, NONE, 0.0, 0.0}, .u_t_k = 0.3, .u_rh_pct = 2};
    char words[SR_COATING_WORKS][400], note[512];
    struct calc_sheet sheet = {.note = note};
    const struct calc_option options[] = {
        {"temperature", "°C", -40, 60, &q.air.t_c, NULL, NULL, true, "of the air"},
        {"humidity", "%", 0, 100, &q.air.rh_pct, NULL, NULL, true, "of the air"},
        {"surface-temperature", "°C", -40, 60, &q.air.surface_c, NULL, NULL, false,
         "of the object; without it the answer is never yes"},
        {"hours-since-cold", "h", 0, 100000, &q.air.since_cold_h, NULL, NULL, false,
         "since it came from a colder place; long ago unless given"},
        {"uncertainty-temperature", "K", 0, 10, &q.u_t_k, NULL, NULL, false, "standard"},
        {"uncertainty-humidity", "%", 0, 50, &q.u_rh_pct, NULL, NULL, false, "standard"},
        {"json", NULL, 0, 0, NULL, NULL, &q.json, false, "print JSON"},
    };

    const int status =
        calc_options(argc, argv, intro, options, sizeof options / sizeof *options);
    if (status != CALC_GO_ON)
        return status;
    if (isnan(q.air.since_cold_h))
        q.air.since_cold_h = (double)INFINITY;
    q.air.u_t_k = 2.0 * q.u_t_k;
    q.air.u_rh_pct = 2.0 * q.u_rh_pct;
    const enum sr_rc rc = add_answers(&sheet, &q, words);
    if (rc != SR_OK)
        return calc_refused(argv[0], sr_rc_text(rc));
    add_drying(&sheet, &q);
    snprintf(note, sizeof note, "%s\n%s\n%s", sr_coating_caveat, sr_coating_solvent_caution,
             sr_drying_caveat);
    return calc_sheet_print(&sheet, q.json);
}
