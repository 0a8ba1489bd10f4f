/* parts.h - what the files of the interpreter share: one line as read, the state, the way to complain. */
#ifndef TANGWRIGHT_RS274_PARTS_H
#define TANGWRIGHT_RS274_PARTS_H

#include "tangwright/rs274.h"

#include <stdint.h>

#define RS274_MM_PER_INCH 25.4

/* Two points closer than this are the same: far below any decimal a program prints, far above rounding noise.
 */
#define RS274_SAME_POINT_MM 1e-7

enum { RS274_LINE_BYTES = 256 }; /* NISTIR 6556, section 3.3 */

/* Modal groups, NISTIR 6556, section 3.4, table 4. */
enum rs274_g_group {
    RS274_G_NON_MODAL,
    RS274_G_MOTION,
    RS274_G_PLANE,
    RS274_G_DISTANCE,
    RS274_G_FEED_MODE,
    RS274_G_UNITS,
    RS274_G_RADIUS,
    RS274_G_LENGTH,
    RS274_G_RETURN,
    RS274_G_SYSTEM,
    RS274_G_PATH,
    RS274_G_GROUPS
};
enum rs274_m_group { RS274_M_STOP, RS274_M_TOOL, RS274_M_SPINDLE, RS274_M_COOLANT, RS274_M_OVERRIDE, RS274_M_GROUPS };

enum { RS274_NOT_THERE = -1 };

/* A code of the report. G codes are counted in tenths, as G59.1 is one. */
struct rs274_code {
    int number;
    int group;
    const char *not_supported; /* what it would do, when the core leaves it out; else NULL */
};

const struct rs274_code *rs274_find_g(int tenths);
const struct rs274_code *rs274_find_m(int number);
const char *rs274_g_group_name(int group);
const char *rs274_m_group_name(int group);

/* Collects the faults of a run. */
struct rs274_faults {
    const char *name;
    struct tw_findings *findings;
    enum tw_rs274_error first;
    int first_line;
    int count;
};

/* Adds a finding "name:line: ..." and returns false. */
bool rs274_fault(struct rs274_faults *faults, int line, enum tw_rs274_error error, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* One line, taken apart but not yet understood. value[] is set only where the letter's bit is. */
struct rs274_line {
    int line;
    int block_number;
    uint32_t letters;
    int g[RS274_G_GROUPS]; /* ten times the code, or RS274_NOT_THERE */
    int m[RS274_M_GROUPS];
    int m_count;
    const char *comment; /* the last one on the line */
    size_t comment_length;
    double value[26];
};

static inline uint32_t rs274_bit(char letter)
{
    return (uint32_t)1 << (letter - 'A');
}

static inline bool rs274_has(const struct rs274_line *line, char letter)
{
    return (line->letters & rs274_bit(letter)) != 0;
}

static inline double rs274_value(const struct rs274_line *line, char letter)
{
    return line->value[letter - 'A'];
}

#define RS274_AXIS_BITS (((uint32_t)1 << ('X' - 'A')) | ((uint32_t)1 << ('Y' - 'A')) | ((uint32_t)1 << ('Z' - 'A')))

static inline bool rs274_is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* Takes the text of one line apart. `/` is already off. */
bool rs274_read_line(const char *text, size_t length, int number, struct rs274_line *line, struct rs274_faults *faults);

/* True when `value` is within 0.0001 of a whole number, which *out then is: NISTIR 6556, section 3.3.2.1. */
bool rs274_whole(double value, int *out);

/* What can be told about a line without knowing what went before. */
bool rs274_check_line(const struct rs274_line *line, struct rs274_faults *faults);

struct rs274_state {
    struct tw_rs274_modes modes;
    double position_mm[3]; /* program coordinates */
    double machine_mm[3];
    double origins_mm[TW_RS274_SYSTEMS][3];
    double kept_shift_mm[3]; /* what G92.3 brings back */
    bool units_written;      /* a G20 or G21 was read */
    bool units_used;         /* something was measured in the units in force */
    bool ended;
};

enum { RS274_EVENTS = 24 }; /* more than the 22 things one line can do */

struct rs274_events {
    struct tw_rs274_event items[RS274_EVENTS];
    int count;
};

/* Carries a line out on *state and fills *events. On a fault *state is spoilt: work on a copy. */
bool rs274_execute(const struct rs274_line *line, const struct tw_rs274_setup *setup, struct rs274_state *state,
                   struct rs274_events *events, struct rs274_faults *faults);

/* The geometry of a G2 or G3 from event->start_mm to event->end_mm: sets event->arc and length_mm. */
bool rs274_arc(const struct rs274_line *line, struct tw_rs274_event *event, struct rs274_faults *faults);

#endif
