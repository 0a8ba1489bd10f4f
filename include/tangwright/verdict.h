/* verdict.h - may this program be cut? A proof from its text, the job and the profiles alone.
 *
 * The text is read by the RS-274 reader, driven over a field of heights, and every check below is answered with its
 * worst amount, its limit, the program line and the place. The planner's passes are never looked at.
 *
 * A pass says that these checks found nothing; it is no promise of safety. What is not simulated: the machine's own
 * stiffness, thermal growth, following error and rounding of corners, wear of a relief's wheel, the sides of
 * the wheel's guard, and anything on the table that the fixture profile does not tell of. See docs/dry-run.md.
 *
 * Memory  a tw_verdict owns its proofs: tw_verdict_free().
 * Blanks  Everything is proved on the thinnest and the thickest blank of the job's band and on the one stated; a check
 *         keeps the worst of them. The target plane is where z puts it, whatever the blank: stock left counts from there.
 * Threads no shared state. Several programs are proved at once, on a thread of its own beside the caller's.
 * Errors  a program that fails its checks, or cannot be read as RS-274, is no error: the verdict says so. TW_NO_PLAN for
 *         work that would take too long or too much memory, and what would help: nothing is begun then. TW_NO_MEMORY,
 *         TW_BAD_USAGE for settings that make no sense. On failure *out is empty. */
#ifndef TANGWRIGHT_VERDICT_H
#define TANGWRIGHT_VERDICT_H

#include "tangwright/findings.h"
#include "tangwright/job.h"
#include "tangwright/taper.h"

#include <stdbool.h>
#include <stddef.h>

enum tw_check_id {
    TW_CHECK_TEXT,        /* syntax and meaning, by the RS-274 reader */
    TW_CHECK_CARD,        /* the head names this job, this side and these inputs */
    TW_CHECK_MODES,       /* units, plane, distance, feed mode, work offset told first; then the wheel raised clear */
    TW_CHECK_OFFSETS,     /* work offsets are those of the fixture's stations in use; none is changed */
    TW_CHECK_TRAVEL,      /* machine coordinates within the axes' travel */
    TW_CHECK_WHEEL_SPEED, /* never above the wheel's operating speed */
    TW_CHECK_SPINDLE,     /* turns, at the job's speed and the right way, while the wheel cuts */
    TW_CHECK_COOLANT,     /* as the job asks while the wheel cuts */
    TW_CHECK_FEED,        /* feeds within the limits of the machine and of each axis */
    TW_CHECK_RAPIDS,      /* no rapid in the stock or closer to anything than the clearance */
    TW_CHECK_CONTACT,     /* no part of the wheel or spindle touches blade, pad, pin, clamp or fixture body */
    TW_CHECK_CLEARANCE,   /* feeds keep the fixture's own clearance from all its parts */
    TW_CHECK_DEPTH,       /* true depth of cut against the wheel's largest infeed */
    TW_CHECK_POWER,       /* grinding power against the spindle's */
    TW_CHECK_HOLDING,     /* tangential force against what holds the part */
    TW_CHECK_TEMPERATURE, /* bulk and flash, with the reserve of energy: strict limit: the job's own; equivalent limit: where steel would harden again */
    TW_CHECK_BULK,        /* the tang itself, flashes aside, with the reserve, against the job's limit */
    TW_CHECK_GOUGE,       /* below the target */
    TW_CHECK_STOCK_LEFT,  /* above the target */
    TW_CHECK_FLATNESS,    /* highest to lowest of the finished face, ridges included */
    TW_CHECK_ENDING,      /* wheel raised clear, spindle and coolant off, a proper end */
    TW_CHECK_HEAT,        /* temperatures, heat and losses against an estimate from first principles */
    TW_CHECK_TIME,        /* the cycle time reckoned in two ways */
    TW_CHECK_DRESSING,    /* what the wheel takes off between two dressings */
    TW_CHECK_SPRING_BACK, /* what machine and part, giving way, leave on the face at the worse ends of their ranges */
    TW_CHECK_FILM,        /* how near to boiling the coolant's film comes where the pass relies on it */
    TW_CHECK_LIFT,        /* a program for cutting air touches nothing */
    TW_CHECK_RELIEF,      /* of the region that the wheel can hollow, what is not at its depth within the flatness */
    TW_CHECK_TEMPERING,   /* equivalent limit: what all the flashes together have done to the most tempered spot */
    TW_CHECK_FINISHING,   /* the last finish.layers layers are no deeper than finish.infeed */
    TW_CHECK_WEAR,        /* how far the face may be off over the range of the wheel's grinding ratio */
    TW_CHECK_COUNT
};

