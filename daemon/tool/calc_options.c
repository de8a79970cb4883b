/* calc_options.c - see calc_options.h. */
#define _GNU_SOURCE /* getopt_long */
#include "tool/calc_options.h"

#include <assert.h>
#include <errno.h>
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_OPTION 1000
#define LEFT_WIDTH 33 /* no option and unit together are longer; a degree sign is two bytes */

static void help(const char *sheet, const char *intro, const struct calc_option options[],
                 size_t n)
{
    printf("%s\n\nOptions of \"%s\":\n", intro, sheet);
    for (size_t i = 0; i < n; i++) {
        const struct calc_option *o = &options[i];
        const char *unit = o->unit != NULL ? o->unit : "";
        const int letters =
            (int)(strlen(o->name) + strlen(unit)) - (strstr(unit, "\xC2") != NULL);
        printf("  --%s %s%*s %s", o->name, unit, LEFT_WIDTH - letters, "", o->help);
        if (o->number != NULL)
            printf(" (%g to %g", o->least, o->most);
        if (o->number != NULL && !isnan(*o->number))
            printf("; %g unless given", *o->number);
        if (o->number != NULL)
            putchar(')');
        puts(o->required ? "; required" : "");
    }
    puts("  --help                               this text");
    puts("\nExit status: 0 done, 2 usage, 3 a value that cannot be used.");
}

static int take(const char *sheet, const struct calc_option *o, const char *word)
{
    char *end;

    if (o->flag != NULL) {
        *o->flag = true;
        return CALC_GO_ON;
    }
    if (o->text != NULL) {
        *o->text = word;
        return CALC_GO_ON;
    }
    errno = 0;
    const double x = strtod(word, &end);
    if (end == word || *end != '\0' || !(x >= o->least && x <= o->most)) {
        fprintf(stderr, "%s: --%s takes a number from %g to %g (%s), not \"%s\"\n", sheet,
                o->name, o->least, o->most, o->unit, word);
        return CALC_BAD_INPUT;
    }
    *o->number = x;
    return CALC_GO_ON;
}

int calc_options(int argc, char **argv, const char *intro, const struct calc_option options[],
                 size_t n)
{
    struct option longs[CALC_OPTIONS_MAX + 2] = {{"help", no_argument, NULL, 'h'}};
    bool seen[CALC_OPTIONS_MAX] = {false};
    int c;

    assert(n <= CALC_OPTIONS_MAX);
    for (size_t i = 0; i < n; i++)
        longs[i + 1] = (struct option){
            options[i].name, options[i].flag != NULL ? no_argument : required_argument, NULL,
            FIRST_OPTION + (int)i};
    optind = 0; /* a fresh start: several sheets may run in one process */
    while ((c = getopt_long(argc, argv, "h", longs, NULL)) != -1) {
        if (c == 'h') {
            help(argv[0], intro, options, n);
            return CALC_DONE;
        }
        if (c < FIRST_OPTION) {
            fprintf(stderr, "%s: see --help\n", argv[0]);
            return CALC_USAGE;
        }
        const size_t i = (size_t)(c - FIRST_OPTION);
        const int status = take(argv[0], &options[i], optarg);
        if (status != CALC_GO_ON)
            return status;
        seen[i] = true;
    }
    if (optind < argc) {
        fprintf(stderr, "%s: \"%s\" is no option; see --help\n", argv[0], argv[optind]);
        return CALC_USAGE;
    }
    for (size_t i = 0; i < n; i++) {
        if (options[i].required && !seen[i]) {
            fprintf(stderr, "%s: --%s is needed; see --help\n", argv[0], options[i].name);
            return CALC_USAGE;
        }
    }
    return CALC_GO_ON;
}

int calc_refused(const char *sheet, const char *why)
{
    fprintf(stderr, "%s: %s\n", sheet, why);
    return CALC_BAD_INPUT;
}
