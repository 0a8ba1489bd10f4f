/* rs274.h - what a machine does when it reads an RS-274 program: text in, canonical motions out.
 *
 * Language  the core described in docs/rs274.md, after T. R. Kramer, F. M. Proctor, E. Messina, "The NIST
 *           RS274NGC Interpreter - Version 3", NISTIR 6556 (2000), "the report" below. Straight moves, arcs and
 *           helices (G0 to G3), dwell, planes, units, work systems, G10 L2, G28, G30, G53, the G92 family, tool
 *           length offsets, feed modes G93 and G94, distance and path modes, spindle, coolant, tool change,
 *           stops, comments, messages, percent lines, block delete. All else is refused by name and line.
 * Reading   a line is read whole, checked, and only then carried out, in the order of the report's table 8. A
 *           line that is refused changes nothing and gives no event; the run ends there.
 * Units     every length handed out is mm, every speed mm/s, every time s, every angle rad, whatever units the
 *           program is written in. Program (work) coordinates are those a controller shows; machine
 *           coordinates are absolute: program + origin of the system + G92 shift (+ tool length along Z).
 * Memory    nothing is allocated but the texts of findings. An event and its text live for the one call only.
 * Threads   no shared state; any number of runs at once. */
#ifndef TANGWRIGHT_RS274_H
#define TANGWRIGHT_RS274_H

#include "tangwright/findings.h"

#include <stdbool.h>
#include <stddef.h>

enum { TW_RS274_X, TW_RS274_Y, TW_RS274_Z };
enum { TW_RS274_SYSTEMS = 9 }; /* G54, G55, G56, G57, G58, G59, G59.1, G59.2, G59.3 are 1 to 9 */

enum tw_rs274_motion {
    TW_RS274_MOTION_NONE, /* nothing selected yet, or G80 */
    TW_RS274_MOTION_RAPID,
    TW_RS274_MOTION_FEED,
    TW_RS274_MOTION_CLOCKWISE,
    TW_RS274_MOTION_COUNTERCLOCKWISE
};
enum tw_rs274_plane { TW_RS274_PLANE_XY, TW_RS274_PLANE_XZ, TW_RS274_PLANE_YZ };
enum tw_rs274_path {
    TW_RS274_PATH_UNSET,      /* the program has not said: up to the controller */
    TW_RS274_PATH_EXACT,      /* G61 */
    TW_RS274_PATH_EXACT_STOP, /* G61.1 */
    TW_RS274_PATH_CONTINUOUS  /* G64: corners may be rounded */
};
enum tw_rs274_spindle { TW_RS274_SPINDLE_OFF, TW_RS274_SPINDLE_CLOCKWISE, TW_RS274_SPINDLE_COUNTERCLOCKWISE };

/* All that earlier lines have switched and that stays until it is switched again. */
struct tw_rs274_modes {
    enum tw_rs274_motion motion;
    enum tw_rs274_plane plane;
    enum tw_rs274_path path;
    enum tw_rs274_spindle spindle;
    double spindle_rpm;      /* the last S, turning or not */
    double feed_mm_per_s;    /* the last F under G94; 0: none in force. Under G93 F belongs to its line alone */
    double shift_mm[3];      /* G92 */
    double length_offset_mm; /* G43, along Z */
    int work_system;         /* 1..9 */
    int tool_selected;       /* last T; 0: none */
    int tool;                /* in the spindle since the last M6; 0: none was changed in */
    bool inch;               /* G20 */
    bool incremental;        /* G91 */
    bool inverse_time;       /* G93 */
    bool return_to_r;        /* G99, without effect as no cycle is supported */
    bool mist, flood;        /* M7, M8 */
    bool overrides;          /* M48; false: M49 */
};

