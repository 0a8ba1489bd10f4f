/* misplaced.c - stops that would touch if the drawing lay otherwise: one wrong word in the job rather than many wrong stops.
 *
 * Pins only: a body may be a fence that is not meant to touch. Moving every pin along the axis, or to the other side of it, is the
 * same as moving or mirroring the part among them. */
#include "tangwright/warm.h"
#include "tangwright/contacts.h"

#include "contacts/blank.h"
#include "geometry/ring.h"

#include <math.h>
#include <stdlib.h>

/* Judgement: drawings are off by a mistyped number or a wrong end of a line, fixtures by a burr. */
#define FARTHEST_MM    15.0
#define STEP_MM        0.5
#define FOUND_MM       0.001
#define PINS_MIRRORED  2 /* fewer say nothing ... */
#define PINS_SHIFTED   3 /* ... and two find some shift at which both touch by chance */
#define PINS_ONE_SPARE 4 /* from so many on, one may be off for a reason of its own */

struct search {
    const struct tw_job *job;
    struct tw_blank_plan blank;
    const struct tw_keep_out **pins;
    size_t count;
    struct tw_ring plan; /* room for the largest of their plans */
    enum tw_side side;
    struct tw_findings *findings;
};

static double sign_of_y(const struct search *search, bool mirrored)
{
    return (search->side == TW_SIDE_B) != mirrored ? -1.0 : 1.0;
}

/* How far the pin is off the blank, below zero how deep inside. */
static enum tw_status off_mm(struct search *search, const struct tw_keep_out *pin, bool mirrored, double shift_mm,
                             double *out)
{
    double sign = sign_of_y(search, mirrored);
    struct tw_lie lie;
    enum tw_status status;

    search->plan.count = pin->plan.count;
    for (size_t i = 0; i < pin->plan.count; i++)
        search->plan.points[i] =
            (struct tw_point){ pin->plan.points[i].x_mm + shift_mm, sign * pin->plan.points[i].y_mm };
    status = tw_blank_lie(&search->blank, &search->plan, &lie);
    *out = lie.overlaps ? -lie.depth_mm : lie.gap_mm;
    return status;
}

static bool touches(const struct search *search, double off_mm)
{
    return fabs(off_mm) <= search->job->fixture.touch_tolerance_mm;
}

static enum tw_status count_touching(struct search *search, bool mirrored, double shift_mm, size_t *touching)
{
    enum tw_status status = TW_OK;
    double off;

    *touching = 0;
    for (size_t i = 0; status == TW_OK && i < search->count; i++) {
        status = off_mm(search, search->pins[i], mirrored, shift_mm, &off);
        *touching += status == TW_OK && touches(search, off);
    }
    return status;
}

/* All of them, or all but one of many; and more than touch as it is. */
static bool fits(const struct search *search, size_t touching, size_t as_it_is)
{
    size_t least = search->count >= PINS_ONE_SPARE ? search->count - 1 : search->count;

    return touching >= least && touching > as_it_is;
}

/* ---- along the axis ---- */

/* Between two shifts, at one of which the pin is inside the blank and at the other off it. */
static enum tw_status bisect(struct search *search, const struct tw_keep_out *pin, double inside_mm, double free_mm,
                             double *out)
{
    enum tw_status status = TW_OK;
    double off;

    while (status == TW_OK && fabs(free_mm - inside_mm) > FOUND_MM) {
        double middle_mm = (inside_mm + free_mm) / 2.0;

        status = off_mm(search, pin, false, middle_mm, &off);
        *(off < 0.0 ? &inside_mm : &free_mm) = middle_mm;
    }
    *out = free_mm;
    return status;
}

/* The smallest shift at which this pin comes to touch and the others do. */
static enum tw_status try_pin(struct search *search, const struct tw_keep_out *pin, size_t as_it_is,
                              struct tw_misplaced *out)
{
    double before, off, shift_mm;
    size_t touching;
    enum tw_status status = off_mm(search, pin, false, -FARTHEST_MM, &before);

