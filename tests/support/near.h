/* near.h - compares floating point values for cmocka 1.1.5, which lacks it, and shows both. */
#ifndef TESTS_SUPPORT_NEAR_H
#define TESTS_SUPPORT_NEAR_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

static inline void near_at(double got, double want, double tolerance, const char *what,
                           const char *file, int line)
{
    if (!(fabs(got - want) <= tolerance)) { /* NaN fails too */
        print_error("%s: got %.10g, expected %.10g within %.3g\n", what, got, want, tolerance);
        _fail(file, line);
    }
}

#define assert_near(got, want, tolerance)                                                      \
    near_at((got), (want), (tolerance), #got, __FILE__, __LINE__)

#endif
