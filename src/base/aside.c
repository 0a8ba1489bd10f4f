/* aside.c - see aside.h. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "base/aside.h"

#include "base/file.h"
#include "base/memory.h"
#include "base/replace.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum tw_status aside_failed(struct tw_findings *findings, const char *path, const char *what)
{
    struct tw_place at = { .file = path };

    return tw_fail(findings, TW_IO, at, "%s: %s%s", what, strerror(errno), tw_write_advice(errno));
}

bool aside_write(int descriptor, const char *data, size_t length)
{
    while (length > 0) {
        ssize_t written = write(descriptor, data, length);

        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0)
            return false;
        data += written;
        length -= (size_t)written;
    }
    return true;
}

/* A lock ends with its process, so what is locked belongs to a run that lives. A file system without locks says
 * something else, and there every run counts as dead. */
bool aside_is_taken(int descriptor)
{
    struct flock lock = { .l_type = F_WRLCK, .l_whence = SEEK_SET };

    return fcntl(descriptor, F_SETLK, &lock) != 0 && (errno == EACCES || errno == EAGAIN);
}

/* The folder part of a path, for the caller to free(); NULL when memory runs out. */
static char *folder_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    struct tw_text folder = { 0 };

    if (slash)
        tw_text_append(&folder, path, slash == path ? 1 : (size_t)(slash - path));
    else
        tw_text_append(&folder, ".", 1);
    return tw_text_take(&folder);
}

bool aside_sync_folder_of(const char *path)
{
    char *folder = folder_of(path);
    int descriptor = folder ? open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC) : -1;
    bool synced = false;

    if (descriptor >= 0) {
        /* Some file systems cannot sync a folder and say EINVAL; there is nothing more to do there. */
        synced = fsync(descriptor) == 0 || errno == EINVAL;
        close(descriptor);
    }
    free(folder);
    return synced;
}

/* ---- may it be written? ---- */

/* Written to as it is, at once: what the shell handed over open, and the device that swallows all. */
bool aside_is_stream(const char *path)
{
    return tw_file_descriptor(path) >= 0 || strcmp(path, "/dev/null") == 0;
}

enum tw_status aside_check_target(const char *path, struct tw_findings *findings)
{
    struct tw_place at = { .file = path };
    struct stat status;

    if (stat(path, &status) != 0) {
        if (lstat(path, &status) == 0)
            return tw_fail(findings, TW_IO, at, "is a link to a file that is not there; remove the link");
        return TW_OK; /* what else may be wrong shows when it is written */
    }
    if (S_ISDIR(status.st_mode))
        return tw_fail(findings, TW_IO, at,
                       "is a folder; a file of that name is to be written, so move the folder away");
    if (!S_ISREG(status.st_mode))
        return tw_fail(findings, TW_IO, at,
                       "is a %s, which may never take what is written; write to a file, or to - for standard output",
                       S_ISFIFO(status.st_mode)   ? "pipe"
                       : S_ISSOCK(status.st_mode) ? "socket"
                                                  : "device");
    return TW_OK;
}

static bool is_empty(const char *path)
{
    struct stat status;

    return stat(path, &status) == 0 && S_ISREG(status.st_mode) && status.st_size == 0;
}

bool aside_is_there(const char *path)
{
    return access(path, F_OK) == 0;
}

static enum tw_status refuse_other(const char *path, enum tw_own wanted, struct tw_findings *findings)
{
    enum tw_own own = tw_file_own(path);
    struct tw_place at = { .file = path };

    if (own != TW_OWN_NONE)
        return tw_fail(findings, TW_IO, at, "is a %s, and no %s is written over it; give the %s another name",
                       tw_own_name(own), tw_own_name(wanted), tw_own_name(wanted));
    return tw_fail(
        findings, TW_IO, at,
        "is there already, and it is no %s that tangwright wrote, so it stays as it is; give another name, or "
        "move it away",
        tw_own_name(wanted));
}

enum tw_status aside_check_kind(const char *path, enum tw_own wanted, struct tw_findings *findings)
{
    if (!aside_is_there(path) || is_empty(path) || (wanted != TW_OWN_NONE && tw_file_own(path) == wanted))
        return TW_OK;
    return refuse_other(path, wanted, findings);
}

/* ---- aside ---- */

char *aside_name(const char *target, const char *what)
{
    struct tw_text name = { 0 };

    tw_text_print(&name, "%s" TW_FILE_ASIDE "%s-%ld", target, what, (long)getpid());
    return tw_text_take(&name);
}

/* Removes what killed runs left of one target: files named after it that no living run holds. */
void aside_clean(const char *target, const char *what)
{
    const char *slash = strrchr(target, '/'), *name = slash ? slash + 1 : target;
    char *folder = folder_of(target);
    DIR *entries = folder ? opendir(folder) : NULL;
    const struct dirent *entry;

    while (entries && (entry = readdir(entries))) {
        size_t length = strlen(name);
        const char *past = entry->d_name + length + sizeof TW_FILE_ASIDE - 1;
        int descriptor;

        if (strncmp(entry->d_name, name, length) != 0 ||
            strncmp(entry->d_name + length, TW_FILE_ASIDE, sizeof TW_FILE_ASIDE - 1) != 0 ||
            strncmp(past, what, strlen(what)) != 0)
            continue;
        descriptor = openat(dirfd(entries), entry->d_name, O_RDWR | O_NONBLOCK | O_NOFOLLOW | O_CLOEXEC);
        if (descriptor >= 0 && !aside_is_taken(descriptor))
            unlinkat(dirfd(entries), entry->d_name, 0);
        if (descriptor >= 0)
            close(descriptor);
    }
    if (entries)
        closedir(entries);
    free(folder);
}

char *aside_follow(const char *path)
{
    struct stat status;

    return lstat(path, &status) == 0 && S_ISLNK(status.st_mode) ? realpath(path, NULL) : tw_copy_string(path);
}
