/* calc_mould.c - see calc_mould.h. */
#include "tool/calc_mould.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "stillroom/isopleth.h"
#include "stillroom/mould.h"
#include "stillroom/psychro.h"
#include "tool/calc_options.h"
#include "tool/calc_sheet.h"

#define VTT "Hukka & Viitanen (1999); Ojanen, Viitanen et al. (2010)"
#define NOT_A_CLEARANCE                                                                        \
    VTT "; calculated for clean material kept constantly like this; not a clearance"

static const char intro[] =
    "stillroom calc mould --temperature 18 --humidity 65 --surface-temperature 14\n"
    "                     [--material sensitive] [--days 28] [--start 0]\n"
    "How far mould would get on a surface kept like this. Materials: very-sensitive (bare "
    "pine;\n"
    "size, paste, animal-glue gesso: project choice), sensitive (planed wood, paper; "
    "varnished\n"
    "and painted faces: project choice), medium-resistant, resistant; pine-1999, spruce-1999.";
static const char note[] =
    "Not a clearance: the model sees one temperature and one humidity and clean material. "
    "Below\n"
    "80 % (85 %) it is blind, while size, paste, starch and dirt can mould from about 70-75 "
    "%.\n"
    "Dead mould still harms: no dry brushing, an FFP2 mask or better, gloves, the piece set "
    "apart;\n"
    "large areas, sewage water and people with asthma or weak defences: ask a professional.";

static const struct {
    const char *key;
    int sensitivity; /* -1: the form of 1999 */
    double wood;
} materials[] = {
    {"very-sensitive", SR_MOULD_VERY_SENSITIVE, 0},
    {"sensitive", SR_MOULD_SENSITIVE, 0},
    {"medium-resistant", SR_MOULD_MEDIUM_RESISTANT, 0},
    {"resistant", SR_MOULD_RESISTANT, 0},
    {"pine-1999", -1, 0},
    {"spruce-1999", -1, 1},
};

struct question {
    double t_c, rh_pct; /* at the surface */
    double u_t_k, u_rh_pct;
    double days, start, decline;
};

static bool find_material(const char *key, struct sr_mould_class *out)
{
    for (size_t i = 0; i < sizeof materials / sizeof *materials; i++) {
        if (strcmp(materials[i].key, key) != 0)
            continue;
        return (materials[i].sensitivity < 0
                    ? sr_mould_class_1999(materials[i].wood, 0, out)
                    : sr_mould_class_get((enum sr_mould_sensitivity)materials[i].sensitivity,
                                         out)) == SR_OK;
    }
    fprintf(stderr, "mould: --material is one of");
    for (size_t i = 0; i < sizeof materials / sizeof *materials; i++)
        fprintf(stderr, " %s", materials[i].key);
    fputc('\n', stderr);
    return false;
}

static double index_after(const struct sr_mould_class *c, const struct question *q, double t_c,
                          double rh_pct)
{
    struct sr_mould_state state = {.index = q->start};
    const enum sr_rc rc = sr_mould_step(c, q->decline, t_c, fmin(fmax(rh_pct, 0.0), 100.0),
                                        24.0 * q->days, &state);

    return rc == SR_OK ? state.index : (double)NAN;
}

/* The index is far from linear in either, so the corners of the uncertainty are tried. */
static double index_uncertainty(const struct sr_mould_class *c, const struct question *q,
                                double index)
{
    double worst = 0.0;

    for (int i = -1; i <= 1; i += 2)
        for (int j = -1; j <= 1; j += 2)
            worst = fmax(worst, fabs(index_after(c, q, q->t_c + i * q->u_t_k,
                                                 q->rh_pct + j * q->u_rh_pct) -
                                     index));
    return worst;
}

