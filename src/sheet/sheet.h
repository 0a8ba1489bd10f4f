/* sheet.h - what the sections of the page work with. */
#ifndef TANGWRIGHT_SHEET_SHEET_H
#define TANGWRIGHT_SHEET_SHEET_H

#include "sheet/canvas.h"
#include "sheet/markup.h"
#include "tangwright/relief.h"
#include "tangwright/sheet.h"
#include "verdict/trace.h"

/* What a step of a program is there for. Where the program is not as planned, only the kind of motion tells. */
enum sheet_work {
    SHEET_CUT,     /* along a lane or loop, rough or finish */
    SHEET_SPARK,   /* the same without infeed */
    SHEET_TURN,    /* to the next lane and down to its depth, at feed */
    SHEET_LIFT,    /* raised: approach, return, retract */
    SHEET_STAY,    /* a dwell at the end of a lane */
    SHEET_COOL,    /* waiting for the tang to cool */
    SHEET_SPINDLE, /* up to speed, spun dry */
    SHEET_WORK_COUNT
};

struct sheet_step {
    enum sheet_work work;
    int layer;      /* of the side's plan; -1: none */
    int part;       /* from 0; -1: no station of the fixture */
    double start_s; /* from the arrival over the first part */
};

/* Some steps in a row that grind without leaving the work. */
struct sheet_pass {
    size_t from, to; /* steps */
    int layer;
};

struct sheet_side {
    char name[24], id[24]; /* "A" or "A, roughing"; the same for the id of an element: "a", "a-roughing" */
    const struct tw_setup_plan *setup;
    const struct tw_card *card;
    const struct tw_proof *proof;  /* of the dry-run; NULL: not run */
    struct tw_outline tang, blade; /* in the setup frame */
    const struct tw_wheel *wheel;
    struct tw_relief_region hollow; /* of a relief's program, in the setup frame; else empty */
    struct tw_trace trace;
    struct sheet_step *steps; /* one for each step of the trace */
    struct sheet_pass *passes;
    size_t pass_count, pass_capacity;
    double work_s[SHEET_WORK_COUNT];
    double duration_s;
    bool as_planned; /* the program is byte for byte what the plan says */
};

/* What the page of one load of a run shows. */
struct sheet_load {
    const struct tw_run_request *request;
    const struct tw_run_layout *layout;
    size_t load;
    const struct tw_load_plan *plan;
    const struct tw_run_outcome *outcome; /* up to this load */
};

struct page {
    const struct tw_sheet *sheet;
    const struct tw_job *job;
    const struct tw_plan *plan;
    const struct tw_fixture_design *design; /* of a fixture's page; else NULL */
    const struct tw_comparison *comparison; /* of a page of variants; else NULL */
    const struct sheet_load *load;          /* of a load's page; else NULL */
    const struct tw_run_outcome *outcome;   /* of a run's page; else NULL */
    const struct tw_verdict *verdict;
    struct tw_findings *findings;
    struct sheet_side sides[TW_SETUPS_MOST]; /* a setup and its program each, in the order of work */
    size_t side_count;
    double spine_half_mm;     /* how far from the centre plane the view from the spine reaches */
    bool inch;                /* the machine's program is in inch: that unit comes first */
    struct tw_findings notes; /* remarks on job, fixture and plan */
    int box_count;            /* boxes to tick so far: each has a number of its own */
    struct tw_text out;
};

enum tw_status page_open(const struct tw_sheet *sheet, struct page *page, struct tw_findings *findings);
void page_close(struct page *page);

/* A letter for a person. */

/* Where along the tang it is packed and gauged: spread evenly over the taper, its ends included. */
enum { SHEET_GAUGE_POINTS = 5 };
#define SHEET_HANGS_MM (-0.005) /* packing below this: the tang hangs lower than the pad */
double page_gauge_x_mm(const struct page *page, int i);

/* The first setup, or the side's own, under which the part lies as under this one: same side up, same tilt, same packing. */
const struct sheet_side *page_lies_as(const struct page *page, size_t side);

/* Whether the butt end is raised by the same for both; for all programs. */
bool page_tilts_as(const struct sheet_side *side, const struct sheet_side *other);
bool page_tilts_alike(const struct page *page);

/* What is packed there under that side's setup: a cell of a table. It stands in the gauge sheet; a setup under which
 * nothing is packed anywhere has none. */
bool page_shows_packing(const struct page *page, size_t side);
void page_write_packing_head(struct page *page, size_t side);
void page_write_packing(struct page *page, size_t side, int i);

/* A step's end in the setup frame of its part. */
void side_place(const struct page *page, const struct sheet_side *side, size_t step, const double point_mm[3],
                double out_mm[3]);

/* Draws a figure wide and narrow. `draw` calls canvas_begin() and canvas_end(). The caption is HTML. */
typedef void (*sheet_draw)(struct page *page, struct canvas *canvas, const void *what);
/* `id` of a side's figure: "lanes" gives "lanes-a". */
void page_side_figure(struct page *page, const struct sheet_side *side, const char *id, const char *title,
                      const char *caption, sheet_draw draw, const void *what);
void page_figure(struct page *page, const char *id, const char *title, const char *caption, sheet_draw draw,
                 const void *what);

