/* calc_sheet.h - a sheet of results: each with its unit, uncertainty, formula and source.
 *
 * Owner: all text is borrowed and must live until the sheet is printed.
 */
#ifndef TOOL_CALC_SHEET_H
#define TOOL_CALC_SHEET_H

#include <stdbool.h>
#include <stddef.h>

#include "stillroom/rc.h"

#define CALC_SHEET_LINES 40

struct calc_line {
    const char *name;  /* key in JSON */
    const char *title; /* for people */
    const char *unit;  /* "" for plain numbers and words */
    const char *word;  /* an answer that is no number; else NULL */
    double value;
    double uncertainty; /* standard; NAN: not stated */
    int decimals;
    const char *formula;
    const char *source;
};

struct calc_sheet {
    struct calc_line lines[CALC_SHEET_LINES];
    size_t n;
    const char *note; /* what a reader must know; printed last, not in JSON */
};

void calc_sheet_add(struct calc_sheet *sheet, const struct calc_line *line);

/* The same if rc is SR_OK. What has no value under these conditions is left out. */
void calc_sheet_add_if(struct calc_sheet *sheet, enum sr_rc rc, const struct calc_line *line);

/* Prints for people, or as a JSON object {name: {value, unit, uncertainty, formula, source}}.
 * Returns the exit status. */
int calc_sheet_print(const struct calc_sheet *sheet, bool json);

#endif
