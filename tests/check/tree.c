/* tree.c - copies and removes folders. */
#define _XOPEN_SOURCE 700 /* lstat() */
#include "tree.h"
#include "check.h"

#include <dirent.h>
#include <errno.h>
#include <sys/stat.h>
#include <unistd.h>

static void copy_file(const char *from, const char *to, mode_t mode)
{
    FILE *in = fopen(from, "rb"), *out = fopen(to, "wb");
    char buffer[16384];
    size_t got;

    cr_assert(in != NULL, "%s", from);
    cr_assert(out != NULL, "%s", to);
    while ((got = fread(buffer, 1, sizeof buffer, in)) > 0)
        cr_assert(eq(sz, fwrite(buffer, 1, got, out), got), "%s", to);
    cr_assert(not(ferror(in)), "%s", from);
    fclose(in);
    cr_assert(eq(int, fclose(out), 0), "%s", to);
    cr_assert(eq(int, chmod(to, mode), 0), "%s", to);
}

static bool is_inside(const struct dirent *entry)
{
    return strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
}

static void join(char path[4096], const char *folder, const char *name)
{
    cr_assert(lt(int, snprintf(path, 4096, "%s/%s", folder, name), 4096), "%s", folder);
}

static void copy_folder(const char *from, const char *to)
{
    DIR *folder = opendir(from);
    struct dirent *entry;
    char inner_from[4096], inner_to[4096];

    cr_assert(folder != NULL, "%s", from);
    cr_assert(mkdir(to, 0777) == 0 || errno == EEXIST, "%s", to);
    while ((entry = readdir(folder))) {
        if (!is_inside(entry))
            continue;
        join(inner_from, from, entry->d_name);
        join(inner_to, to, entry->d_name);
        check_copy(inner_from, inner_to);
    }
    closedir(folder);
}

void check_copy(const char *from, const char *to)
{
    struct stat what;

    cr_assert(eq(int, stat(from, &what), 0), "%s", from);
    if (S_ISDIR(what.st_mode))
        copy_folder(from, to);
    else
        copy_file(from, to, what.st_mode & 0777);
}

void check_remove(const char *path)
{
    struct stat what;
    struct dirent *entry;
    char inner[4096];
    DIR *folder;

    cr_assert(eq(int, lstat(path, &what), 0), "%s", path);
    if (!S_ISDIR(what.st_mode)) {
        cr_assert(eq(int, unlink(path), 0), "%s", path);
        return;
    }
    folder = opendir(path);
    cr_assert(folder != NULL, "%s", path);
    while ((entry = readdir(folder))) {
        if (!is_inside(entry))
            continue;
        join(inner, path, entry->d_name);
        check_remove(inner);
    }
    closedir(folder);
    cr_assert(eq(int, rmdir(path), 0), "%s", path);
}
