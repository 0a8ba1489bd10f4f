/* nearest.h - the known name that a mistyped one most likely meant. */
#ifndef TANGWRIGHT_BASE_NEAREST_H
#define TANGWRIGHT_BASE_NEAREST_H

#include <stddef.h>

struct tw_nearest {
    const char *wanted; /* borrowed */
    const char *name;   /* borrowed: the best offer so far, NULL while none comes near enough */
    size_t distance;
};

struct tw_nearest tw_nearest_to(const char *wanted);

/* Keeps `name` if it is nearer than what was offered before. Nearer: fewer letters to insert, drop, change
 * or swap with their neighbour (upper and lower case counting alike), at most a third of the longer name, and at least one. */
void tw_nearest_offer(struct tw_nearest *nearest, const char *name);

#endif
