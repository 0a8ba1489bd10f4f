/* file.c - reading a file whole, and replacing one so that a half-written file is never seen. */
#include "base/file.h"

#include "base/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define LARGEST_FILE_BYTES ((size_t)256 << 20)

static enum tw_status io_failed(struct tw_findings *findings, const char *path, const char *what)
{
    struct tw_place at = { .file = path };

    return tw_fail(findings, TW_IO, at, "%s: %s", what, strerror(errno));
}

static enum tw_status read_open_file(FILE *stream, const char *path, struct tw_text *text, struct tw_findings *findings)
{
    char block[16384];
    size_t got;

    while ((got = fread(block, 1, sizeof block, stream)) > 0) {
        if (text->length + got > LARGEST_FILE_BYTES) {
            struct tw_place at = { .file = path };
            return tw_fail(findings, TW_BAD_INPUT, at, "the file is larger than 256 MiB; is it the right one?");
        }
        tw_text_append(text, block, got);
        if (text->failed)
            return tw_no_memory(findings);
    }
    if (ferror(stream) && errno == EISDIR)
        return tw_fail(findings, TW_IO, (struct tw_place){ .file = path }, "is a folder; name a file in it");
    if (ferror(stream))
        return io_failed(findings, path, "cannot be read");
    tw_text_append(text, "", 0);
    return text->failed ? tw_no_memory(findings) : TW_OK;
}

enum tw_status tw_file_read(const char *path, struct tw_text *text, struct tw_findings *findings)
{
    FILE *stream = fopen(path, "rb");
    enum tw_status status;

    if (!stream)
        return io_failed(findings, path, "cannot be opened");
    status = read_open_file(stream, path, text, findings);
    fclose(stream);
    return status;
}

static bool write_all(int descriptor, const char *data, size_t length)
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

static bool sync_folder_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    struct tw_text folder = { 0 };
    int descriptor = -1;
    bool synced = false;

    if (slash)
        tw_text_append(&folder, path, slash == path ? 1 : (size_t)(slash - path));
    else
        tw_text_append(&folder, ".", 1);
    if (!folder.failed)
        descriptor = open(folder.data, O_RDONLY | O_DIRECTORY);
    if (descriptor >= 0) {
        /* Some file systems cannot sync a folder and say EINVAL; there is nothing more to do there. */
        synced = fsync(descriptor) == 0 || errno == EINVAL;
        close(descriptor);
    }
    tw_text_free(&folder);
    return synced;
}

/* A rename onto a folder would fail only after others have been put in place, so it is looked for first. */
static enum tw_status check_target(const char *path, struct tw_findings *findings)
{
    struct tw_place at = { .file = path };
    struct stat status;

    if (stat(path, &status) == 0 && S_ISDIR(status.st_mode))
        return tw_fail(findings, TW_IO, at,
                       "is a folder; a file of that name is to be written, so move the folder away");
    return TW_OK;
}

static bool write_and_close(int descriptor, const struct tw_new_file *file)
{
    bool written =
        write_all(descriptor, file->data, file->length) && fchmod(descriptor, 0644) == 0 && fsync(descriptor) == 0;
    int first_errno = errno;

    if (close(descriptor) != 0 && written)
        return false;
    errno = first_errno;
    return written;
}

/* A device or a pipe is written to, never replaced. */
static bool is_special(const char *path)
{
    struct stat status;

    return stat(path, &status) == 0 && !S_ISREG(status.st_mode) && !S_ISDIR(status.st_mode);
}

static enum tw_status write_special(const struct tw_new_file *file, struct tw_findings *findings)
{
    int descriptor = open(file->path, O_WRONLY);
    bool written;

    if (descriptor < 0)
        return io_failed(findings, file->path, "cannot be opened");
    written = write_all(descriptor, file->data, file->length);
    if (!written)
        io_failed(findings, file->path, "cannot be written");
    close(descriptor);
    return written ? TW_OK : TW_IO;
}

/* Writes the file under a temporary name, which is the caller's to free() and to unlink. */
static enum tw_status stage(const struct tw_new_file *file, char **temporary, struct tw_findings *findings)
{
    struct tw_text name = { 0 };
    enum tw_status status = check_target(file->path, findings);
    int descriptor;

    if (status != TW_OK)
        return status;
    if (is_special(file->path))
        return write_special(file, findings);
    tw_text_print(&name, "%s.XXXXXX", file->path);
    if (name.failed)
        return tw_no_memory(findings);
    descriptor = mkstemp(name.data);
    if (descriptor < 0) {
        tw_text_free(&name);
        return io_failed(findings, file->path, "cannot be created");
    }
    *temporary = name.data;
    return write_and_close(descriptor, file) ? TW_OK : io_failed(findings, file->path, "cannot be written");
}

static enum tw_status put_in_place(const struct tw_new_file *file, char **temporary, struct tw_findings *findings)
{
    if (rename(*temporary, file->path) != 0)
        return io_failed(findings, file->path, "cannot be put in place");
    free(*temporary);
    *temporary = NULL;
    if (!sync_folder_of(file->path))
        return io_failed(findings, file->path, "was written, but its folder cannot be synced to the disk");
    return TW_OK;
}

enum tw_status tw_files_replace(const struct tw_new_file *files, size_t count, struct tw_findings *findings)
{
    char **temporary = calloc(count ? count : 1, sizeof *temporary);
    enum tw_status status = TW_OK;

    if (!temporary)
        return tw_no_memory(findings);
    for (size_t i = 0; status == TW_OK && i < count; i++)
        status = stage(&files[i], &temporary[i], findings);
    for (size_t i = 0; status == TW_OK && i < count; i++)
        if (temporary[i])
            status = put_in_place(&files[i], &temporary[i], findings);
    for (size_t i = 0; i < count; i++) {
        if (temporary[i])
            unlink(temporary[i]);
        free(temporary[i]);
    }
    free(temporary);
    return status;
}

static bool make_one_folder(const char *path)
{
    struct stat status;

    if (mkdir(path, 0755) == 0)
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
    return made ? TW_OK : io_failed(findings, path, "the folder cannot be made");
}
