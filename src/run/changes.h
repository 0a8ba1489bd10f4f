/* changes.h - by which keys the job of one load, or of one blank, differs from the run's job. */
#ifndef TANGWRIGHT_RUN_CHANGES_H
#define TANGWRIGHT_RUN_CHANGES_H

#include "tangwright/run.h"

#define RUN_CHANGES_MOST 16

struct tw_run_changes {
    struct tw_instead items[RUN_CHANGES_MOST];
    char *values[RUN_CHANGES_MOST]; /* what they point into */
    size_t count;
    bool failed; /* memory ran out: one is missing */
};

/* One blank alone on the first station in use: to read its survey, and see whether it comes straight. */
enum tw_status tw_run_changes_for_blank(const struct tw_run_request *request, const struct tw_job *job,
                                        const struct tw_run_place *place, struct tw_run_changes *out,
                                        struct tw_findings *findings);

/* All blanks of a load whose plans are their own, on one fixture. */
enum tw_status tw_run_changes_for_load(const struct tw_run_request *request, const struct tw_run_layout *layout,
                                       size_t load, struct tw_run_changes *out, struct tw_findings *findings);

/* Places `first` on, `count` of them, of a load, which share their programs. */
enum tw_status tw_run_changes_for_part(const struct tw_run_request *request, const struct tw_run_layout *layout,
                                       size_t load, size_t first, size_t count, struct tw_run_changes *out,
                                       struct tw_findings *findings);

void tw_run_changes_free(struct tw_run_changes *changes);

#endif
