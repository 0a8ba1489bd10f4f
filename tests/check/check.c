/* check.c - what an assertion that fails tells Criterion. */
#include "check.h"

#include <inttypes.h>
#include <math.h>
#include <stdarg.h>

/* What both sides of the last comparison were that did not hold; a test may have threads. */
static _Thread_local char sides[512];

bool check_true(void)
{
    sides[0] = '\0';
    cri_asserts_passed_incr();
    return true;
}

bool check_false(const char *file, int line, const char *text, const char *format, ...)
{
    char message[8192];
    struct criterion_assert_stats stats = { .message = message, .file = file, .line = (unsigned)line };
    size_t used = (size_t)snprintf(message, sizeof message, "%.1000s%s%s%s", text ? text : "",
                                   text && sides[0] ? ": " : "", sides, !text && sides[0] ? ": " : "");
    va_list words;

    va_start(words, format);
    vsnprintf(message + used, sizeof message - used, format, words);
    va_end(words);
    sides[0] = '\0';
    criterion_send_assert(&stats);
    criterion_continue_test();
    return false;
}

/* `order` is -1, 0 or 1 as the actual value is less, as large or more; 2 where neither can be said. */
static bool stands(int order, const char *is)
{
    bool equal = is[1] == '=' && order == 0;

    switch (is[0]) {
    case '=':
        return order == 0;
    case '!':
        return order != 0;
    case '<':
        return order == -1 || equal;
    default:
        return order == 1 || equal;
    }
}

#define ORDER(a, b) ((a) < (b) ? -1 : (a) == (b) ? 0 : (a) > (b) ? 1 : 2)

/* The comparison of one type, and how printf shows it. */
#define CHECK_TYPE(name, type, format, order)                                                                          \
    bool check_##name(type actual, const char *is, type expected)                                                      \
    {                                                                                                                  \
        bool holds = stands(order, is);                                                                                \
                                                                                                                       \
        sides[0] = '\0';                                                                                               \
        if (!holds)                                                                                                    \
            snprintf(sides, sizeof sides, format " is not %s " format, actual, is, expected);                          \
        return holds;                                                                                                  \
    }

CHECK_TYPE(int, int, "%d", ORDER(actual, expected))
CHECK_TYPE(uint, unsigned, "%u", ORDER(actual, expected))
CHECK_TYPE(long, long, "%ld", ORDER(actual, expected))
CHECK_TYPE(ulong, unsigned long, "%lu", ORDER(actual, expected))
CHECK_TYPE(sz, size_t, "%zu", ORDER(actual, expected))
CHECK_TYPE(dbl, double, "%.17g", ORDER(actual, expected))
CHECK_TYPE(chr, char, "'%c'", ORDER(actual, expected))
CHECK_TYPE(address, uintptr_t, "%#" PRIxPTR, ORDER(actual, expected))

static int order_of_texts(const char *a, const char *b)
{
    int order;

    if (!a || !b)
        return a == b ? 0 : 2;
    order = strcmp(a, b);
    return ORDER(order, 0);
}

/* How many letters both begin with. */
static size_t alike(const char *a, const char *b)
{
    size_t count = 0;

    while (a[count] && a[count] == b[count])
        count++;
    return count;
}

/* Long texts are shown from a little before they part. */
bool check_str(const char *actual, const char *is, const char *expected)
{
    bool holds = stands(order_of_texts(actual, expected), is);
    size_t same, from;

    sides[0] = '\0';
    if (holds)
        return true;
    actual = actual ? actual : "(null)";
    expected = expected ? expected : "(null)";
    same = alike(actual, expected);
    from = same > 40 ? same - 40 : 0;
    snprintf(sides, sizeof sides, "from letter %zu on \"%.200s\" is not %s \"%.200s\"", from, actual + from, is,
             expected + from);
    return false;
}

bool check_near_dbl(double actual, double expected, double tolerance)
{
    bool holds = actual == expected || fabs(actual - expected) <= tolerance; /* as infinities are */

    sides[0] = '\0';
    if (!holds)
        snprintf(sides, sizeof sides, "%.17g is not within %.6g of %.17g", actual, tolerance, expected);
    return holds;
}

bool check_near_flt(float actual, float expected, float tolerance)
{
    return check_near_dbl((double)actual, (double)expected, (double)tolerance);
}
