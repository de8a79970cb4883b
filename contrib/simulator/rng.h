/* rng.h - numbers drawn by counter: the same (seed, stream, number) gives the same draw.
 *
 * Nothing is remembered between calls, so that a world gives the same values whichever
 * program reads it, and in whatever order.
 *
 * Threads: pure functions.
 */
#ifndef SIMULATOR_RNG_H
#define SIMULATOR_RNG_H

#include <stdint.h>

/* Evenly in [0, 1). */
double rng_even(uint64_t seed, uint64_t stream, uint64_t number);

/* Normal, mean 0, standard deviation 1. */
double rng_normal(uint64_t seed, uint64_t stream, uint64_t number);

#endif
