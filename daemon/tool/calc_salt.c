/* calc_salt.c - see calc_salt.h. */
#include "tool/calc_salt.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stillroom/salt.h"
#include "tool/calc_options.h"
#include "tool/calc_sheet.h"

#define GREENSPAN "Greenspan (1977), J. Res. NBS 81A; uncertainty from memory"

static const char intro[] =
    "stillroom calc salt --temperature 20\n"
    "stillroom calc salt --temperature 20 --first magnesium-chloride=35.1 \\\n"
    "                    --second sodium-chloride=73.2 [--reading 50]\n"
    "Humidity over saturated salt solutions; and, from what a sensor reads over two of them, "
    "its\n"
    "correction.";
static const char note[] =
    "A wet slurry with solid left over, a small closed jar, one temperature within 0.5 K, 4-24 "
    "h,\n"
    "no drops on the sensor. Salts creep; wear gloves, and label the jars.";

static const struct {
    enum sr_salt salt;
    const char *key, *json_key, *title;
} salts[SR_SALT_COUNT] = {
    {SR_SALT_LITHIUM_CHLORIDE, "lithium-chloride", "lithium_chloride", "Lithium chloride"},
    {SR_SALT_MAGNESIUM_CHLORIDE, "magnesium-chloride", "magnesium_chloride",
     "Magnesium chloride"},
    {SR_SALT_POTASSIUM_CARBONATE, "potassium-carbonate", "potassium_carbonate",
     "Potassium carbonate (to 30 °C)"},
    {SR_SALT_SODIUM_CHLORIDE, "sodium-chloride", "sodium_chloride", "Sodium chloride"},
    {SR_SALT_POTASSIUM_CHLORIDE, "potassium-chloride", "potassium_chloride",
     "Potassium chloride"},
    {SR_SALT_POTASSIUM_NITRATE, "potassium-nitrate", "potassium_nitrate", "Potassium nitrate"},
    {SR_SALT_POTASSIUM_SULPHATE, "potassium-sulphate", "potassium_sulphate",
     "Potassium sulphate"},
};

/* What a sensor said over a salt. */
struct point {
    double read_pct, true_pct;
};

/* "sodium-chloride=73.2" at t_c. The status, or CALC_GO_ON. */
static int read_point(const char *text, double t_c, struct point *out)
{
    char *end;
    const char *equals = strchr(text, '=');
    const size_t len = equals != NULL ? (size_t)(equals - text) : 0;

    for (int i = 0; i < SR_SALT_COUNT && len > 0; i++) {
        if (strlen(salts[i].key) != len || strncmp(salts[i].key, text, len) != 0)
            continue;
        out->read_pct = strtod(equals + 1, &end);
        if (end == equals + 1 || *end != '\0' || !isfinite(out->read_pct))
            break;
        if (sr_salt_rh(salts[i].salt, t_c, &out->true_pct) != SR_OK)
            return calc_refused("salt", "that salt is no fixed point at this temperature");
        return CALC_GO_ON;
    }
    fprintf(stderr, "salt: \"%s\" is not SALT=READING; salts are", text);
    for (int i = 0; i < SR_SALT_COUNT; i++)
        fprintf(stderr, " %s", salts[i].key);
    fputc('\n', stderr);
    return CALC_BAD_INPUT;
}

static void add_points(struct calc_sheet *sheet, double t_c)
{
    for (int i = 0; i < SR_SALT_COUNT; i++) {
        double rh_pct = 0.0, u_pct;
        const enum sr_rc rc = sr_salt_rh(salts[i].salt, t_c, &rh_pct);
        if (sr_salt_uncertainty(salts[i].salt, &u_pct) != SR_OK)
            u_pct = NAN;
        calc_sheet_add_if(sheet, rc,
                          &(struct calc_line){.name = salts[i].json_key,
                                              .title = salts[i].title,
                                              .unit = "%",
                                              .value = rh_pct,
                                              .uncertainty = u_pct,
                                              .decimals = 2,
                                              .formula = "a0 + a1 t + a2 t² + a3 t³",
                                              .source = GREENSPAN});
    }
}

static int add_correction(struct calc_sheet *sheet, const struct point *a,
                          const struct point *b, double reading_pct)
{
    struct sr_salt_correction c;
    double corrected = 0.0;

    switch (sr_salt_two_point(a->read_pct, a->true_pct, b->read_pct, b->true_pct, &c)) {
    case SR_OK:
        break;
    case SR_THIN:
        return calc_refused("salt", "the two salts lie less than 30 % apart");
    case SR_RANGE:
    case SR_ORDER:
    case SR_NO_SOLUTION:
    case SR_NOMEM:
    default:
        return calc_refused(
            "salt", "these readings ask for a slope beyond 0.8 to 1.25: look at the sensor");
    }
    const struct calc_line lines[] = {
        {"slope", "Slope of the correction", "", NULL, c.slope, NAN, 5, "(t2 - t1) / (r2 - r1)",
         "two-point correction; limits 0.8-1.25: project choice"},
        {"offset", "Offset of the correction", "%", NULL, c.offset_pct, NAN, 4, "t1 - slope r1",
         "two-point correction"},
    };
    calc_sheet_add(sheet, &lines[0]);
    calc_sheet_add(sheet, &lines[1]);
    if (isnan(reading_pct))
        return CALC_GO_ON;
    const enum sr_rc rc = sr_salt_correct(&c, reading_pct, &corrected);
    calc_sheet_add_if(sheet, rc,
                      &(struct calc_line){.name = "corrected_humidity",
                                          .title = "The reading, corrected",
                                          .unit = "%",
                                          .value = corrected,
                                          .uncertainty = NAN,
                                          .decimals = 2,
                                          .formula = "slope x reading + offset, within 0..100",
                                          .source = "two-point correction"});
    return CALC_GO_ON;
}

int calc_salt_main(int argc, char **argv)
{
    double t_c = NAN, reading_pct = NAN;
    const char *first = NULL, *second = NULL;
    bool json = false;
    struct calc_sheet sheet = {.note = note};
    struct point a, b;
    const struct calc_option options[] = {
        {"temperature", "°C", 0, 50, &t_c, NULL, NULL, true, "of jar, salt and sensor"},
        {"first", "SALT=READING", 0, 0, NULL, &first, NULL, false, "what the sensor read"},
        {"second", "SALT=READING", 0, 0, NULL, &second, NULL, false, "the same, another salt"},
        {"reading", "%", 0, 100, &reading_pct, NULL, NULL, false, "a reading to correct"},
        {"json", NULL, 0, 0, NULL, NULL, &json, false, "print JSON"},
    };

    int status = calc_options(argc, argv, intro, options, sizeof options / sizeof *options);
    if (status != CALC_GO_ON)
        return status;
    add_points(&sheet, t_c);
    if ((first == NULL) != (second == NULL) || (first == NULL && !isnan(reading_pct))) {
        fputs("salt: a correction needs --first and --second; see --help\n", stderr);
        return CALC_USAGE;
    }
    if (first != NULL) {
        status = read_point(first, t_c, &a);
        if (status == CALC_GO_ON)
            status = read_point(second, t_c, &b);
        if (status == CALC_GO_ON)
            status = add_correction(&sheet, &a, &b, reading_pct);
        if (status != CALC_GO_ON)
            return status;
    }
    return calc_sheet_print(&sheet, json);
}
