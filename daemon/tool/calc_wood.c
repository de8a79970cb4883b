/* calc_wood.c - see calc_wood.h. */
#include "tool/calc_wood.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "stillroom/board.h"
#include "stillroom/shrink.h"
#include "stillroom/slab.h"
#include "stillroom/uncertainty.h"
#include "stillroom/wood.h"
#include "tool/calc_options.h"
#include "tool/calc_sheet.h"

#define HANDBOOK "USDA Wood Handbook (FPL-GTR-282) eq. (4-5)"
#define EMC_TABLE_U_PCT 1.0
#define DAY_S 86400.0
/* Norway spruce specimens spread 0.18-0.46 % tangential about 0.32 (Bengtsson 2001): 44 % either
 * way, a rectangle. */
#define SPECIMEN_SPREAD 0.25

static const char intro[] =
    "stillroom calc wood --temperature 20 --humidity 45 [--to-humidity 60] [--moisture 12]\n"
    "                    [--species oak --width 300 [--cut radial]] [--thickness 20 [--faces "
    "1]]\n"
    "stillroom calc wood --list\n"
    "Where wood comes to rest in this air; how far a width moves between two humidities; how "
    "long\n"
    "a board takes to follow.";
static const char note[] =
    "Movement is free movement, an upper bound for small swings, good to two figures at most. "
    "Days\n"
    "are a range over what is known of D: weight and inspection decide, not the model.";

struct question {
    double t_c, rh_pct, to_rh_pct, moisture_pct;
    double u_t_k, u_rh_pct;
    double width_mm, thickness_mm, faces;
    const char *species, *cut;
};

static void add_rest(struct calc_sheet *sheet, const char *name, const char *title,
                     const struct question *q, double rh_pct)
{
    const struct sr_uncertainty_input in = {
        .t_c = q->t_c, .rh_pct = rh_pct, .u_t_k = q->u_t_k, .u_rh_pct = q->u_rh_pct};
    struct sr_uncertainty r = {0};
    const enum sr_rc rc = sr_uncertainty_of(SR_UNCERTAINTY_EMC, &in, &r);

    calc_sheet_add_if(sheet, rc,
                      &(struct calc_line){name, title, "%", NULL, r.value,
                                          hypot(r.u, EMC_TABLE_U_PCT), 2,
                                          "Hailwood-Horrobin isotherm, two hydrates",
                                          HANDBOOK "; 1 % for the formula itself included"});
}

static void add_isotherm(struct calc_sheet *sheet, const struct question *q)
{
    double slope = 0.0, rh_pct = 0.0;
    const enum sr_rc has_slope = sr_wood_slope(q->t_c, q->rh_pct, &slope);

    add_rest(sheet, "emc", "Wood comes to rest at", q, q->rh_pct);
    calc_sheet_add_if(sheet, has_slope,
                      &(struct calc_line){"emc_slope", "More for each percent of humidity",
                                          "%/%", NULL, slope, NAN, 3, "dM/dRH", HANDBOOK});
    if (!isnan(q->to_rh_pct))
        add_rest(sheet, "emc_after", "and, at the second humidity, at", q, q->to_rh_pct);
    if (!isnan(q->moisture_pct)) {
        const enum sr_rc rc = sr_wood_rh(q->t_c, q->moisture_pct, &rh_pct);
        double u = NAN, at = 0.0;
        if (rc == SR_OK && sr_wood_slope(q->t_c, rh_pct, &at) == SR_OK)
            u = EMC_TABLE_U_PCT / at;
        calc_sheet_add_if(sheet, rc,
                          &(struct calc_line){"humidity_at_rest",
                                              "Wood of that moisture rests in air of", "%",
                                              NULL, rh_pct, u, 1, "M(T, RH) = moisture",
                                              HANDBOOK "; 1 % of moisture for the formula"});
    }
}

/* The status, or CALC_GO_ON. */
static int add_movement(struct calc_sheet *sheet, const struct question *q)
{
    const struct sr_shrink_species *s = sr_shrink_find(q->species);
    const bool radial = strcmp(q->cut, "radial") == 0;
    double m1, m2, moved = 0.0;

    if (s == NULL)
        return calc_refused("wood", "no such species; see calc wood --list");
    if (!radial && strcmp(q->cut, "tangential") != 0)
        return calc_refused("wood", "--cut is radial or tangential");
    if (isnan(q->to_rh_pct)) {
        fputs("wood: movement needs --to-humidity; see --help\n", stderr);
        return CALC_USAGE;
    }
    enum sr_rc rc = sr_wood_emc(q->t_c, q->rh_pct, &m1);
    if (rc == SR_OK)
        rc = sr_wood_emc(q->t_c, q->to_rh_pct, &m2);
    if (rc == SR_OK)
        rc = sr_shrink_movement(s, radial ? SR_SHRINK_RADIAL : SR_SHRINK_TANGENTIAL,
                                q->width_mm, m1, m2, &moved);
    if (rc != SR_OK)
        return calc_refused("wood", sr_rc_text(rc));
    calc_sheet_add(
        sheet,
        &(struct calc_line){
            "movement", "The width moves by", "mm", NULL, moved, SPECIMEN_SPREAD * fabs(moved),
            2, "width x C x (M2 - M1) within 6-14 %, else by total shrinkage over 30 %",
            s->from_memory                    ? "Wood Handbook Table 13-5, this row "
                                                "from memory; spread of specimens: "
                                                "Bengtsson (2001)"
            : s->source == SR_SHRINK_HANDBOOK ? "Wood Handbook Table 13-5; spread of "
                                                "specimens: Bengtsson (2001)"
                                              : "Hoadley (1998) Table 1; spread of "
                                                "specimens: Bengtsson (2001)"});
    return CALC_GO_ON;
}

