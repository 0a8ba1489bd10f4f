/* bar_files.h - a bar of a fixture as files: its job, what that job names, and the program that was proved for it. */
#ifndef TANGWRIGHT_CLI_BAR_FILES_H
#define TANGWRIGHT_CLI_BAR_FILES_H

#include "tangwright/fixture.h"

enum { BAR_FILES_MOST = 9 };

struct bar_files {
    const char *names[BAR_FILES_MOST]; /* "job.cfg", ... */
    char *texts[BAR_FILES_MOST];
    size_t count;
    char *program_name,
        *air_name;   /* two of the names; air_name NULL: the machine's travel leaves no room to raise it */
    char digest[17]; /* of the bar's job */
};

/* Plans the bar from the very files, in a temporary folder, and proves its program. `shown` is the folder that messages
 * name. */
enum tw_status bar_files_make(const struct tw_fixture_design *design, enum tw_bar_kind kind, const char *shown,
                              struct bar_files *out, struct tw_findings *findings);

void bar_files_free(struct bar_files *files);

#endif
