/* calc_window.c - see calc_window.h. */
#include "tool/calc_window.h"

#include <math.h>
#include <stddef.h>

#include "stillroom/air.h"
#include "tool/calc_options.h"
#include "tool/calc_sheet.h"

#define VAPOUR                                                                                 \
    "vapour pressures after Hyland & Wexler (1983); two uncertainties: project choice"

static const char intro[] =
    "stillroom calc window --indoor-temperature 18 --indoor-humidity 68\n"
    "                      --outdoor-temperature 6 --outdoor-humidity 85\n"
    "Would outdoor air dry this room? What counts is the vapour it holds, not its humidity.";
static const char note[] =
    "An answer for the air: what wood, plaster and people give back is not in it. Look at the\n"
    "highest humidity on the way and at the new temperature before opening: a fresh varnish,\n"
    "gesso or glue and flaking paint may bear neither. The conservator decides.";

static const char *answer(enum sr_air_exchange exchange)
{
    switch (exchange) {
    case SR_AIR_DRIES:
        return "yes, it dries";
    case SR_AIR_DAMPENS:
        return "no, it adds water";
    case SR_AIR_NO_DIFFERENCE:
        break;
    }
    return "no difference beyond the uncertainty";
}

static void fill(struct calc_sheet *sheet, const struct sr_air_window *w, double ts_c)
{
    const struct calc_line lines[] = {
        {"answer", "Would outdoor air dry this room?", "", answer(w->exchange), NAN, NAN, 0,
         "outdoor against indoor vapour pressure, beyond twice the uncertainty", VAPOUR},
        {"vapour_pressure_difference", "Outdoor less indoor vapour pressure", "Pa", NULL,
         w->vapour_pa, w->u_vapour_pa, 0, "RH/100 pw(T), outdoors less indoors", VAPOUR},
        {"humidity_once_warmed", "Outdoor air once at room temperature", "%", NULL,
         w->rh_warmed_pct, NAN, 1, "RH pw(outdoors) / pw(indoors)", VAPOUR},
        {"highest_humidity", "Highest humidity while the air mixes", "%", NULL, w->rh_peak_pct,
         NAN, 1, "greatest along the line between both airs; over 100: mist", VAPOUR},
        {"water_carried", "Water that a cubic metre let in brings", "g/m³", NULL,
         w->carried_g_m3, NAN, 2, "at room temperature; negative: it takes water away", VAPOUR},
        {"outdoor_dew_point", "Surfaces colder than this get wet", "°C", NULL, w->outdoor_dew_c,
         NAN, 2, "dew point of the outdoor air", VAPOUR},
    };

    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++)
        calc_sheet_add(sheet, &lines[i]);
    if (!isnan(ts_c))
        calc_sheet_add(sheet, &(struct calc_line){.name = "dew_margin",
                                                  .title = "Coldest surface above that",
                                                  .unit = "K",
                                                  .value = ts_c - w->outdoor_dew_c,
                                                  .uncertainty = NAN,
                                                  .decimals = 2,
                                                  .formula = "Ts - Td(outdoors)",
                                                  .source = VAPOUR});
    sheet->note = note;
}

int calc_window_main(int argc, char **argv)
{
    struct sr_air indoor = {NAN, NAN, 0.3, 2}, outdoor = {NAN, NAN, 0.3, 2};
    struct sr_air_window w;
    struct calc_sheet sheet = {0};
    double u_t_k = 0.3, u_rh_pct = 2, ts_c = NAN;
    bool json = false;
    const struct calc_option options[] = {
        {"indoor-temperature", "°C", -60, 100, &indoor.t_c, NULL, NULL, true, "of the room"},
        {"indoor-humidity", "%", 0.1, 100, &indoor.rh_pct, NULL, NULL, true, "of the room"},
        {"outdoor-temperature", "°C", -60, 100, &outdoor.t_c, NULL, NULL, true, "outdoors"},
        {"outdoor-humidity", "%", 0.1, 100, &outdoor.rh_pct, NULL, NULL, true, "outdoors"},
        {"surface-temperature", "°C", -60, 100, &ts_c, NULL, NULL, false,
         "of the coldest surface in the room"},
        {"uncertainty-temperature", "K", 0, 10, &u_t_k, NULL, NULL, false,
         "standard, both sensors"},
        {"uncertainty-humidity", "%", 0, 50, &u_rh_pct, NULL, NULL, false,
         "standard, both sensors"},
        {"json", NULL, 0, 0, NULL, NULL, &json, false, "print JSON"},
    };

    const int status =
        calc_options(argc, argv, intro, options, sizeof options / sizeof *options);
    if (status != CALC_GO_ON)
        return status;
    indoor.u_t_k = outdoor.u_t_k = u_t_k;
    indoor.u_rh_pct = outdoor.u_rh_pct = u_rh_pct;
    const enum sr_rc rc = sr_air_window(&indoor, &outdoor, &w);
    if (rc != SR_OK)
        return calc_refused(argv[0], sr_rc_text(rc));
    fill(&sheet, &w, ts_c);
    return calc_sheet_print(&sheet, json);
}