static void add_response(struct calc_sheet *sheet, const struct question *q)
{
    static const struct {
        const char *name, *title;
        double share, d_m2_s;
    } rows[] = {
        {"days_to_half", "Half of a change reaches the board in", 0.5, SR_BOARD_D_DEFAULT},
        {"days_to_half_least", "  at least", 0.5, SR_BOARD_D_HIGH},
        {"days_to_half_most", "  at most", 0.5, SR_BOARD_D_LOW},
        {"days_to_nine_tenths", "Nine tenths in", 0.9, SR_BOARD_D_DEFAULT},
        {"days_to_nine_tenths_least", "  at least", 0.9, SR_BOARD_D_HIGH},
        {"days_to_nine_tenths_most", "  at most", 0.9, SR_BOARD_D_LOW},
    };
    double gain = 0.0;

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double s = 0.0;
        const enum sr_rc rc = sr_slab_response_s(q->thickness_mm / 1000.0, (int)q->faces,
                                                 rows[i].d_m2_s, rows[i].share, &s);
        calc_sheet_add_if(sheet, rc,
                          &(struct calc_line){rows[i].name, rows[i].title, "d", NULL, s / DAY_S,
                                              NAN, 1, "Fo L²/D; one face: 2 L for L",
                                              "Crank (1975); D 1e-10, range 5e-12..3e-10 m²/s "
                                              "(from memory: Siau 1995, Time 1998)"});
    }
    const enum sr_rc rc =
        sr_slab_gain(q->thickness_mm / 1000.0, (int)q->faces, SR_BOARD_D_DEFAULT, DAY_S, &gain);
    calc_sheet_add_if(
        sheet, rc,
        &(struct calc_line){"daily_gain", "Share of a daily swing that it follows", "", NULL,
                            gain, NAN, 3, "|tanh z / z|", "Crank (1975); D 1e-10 m²/s"});
}

static int list_species(void)
{
    for (size_t i = 0; sr_shrink_species(i) != NULL; i++) {
        const struct sr_shrink_species *s = sr_shrink_species(i);
        printf("%-22s %s%s%s\n", s->key, s->name,
               s->source == SR_SHRINK_HANDBOOK ? ", Wood Handbook" : ", Hoadley (1998)",
               s->from_memory ? ", from memory" : "");
    }
    return CALC_DONE;
}

static bool wants_list(int argc, char **argv)
{
    return argc == 2 && strcmp(argv[1], "--list") == 0;
}

int calc_wood_main(int argc, char **argv)
{
    struct question q = {.t_c = NAN,
                         .rh_pct = NAN,
                         .to_rh_pct = NAN,
                         .moisture_pct = NAN,
                         .u_t_k = 0.3,
                         .u_rh_pct = 2,
                         .width_mm = 100,
                         .thickness_mm = NAN,
                         .faces = 2,
                         .cut = "tangential"};
    bool json = false, list = false;
    struct calc_sheet sheet = {.note = note};
    const struct calc_option options[] = {
        {"temperature", "°C", -1, 130, &q.t_c, NULL, NULL, true, "of the air"},
        {"humidity", "%", 0, 99, &q.rh_pct, NULL, NULL, true, "of the air"},
        {"to-humidity", "%", 0, 99, &q.to_rh_pct, NULL, NULL, false, "a second humidity"},
        {"moisture", "%", 0, 300, &q.moisture_pct, NULL, NULL, false,
         "of a piece, as measured"},
        {"species", "NAME", 0, 0, NULL, &q.species, NULL, false, "for movement; see --list"},
        {"cut", "NAME", 0, 0, NULL, &q.cut, NULL, false, "radial, or tangential unless given"},
        {"width", "mm", 0, 10000, &q.width_mm, NULL, NULL, false, "across the grain"},
        {"thickness", "mm", 0.1, 1000, &q.thickness_mm, NULL, NULL, false, "for the response"},
        {"faces", "number", 1, 2, &q.faces, NULL, NULL, false, "open ones"},
        {"list", NULL, 0, 0, NULL, NULL, &list, false, "list the species"},
        {"uncertainty-temperature", "K", 0, 10, &q.u_t_k, NULL, NULL, false, "standard"},
        {"uncertainty-humidity", "%", 0, 50, &q.u_rh_pct, NULL, NULL, false, "standard"},
        {"json", NULL, 0, 0, NULL, NULL, &json, false, "print JSON"},
    };

    if (wants_list(argc, argv))
        return list_species();
    int status = calc_options(argc, argv, intro, options, sizeof options / sizeof *options);
    if (status != CALC_GO_ON)
        return status;
    if (list)
        return list_species();
    if (q.faces > 1.0 && q.faces < 2.0)
        return calc_refused(argv[0], "--faces is 1 or 2");
    add_isotherm(&sheet, &q);
    if (q.species != NULL)
        status = add_movement(&sheet, &q);
    if (status != CALC_GO_ON)
        return status;
    if (!isnan(q.thickness_mm))
        add_response(&sheet, &q);
    return calc_sheet_print(&sheet, json);
}
