/* noise.h - chance for invented readings, the same in every run and on every machine. */
#ifndef TANGWRIGHT_TESTS_CHECK_NOISE_H
#define TANGWRIGHT_TESTS_CHECK_NOISE_H

#include <math.h>

/* Evenly between 0 and 1, neither of them. The upper bits of a linear congruential generator with the constants of MMIX: D. E. Knuth,
 * The Art of Computer Programming, vol. 2, section 3.3.4, from memory. */
static inline double even(unsigned long long *state)
{
    *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
    return ((double)(*state >> 11) + 0.5) / 9007199254740992.0;
}

/* Normally distributed, of mean 0 and standard deviation 1: G. E. P. Box and M. E. Muller 1958. */
static inline double normal(unsigned long long *state)
{
    double radius = sqrt(-2.0 * log(even(state)));

    return radius * cos(6.283185307179586 * even(state));
}

#endif
