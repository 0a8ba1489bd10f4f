/* starter.h - the files that `new` writes, built into the program from samples/starter and profiles. */
#ifndef TANGWRIGHT_CLI_STARTER_H
#define TANGWRIGHT_CLI_STARTER_H

#include <stddef.h>

struct starter_file {
    const char *path; /* below the new folder: "job.cfg", "profiles/wheels/..." */
    const unsigned char *data;
    size_t length;
};

extern const struct starter_file starter_files[];
extern const size_t starter_file_count;

#endif
