/* hours.h - the studio's working hours: "Mo-Fr 08:30-18:00". */
#ifndef SITE_HOURS_H
#define SITE_HOURS_H

#include <stdbool.h>

#include "site/site.h"

/* Sets working_days, working_from_min, working_to_min; false, and nothing set, if the text is
 * none. The span lies within one day. */
bool hours_parse(const char *text, struct site *site);

/* Mo-Fr 08:00-18:00. */
void hours_default(struct site *site);

#endif