/* What is done to the wheel between two programs. Whether what the one before has cost it can be found at all. */
bool page_finds_lost(double most_mm);
void page_say_touch_again(struct page *page, double likely_mm, double most_mm);
void page_say_change_wheel(struct page *page, const struct tw_wheel *wheel);
void page_say_dress(struct page *page);

/* Whether the sides are roughed, measured, and finished then. */
bool page_is_in_turns(const struct page *page);

/* Whether side B lies with side A's ground face on a rest that is ground to the taper: a blank thinner than stated, or one whose side A is
 * not finished yet, has its ricasso clear of the pad then. */
bool page_lies_on_rising_rest(const struct page *page);

/* The class of what stands on the fixture. */
const char *keep_out_class(enum tw_keep_out_kind kind);

/* All parts on the fixture, from above: a figure. */
void write_parts(struct page *page);

/* Where the zero of each part lies, as a table, with room to write. */
void sheet_write_zeros(struct page *page);

/* ---- one function for each section of the page; the table is in sheet.c ---- */

enum tw_status section_placement(struct page *page);
enum tw_status section_comparison(struct page *page);
enum tw_status section_job(struct page *page);
enum tw_status section_figures(struct page *page);
enum tw_status section_cautions(struct page *page);
enum tw_status section_verdict(struct page *page);
enum tw_status section_steps(struct page *page);
enum tw_status section_work(struct page *page);
enum tw_status section_tools(struct page *page);
enum tw_status section_wheel(struct page *page);
enum tw_status section_touch(struct page *page);
enum tw_status section_tilts(struct page *page);
enum tw_status section_setups(struct page *page);
enum tw_status section_lanes(struct page *page);
enum tw_status section_spine(struct page *page);
enum tw_status section_straight(struct page *page);
enum tw_status section_balance(struct page *page);
enum tw_status section_layers(struct page *page);
enum tw_status section_heat(struct page *page);
enum tw_status section_maps(struct page *page);
enum tw_status section_play(struct page *page);
enum tw_status section_gauge(struct page *page);
enum tw_status section_estimate(struct page *page);
enum tw_status section_noted(struct page *page);
bool sheet_tells_notes(const struct page *page);
enum tw_status page_gather_notes(struct page *page);
enum tw_status section_budget(struct page *page);

/* fixture.c, fixture_parts.c and fixture_tables.c: the sections of a fixture's page */
enum tw_status section_fixture_parts(struct page *page);
enum tw_status section_fixture_cautions(struct page *page);
enum tw_status section_fixture_lying(struct page *page);
enum tw_status section_fixture_seating(struct page *page);
enum tw_status section_fixture_stations(struct page *page);
enum tw_status section_fixture_holes(struct page *page);
enum tw_status section_fixture_gauge(struct page *page);

/* run.c: the sections of a load's page and of a run's */
enum tw_status section_load_places(struct page *page);
enum tw_status section_load_packing(struct page *page);
enum tw_status section_load_programs(struct page *page);
bool sheet_run_has_loads(const struct page *page);
bool sheet_run_is_gauged(const struct page *page);
enum tw_status section_run_chart(struct page *page);
bool sheet_load_is_roughed(const struct page *page);
enum tw_status section_load_roughed(struct page *page);
enum tw_status section_load_gauge(struct page *page);
enum tw_status section_run_sum(struct page *page);
enum tw_status section_run_loads(struct page *page);
enum tw_status section_run_aside(struct page *page);
/* Whether a blank of the load was surveyed. */
bool sheet_load_is_surveyed(const struct page *page);

/* The head of the page: title, what it is, and the answer. */
void page_head(struct page *page);

/* wheel.c: whether any program of the page is ground with a cup. */
bool sheet_has_cup(const struct page *page);

/* Of a cup: the band of its rim that cuts in this side's deepest layer. */
double sheet_band_mm(const struct page *page, const struct sheet_side *side);

/* ", coolant on", or nothing where the job is ground dry. */
const char *sheet_coolant_on(const struct page *page);
/* The first program that is ground with another wheel than the first; NULL: all take one wheel. */
const struct sheet_side *page_other_wheel(const struct page *page);
/* Whether a program before this one has the same wheel: each is told of once. */
bool page_met_wheel_before(const struct page *page, size_t side);
/* Whether there is anything to tell of the wheel's state. */
bool sheet_tells_wheel(const struct page *page);

/* Whether the butt end is raised from program to program by another stack, which takes a table. */
bool sheet_tells_tilts(const struct page *page);

/* A box to tick; what stands between the two is its label. */
void sheet_box_open(struct page *page);
void sheet_box_close(struct page *page);

/* Where the spine lies when that side is up, or, where the drawing does not tell it from the edge, the drawing's own y. */
void sheet_write_across(struct page *page, struct tw_text *out, enum tw_side up);

/* stops.c: what of the fixture stands while the side is up, by its number in the drawing, where the stops touch, and what is out
 * of the way. What ends ahead of `from_x_mm` is not drawn. */
enum tw_status sheet_write_holders(struct page *page, struct tw_text *out, enum tw_side side, double from_x_mm);

#endif
