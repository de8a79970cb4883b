/* misbehave.c - faults on request.  Contract in misbehave.h. */
#include "misbehave.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const char *word;
    enum misbehave_kind kind;
    double arg, least, most;
} kinds[] = {
    {"late", MISBEHAVE_LATE, 700, 0, 60000},
    {"garbled", MISBEHAVE_GARBLED, 0, 0, 0},
    {"short", MISBEHAVE_SHORT, 0, 0, 0},
    {"drip", MISBEHAVE_DRIP, 40, 1, 10000},
    {"exception", MISBEHAVE_EXCEPTION, 4, 1, 11},
    {"wrong-unit", MISBEHAVE_WRONG, 0, 0, 0},
    {"silent", MISBEHAVE_SILENT, 0, 0, 0},
    {"stuck", MISBEHAVE_STUCK, 0, 0, 0},
    {"drifting", MISBEHAVE_DRIFTING, 1, -1000, 1000},
    {"nan", MISBEHAVE_NAN, 0, 0, 0},
    {"solvent", MISBEHAVE_SOLVENT, 12, -100, 100},
};

static const double solvent_tau_s = 2400.0; /* how the sensor recovers; project choice */

/* Reads a number up to one of `ends`; false if there is none or it is out of bounds. */
static bool number(const char **at, double least, double most, double *out)
{
    char *end = NULL;
    double value = strtod(*at, &end);
    if (end == *at || !(value >= least && value <= most))
        return false;
    *at = end;
    *out = value;
    return true;
}

static bool kind_of(const char **at, struct misbehave *m, double *least, double *most)
{
    size_t length = strcspn(*at, ":@+");
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (strlen(kinds[i].word) != length || strncmp(kinds[i].word, *at, length) != 0)
            continue;
        m->kind = kinds[i].kind;
        m->arg = kinds[i].arg;
        *least = kinds[i].least;
        *most = kinds[i].most;
        *at += length;
        return true;
    }
    return false;
}

static bool span(const char **at, struct misbehave *m)
{
    const double most_s = 1e9;
    double seconds = 0.0;
    if (**at == '@') {
        ++*at;
        if (!number(at, 0.0, most_s, &seconds))
            return false;
        m->from_ms = (int64_t)(seconds * 1000.0);
    }
    if (**at == '+') {
        ++*at;
        if (!number(at, 0.0, most_s, &seconds))
            return false;
        m->to_ms = m->from_ms + (int64_t)(seconds * 1000.0);
    }
    return **at == '\0';
}

bool misbehave_parse(const char *text, int64_t now_ms, struct misbehave *out, char *why,
                     size_t why_size)
{
    struct misbehave m = {.from_ms = now_ms, .to_ms = INT64_MAX};
    const char *at = text;
    double unit = 0.0, least = 0.0, most = 0.0;
    if (!number(&at, 1.0, 247.0, &unit) || floor(unit) < unit || *at++ != ':') {
        snprintf(why, why_size, "UNIT:KIND[:ARG][@FROM][+DURATION] begins with a unit 1-247");
        return false;
    }
    m.unit = (int)unit;
    if (!kind_of(&at, &m, &least, &most)) {
        snprintf(why, why_size,
                 "the kind is late, garbled, short, drip, exception, wrong-unit, silent, "
                 "stuck, drifting, nan or solvent");
        return false;
    }
    if (*at == ':' && (at++, !number(&at, least, most, &m.arg))) {
        snprintf(why, why_size, "the argument of this kind is a number %g to %g", least, most);
        return false;
    }
    if (!span(&at, &m)) {
        snprintf(why, why_size, "at the end stand @FROM and +DURATION in seconds, or nothing");
        return false;
    }
    *out = m;
    return true;
}

bool misbehave_is_on(const struct misbehave *m, int unit, int64_t now_ms)
{
    return m->unit == unit && now_ms >= m->from_ms && now_ms < m->to_ms;
}

bool misbehave_on_line(enum misbehave_kind kind)
{
    return kind >= MISBEHAVE_LATE && kind <= MISBEHAVE_SILENT;
}

double misbehave_drift(const struct misbehave *m, double value, int64_t now_ms)
{
    return value + m->arg * (double)(now_ms - m->from_ms) / 86400e3;
}

double misbehave_solvent(const struct misbehave *m, double rh_pct, int64_t now_ms)
{
    double s = (double)(now_ms - m->from_ms) / 1000.0;
    return fmin(100.0, fmax(0.0, rh_pct + m->arg * exp(-s / solvent_tau_s)));
}
