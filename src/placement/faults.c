/* faults.c - where the job and the drawing disagree: one function for each way, and the sentence that asks. */
#include "placement/faults.h"

#include "base/numbers.h"
#include "base/units.h"
#include "geometry/ring.h"
#include "placement/signs.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define ON_THE_EDGE_MM 0.05 /* nearer than this a start on the outline counts as on the steel */
#define LONG_WAY       1.6  /* what is so many times longer than wide has a long way */
#define ACROSS_RAD     (TW_PI / 4.0)
#define ASKEW_RAD      (12.0 * TW_PI / 180.0)
#define ASKEW_TOLD_RAD (3.0 * TW_PI / 180.0)
#define TOLD_MM        1.0 /* a length that a person measured agrees with the drawn one */
#define BLADE_TOLD_MM  2.0
#define SHORTEST_BLADE 0.4 /* of the tang's length; below it a pointed piece is hardly all of the blade */
#define STEP_SHARE     0.2
#define STEP_BEHIND_MM 3.0
#define STEP_BEHIND    0.03 /* of the length behind the start: a heel may reach so far behind it */
#define FIRST_PIN      0.4  /* of the tang's length; the first of several pins is hardly farther back */
/* Breadth of a hand: no shorter tang is drawn where a longer one would do. Common practice, no source. */
#define HAND_MM 80.0
/* A tang so many times as wide at its start as in its middle, and narrow within that share of its length, has steps there. */
#define STEPS_WIDER 1.5
#define STEPS_SOON  0.35
/* A window of so large a share of the tang, or of what lies ahead of it, is drawn for a skeleton handle; or the ring is no window. */
#define WINDOW_OF_TANG  0.25
#define WINDOW_OF_AHEAD 0.1
/* A hole of so large a share of all inside the outer ring has a frame round it. */
#define IN_FRAME  0.3
#define BESIDE_MM 1.0 /* of a hole: so far from it a better start is named */
/* Of the length ahead: less behind the start is no tang, whichever way it runs. */
#define NO_TANG 0.05

struct inquiry {
    const struct shape *shape;
    const struct tw_placement_told *told;
    struct tw_placement *placement;
};

/* True when it found something; it has then asked(). */
typedef bool fault_finder(const struct inquiry *inquiry);

