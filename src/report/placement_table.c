/* placement_table.c - how the knife lies in its drawing and on the machine, in a few lines that a maker can verify. */
#include "tangwright/report.h"

#include "base/numbers.h"
#include "base/units.h"
#include "report/lengths.h"
#include "report/placement_parts.h"
#include "tangwright/contacts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- shared with the picture ---- */

void placement_print_side(struct tw_text *text, const struct tw_placement *placement, int side)
{
    tw_text_print(text, "%s", tw_placement_side(placement, side));
    tw_text_print(text, placement->spine != 0 ? " (%s in the drawing)" : " (%s)",
                  tw_placement_towards(placement, 0.0, side));
}

static const char *signed_axis(const struct tw_axis *axis, int way, char out[3])
{
    out[0] = axis->sign * way < 0 ? '-' : '+';
    out[1] = axis->letter;
    out[2] = '\0';
    return out;
}

const char *placement_across(const struct tw_job *job, int side, char out[3])
{
    return signed_axis(&job->machine.across, side, out);
}

const char *placement_along(const struct tw_job *job, char out[3])
{
    return signed_axis(&job->machine.along, 1, out);
}

/* ---- the lines ---- */

static void line(struct tw_text *text, const char *name)
{
    tw_text_print(text, "  %-14s ", name);
}

static void length(struct tw_text *text, double mm, bool inches)
{
    if (inches)
        tw_text_print(text, "%.3f in (%.1f mm)", mm / TW_MM_PER_INCH, mm);
    else
        tw_text_print(text, "%.1f mm (%.2f in)", mm, mm / TW_MM_PER_INCH);
}

/* "(99.3, 13.1) mm" of the drawing. */
static void point(struct tw_text *text, double x_mm, double y_mm, bool inches)
{
    if (inches)
        tw_text_print(text, "(%.3f, %.3f) in", x_mm / TW_MM_PER_INCH + 0.0, y_mm / TW_MM_PER_INCH + 0.0);
    else
        tw_text_print(text, "(%.1f, %.1f) mm", x_mm + 0.0, y_mm + 0.0);
}

/* The middle of an end, in the drawing. */
static void place(struct tw_text *text, const struct tw_placement *placement, struct tw_point part, double way,
                  bool inches)
{
    struct tw_point at = tw_placement_drawing(placement, part);

    tw_text_print(text, "%s in the drawing, at ", tw_placement_towards(placement, way, 0.0));
    point(text, at.x_mm, at.y_mm, inches);
    tw_text_append(text, "\n", 1);
}

static void print_shown(struct tw_text *text, const struct tw_placement *placement, bool inches)
{
    const char *side = placement->axis.mirrored ? "seen from side B" : "seen from side A";

    line(text, "drawn");
    switch (placement->shown) {
    case TW_SHOWN_KNIFE:
        tw_text_print(text, "the whole knife, ");
        length(text, placement->ahead_mm + placement->behind_mm, inches);
        tw_text_print(text, " from tip to butt");
        break;
    case TW_SHOWN_TANG:
        tw_text_print(text, "the tang alone");
        break;
    case TW_SHOWN_PART:
        tw_text_print(text, "the tang and a piece of the blade");
        break;
    }
    tw_text_print(text, ", %s\n", side);
}

static void print_ahead(struct tw_text *text, const struct tw_placement *placement, bool inches)
{
    static const char *const names[] = {
        [TW_SHOWN_TANG] = "ricasso", [TW_SHOWN_PART] = "steel", [TW_SHOWN_KNIFE] = "blade"
    };

    if (placement->ahead_mm < 0.05) {
        tw_text_print(text, "nothing drawn ahead, ");
        return;
    }
    length(text, placement->ahead_mm, inches);
    tw_text_print(text, " of %s ahead, ", names[placement->shown]);
}

static void print_ends(struct tw_text *text, const struct tw_placement *placement, bool inches)
{
    bool knife = placement->shown == TW_SHOWN_KNIFE;

    line(text, knife ? "tip" : "front end");
    place(text, placement, placement->tip, -1.0, inches);
    line(text, "butt");
    place(text, placement, placement->butt, 1.0, inches);
    line(text, "taper start");
    tw_text_print(text, "at ");
    point(text, placement->axis.start_x_mm,
          placement->axis.y_down ? 0.0 - placement->axis.start_y_mm : placement->axis.start_y_mm, inches);
    tw_text_print(text, ": ");
    print_ahead(text, placement, inches);
    length(text, placement->behind_mm, inches);
    tw_text_print(text, " of tang behind\n");
}

static void print_width(struct tw_text *text, const struct tw_placement *placement, bool inches)
{
    line(text, "width there");
    length(text, placement->width_mm, inches);
    tw_text_print(text, "; the start lies %s from its middle, %.0f %% of the width\n",
                  tw_length_text(fabs(placement->middle.y_mm), 1, inches).text, 100.0 * placement->off_middle);
}

/* A blade whose handle runs askew, or an axis that was clicked beside it: to be seen before it is asked about. */
#define ASKEW_SAID_RAD (2.0 * TW_PI / 180.0)

static void print_askew(struct tw_text *text, const struct tw_placement *placement)
{
    double askew_rad = fabs(placement->askew_rad);

    if (askew_rad < ASKEW_SAID_RAD)
        return;
    line(text, "taper axis");
    tw_text_print(
        text,
        "%.1f deg askew to the middle line of the tang: lines of equal thickness are as far out of square to it\n",
        askew_rad * 180.0 / TW_PI);
}

