/* calc_options.h - options of the calculation sheets, from one table each: parsed, checked and
 * explained alike. */
#ifndef TOOL_CALC_OPTIONS_H
#define TOOL_CALC_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

enum {
    CALC_DONE = 0,
    CALC_USAGE = 2,
    CALC_BAD_INPUT = 3,
    CALC_GO_ON = -1
};

#define CALC_OPTIONS_MAX 24

/* One option. Exactly one of number, text and flag says where it goes; what stands there before
 * is its default. */
struct calc_option {
    const char *name; /* without the dashes */
    const char *unit; /* what the argument is, for people; NULL for a flag */
    double least, most;
    double *number; /* NAN before: not given */
    const char **text;
    bool *flag;
    bool required;
    const char *help;
};

/* CALC_GO_ON, or the exit status: --help was answered, or a mistake was said. */
int calc_options(int argc, char **argv, const char *intro, const struct calc_option options[],
                 size_t n);

/* Says on stderr that a value is outside what the formulas hold for, and returns the status. */
int calc_refused(const char *sheet, const char *why);

#endif
