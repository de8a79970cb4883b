/* test_calc.c - `stillroom calc`: what it prints, and what it refuses.
 *
 * Numbers: the moist-air, wood, mould and salt tables of tests/published.
 */
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "support/near.h"

#include "base/json.h"
#include "tool/calc.h"

#define WORDS_MAX 24

/* Runs calc with these words; its stdout goes to text. */
static int run(const char *line, char *text, size_t size)
{
    char words[512], *argv[WORDS_MAX + 1], *rest;
    int argc = 0;

    snprintf(words, sizeof words, "%s", line);
    for (char *w = strtok_r(words, " ", &rest); w != NULL && argc < WORDS_MAX;
         w = strtok_r(NULL, " ", &rest))
        argv[argc++] = w;
    argv[argc] = NULL;

    FILE *to = tmpfile();
    assert_non_null(to);
    fflush(stdout);
    const int kept = dup(STDOUT_FILENO), kept_error = dup(STDERR_FILENO);
    const int nowhere = open("/dev/null", O_WRONLY);
    assert_true(kept >= 0 && kept_error >= 0 && nowhere >= 0);
    dup2(fileno(to), STDOUT_FILENO);
    dup2(nowhere, STDERR_FILENO);
    const int status = calc_main(argc, argv);
    fflush(stdout);
    dup2(kept, STDOUT_FILENO);
    dup2(kept_error, STDERR_FILENO);
    close(kept);
    close(kept_error);
    close(nowhere);
    rewind(to);
    text[fread(text, 1, size - 1, to)] = '\0';
    fclose(to);
    return status;
}

static json_t *sheet(const char *line)
{
    static char text[32768];
    json_error_t error;

    assert_int_equal(run(line, text, sizeof text), 0);
    json_t *all = json_loads(text, 0, &error);
    assert_non_null(all);
    const char *name;
    json_t *one;
    json_object_foreach(all, name, one)
    {
        assert_true(json_is_string(json_object_get(one, "unit")));
        assert_true(json_string_length(json_object_get(one, "source")) > 0);
        assert_non_null(json_object_get(one, "value"));
        assert_non_null(json_object_get(one, "uncertainty"));
        assert_false(json_is_null(json_object_get(one, "value")));
    }
    return all;
}

static double number(const json_t *all, const char *name, const char *key)
{
    const json_t *x = json_object_get(json_object_get(all, name), key);

    assert_true(json_is_number(x));
    return json_number_value(x);
}

static void air_is_worked_out_in_full(void **state)
{
    static const struct {
        const char *name;
        double value, tolerance;
    } rows[] = {
        {"vapour_pressure", 1169.40, 0.006},
        {"saturation_pressure", 2338.804, 0.001},
        {"vapour_pressure_deficit", 1169.4, 0.006},
        {"dew_point", 9.272, 0.001},
        {"absolute_humidity", 8.643, 0.001},
        {"humidity_ratio", 7.2617, 0.0001},
        {"enthalpy", 38.552, 0.001},
        {"wet_bulb", 13.784, 0.001},
        {"emc", 9.271, 0.001},
        {"surface_humidity", 73.15, 0.05},
        {"dew_margin", 14 - 9.272, 0.001},
        {"surface_temperature_at_80", 12.628, 0.001},
    };
    json_t *all = sheet("calc --temperature 20 --humidity 50 --surface-temperature 14 "
                        "--pressure 101325 --json");

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_near(number(all, rows[i].name, "value"), rows[i].value, rows[i].tolerance);
    assert_near(number(all, "dew_point", "uncertainty"), 0.654, 0.001);
    assert_true(number(all, "emc", "uncertainty") > 1); /* the formula's own is in it */
    assert_null(json_object_get(all, "frost_point"));
    json_decref(all);
}

static void stated_uncertainty_and_pressure_are_used(void **state)
{
    json_t *all = sheet("calc air --temperature 20 --humidity 20 --uncertainty-temperature 0.2 "
                        "--uncertainty-humidity 3 --pressure 80000 --json");

    (void)state;
    assert_near(number(all, "dew_point", "value"), -3.627, 0.001);
    assert_near(number(all, "frost_point", "value"), -3.209, 0.001);
    assert_near(number(all, "dew_point", "uncertainty"), 2.011, 0.002);
    json_decref(all);
    all = sheet("calc --temperature 20 --humidity 50 --surface-temperature 16 "
                "--outdoor-temperature 0 --json");
    assert_near(number(all, "surface_factor", "value"), 0.800, 1e-6);
    json_decref(all);
    all = sheet("calc --temperature 20 --humidity 50 --altitude 1500 --json");
    assert_near(number(all, "pressure", "value"), 84556, 1);
    json_decref(all);
}

