/* near.h - that two numbers are near each other. What is expected is a call, which says in its words the line of the test. */
#ifndef TANGWRIGHT_TESTS_NEAR_H
#define TANGWRIGHT_TESTS_NEAR_H

#include "check.h"

#include <math.h>

#define EXPECT_NEAR(actual, expected, tolerance) expect_near(__LINE__, #actual, (actual), (expected), (tolerance))

static inline void expect_near(int line, const char *what, double actual, double expected, double tolerance)
{
    cr_expect(fabs(actual - expected) <= tolerance, "line %d: %s is %.12g, not %.12g within %.3g", line, what, actual,
              expected, tolerance);
}

#endif
