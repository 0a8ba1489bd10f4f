/* staged.h - many files in several folders, written aside one after the other, that take their places once it is written elsewhere
 * that they do.
 *
 * tw_staged_open() holds the folder against other runs. Files are added; each is on the disk, beside its place. Up to here a kill leaves
 * all as it was. Then the caller notes the list of files where a kill cannot take it back, and they take their places. A
 * kill from there on is made good by tw_staged_finish() with that list, as often as it takes. While files take their
 * places, a mark stands in each of their folders. */
#ifndef TANGWRIGHT_BASE_STAGED_H
#define TANGWRIGHT_BASE_STAGED_H

#include "base/replace.h"

/* `staged` NULL: what stands at the target goes. */
struct tw_staged_file {
    char *target, *staged;
};

struct tw_staged_mark {
    const char *name, *text;
};

struct tw_staged {
    char *folder; /* absolute, links followed: targets below it are known wherever a later run is called from */
    char *lock_path;
    int lock;
    struct tw_staged_file *files;
    size_t count, capacity;
    char **made; /* folders that were not there before, the outer ahead of the inner ones */
    size_t made_count, made_capacity;
    bool agreed; /* the list is noted: files that are aside stay */
};

/* Makes the folder where it is missing. TW_IO: it cannot be written to, or another run that lives holds it. Only on TW_OK
 * there is something to close. */
enum tw_status tw_staged_open(const char *folder, struct tw_staged *out, struct tw_findings *findings);

/* A folder for files that are added; it goes again with them. */
enum tw_status tw_staged_make_folder(struct tw_staged *staged, const char *path, struct tw_findings *findings);

/* Of each folder first a file that is added, and its others in a row. */
enum tw_status tw_staged_add(struct tw_staged *staged, const struct tw_new_file *file, struct tw_findings *findings);
enum tw_status tw_staged_remove(struct tw_staged *staged, const char *target, struct tw_findings *findings);

/* The list is noted; what is not in its place when this fails is put there by tw_staged_finish(). */
enum tw_status tw_staged_place(struct tw_staged *staged, const struct tw_staged_mark *mark,
                               struct tw_findings *findings);

/* Files that are in their places already, or gone, are no error. */
enum tw_status tw_staged_finish(const struct tw_staged_file *files, size_t count, const struct tw_staged_mark *mark,
                                struct tw_findings *findings);

/* Unless the list is noted, what is aside goes, and the folders made for it, where nobody else has put anything into them. */
void tw_staged_close(struct tw_staged *staged);

#endif
