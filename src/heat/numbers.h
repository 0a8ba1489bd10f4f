/* numbers.h - constants of the heat layer. The C library's NAN and INFINITY are floats, which the warnings
 * against silent widening refuse. */
#ifndef TANGWRIGHT_HEAT_NUMBERS_H
#define TANGWRIGHT_HEAT_NUMBERS_H

#include "base/numbers.h"

#include <math.h>

#define PI           TW_PI
#define NOT_A_NUMBER ((double)NAN)
#define ENDLESS      ((double)INFINITY)

#endif
