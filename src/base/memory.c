/* memory.c - growing arrays and copying strings. */
#include "base/memory.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

bool tw_grow(void **array, size_t *capacity, size_t needed, size_t item_bytes)
{
    size_t room = *capacity ? *capacity : 8;
    void *larger;

    if (needed <= *capacity)
        return true;
    while (room < needed) {
        if (room > SIZE_MAX / 2)
            return false;
        room *= 2;
    }
    if (room > SIZE_MAX / item_bytes)
        return false;
    larger = realloc(*array, room * item_bytes);
    if (!larger)
        return false;
    *array = larger;
    *capacity = room;
    return true;
}

bool tw_memory_is_there(size_t bytes)
{
    void *volatile block = malloc(bytes); /* volatile: else a compiler may leave both calls out */
    bool there = block != NULL;

    free(block);
    return there;
}

char *tw_copy_string(const char *string)
{
    size_t bytes = strlen(string) + 1;
    char *copy = malloc(bytes);

    return copy ? memcpy(copy, string, bytes) : NULL;
}
