/* rack.c - registers and faults of the instruments.  Contract in rack.h. */
#include "rack.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    FAULTS_MAX = 64
};

struct rack {
    struct world *world; /* owned */
    int64_t start_ms;
    int64_t now_ms;
    struct misbehave faults[FAULTS_MAX];
    size_t fault_count;
    /* What a stuck instrument showed when it stuck; NaN while it is not. */
    double stuck[INSTRUMENT_COUNT][INSTRUMENT_CHANNELS_MAX];
};

enum rc rack_open(const struct world_cfg *world, int64_t start_ms, struct rack **out)
{
    struct rack *r = calloc(1, sizeof *r);
    if (r == NULL)
        return RC_NOMEM;
    r->start_ms = start_ms;
    for (size_t i = 0; i < INSTRUMENT_COUNT; i++)
        for (size_t c = 0; c < INSTRUMENT_CHANNELS_MAX; c++)
            r->stuck[i][c] = nan("");
    enum rc rc = world_open(world, &r->world);
    if (rc != RC_OK) {
        rack_close(r);
        return rc;
    }
    rack_advance(r, start_ms);
    *out = r;
    return RC_OK;
}

void rack_close(struct rack *r)
{
    if (r == NULL)
        return;
    world_close(r->world);
    free(r);
}

void rack_advance(struct rack *r, int64_t now_ms)
{
    r->now_ms = now_ms;
    world_advance(r->world, now_ms / 1000);
}

bool rack_misbehave(struct rack *r, const char *text, char *why, size_t why_size)
{
    struct misbehave m;
    if (!misbehave_parse(text, r->now_ms - r->start_ms, &m, why, why_size))
        return false;
    size_t index = 0;
    if (!instrument_by_unit(INSTRUMENT_TCP, m.unit, &index) &&
        !instrument_by_unit(INSTRUMENT_RTU, m.unit, &index)) {
        snprintf(why, why_size, "there is no unit %d; see the instruments by print", m.unit);
        return false;
    }
    if (r->fault_count == FAULTS_MAX) {
        snprintf(why, why_size, "at most %d faults at a time; end some by behave", FAULTS_MAX);
        return false;
    }
    r->faults[r->fault_count++] = m;
    return true;
}

void rack_behave(struct rack *r, int unit)
{
    size_t kept = 0;
    for (size_t i = 0; i < r->fault_count; i++)
        if (unit != 0 && r->faults[i].unit != unit)
            r->faults[kept++] = r->faults[i];
    r->fault_count = kept;
}

static double misshown(struct rack *r, size_t instrument, size_t channel, double value)
{
    const struct instrument *in = instrument_at(instrument);
    enum quantity q = in->channels[channel].quantity;
    double *stuck = &r->stuck[instrument][channel];
    int64_t since_ms = r->now_ms - r->start_ms;
    bool is_stuck = false;
    for (size_t i = 0; i < r->fault_count; i++) {
        const struct misbehave *m = &r->faults[i];
        if (!misbehave_is_on(m, in->unit, since_ms))
            continue;
        if (m->kind == MISBEHAVE_NAN)
            value = nan("");
        else if (m->kind == MISBEHAVE_STUCK)
            is_stuck = true;
        else if (m->kind == MISBEHAVE_DRIFTING)
            value = misbehave_drift(m, value, since_ms);
        else if (m->kind == MISBEHAVE_SOLVENT && q == QUANTITY_HUMIDITY)
            value = misbehave_solvent(m, value, since_ms);
    }
    if (!is_stuck)
        *stuck = nan("");
    else if (isnan(*stuck))
        *stuck = value;
    return is_stuck ? *stuck : value;
}

/* What the channel shows, NaN for "no value". Contacts know no faults in the value. */
static double value_of(struct rack *r, size_t instrument, size_t channel)
{
    const struct instrument_channel *c = &instrument_at(instrument)->channels[channel];
    double value = nan("");
    if (!world_read(r->world, instrument, c->quantity, r->now_ms / 1000, &value))
        return nan("");
    return c->form == INSTRUMENT_BIT ? value : misshown(r, instrument, channel, value);
}

static void put_tenths(double value, double least, double most, uint16_t none, uint16_t *out)
{
    double tenths = round(10.0 * value);
    *out = isnan(value) ? none : (uint16_t)(int32_t)fmin(most, fmax(least, tenths));
}

void rack_show(struct rack *r, size_t instrument, struct rack_image *out)
{
    const struct instrument *in = instrument_at(instrument);
    memset(out, 0, sizeof *out);
    for (size_t i = 0; i < in->channel_count; i++) {
        const struct instrument_channel *c = &in->channels[i];
        double value = value_of(r, instrument, i);
        uint16_t *at = &out->registers[c->form == INSTRUMENT_BIT ? 0 : c->address];
        size_t words = 1;
        if (c->form == INSTRUMENT_BIT) {
            out->bits[c->address] = value > 0.5;
            out->bit_count =
                c->address + 1u > out->bit_count ? c->address + 1u : out->bit_count;
            continue;
        }
        if (c->form == INSTRUMENT_FLOAT32) {
            float f = (float)value;
            uint32_t bits;
            memcpy(&bits, &f, sizeof bits);
            at[0] = (uint16_t)(bits >> 16);
            at[1] = (uint16_t)bits;
            words = 2;
        } else if (c->form == INSTRUMENT_INT16) {
            put_tenths(value, -32767, 32767, INSTRUMENT_NO_INT16, at);
        } else {
            put_tenths(value, 0, 65534, INSTRUMENT_NO_UINT16, at);
        }
        size_t end = c->address + words;
        out->register_count = end > out->register_count ? end : out->register_count;
    }
}

struct misbehave rack_manner(const struct rack *r, size_t instrument)
{
    int unit = instrument_at(instrument)->unit;
    for (size_t i = 0; i < r->fault_count; i++)
        if (misbehave_on_line(r->faults[i].kind) &&
            misbehave_is_on(&r->faults[i], unit, r->now_ms - r->start_ms))
            return r->faults[i];
    bool silent = world_is_silent(r->world, instrument);
    return (struct misbehave){.kind = silent ? MISBEHAVE_SILENT : MISBEHAVE_NONE};
}

void rack_print(struct rack *r, FILE *out)
{
    static const char *const forms[] = {
        [INSTRUMENT_INT16] = "int16",
        [INSTRUMENT_UINT16] = "uint16",
        [INSTRUMENT_FLOAT32] = "float32",
        [INSTRUMENT_BIT] = "bit",
    };
    for (size_t i = 0; i < INSTRUMENT_COUNT; i++) {
        const struct instrument *in = instrument_at(i);
        for (size_t k = 0; k < in->channel_count; k++) {
            const struct instrument_channel *c = &in->channels[k];
            bool bit = c->form == INSTRUMENT_BIT;
            fprintf(out, "%s %d %s %u %s %s %s %.*f\n",
                    in->bus == INSTRUMENT_TCP ? "tcp" : "rtu", in->unit,
                    bit ? "discrete" : "input", (unsigned)c->address, forms[c->form], in->name,
                    quantity_info(c->quantity)->name, bit ? 0 : 1, value_of(r, i, k));
        }
    }
    fflush(out);
}
