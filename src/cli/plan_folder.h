/* plan_folder.h - the folder of a plan: its programs, also raised for the air, their list, the figures, the sheet.
 *
 * Everything is made in memory first, so that a failure leaves the folder as it was; then all of it is switched as one set. */
#ifndef TANGWRIGHT_CLI_PLAN_FOLDER_H
#define TANGWRIGHT_CLI_PLAN_FOLDER_H

#include "base/staged.h"
#include "cli/card_set.h"
#include "tangwright/proven.h"
#include "tangwright/sheet.h"

#define PLAN_FOLDER_FILES_MOST (2 * TW_SETUPS_MOST + 6)

/* Programs raised for the run in the air. The dry-run proves that such a one is its program raised; what is written here is
 * the same plan's text. */
struct plan_folder_air {
    char *texts[TW_SETUPS_MOST];
    struct tw_card cards[TW_SETUPS_MOST];
    size_t count;
};

struct plan_folder {
    const char *folder; /* borrowed, as job and plan are */
    const struct tw_job *job;
    const struct tw_proven *proven;
    struct plan_folder_air air;
    char *list, *summary, *sheet;
    const char *names[PLAN_FOLDER_FILES_MOST];
    char *paths[PLAN_FOLDER_FILES_MOST];
    struct tw_new_file files[PLAN_FOLDER_FILES_MOST];
    size_t count;
    struct card_set_outdated outdated;
};

/* How high the programs for the air are raised; 0: there are none. *lift_mm: what was asked for, where it was `told`. */
enum tw_status plan_folder_choose_lift(const struct tw_job *job, const struct tw_plan *plan, bool told, double *lift_mm,
                                       struct tw_findings *findings);

/* What the sheet of a plan is made of. */
struct tw_sheet plan_folder_sheet(const struct tw_job *job, const struct tw_proven *proven, bool air);

/* Makes all files of the plan, which may be a load's of a run. plan_folder_free() in any case. */
enum tw_status plan_folder_make(const char *folder, const struct tw_job *job, const struct tw_proven *proven,
                                bool in_run, double lift_mm, struct plan_folder *out, struct tw_findings *findings);

/* One more file for the set; name and text are borrowed. */
enum tw_status plan_folder_add(struct plan_folder *folder, const char *name, const char *text,
                               struct tw_findings *findings);

enum tw_status plan_folder_write(struct plan_folder *folder, struct tw_findings *findings);

/* The same, into their places only when all of `staged` goes there. */
enum tw_status plan_folder_stage(struct plan_folder *folder, struct tw_staged *staged, struct tw_findings *findings);

void plan_folder_free(struct plan_folder *folder);

#endif
