/* contacts.c - each keep-out against the blank, and what the touching stops locate. */
#include "tangwright/contacts.h"
#include "tangwright/warm.h"

#include "contacts/blank.h"
#include "geometry/ring.h"

#include <math.h>
#include <stdlib.h>

#define SAME_HEIGHT_MM 0.05 /* a top this little above the blank's lower face is level with it */
#define REACH_SHARE    1.1  /* a stop pushes on all of the edge within this share of the tolerance */

struct laying {
    const struct tw_job *job;
    enum tw_side side;
    struct tw_blank_plan blank;
    struct tw_contacts *out;
    struct tw_push *pushes; /* of all stops that touch */
    size_t push_count;
    struct tw_findings *findings;
};

bool tw_keep_out_is_stop(const struct tw_keep_out *keep_out)
{
    return keep_out->kind == TW_KEEP_OUT_PIN || keep_out->kind == TW_KEEP_OUT_BODY;
}

/* ---- between the part frame and the setup frame ---- */

static struct tw_point turned(enum tw_side side, struct tw_point p)
{
    return (struct tw_point){ p.x_mm, side == TW_SIDE_A ? p.y_mm : -p.y_mm };
}

/* The plan, moved in the setup frame, as the blank's part frame sees it. The caller frees its points. */
static enum tw_status plan_in_part(const struct laying *laying, const struct tw_ring *plan, struct tw_point by,
                                   struct tw_ring *out)
{
    *out = (struct tw_ring){ malloc((plan->count + 1) * sizeof *out->points), plan->count };
    if (!out->points)
        return tw_no_memory(laying->findings);
    for (size_t i = 0; i < plan->count; i++) {
        struct tw_point moved = { plan->points[i].x_mm + by.x_mm, plan->points[i].y_mm + by.y_mm };

        out->points[i] = turned(laying->side, moved);
    }
    return TW_OK;
}

/* ---- what is drawn ---- */

double tw_blank_drawn_from_mm(const struct tw_job *job)
{
    if (job->placement.shown == TW_SHOWN_KNIFE)
        return -HUGE_VAL;
    return job->part.blade.outer.count > 0 ? tw_ring_box(&job->part.blade.outer).min_x_mm : 0.0;
}

/* ---- one keep-out ---- */

/* The blank's lower face where the overlap begins: with side B up the ground face A rises towards the butt. */
static double lower_face_mm(const struct laying *laying, double x_mm)
{
    return fmax(0.0, tw_taper_packing_mm(laying->job, laying->side, fmax(0.0, x_mm)));
}

static bool clamps_from_above(const struct laying *laying, const struct tw_keep_out *keep_out)
{
    return keep_out->kind == TW_KEEP_OUT_CLAMP && keep_out->top_mm > laying->job->taper.ricasso_mm;
}

static enum tw_meeting judge(const struct laying *laying, const struct tw_keep_out *keep_out, const struct tw_lie *lie)
{
    double lower_mm = lie->overlaps ? lower_face_mm(laying, lie->overlap_x_mm) : 0.0;
    double tolerance_mm = laying->job->fixture.touch_tolerance_mm;
    bool unknown = !lie->overlaps && tw_ring_box(&keep_out->plan).min_x_mm < laying->out->drawn_from_mm;

    if (unknown)
        return TW_MEETING_NOT_DRAWN;
    /* A rest that rises with the ground face carries it all along: what counts is its top where the overlap begins. */
    if (lie->overlaps && tw_keep_out_top_mm(keep_out, lie->overlap_x_mm) <= lower_mm + SAME_HEIGHT_MM)
        return TW_MEETING_UNDER;
    if (lie->depth_mm > tolerance_mm)
        return clamps_from_above(laying, keep_out) ? TW_MEETING_OVER : TW_MEETING_INSIDE;
    return lie->gap_mm <= tolerance_mm && keep_out->top_mm > SAME_HEIGHT_MM ? TW_MEETING_TOUCHES : TW_MEETING_MISSES;
}

static enum tw_status meet(struct laying *laying, const struct tw_keep_out *keep_out, struct tw_point by,
                           struct tw_fixture_contact *out)
{
    struct tw_ring plan;
    struct tw_lie lie = { 0 };
    enum tw_status status = plan_in_part(laying, &keep_out->plan, by, &plan);

    if (status == TW_OK)
        status = tw_blank_lie(&laying->blank, &plan, &lie);
    if (status == TW_OK) {
        double lower_mm = lower_face_mm(laying, lie.overlaps ? lie.overlap_x_mm : 0.0);

        *out = (struct tw_fixture_contact){ .keep_out = keep_out,
                                            .meeting = judge(laying, keep_out, &lie),
                                            .gap_mm = lie.gap_mm,
                                            .depth_mm = lie.depth_mm,
                                            .area_mm2 = lie.area_mm2,
                                            .above_mm = keep_out->top_mm - lower_mm,
                                            .at = turned(laying->side, lie.at) };
        if (out->meeting == TW_MEETING_UNDER)
            out->gap_mm = fmax(0.0, lower_mm - tw_keep_out_top_mm(keep_out, lie.overlap_x_mm));
        if (out->meeting == TW_MEETING_INSIDE)
            status = tw_blank_way_out(&laying->blank, &plan, &out->move_mm);
        if (laying->side == TW_SIDE_B)
            out->move_mm = -out->move_mm;
    }
    free(plan.points);
    return status;
}

/* ---- what they locate ---- */

static enum tw_status add_pushes(struct laying *laying, const struct tw_keep_out *keep_out)
{
    struct tw_ring plan;
    struct tw_push *more = NULL, *all;
    size_t count = 0;
    enum tw_status status = plan_in_part(laying, &keep_out->plan, (struct tw_point){ 0.0, 0.0 }, &plan);