static bool ask(const struct inquiry *inquiry, enum tw_placement_fault fault, const char *key, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

static bool ask(const struct inquiry *inquiry, enum tw_placement_fault fault, const char *key, const char *format, ...)
{
    struct tw_placement *placement = inquiry->placement;
    va_list arguments;

    placement->fault = fault;
    placement->fault_key = key;
    va_start(arguments, format);
    vsnprintf(placement->fault_text, sizeof placement->fault_text, format, arguments);
    va_end(arguments);
    return true;
}

/* ---- pieces of sentences ---- */

struct words {
    char text[320];
};
struct place {
    char text[48];
};

static double rounded(double value, double to)
{
    return round(value / to) * to + 0.0;
}

/* "24.1 mm", "0.949 in" */
static struct tw_length_text length_words(const struct inquiry *inquiry, double mm)
{
    return tw_length_text(mm, 1, inquiry->placement->inches);
}

/* A place's coordinate in the unit in which the job names them. */
static double told_in(const struct inquiry *inquiry, double mm)
{
    return inquiry->told->places_in_inches ? rounded(mm / TW_MM_PER_INCH, 0.001) : rounded(mm, 0.01);
}

static const char *told_unit(const struct inquiry *inquiry)
{
    return inquiry->told->places_in_inches ? "in" : "mm";
}

/* (201, -33.8) mm */
static struct place place_words(const struct inquiry *inquiry, struct tw_point drawing)
{
    struct place words;

    snprintf(words.text, sizeof words.text, "(%.6g, %.6g) %s", told_in(inquiry, drawing.x_mm),
             told_in(inquiry, drawing.y_mm), told_unit(inquiry));
    return words;
}

/* taper_start = ["201 mm", "-33.8 mm"]; */
static struct words start_words(const struct inquiry *inquiry, const char *key, struct tw_point drawing)
{
    const char *unit = told_unit(inquiry);
    struct words words;

    snprintf(words.text, sizeof words.text, "%s = [\"%.6g %s\", \"%.6g %s\"];", key, told_in(inquiry, drawing.x_mm),
             unit, told_in(inquiry, drawing.y_mm), unit);
    return words;
}

/* The key that turns the axis by so much, as the job writes it. */
static struct words turned_words(const struct inquiry *inquiry, double turn_rad)
{
    const struct tw_taper_axis *axis = &inquiry->placement->axis;
    double direction_rad = axis->direction_rad + turn_rad;
    struct words words;

    if (inquiry->told->axis_by_point) {
        struct tw_taper_axis turned = *axis;
        struct shape shape;
        double x_mm;

        turned.direction_rad = direction_rad;
        shape_measure(inquiry->shape->drawing, &turned, &shape);
        x_mm = 0.8 * fmax(shape.to_mm, 1.0);
        return start_words(inquiry, "axis_towards", shape_to_drawing(&turned, shape_middle(&shape, x_mm)));
    }
    direction_rad = remainder(direction_rad, 2.0 * TW_PI);
    snprintf(words.text, sizeof words.text, "axis_angle = \"%.6g deg\";",
             rounded(direction_rad * 180.0 / TW_PI, 0.001));
    return words;
}

/* right, up, left or down: which of them the part frame's x points to. */
static const char *axis_word(const struct tw_placement *placement)
{
    static const char *const words[] = { "right", "up", "left", "down" };
    int quarter = (int)lround(placement->axis.direction_rad / (TW_PI / 2.0)) % 4;

    return words[quarter < 0 ? quarter + 4 : quarter];
}

/* What the signs say that speak for (above zero) or against the job, parted by commas. */
static struct words signs_words(const struct tw_placement *placement, double way)
{
    struct words words = { "" };
    size_t length = 0;

    for (size_t i = 0; i < placement->end_count && length < sizeof words.text; i++)
        if (placement->ends[i].weight * way > 0.0)
            length += (size_t)snprintf(words.text + length, sizeof words.text - length, "%s%s", length ? ", " : "",
                                       placement->ends[i].text);
    return words;
}

/* How the signs of the ends vote on the same drawing with the axis turned. */
static double vote_when_turned(const struct inquiry *inquiry, double turn_rad)
{
    struct tw_placement turned = { .axis = inquiry->placement->axis, .inches = inquiry->placement->inches };
    struct shape shape;

    turned.axis.direction_rad += turn_rad;
    shape_measure(inquiry->shape->drawing, &turned.axis, &shape);
    turned.ahead_mm = fmax(0.0, -shape.from_mm);
    turned.behind_mm = fmax(0.0, shape.to_mm);
    signs_of_ends(&shape, &turned);
    return turned.end_vote;
}

/* ---- where the taper starts ---- */

static bool lies_on(const struct inquiry *inquiry, struct tw_point drawing)
{
    struct tw_point at = shape_to_part(&inquiry->shape->axis, drawing);
    double low_mm, high_mm;

    return shape_piece_at(inquiry->shape, at.x_mm, at.y_mm, &low_mm, &high_mm);
}

static bool off_steel(const struct inquiry *inquiry)
{
    const struct shape *shape = inquiry->shape;
    const struct tw_taper_axis *axis = &shape->axis;
    struct tw_point start = { axis->start_x_mm, axis->start_y_mm };
    struct tw_point flipped = { start.x_mm, -start.y_mm }, swapped = { start.y_mm, start.x_mm };
    double off_mm = shape_distance_mm(&shape->drawing->outer, start);
    const char *key = "taper_start";
    struct place at = place_words(inquiry, shape_told(axis, start));
    struct tw_length_text off = length_words(inquiry, off_mm);

    if (lies_on(inquiry, start) || off_mm <= ON_THE_EDGE_MM)
        return false;
    if (lies_on(inquiry, flipped) && axis->y_down)
        return ask(inquiry, TW_PLACED_OFF_STEEL, "points",
                   "with y downwards the taper start %s lies %s off the steel; with y upwards it would lie on it: "
                   "write points = \"y up\";",
                   at.text, off.text);
    if (lies_on(inquiry, flipped))
        return ask(inquiry, TW_PLACED_OFF_STEEL, key,
                   "%s lies %s off the steel, but %s lies on it: here y counts upwards, in many drawing "
                   "programs downwards; write %s%s or, in an SVG drawing, add points = \"y down\";",
                   at.text, off.text, place_words(inquiry, flipped).text, start_words(inquiry, key, flipped).text,
                   inquiry->told->axis_by_point ? " and change the sign of y in axis_towards, too;" : "");
    if (lies_on(inquiry, swapped))
        return ask(inquiry, TW_PLACED_OFF_STEEL, key,
                   "%s lies %s off the steel; with x and y the other way round it would lie on it: write %s", at.text,
                   off.text, start_words(inquiry, key, shape_told(axis, swapped)).text);
    if (shape->from_mm < 0.0 && shape->to_mm > 0.0)
        return ask(inquiry, TW_PLACED_OFF_STEEL, key,
                   "%s lies %s off the steel; across from it the middle of the steel is %s: if the taper "
                   "begins there, write %s",
                   at.text, off.text, place_words(inquiry, shape_to_drawing(axis, shape_middle(shape, 0.0))).text,
                   start_words(inquiry, key, shape_to_drawing(axis, shape_middle(shape, 0.0))).text);
    if (shape->from_mm >= 0.0 && shape_end_fill(shape, true) > 0.7)
        return ask(inquiry, TW_PLACED_OFF_STEEL, key,
                   "%s lies %s off the steel, which begins %s behind it; if the tang is drawn alone, write "
                   "%s",
                   at.text, off.text, length_words(inquiry, shape->from_mm).text,
                   start_words(inquiry, key, shape_to_drawing(axis, shape_middle(shape, shape->from_mm))).text);
    return ask(inquiry, TW_PLACED_OFF_STEEL, key,
               "%s lies %s off the steel, which reaches from %s to %s along the taper axis; name a point on "
               "the middle of the handle, where the taper begins",
               at.text, off.text, place_words(inquiry, shape_to_drawing(axis, inquiry->placement->tip)).text,
               place_words(inquiry, shape_to_drawing(axis, inquiry->placement->butt)).text);
}

/* The outer ring is a frame, a sheet or a table, and the knife inside it. */
static bool is_framed(const struct inquiry *inquiry, const struct tw_ring *hole)
{
    return fabs(tw_ring_area_mm2(hole)) > IN_FRAME * fabs(tw_ring_area_mm2(&inquiry->shape->drawing->outer));
}

static bool in_hole(const struct inquiry *inquiry)
{
    const struct shape *shape = inquiry->shape;
    struct tw_point start = { shape->axis.start_x_mm, shape->axis.start_y_mm };
    const struct tw_ring *hole = shape_hole_at(shape->drawing, start);
    struct place at = place_words(inquiry, shape_told(&shape->axis, start));
    double low_x_mm = HUGE_VAL;

    if (!hole || shape_distance_mm(hole, start) <= ON_THE_EDGE_MM)
        return false;
    if (is_framed(inquiry, hole))
        return ask(
            inquiry, TW_PLACED_OFF_STEEL, "taper_start",
            "%s lies in a ring inside the outermost one, and so in a hole of it: the outermost seems to be a frame, "
            "or the sheet; delete it in the drawing, or name the knife's ring by pick",
            at.text);
    for (size_t i = 0; i < hole->count; i++)
        low_x_mm = fmin(low_x_mm, shape_to_part(&shape->axis, hole->points[i]).x_mm);
    return ask(inquiry, TW_PLACED_OFF_STEEL, "taper_start",
               "%s lies in a hole, not on steel; name a point of the taper axis beside it, as ahead of it %s", at.text,
               start_words(inquiry, "taper_start",
                           shape_to_drawing(&shape->axis, (struct tw_point){ low_x_mm - BESIDE_MM, 0.0 }))
                   .text);
}

static bool nothing_behind(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;

    if (placement->behind_mm > fmax(ON_THE_EDGE_MM, 0.01 * placement->ahead_mm))
        return false;
    if (placement->end_vote >= SIGNS_DECIDE)
        return ask(inquiry, TW_PLACED_NOTHING_BEHIND, "taper_start",
                   "is the butt: no steel lies behind it, and %s; name the point where the taper begins, "
                   "nearer the blade",
                   signs_words(placement, 1.0).text);
    return ask(inquiry, TW_PLACED_NOTHING_BEHIND, "axis",
               "no steel lies behind the taper start: the axis points away from the %s that are drawn; turn it "
               "round: %s",
               length_words(inquiry, placement->ahead_mm).text, turned_words(inquiry, TW_PI).text);
}

/* Where a whole knife's tang may begin: at the step of its heel, else unknown. */
static struct words heel_words(const struct inquiry *inquiry)
{
    struct shape_step step = shape_step(inquiry->shape);
    struct words words = { "" };

    if (step.wide_ahead && step.share >= STEP_SHARE && step.x_mm > 0.0)
        snprintf(
            words.text, sizeof words.text, ", such as to %s, behind the heel",
            place_words(inquiry, shape_to_drawing(&inquiry->shape->axis, shape_middle(inquiry->shape, step.settled_mm)))
                .text);
    return words;
}

static bool off_middle(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;
    struct tw_point middle = shape_to_drawing(&placement->axis, (struct tw_point){ 0.0, placement->middle.y_mm });

    if (placement->off_middle <= TW_OFF_MIDDLE_MOST)
        return false;
    if (*heel_words(inquiry).text) /* what is as wide there is the blade */
        return ask(inquiry, TW_PLACED_OFF_MIDDLE, "taper_start",
                   "lies in the blade: %s beside the middle of the steel, which is %s wide there and narrows "
                   "behind it; move it to where the tang begins%s",
                   length_words(inquiry, fabs(placement->middle.y_mm)).text,
                   length_words(inquiry, placement->width_mm).text, heel_words(inquiry).text);
    return ask(inquiry, TW_PLACED_OFF_MIDDLE, "taper_start",
               "lies %s beside the middle of the steel, which is %s wide there: that is %.0f %% of the width, "
               "and up to %.0f %% is allowed; write %s",
               length_words(inquiry, fabs(placement->middle.y_mm)).text,
               length_words(inquiry, placement->width_mm).text, 100.0 * placement->off_middle,
               100.0 * TW_OFF_MIDDLE_MOST, start_words(inquiry, "taper_start", middle).text);
}

/* ---- which way the axis runs ---- */

static bool butt_told(const struct inquiry *inquiry)
{
    static const char *const words[] = { "", "right", "up", "left", "down" };
    const struct tw_placement *placement = inquiry->placement;
    double told_rad = ((int)inquiry->told->butt - 1) * TW_PI / 2.0;

    if (inquiry->told->butt == TW_TOWARDS_BY_SHAPE || cos(placement->axis.direction_rad - told_rad) > 0.5)
        return false;
    return ask(inquiry, TW_PLACED_BUTT_TOLD, "butt",
               "says that the butt lies %s in the drawing, but the taper axis runs %s; turn one of them",
               words[inquiry->told->butt], tw_placement_towards(placement, 1.0, 0.0));
}

static bool spine_told(const struct inquiry *inquiry)
{
    static const char *const words[] = { "", "right", "up", "left", "down" };
    const struct tw_placement *placement = inquiry->placement;
    double told_rad = ((int)inquiry->told->spine - 1) * TW_PI / 2.0;

    if (inquiry->told->spine == TW_TOWARDS_BY_SHAPE || fabs(sin(placement->axis.direction_rad - told_rad)) > 0.5)
        return false;
    return ask(inquiry, TW_PLACED_SPINE_TOLD, "spine",
               "says that the spine lies %s in the drawing, but that is along the taper axis; it lies %s or %s",
               words[inquiry->told->spine], tw_placement_towards(placement, 0.0, 1.0),
               tw_placement_towards(placement, 0.0, -1.0));
}

/* From the lowest to the highest y. */
static double height_mm(const struct shape *shape)
{
    double low_mm = HUGE_VAL, high_mm = -HUGE_VAL;

    for (int i = 0; i < SHAPE_SECTIONS; i++) {
        low_mm = fmin(low_mm, shape->low_mm[i]);
        high_mm = fmax(high_mm, shape->high_mm[i]);
    }
    return high_mm - low_mm;
}

static bool across(const struct inquiry *inquiry)
{
    double elongation, long_way_rad = shape_long_way_rad(inquiry->shape, &elongation), turn_rad;
    double along_mm = inquiry->placement->ahead_mm + inquiry->placement->behind_mm;

    if (inquiry->told->butt != TW_TOWARDS_BY_SHAPE || elongation < LONG_WAY || long_way_rad < ACROSS_RAD ||
        height_mm(inquiry->shape) < 1.1 * along_mm)
        return false;
    turn_rad =
        vote_when_turned(inquiry, TW_PI / 2.0) >= vote_when_turned(inquiry, -TW_PI / 2.0) ? TW_PI / 2.0 : -TW_PI / 2.0;
    return ask(inquiry, TW_PLACED_ACROSS, "axis",
               "the taper axis runs across the knife, which is %s long along it and %s across it; turn it: %s or, "
               "if the tang does lie that way, add butt = \"%s\";",
               length_words(inquiry, along_mm).text, length_words(inquiry, height_mm(inquiry->shape)).text,
               turned_words(inquiry, turn_rad).text, axis_word(inquiry->placement));
}

static bool reversed(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;

    if (inquiry->told->butt != TW_TOWARDS_BY_SHAPE || placement->end_vote > -SIGNS_DECIDE)
        return false;
    return ask(inquiry, TW_PLACED_REVERSED, "axis",
               "the taper axis runs towards the blade, it seems: %s; turn it round: %s or, if the tang does lie that "
               "way, add butt = \"%s\";",
               signs_words(placement, -1.0).text, turned_words(inquiry, TW_PI).text, axis_word(placement));
}

/* So short a piece has no direction of its own that the axis could follow. */
static bool little_behind(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;

    if (placement->behind_mm > NO_TANG * placement->ahead_mm)
        return false;
    return ask(inquiry, TW_PLACED_NOTHING_BEHIND, "taper_start",
               "lies at the end of the steel: only %s of the %s that are drawn lie behind it, which is no tang; "
               "name the point where the taper begins, nearer the blade",
               length_words(inquiry, placement->behind_mm).text,
               length_words(inquiry, placement->ahead_mm + placement->behind_mm).text);
}

static bool askew(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;
    double is_rad = fabs(placement->askew_rad);

    if (is_rad < ASKEW_RAD || fabs(inquiry->told->askew_rad - is_rad) < ASKEW_TOLD_RAD)
        return false;
    return ask(
        inquiry, TW_PLACED_ASKEW, "axis",
        "the middle of the tang runs %.1f deg askew to the taper axis; up to %.0f deg goes unasked: write %s or, "
        "if that is meant, add askew = \"%.0f deg\";",
        is_rad * 180.0 / TW_PI, ASKEW_RAD * 180.0 / TW_PI,
        turned_words(inquiry, (placement->axis.mirrored ? -1.0 : 1.0) * placement->askew_rad).text,
        is_rad * 180.0 / TW_PI);
}

/* ---- what lies at the taper start ---- */

static bool tang_width_agrees(const struct inquiry *inquiry)
{
    return fabs(inquiry->told->tang_width_mm - inquiry->placement->widest_mm) <= TOLD_MM;
}

static bool runs_to_a_point(const struct shape *shape)
{
    double in_mm = shape_width_mm(shape, SHAPE_SECTIONS / 10);

    return shape_end_fill(shape, true) < 0.65 && shape_width_mm(shape, 0) < 0.6 * in_mm;
}

static bool at_tip(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;

    if (placement->ahead_mm > 0.02 * placement->behind_mm || !runs_to_a_point(inquiry->shape) ||
        tang_width_agrees(inquiry))
        return false;
    return ask(inquiry, TW_PLACED_AT_TIP, "taper_start",
               "lies at the tip: the steel runs out to a point there, and all %s of it would be tapered; move the "
               "start to where the tang begins%s; if this is a tang alone, add tang_width = \"%s\";",
               length_words(inquiry, placement->behind_mm).text, heel_words(inquiry).text,
               length_words(inquiry, placement->widest_mm).text);
}

static bool in_blade(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;

    if (placement->ahead_mm <= 0.02 * placement->behind_mm ||
        placement->ahead_mm > SHORTEST_BLADE * placement->behind_mm || !runs_to_a_point(inquiry->shape) ||
        fabs(inquiry->told->blade_mm - placement->ahead_mm) <= BLADE_TOLD_MM)
        return false;
    return ask(inquiry, TW_PLACED_IN_BLADE, "taper_start",
               "leaves only %s of blade ahead of it and %s of steel behind; move it to where the tang begins%s; "
               "if the blade is so short, add blade: { length = \"%s\"; };",
               length_words(inquiry, placement->ahead_mm).text, length_words(inquiry, placement->behind_mm).text,
               heel_words(inquiry).text, length_words(inquiry, placement->ahead_mm).text);
}

/* Behind a heel the steel is no blade any more. */
static bool behind_heel(const struct inquiry *inquiry)
{
    struct shape_step step = shape_step(inquiry->shape);

    return step.wide_ahead && step.share >= STEP_SHARE && step.x_mm <= 0.0;
}

/* Where the first of the pins is, and of all holes: a slot that takes weight out goes through no blade either. */
static size_t first_holes(const struct tw_placement *placement, double *pin_mm, double *hole_mm)
{
    size_t pins = 0;

    *pin_mm = *hole_mm = HUGE_VAL;
    for (size_t i = 0; i < placement->hole_count && i < TW_PLACED_HOLES_MOST; i++) {
        double x_mm = placement->holes[i].centre.x_mm;
        bool is_pin = signs_is_pin_hole(&placement->holes[i]);

        pins += is_pin;
        *pin_mm = is_pin ? fmin(*pin_mm, x_mm) : *pin_mm;
        *hole_mm = x_mm > 0.0 ? fmin(*hole_mm, x_mm) : *hole_mm;
    }
    return pins;
}

/* Of several pins the first sits in the front part of the tang. Not asked where another sign tells of a tang, or where the longest
 * one with such pins would be too short for a hand. */
static bool far_from_pins(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;
    double behind_mm = placement->behind_mm, first_mm, hole_mm;
    size_t pins = first_holes(placement, &first_mm, &hole_mm);

    if (pins < 2 || fmin(first_mm, hole_mm) < FIRST_PIN * behind_mm || placement->shown != TW_SHOWN_KNIFE ||
        behind_heel(inquiry) || (behind_mm - first_mm) / (1.0 - FIRST_PIN) < HAND_MM ||
        fabs(inquiry->told->blade_mm - placement->ahead_mm) <= BLADE_TOLD_MM)
        return false;
    return ask(inquiry, TW_PLACED_IN_BLADE, "taper_start",
               "may lie in the blade: the first pin hole is %s behind it, %.0f %% of the way to the butt; move it to "
               "where the tang begins; if it does, %s behind the tip, add blade: { length = \"%s\"; };",
               length_words(inquiry, first_mm).text, 100.0 * first_mm / behind_mm,
               length_words(inquiry, placement->ahead_mm).text, length_words(inquiry, placement->ahead_mm).text);
}

/* A pin, or a hole in the blade to hang the knife by: that is wider, or lies ahead of the heel. */
static bool is_ahead(const struct tw_placed_hole *hole, const struct shape_step *step)
{
    bool heel_between = step->wide_ahead && step->share >= STEP_SHARE && step->x_mm > hole->centre.x_mm;

    return hole->diameter_mm <= SIGNS_PIN_MM && hole->centre.x_mm < -hole->diameter_mm / 2.0 && !heel_between;
}

/* Pins hold the scales, and the taper begins where these do: pins on both sides of it go through a bolster, or it lies too far
 * back. */
static bool pins_on_both_sides(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;
    const struct tw_placed_hole *first = NULL;
    struct shape_step step = shape_step(inquiry->shape);
    int ahead = 0, behind = 0;

    for (size_t i = 0; i < placement->hole_count && i < TW_PLACED_HOLES_MOST; i++) {
        const struct tw_placed_hole *hole = &placement->holes[i];

        if (!signs_is_pin_hole(hole))
            continue;
        if (is_ahead(hole, &step)) {
            first = first ? first : hole; /* they are listed along x */
            ahead++;
        }
        behind += hole->centre.x_mm > hole->diameter_mm / 2.0;
    }
    if (ahead == 0 || behind == 0 || ahead == inquiry->told->pins_ahead)
        return false;
    return ask(inquiry, TW_PLACED_PINS_AHEAD, "taper_start",
               "of the pin holes %d %s ahead of it, up to %s, and %d behind; move it to where the tang begins, "
               "ahead of the first pin at %s; if the taper begins among the pins, add pins_ahead = %d;",
               ahead, ahead == 1 ? "lies" : "lie", length_words(inquiry, -first->centre.x_mm).text, behind,
               place_words(inquiry, shape_to_drawing(&placement->axis, first->centre)).text, ahead);
}

static bool over_step(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;
    struct shape_step step = shape_step(inquiry->shape);

    if (!step.wide_ahead || step.share < STEP_SHARE || tang_width_agrees(inquiry) ||
        step.x_mm < fmax(STEP_BEHIND_MM, STEP_BEHIND * placement->behind_mm))
        return false;
    return ask(
        inquiry, TW_PLACED_OVER_STEP, "taper_start",
        "the taper would run over the heel: for %s behind the taper start the steel is up to %s wide, "
        "then it narrows suddenly from %s to %s; move the start behind that, to %s or so; if the tang "
        "is so wide, add tang_width = \"%s\";",
        length_words(inquiry, step.x_mm).text, length_words(inquiry, placement->widest_mm).text,
        length_words(inquiry, step.wide_mm).text, length_words(inquiry, step.narrow_mm).text,
        place_words(inquiry, shape_to_drawing(&placement->axis, shape_middle(inquiry->shape, step.settled_mm))).text,
        length_words(inquiry, placement->widest_mm).text);
}

/* A heel and a bolster behind it are two steps, neither of which need be large. Where the steel is as narrow as in the middle
 * of what lies behind. */
static bool over_steps(const struct inquiry *inquiry)
{
    const struct tw_placement *placement = inquiry->placement;
    const struct shape *shape = inquiry->shape;
    double length_mm = placement->behind_mm, narrow_mm = shape_narrowest_mm(shape, 0.4 * length_mm, 0.6 * length_mm);
    double settled_mm = shape_first_narrow_mm(shape, 1.1 * narrow_mm);

    if (placement->shown != TW_SHOWN_KNIFE || tang_width_agrees(inquiry) ||
        placement->width_mm < STEPS_WIDER * narrow_mm || settled_mm < fmax(STEP_BEHIND_MM, STEP_BEHIND * length_mm) ||
        settled_mm > STEPS_SOON * length_mm)
        return false;
    return ask(inquiry, TW_PLACED_OVER_STEP, "taper_start",
               "may lie in the blade: the steel is %s wide there, and from %s behind it no wider than %s; move "
               "the start behind that, to %s or so; if the tang is so wide, add tang_width = \"%s\";",
               length_words(inquiry, placement->width_mm).text, length_words(inquiry, settled_mm).text,
               length_words(inquiry, 1.1 * narrow_mm).text,
               place_words(inquiry, shape_to_drawing(&placement->axis, shape_middle(shape, settled_mm))).text,
               length_words(inquiry, placement->widest_mm).text);
}

/* Area inside the outer ring between two x of the part frame, by the sections. */
static double area_mm2(const struct shape *shape, double from_mm, double to_mm)
{
    double sum_mm2 = 0.0;

    for (int i = 0; i < SHAPE_SECTIONS; i++)
        if (shape_x_mm(shape, i) >= from_mm && shape_x_mm(shape, i) <= to_mm)
            sum_mm2 += shape_width_mm(shape, i) * shape->step_mm;
    return sum_mm2;
}

/* Round ones are what they look like: pins, holes to hang the knife by, holes for weight. */
static bool is_large_window(const struct shape *shape, const struct tw_ring *ring)
{
    struct tw_point centre = shape_to_part(&shape->axis, tw_ring_centre(ring));
    struct tw_box box = tw_ring_box(ring);
    bool behind = centre.x_mm > 0.0;
    double around_mm2 = area_mm2(shape, behind ? 0.0 : -HUGE_VAL, behind ? HUGE_VAL : 0.0);

    return !signs_is_round(&box, fabs(tw_ring_area_mm2(ring))) &&
           fabs(tw_ring_area_mm2(ring)) > (behind ? WINDOW_OF_TANG : WINDOW_OF_AHEAD) * around_mm2;
}

/* Many a drawing holds closed lines that no saw follows: the scale's edge, a glue face, the bevel. Each would be a hole. */
static bool large_windows(const struct inquiry *inquiry)
{
    const struct shape *shape = inquiry->shape;
    const struct tw_ring *first = NULL;
    int count = 0;
    struct tw_box box;

    for (size_t i = 0; i < shape->drawing->hole_count; i++)
        if (is_large_window(shape, &shape->drawing->holes[i])) {
            first = first ? first : &shape->drawing->holes[i];
            count++;
        }
    if (!first || count == inquiry->told->windows)
        return false;
    box = tw_ring_box(first);
    return ask(inquiry, TW_PLACED_WINDOWS, inquiry->told->windows > 0 ? "windows" : "file",
               "a closed line of %s by %s is drawn inside the knife, about %s, and counts as a window cut through the "
               "steel: it would be neither ground nor weighed; if it is the edge of a scale, a bevel or a pocket, take "
               "it out of the drawing; if the steel is cut through there, add windows = %d;",
               length_words(inquiry, box.max_x_mm - box.min_x_mm).text,
               length_words(inquiry, box.max_y_mm - box.min_y_mm).text,
               place_words(inquiry, shape_told(&shape->axis, tw_ring_centre(first))).text, count);
}

static bool width_told(const struct inquiry *inquiry)
{
    if (!(inquiry->told->tang_width_mm > 0.0) || tang_width_agrees(inquiry))
        return false;
    return ask(inquiry, TW_PLACED_WIDTH_TOLD, "tang_width",
               "%s, but the drawn steel behind the taper start is %s wide at most; correct the one that is wrong: "
               "this key, taper_start, or the drawing's unit",
               length_words(inquiry, inquiry->told->tang_width_mm).text,
               length_words(inquiry, inquiry->placement->widest_mm).text);
}

void faults_find(const struct shape *shape, const struct tw_placement_told *told, struct tw_placement *placement)
{
    static fault_finder *const finders[] = { off_steel,     in_hole,      nothing_behind,     butt_told,
                                             spine_told,    across,       reversed,           at_tip,
                                             in_blade,      over_step,    pins_on_both_sides, far_from_pins,
                                             little_behind, askew,        off_middle,         over_steps,
                                             width_told,    large_windows };
    struct inquiry inquiry = { shape, told, placement };

    for (size_t i = 0; i < sizeof finders / sizeof *finders; i++)
        if (finders[i](&inquiry))
            return;
}
