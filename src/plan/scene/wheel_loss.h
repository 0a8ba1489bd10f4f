/* wheel_loss.h - what a setup's program costs the wheel, and the program's heights that follow it. */
#ifndef TANGWRIGHT_PLAN_SCENE_WHEEL_LOSS_H
#define TANGWRIGHT_PLAN_SCENE_WHEEL_LOSS_H

#include "tangwright/plan.h"

/* Where the program is to follow the wear, it goes deeper by more than the wheel lost if that lasts better than is likely, and
 * by up to a step for it goes by whole ones. So deep a layer of depth_mm may then be cut; and so deep a layer may be planned
 * that no more than infeed_mm is cut. */
double tw_wheel_loss_depth_mm(const struct tw_job *job, const struct tw_wheel_loss *loss, double depth_mm);
double tw_wheel_loss_infeed_mm(const struct tw_job *job, const struct tw_wheel_loss *loss, double infeed_mm);

/* What is gone of a wheel that is followed, after so much steel, at the least; of any other nothing. */
double tw_wheel_loss_least_mm(const struct tw_wheel_loss *loss, double volume_mm3);

/* Of several parts, where the wheel goes on after so many layers (0: when a part is finished): sets loss->jump_mm. Returns how
 * much lower the wheel may come to a part, and so how much higher its stock stands to it, than is likely. */
double tw_wheel_loss_round(const struct tw_job *job, enum tw_side side, size_t layers_a_round,
                           struct tw_wheel_loss *loss);

/* Fills in the setup's loss and lets its cuts follow the likely wear, where that is worth while. */
enum tw_status tw_wheel_loss_follow(const struct tw_job *job, struct tw_setup_plan *setup,
                                    struct tw_findings *findings);

#endif
