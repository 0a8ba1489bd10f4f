/* program.h - the RS-274 text of one setup.
 *
 * The text uses a conservative core of RS-274 (T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274NGC
 * Interpreter - Version 3, NISTIR 6556, 2000) in the dialect that the machine's profile asks for. Same job,
 * same bytes. Lengths are whole units of the last decimal, as planned, so nothing is lost in printing.
 *
 * Memory  *out is the caller's: free(). Errors: TW_NO_MEMORY; TW_NO_PLAN when a move lies beyond the
 *         machine's travel. On failure *out is NULL. */
#ifndef TANGWRIGHT_PROGRAM_H
#define TANGWRIGHT_PROGRAM_H

#include "tangwright/plan.h"

/* The program of plan->setups[setup]. `lift_mm` >= 0 raises every height, for a run in the air; it must be a whole number
 * of last decimals. */
enum tw_status tw_program_text(const struct tw_job *job, const struct tw_plan *plan, size_t setup, double lift_mm,
                               char **out, struct tw_findings *findings);

/* A blank of a load: its own job and plan. With parts = 1 it was planned alone on its station; with the load's parts as if blanks like
 * it lay on all stations. */
struct tw_program_blank {
    const struct tw_job *job;
    const struct tw_plan *plan;
};

/* The blanks of a load in one program: `load` is the job of all of them (heights by blank), blanks[i] stands on its station i. Each
 * is ground by the moves of its own plan, with setup `setup` of each, which are of one side and scope. Planned alone, each is
 * ground to its end before the next; planned for all stations, the wheel goes round them as those plans do, and leaves one out
 * that is done earlier. Its heights follow what the wheel has lost at the others. It goes from station to station clear
 * of everything. The ledgers of the plans must ask for no dressing. */
enum tw_status tw_program_of_load(const struct tw_job *load, const struct tw_program_blank *blanks, size_t setup,
                                  double lift_mm, char **out, struct tw_findings *findings);

/* Whether the wheel has to be dressed before program `setup` of the load, for with it, it would take more off all blanks than it may;
 * *begins_mm3 is what it has taken off in the programs before, since it was dressed. */
bool tw_program_load_dresses(const struct tw_job *load, const struct tw_program_blank *blanks, size_t setup,
                             double *begins_mm3);

/* A lift between `least_mm`, with which the wheel stays a little above the blank, and `most_mm`, where the machine's travel
 * ends. `usual_mm` is what programs are raised by where nobody says: 10 mm or half an inch, more if that is too little;
 * 0 where the machine has no room for it. */
struct tw_lift_range {
    double least_mm, most_mm, usual_mm;
};

struct tw_lift_range tw_program_lift_range(const struct tw_job *job, const struct tw_plan *plan);

/* The lift nearest to the wanted one that the program's last decimal can say. */
double tw_program_lift_mm(const struct tw_job *job, double wanted_mm);

#endif