/* The blanks that a program is proved on: the one stated, and both ends of the job's band of thickness. The thickest of surveyed blanks
 * stands as high over its readings as they leave room for, with no band as well. */
enum tw_band_end { TW_BAND_STATED, TW_BAND_THICK, TW_BAND_THIN, TW_BAND_COUNT };

struct tw_check {
    bool asked; /* false: the check does not apply (lift), or an earlier failure left nothing to check */
    bool failed;
    double amount, limit;   /* in `unit`; the worst met, whether it passes or not */
    const char *unit;       /* "mm", "degC", ...; "" for a count of faults */
    int line;               /* of the program, where the worst was met; 0: none */
    int first_line;         /* the first line that broke the limit; 0: none did */
    int part;               /* from 1; 0: no part is concerned */
    enum tw_band_end blank; /* which the worst was found on */
    bool blanks_differ;     /* false: all alike */
    bool has_place;
    double place_mm[3]; /* setup frame of that part */
    char note[200];     /* what a person needs beside the numbers; may be empty */
    double without_K;   /* of the film, where it fails: how far above its limit the face would be without it, at most */
};

/* What deserves a look though no check forbids it. */
enum tw_remark_kind {
    TW_REMARK_HEAD,           /* the program has no head, so nothing says what it was written for */
    TW_REMARK_ROLE,           /* what it does was told otherwise than by its head */
    TW_REMARK_TEXT,           /* bytes that some controllers stumble over */
    TW_REMARK_PLANE,          /* a plane that is not the table's */
    TW_REMARK_STANDS,         /* the wheel stands on the steel */
    TW_REMARK_RUBS,           /* it is fed so slowly that it rubs */
    TW_REMARK_OVER_BLADE,     /* fed over the blade, far ahead of where a pass may end */
    TW_REMARK_LOW_OVER_BLADE, /* fed closer over it than rapids may come, ahead of where a run-out ends */
    TW_REMARK_ASTRAY,         /* fed where nothing is to be ground */
    TW_REMARK_SOAKED,         /* the wheel stops before it has thrown out its coolant */
    TW_REMARK_SLANTING, /* a rapid that goes down and aside at once: controllers differ in the way that it takes */
    TW_REMARK_WAITS,    /* a wait so long that its unit may be another one */
    TW_REMARK_DULL,     /* with the programs before it the wheel takes off more than it may between two dressings */
    TW_REMARK_COUNT
};

struct tw_proof_remark {
    int count; /* 0: nothing to remark */
    int line;  /* the first; 0: no line */
    char text[240];
};

#define TW_REASONS_MOST 16

#define TW_GAUGE_POINTS 5

/* Along the tang's middle, from the taper start to the butt: what the program leaves of the blank as stated. */
struct tw_gauge {
    double x_mm;    /* part x */
    double half_mm; /* from the centre plane to this face; NaN where there is no steel */
    double aim_mm;  /* what the job asks for */
};

/* What a program did to the first part, for drawing; of several blanks, to the one that gets hottest. */
struct tw_proof_pass {
    int line;
    double time_s;       /* since the program's start, at its end */
    double peak_degC;    /* hottest of the pass, as expected: bulk and flash */
    double reserve_degC; /* the same with the reserve of energy */
    double bulk_degC;    /* hottest that the tang is, as expected, flash aside, at its end */
};

/* Values on a grid of square cells in the setup frame; row by row along y, NaN where there is nothing to say. */
struct tw_proof_map {
    double x_mm, y_mm; /* the corner of the grid with the smallest coordinates */
    double cell_mm;
    int columns, rows;
    float *values; /* columns * rows; NULL: none */
};

struct tw_proof_record {
    struct tw_proof_pass *passes;
    size_t pass_count, pass_capacity;
    struct tw_proof_map hottest_degC; /* that each place of the face has been with the reserve, flashes included */
    struct tw_proof_map left_mm;      /* how far the ground face lies above its target: the farthest off of each cell */
};

/* What a program's heat comes to by either way of limiting it; the worst of all parts. */
struct tw_proof_heat {
    enum tw_flash_limit used; /* the job's; the checks follow it */
    double limit_degC;        /* of bulk, and of strict flashes */
    double cap_degC;          /* of equivalent flashes */
    double
        reserve_degC; /* hottest face with the reserve of energy; the checks also count the lower end of the film's range */
    double bulk_degC;
    double tempered_degC; /* the temperature that would have done as much in the time of the steel's own tempering */
    bool strict_allows, equivalent_allows;
};

