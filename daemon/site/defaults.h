/* defaults.h - the limits that a zone has by its purpose without a line in the file.
 *
 * Units: values in the quantity's own unit, times in seconds.
 */
#ifndef SITE_DEFAULTS_H
#define SITE_DEFAULTS_H

#include <stddef.h>

#include "site/site.h"

struct defaults_row {
    unsigned purposes; /* bit 1 << enum site_purpose; 0: each instrument, not each zone */
    const char *what;  /* the limit is named <zone>-<what>; no `what` ends another's */
    const char *rule;  /* as in the file */
    int on_delay_s;
    double deadband;
    enum site_priority priority;
    const char *source;
};

const struct defaults_row *defaults_rows(size_t *out_count);

#endif
