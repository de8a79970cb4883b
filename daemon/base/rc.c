/* rc.c - see rc.h. */
#include "base/rc.h"

const char *rc_text(enum rc rc)
{
    switch (rc) {
    case RC_OK:
        return "done";
    case RC_NOMEM:
        return "out of memory";
    case RC_BAD_INPUT:
        return "not allowed";
    case RC_NOT_FOUND:
        return "not found";
    case RC_CONFLICT:
        return "not possible in its present state";
    case RC_FULL:
        return "the disk is full";
    case RC_READ_ONLY:
        return "cannot be written";
    case RC_BUSY:
        return "in use by another process";
    case RC_CORRUPT:
        return "damaged";
    case RC_NEWER:
        return "written by a newer version of Stillroom";
    case RC_TIMEOUT:
        return "no answer in time";
    case RC_CLOSED:
        return "closed";
    case RC_IO:
        return "input or output error";
    }
    return "unknown error";
}
