/* rc.h - how every function of the daemon and the tool says what became of it.
 *
 * A function returns RC_OK and writes its results through its last pointer arguments, or
 * returns another code and leaves them untouched. Whoever detects an error logs it, once,
 * with its detail; callers pass the code on.
 */
#ifndef BASE_RC_H
#define BASE_RC_H

#define MUST_USE __attribute__((warn_unused_result))

enum rc {
    RC_OK = 0,
    RC_NOMEM,
    RC_BAD_INPUT, /* what a person or a file gave is not allowed; the message says what is */
    RC_NOT_FOUND, /* no such zone, channel, alarm, file */
    RC_CONFLICT,  /* not in this state: an alarm already acknowledged, a name taken */
    RC_FULL,      /* the disk is full */
    RC_READ_ONLY, /* the disk or the file cannot be written */
    RC_BUSY,      /* somebody else holds it: a port, a lock, a database */
    RC_CORRUPT,   /* the database or a file is damaged */
    RC_NEWER,     /* written by a newer version; refused, untouched */
    RC_TIMEOUT,
    RC_CLOSED, /* the other side has gone, or we are stopping */
    RC_IO,     /* any other error of a file, device or connection */
};

/* One English phrase for a code, never NULL. */
const char *rc_text(enum rc rc);

#endif
