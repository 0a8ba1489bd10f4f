/* memory.c - growing arrays and copying strings. */
#define _DEFAULT_SOURCE /* MAP_ANONYMOUS */
#include "base/memory.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

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

/* Asked of the kernel, where the heap gets its own from: pages that nobody touches cost nothing, while under the address sanitizer
 * each megabyte of the heap is marked, which takes a millisecond. */
bool tw_memory_is_there(size_t bytes)
{
    void *volatile block = malloc(1); /* volatile: else a compiler may leave both calls out */
    bool heap_gives = block != NULL;
    void *pages = mmap(NULL, bytes, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);

    free(block);
    if (pages != MAP_FAILED)
        munmap(pages, bytes);
    return heap_gives && pages != MAP_FAILED;
}

void tw_turn_over(void *items, size_t count, size_t item_bytes)
{
    unsigned char *first = items, *last = first + count * item_bytes;

    for (size_t i = 0; i < count / 2; i++, first += item_bytes) {
        last -= item_bytes;
        for (size_t byte = 0; byte < item_bytes; byte++) {
            unsigned char kept = first[byte];

            first[byte] = last[byte];
            last[byte] = kept;
        }
    }
}

char *tw_copy_string(const char *string)
{
    size_t bytes = strlen(string) + 1;
    char *copy = malloc(bytes);

    return copy ? memcpy(copy, string, bytes) : NULL;
}
