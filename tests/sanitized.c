/* sanitized.c - linked into every program of the sanitizers' build. The address sanitizer keeps tables of ten megabytes in the
 * program's own memory, nearly all of which stay zero; its leak checker reads them page by page when a process ends, and each page
 * read for the first time is a call of the kernel: a third of what a short test took. Asked for in large pages before anything is
 * in them, and the rest at one go before they are read, they are few calls. What is checked is the same. Linux; elsewhere, or
 * where the kernel declines, nothing changes but the time. */
#define _DEFAULT_SOURCE 1
#include <stdint.h>
#include <sys/mman.h>

/* Where the memory that begins as zero lies: set by the linker. */
extern char __bss_start[], _end[];

#define NOT_CHECKED __attribute__((no_sanitize("address", "undefined")))

NOT_CHECKED static void advise(int advice)
{
    const uintptr_t page = 4096;
    const uintptr_t from = ((uintptr_t)__bss_start + page - 1) & ~(page - 1);
    const uintptr_t to = (uintptr_t)_end & ~(page - 1);
    if (to > from)
        (void)madvise((void *)from, to - from, advice); /* it is advice: whether it is taken, nobody has to know */
}

/* The sanitizer asks for its options before it does anything else. */
const char *__asan_default_options(void);
NOT_CHECKED const char *__asan_default_options(void)
{
#ifdef MADV_HUGEPAGE
    advise(MADV_HUGEPAGE);
#endif
    return "";
}

/* Runs after what was asked for by atexit(), and before the leak checker, which was there first. */
__attribute__((destructor)) NOT_CHECKED static void before_the_leak_checker(void)
{
#ifdef MADV_POPULATE_READ
    advise(MADV_POPULATE_READ);
#endif
}
