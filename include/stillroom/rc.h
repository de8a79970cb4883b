/* rc.h - how every function of libstillroom says whether it could answer.
 *
 * The rule common to all: a function returns SR_OK and writes its result through its last
 * pointer arguments, or returns another code and leaves them untouched.
 */
#ifndef STILLROOM_RC_H
#define STILLROOM_RC_H

#ifdef __GNUC__
#define SR_MUST_USE __attribute__((warn_unused_result))
#else
#define SR_MUST_USE
#endif

enum sr_rc {
    SR_OK = 0,
    SR_RANGE,       /* an argument is outside its documented range, NaN and infinity included */
    SR_ORDER,       /* times unsorted, or two samples at one time */
    SR_THIN,        /* too few samples, or too little of the span covered, to say anything */
    SR_NO_SOLUTION, /* the equation has no solution in the range where its source holds */
    SR_NOMEM,       /* out of memory (only where a header says that it allocates) */
};

/* One English phrase for a code, never NULL. */
const char *sr_rc_text(enum sr_rc rc);

#endif
