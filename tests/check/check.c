/* check.c - compares what a test found with what it expects, and says where they differ. */
#include "check.h"
#include "outcome.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>

/* What the last comparison that did not hold has seen. */
static struct {
    enum { NOTHING, WHOLE, COUNT, NUMBER, LETTER, TEXT, PLACE } kind;
    union {
        long whole;
        size_t count;
        double number;
        char letter;
        const char *text;
        const void *place;
    } a, b;
    double epsilon;
} seen;

/* Which relation holds where a < b, a == b, a > b; a value that is not a number stands in none, and is unlike all. */
static bool holds(enum check_relation relation, bool below, bool same, bool above)
{
    switch (relation) {
    case CHECK_EQ:
        return same;
    case CHECK_NE:
        return !same;
    case CHECK_LT:
        return below;
    case CHECK_LE:
        return below || same;
    case CHECK_GT:
        return above;
    case CHECK_GE:
        return above || same;
    }
    return false;
}

#define COMPARE(kind_, member_)                                                                                        \
    if (holds(relation, a<b, a == b, a> b))                                                                            \
        return true;                                                                                                   \
    seen.kind = (kind_);                                                                                               \
    seen.a.member_ = a;                                                                                                \
    seen.b.member_ = b;                                                                                                \
    return false

bool check_int(enum check_relation relation, int a, int b)
{
    COMPARE(WHOLE, whole);
}

bool check_long(enum check_relation relation, long a, long b)
{
    COMPARE(WHOLE, whole);
}

bool check_uint(enum check_relation relation, unsigned a, unsigned b)
{
    COMPARE(COUNT, count);
}

bool check_ulong(enum check_relation relation, unsigned long a, unsigned long b)
{
    COMPARE(COUNT, count);
}

bool check_sz(enum check_relation relation, size_t a, size_t b)
{
    COMPARE(COUNT, count);
}

bool check_dbl(enum check_relation relation, double a, double b)
{
    COMPARE(NUMBER, number);
}

bool check_chr(enum check_relation relation, char a, char b)
{
    COMPARE(LETTER, letter);
}

bool check_ptr(enum check_relation relation, const void *a, const void *b)
{
    COMPARE(PLACE, place);
}

bool check_str(enum check_relation relation, const char *a, const char *b)
{
    int order = a && b ? strcmp(a, b) : (a != NULL) - (b != NULL);

    if (holds(relation, order<0, order == 0, order> 0))
        return true;
    seen.kind = TEXT;
    seen.a.text = a;
    seen.b.text = b;
    return false;
}

bool check_near_dbl(double a, double b, double epsilon)
{
    if (fabs(a - b) <= epsilon)
        return true;
    seen.kind = NUMBER;
    seen.a.number = a;
    seen.b.number = b;
    seen.epsilon = epsilon;
    return false;
}

bool check_near_flt(float a, float b, float epsilon)
{
    return check_near_dbl((double)a, (double)b, (double)epsilon);
}

void check_begin(void)
{
    seen.kind = NOTHING;
    seen.epsilon = 0.0;
}

static const char *text_or_null(const char *text)
{
    return text ? text : "(null)";
}

static void say_seen(void)
{
    switch (seen.kind) {
    case NOTHING:
        return;
    case WHOLE:
        fprintf(stderr, ": %ld and %ld", seen.a.whole, seen.b.whole);
        return;
    case COUNT:
        fprintf(stderr, ": %zu and %zu", seen.a.count, seen.b.count);
        return;
    case NUMBER:
        fprintf(stderr, ": %.17g and %.17g, %.3g apart", seen.a.number, seen.b.number,
                fabs(seen.a.number - seen.b.number));
        if (seen.epsilon > 0.0)
            fprintf(stderr, ", %.3g allowed", seen.epsilon);
        return;
    case LETTER:
        fprintf(stderr, ": '%c' (%d) and '%c' (%d)", seen.a.letter, seen.a.letter, seen.b.letter, seen.b.letter);
        return;
    case TEXT:
        fprintf(stderr, ":\n    \"%s\"\n    \"%s\"", text_or_null(seen.a.text), text_or_null(seen.b.text));
        return;
    case PLACE:
        fprintf(stderr, ": %p and %p", seen.a.place, seen.b.place);
        return;
    }
}

void check_failed_bare(const char *file, int line, const char *what)
{
    check_outcome->failures++;
    fprintf(stderr, "[FAIL] %s: %s:%d: %s", check_outcome->name, file, line, what);
    say_seen();
    fputc('\n', stderr);
}

void check_failed(const char *file, int line, const char *what, const char *format, ...)
{
    va_list arguments;

    check_outcome->failures++;
    fprintf(stderr, "[FAIL] %s: %s:%d: ", check_outcome->name, file, line);
    if (what) {
        fputs(what, stderr);
        say_seen();
        fputs("\n    ", stderr);
    }
    va_start(arguments, format);
    vfprintf(stderr, format, arguments);
    va_end(arguments);
    fputc('\n', stderr);
}

void check_stop(void)
{
    longjmp(check_outcome->end, 1);
}

void check_skip(const char *format, ...)
{
    va_list arguments;

    fprintf(stderr, "[SKIP] %s: ", check_outcome->name);
    va_start(arguments, format);
    vfprintf(stderr, format, arguments);
    va_end(arguments);
    fputc('\n', stderr);
    check_outcome->skipped = true;
    check_stop();
}