    if (status == TW_OK)
        status = tw_blank_pushes(&laying->blank, &plan, REACH_SHARE * laying->job->fixture.touch_tolerance_mm, &more,
                                 &count);
    if (status == TW_OK && count > 0) {
        all = realloc(laying->pushes, (laying->push_count + count) * sizeof *all);
        if (all) {
            laying->pushes = all;
            for (size_t i = 0; i < count; i++)
                laying->pushes[laying->push_count++] = more[i];
        } else {
            status = tw_no_memory(laying->findings);
        }
    }
    free(more);
    free(plan.points);
    return status;
}

static enum tw_status take(struct laying *laying, size_t number, const struct tw_keep_out *keep_out)
{
    struct tw_contacts *out = laying->out;
    struct tw_fixture_contact *contact = &out->items[out->count];
    enum tw_status status = meet(laying, keep_out, (struct tw_point){ 0.0, 0.0 }, contact);

    if (status != TW_OK)
        return status;
    contact->number = number;
    out->count++;
    if (!tw_keep_out_is_stop(keep_out))
        return TW_OK;
    if (contact->meeting == TW_MEETING_MISSES && (!out->nearest || contact->gap_mm < out->nearest->gap_mm))
        out->nearest = contact;
    if (contact->meeting == TW_MEETING_MISSES && keep_out->kind == TW_KEEP_OUT_PIN &&
        (!out->farthest || contact->gap_mm > out->farthest->gap_mm))
        out->farthest = contact;
    if (contact->meeting == TW_MEETING_NOT_DRAWN && out->not_drawn_count++ == 0)
        out->not_drawn = contact;
    return contact->meeting == TW_MEETING_TOUCHES ? add_pushes(laying, keep_out) : TW_OK;
}

enum tw_status tw_contacts_make(const struct tw_job *job, enum tw_side side, struct tw_contacts *out,
                                struct tw_findings *findings)
{
    struct laying laying = { .job = job, .side = side, .out = out, .findings = findings };
    const struct tw_fixture *fixture = &job->fixture;
    struct tw_located located;
    enum tw_status status;

    *out = (struct tw_contacts){ .side = side, .drawn_from_mm = tw_blank_drawn_from_mm(job) };
    out->items = calloc(fixture->keep_out_count + 1, sizeof *out->items);
    if (!out->items)
        return tw_no_memory(findings);
    status = tw_blank_open(job, &laying.blank, findings);
    for (size_t i = 0; status == TW_OK && i < fixture->keep_out_count; i++)
        if (tw_keep_out_in_place(&fixture->keep_outs[i], side))
            status = take(&laying, i + 1, &fixture->keep_outs[i]);
    located = tw_locate(laying.pushes, laying.push_count);
    out->along = located.along;
    out->across = located.across;
    out->turning = located.turning;
    tw_blank_close(&laying.blank);
    free(laying.pushes);
    if (status != TW_OK)
        tw_contacts_free(out);
    return status;
}

void tw_contacts_free(struct tw_contacts *contacts)
{
    free(contacts->items);
    *contacts = (struct tw_contacts){ 0 };
}

/* ---- from station to station ---- */

/* Where the part at station `other` lies, seen from the one at `station`, in the setup frame. */
static struct tw_point way_between(const struct tw_job *job, int station, int other)
{
    const struct tw_station *a = &job->fixture.stations[station], *b = &job->fixture.stations[other];

    return (struct tw_point){ job->machine.along.sign * (b->along_mm - a->along_mm),
                              job->machine.across.sign * (b->across_mm - a->across_mm) };
}

static enum tw_status clash_of_pair(struct laying *laying, int station, int other, struct tw_clash *out)
{
    const struct tw_fixture *fixture = &laying->job->fixture;
    struct tw_point by = way_between(laying->job, station, other), at = { 0.0, 0.0 };
    bool meets = false;
    enum tw_status status = tw_blank_meets_itself(&laying->blank, laying->job, turned(laying->side, by), &meets, &at);

    if (status == TW_OK && meets)
        *out = (struct tw_clash){ station, other, NULL, turned(laying->side, at) };
    for (size_t i = 0; status == TW_OK && out->station < 0 && i < fixture->keep_out_count; i++) {
        struct tw_fixture_contact contact;

        if (!tw_keep_out_in_place(&fixture->keep_outs[i], laying->side))
            continue;
        status = meet(laying, &fixture->keep_outs[i], by, &contact);
        if (status == TW_OK && contact.meeting == TW_MEETING_INSIDE)
            *out = (struct tw_clash){ station, other, &fixture->keep_outs[i], contact.at };
    }
    return status;
}

enum tw_status tw_contacts_clash(const struct tw_job *job, enum tw_side side, struct tw_clash *out,
                                 struct tw_findings *findings)
{
    struct tw_contacts drawn = { .drawn_from_mm = tw_blank_drawn_from_mm(job) };
    struct laying laying = { .job = job, .side = side, .out = &drawn, .findings = findings };
    enum tw_status status;

    *out = (struct tw_clash){ -1, -1, NULL, { 0.0, 0.0 } };
    if (job->parts < 2)
        return TW_OK;
    status = tw_blank_open(job, &laying.blank, findings);
    for (int station = 0; status == TW_OK && station < job->parts; station++)
        for (int other = 0; status == TW_OK && out->station < 0 && other < job->parts; other++)
            if (other != station)
                status = clash_of_pair(&laying, station, other, out);
    tw_blank_close(&laying.blank);
    return status;
}
