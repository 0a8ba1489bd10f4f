/* gauss.h - the 10-point Gauss-Legendre rule on -1..1, positive half, the weights belonging to +place and
 * -place. M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4. */
#ifndef TANGWRIGHT_HEAT_GAUSS_H
#define TANGWRIGHT_HEAT_GAUSS_H

#define GAUSS_PAIRS 5

static const double gauss_place[GAUSS_PAIRS] = { 0.148874338981631, 0.433395394129247, 0.679409568299024,
                                                 0.865063366688985, 0.973906528517172 };
static const double gauss_weight[GAUSS_PAIRS] = { 0.295524224714753, 0.269266719309996, 0.219086362515982,
                                                  0.149451349150581, 0.066671344308688 };

#endif
