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

static enum tw_status read_open_file(FILE *stream, const char *path, struct tw_text *text,
                                     struct tw_findings *findings)
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

static enum tw_status write_and_rename(int descriptor, const char *temporary, const char *path, const char *data,
                                       size_t length, struct tw_findings *findings)
{
    bool written = write_all(descriptor, data, length) && fchmod(descriptor, 0644) == 0 && fsync(descriptor) == 0;
    int first_errno = errno;

    if (close(descriptor) != 0 && written) {
        written = false;
        first_errno = errno;
    }
    if (!written) {
        errno = first_errno;
        return io_failed(findings, path, "cannot be written");
    }
    if (rename(temporary, path) != 0)
        return io_failed(findings, path, "cannot be put in place");
    if (!sync_folder_of(path))
        return io_failed(findings, path, "was written, but its folder cannot be synced to the disk");
    return TW_OK;
}

enum tw_status tw_file_replace(const char *path, const char *data, size_t length, struct tw_findings *findings)
{
    struct tw_text temporary = { 0 };
    enum tw_status status;
    int descriptor;

    tw_text_print(&temporary, "%s.XXXXXX", path);
    if (temporary.failed)
        return tw_no_memory(findings);
    descriptor = mkstemp(temporary.data);
    if (descriptor < 0) {
        status = io_failed(findings, path, "cannot be created");
    } else {
        status = write_and_rename(descriptor, temporary.data, path, data, length, findings);
        if (status != TW_OK)
            unlink(temporary.data);
    }
    tw_text_free(&temporary);
    return status;
}