enum tw_rs274_event_kind {
    /* motions */
    TW_RS274_RAPID, /* a straight line at traverse rate */
    TW_RS274_FEED,  /* a straight line at feed rate     */
    TW_RS274_ARC,   /* an arc or helix at feed rate     */
    /* waits and ends */
    TW_RS274_DWELL, /* dwell_s                                    */
    TW_RS274_STOP,  /* code 0: M0; 1: M1 with its switch on       */
    TW_RS274_END,   /* code 2: M2; 30: M30; 0: by a percent line. The modes are those after the reset of M2, M30
                   */
    /* switches: the modes tell the new state */
    TW_RS274_SPINDLE, /* M3 M4 M5 */
    TW_RS274_SPINDLE_SPEED,
    TW_RS274_COOLANT,
    TW_RS274_OVERRIDES,
    TW_RS274_TOOL_SELECT,
    TW_RS274_TOOL_CHANGE, /* stops the spindle, so no event of its own tells that; axes end where they were */
    TW_RS274_FEED_RATE,
    TW_RS274_FEED_MODE,
    TW_RS274_PLANE,
    TW_RS274_UNITS,
    TW_RS274_DISTANCE_MODE,
    TW_RS274_PATH_MODE,
    TW_RS274_RETURN_LEVEL,
    TW_RS274_RADIUS_OFF, /* G40 */
    TW_RS274_MOTION_OFF, /* G80 */
    /* new numbers for the same place: end_mm tells what the position reads now */
    TW_RS274_WORK_SYSTEM,
    TW_RS274_ORIGIN, /* G10 L2; code: the system whose origin was set */
    TW_RS274_SHIFT,  /* G92 G92.1 G92.2 G92.3 */
    TW_RS274_LENGTH_OFFSET,
    /* words for people */
    TW_RS274_COMMENT,
    TW_RS274_MESSAGE /* text: what follows "MSG," */
};

/* An arc turns from `first_axis` towards `second_axis` when its sweep is positive (G3). A helix moves evenly
 * along `normal_axis` meanwhile. Rounded numbers leave the two radii up to 0.002 mm (0.0002 inch) apart, the
 * report's limit; the radius then changes evenly with the angle. */
struct tw_rs274_arc {
    int first_axis, second_axis, normal_axis;
    double centre_mm[3]; /* program coordinates; along the normal axis that of the start */
    double centre_machine_mm[3];
    double start_radius_mm, end_radius_mm;
    double start_angle_rad; /* of the start, seen from the centre, from the first axis */
    double sweep_rad;       /* signed; at most one whole turn */
    double rise_mm;         /* along the normal axis */
};

struct tw_rs274_event {
    enum tw_rs274_event_kind kind;
    int line;                      /* of the text, from 1 */
    int block_number;              /* the N word; -1: none */
    struct tw_rs274_modes modes;   /* in force while the event happens */
    double start_mm[3], end_mm[3]; /* program coordinates; where nothing moves, both are the position */
    double start_machine_mm[3], end_machine_mm[3];
    double length_mm;     /* motions: of the path */
    double feed_mm_per_s; /* FEED, ARC: along the path (of a helix: along the helix) */
    double duration_s;    /* FEED, ARC: at that feed, without acceleration */
    double dwell_s;
    int code;                /* STOP, END, ORIGIN */
    bool absolute_machine;   /* RAPID, FEED: by G53, so that no offset counts */
    struct tw_rs274_arc arc; /* ARC alone */
    const char *text;        /* COMMENT, MESSAGE: text_length bytes, not ended by a zero */
    size_t text_length;
};

/* Why a line was refused. The numbers are not stable from one version to the next, the names are. */
enum tw_rs274_error {
    TW_RS274_NO_ERROR,
    /* the text itself */
    TW_RS274_LINE_TOO_LONG,
    TW_RS274_BAD_CHARACTER,
    TW_RS274_BAD_NUMBER,
    TW_RS274_NUMBER_TOO_LARGE,
    TW_RS274_BAD_LINE_NUMBER,
    TW_RS274_LINE_NUMBER_PLACE,
    TW_RS274_BAD_COMMENT,
    TW_RS274_BLOCK_DELETE_UNSET,
    TW_RS274_STRAY_PERCENT,
    TW_RS274_PERCENT_NOT_CLOSED,
    TW_RS274_NO_END,
    /* the words of one line */
    TW_RS274_NOT_SUPPORTED,
    TW_RS274_UNKNOWN_CODE,
    TW_RS274_REPEATED_WORD,
    TW_RS274_GROUP_CLASH,
    TW_RS274_TOO_MANY_M,
    TW_RS274_NEGATIVE_VALUE,
    TW_RS274_VALUE_OUT_OF_RANGE,
    TW_RS274_MISSING_WORD,
    TW_RS274_UNUSED_WORD,
    TW_RS274_NO_AXIS_WORD,
    TW_RS274_AXIS_WORDS_CLAIMED_TWICE,
    TW_RS274_AXIS_WORD_WITHOUT_MOTION,
    /* their meaning */
    TW_RS274_G53_WITHOUT_STRAIGHT_MOTION,
    TW_RS274_FEED_NOT_SET,
    TW_RS274_FEED_MISSING, /* G93: F on every line that feeds */
    TW_RS274_UNITS_CHANGED,
    TW_RS274_UNITS_TOO_LATE,
    TW_RS274_ARC_WITHOUT_PLANE_WORD,
    TW_RS274_ARC_WITHOUT_CENTRE,
    TW_RS274_ARC_RADIUS_AND_OFFSET,
    TW_RS274_ARC_OFFSET_NOT_IN_PLANE,
    TW_RS274_ARC_RADIUS_MISMATCH,
    TW_RS274_ARC_RADIUS_TOO_SMALL,
    TW_RS274_ARC_ENDS_AT_START,
    TW_RS274_ARC_WITHOUT_RADIUS,
    TW_RS274_ERROR_COUNT
};

