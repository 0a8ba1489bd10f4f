/* staged.c - see staged.h. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "base/staged.h"

#include "base/aside.h"
#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* ---- holding the folder ---- */

static void forget(struct tw_staged *staged)
{
    if (staged->lock >= 0)
        close(staged->lock);
    free(staged->folder);
    free(staged->lock_path);
    *staged = (struct tw_staged){ .lock = -1 };
}

/* One that was removed while we waited for it is nobody's any more. */
static enum tw_status lock_folder(struct tw_staged *staged, struct tw_findings *findings)
{
    struct stat status;

    staged->lock = open(staged->lock_path, O_RDWR | O_CREAT | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (staged->lock < 0)
        return aside_failed(findings, staged->folder, "cannot be written to");
    if (aside_is_taken(staged->lock) || fstat(staged->lock, &status) != 0 || status.st_nlink == 0)
        return tw_fail(findings, TW_IO, (struct tw_place){ .file = staged->folder },
                       "another run of tangwright is writing here at this moment; let it end, and try again");
    return TW_OK;
}

static char *lock_path_of(const char *folder)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/" TW_FILE_ASIDE "lock", folder);
    return tw_text_take(&path);
}

enum tw_status tw_staged_open(const char *folder, struct tw_staged *out, struct tw_findings *findings)
{
    enum tw_status status = tw_folder_make(folder, findings);

    *out = (struct tw_staged){ .lock = -1 };
    if (status != TW_OK)
        return status;
    out->folder = realpath(folder, NULL);
    out->lock_path = out->folder ? lock_path_of(out->folder) : NULL;
    status = out->lock_path ? lock_folder(out, findings) : tw_no_memory(findings);
    if (status != TW_OK)
        forget(out);
    return status;
}

/* ---- folders ---- */

static bool is_there(const char *path)
{
    struct stat status;

    return lstat(path, &status) == 0;
}

static enum tw_status note_if_missing(struct tw_staged *staged, const char *path, struct tw_findings *findings)
{
    char *copy;

    if (is_there(path))
        return TW_OK;
    copy = tw_copy_string(path);
    if (!copy ||
        !tw_grow((void **)&staged->made, &staged->made_capacity, staged->made_count + 1, sizeof *staged->made)) {
        free(copy);
        return tw_no_memory(findings);
    }
    staged->made[staged->made_count++] = copy;
    return TW_OK;
}

/* With those that it lies in. */
static enum tw_status note_missing(struct tw_staged *staged, const char *path, struct tw_findings *findings)
{
    char *partial = tw_copy_string(path);
    enum tw_status status = partial ? TW_OK : tw_no_memory(findings);

    for (char *slash = partial ? strchr(partial + 1, '/') : NULL; status == TW_OK && slash;
         slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        status = note_if_missing(staged, partial, findings);
        *slash = '/';
    }
    if (status == TW_OK)
        status = note_if_missing(staged, partial, findings);
    free(partial);
    return status;
}

enum tw_status tw_staged_make_folder(struct tw_staged *staged, const char *path, struct tw_findings *findings)
{
    enum tw_status status = note_missing(staged, path, findings);

    return status == TW_OK ? tw_folder_make(path, findings) : status;
}

static void drop_folders(struct tw_staged *staged)
{
    while (staged->made_count-- > 0) {
        if (!staged->agreed)
            rmdir(staged->made[staged->made_count]); /* fails where it is not empty */
        free(staged->made[staged->made_count]);
    }
    free(staged->made);
}

void tw_staged_close(struct tw_staged *staged)
{
    for (size_t i = 0; i < staged->count; i++) {
        if (staged->files[i].staged && !staged->agreed)
            unlink(staged->files[i].staged);
        free(staged->files[i].staged);
        free(staged->files[i].target);
    }
    free(staged->files);
    drop_folders(staged);
    if (staged->lock_path)
        unlink(staged->lock_path);
    forget(staged);
}

/* ---- aside ---- */

/* Takes both over. */
static enum tw_status note(struct tw_staged *staged, char *target, char *aside, struct tw_findings *findings)
{
    if (!target || !tw_grow((void **)&staged->files, &staged->capacity, staged->count + 1, sizeof *staged->files)) {
        free(target);
        free(aside);
        return tw_no_memory(findings);
    }
    staged->files[staged->count++] = (struct tw_staged_file){ target, aside };
    return TW_OK;
}

static enum tw_status write_aside(const char *aside, const struct tw_new_file *file, struct tw_findings *findings)
{
    int descriptor = open(aside, O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0666);
    enum tw_status status = TW_OK;

