/* locate.h - which motions in the plane a set of pushes allows: rigid motion to first order. */
#ifndef TANGWRIGHT_CONTACTS_LOCATE_H
#define TANGWRIGHT_CONTACTS_LOCATE_H

#include "tangwright/outline.h"

#include <stdbool.h>

/* Where a stop acts on the blank's edge, and the edge's normal there. The weights of one stop add up to 1. */
struct tw_push {
    struct tw_point at, normal;
    double weight;
};

struct tw_located {
    bool along, across, turning;
};

struct tw_located tw_locate(const struct tw_push *pushes, size_t count);

#endif
