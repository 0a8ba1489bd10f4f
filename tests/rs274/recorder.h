/* recorder.h - runs a piece of program text and keeps all that came out of it, for the tests of the
 * interpreter. */
#ifndef TESTS_RS274_RECORDER_H
#define TESTS_RS274_RECORDER_H

#include "tangwright/rs274.h"

#include "../check/check.h"
#include <math.h>
#include <string.h>

enum { RECORD_EVENTS = 256, RECORD_TEXT = 4096 };

struct record {
    enum tw_status status;
    struct tw_rs274_result result;
    struct tw_findings findings;
    int count;
    struct tw_rs274_event events[RECORD_EVENTS];
    char text[RECORD_TEXT]; /* what was run; the events' texts point into it */
};

/* The start of the conformance cases: mm, G54, all zero, ten tool slots, / lines run. A piece needs no end.
 */
static inline struct tw_rs274_setup start_setup(void)
{
    return (struct tw_rs274_setup){ .fragment = true, .tool_slots = 10, .block_delete = TW_RS274_DELETE_OFF };
}

static inline struct tw_rs274_setup start_at(double x, double y, double z)
{
    struct tw_rs274_setup setup = start_setup();

    setup.start_mm[0] = x;
    setup.start_mm[1] = y;
    setup.start_mm[2] = z;
    return setup;
}

static inline enum tw_status record_event(const struct tw_rs274_event *event, void *context)
{
    struct record *record = context;

    cr_assert(lt(int, record->count, RECORD_EVENTS));
    record->events[record->count++] = *event;
    return TW_OK;
}

static inline void record_bytes(struct record *record, const struct tw_rs274_setup *setup, const char *text,
                                size_t length)
{
    cr_assert(lt(sz, length, (size_t)RECORD_TEXT));
    memset(record, 0, sizeof *record);
    memcpy(record->text, text, length);
    record->status =
        tw_rs274_run(record->text, length, setup, record_event, record, &record->result, &record->findings);
    cr_assert(eq(int, record->status != TW_OK, record->result.error != TW_RS274_NO_ERROR));
    cr_assert(eq(int, record->findings.count > 0, record->result.error != TW_RS274_NO_ERROR));
}

/* "|" separates the lines of a test's text. The record lives until the test ends; each test is a process. */
static inline const struct record *run_text(struct tw_rs274_setup setup, const char *text)
{
    static struct record records[8];
    static int next;
    struct record *record = &records[next++ % 8];
    char lines[RECORD_TEXT];
    size_t length = strlen(text);

    tw_findings_free(&record->findings);
    cr_assert(lt(sz, length, sizeof lines));
    for (size_t i = 0; i < length; i++)
        lines[i] = text[i] == '|' ? '\n' : text[i];
    record_bytes(record, &setup, lines, length);
    return record;
}

static inline bool is_motion(const struct tw_rs274_event *event)
{
    return event->kind == TW_RS274_RAPID || event->kind == TW_RS274_FEED || event->kind == TW_RS274_ARC;
}

/* The n-th event of a kind, from 0; the test fails when there is none. */
static inline const struct tw_rs274_event *event_of(const struct record *record, enum tw_rs274_event_kind kind, int n)
{
    for (int i = 0; i < record->count; i++)
        if (record->events[i].kind == kind && n-- == 0)
            return &record->events[i];
    cr_assert(false, "no such event in \"%s\"; status %d %s", record->text, record->status,
              tw_rs274_error_name(record->result.error));
    return NULL;
}

static inline int count_of(const struct record *record, enum tw_rs274_event_kind kind)
{
    int count = 0;

    for (int i = 0; i < record->count; i++)
        count += record->events[i].kind == kind;
    return count;
}

static inline int motions_in(const struct record *record)
{
    int count = 0;

    for (int i = 0; i < record->count; i++)
        count += is_motion(&record->events[i]);
    return count;
}

static inline int place_of(const struct record *record, enum tw_rs274_event_kind kind)
{
    return (int)(event_of(record, kind, 0) - record->events);
}

static inline bool near_point(const double p[3], double x, double y, double z, double tolerance)
{
    return fabs(p[0] - x) <= tolerance && fabs(p[1] - y) <= tolerance && fabs(p[2] - z) <= tolerance;
}

/* What is expected is a call, which says in its words the line of the test: see check/near.h. */
#define EXPECT_POINT(...)   expect_point(__LINE__, __VA_ARGS__)
#define EXPECT_AT(...)      expect_at(__LINE__, __VA_ARGS__)
#define EXPECT_REFUSED(...) expect_refused(__LINE__, __VA_ARGS__)

static inline void expect_point(int line, const double p[3], double x, double y, double z, double tolerance)
{
    cr_expect(near_point(p, x, y, z, tolerance), "line %d: got (%.9g, %.9g, %.9g)", line, p[0], p[1], p[2]);
}

static inline void expect_at(int line, struct tw_rs274_setup setup, const char *program, double x, double y, double z)
{
    const struct record *r = run_text(setup, program);

    cr_expect(eq(int, r->status, TW_OK), "line %d: %s: %s", line, program,
              r->findings.count ? r->findings.items[0].text : "");
    expect_point(line, r->result.position_mm, x, y, z, 1e-9);
}

/* Refused with this kind on that line of the program; the line itself gave nothing. */
static inline void expect_refused(int line, struct tw_rs274_setup setup, const char *program, int program_line,
                                  enum tw_rs274_error kind)
{
    const struct record *r = run_text(setup, program);

    cr_expect(eq(int, r->status, TW_BAD_INPUT), "line %d: %s", line, program);
    cr_expect(eq(int, r->result.error, kind), "line %d: %s: got %s", line, program,
              tw_rs274_error_name(r->result.error));
    cr_expect(eq(int, r->result.error_line, program_line), "line %d: %s", line, program);
    for (int i = 0; i < r->count; i++)
        cr_expect(lt(int, r->events[i].line, program_line), "line %d: %s", line, program);
}

#endif
