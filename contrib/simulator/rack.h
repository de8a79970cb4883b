/* rack.h - the instruments as their buses see them: registers now, and faults on request.
 *
 * Units:   now_ms: simulated UTC in milliseconds.
 * Owner:   the rack owns its world; rack_close takes NULL.
 * Threads: none; one owner.
 */
#ifndef SIMULATOR_RACK_H
#define SIMULATOR_RACK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "instrument.h"
#include "misbehave.h"
#include "world.h"

enum {
    RACK_REGISTERS = 4,
    RACK_BITS = 3
};

/* What a unit's tables hold, from address 0. */
struct rack_image {
    uint16_t registers[RACK_REGISTERS];
    uint8_t bits[RACK_BITS];
    size_t register_count, bit_count;
};

struct rack;

MUST_USE enum rc rack_open(const struct world_cfg *world, int64_t start_ms, struct rack **out);
void rack_close(struct rack *r);

/* Moves the world on. */
void rack_advance(struct rack *r, int64_t now_ms);

/* Adds a fault; a text as misbehave.h says. Without a FROM it begins now. */
bool rack_misbehave(struct rack *r, const char *text, char *why, size_t why_size);

/* Ends all faults of a unit, or of all units (0). */
void rack_behave(struct rack *r, int unit);

/* The tables of an instrument now. */
void rack_show(struct rack *r, size_t instrument, struct rack_image *out);

/* How its line misbehaves now; MISBEHAVE_NONE if it does not. */
struct misbehave rack_manner(const struct rack *r, size_t instrument);

/* One line a channel: bus unit table address form instrument quantity value. */
void rack_print(struct rack *r, FILE *out);

#endif
