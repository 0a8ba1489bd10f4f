/* memory.h - what this library does with memory beside plain malloc and calloc. */
#ifndef TANGWRIGHT_BASE_MEMORY_H
#define TANGWRIGHT_BASE_MEMORY_H

#include <stdbool.h>
#include <stddef.h>

/* Makes room in *array for `needed` items of `item_bytes` bytes. False when memory runs out, and then
 * the array is as it was. The caller releases *array with free(). */
bool tw_grow(void **array, size_t *capacity, size_t needed, size_t item_bytes);

/* Whether so many bytes could be had at this moment. Asked before a library is called that cannot say when memory runs out. */
bool tw_memory_is_there(size_t bytes);

/* The last item becomes the first, and so on. */
void tw_turn_over(void *items, size_t count, size_t item_bytes);

/* A copy the caller releases with free(); NULL when memory runs out. */
char *tw_copy_string(const char *string);

#endif
