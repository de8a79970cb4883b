/* clock.h - the only place that reads clocks. Everything else is given a tick.
 *
 * Units: utc_s whole seconds since 1970-01-01T00:00:00Z; mono_ms milliseconds of a clock that
 *        never steps, zero at no particular moment.
 */
#ifndef BASE_CLOCK_H
#define BASE_CLOCK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <time.h>

enum {
    CLOCK_DAY_S = 86400
};

struct tick {
    int64_t mono_ms;
    int64_t utc_ms;
};

struct tick clock_now(void);

/* Whole UTC seconds of a tick, rounded down. */
int64_t clock_utc_s(struct tick now);

/* True while the kernel says that nobody keeps its clock right. */
bool clock_kernel_unsynchronised(void);

/* The UTC day (days since 1970-01-01) in which a second lies; before 1970 too. */
int64_t clock_day_of(int64_t utc_s);

/* "2026-11-25" of a day number; out must hold 16 bytes. */
void clock_day_text(int64_t day, char *out, size_t size);

/* Parses "2026-11-25"; false if it is not a date. */
bool clock_day_parse(const char *text, int64_t *out_day);

/* "2026-11-25T07:18:33Z". */
void clock_utc_text(int64_t utc_s, char *out, size_t size);

/* "2026-11-25T07:18:33+00:00" in the zone set by clock_zone_set(). */
void clock_local_text(int64_t utc_s, char *out, size_t size);

/* Parses ISO 8601 "2026-11-25", "2026-11-25T07:18[:33]" with "Z", "+01:00" or nothing, which
 * means the zone set by clock_zone_set(); false if it is none of these. */
bool clock_parse(const char *text, int64_t *out_utc_s);

/* Offset of local time from UTC at a moment, in seconds. */
int64_t clock_offset_s(int64_t utc_s);

/* Sets the process's time zone by its IANA name; false if the system does not know it.
 * Called once, before any thread. */
bool clock_zone_set(const char *name);

/* The monotonic moment `ms` from now, as pthread_cond_timedwait takes it. */
struct timespec clock_deadline(int64_t ms);

/* Waits; for tests, tools and children, never for threads that must stop at once. */
void clock_sleep_ms(int64_t ms);

#endif