static void fill(struct calc_sheet *sheet, const struct sr_mould_class *c,
                 const struct question *q)
{
    double critical = 0.0, weeks = 0.0, limit = 0.0, isopleth = 0.0;
    const double index = index_after(c, q, q->t_c, q->rh_pct);
    const enum sr_rc has_critical = sr_mould_critical_rh(c, q->t_c, &critical);
    const enum sr_rc has_limit = sr_mould_index_limit(c, q->t_c, q->rh_pct, &limit);
    const bool grows =
        has_critical == SR_OK && critical < 100.0 && q->rh_pct >= critical && limit > 0.0;
    const enum sr_rc has_weeks = sr_mould_weeks_to_first(c, q->t_c, q->rh_pct, &weeks);
    const enum sr_rc has_isopleth = sr_isopleth_limit(SR_ISOPLETH_USABLE, q->t_c, &isopleth);

    calc_sheet_add(sheet, &(struct calc_line){"surface_humidity", "Humidity at the surface",
                                              "%", NULL, q->rh_pct, q->u_rh_pct, 1,
                                              "RH pw(T) / pw(Ts)", "Hyland & Wexler (1983)"});
    calc_sheet_add_if(
        sheet, has_critical,
        &(struct calc_line){"critical_humidity", "Growth is possible from", "%", NULL, critical,
                            NAN, 2, "max(-0.00267 T³ + 0.160 T² - 3.13 T + 100, lowest)", VTT});
    calc_sheet_add(sheet,
                   &(struct calc_line){"growth", "Would mould grow?", "",
                                       grows ? "yes" : "not by this model", NAN, NAN, 0,
                                       "humidity at or above the critical one, 0 to 50 °C",
                                       NOT_A_CLEARANCE});
    if (grows)
        calc_sheet_add_if(
            sheet, has_weeks,
            &(struct calc_line){"days_to_first_growth", "First growth on bare pine after", "d",
                                NULL, 7.0 * weeks, NAN, 1,
                                "7 exp(-0.68 ln T - 13.9 ln RH + 0.14 W - 0.33 SQ "
                                "+ 66.02)",
                                VTT});
    calc_sheet_add_if(sheet, has_limit,
                      &(struct calc_line){"mould_index_limit", "Largest index to be expected",
                                          "", NULL, limit, NAN, 2, "A + B x - C x²", VTT});
    calc_sheet_add(sheet, &(struct calc_line){"mould_index", "Mould index after that time", "",
                                              NULL, index, index_uncertainty(c, q, index), 2,
                                              "dM/dt = k1 k2 / (7 tm) a day, hour by hour",
                                              NOT_A_CLEARANCE});
    calc_sheet_add_if(sheet, has_isopleth,
                      &(struct calc_line){
                          "germination_humidity", "Spores may germinate on size or paper from",
                          "%", NULL, isopleth, 2.0, 1, "lowest isopleth, linear in between",
                          "provisional: read off, from memory; curves by "
                          "Sedlbauer (2001)"});
    sheet->note = note;
}

int calc_mould_main(int argc, char **argv)
{
    struct question q = {NAN, NAN, 0.3, 2, 28, 0, 0.25};
    double ts_c = NAN;
    const char *material = "sensitive";
    bool json = false;
    struct sr_mould_class c;
    struct calc_sheet sheet = {0};
    const struct calc_option options[] = {
        {"temperature", "°C", -60, 100, &q.t_c, NULL, NULL, true, "of the air"},
        {"humidity", "%", 0, 100, &q.rh_pct, NULL, NULL, true, "of the air"},
        {"surface-temperature", "°C", -60, 100, &ts_c, NULL, NULL, false,
         "of the surface; else the air's"},
        {"material", "NAME", 0, 0, NULL, &material, NULL, false, "sensitive unless given"},
        {"days", "days", 0, 3650, &q.days, NULL, NULL, false, "kept like this"},
        {"start", "index", 0, 6, &q.start, NULL, NULL, false, "index found at the beginning"},
        {"decline", "share", 0, 1, &q.decline, NULL, NULL, false,
         "of bare pine's decline while dry"},
        {"uncertainty-temperature", "K", 0, 10, &q.u_t_k, NULL, NULL, false, "standard"},
        {"uncertainty-humidity", "%", 0, 50, &q.u_rh_pct, NULL, NULL, false, "standard"},
        {"json", NULL, 0, 0, NULL, NULL, &json, false, "print JSON"},
    };

    const int status =
        calc_options(argc, argv, intro, options, sizeof options / sizeof *options);
    if (status != CALC_GO_ON)
        return status;
    if (!find_material(material, &c))
        return CALC_BAD_INPUT;
    if (!isnan(ts_c)) {
        double raw_pct;
        if (sr_psychro_surface_rh(q.t_c, q.rh_pct, ts_c, &raw_pct) != SR_OK)
            return calc_refused(argv[0], sr_rc_text(SR_RANGE));
        q.u_rh_pct *= q.rh_pct > 0.0 ? raw_pct / q.rh_pct : 1.0;
        q.rh_pct = fmin(raw_pct, 100.0);
        q.t_c = ts_c;
    }
    fill(&sheet, &c, &q);
    return calc_sheet_print(&sheet, json);
}
