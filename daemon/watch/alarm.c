/* alarm.c - see alarm.h. */
#include "watch/alarm.h"

#include <stddef.h>

static enum rc raise_it(enum alarm_state state, enum alarm_state *out)
{
    /* A condition that comes back before anybody acknowledged its first time is the same
     * alarm; after an acknowledgement it stays acknowledged until it has been normal. */
    *out = state == ALARM_NORMAL || state == ALARM_RETURNED ? ALARM_UNACKNOWLEDGED : state;
    return RC_OK;
}

static enum rc clear_it(enum alarm_state state, enum alarm_state *out)
{
    *out = state == ALARM_UNACKNOWLEDGED ? ALARM_RETURNED
           : state == ALARM_ACKNOWLEDGED ? ALARM_NORMAL
                                         : state;
    return RC_OK;
}

static enum rc acknowledge(enum alarm_state state, enum alarm_state *out)
{
    if (state != ALARM_UNACKNOWLEDGED && state != ALARM_RETURNED)
        return RC_CONFLICT;
    *out = state == ALARM_RETURNED ? ALARM_NORMAL : ALARM_ACKNOWLEDGED;
    return RC_OK;
}

static enum rc leave(enum alarm_state state, enum alarm_state from, bool condition,
                     enum alarm_state *out)
{
    if (state != from)
        return RC_CONFLICT;
    *out = condition ? ALARM_UNACKNOWLEDGED : ALARM_NORMAL;
    return RC_OK;
}

enum rc alarm_next(enum alarm_state state, enum alarm_input input, bool condition,
                   enum alarm_state *out)
{
    switch (input) {
    case ALARM_RAISE:
        return raise_it(state, out);
    case ALARM_CLEAR:
        return clear_it(state, out);
    case ALARM_ACKNOWLEDGE:
        return acknowledge(state, out);
    case ALARM_SHELVE:
        if (state == ALARM_SHELVED || state == ALARM_OUT_OF_SERVICE)
            return RC_CONFLICT;
        *out = ALARM_SHELVED;
        return RC_OK;
    case ALARM_UNSHELVE:
        return leave(state, ALARM_SHELVED, condition, out);
    case ALARM_TAKE_OUT:
        if (state == ALARM_OUT_OF_SERVICE)
            return RC_CONFLICT;
        *out = ALARM_OUT_OF_SERVICE;
        return RC_OK;
    case ALARM_PUT_BACK:
        return leave(state, ALARM_OUT_OF_SERVICE, condition, out);
    }
    return RC_CONFLICT;
}

const char *alarm_state_word(enum alarm_state state)
{
    static const char *const words[] = {"normal",   "unacknowledged", "acknowledged",
                                        "returned", "shelved",        "out_of_service"};
    return (size_t)state < sizeof words / sizeof *words ? words[state] : "unknown";
}
