/* thermal_run.h - the temperatures of one part while its program runs. */
#ifndef TANGWRIGHT_VERDICT_THERMAL_RUN_H
#define TANGWRIGHT_VERDICT_THERMAL_RUN_H

#include "verdict/checks.h"
#include "verdict/second_heat.h"
#include "verdict/workpiece.h"
#include "verdict/trace.h"
#include "tangwright/taper.h"
#include "tangwright/warm.h"

/* What the part lies on, from the datum pad up. */
struct tw_underside {
    double tilt, cosine;   /* of the part's tilt: the tangent, and the cosine */
    double begin_mm, rise; /* from this setup x on it rises by so much per mm */
};

/* Driven step by step with what the field says was removed; the stand must outlive it. */
struct tw_thermal_run {
    const struct tw_job *job;
    const struct tw_workpiece *workpiece;
    struct tw_face face;             /* as the history of heat knows it */
    struct tw_history *history;      /* with the reserve of energy: what is judged */
    double peak_degC;                /* hottest so far, as expected */
    struct tw_history_piece *pieces; /* of the pass in hand */
    size_t piece_count, piece_capacity;
    struct tw_thermal_run_pass {
        struct tw_step step; /* the last that belongs to it */
        double time_s;       /* of all of them */
        struct tw_spot spot;
    } pass;
    double waiting_s;              /* not yet given to the history */
    struct tw_history_box lowered; /* where stock came off that the history was not told of */
    struct tw_underside underside;
    struct tw_second_heat second;
    struct tw_temper_limit temper;
    struct tw_proof_heat *heat;
    struct tw_check *checks; /* temperature, bulk, tempering */
    struct tw_spot last;     /* of the pass before */
    double last_mm[3];
    struct tw_proof_record *record; /* of each pass; NULL: not kept */
    struct tw_findings *findings;
};

/* Opens on a cold blank, or `cut` before with what the stand says is left of it; `over_ground`: the face below is ground
 * already, side B's always. Answers the checks of heat in `proof`. */
enum tw_status tw_thermal_run_open(const struct tw_job *job, const struct tw_workpiece *workpiece, bool cut,
                                   bool over_ground, struct tw_proof *proof, struct tw_thermal_run *out,
                                   struct tw_findings *findings);
void tw_thermal_run_close(struct tw_thermal_run *thermal);

/* Before a step is driven over the part: the pass in hand is over, unless the step goes straight on with it. However many
 * lines a straight way is written in, it is one pass: what a pass puts into the plate counts for the next ones alone. */
enum tw_status tw_thermal_run_ready(struct tw_thermal_run *thermal, const struct tw_step *step);

/* One step: `removal` is what it cut of this part, NULL: nothing was cut. Notes the hottest of the pass with the reserve of energy. */
enum tw_status tw_thermal_run_step(struct tw_thermal_run *thermal, const struct tw_step *step, const double from_mm[3],
                                   const double to_mm[3], const struct tw_removal *removal, struct tw_spot spot);

/* After the last step: what the last pass has left. */
enum tw_status tw_thermal_run_end(struct tw_thermal_run *thermal);

/* What either limit says of the program, once it has run over all parts. `peak_degC`: its hottest flash. */
void tw_thermal_run_compare(double peak_degC, struct tw_proof_heat *heat);

/* Asks the checks of heat, by the job's limit. */
void tw_thermal_run_ask(const struct tw_job *job, struct tw_proof *proof);

#endif
