/* regline.h - the line that says which register holds a quantity:
 *
 *     read = QUANTITY TABLE ADDRESS TYPE [xSCALE] [+OFFSET|-OFFSET] [ORDER] [invert]
 *            [none CODE,CODE...]
 *
 * Errors: the first thing wrong in a line is added to the mistakes.
 */
#ifndef SITE_REGLINE_H
#define SITE_REGLINE_H

#include <stdbool.h>

#include "site/draft.h"
#include "site/site.h"

bool regline_parse(const struct draft *d, const struct draft_section *s,
                   const struct draft_entry *e, struct site_read *out);

/* All "read" lines of a section, one a quantity; returns how many were good. */
size_t regline_all(const struct draft *d, const struct draft_section *s,
                   struct site_read out[SITE_READS_MAX]);

/* "uncertainty = temperature 0.3, humidity 2": sets them in the reads of these quantities. */
void regline_uncertainty(const struct draft *d, const struct draft_section *s,
                         struct site_read *reads, size_t count);

#endif
