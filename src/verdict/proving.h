/* proving.h - a part on its station while programs are driven over it: what the files of the driving share. */
#ifndef TANGWRIGHT_VERDICT_PROVING_H
#define TANGWRIGHT_VERDICT_PROVING_H

#include "verdict/finishing.h"
#include "verdict/floor.h"
#include "verdict/give.h"
#include "verdict/prove.h"
#include "verdict/thermal_run.h"
#include "verdict/worn.h"

/* The program may go below the target, and into the blade's face at the taper start, by this. */
#define TW_GOUGE_MM 0.002

/* What is rounded on the way from a plan to its program may ask for so much more than is held. */
#define TW_HOLDING_SLACK 1.001

struct tw_proving {
    const struct tw_job *whole_job; /* as read, with the blank on this part's station */
    const struct tw_job *job;       /* as the program in hand finds it */
    struct tw_job whole_own, own;   /* which these two are */
    struct tw_proof *proof;
    struct tw_workpiece stand, *workpiece; /* which is the stand */
    struct tw_sweep *fine, *coarse, *near; /* coarse: NULL where the stand is not surrounded */
    const struct tw_proving *leader; /* the same part of the blank that is driven before this one; NULL: none is */
    struct tw_twin *twin;            /* of the fine field and the leader's; NULL: each is swept by itself */
    struct tw_removal found;         /* by the fine sweep on the step in hand */
    struct tw_box stale;             /* where stock was cut since the near field was told; empty: nowhere */
    struct tw_wheel_body wide;       /* larger by the rapids' clearance */
    double clearance_mm;             /* of rapids */
    struct tw_thermal_run thermal;   /* of the part's temperatures */
    struct tw_finishing finishing;
    struct tw_give give;   /* of machine and part, over all programs of the side */
    double origin_mm[3];   /* of the part's setup frame, in the trace's frame */
    struct tw_floor floor; /* below everything, in that frame */
    double lower_mm; /* by which the zero of other parts may lie lower than this one's: their blanks are thinner */
    bool fixture;    /* look at what stands about the tang too; of several blanks one is enough */
    int part;
    struct tw_worn *worn; /* of the wheel, by all parts, since it was touched off for the program in hand */
    double worn_mm3;      /* of steel, gone when the wheel was last at work on this part */
    double step_mm3;      /* taken off this part by the step in hand */
    struct tw_findings *findings;
};

static inline struct tw_spot tw_proving_spot(const struct tw_proving *proving, const struct tw_step *step,
                                             const double place_mm[3])
{
    return (struct tw_spot){ step->line, proving->part, place_mm };
}

#endif
