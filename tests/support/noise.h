/* noise.h - repeatable random numbers for property tests. */
#ifndef TESTS_SUPPORT_NOISE_H
#define TESTS_SUPPORT_NOISE_H

#include <stdint.h>

/* 0 <= x < 1; *seed moves on (a linear congruential generator, Knuth's MMIX constants). */
static inline double noise(uint64_t *seed)
{
    *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(*seed >> 11) / 9007199254740992.0;
}

#endif