/* The weightiest sign that speaks for the side. */
static const struct tw_sign *best_sign(const struct tw_sign *signs, size_t count, double way)
{
    const struct tw_sign *best = NULL;

    for (size_t i = 0; i < count; i++)
        if (signs[i].weight * way > 0.0 && (!best || fabs(signs[i].weight) > fabs(best->weight)))
            best = &signs[i];
    return best;
}

static void print_spine(struct tw_text *text, const struct tw_placement *placement)
{
    const struct tw_sign *sign = best_sign(placement->spines, placement->spine_count, placement->spine);

    line(text, "spine");
    if (placement->spine == 0) {
        tw_text_print(
            text, "not known from this drawing; in the group outline, spine = \"up\"; (down, left, right) tells it\n");
        return;
    }
    tw_text_print(text, "%s in the drawing: ", tw_placement_towards(placement, 0.0, placement->spine));
    tw_text_print(text, "%s\n", placement->spine_told ? "the job says so" : sign ? sign->text : "");
}

static void print_tang(struct tw_text *text, const struct tw_placement *placement)
{
    const struct tw_sign *sign = best_sign(placement->ends, placement->end_count, 1.0);

    if (!sign)
        return;
    line(text, "blade and tang");
    for (size_t i = 0, said = 0; i < placement->end_count; i++)
        if (placement->ends[i].weight > 0.0)
            tw_text_print(text, "%s%s", said++ ? ",\n                 " : "", placement->ends[i].text);
    tw_text_print(text, "\n");
}

static void print_holes(struct tw_text *text, const struct tw_placement *placement, bool inches)
{
    size_t told = placement->hole_count < TW_PLACED_HOLES_MOST ? placement->hole_count : TW_PLACED_HOLES_MOST;

    line(text, "holes");
    if (told == 0)
        tw_text_print(text, "none");
    for (size_t i = 0; i < told; i++) {
        const struct tw_placed_hole *hole = &placement->holes[i];

        tw_text_print(text, "%s%s%s, %s %s", i ? i % 3 ? "; " : ";\n                 " : "",
                      hole->round ? "" : "not round, about ", tw_length_text(hole->diameter_mm, 1, inches).text,
                      tw_length_text(fabs(hole->centre.x_mm), 1, inches).text,
                      hole->centre.x_mm < 0.0 ? "ahead" : "behind");
    }
    if (told < placement->hole_count)
        tw_text_print(text, "; and %zu more", placement->hole_count - told);
    tw_text_print(text, "\n");
}

static void print_machine(struct tw_text *text, const struct tw_job *job)
{
    const struct tw_placement *placement = &job->placement;
    int side = placement->spine < 0 ? -1 : 1;
    char along[3], a[3], b[3];

    line(text, "on the machine");
    tw_text_print(text, "butt towards %s; %s%s towards %s with side A up", placement_along(job, along),
                  placement->spine ? "" : "the side of ", tw_placement_side(placement, side),
                  placement_across(job, side, a));
    if (TW_SIDES_OF(job) > 1)
        tw_text_print(text, ", towards %s with side B up", placement_across(job, -side, b));
    tw_text_print(text, "\n");
}

/* ---- the stops ---- */

static void print_located(struct tw_text *text, const struct tw_contacts *contacts)
{
    static const char *const names[] = { "along", "across", "against turning" };
    bool located[] = { contacts->along, contacts->across, contacts->turning };
    int said = 0;

    for (int i = 0; i < 3; i++)
        if (located[i])
            tw_text_print(text, "%s%s", said++ ? ", " : "they locate it ", names[i]);
    if (said == 0)
        tw_text_print(text, contacts->not_drawn_count > 0 ? "what they locate cannot be told from this drawing"
                                                          : "no stop locates it");
}

/* One line for each stop that stands there while that side is up. */
static enum tw_status print_stops(struct tw_text *text, const struct tw_job *job, enum tw_side side,
                                  struct tw_findings *findings)
{
    struct tw_contacts contacts;
    enum tw_status status = tw_contacts_make(job, side, &contacts, findings);
    int said = 0;

    if (status != TW_OK)
        return status;
    line(text, side == TW_SIDE_A ? "stops, A up" : "stops, B up");
    for (size_t i = 0; i < contacts.count; i++) {
        char words[256];

        if (!tw_keep_out_is_stop(contacts.items[i].keep_out))
            continue;
        tw_contact_words(&contacts.items[i], tw_job_in_inches(job), words, sizeof words);
        tw_text_print(text, "%s%s", said++ ? "\n                 " : "", words);
    }
    tw_text_print(text, "%s", said ? "\n                 " : "");
    print_located(text, &contacts);
    tw_text_print(text, "\n");
    tw_contacts_free(&contacts);
    return TW_OK;
}

enum tw_status tw_placement_table(const struct tw_job *job, char **out, struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    bool inches = tw_job_in_inches(job);
    enum tw_status status = TW_OK;

    *out = NULL;
    tw_text_print(&text, "\nhow the knife lies\n");
    print_shown(&text, &job->placement, inches);
    print_ends(&text, &job->placement, inches);
    print_width(&text, &job->placement, inches);
    print_askew(&text, &job->placement);
    print_tang(&text, &job->placement);
    print_spine(&text, &job->placement);
    print_holes(&text, &job->placement, inches);
    print_machine(&text, job);
    for (int side = 0; status == TW_OK && side < TW_SIDES_OF(job); side++)
        status = print_stops(&text, job, (enum tw_side)side, findings);
    if (status != TW_OK) {
        tw_text_free(&text);
        return status;
    }
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
