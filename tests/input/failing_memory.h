/* failing_memory.h - makes the n-th allocation of the library fail, and counts what it has not given back.
 *
 * Link with -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free: calls from our own objects come here,
 * those of shared libraries do not. The counters are atomic: some of our work runs on two threads. */
#ifndef TANGWRIGHT_TESTS_INPUT_FAILING_MEMORY_H
#define TANGWRIGHT_TESTS_INPUT_FAILING_MEMORY_H

#include <stdbool.h>
#include <stddef.h>

void *__real_malloc(size_t bytes);
void *__real_calloc(size_t count, size_t bytes);
void *__real_realloc(void *block, size_t bytes);
void __real_free(void *block);
void *__wrap_malloc(size_t bytes);
void *__wrap_calloc(size_t count, size_t bytes);
void *__wrap_realloc(void *block, size_t bytes);
void __wrap_free(void *block);

static long allocations_until_failure = -1; /* below zero: none fails */
static long blocks_in_use;

static bool allocation_fails(void)
{
    return __atomic_load_n(&allocations_until_failure, __ATOMIC_SEQ_CST) >= 0 &&
           __atomic_fetch_sub(&allocations_until_failure, 1, __ATOMIC_SEQ_CST) == 0;
}

static void *counted(void *block)
{
    __atomic_fetch_add(&blocks_in_use, block != NULL, __ATOMIC_SEQ_CST);
    return block;
}

void *__wrap_malloc(size_t bytes)
{
    return allocation_fails() ? NULL : counted(__real_malloc(bytes));
}

void *__wrap_calloc(size_t count, size_t bytes)
{
    return allocation_fails() ? NULL : counted(__real_calloc(count, bytes));
}

void *__wrap_realloc(void *block, size_t bytes)
{
    if (allocation_fails())
        return NULL;
    return block ? __real_realloc(block, bytes) : counted(__real_realloc(NULL, bytes));
}

void __wrap_free(void *block)
{
    __atomic_fetch_sub(&blocks_in_use, block != NULL, __ATOMIC_SEQ_CST);
    __real_free(block);
}

#endif
