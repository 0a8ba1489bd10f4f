/* program_checks.h - the checks that need no field. Each asks its check and answers it. */
#ifndef TANGWRIGHT_VERDICT_PROGRAM_CHECKS_H
#define TANGWRIGHT_VERDICT_PROGRAM_CHECKS_H

#include "verdict/checks.h"
#include "verdict/trace.h"

/* `refusals`: what the reader found; `line`: where it stopped. */
void tw_program_check_text(const struct tw_findings *refusals, int line, struct tw_check *check);

void tw_program_check_modes(const struct tw_job *job, const struct tw_trace *trace, enum tw_side side,
                            struct tw_check *check);
void tw_program_remark_plane(const struct tw_job *job, const struct tw_trace *trace, struct tw_proof *proof);
void tw_program_check_offsets(const struct tw_job *job, const struct tw_trace *trace, enum tw_side side,
                              struct tw_check *check);
void tw_program_check_travel(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check);
void tw_program_check_wheel_speed(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check);
void tw_program_check_feed(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check);
void tw_program_check_ending(const struct tw_job *job, const struct tw_trace *trace, enum tw_side side,
                             struct tw_check *check);

#endif
