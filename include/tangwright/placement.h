/* placement.h - how the knife lies in its drawing: which end is blade and which tang, which long edge is the spine,
 * and whether the job's taper start and axis fit what is drawn.
 *
 * Several signs look at the shape, each for itself, and vote with a weight and a sentence. Where they cannot tell,
 * nothing is claimed. Where they tell against the job there is a question: the job is mended, or says that it is meant
 * so (`told`). The thresholds are judgement, tried on the samples and on the drawings of tests/test_placement.c.
 *
 * Frames  lengths and places are of the part frame (job.h) unless a name says `drawing`.
 * Memory  nothing here allocates.
 * Errors  none: a drawing that fits nowhere is a question, too. */
#ifndef TANGWRIGHT_PLACEMENT_H
#define TANGWRIGHT_PLACEMENT_H

#include "tangwright/outline.h"

#include <stdbool.h>

/* A direction in the drawing as it is looked at: x right, y up. */
enum tw_towards { TW_TOWARDS_BY_SHAPE, TW_TOWARDS_RIGHT, TW_TOWARDS_UP, TW_TOWARDS_LEFT, TW_TOWARDS_DOWN };

/* What the job says of the drawing beyond where the taper lies. Zero: nothing. */
struct tw_placement_told {
    enum tw_towards butt, spine;
    double tang_width_mm; /* the greatest width of the tang */
    double askew_rad;     /* angle between the taper axis and the tang's middle line */
    double blade_mm;      /* from the tip to the taper start */
    int pins_ahead;       /* pin holes ahead of the taper start, through a bolster */
    int windows;          /* large ones, cut through the steel */
    bool axis_by_point;   /* the axis is given by axis_towards: for the advice */
    /* The units of sentences, which the job knows: of lengths, and of places in the drawing as it writes them. */
    bool inches, places_in_inches;
};

enum tw_shown {
    TW_SHOWN_TANG, /* the tang alone, or with a short piece of the ricasso */
    TW_SHOWN_PART, /* the tang and steel ahead of it that has not the shape of a whole blade */
    TW_SHOWN_KNIFE
};

/* What one sign says. Above zero: as the job has it (ends), or the spine lies towards +y (spine). */
struct tw_sign {
    double weight;
    char text[144];
};

enum { TW_END_SIGNS_MOST = 6, TW_SPINE_SIGNS_MOST = 4, TW_PLACED_HOLES_MOST = 40 };

struct tw_placed_hole {
    struct tw_point centre;
    double diameter_mm; /* of a round one; else of a round one with its area */
    bool round;
};

enum tw_placement_fault {
    TW_PLACED_WELL,
    TW_PLACED_OFF_STEEL,
    TW_PLACED_NOTHING_BEHIND,
    TW_PLACED_ACROSS,
    TW_PLACED_BUTT_TOLD,  /* the axis does not run where the job says that the butt lies */
    TW_PLACED_SPINE_TOLD, /* the spine is said to lie along the axis */
    TW_PLACED_REVERSED,
    TW_PLACED_AT_TIP,
    TW_PLACED_OFF_MIDDLE,
    TW_PLACED_IN_BLADE, /* so near to the tip that hardly any blade is left */
    TW_PLACED_OVER_STEP,
    TW_PLACED_PINS_AHEAD, /* pins on both sides of the taper start */
    TW_PLACED_WIDTH_TOLD,
    TW_PLACED_WINDOWS, /* a closed line so large that it may be no window */
    TW_PLACED_ASKEW
};

struct tw_placement {
    struct tw_taper_axis axis;
    bool inches; /* sentences tell lengths in inches, else in mm */
    enum tw_shown shown;
    double ahead_mm, behind_mm; /* how far the steel reaches from the taper start */
    struct tw_point tip, butt;  /* the middle of its ends, ahead and behind */
    struct tw_point middle;     /* of the section at the taper start */
    double width_mm;            /* of that section */
    double widest_mm;           /* greatest width behind the taper start */
    double off_middle;          /* how far the start lies from the middle of the section, as a share of its width */
    double askew_rad;           /* of the tang's middle line to the taper axis */
    int spine;                  /* +1: towards +y, -1: towards -y, 0: not known */
    bool spine_told;            /* by the job, not by the shape */
    struct tw_sign ends[TW_END_SIGNS_MOST], spines[TW_SPINE_SIGNS_MOST];
    size_t end_count, spine_count; /* of signs that say something */
    double end_vote, spine_vote;
    struct tw_placed_hole holes[TW_PLACED_HOLES_MOST]; /* along x */
    size_t hole_count;                                 /* of all; those beyond the array are not told */
    enum tw_placement_fault fault;                     /* the first that was found */
    const char *fault_key;                             /* of the group outline: "axis", "taper_start", ... */
    char fault_text[640];
};

/* The largest share of its section's width by which the taper start may lie beside the middle. */
#define TW_OFF_MIDDLE_MOST 0.25

/* Looks at the whole drawing, in mm, before it is cut. */
void tw_placement_examine(const struct tw_outline *drawing, const struct tw_taper_axis *axis,
                          const struct tw_placement_told *told, struct tw_placement *out);

/* A place of the part frame in the drawing. */
struct tw_point tw_placement_drawing(const struct tw_placement *placement, struct tw_point part);

/* Where the part frame's direction x, y points in the drawing: "right", "up and left". */
const char *tw_placement_towards(const struct tw_placement *placement, double x, double y);

/* The drawing's own axis that is nearest to the part frame's +y (side 1) or -y (side -1): "+y". */
const char *tw_placement_drawing_axis(const struct tw_placement *placement, int side);

/* What lies towards +y (side 1) or -y (side -1): "spine" or "edge", or where neither is known the drawing's own
 * "drawing +y". */
const char *tw_placement_side(const struct tw_placement *placement, int side);

#endif
