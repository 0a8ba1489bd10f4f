/* check.h - what a test program is written in: tests, what they expect, and the rows that one test is run with.
 *
 *     Test(suite, name, .timeout = 60) { cr_expect(eq(int, 1 + 1, 2), "%s", "why it matters"); }
 *
 * Each test runs in a process of its own, split off from the program before it did anything (run.c): none sees what another
 * left, a crash ends one test only, and the leak checker looks at each. The words are those of Criterion, which starts the
 * program anew for each test: with all its libraries, and under the sanitizers, that took longer than most of our tests. A
 * comparison is a call here and not a page of code, which takes the compilers a third of the time. */
#ifndef TANGWRIGHT_TESTS_CHECK_H
#define TANGWRIGHT_TESTS_CHECK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- tests ---- */

/* What follows a test's or a suite's name. A suite's `init` comes before the test's, its `fini` after. */
struct check_options {
    void (*init)(void), (*fini)(void); /* run in the test's process; fini also after a failure */
    double timeout;                    /* s, after which the test is ended and has failed; 0: the suite's, or none */
    bool disabled;                     /* counted, and not run */
    int unset;                         /* lets the macros below end a list of none */
};

/* What a test with rows is run with, one process for each: `length` rows of `bytes` each, which live as long as the program. */
struct check_rows {
    void *params;
    size_t length, bytes;
};

struct check_test {
    const char *suite, *name;
    void (*run)(void *row);
    struct check_rows (*rows)(void); /* NULL: run once, with NULL */
    struct check_options options;
    struct check_test *next;
};

struct check_suite {
    const char *name;
    struct check_options options;
    struct check_suite *next;
};

/* Both keep what they are given, which is never freed. */
void check_add_test(struct check_test *test);
void check_add_suite(struct check_suite *suite);

#define CHECK_TEST(suite_, name_, rows_, argument_, ...)                                                               \
    static void check_##suite_##_##name_(argument_);                                                                   \
    static void check_run_##suite_##_##name_(void *row);                                                               \
    __attribute__((constructor)) static void check_add_##suite_##_##name_(void)                                        \
    {                                                                                                                  \
        static struct check_test test = { .suite = #suite_,                                                            \
                                          .name = #name_,                                                              \
                                          .run = check_run_##suite_##_##name_,                                         \
                                          .rows = rows_,                                                               \
                                          .options = { __VA_ARGS__ } };                                                \
                                                                                                                       \
        check_add_test(&test);                                                                                         \
    }

#define CHECK_PLAIN(suite_, name_, ...)                                                                                \
    CHECK_TEST(suite_, name_, NULL, void, __VA_ARGS__)                                                                 \
    static void check_run_##suite_##_##name_(void *row)                                                                \
    {                                                                                                                  \
        (void)row;                                                                                                     \
        check_##suite_##_##name_();                                                                                    \
    }                                                                                                                  \
    static void check_##suite_##_##name_(void)

