/* replace.h - writing files so that nobody ever sees half of one, nor half of a set of them.
 *
 * Every file is written aside, beside its place, and synced; then all are switched: older ones are moved aside, the new
 * ones take their places, and the older ones go. So at no moment does a new file stand beside an older one of the same set.
 * While a set is switched its mark stands in the folder, a small file that says so in words. When something fails on the
 * way, all older files come back. What a killed run leaves behind, names that hold TW_FILE_ASIDE, is cleaned by the next
 * that writes the same files.
 *
 * A file that is there is only replaced by one of its own kind (own.h), or while it is empty. A link is followed. */
#ifndef TANGWRIGHT_BASE_REPLACE_H
#define TANGWRIGHT_BASE_REPLACE_H

#include "base/own.h"
#include "tangwright/findings.h"

/* Stands in the name of everything that is not yet, or no longer, in its place. */
#define TW_FILE_ASIDE ".tangwright-"

/* A file to be written; `data` and `path` are borrowed. */
struct tw_new_file {
    const char *path;
    const char *data;
    size_t length;
    bool known; /* what stands there is known to be ours, though its beginning does not tell */
};

struct tw_file_set {
    const struct tw_new_file *files;
    size_t count;
    char *const *outdated; /* paths of files that go when the set comes */
    size_t outdated_count;
    const char *mark; /* path of the mark; NULL: none */
    const char *mark_text;
};

enum tw_status tw_file_set_replace(const struct tw_file_set *set, struct tw_findings *findings);

/* The same for files that are no set. A file handed over open, as /dev/fd/N, and /dev/null are written to at once. */
enum tw_status tw_files_replace(const struct tw_new_file *files, size_t count, struct tw_findings *findings);

/* Whether tw_files_replace() would write a file of that kind there, as far as can be told before. TW_IO says why not. */
enum tw_status tw_file_check_free(const char *path, enum tw_own wanted, struct tw_findings *findings);

#endif
