/* record.h - what a program did to the first part, kept for drawing. */
#ifndef TANGWRIGHT_VERDICT_RECORD_H
#define TANGWRIGHT_VERDICT_RECORD_H

#include "verdict/workpiece.h"
#include "tangwright/history.h"
#include "tangwright/verdict.h"

/* Side of a cell of the map of what is left. */
#define TW_RECORD_LEFT_MM 1.0

/* Adds a pass. TW_NO_MEMORY. */
enum tw_status tw_record_pass(struct tw_proof_record *record, struct tw_proof_pass pass, struct tw_findings *findings);

/* Makes the maps once the program has run. TW_NO_MEMORY. */
enum tw_status tw_record_maps(struct tw_proof_record *record, const struct tw_workpiece *workpiece,
                              const struct tw_history *history, struct tw_findings *findings);

void tw_record_free(struct tw_proof_record *record);

#endif
