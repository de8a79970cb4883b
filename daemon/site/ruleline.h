/* ruleline.h - the rule of a limit:
 *
 *     QUANTITY above NUMBER | QUANTITY below NUMBER | dew margin below NUMBER |
 *     QUANTITY range above NUMBER within 1 h | 24 h | 7 d | CONTACT is on | off | silent
 *
 * Errors: RC_BAD_INPUT, and `why` holds "what; allowed: ...".
 */
#ifndef SITE_RULELINE_H
#define SITE_RULELINE_H

#include "base/rc.h"
#include "site/site.h"

enum {
    RULELINE_WHY = 320
};

/* Sets rule, quantity, value, window_s and on, and no other member. */
MUST_USE enum rc ruleline_parse(const char *text, struct site_limit *limit,
                                char why[RULELINE_WHY]);

/* What a limit of this rule does unless it says otherwise. */
void ruleline_defaults(struct site_limit *limit);

#endif
