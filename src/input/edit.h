/* edit.h - values in the text of a job, changed at their places: comments, layout and line ends stay as their owner wrote
 * them.
 *
 * A key that stands there gets another value. One that is there as a note alone, "#   length = ...;", has its # taken
 * away. Any other is written below the last key of its group, and a missing group at the end. A key that is taken out
 * becomes a note, so that nothing that was written is lost.
 *
 * A row of a list is told by its number: "fixture.keep_outs[2].top" is a key of the second one, "fixture.keep_outs[2]" with
 * "none" takes that row out, and with the number behind the last one a value "{ ... }" adds a row. A row that is no group,
 * such as the pair of "blade.distal[2]", is changed as a whole: "(\"60 mm\", \"2 mm\")".
 *
 * Memory  the new text is the caller's: free().
 * Errors  TW_BAD_INPUT when the text, or what would become of it, cannot be read, or when a change would reach farther than
 *         its key; TW_NO_MEMORY. *out is then NULL. */
#ifndef TANGWRIGHT_INPUT_EDIT_H
#define TANGWRIGHT_INPUT_EDIT_H

#include "tangwright/job.h"

/* `changes` as tw_job_read_with() takes them, but with each value as a job file writes it: "\"1.5 mm\"", "2". The value
 * "none" takes the key out. `path` serves the messages. */
enum tw_status tw_edit_text(const char *path, const char *text, const struct tw_instead *changes, size_t count,
                            char **out, struct tw_findings *findings);

#endif
