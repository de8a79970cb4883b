/* survey.h - which units answer on a bus, and what their registers hold. Reads only.
 *
 * Each unit is asked for one input register, then for one holding register if that brings
 * nothing; whatever it says, an exception too, shows that it is there. Then its tables are read.
 */
#ifndef TOOL_SURVEY_H
#define TOOL_SURVEY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "source/line.h"

enum {
    SURVEY_TABLES = 4,
    SURVEY_COUNT_MAX = 100 /* registers of a table */
};

struct survey_plan {
    int first_unit, last_unit;
    bool tables[SURVEY_TABLES]; /* by enum site_table */
    uint16_t address, count;
    int response_ms;
};

struct survey_table {
    bool asked;
    bool there[SURVEY_COUNT_MAX]; /* the register gave a value */
    uint16_t words[SURVEY_COUNT_MAX];
    enum gap_reason gap; /* why none of it did */
    uint8_t detail;      /* the exception code */
};

struct survey_unit {
    int unit;
    struct survey_table tables[SURVEY_TABLES];
};

/* Is it there? GAP_NONE and GAP_EXCEPTION: yes. */
enum gap_reason survey_find(struct line *line, const struct survey_plan *plan, int unit);

/* Reads the tables of a unit that is there. */
void survey_read(struct line *line, const struct survey_plan *plan, int unit,
                 struct survey_unit *out);

#endif
