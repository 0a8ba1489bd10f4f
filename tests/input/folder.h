/* folder.h - a folder of its own, with all profiles in it, for tests that write jobs. */
#ifndef TESTS_INPUT_FOLDER_H
#define TESTS_INPUT_FOLDER_H

#include <criterion/criterion.h>
#include <criterion/new/assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static char home[4096];
static char folder[] = "/tmp/tangwright-test-XXXXXX";

static inline void open_folder(void)
{
    char command[8192];

    cr_assert(getcwd(home, sizeof home) != NULL);
    cr_assert(mkdtemp(folder) != NULL);
    snprintf(command, sizeof command, "cp -r profiles '%s'", folder);
    cr_assert(eq(int, system(command), 0));
    cr_assert(eq(int, chdir(folder), 0));
}

static inline void close_folder(void)
{
    char command[4200];

    cr_assert(eq(int, chdir(home), 0));
    snprintf(command, sizeof command, "rm -r '%s'", folder);
    cr_assert(eq(int, system(command), 0));
}

static inline void write_file(const char *name, const char *text)
{
    FILE *stream = fopen(name, "wb");

    cr_assert(stream != NULL, "%s", name);
    fputs(text, stream);
    fclose(stream);
}

#endif
