/* rng.c - counter-based draws.  Contract in rng.h. */
#include "rng.h"

#include <math.h>

static uint64_t mix(uint64_t z)
{
    /* The finalising step of SplitMix64 (Steele, Lea and Flood, OOPSLA 2014). */
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static uint64_t draw(uint64_t seed, uint64_t stream, uint64_t number)
{
    const uint64_t golden = UINT64_C(0x9e3779b97f4a7c15);
    return mix(mix(mix(seed + golden) + stream * golden) + number * golden);
}

double rng_even(uint64_t seed, uint64_t stream, uint64_t number)
{
    return (double)(draw(seed, stream, number) >> 11) * 0x1p-53;
}

double rng_normal(uint64_t seed, uint64_t stream, uint64_t number)
{
    const double pi = 3.14159265358979323846;
    uint64_t bits = draw(seed, stream, number);
    /* Both halves of one draw feed a Box-Muller pair; +0.5 keeps the logarithm finite. */
    double u = ((double)(bits >> 32) + 0.5) * 0x1p-32;
    double v = (double)(bits & UINT64_C(0xffffffff)) * 0x1p-32;
    return sqrt(-2.0 * log(u)) * cos(2.0 * pi * v);
}
