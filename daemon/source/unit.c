/* unit.c - see unit.h. */
#include "source/unit.h"

#include "base/log.h"

void unit_answered(struct unit *unit, int64_t mono_ms)
{
    if (unit->fails > 0)
        log_info("bus %s: unit %d (%s) answers again after %lld s", unit->bus, unit->number,
                 unit->name, (long long)(mono_ms - unit->failed_ms) / 1000);
    unit->known = true;
    unit->fails = 0;
    unit->rest_ms = 0;
    unit->doubt = false;
    unit->asked_ms = mono_ms;
}

void unit_failed(struct unit *unit, enum gap_reason why, uint8_t detail, int64_t every_ms,
                 int64_t mono_ms)
{
    if (unit->fails == 0) {
        unit->failed_ms = mono_ms;
        log_warn("bus %s: unit %d (%s): %s; its readings are gaps until it answers", unit->bus,
                 unit->number, unit->name,
                 why == GAP_EXCEPTION ? "the gateway gets no answer from it"
                                      : gap_reason_text(why));
    }
    unit->fails++;
    unit->last = why;
    unit->detail = detail;
    unit->doubt = true;
    unit->asked_ms = mono_ms;
    if (unit->fails >= UNIT_DEAD)
        unit->rest_ms = unit->rest_ms == 0 ? 2 * every_ms : 2 * unit->rest_ms;
    if (unit->rest_ms > UNIT_REST_MAX_MS)
        unit->rest_ms = UNIT_REST_MAX_MS;
    /* Half a pace less, so that a rest of n paces ends safely before the nth slot. */
    unit->rested_ms = mono_ms + unit->rest_ms - every_ms / 2;
}

bool unit_is_good(const struct unit *unit)
{
    return unit->known && unit->fails == 0;
}

bool unit_is_resting(const struct unit *unit, int64_t mono_ms)
{
    return unit->fails >= UNIT_DEAD && mono_ms < unit->rested_ms;
}

bool unit_in_doubt(const struct unit *unit, int64_t mono_ms)
{
    return unit->doubt && mono_ms - unit->asked_ms <= UNIT_DOUBT_MS;
}
