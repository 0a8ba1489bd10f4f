/* replace.c - writing files so that nobody ever sees half of one, nor half of a set of them. */
#include "base/replace.h"

#include "base/aside.h"
#include "base/file.h"
#include "base/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* One place that is to hold a new file, or none any more. */
struct place {
    const struct tw_new_file *file; /* NULL: what stands here goes */
    char *target;                   /* the file's path, links followed; NULL: written to at once */
    char *staged;                   /* the new one, written aside; NULL: none, or in its place already */
    int descriptor;                 /* of the staged file, locked; -1: none */
    char *older;                    /* the older one, moved aside; NULL: none, or back in its place */
    bool placed;
};

struct switching {
    const struct tw_file_set *set;
    struct place *places;
    size_t count;
    int mark;           /* descriptor, locked; -1: none */
    bool marked_before; /* a killed run left its mark: what stands there is no set */
};

enum tw_status tw_file_check_free(const char *path, enum tw_own wanted, struct tw_findings *findings)
{
    enum tw_status status;

    if (aside_is_stream(path))
        return TW_OK;
    status = aside_check_target(path, findings);
    return status == TW_OK ? aside_check_kind(path, wanted, findings) : status;
}

/* ---- writing aside ---- */

static enum tw_status write_stream(const struct tw_new_file *file, struct tw_findings *findings)
{
    int handed = tw_file_descriptor(file->path);
    int descriptor = handed >= 0 ? dup(handed) : open(file->path, O_WRONLY | O_NOCTTY | O_CLOEXEC);
    enum tw_status status = TW_OK;

    if (descriptor < 0)
        return aside_failed(findings, file->path, "cannot be opened");
    if (!aside_write(descriptor, file->data, file->length))
        status = aside_failed(findings, file->path, "cannot be written");
    close(descriptor);
    return status;
}

static enum tw_status stage(struct place *place, struct tw_findings *findings)
{
    const struct tw_new_file *file = place->file;
    enum tw_status status;

    if (aside_is_stream(file->path))
        return write_stream(file, findings);
    status = aside_check_target(file->path, findings);
    if (status == TW_OK && !file->known)
        status = aside_check_kind(file->path, tw_own_of(file->data, file->length), findings);
    if (status != TW_OK)
        return status;
    place->target = aside_follow(file->path);
    place->staged = place->target ? aside_name(place->target, "new") : NULL;
    if (!place->staged)
        return tw_no_memory(findings);
    aside_clean(place->target, "new");
    place->descriptor = open(place->staged, O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (place->descriptor < 0) {
        free(place->staged);
        place->staged = NULL;
        return aside_failed(findings, file->path, "cannot be created");
    }
    aside_is_taken(place->descriptor); /* takes the lock; it is ours alone */
    if (!aside_write(place->descriptor, file->data, file->length) || fsync(place->descriptor) != 0)
        return aside_failed(findings, file->path, "cannot be written");
    return TW_OK;
}

/* ---- the mark ---- */

/* A folder can be marked already: by a killed run, or by one that is at it. */
static enum tw_status check_mark(struct switching *switching, struct tw_findings *findings)
{
    const struct tw_file_set *set = switching->set;
    struct tw_place at = { .file = set->mark };
    struct stat status;
    char text[1024];
    ssize_t got;

    if (aside_is_taken(switching->mark) || fstat(switching->mark, &status) != 0 || status.st_nlink == 0)
        return tw_fail(findings, TW_IO, at,
                       "another run of tangwright is writing here at this moment; let it end, and try again");
    got = read(switching->mark, text, sizeof text);
    if (got < 0)
        return aside_failed(findings, set->mark, "cannot be read");
    if ((size_t)got > strlen(set->mark_text) || memcmp(text, set->mark_text, (size_t)got) != 0)
        return tw_fail(findings, TW_IO, at, "is not the file that tangwright marks a folder with; move it away");
    switching->marked_before = got > 0;
    return TW_OK;
}

static enum tw_status set_mark(struct switching *switching, struct tw_findings *findings)
{
    const struct tw_file_set *set = switching->set;
    size_t length;
    enum tw_status status;

    if (!set->mark)
        return TW_OK;
    length = strlen(set->mark_text);
    status = aside_check_target(set->mark, findings);
    if (status != TW_OK)
        return status;
    switching->mark = open(set->mark, O_RDWR | O_CREAT | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (switching->mark < 0)
        return aside_failed(findings, set->mark, "cannot be created");
    status = check_mark(switching, findings);
    if (status != TW_OK) {
        close(switching->mark);
        switching->mark = -1;
    } else if (lseek(switching->mark, 0, SEEK_SET) != 0 || !aside_write(switching->mark, set->mark_text, length) ||
               fsync(switching->mark) != 0) {
        status = aside_failed(findings, set->mark, "cannot be written");
    }
    return status;
}

/* ---- switching ---- */

/* One file alone takes the place of an older one in a single step. */
static bool is_single(const struct switching *switching)
{
    return switching->count == 1 && !switching->set->mark;
}

static enum tw_status move_aside(struct place *place, struct tw_findings *findings)
{
    char *aside;