    if (descriptor < 0)
        return aside_failed(findings, file->path, "cannot be created");
    if (!aside_write(descriptor, file->data, file->length) || fsync(descriptor) != 0)
        status = aside_failed(findings, file->path, "cannot be written");
    close(descriptor);
    if (status == TW_OK && !aside_sync_folder_of(aside))
        status = aside_failed(findings, file->path, "its folder cannot be synced to the disk");
    return status;
}

enum tw_status tw_staged_add(struct tw_staged *staged, const struct tw_new_file *file, struct tw_findings *findings)
{
    char *target = NULL, *aside = NULL;
    enum tw_status status = aside_check_target(file->path, findings);

    if (status == TW_OK && !file->known)
        status = aside_check_kind(file->path, tw_own_of(file->data, file->length), findings);
    if (status != TW_OK)
        return status;
    target = aside_follow(file->path);
    aside = target ? aside_name(target, "new") : NULL;
    if (!aside) {
        free(target);
        return tw_no_memory(findings);
    }
    aside_clean(target, "new");
    status = note(staged, target, aside, findings);
    return status == TW_OK ? write_aside(aside, file, findings) : status;
}

enum tw_status tw_staged_remove(struct tw_staged *staged, const char *target, struct tw_findings *findings)
{
    return note(staged, tw_copy_string(target), NULL, findings);
}

/* ---- into their places ---- */

static size_t folder_length(const char *path)
{
    const char *slash = strrchr(path, '/');

    return slash ? (size_t)(slash - path) : 0;
}

/* Files of one folder stand together in the list. */
static bool is_first_of_folder(const struct tw_staged_file *files, size_t i)
{
    size_t length = folder_length(files[i].target);

    return i == 0 || folder_length(files[i - 1].target) != length ||
           strncmp(files[i - 1].target, files[i].target, length) != 0;
}

static char *mark_path_of(const char *target, const struct tw_staged_mark *mark)
{
    struct tw_text path = { 0 };

    tw_text_append(&path, target, folder_length(target));
    tw_text_print(&path, "/%s", mark->name);
    return tw_text_take(&path);
}

static enum tw_status put_mark(const char *path, const struct tw_staged_mark *mark, struct tw_findings *findings)
{
    struct tw_new_file file = { .path = path, .data = mark->text, .length = strlen(mark->text) };
    enum tw_status status = aside_check_target(path, findings);

    return status == TW_OK ? write_aside(path, &file, findings) : status;
}

static enum tw_status take_mark(const char *path, struct tw_findings *findings)
{
    return unlink(path) == 0 || errno == ENOENT ? TW_OK : aside_failed(findings, path, "cannot be removed");
}

/* One whose first file is in its place has its mark already, or is through. */
static enum tw_status change_marks(const struct tw_staged_file *files, size_t count, const struct tw_staged_mark *mark,
                                   bool put, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        char *path;

        if (!is_first_of_folder(files, i))
            continue;
        path = mark_path_of(files[i].target, mark);
        if (!path)
            return tw_no_memory(findings);
        if (!put)
            status = take_mark(path, findings);
        else if (files[i].staged && aside_is_there(files[i].staged))
            status = put_mark(path, mark, findings);
        free(path);
    }
    return status;
}

static enum tw_status place(const struct tw_staged_file *file, struct tw_findings *findings)
{
    if (file->staged && rename(file->staged, file->target) != 0 && errno != ENOENT)
        return aside_failed(findings, file->target, "cannot be put in place");
    if (!file->staged && unlink(file->target) != 0 && errno != ENOENT)
        return aside_failed(findings, file->target, "cannot be removed");
    return TW_OK;
}

enum tw_status tw_staged_finish(const struct tw_staged_file *files, size_t count, const struct tw_staged_mark *mark,
                                struct tw_findings *findings)
{
    enum tw_status status = change_marks(files, count, mark, true, findings);

    for (size_t i = 0; status == TW_OK && i < count; i++)
        status = place(&files[i], findings);
    for (size_t i = 0; status == TW_OK && i < count; i++)
        if (is_first_of_folder(files, i))
            aside_sync_folder_of(
                files[i].target); /* one that is gone cannot be, and a mark or its lack says the rest */
    return status == TW_OK ? change_marks(files, count, mark, false, findings) : status;
}

enum tw_status tw_staged_place(struct tw_staged *staged, const struct tw_staged_mark *mark,
                               struct tw_findings *findings)
{
    staged->agreed = true;
    return tw_staged_finish(staged->files, staged->count, mark, findings);
}
