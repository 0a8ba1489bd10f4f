/* state.h - what must be switched on while the wheel is at work. */
#ifndef TANGWRIGHT_VERDICT_STATE_H
#define TANGWRIGHT_VERDICT_STATE_H

#include "verdict/checks.h"
#include "verdict/trace.h"

/* Answers the checks "spindle" and "coolant" for a step in which the wheel is at work. True: all is as it must be. */
bool tw_state_check(const struct tw_job *job, const struct tw_step *step, struct tw_spot spot,
                    struct tw_check checks[TW_CHECK_COUNT]);

/* Surface speed of the wheel during the step; the spindle's only speed where the program does not set it. */
double tw_state_wheel_mm_per_s(const struct tw_job *job, const struct tw_step *step);

#endif
