/* trace.h - an RS-274 program as the machine would drive it: steps in the physical frame of the machine's table.
 *
 * Frame   along, across, up in mm from the machine's zero: each is the signed machine coordinate of the letter that
 *         the profile maps to it. A part's setup frame is this, less the station's origin.
 * Memory  a trace owns its steps: tw_trace_free(). */
#ifndef TANGWRIGHT_VERDICT_TRACE_H
#define TANGWRIGHT_VERDICT_TRACE_H

#include "tangwright/job.h"
#include "tangwright/rs274.h"

/* Arcs are driven as chords no farther from them than this, or this share of a radius larger than any machine. */
#define TW_TRACE_CHORD_MM    2e-4
#define TW_TRACE_CHORD_SHARE 1e-7

/* Steps of one program: some hundred times as many as a plan has, in a hundred megabytes. */
#define TW_TRACE_STEPS_MOST 500000

enum tw_step_kind { TW_STEP_RAPID, TW_STEP_FEED, TW_STEP_DWELL };

struct tw_step {
    enum tw_step_kind kind;
    int line;
    double from_mm[3], to_mm[3]; /* along, across, up */
    double feed_mm_per_s;        /* feed steps */
    double dwell_s;
    double time_s;                      /* how long it takes, from tw_trace_time(); 0 before */
    int work_system;                    /* 1..9 */
    bool stops;                         /* a dwell that lasts until a person lets the program go on (M0) */
    bool incremental, absolute_machine; /* by G91, by G53 */
    enum tw_rs274_spindle spindle;
    double spindle_rpm;
    bool mist, flood;
    double spun_s;   /* dwelt since the spindle was last switched or its speed changed */
    bool stop_after; /* exact stop */
};

/* Which lines told what a program must not leave to chance; 0: none did before the first motion. */
struct tw_trace_told {
    int units, distance, feed_mode, plane, work_system, path, cancel_radius, cancel_length, cancel_cycles;
};

/* A program begins, and begins anew after each stop: nobody knows then what is in force and where the wheel stands. */
struct tw_trace_start {
    size_t step; /* the first that belongs to it */
    struct tw_trace_told told;
    struct tw_rs274_modes at_first; /* in force at its first motion */
};

struct tw_trace {
    struct tw_step *steps;
    size_t count, capacity;
    struct tw_trace_start *starts; /* at least one */
    size_t start_count, start_capacity;
    bool blended; /* G64 was in force at some motion */
    int blended_line;
    int tool_line;                    /* first T or M6; 0: none */
    int stop_line;                    /* first M1, which only stops where a switch says so; 0: none */
    int overrides_line;               /* first M49; 0: none */
    int soaked_line;                  /* where a wheel first stops with coolant still in it; 0: nowhere */
    int shift_line;                   /* first G92 or G10; 0: none */
    int last_line;                    /* of the end, or of the last line read */
    bool ended;                       /* by M2 or M30, not only by a percent line */
    struct tw_rs274_modes before_end; /* in force when the end was met: M2 itself switches off */
    double start_mm[3]; /* where the wheel waits before the first motion: an odd place that no program names */
    double end_mm[3];   /* where the wheel is at the end */
    double last_mm[3];  /* for building */
    double fastest_rpm; /* highest S met with the spindle on */
    int fastest_line;
    int on_line; /* where the spindle was first started; 0: never */
};

/* Reads `text`, whose z counts from `zero_mm` over each station's datum pad. TW_BAD_INPUT with findings when the program is refused; *out then holds the steps up to there. */
enum tw_status tw_trace_make(const struct tw_job *job, double zero_mm, const char *name, const char *text,
                             size_t length, struct tw_trace *out, struct tw_findings *findings);
/* The same with a zero for each of the fixture's stations. */
enum tw_status tw_trace_make_at(const struct tw_job *job, const double *zeros_mm, const char *name, const char *text,
                                size_t length, struct tw_trace *out, struct tw_findings *findings);
void tw_trace_free(struct tw_trace *trace);

/* Ends the trace before the first step that would go a whole travel beyond the end of one: a lost decimal point, which no
 * machine follows, and whose way of hours nothing needs to be worked out for. The check of the travel is asked before. */
void tw_trace_end_at_travel(const struct tw_job *job, struct tw_trace *trace);

/* Sets the time of every step, and of the whole: the way from wherever the machine was left to over the first part is
 * not counted, as in the plan. */
enum tw_status tw_trace_time(const struct tw_job *job, struct tw_trace *trace, double *cycle_time_s,
                             struct tw_findings *findings);

/* The origin of a station in the trace's frame. */
void tw_trace_origin(const struct tw_machine *machine, const struct tw_station *station, double out_mm[3]);

#endif
