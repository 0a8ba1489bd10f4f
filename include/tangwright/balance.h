/* balance.h - what comes off, what goes on, and where the knife then balances.
 *
 * Model   Taper: from each face a wedge, slope (ricasso - butt) / (2 length) from the taper start on, less the
 *         hand-finishing allowance; past `length` it goes on at the same slope down to half the smallest
 *         thickness; where a survey finds the blank thinner or thicker than at its ricasso, so much less or more comes
 *         off, shared by the faces (the height z_mm of what comes off is that of an even blank). Relief: constant depth
 *         below that face over the region of relief.h. Handle: two slabs of
 *         even thickness that lie on the finished faces, drilled for their pins; pins from outside to outside;
 *         glue between slab and steel, and in the relief. Holes without a pin stay empty, and the scales are
 *         whole there. Thickness is counted across the centre plane; along the sloping faces it is smaller by
 *         their cosine, less than 0.02 %.
 *         Everything else, blade, bolster, handle shape, is in the weighed blank or in scale_fill.
 * Sums    Exact for the drawn polygons: Green's theorem turns the integrals of 1, x, y, x^2 and x y over a polygon
 *         cut at a line x = constant into line integrals of cubics, which two Gauss points an edge give exactly.
 * Frame   part frame: x from the taper start towards the butt, y towards the spine, z out of side A.
 * Units   mm, g, mm3; moments g mm about the taper start.
 * Memory  a model borrows its job and owns the rest: tw_balance_close().
 * Errors  TW_BAD_INPUT (a pin outside of the scales, a relief too deep, geometry), TW_NO_MEMORY. */
#ifndef TANGWRIGHT_BALANCE_H
#define TANGWRIGHT_BALANCE_H

#include "tangwright/job.h"
#include "tangwright/taper.h"

#include <stdbool.h>
#include <stddef.h>

/* A body: all zero when there is none. */
struct tw_weight {
    double volume_mm3, mass_g;
    double x_mm, y_mm, z_mm; /* its centre */
};

/* The moment about the taper start, g mm: above zero when the body pulls the butt down. */
double tw_weight_moment_g_mm(const struct tw_weight *weight);

enum tw_stage {
    TW_STAGE_BLANK, /* as weighed */
    TW_STAGE_TAPERED,
    TW_STAGE_RELIEVED, /* as tapered if the job asks for no relief */
    TW_STAGE_FINISHED, /* with its handle, if the job tells of one */
    TW_STAGE_UNGROUND, /* the blank as weighed, with the same handle: what tapering is compared with */
    TW_STAGE_COUNT
};

const char *tw_stage_name(enum tw_stage stage);

/* A whole knife: only x of its balance point is known. */
struct tw_balance_point {
    double mass_g, x_mm;
};

struct tw_balance {
    double butt_mm, relief_depth_mm;      /* what it was worked out for */
    struct tw_weight tang;                /* drawn tang at full thickness, holes left out */
    struct tw_weight holes;               /* steel its holes have taken out at full thickness */
    struct tw_weight taper[2], relief[2]; /* taken off side A, side B */
    struct tw_weight removed;             /* all four together */
    double region_mm2, hollowed_mm2;      /* of the relief on a face: inside its land, and what counts as hollowed */
    struct tw_weight scales, pins, glue, handle; /* handle: the three together */
    bool weighed;                                /* the job tells the blank's mass: stages are filled */
    struct tw_balance_point stages[TW_STAGE_COUNT];
    double blank_share; /* movement of the finished balance point per mm that the blank's was misread */
};

struct tw_balance_model;

struct tw_relief_region;

/* Cuts all regions once, so that many butts and depths can be tried. `hollowed`: where the relief really takes steel out
 * (plan.h); it must outlive the model. NULL: everywhere inside its land. *out is the caller's. */
enum tw_status tw_balance_open(const struct tw_job *job, const struct tw_relief_region *hollowed,
                               struct tw_balance_model **out, struct tw_findings *findings);
void tw_balance_close(struct tw_balance_model *model);

/* Any butt up to the ricasso's thickness and above zero; any depth of relief from 0. Nothing can fail. */
struct tw_balance tw_balance_with(const struct tw_balance_model *model, double butt_mm, double relief_depth_mm);

/* The job as it stands. */
enum tw_status tw_balance_make(const struct tw_job *job, const struct tw_relief_region *hollowed,
                               struct tw_balance *out, struct tw_findings *findings);

/* ---- the inverse ---- */

/* Thinnest butt that leaves the smallest thickness at the outline's end and between the hollows. */
double tw_balance_thinnest_butt_mm(const struct tw_balance_model *model, double relief_depth_mm);

/* Thickest butt that still takes something off: the ricasso less both allowances. */
double tw_balance_thickest_butt_mm(const struct tw_balance_model *model);

/* Deepest relief at that butt by the smallest thickness, at most 3 mm; 0 where no region is left to hollow. */
double tw_balance_deepest_relief_mm(const struct tw_balance_model *model, double butt_mm);

#define TW_BALANCE_ADVICE_MOST 8

/* One change of the job, and where the knife would balance at best; the nearest to the wish comes first. */
struct tw_balance_advice {
    char change[120];
    double x_mm, away_mm;
    bool enough;
};

enum tw_balance_limit {
    TW_BALANCE_FREE,
    TW_BALANCE_BY_STRENGTH, /* smallest_thickness */
    TW_BALANCE_BY_STRAIGHT, /* the butt may not be thicker, or the tang would not come out straight */
    TW_BALANCE_BY_NO_TAPER  /* nothing left to leave on */
};

struct tw_balance_wish {
    double x_mm;             /* where the finished knife shall balance */
    double straight_butt_mm; /* thickest butt that lets the tang come out straight; 0: any */
};

struct tw_balance_answer {
    bool reached;                       /* within 0.001 mm */
    double butt_mm, relief_depth_mm;    /* that reach it, or come nearest */
    double x_mm;                        /* where it balances with them */
    double least_butt_mm, most_butt_mm; /* the limits that were kept, for the job's own relief */
    double foremost_mm, hindmost_mm;    /* between these the butt alone decides, with the job's own relief */
    enum tw_balance_limit limit;        /* what stops it short; TW_BALANCE_FREE when reached */
    struct tw_balance_advice advice[TW_BALANCE_ADVICE_MOST]; /* when not reached */
    size_t advice_count;
};

/* Looks for the butt with the job's own depth of relief, the thickest if several do; if none does, for the depth
 * of relief as well. Brent's method between brackets found on a grid of 64 butts. TW_BAD_INPUT when the blank was
 * not weighed. An answer that is not reached is TW_OK. */
enum tw_status tw_balance_solve(const struct tw_balance_model *model, const struct tw_balance_wish *wish,
                                struct tw_balance_answer *out, struct tw_findings *findings);

#define TW_BALANCE_ROWS_MOST 16

/* Even steps of the butt from the thinnest to the thickest allowed, and the job's own, with the job's own relief.
 * Returns their number. */
size_t tw_balance_rows(const struct tw_balance_model *model, struct tw_balance rows[TW_BALANCE_ROWS_MOST]);

#endif
