/* rc.c - see rc.h. */
#include "stillroom/rc.h"

const char *sr_rc_text(enum sr_rc rc)
{
    switch (rc) {
    case SR_OK:
        return "done";
    case SR_RANGE:
        return "outside the range in which the formula holds";
    case SR_ORDER:
        return "times are not in strictly rising order";
    case SR_THIN:
        return "too little data to say";
    case SR_NO_SOLUTION:
        return "no solution in the range in which the formula holds";
    case SR_NOMEM:
        return "out of memory";
    }
    return "unknown code";
}
