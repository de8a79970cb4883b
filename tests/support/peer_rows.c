/* peer_rows.c - the library line by line, for tests that hold it against programs in other languages.
 *
 * Reads lines "name argument ...", answers each with the result in full digits, or with
 * "refused N" and the code. Exit status 1 on a line it does not understand.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stillroom/board.h"
#include "stillroom/mixture.h"
#include "stillroom/mould.h"
#include "stillroom/psychro.h"
#include "stillroom/salt.h"
#include "stillroom/shrink.h"
#include "stillroom/slab.h"
#include "stillroom/surface.h"
#include "stillroom/wood.h"

#define ARGUMENTS_MAX 8

static enum sr_rc svp_water(const double a[], double *out)
{
    return sr_psychro_svp_water(a[0], out);
}

static enum sr_rc svp_ice(const double a[], double *out)
{
    return sr_psychro_svp_ice(a[0], out);
}

static enum sr_rc vapour_pressure(const double a[], double *out)
{
    return sr_psychro_vapour_pressure(a[0], a[1], out);
}

static enum sr_rc vpd(const double a[], double *out)
{
    return sr_psychro_vpd(a[0], a[1], out);
}

static enum sr_rc dew_point(const double a[], double *out)
{
    return sr_psychro_dew_point(a[0], a[1], out);
}

static enum sr_rc frost_point(const double a[], double *out)
{
    return sr_psychro_frost_point(a[0], a[1], out);
}

static enum sr_rc absolute_humidity(const double a[], double *out)
{
    return sr_psychro_absolute_humidity(a[0], a[1], out);
}

static enum sr_rc surface_rh(const double a[], double *out)
{
    return sr_psychro_surface_rh(a[0], a[1], a[2], out);
}

static enum sr_rc surface_temperature(const double a[], double *out)
{
    return sr_surface_temperature_at(a[0], a[1], a[2], out);
}

static enum sr_rc pressure_at(const double a[], double *out)
{
    return sr_mixture_pressure_at(a[0], out);
}

static enum sr_rc ratio(const double a[], double *out)
{
    return sr_mixture_ratio(a[0], a[1], a[2], out);
}

static enum sr_rc enthalpy(const double a[], double *out)
{
    return sr_mixture_enthalpy(a[0], a[1], a[2], out);
}

static enum sr_rc wet_bulb(const double a[], double *out)
{
    return sr_mixture_wet_bulb(a[0], a[1], a[2], out);
}

static enum sr_rc emc(const double a[], double *out)
{
    return sr_wood_emc(a[0], a[1], out);
}

static enum sr_rc salt(const double a[], double *out)
{
    return sr_salt_rh((enum sr_salt)(int)a[0], a[1], out);
}

static enum sr_rc shrink_from_total(const double a[], double *out)
{
    return sr_shrink_from_total(a[0], out);
}

static enum sr_rc slab_mean(const double a[], double *out)
{
    return sr_slab_mean(a[0], out);
}

static enum sr_rc slab_centre(const double a[], double *out)
{
    return sr_slab_centre(a[0], out);
}

static enum sr_rc slab_mean_resisted(const double a[], double *out)
{
    return sr_slab_mean_resisted(a[0], a[1], out);
}

static enum sr_rc slab_gain(const double a[], double *out)
{
    return sr_slab_gain(a[0], (int)a[1], a[2], a[3], out);
}

/* wood, surface, degC, percent: the 1999 form. */
static enum sr_rc mould_weeks(const double a[], double *out)
{
    struct sr_mould_class c;
    const enum sr_rc rc = sr_mould_class_1999(a[0], a[1], &c);

    return rc == SR_OK ? sr_mould_weeks_to_first(&c, a[2], a[3], out) : rc;
}

static enum sr_rc mould_class_at(double number, struct sr_mould_class *out)
{
    return number < 0.0 ? sr_mould_class_1999(0.0, 0.0, out)
                        : sr_mould_class_get((enum sr_mould_sensitivity)(int)number, out);
}

/* class (-1: the 1999 form), degC */
static enum sr_rc mould_critical(const double a[], double *out)
{
    struct sr_mould_class c;
    const enum sr_rc rc = mould_class_at(a[0], &c);

    return rc == SR_OK ? sr_mould_critical_rh(&c, a[1], out) : rc;
}

/* class, index to begin with, degC, percent, hours, decline */
static enum sr_rc mould_index(const double a[], double *out)
{
    struct sr_mould_class c;
    struct sr_mould_state state = {.index = a[1]};

    enum sr_rc rc = mould_class_at(a[0], &c);
    if (rc == SR_OK)
        rc = sr_mould_step(&c, a[5], a[2], a[3], a[4], &state);
    if (rc == SR_OK)
        *out = state.index;
    return rc;
}

