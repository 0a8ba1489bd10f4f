/* folder.h - a folder of its own, with all profiles in it, for tests that write jobs. */
#ifndef TESTS_INPUT_FOLDER_H
#define TESTS_INPUT_FOLDER_H

#include "../check/check.h"
#include "../check/tree.h"
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static char home[4096];
static char folder[] = "/tmp/tangwright-test-XXXXXX";

/* What the repository has there, into the folder. */
static inline void copy_from_home(const char *from, const char *to)
{
    char path[8192];

    snprintf(path, sizeof path, "%s/%s", home, from);
    check_copy(path, to);
}

static inline void open_folder(void)
{
    cr_assert(getcwd(home, sizeof home) != NULL);
    cr_assert(mkdtemp(folder) != NULL);
    cr_assert(eq(int, chdir(folder), 0));
    copy_from_home("profiles", "profiles");
}

static inline void close_folder(void)
{
    cr_assert(eq(int, chdir(home), 0));
    check_remove(folder);
}

static inline void write_file(const char *name, const char *text)
{
    FILE *stream = fopen(name, "wb");

    cr_assert(stream != NULL, "%s", name);
    fputs(text, stream);
    fclose(stream);
}

#endif
