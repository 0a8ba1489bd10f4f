/* file.c - reading a file whole, looking at its beginning, and making folders. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "base/file.h"

#include "base/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static enum tw_status io_failed(struct tw_findings *findings, const char *path, const char *what)
{
    struct tw_place at = { .file = path };

    return tw_fail(findings, TW_IO, at, "%s: %s", what, strerror(errno));
}

const char *tw_write_advice(int error)
{
    if (error == EACCES || error == EPERM || error == EROFS)
        return "; change its permissions, or name a folder that you may write to";
    if (error == ENOSPC || error == EDQUOT)
        return "; make room on the disk, and try again";
    return "";
}

static enum tw_status too_large(const char *path, struct tw_findings *findings)
{
    return tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = path },
                   "the file is larger than %zu MiB; is it the right one?", TW_FILE_LARGEST_BYTES >> 20);
}

static enum tw_status read_all(int descriptor, const char *path, struct tw_text *text, struct tw_findings *findings)
{
    char block[16384];
    ssize_t got;

    while ((got = read(descriptor, block, sizeof block)) != 0) {
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return io_failed(findings, path, "cannot be read");
        if (text->length + (size_t)got > TW_FILE_LARGEST_BYTES)
            return too_large(path, findings);
        tw_text_append(text, block, (size_t)got);
    }
    tw_text_append(text, "", 0);
    return text->failed ? tw_no_memory(findings) : TW_OK;
}

int tw_file_descriptor(const char *path)
{
    static const char *const names[] = { "/dev/stdin", "/dev/stdout", "/dev/stderr" };
    static const char folder[] = "/dev/fd/";
    char *end;
    long number;

    for (int i = 0; i < 3; i++)
        if (strcmp(path, names[i]) == 0)
            return i;
    if (strncmp(path, folder, sizeof folder - 1) != 0 || path[sizeof folder - 1] < '0' || path[sizeof folder - 1] > '9')
        return -1;
    number = strtol(path + sizeof folder - 1, &end, 10);
    return *end == '\0' && number < 1 << 20 ? (int)number : -1;
}

/* What cannot be read as a file is told before it is opened: opening a pipe waits for someone to write to it. */
static enum tw_status check_kind(const char *path, const struct stat *status, bool handed_over,
                                 struct tw_findings *findings)
{
    struct tw_place at = { .file = path };

    if (S_ISDIR(status->st_mode))
        return tw_fail(findings, TW_IO, at, "is a folder; name a file in it");
    if (S_ISREG(status->st_mode) && status->st_size > (off_t)TW_FILE_LARGEST_BYTES)
        return too_large(path, findings);
    if (S_ISREG(status->st_mode) || (handed_over && S_ISFIFO(status->st_mode)))
        return TW_OK;
    return tw_fail(findings, TW_IO, at, "is a %s, which may never end; save what comes from it to a file and name that",
                   S_ISFIFO(status->st_mode)   ? "pipe"
                   : S_ISSOCK(status->st_mode) ? "socket"
                                               : "device");
}

/* Opens for reading, without waiting; -1 with a finding. */
static int open_to_read(const char *path, struct tw_findings *findings)
{
    int handed = tw_file_descriptor(path);
    struct stat status;
    int descriptor;

    if ((handed >= 0 ? fstat(handed, &status) : stat(path, &status)) != 0) {
        io_failed(findings, path, "cannot be opened");
        return -1;
    }
    if (check_kind(path, &status, handed >= 0, findings) != TW_OK)
        return -1;
    descriptor = handed >= 0 ? dup(handed) : open(path, O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    if (descriptor < 0)
        io_failed(findings, path, "cannot be opened");
    return descriptor;
}

enum tw_status tw_file_read(const char *path, struct tw_text *text, struct tw_findings *findings)
{
    struct tw_findings own = { 0 };
    int descriptor = open_to_read(path, &own);
    enum tw_status status;

    if (descriptor >= 0) {
        status = read_all(descriptor, path, text, &own);
        close(descriptor);
    } else {
        status = tw_findings_status(&own);
    }
    tw_findings_append(findings, &own);
    return status;
}

enum tw_own tw_file_own(const char *path)
{
    char head[TW_OWN_HEAD_BYTES];
    struct stat status;
    ssize_t got = 0;
    int descriptor;

    if (stat(path, &status) != 0 || !S_ISREG(status.st_mode))
        return TW_OWN_NONE;
    descriptor = open(path, O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    if (descriptor < 0)
        return TW_OWN_NONE;
    got = read(descriptor, head, sizeof head);
    close(descriptor);
    return got > 0 ? tw_own_of(head, (size_t)got) : TW_OWN_NONE;
}

bool tw_file_same(const char *a, const char *b)
{
    struct stat of_a, of_b;

    return stat(a, &of_a) == 0 && stat(b, &of_b) == 0 && of_a.st_dev == of_b.st_dev && of_a.st_ino == of_b.st_ino;
}

char *tw_path_beside(const char *beside, const char *path)
{
    const char *slash = strrchr(beside, '/');
    struct tw_text joined = { 0 };

    if (*path != '/' && slash)
        tw_text_append(&joined, beside, (size_t)(slash - beside) + 1);
    tw_text_print(&joined, "%s", path);
    return tw_text_take(&joined);
}

/* How many bytes of two whole paths name the same folders, the slash behind them included. */
static size_t common_folders(const char *folder, const char *path)
{
    size_t common = 0, i = 0;

    for (; folder[i] && folder[i] == path[i]; i++)
        if (path[i] == '/')
            common = i + 1;
    return !folder[i] && path[i] == '/' ? i + 1 : common;
}

static char *path_between(const char *folder, const char *path)
{
    size_t common = common_folders(folder, path);
    const char *rest = strlen(folder) < common ? "" : folder + common;
    struct tw_text text = { 0 };

    for (; *rest; rest += strcspn(rest, "/"), rest += *rest == '/')
        tw_text_print(&text, "../");
    tw_text_print(&text, "%s", path + common);
    return tw_text_take(&text);
}

enum tw_status tw_path_from(const char *folder, const char *path, char **out, struct tw_findings *findings)
{
    char whole_folder[PATH_MAX], whole_path[PATH_MAX];

    *out = NULL;
    if (!realpath(folder, whole_folder))
        return io_failed(findings, folder, "cannot be found");
    if (!realpath(path, whole_path))
        return io_failed(findings, path, "cannot be found");
    *out = path_between(whole_folder, whole_path);
    return *out ? TW_OK : tw_no_memory(findings);
}

static bool make_one_folder(const char *path)
{
    struct stat status;

    if (mkdir(path, 0777) == 0)
        return true;
    if (errno != EEXIST || stat(path, &status) != 0)
        return false;
    errno = ENOTDIR; /* says more than "file exists" */
    return S_ISDIR(status.st_mode);
}

enum tw_status tw_folder_make(const char *path, struct tw_findings *findings)
{
    char *partial = tw_copy_string(path);
    bool made = true;

    if (!partial)
        return tw_no_memory(findings);
    for (char *slash = strchr(partial + 1, '/'); made && slash; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        made = make_one_folder(partial);
        *slash = '/';
    }
    made = made && make_one_folder(partial);
    free(partial);
    return made ? TW_OK
                : tw_fail(findings, TW_IO, (struct tw_place){ .file = path }, "the folder cannot be made: %s%s",
                          strerror(errno), tw_write_advice(errno));
}