enum tw_rs274_block_delete {
    TW_RS274_DELETE_REFUSED, /* a line that begins with / is an error: what it does depends on the operator */
    TW_RS274_DELETE_OFF,     /* such lines are run  */
    TW_RS274_DELETE_ON       /* such lines are left out */
};

/* The word that tells a dwell's length. The report knows P in seconds; controllers differ. */
enum tw_rs274_dwell_word { TW_RS274_P_SECONDS, TW_RS274_P_MILLISECONDS, TW_RS274_X_SECONDS };

/* The controller as the program finds it. All zeros: mm, G54, everything at the machine's zero, no tools. */
struct tw_rs274_setup {
    const char *name;                       /* what findings call the text; NULL: "program" */
    double start_mm[3];                     /* machine coordinates */
    double origins_mm[TW_RS274_SYSTEMS][3]; /* of G54 to G59.3, in machine coordinates */
    int work_system;                        /* 1..9 in force at the start; 0 stands for 1 */
    bool inch;                              /* units in force until the program says */
    enum tw_rs274_block_delete block_delete;
    enum tw_rs274_dwell_word dwell_word;
    bool optional_stop;                  /* the operator's switch: M1 stops */
    bool has_home_28, has_home_30;       /* without, G28 and G30 are not supported */
    double home_28_mm[3], home_30_mm[3]; /* machine coordinates */
    int tool_slots;                      /* T and H may be 0 to this */
    const double *tool_lengths_mm;       /* of slots 1 to tool_slots; NULL: not known, so G43 is not supported */
    bool fragment;                       /* a piece of a program: it need not end with M2, M30 or a percent line */
    int most_faults;                     /* after the first refused line go on reading, without running, and report up
                      * to so many faults in all; 0 stands for 1 */
};

/* Returns TW_OK to go on; any other status ends the run and is what tw_rs274_run() returns. */
typedef enum tw_status (*tw_rs274_sink)(const struct tw_rs274_event *event, void *context);

struct tw_rs274_result {
    enum tw_rs274_error error; /* the first fault, and its line */
    int error_line;
    int line_count;              /* lines looked at */
    bool ended;                  /* by M2, M30 or the closing percent line */
    struct tw_rs274_modes modes; /* after the last line carried out */
    double position_mm[3];       /* program coordinates */
    double machine_mm[3];
    double origins_mm[TW_RS274_SYSTEMS][3];
};

/* Runs `length` bytes of program text; `sink` may be NULL to check only, `result` and `findings` may be NULL.
 * TW_BAD_INPUT: the program was refused; TW_BAD_USAGE: the setup makes no sense; else what the sink gave. */
enum tw_status tw_rs274_run(const char *text, size_t length, const struct tw_rs274_setup *setup, tw_rs274_sink sink,
                            void *context, struct tw_rs274_result *result, struct tw_findings *findings);

/* The point of a motion at `fraction` (0..1) of its path, in program and machine coordinates; either may be
 * NULL. */
void tw_rs274_point(const struct tw_rs274_event *motion, double fraction, double out_mm[3], double out_machine_mm[3]);

/* "repeated-word" and so on: stable names for reports and tests. */
const char *tw_rs274_error_name(enum tw_rs274_error error);

/* "G54" to "G59.3" for 1 to 9. */
const char *tw_rs274_system_name(int work_system);

#endif
