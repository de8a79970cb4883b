/* alarm.h - the life of one alarm: the states of IEC 62682 / ISA-18.2.
 *
 * Pure: no clock, no store. Whoever calls stores each transition that comes back.
 */
#ifndef WATCH_ALARM_H
#define WATCH_ALARM_H

#include <stdbool.h>
#include <stdint.h>

#include "base/rc.h"

/* Stored by number: never renumber. */
enum alarm_state {
    ALARM_NORMAL = 0,
    ALARM_UNACKNOWLEDGED = 1,
    ALARM_ACKNOWLEDGED = 2,
    ALARM_RETURNED = 3,       /* the condition is over, nobody has acknowledged it */
    ALARM_SHELVED = 4,        /* paused until a time */
    ALARM_OUT_OF_SERVICE = 5, /* switched off by the site file */
};

enum alarm_input {
    ALARM_RAISE,       /* the condition has lasted its on-delay */
    ALARM_CLEAR,       /* the condition has been over for its off-delay */
    ALARM_ACKNOWLEDGE, /* by a person */
    ALARM_SHELVE,      /* by a person, until a time */
    ALARM_UNSHELVE,    /* by a person, or the time has come */
    ALARM_TAKE_OUT,
    ALARM_PUT_BACK,
};

/* Where an input leads. `condition` says whether the condition lasts now: it decides where
 * unshelving and putting back lead. RC_CONFLICT if the input is not possible in this state
 * (RAISE and CLEAR are always possible; where they change nothing the state comes back). */
MUST_USE enum rc alarm_next(enum alarm_state state, enum alarm_input input, bool condition,
                            enum alarm_state *out);

/* "unacknowledged" and so on, for the interface; never NULL. */
const char *alarm_state_word(enum alarm_state state);

#endif