/* What the wheel takes off all parts in one program, of the blank off which it takes most. */
struct tw_proof_taken {
    struct {
        int line;
        double volume_mm3; /* by its end, since the program's start */
    } * items;             /* rising, up to the first stop */
    size_t count, capacity;
    bool stops;     /* for it to be dressed */
    double end_mm3; /* since the last stop, or the start, when the program is through */
};

#define TW_PROOF_PARTS_MOST 9 /* as many as a fixture has stations */

/* One program. */
struct tw_proof {
    char *name; /* as given */
    enum tw_side side;
    int step; /* of several programs that are proved one after the other on the same part; 0: alone */
    enum tw_scope scope;
    struct tw_check checks[TW_CHECK_COUNT];
    struct tw_proof_remark remarks[TW_REMARK_COUNT];
    struct tw_gauge gauges[TW_GAUGE_POINTS];
    double holding_N[TW_PROOF_PARTS_MOST]; /* sideways force that the fixture is trusted with, by part */
    double lift_mm;                        /* 0: an ordinary program */
    double cycle_time_s;
    double removed_mm3;  /* all parts, of the blank as stated */
    double peak_degC;    /* hottest, as expected */
    double reserve_degC; /* with the reserve of energy (warm.h), as all of the heat below: what the checks judge */
    struct tw_proof_heat heat;
    bool cut; /* every check that was asked passed */
    struct tw_proof_record record;
    struct tw_proof_taken taken;
};

struct tw_verdict {
    struct tw_proof *proofs;
    size_t count;
    bool cut; /* all of them, and no reason against it */
    char reasons[TW_REASONS_MOST]
                [240]; /* against it, that no program's checks tell: programs missing, double; cells too coarse */
    size_t reason_count;
    char unproved[240]; /* what of the job was not shown, such as "side B's taper"; may be empty, and is no reason */
    double cell_mm;
    double unread_mm; /* and surveyed ones with their faces up to this over what was read; 0: none is surveyed */
    double band_mm;   /* proved on blanks from the stated thickness less this to the stated one and this */
    double cycle_time_s, removed_mm3, peak_degC, reserve_degC;
    double effort_s; /* of computing for what was proved anew, estimated before: about seconds of one core */
};

/* A program to be proved. */
struct tw_card {
    const char *name; /* file name: "side-b" or "side_b" in it says which side it is meant for */
    const char *text;
    size_t length;
};

/* Cells of this side can be simulated; larger ones than the third overlook too much for a "cut". */
#define TW_CELL_LEAST_MM  0.005
#define TW_CELL_MOST_MM   5.0
#define TW_CELL_PROVES_MM 0.25

struct tw_verdict_settings {
    double
        cell_mm; /* 0: chosen so that a cell's own error on the taper stays below half a micrometre, at most 0.1 mm */
    bool strict; /* a program without a head fails, and so does a job of which a side is missing */
    /* A verdict on other programs of the same job, one for one; of those with `holds` the text is the same, as are those of all
     * others of the same side. What it says of them is taken out of it. NULL: there is none. */
    struct tw_verdict *before;
    const bool *holds;
};

enum tw_status tw_verdict_prove(const struct tw_job *job, const struct tw_card *cards, size_t card_count,
                                struct tw_verdict_settings settings, struct tw_verdict *out,
                                struct tw_findings *findings);

/* The same, not strict. */
enum tw_status tw_verdict_make(const struct tw_job *job, const struct tw_card *cards, size_t card_count, double cell_mm,
                               struct tw_verdict *out, struct tw_findings *findings);

void tw_verdict_free(struct tw_verdict *verdict);

/* The line to look at first: the earliest that broke a check. A place with stock left only shows where a cut is
 * missing, so that counts when nothing else does. 0: all passed, or no line is to blame. */
int tw_proof_look_at(const struct tw_proof *proof);

const char *tw_remark_name(enum tw_remark_kind kind);

/* "as stated", "thickest", "thinnest"; of surveyed blanks "highest" in place of "thickest". */
const char *tw_band_end_name(const struct tw_verdict *verdict, enum tw_band_end blank);

/* "text", "card", ... and what it asks, in a sentence. */
const char *tw_check_name(enum tw_check_id id);
const char *tw_check_question(enum tw_check_id id);

#endif