static void wood_rests_moves_and_follows(void **state)
{
    json_t *all = sheet("calc wood --temperature 20 --humidity 45 --to-humidity 60 --species "
                        "american-white-oak --width 300 --thickness 20 --faces 1 --moisture 12 "
                        "--json");

    (void)state;
    assert_near(number(all, "emc", "value"), 8.485, 0.001);
    assert_near(number(all, "emc_after", "value"), 11.000, 0.001);
    assert_near(number(all, "movement", "value"), 2.754, 0.001);
    assert_near(number(all, "humidity_at_rest", "value"), 65.018, 0.001);
    assert_near(number(all, "days_to_nine_tenths", "value"), 39.26, 0.01);
    assert_true(number(all, "days_to_nine_tenths_least", "value") < 39);
    assert_true(number(all, "days_to_nine_tenths_most", "value") > 700);
    json_decref(all);
}

static void mould_grows_on_a_cold_wall(void **state)
{
    json_t *all = sheet("calc mould --temperature 18 --humidity 65 --surface-temperature 14 "
                        "--material very-sensitive --json");

    (void)state;
    assert_near(number(all, "surface_humidity", "value"), 83.93, 0.01);
    assert_string_equal(
        json_string_value(json_object_get(json_object_get(all, "growth"), "value")), "yes");
    assert_non_null(strstr(
        json_string_value(json_object_get(json_object_get(all, "mould_index"), "source")),
        "not a clearance"));
    json_decref(all);
    all = sheet("calc mould --temperature 20 --humidity 90 --material very-sensitive --days 56 "
                "--json");
    assert_near(number(all, "mould_index", "value"), 2.7790, 0.0001);
    assert_near(number(all, "days_to_first_growth", "value"), 7 * 4.2019, 0.001);
    json_decref(all);
    all = sheet("calc mould --temperature 18 --humidity 65 --json");
    assert_null(json_object_get(all, "days_to_first_growth"));
    assert_near(number(all, "mould_index", "value"), 0, 1e-12);
    json_decref(all);
}

static void salts_correct_a_sensor(void **state)
{
    json_t *all = sheet("calc salt --temperature 20 --first magnesium-chloride=35.1 "
                        "--second sodium-chloride=73.2 --reading 50 --json");

    (void)state;
    assert_near(number(all, "sodium_chloride", "value"), 75.48, 0.006);
    assert_near(number(all, "corrected_humidity", "value"), 49.652, 0.02);
    json_decref(all);
    all = sheet("calc salt --temperature 40 --json");
    assert_null(json_object_get(all, "potassium_carbonate"));
    json_decref(all);
}

static void a_window_dries_or_does_not(void **state)
{
    json_t *all = sheet("calc window --indoor-temperature 20 --indoor-humidity 60 "
                        "--outdoor-temperature 5 --outdoor-humidity 80 "
                        "--surface-temperature 12 --json");

    (void)state;
    assert_near(number(all, "humidity_once_warmed", "value"), 29.84, 0.006);
    assert_near(number(all, "dew_margin", "value"), 12 - 1.841, 0.001);
    assert_string_equal(
        json_string_value(json_object_get(json_object_get(all, "answer"), "value")),
        "yes, it dries");
    json_decref(all);
}

/* Hold times by Crank's (1975) slab series, 20 mm from one face: 39.26 d to nine tenths; the
 * steps by the strain of brittle gesso (Mecklenburg et al. 1998). */
static void a_plan_has_steps_and_cautions(void **state)
{
    static char text[32768];
    json_error_t error;
    size_t i;
    json_t *step;

    (void)state;
    assert_int_equal(
        run("calc plan --temperature 20 --thickness 20 --faces 1 --species basswood "
            "--from-humidity 85 --json",
            text, sizeof text),
        0);
    json_t *all = json_loads(text, 0, &error);
    assert_non_null(all);
    assert_int_equal(json_array_size(json_object_get(all, "cautions")), 4);
    const json_t *steps = json_object_get(all, "steps");
    assert_true(json_array_size(steps) > 7);
    double at = 85.0, damp_d = 0.0;
    json_array_foreach(steps, i, step)
    {
        const double to = json_number_value(json_object_get(step, "hold_at"));
        const double days = json_number_value(json_object_get(step, "days"));
        assert_true(to < at);
        assert_true(json_number_value(json_object_get(step, "strain")) < 0.0025 + 1e-9);
        assert_true(to > 65.0 || days > 39.2);
        damp_d += to > 65.0 ? days : 0.0;
        at = to;
    }
    assert_near(at, 50.0, 1e-9);
    assert_near(damp_d, 2.0, 1e-6);
    json_decref(all);
    assert_int_equal(run("calc plan --temperature 20 --thickness 20 --moisture 12 --robust",
                         text, sizeof text),
                     0);
    assert_non_null(strstr(text, "Never wrap a damp object tightly"));
    assert_non_null(strstr(text, "weight and surface inspection decide"));
}