#define CHECK_ROWS(parameter_, suite_, name_, ...)                                                                     \
    CHECK_TEST(suite_, name_, check_rows_##suite_##_##name_, parameter_, __VA_ARGS__)                                  \
    static void check_run_##suite_##_##name_(void *row)                                                                \
    {                                                                                                                  \
        check_##suite_##_##name_(row);                                                                                 \
    }                                                                                                                  \
    static void check_##suite_##_##name_(parameter_)

#define CHECK_SUITE(suite_, ...)                                                                                       \
    __attribute__((constructor)) static void check_add_suite_##suite_(void)                                            \
    {                                                                                                                  \
        static struct check_suite suite = { .name = #suite_, .options = { __VA_ARGS__ } };                             \
                                                                                                                       \
        check_add_suite(&suite);                                                                                       \
    }                                                                                                                  \
    struct check_suite

/* Test(SUITE, NAME, options...) { ... }; TestSuite(SUITE, options...); for all of its tests. */
#define Test(...)      CHECK_PLAIN(__VA_ARGS__, .unset = 0)
#define TestSuite(...) CHECK_SUITE(__VA_ARGS__, .unset = 0)

/* ParameterizedTestParameters(SUITE, NAME) { return check_rows(...); } above
 * ParameterizedTest(struct row *row, SUITE, NAME, options...) { ... }. */
#define ParameterizedTestParameters(suite_, name_) static struct check_rows check_rows_##suite_##_##name_(void)
#define ParameterizedTest(...)                     CHECK_ROWS(__VA_ARGS__, .unset = 0)
#define cr_make_param_array(type_, array_, count_) ((struct check_rows){ (array_), (count_), sizeof(type_) })

/* ---- what is expected ---- */

enum check_relation { CHECK_EQ, CHECK_NE, CHECK_LT, CHECK_LE, CHECK_GT, CHECK_GE };

/* Whether `a` stands in that relation to `b`; what both were is said with the failure. Strings are compared by their text. */
bool check_int(enum check_relation relation, int a, int b);
bool check_uint(enum check_relation relation, unsigned a, unsigned b);
bool check_long(enum check_relation relation, long a, long b);
bool check_ulong(enum check_relation relation, unsigned long a, unsigned long b);
bool check_sz(enum check_relation relation, size_t a, size_t b);
bool check_dbl(enum check_relation relation, double a, double b);
bool check_chr(enum check_relation relation, char a, char b);
bool check_str(enum check_relation relation, const char *a, const char *b);
bool check_ptr(enum check_relation relation, const void *a, const void *b);

/* Whether they are not further apart than `epsilon`; never, where one is not a number. */
bool check_near_flt(float a, float b, float epsilon);
bool check_near_dbl(double a, double b, double epsilon);

#define eq(type_, a_, b_)                   check_##type_(CHECK_EQ, (a_), (b_))
#define ne(type_, a_, b_)                   check_##type_(CHECK_NE, (a_), (b_))
#define lt(type_, a_, b_)                   check_##type_(CHECK_LT, (a_), (b_))
#define le(type_, a_, b_)                   check_##type_(CHECK_LE, (a_), (b_))
#define gt(type_, a_, b_)                   check_##type_(CHECK_GT, (a_), (b_))
#define ge(type_, a_, b_)                   check_##type_(CHECK_GE, (a_), (b_))
#define epsilon_eq(type_, a_, b_, epsilon_) check_near_##type_((a_), (b_), (epsilon_))
#define not(condition_) (!(condition_))

/* Where and what: said with the failure, and forgotten with the next expectation. */
void check_begin(void);
__attribute__((format(printf, 4, 5))) void check_failed(const char *file, int line, const char *what,
                                                        const char *format, ...);
void check_failed_bare(const char *file, int line, const char *what);
_Noreturn void check_stop(void);
__attribute__((format(printf, 1, 2))) _Noreturn void check_skip(const char *format, ...);

#define CHECK_GOES_ON ((void)0)
#define CHECK_BARE(then_, text_, condition_)                                                                           \
    do {                                                                                                               \
        check_begin();                                                                                                 \
        if (!(condition_)) {                                                                                           \
            check_failed_bare(__FILE__, __LINE__, text_);                                                              \
            then_;                                                                                                     \
        }                                                                                                              \
    } while (0)
#define CHECK_SAID(then_, text_, condition_, ...)                                                                      \
    do {                                                                                                               \
        check_begin();                                                                                                 \
        if (!(condition_)) {                                                                                           \
            check_failed(__FILE__, __LINE__, text_, __VA_ARGS__);                                                      \
            then_;                                                                                                     \
        }                                                                                                              \
    } while (0)
/* The first is bare, anything after it is the format and its arguments: fourteen at most. */
#define CHECK_PICK(_1, _2, _3, _4, _5, _6, _7, _8, _9, _10, _11, _12, _13, _14, _15, _16, which_, ...) which_
#define CHECK_WHICH(...)                                                                                               \
    CHECK_PICK(__VA_ARGS__, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID,        \
               CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID, CHECK_SAID,         \
               CHECK_BARE, CHECK_BARE)

/* cr_expect(CONDITION), or with a message as of printf: the test has failed where it is false, and goes on; after cr_assert,
 * cr_fatal it ends there. */
#define cr_expect(...)    CHECK_WHICH(__VA_ARGS__)(CHECK_GOES_ON, #__VA_ARGS__, __VA_ARGS__)
#define cr_assert(...)    CHECK_WHICH(__VA_ARGS__)(check_stop(), #__VA_ARGS__, __VA_ARGS__)
#define cr_fail(...)      check_failed(__FILE__, __LINE__, NULL, __VA_ARGS__)
#define cr_fatal(...)     (check_failed(__FILE__, __LINE__, NULL, __VA_ARGS__), check_stop())
#define cr_skip_test(...) check_skip(__VA_ARGS__)

#endif