    if (!place->target || !aside_is_there(place->target))
        return TW_OK;
    aside = aside_name(place->target, "old");
    if (!aside)
        return tw_no_memory(findings);
    if (rename(place->target, aside) != 0) {
        free(aside);
        return aside_failed(findings, place->target, "the older file cannot be moved aside");
    }
    place->older = aside;
    return TW_OK;
}

static enum tw_status put_in_place(struct place *place, struct tw_findings *findings)
{
    if (!place->staged)
        return TW_OK;
    if (rename(place->staged, place->target) != 0)
        return aside_failed(findings, place->file->path, "cannot be put in place");
    free(place->staged);
    place->staged = NULL;
    place->placed = true;
    return TW_OK;
}

static bool take_back(struct place *place)
{
    if (place->older) {
        if (rename(place->older, place->target) != 0)
            return false;
        free(place->older);
        place->older = NULL;
    } else if (place->placed && unlink(place->target) != 0) {
        return false;
    }
    place->placed = false;
    return true;
}

/* All as it was, so that no new file stands beside an older one. */
static void roll_back(struct switching *switching, struct tw_findings *findings)
{
    bool whole = true;

    for (size_t i = 0; i < switching->count; i++)
        whole &= take_back(&switching->places[i]);
    if (switching->mark >= 0 && whole && !switching->marked_before)
        whole = unlink(switching->set->mark) == 0;
    if (!whole)
        tw_fail(
            findings, TW_IO, (struct tw_place){ .file = switching->places[0].target },
            "the files that were there could not all be put back: use none of this folder until they are written anew");
}

static bool sync_folders(const struct switching *switching)
{
    bool synced = true;

    for (size_t i = 0; i < switching->count; i++)
        if (switching->places[i].placed)
            synced &= aside_sync_folder_of(switching->places[i].target);
    return synced;
}

/* The new files are all in place: from here on the set counts, whatever fails. */
static enum tw_status settle(struct switching *switching, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    if (!sync_folders(switching))
        status = aside_failed(findings, switching->places[0].target,
                              "was written, but its folder cannot be synced to the disk");
    if (switching->mark >= 0 && unlink(switching->set->mark) != 0)
        status =
            aside_failed(findings, switching->set->mark, "all files were written, but this mark cannot be removed");
    for (size_t i = 0; i < switching->count; i++)
        if (switching->places[i].older && unlink(switching->places[i].older) != 0)
            status = aside_failed(findings, switching->places[i].older, "is an older file that cannot be removed");
    for (size_t i = 0; switching->mark >= 0 && i < switching->count; i++)
        aside_clean(switching->places[i].target, "old"); /* the mark is ours, so nobody else has any there */
    return status;
}

static enum tw_status switch_over(struct switching *switching, struct tw_findings *findings)
{
    enum tw_status status = set_mark(switching, findings);

    if (switching->mark >= 0 && status == TW_OK && !aside_sync_folder_of(switching->set->mark))
        status = aside_failed(findings, switching->set->mark, "its folder cannot be synced to the disk");
    for (size_t i = 0; status == TW_OK && !is_single(switching) && i < switching->count; i++)
        status = move_aside(&switching->places[i], findings);
    for (size_t i = 0; status == TW_OK && i < switching->count; i++)
        status = put_in_place(&switching->places[i], findings);
    if (status == TW_OK)
        return settle(switching, findings);
    roll_back(switching, findings);
    return status;
}

static void forget(struct switching *switching)
{
    for (size_t i = 0; i < switching->count; i++) {
        struct place *place = &switching->places[i];

        if (place->staged)
            unlink(place->staged);
        if (place->descriptor >= 0)
            close(place->descriptor);
        free(place->staged);
        free(place->older);
        free(place->target);
    }
    if (switching->mark >= 0)
        close(switching->mark);
    free(switching->places);
}

enum tw_status tw_file_set_replace(const struct tw_file_set *set, struct tw_findings *findings)
{
    struct switching switching = { .set = set, .count = set->count + set->outdated_count, .mark = -1 };
    enum tw_status status = TW_OK;

    switching.places = calloc(switching.count ? switching.count : 1, sizeof *switching.places);
    if (!switching.places)
        return tw_no_memory(findings);
    for (size_t i = 0; i < switching.count; i++)
        switching.places[i].descriptor = -1;
    for (size_t i = 0; status == TW_OK && i < set->count; i++) {
        switching.places[i].file = &set->files[i];
        status = stage(&switching.places[i], findings);
    }
    for (size_t i = 0; status == TW_OK && i < set->outdated_count; i++) {
        struct place *place = &switching.places[set->count + i];

        place->target = tw_copy_string(set->outdated[i]);
        if (!place->target)
            status = tw_no_memory(findings);
    }
    if (status == TW_OK)
        status = switch_over(&switching, findings);
    forget(&switching);
    return status;
}

enum tw_status tw_files_replace(const struct tw_new_file *files, size_t count, struct tw_findings *findings)
{
    struct tw_file_set set = { .files = files, .count = count };

    return tw_file_set_replace(&set, findings);
}