/* wood, surface, index to begin with, degC, percent, hours: the 1999 form */
static enum sr_rc mould_index_1999(const double a[], double *out)
{
    struct sr_mould_class c;
    struct sr_mould_state state = {.index = a[2]};

    enum sr_rc rc = sr_mould_class_1999(a[0], a[1], &c);
    if (rc == SR_OK)
        rc = sr_mould_step(&c, 1, a[3], a[4], a[5], &state);
    if (rc == SR_OK)
        *out = state.index;
    return rc;
}

/* class, degC, percent */
static enum sr_rc mould_limit(const double a[], double *out)
{
    struct sr_mould_class c;
    const enum sr_rc rc = mould_class_at(a[0], &c);

    return rc == SR_OK ? sr_mould_index_limit(&c, a[1], a[2], out) : rc;
}

static const struct {
    const char *name;
    int arguments;
    enum sr_rc (*answer)(const double a[], double *out);
} functions[] = {
    {"svp_water", 1, svp_water},
    {"svp_ice", 1, svp_ice},
    {"vapour_pressure", 2, vapour_pressure},
    {"vpd", 2, vpd},
    {"dew_point", 2, dew_point},
    {"frost_point", 2, frost_point},
    {"absolute_humidity", 2, absolute_humidity},
    {"surface_rh", 3, surface_rh},
    {"surface_temperature", 3, surface_temperature},
    {"pressure_at", 1, pressure_at},
    {"ratio", 3, ratio},
    {"enthalpy", 3, enthalpy},
    {"wet_bulb", 3, wet_bulb},
    {"emc", 2, emc},
    {"salt", 2, salt},
    {"shrink_from_total", 1, shrink_from_total},
    {"slab_mean", 1, slab_mean},
    {"slab_centre", 1, slab_centre},
    {"slab_mean_resisted", 2, slab_mean_resisted},
    {"slab_gain", 4, slab_gain},
    {"mould_weeks", 4, mould_weeks},
    {"mould_critical", 2, mould_critical},
    {"mould_limit", 3, mould_limit},
    {"mould_index", 6, mould_index},
    {"mould_index_1999", 6, mould_index_1999},
};

static void say(enum sr_rc rc, double value)
{
    if (rc == SR_OK)
        printf("%.17g\n", value);
    else
        printf("refused %d\n", (int)rc);
}

/* board_begin thickness faces D surface per_pct by_temperature moisture;
 * board_step from to seconds; board_air degC percent seconds; board_now. */
static int board_line(struct sr_board *b, const char *name, const double a[], int n)
{
    struct sr_board_answer now;
    enum sr_rc rc;

    if (strcmp(name, "board_begin") == 0 && n == 7) {
        const struct sr_board_spec spec = {.thickness_m = a[0],
                                           .open_faces = (int)a[1],
                                           .d_m2_s = a[2],
                                           .surface_m_s = a[3],
                                           .d_per_pct = a[4],
                                           .d_by_temperature = a[5] > 0.0};
        rc = sr_board_begin(&spec, a[6], b);
    } else if (strcmp(name, "board_step") == 0 && n == 3) {
        rc = sr_board_step(b, a[0], a[1], a[2]);
    } else if (strcmp(name, "board_air") == 0 && n == 3) {
        rc = sr_board_step_air(b, a[0], a[1], a[2]);
    } else if (strcmp(name, "board_now") == 0 && n == 0) {
        rc = sr_board_now(b, &now);
        if (rc == SR_OK)
            printf("%.17g %.17g %.17g\n", now.mean_pct, now.surface_pct, now.core_pct);
        else
            printf("refused %d\n", (int)rc);
        return 1;
    } else {
        return 0;
    }
    if (rc != SR_OK)
        printf("refused %d\n", (int)rc);
    return 1;
}

static int line_understood(struct sr_board *b, char *line)
{
    double a[ARGUMENTS_MAX];
    int n = 0;
    char *rest, *end;
    const char *name = strtok_r(line, " \n", &rest);

    if (name == NULL)
        return 0;
    for (char *word; n < ARGUMENTS_MAX && (word = strtok_r(NULL, " \n", &rest)) != NULL; n++) {
        a[n] = strtod(word, &end);
        if (end == word || *end != '\0')
            return 0;
    }
    for (size_t i = 0; i < sizeof functions / sizeof *functions; i++) {
        if (strcmp(functions[i].name, name) == 0 && functions[i].arguments == n) {
            double value = NAN;
            const enum sr_rc rc = functions[i].answer(a, &value);
            say(rc, value);
            return 1;
        }
    }
    return board_line(b, name, a, n);
}

int main(void)
{
    struct sr_board board = {0};
    char line[512];

    while (fgets(line, sizeof line, stdin) != NULL) {
        if (!line_understood(&board, line)) {
            fprintf(stderr, "peer_rows: a line that means nothing\n");
            return 1;
        }
    }
    return 0;
}