static void a_coating_is_fit_unfit_or_unknown(void **state)
{
    static const struct {
        const char *line, *varnish;
    } rows[] = {
        {"calc coating --temperature 20 --humidity 50 --surface-temperature 20 --json", "yes"},
        {"calc coating --temperature 20 --humidity 50 --json",
         "unknown: the surface is not measured"},
        {"calc coating --temperature 20 --humidity 70 --surface-temperature 20 --json",
         "no: too damp; so damp that work in hand stops; too near the dew point: the film may "
         "blush"},
        {"calc coating --temperature 20 --humidity 50 --surface-temperature 20 "
         "--hours-since-cold 3 --json",
         "unknown: came from a colder place less than a day ago"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        json_t *all = sheet(rows[i].line);
        assert_string_equal(
            json_string_value(json_object_get(json_object_get(all, "varnish"), "value")),
            rows[i].varnish);
        json_decref(all);
    }
    json_t *all = sheet("calc coating --temperature 20 --humidity 50 --surface-temperature 20 "
                        "--json");
    assert_near(number(all, "varnish_humidity_limit", "value"), 64.04, 0.01);
    assert_near(number(all, "evaporation_least", "value"), 27.20, 0.01);
    assert_near(number(all, "evaporation_most", "value"), 85.19, 0.01);
    assert_near(number(all, "drying_potential", "value"), 1.0, 1e-9);
    json_decref(all);
}

static void text_carries_unit_source_and_caution(void **state)
{
    static char text[32768];

    (void)state;
    assert_int_equal(run("calc --temperature 20 --humidity 50", text, sizeof text), 0);
    assert_non_null(strstr(text, "9.27 ± 0.65 °C"));
    assert_non_null(strstr(text, "Hyland & Wexler (1983)"));
    assert_non_null(strstr(text, "measure the surface"));
    assert_int_equal(run("calc mould --temperature 20 --humidity 90", text, sizeof text), 0);
    assert_non_null(strstr(text, "Not a clearance"));
    assert_non_null(strstr(text, "provisional"));
    assert_int_equal(run("calc wood --list", text, sizeof text), 0);
    assert_non_null(strstr(text, "sitka-spruce"));
    assert_non_null(strstr(text, "from memory"));
}

static void every_sheet_explains_itself(void **state)
{
    static const char *const lines[] = {
        "calc --help",      "calc air --help",    "calc wood --help", "calc mould --help",
        "calc salt --help", "calc window --help", "calc plan --help", "calc coating --help"};
    static char text[32768];

    (void)state;
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        assert_int_equal(run(lines[i], text, sizeof text), 0);
        assert_non_null(strstr(text, "--json"));
        assert_non_null(strstr(text, "Exit status"));
    }
}

static void mistakes_have_their_status(void **state)
{
    static const struct {
        const char *line;
        int status;
    } rows[] = {
        {"calc", 2},
        {"calc --temperature 20", 2},
        {"calc --humidity 50", 2},
        {"calc --temperature 20 --humidity 50 --colour red", 2},
        {"calc --temperature 20 --humidity 50 extra", 2},
        {"calc nonsense", 2},
        {"calc --temperature", 2},
        {"calc --temperature warm --humidity 50", 3},
        {"calc --temperature 20 --humidity 101", 3},
        {"calc --temperature nan --humidity 50", 3},
        {"calc --temperature inf --humidity 50", 3},
        {"calc --temperature 20C --humidity 50", 3},
        {"calc --temperature 100 --humidity 100 --pressure 60000", 3},
        {"calc wood --temperature 20 --humidity 50 --species unobtainium --to-humidity 60", 3},
        {"calc wood --temperature 20 --humidity 50 --species oak", 2},
        {"calc wood --temperature 20 --humidity 50 --faces 1.5 --thickness 20", 3},
        {"calc mould --temperature 20 --humidity 90 --material cheese", 3},
        {"calc salt --temperature 20 --first sodium-chloride=75", 2},
        {"calc salt --temperature 20 --first salt=75 --second sodium-chloride=75", 3},
        {"calc salt --temperature 20 --first sodium-chloride=75 --second potassium-chloride=85",
         3},
        {"calc salt --temperature 40 --first sodium-chloride=75 --second "
         "potassium-carbonate=43",
         3},
        {"calc window --indoor-temperature 20", 2},
        {"calc plan --temperature 20 --thickness 20", 2},
        {"calc plan --temperature 20 --thickness 20 --from-humidity 80 --moisture 16", 2},
        {"calc plan --temperature 20 --thickness 20 --moisture 40", 3},
        {"calc plan --temperature 20 --thickness 20 --from-humidity 80 --species cheese", 3},
        {"calc plan --temperature 20 --thickness 20 --from-humidity 80 --faces 1.5", 3},
        {"calc coating --temperature 20", 2},
        {"calc coating --temperature 20 --humidity 101", 3},
    };
    static char text[32768];

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_int_equal(run(rows[i].line, text, sizeof text), rows[i].status);
        assert_string_equal(text, ""); /* data on stdout, talk on stderr */
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(air_is_worked_out_in_full),
        cmocka_unit_test(stated_uncertainty_and_pressure_are_used),
        cmocka_unit_test(wood_rests_moves_and_follows),
        cmocka_unit_test(mould_grows_on_a_cold_wall),
        cmocka_unit_test(salts_correct_a_sensor),
        cmocka_unit_test(a_window_dries_or_does_not),
        cmocka_unit_test(a_plan_has_steps_and_cautions),
        cmocka_unit_test(a_coating_is_fit_unfit_or_unknown),
        cmocka_unit_test(text_carries_unit_source_and_caution),
        cmocka_unit_test(every_sheet_explains_itself),
        cmocka_unit_test(mistakes_have_their_status),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
