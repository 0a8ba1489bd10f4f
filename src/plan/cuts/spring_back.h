/* spring_back.h - how far the wheel is held back by a setup's layers, and how many spark-outs that asks for. */
#ifndef TANGWRIGHT_PLAN_CUTS_SPRING_BACK_H
#define TANGWRIGHT_PLAN_CUTS_SPRING_BACK_H

#include "plan/cuts/cut.h"

/* Spark-outs that a job's finishing layers would ask for if all took this cut, after roughing with that one: what the job
 * says, or as many as spring-back needs, though no plan makes more than TW_SPARK_OUT_MOST. */
int tw_spark_outs_after(const struct tw_job *job, const struct tw_cut *rough, const struct tw_cut *finish);

/* Spark-outs after the layers of a plan, which has none yet. */
int tw_spark_outs_of(const struct tw_job *job, const struct tw_setup_plan *plan);

/* Repeats of the last layer to count with before its cut is known. */
int tw_spark_outs_expected(const struct tw_job *job);

/* What the layers of a face and their spark-outs come to, at the place that all of them pass. */
struct tw_spring_back tw_spring_back_of(const struct tw_job *job, const struct tw_setup_plan *plan);

/* How hard the wheel pushes along its way where it does so most. */
double tw_hardest_N(const struct tw_job *job, const struct tw_setup_plan *plan);

/* TW_NO_PLAN where the softest machine of the range leaves more than the thickness tolerance allows, with what would do; not where
 * the job says how many spark-outs there are. */
enum tw_status tw_spring_back_check(const struct tw_job *job, const struct tw_setup_plan *plan,
                                    struct tw_findings *findings);

/* Adds a remark where the spark-outs leave more than they should. */
void tw_spring_back_remark(const struct tw_job *job, const struct tw_setup_plan *plan, struct tw_findings *findings);

#endif
