/* run_written.h - what a run has written, and how it goes into its record. */
#ifndef TANGWRIGHT_CLI_RUN_WRITTEN_H
#define TANGWRIGHT_CLI_RUN_WRITTEN_H

#include "base/staged.h"
#include "cli/run_record.h"

/* What a run has written, gathered while it is planned. */
struct run_notes {
    struct tw_record_program *programs;
    size_t program_count, program_capacity;
    char **texts; /* what the programs point into */
    size_t text_count, text_capacity;
};

/* Programs of a load, which stand in `folder` below that of the run; `digest` of their job. */
enum tw_status run_notes_add(struct run_notes *notes, const char *folder, int load, const struct tw_card *cards,
                             size_t count, const char *digest, struct tw_findings *findings);
void run_notes_free(struct run_notes *notes);

/* The plan goes into the record, as one change, and its files into their places. `folder`: that of the run. */
enum tw_status run_written_record(const struct run_record *record, const struct tw_run_outcome *outcome,
                                  const struct run_notes *notes, const char *folder, struct tw_staged *staged,
                                  struct tw_findings *findings);

#endif
