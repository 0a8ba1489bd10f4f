/* test_rs274_endpoints.c - random legal programs, run here and by tests/reference/rs274_endpoints.py, which
 * was written from the same rules apart from this code and in another way. Guards against a rule misread once
 * and then tested as misread, and against rules that are right alone and wrong together. */
#include "rs274/recorder.h"

#include <stdio.h>
#include <stdlib.h>

#define PI 3.14159265358979323846

enum { SLOTS = 16, PROGRAM_BYTES = 65536 };

/* Far above what sums of doubles lose in a program, far below what a controller resolves. */
#define SAME_MM 1e-6

struct expected {
    int line;
    char kind;
    double end_machine_mm[3], end_mm[3], duration_s, length_mm;
    double centre_machine_mm[3], sweep_degrees, middle_machine_mm[3];
};

static void read_doubles(FILE *stream, double *out, int count)
{
    for (int i = 0; i < count; i++)
        cr_assert(eq(int, fscanf(stream, "%lf", &out[i]), 1));
}

static void read_expected(FILE *stream, struct expected *out)
{
    cr_assert(eq(int, fscanf(stream, "%d %c", &out->line, &out->kind), 2));
    read_doubles(stream, out->end_machine_mm, 3);
    read_doubles(stream, out->end_mm, 3);
    read_doubles(stream, &out->duration_s, 1);
    read_doubles(stream, &out->length_mm, 1);
    if (out->kind != 'A')
        return;
    read_doubles(stream, out->centre_machine_mm, 3);
    read_doubles(stream, &out->sweep_degrees, 1);
    read_doubles(stream, out->middle_machine_mm, 3);
}

static bool same_point(const double a[3], const double b[3])
{
    return near_point(a, b[0], b[1], b[2], SAME_MM);
}

static void compare(const struct tw_rs274_event *event, const struct expected *expected, const char *program)
{
    char kind = event->kind == TW_RS274_RAPID ? 'R' : event->kind == TW_RS274_FEED ? 'F' : 'A';
    double middle_machine_mm[3];

    cr_assert(eq(int, event->line, expected->line), "%s", program);
    cr_assert(eq(chr, kind, expected->kind), "line %d of\n%s", event->line, program);
    cr_assert(same_point(event->end_machine_mm, expected->end_machine_mm), "line %d of\n%s", event->line, program);
    cr_assert(same_point(event->end_mm, expected->end_mm), "line %d of\n%s", event->line, program);
    cr_assert(epsilon_eq(dbl, event->duration_s, expected->duration_s, 1e-6 * (1.0 + expected->duration_s)),
              "line %d of\n%s", event->line, program);
    cr_assert(epsilon_eq(dbl, event->length_mm, expected->length_mm, SAME_MM), "line %d of\n%s", event->line, program);
    if (kind != 'A')
        return;
    cr_assert(same_point(event->arc.centre_machine_mm, expected->centre_machine_mm), "line %d of\n%s", event->line,
              program);
    cr_assert(epsilon_eq(dbl, event->arc.sweep_rad * 180.0 / PI, expected->sweep_degrees, 1e-5), "line %d of\n%s",
              event->line, program);
    tw_rs274_point(event, 0.5, NULL, middle_machine_mm);
    cr_assert(same_point(middle_machine_mm, expected->middle_machine_mm), "line %d of\n%s", event->line, program);
}

/* Runs the next program of the stream. False at its end. */
static bool check_program(FILE *stream, int *arcs, int *motions)
{
    static struct record record;
    static char program[PROGRAM_BYTES];
    double lengths_mm[SLOTS];
    struct tw_rs274_setup setup = { .has_home_28 = true, .has_home_30 = true, .tool_lengths_mm = lengths_mm };
    int bytes, count, at = 0;

    if (fscanf(stream, " program %d %d %d", &bytes, &count, &setup.tool_slots) != 3)
        return false;
    cr_assert(lt(int, bytes, RECORD_TEXT));
    cr_assert(le(int, setup.tool_slots, SLOTS));
    read_doubles(stream, lengths_mm, setup.tool_slots);
    for (int i = 0; i < 9; i++)
        read_doubles(stream, setup.origins_mm[i], 3);
    read_doubles(stream, setup.start_mm, 3);
    read_doubles(stream, setup.home_28_mm, 3);
    read_doubles(stream, setup.home_30_mm, 3);
    cr_assert(eq(int, fgetc(stream), '\n'));
    cr_assert(eq(sz, fread(program, 1, (size_t)bytes, stream), (size_t)bytes));
    program[bytes] = '\0';

    record_bytes(&record, &setup, program, (size_t)bytes);
    cr_assert(eq(int, record.status, TW_OK), "%s in\n%s", record.findings.count ? record.findings.items[0].text : "",
              program);
    cr_assert(eq(int, motions_in(&record), count), "%s", program);
    for (int i = 0; i < count; i++) {
        struct expected expected;

        read_expected(stream, &expected);
        while (!is_motion(&record.events[at]))
            at++;
        compare(&record.events[at++], &expected, program);
        *arcs += expected.kind == 'A';
    }
    *motions += count;
    return true;
}

Test(rs274_endpoints, random_legal_programs_go_where_the_reference_goes)
{
    FILE *stream = popen("PATH=/usr/bin:/bin:$PATH python3 tests/reference/rs274_programs.py 274 300", "r");
    int programs = 0, arcs = 0, motions = 0;

    cr_assert(ne(ptr, stream, NULL));
    while (check_program(stream, &arcs, &motions))
        programs++;
    cr_expect(eq(int, pclose(stream), 0), "the reference program failed; run the tests from the project's folder");
    cr_expect(eq(int, programs, 300));
    cr_expect(gt(int, motions, 5000));
    cr_expect(gt(int, arcs, 1000));
}
