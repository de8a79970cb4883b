/* unit.h - what a bus knows of one Modbus unit: whether it answers, and when it is asked again.
 *
 * Units: monotonic milliseconds. Logs the first failure and the return: edges, not levels.
 */
#ifndef SOURCE_UNIT_H
#define SOURCE_UNIT_H

#include <stdbool.h>
#include <stdint.h>

#include "source/sink.h"

enum {
    UNIT_DEAD = 3,            /* failures in a row after which a unit rests */
    UNIT_REST_MAX_MS = 60000, /* longest rest between two attempts */
    UNIT_DOUBT_MS = 10000,    /* no answer comes later than this */
};

struct unit {
    const char *bus;  /* borrowed, for the log */
    const char *name; /* of its first instrument; borrowed */
    int number;
    bool known;           /* it has answered */
    unsigned fails;       /* polls in a row without an answer */
    enum gap_reason last; /* of the last failure */
    uint8_t detail;       /* and its exception code */
    bool doubt;           /* an answer was missed and may still come */
    int64_t rest_ms;      /* pause after the last failure; 0 before it counts as dead */
    int64_t rested_ms;    /* not asked before, once it is dead */
    int64_t asked_ms;
    int64_t failed_ms; /* since when it fails */
};

/* It answered, or did not for a reason; `every_ms` is the pace at which it is asked. */
void unit_answered(struct unit *unit, int64_t mono_ms);
void unit_failed(struct unit *unit, enum gap_reason why, uint8_t detail, int64_t every_ms,
                 int64_t mono_ms);

bool unit_is_good(const struct unit *unit);
bool unit_is_resting(const struct unit *unit, int64_t mono_ms);

/* True while an answer to an older request may still come. */
bool unit_in_doubt(const struct unit *unit, int64_t mono_ms);

#endif
