/* calc_air.c - see calc_air.h. */
#include "tool/calc_air.h"

#include <math.h>
#include <stddef.h>

#include "stillroom/mixture.h"
#include "stillroom/uncertainty.h"
#include "tool/calc_options.h"
#include "tool/calc_sheet.h"

#define HYLAND_WEXLER "Hyland & Wexler (1983), ASHRAE Fundamentals ch. 1 eq. (6), over water"
#define ASHRAE "ASHRAE Fundamentals ch. 1"
#define EMC_TABLE_U_PCT 1.0 /* what the formula itself is worth: see stillroom/wood.h */

#define WEATHER_U_PA 1000.0 /* of the pressure at a known altitude */

static const char intro[] =
    "stillroom calc --temperature 20 --humidity 50 [--surface-temperature 14]\n"
    "Every quantity that follows from the temperature and humidity of air. Humidity is over\n"
    "liquid water, below freezing too. Uncertainties are standard ones (k = 1) for sensors as\n"
    "good as stated.";
static const char note[] =
    "± is the standard uncertainty (k = 1) that the stated uncertainty of the sensors makes.\n"
    "Air readings do not show cold spots behind pictures on outside walls; measure the "
    "surface.";
static const char surface_note[] =
    "± is the standard uncertainty (k = 1) that the stated uncertainty of the sensors makes.\n"
    "A dew margin under 1.5 K is within the uncertainty of common sensors (project choice).";

/* A quantity that uncertainty.h can propagate. */
struct derived {
    enum sr_uncertainty_quantity quantity;
    double scale;
    const char *name, *title, *unit;
    int decimals;
    const char *formula, *source;
};

static const struct derived of_air[] = {
    {SR_UNCERTAINTY_SATURATION_PRESSURE, 1, "saturation_pressure", "Saturation pressure", "Pa",
     1, "ln pw = C1/T + C2 + C3 T + C4 T² + C5 T³ + C7 ln T", HYLAND_WEXLER},
    {SR_UNCERTAINTY_VAPOUR_PRESSURE, 1, "vapour_pressure", "Vapour pressure", "Pa", 1,
     "e = RH/100 pw(T)", HYLAND_WEXLER},
    {SR_UNCERTAINTY_VPD, 1, "vapour_pressure_deficit", "Vapour pressure deficit", "Pa", 1,
     "pw(T) - e", HYLAND_WEXLER},
    {SR_UNCERTAINTY_DEW_POINT, 1, "dew_point", "Dew point", "°C", 2, "pw(Td) = e",
     HYLAND_WEXLER},
    {SR_UNCERTAINTY_FROST_POINT, 1, "frost_point", "Frost point", "°C", 2, "pi(Tf) = e",
     "Hyland & Wexler (1983), ASHRAE Fundamentals ch. 1 eq. (5), over ice"},
    {SR_UNCERTAINTY_ABSOLUTE_HUMIDITY, 1, "absolute_humidity", "Absolute humidity", "g/m³", 2,
     "1000 e / (461.52 T)", "ideal gas"},
    {SR_UNCERTAINTY_HUMIDITY_RATIO, 1000, "humidity_ratio", "Humidity ratio", "g/kg", 2,
     "W = 0.621945 e / (P - e)", ASHRAE},
    {SR_UNCERTAINTY_ENTHALPY, 1, "enthalpy", "Enthalpy of dry air and its vapour", "kJ/kg", 2,
     "1.006 T + W (2501 + 1.86 T)", ASHRAE},
    {SR_UNCERTAINTY_WET_BULB, 1, "wet_bulb", "Wet-bulb temperature", "°C", 2,
     "W = ((2501 - 2.326 Tw) Ws(Tw) - 1.006 (T - Tw)) / (2501 + 1.86 T - 4.186 Tw); over ice "
     "below 0 °C",
     ASHRAE},
    {SR_UNCERTAINTY_EMC, 1, "emc", "Wood comes to rest at", "%", 2,
     "Hailwood-Horrobin isotherm, two hydrates",
     "USDA Wood Handbook (FPL-GTR-282) eq. (4-5); 1 % for the formula itself included"},
    {SR_UNCERTAINTY_SURFACE_TEMPERATURE_AT, 1, "surface_temperature_at_80",
     "Surfaces colder than this exceed 80 %", "°C", 2, "pw(Ts) = e / 0.80",
     "80 %: ISO 13788 (from memory)"},
};

static const struct derived of_surface[] = {
    {SR_UNCERTAINTY_SURFACE_RH, 1, "surface_humidity", "Humidity at the surface", "%", 1,
     "RH pw(T) / pw(Ts)", HYLAND_WEXLER},
    {SR_UNCERTAINTY_SURFACE_MARGIN, 1, "dew_margin", "Surface above dew point", "K", 2,
     "Ts - Td; Ts - Tf below 0 °C", HYLAND_WEXLER},
};

static const struct derived surface_factor = {
    SR_UNCERTAINTY_SURFACE_FACTOR,
    1,
    "surface_factor",
    "Surface temperature factor fRsi",
    "",
    3,
    "(Ts - Te) / (T - Te)",
    "ISO 13788 (from memory); steady conditions, at least 5 K"};

