/* looks.h - the knife seen from its spine: how thick where, and where the line breaks.
 *
 * The blade's thickness runs straight between the measured places of blade.distal, from the last of them straight
 * on to the ricasso's thickness at the taper start; behind it the tang tapers as planned, hand-finishing allowance
 * included. Ahead of the first measured place nothing is known.
 *
 * A step is a sudden change of thickness at the taper start. A kink is a change in direction of one face: half of
 * the change in slope of the thickness, as an angle. Kinks are looked for at the taper start and at the measured
 * places in the hinder half of the blade; nearer to the tip a distal taper may curve as it likes.
 *
 * Units   mm, rad. x in the part frame, tip distances along the taper axis.
 * Memory  views are the caller's: tw_spine_free(). */
#ifndef TANGWRIGHT_LOOKS_H
#define TANGWRIGHT_LOOKS_H

#include "tangwright/job.h"

struct tw_spine_point {
    double x_mm;
    double tip_mm; /* behind the tip; as x when the blade's length is not known */
    double thickness_mm;
};

enum tw_break_kind { TW_BREAK_STEP, TW_BREAK_KINK };

struct tw_flow_break {
    enum tw_break_kind kind;
    double x_mm;
    double amount, limit; /* step: mm; kink: rad */
};

struct tw_spine_view {
    struct tw_spine_point *points; /* every 10 mm from the tip, and at taper start and butt; rising x */
    size_t point_count;
    struct tw_flow_break *breaks; /* rising x */
    size_t break_count;
};

/* Without blade.distal the view begins at the taper start and has no breaks. TW_NO_MEMORY. */
enum tw_status tw_spine_view(const struct tw_job *job, struct tw_spine_view *out, struct tw_findings *findings);

/* One remark for each break. */
void tw_spine_remark(const struct tw_job *job, const struct tw_spine_view *view, struct tw_findings *findings);

/* The same of the job's own view. TW_NO_MEMORY. */
enum tw_status tw_looks_remark(const struct tw_job *job, struct tw_findings *findings);

void tw_spine_free(struct tw_spine_view *view);

#endif
