/* calc.c - see calc.h. Each sheet has a file of its own; this one finds it. */
#include "tool/calc.h"

#include <stdio.h>
#include <string.h>

#include "tool/calc_air.h"
#include "tool/calc_coating.h"
#include "tool/calc_mould.h"
#include "tool/calc_options.h"
#include "tool/calc_plan.h"
#include "tool/calc_salt.h"
#include "tool/calc_window.h"
#include "tool/calc_wood.h"

/* A new sheet adds its line here. argv[0] of its function is its own name. */
static const struct {
    const char *name;
    int (*run)(int argc, char **argv);
    const char *does;
} sheets[] = {
    {"air", calc_air_main, "what temperature and humidity say together (the default)"},
    {"wood", calc_wood_main, "where wood comes to rest, how far it moves, how long it takes"},
    {"mould", calc_mould_main, "how far mould would get on a surface kept like this"},
    {"salt", calc_salt_main, "fixed points of salt jars, and a correction from two of them"},
    {"window", calc_window_main, "whether outdoor air would dry this room"},
    {"plan", calc_plan_main, "a stepwise way back for damp wood"},
    {"coating", calc_coating_main, "whether this air is fit for varnish, gesso, glue, gilding"},
};

static void list(void)
{
    puts("stillroom calc [SHEET] [options]; each sheet has its own --help\n");
    for (size_t i = 0; i < sizeof sheets / sizeof *sheets; i++)
        printf("  %-8s %s\n", sheets[i].name, sheets[i].does);
    putchar('\n');
}

int calc_main(int argc, char **argv)
{
    if (argc < 2 || argv[1][0] == '-') {
        if (argc == 2 && strcmp(argv[1], "--help") == 0)
            list();
        return calc_air_main(argc, argv);
    }
    for (size_t i = 0; i < sizeof sheets / sizeof *sheets; i++)
        if (strcmp(sheets[i].name, argv[1]) == 0)
            return sheets[i].run(argc - 1, argv + 1);
    fprintf(stderr, "calc: there is no sheet \"%s\"; there are", argv[1]);
    for (size_t i = 0; i < sizeof sheets / sizeof *sheets; i++)
        fprintf(stderr, " %s", sheets[i].name);
    fputc('\n', stderr);
    return CALC_USAGE;
}
