/* blank.h - the blank's plan as GEOS sees it, and how one solid lies to it. All in the part frame: for side B the
 * fixture is mirrored instead of the blank. */
#ifndef TANGWRIGHT_CONTACTS_BLANK_H
#define TANGWRIGHT_CONTACTS_BLANK_H

#include "contacts/locate.h"
#include "geometry/geos.h"
#include "tangwright/job.h"

struct tw_blank_plan {
    struct tw_geos geos;
    GEOSGeometry *area, *edge;
    const GEOSPreparedGeometry *prepared_edge;
    double low_y_mm, high_y_mm;
    struct tw_findings *findings;
};

/* Must stay where it is until it is closed: GEOS keeps an address in it. Close it after a failure too. */
enum tw_status tw_blank_open(const struct tw_job *job, struct tw_blank_plan *out, struct tw_findings *findings);
void tw_blank_close(struct tw_blank_plan *blank);

/* contacts.c: nothing is known of the blank ahead of this x; -HUGE_VAL: the whole knife is drawn. */
double tw_blank_drawn_from_mm(const struct tw_job *job);

/* How a plan shape lies to the blank. */
struct tw_lie {
    bool overlaps;
    double gap_mm, depth_mm; /* one of them is 0 */
    struct tw_point at;      /* apart: the blank's nearest point; overlapping: the deepest point of the overlap */
    double overlap_x_mm;     /* foremost x of the overlap */
    double area_mm2;         /* of it */
};

enum tw_status tw_blank_lie(struct tw_blank_plan *blank, const struct tw_ring *plan, struct tw_lie *out);

/* The shortest way along y that parts an overlapping shape from the blank until it just touches. */
enum tw_status tw_blank_way_out(struct tw_blank_plan *blank, const struct tw_ring *plan, double *move_mm);

/* Where the shape pushes on the blank's edge: all of the edge nearer than reach_mm to it. *out is the caller's. */
enum tw_status tw_blank_pushes(struct tw_blank_plan *blank, const struct tw_ring *plan, double reach_mm,
                               struct tw_push **out, size_t *count);

/* 1 if another blank, moved by (x, y), overlaps this one by more than their edges. */
enum tw_status tw_blank_meets_itself(struct tw_blank_plan *blank, const struct tw_job *job, struct tw_point moved,
                                     bool *meets, struct tw_point *at);

#endif