static void add_derived(struct calc_sheet *sheet, const struct derived *d,
                        const struct sr_uncertainty_input *in)
{
    struct sr_uncertainty r = {0};
    const enum sr_rc rc = sr_uncertainty_of(d->quantity, in, &r);
    double u = r.u * d->scale;

    if (d->quantity == SR_UNCERTAINTY_EMC)
        u = hypot(u, EMC_TABLE_U_PCT);
    calc_sheet_add_if(sheet, rc,
                      &(struct calc_line){.name = d->name,
                                          .title = d->title,
                                          .unit = d->unit,
                                          .value = r.value * d->scale,
                                          .uncertainty = u,
                                          .decimals = d->decimals,
                                          .formula = d->formula,
                                          .source = d->source});
}

static void add_pressure(struct calc_sheet *sheet, const struct sr_uncertainty_input *in)
{
    const bool given = !(in->u_p_pa > 0.0);

    calc_sheet_add(
        sheet,
        &(struct calc_line){.name = "pressure",
                            .title = "Air pressure",
                            .unit = "Pa",
                            .value = in->p_pa,
                            .uncertainty = given ? (double)NAN : in->u_p_pa,
                            .formula = given ? "" : "101325 (1 - 2.25577e-5 z)^5.2559",
                            .source = given ? "given"
                                            : "standard atmosphere, " ASHRAE
                                              "; uncertainty for the weather: project choice"});
}

static void add_given(struct calc_sheet *sheet, const char *name, const char *title,
                      const char *unit, double value, double u)
{
    calc_sheet_add(sheet, &(struct calc_line){.name = name,
                                              .title = title,
                                              .unit = unit,
                                              .value = value,
                                              .uncertainty = u,
                                              .decimals = 1,
                                              .formula = "",
                                              .source = "given"});
}

/* The quantities themselves, for conditions that were given and are in range one by one. */
static int fill(struct calc_sheet *sheet, const struct sr_uncertainty_input *in)
{
    struct sr_uncertainty ratio;

    if (sr_uncertainty_of(SR_UNCERTAINTY_HUMIDITY_RATIO, in, &ratio) != SR_OK)
        return calc_refused("calc", "at this pressure such air would boil");
    add_given(sheet, "temperature", "Temperature", "°C", in->t_c, in->u_t_k);
    add_given(sheet, "humidity", "Relative humidity", "%", in->rh_pct, in->u_rh_pct);
    add_pressure(sheet, in);
    for (size_t i = 0; i < sizeof of_air / sizeof *of_air; i++)
        add_derived(sheet, &of_air[i], in);
    sheet->note = note;
    if (isnan(in->ts_c))
        return CALC_GO_ON;
    add_given(sheet, "surface_temperature", "Surface temperature", "°C", in->ts_c, in->u_ts_k);
    for (size_t i = 0; i < sizeof of_surface / sizeof *of_surface; i++)
        add_derived(sheet, &of_surface[i], in);
    if (!isnan(in->outside_c))
        add_derived(sheet, &surface_factor, in);
    sheet->note = surface_note;
    return CALC_GO_ON;
}

int calc_air_main(int argc, char **argv)
{
    struct sr_uncertainty_input in = {.t_c = NAN,
                                      .rh_pct = NAN,
                                      .ts_c = NAN,
                                      .outside_c = NAN,
                                      .p_pa = NAN,
                                      .rh_limit_pct = 80,
                                      .u_t_k = 0.3,
                                      .u_rh_pct = 2,
                                      .u_ts_k = 0.3,
                                      .u_outside_k = 0.3};
    double altitude_m = 0;
    bool json = false;
    struct calc_sheet sheet = {0};
    const struct calc_option options[] = {
        {"temperature", "°C", -60, 100, &in.t_c, NULL, NULL, true, "of the air"},
        {"humidity", "%", 0, 100, &in.rh_pct, NULL, NULL, true, "relative, over water"},
        {"surface-temperature", "°C", -60, 100, &in.ts_c, NULL, NULL, false,
         "of a surface in this air"},
        {"outdoor-temperature", "°C", -60, 100, &in.outside_c, NULL, NULL, false,
         "behind that surface: tells how well it is insulated"},
        {"pressure", "Pa", 50000, 110000, &in.p_pa, NULL, NULL, false,
         "of the air; else by altitude"},
        {"altitude", "m", -400, 5500, &altitude_m, NULL, NULL, false, "above the sea"},
        {"uncertainty-temperature", "K", 0, 10, &in.u_t_k, NULL, NULL, false,
         "standard, of the air's sensor"},
        {"uncertainty-humidity", "%", 0, 50, &in.u_rh_pct, NULL, NULL, false, "standard"},
        {"uncertainty-surface", "K", 0, 10, &in.u_ts_k, NULL, NULL, false,
         "standard, of the surface's sensor"},
        {"json", NULL, 0, 0, NULL, NULL, &json, false, "print JSON"},
    };

    int status = calc_options(argc, argv, intro, options, sizeof options / sizeof *options);
    if (status != CALC_GO_ON)
        return status;
    if (isnan(in.p_pa)) {
        in.u_p_pa = WEATHER_U_PA;
        if (sr_mixture_pressure_at(altitude_m, &in.p_pa) != SR_OK)
            return calc_refused("calc", sr_rc_text(SR_RANGE));
    }
    status = fill(&sheet, &in);
    return status == CALC_GO_ON ? calc_sheet_print(&sheet, json) : status;
}
