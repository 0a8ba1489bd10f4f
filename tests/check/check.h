/* check.h - what every test program is written in: Criterion, its assertions in the words of its newer ones, and tests with rows.
 *
 *     cr_assert(CONDITION)                      ends the test where the condition is false
 *     cr_expect(CONDITION, FORMAT, ...)         goes on; what FORMAT says is shown too
 *     cr_fatal(FORMAT, ...), cr_fail(FORMAT, ...)
 *
 * A condition is any that C knows, or one that shows both its sides: eq, ne, lt, le, gt or ge(TYPE, ACTUAL, EXPECTED), where TYPE
 * is int, uint, long, ulong, sz, dbl, chr, str or ptr; and epsilon_eq(TYPE, ACTUAL, EXPECTED, TOLERANCE) of dbl or flt.
 *
 * Criterion's own newer assertions, <criterion/new/assert.h>, are hundreds of lines each for the compiler, which took half of its
 * time for them. These are calls, and hand Criterion what its own do. What the message is made of is only evaluated where the
 * condition is false. */
#ifndef TANGWRIGHT_TESTS_CHECK_H
#define TANGWRIGHT_TESTS_CHECK_H

#include <criterion/criterion.h>
#include <criterion/parameterized.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#undef cr_assert
#undef cr_expect
#undef cr_fail
#undef cr_fatal

#define cr_expect(...) (void)CHECK(#__VA_ARGS__, __VA_ARGS__)
#define cr_assert(...)                                                                                                 \
    do {                                                                                                               \
        if (!CHECK(#__VA_ARGS__, __VA_ARGS__))                                                                         \
            criterion_abort_test();                                                                                    \
    } while (0)
#define cr_fail(...) (void)check_false(__FILE__, __LINE__, NULL, __VA_ARGS__)
#define cr_fatal(...)                                                                                                  \
    do {                                                                                                               \
        check_false(__FILE__, __LINE__, NULL, __VA_ARGS__);                                                            \
        criterion_abort_test();                                                                                        \
    } while (0)

/* With a message or without: the sixteenth of what follows. */
#define CHECK(...)                                                                                                     \
    CHECK_SIXTEENTH(__VA_ARGS__, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID,   \
                    CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_BARE, none)          \
    (__VA_ARGS__)
#define CHECK_SIXTEENTH(a, b, c, d, e, f, g, h, i, j, k, l, m, n, o, sixteenth, ...) sixteenth
#define CHECK_BARE(text, condition)                                                  CHECK_THAT(condition, text, "%s", "")
#define CHECK_SAID(text, condition, ...)                                             CHECK_THAT(condition, NULL, __VA_ARGS__)
#define CHECK_THAT(condition, ...)                                                   ((condition) ? check_true() : check_false(__FILE__, __LINE__, __VA_ARGS__))

#define eq(type, actual, expected) check_##type(actual, "==", expected)
#define ne(type, actual, expected) check_##type(actual, "!=", expected)
#define lt(type, actual, expected) check_##type(actual, "<", expected)
#define le(type, actual, expected) check_##type(actual, "<=", expected)
#define gt(type, actual, expected) check_##type(actual, ">", expected)
#define ge(type, actual, expected) check_##type(actual, ">=", expected)
#define not(condition) (!(condition))

/* Numbers, for what a pointer leads to may not be there yet. */
#define check_ptr(actual, is, expected) check_address((uintptr_t)(actual), is, (uintptr_t)(expected))

#define epsilon_eq(type, actual, expected, tolerance) check_near_##type(actual, expected, tolerance)

/* Whether `actual` stands to `expected` as the operator says. Where it does not, both are kept to be shown by the next
 * check_false() of this thread. */
bool check_int(int actual, const char *is, int expected);
bool check_uint(unsigned actual, const char *is, unsigned expected);
bool check_long(long actual, const char *is, long expected);
bool check_ulong(unsigned long actual, const char *is, unsigned long expected);
bool check_sz(size_t actual, const char *is, size_t expected);
bool check_dbl(double actual, const char *is, double expected);
bool check_chr(char actual, const char *is, char expected);
bool check_str(const char *actual, const char *is, const char *expected);
bool check_address(uintptr_t actual, const char *is, uintptr_t expected);
bool check_near_dbl(double actual, double expected, double tolerance);
bool check_near_flt(float actual, float expected, float tolerance);

/* Counts an assertion that holds; always true. */
bool check_true(void);

/* Tells Criterion of one that does not: its text, or NULL, what both sides were, and the message. Always false. */
bool check_false(const char *file, int line, const char *text, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

#endif