    for (double at_mm = -FARTHEST_MM + STEP_MM; status == TW_OK && at_mm <= FARTHEST_MM;
         at_mm += STEP_MM, before = off) {
        status = off_mm(search, pin, false, at_mm, &off);
        if (status != TW_OK || (before < 0.0) == (off < 0.0))
            continue;
        status =
            bisect(search, pin, off < 0.0 ? at_mm : at_mm - STEP_MM, off < 0.0 ? at_mm - STEP_MM : at_mm, &shift_mm);
        if (status == TW_OK)
            status = count_touching(search, false, shift_mm, &touching);
        if (status != TW_OK || !fits(search, touching, as_it_is) ||
            (out->how == TW_MISPLACED_SHIFTED && fabs(shift_mm) >= fabs(out->shift_mm)))
            continue;
        out->how = TW_MISPLACED_SHIFTED;
        out->shift_mm = shift_mm;
        out->touching = touching;
    }
    return status;
}

static enum tw_status try_shifts(struct search *search, size_t as_it_is, struct tw_misplaced *out)
{
    enum tw_status status = TW_OK;
    double off;

    for (size_t i = 0; status == TW_OK && i < search->count; i++) {
        status = off_mm(search, search->pins[i], false, 0.0, &off);
        if (status == TW_OK && !touches(search, off))
            status = try_pin(search, search->pins[i], as_it_is, out);
    }
    return status;
}

/* ---- the whole ---- */

static enum tw_status gather(struct search *search)
{
    const struct tw_fixture *fixture = &search->job->fixture;
    double from_mm = tw_blank_drawn_from_mm(search->job);
    size_t most = 0;

    search->pins = calloc(fixture->keep_out_count + 1, sizeof *search->pins);
    if (!search->pins)
        return tw_no_memory(search->findings);
    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        const struct tw_keep_out *keep_out = &fixture->keep_outs[i];

        if (keep_out->kind != TW_KEEP_OUT_PIN || !tw_keep_out_in_place(keep_out, search->side) ||
            tw_ring_box(&keep_out->plan).min_x_mm < from_mm)
            continue;
        search->pins[search->count++] = keep_out;
        most = keep_out->plan.count > most ? keep_out->plan.count : most;
    }
    search->plan.points = malloc((most + 1) * sizeof *search->plan.points);
    return search->plan.points ? TW_OK : tw_no_memory(search->findings);
}

/* Whether all pins of the other side touch as they stand. */
static enum tw_status other_side_touches(const struct search *search, bool *out)
{
    enum tw_side other = search->side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A;
    struct tw_contacts contacts;
    size_t pins = 0, touching = 0;
    enum tw_status status;

    *out = false;
    if (search->job->one_face)
        return TW_OK;
    status = tw_contacts_make(search->job, other, &contacts, search->findings);
    if (status != TW_OK)
        return status;
    for (size_t i = 0; i < contacts.count; i++)
        if (contacts.items[i].keep_out->kind == TW_KEEP_OUT_PIN) {
            pins++;
            touching += contacts.items[i].meeting == TW_MEETING_TOUCHES;
        }
    *out = touching >= PINS_MIRRORED && touching == pins;
    tw_contacts_free(&contacts);
    return TW_OK;
}

static enum tw_status look(struct search *search, struct tw_misplaced *out)
{
    size_t as_it_is, mirrored = 0;
    enum tw_status status = count_touching(search, false, 0.0, &as_it_is);

    if (status != TW_OK || search->count < PINS_MIRRORED || as_it_is == search->count)
        return status;
    status = count_touching(search, true, 0.0, &mirrored);
    if (status == TW_OK && fits(search, mirrored, as_it_is)) {
        bool turned;

        status = other_side_touches(search, &turned);
        out->how = turned ? TW_MISPLACED_NOT_TURNED : TW_MISPLACED_MIRRORED;
        out->touching = mirrored;
    } else if (status == TW_OK && search->count >= PINS_SHIFTED) {
        status = try_shifts(search, as_it_is, out);
    }
    return status;
}

enum tw_status tw_contacts_misplaced(const struct tw_job *job, enum tw_side side, struct tw_misplaced *out,
                                     struct tw_findings *findings)
{
    struct search search = { .job = job, .side = side, .findings = findings };
    enum tw_status status = gather(&search);

    *out = (struct tw_misplaced){ .how = TW_MISPLACED_NOT };
    if (status == TW_OK) {
        status = tw_blank_open(job, &search.blank, findings);
        if (status == TW_OK)
            status = look(&search, out);
        tw_blank_close(&search.blank);
    }
    out->pins = search.count;
    free(search.pins);
    free(search.plan.points);
    return status;
}
