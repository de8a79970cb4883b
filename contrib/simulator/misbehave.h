/* misbehave.h - faults of an instrument or its line, asked for by a short text.
 *
 *     UNIT:KIND[:ARG][@FROM][+DURATION]      3:late:700@60+30
 *
 * Units:   FROM and DURATION in simulated seconds since the start, fractions allowed; without
 *          FROM the fault begins now, without DURATION it lasts. ARG by kind.
 * Threads: pure functions.
 */
#ifndef SIMULATOR_MISBEHAVE_H
#define SIMULATOR_MISBEHAVE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum misbehave_kind {
    MISBEHAVE_NONE,
    /* on the line */
    MISBEHAVE_LATE,      /* answers ARG ms (700) too late */
    MISBEHAVE_GARBLED,   /* a bit is wrong in the answer */
    MISBEHAVE_SHORT,     /* the answer breaks off in its middle */
    MISBEHAVE_DRIP,      /* the answer comes a byte every ARG ms (40) */
    MISBEHAVE_EXCEPTION, /* answers Modbus exception ARG (4, device failure) */
    MISBEHAVE_WRONG,     /* the next unit seems to answer */
    MISBEHAVE_SILENT,    /* no answer */
    /* in the value */
    MISBEHAVE_STUCK,    /* shows the same value for ever */
    MISBEHAVE_DRIFTING, /* ARG (1) units of the quantity a day off */
    MISBEHAVE_NAN,      /* shows its code for "no value" */
    MISBEHAVE_SOLVENT,  /* humidity jumps by ARG (12) and comes back within some hours */
};

struct misbehave {
    enum misbehave_kind kind;
    int unit;
    double arg;
    int64_t from_ms; /* since the start, simulated */
    int64_t to_ms;   /* INT64_MAX: lasts */
};

/* Reads one; false with a phrase in `why` that says what is allowed. */
bool misbehave_parse(const char *text, int64_t now_ms, struct misbehave *out, char *why,
                     size_t why_size);

bool misbehave_is_on(const struct misbehave *m, int unit, int64_t now_ms);

/* True for faults of the line, false for those in the value. */
bool misbehave_on_line(enum misbehave_kind kind);

/* A humidity or temperature as a drifting or solvent-struck instrument shows it. */
double misbehave_drift(const struct misbehave *m, double value, int64_t now_ms);
double misbehave_solvent(const struct misbehave *m, double rh_pct, int64_t now_ms);

#endif
