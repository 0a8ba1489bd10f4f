/* folder.h - the files of one folder, by names that cannot lead out of it. */
#ifndef TANGWRIGHT_PAGE_FOLDER_H
#define TANGWRIGHT_PAGE_FOLDER_H

#include "base/text.h"
#include "tangwright/findings.h"

#include <jansson.h>

/* A folder held open. */
struct folder {
    int descriptor;
    char *path; /* whole, links followed */
};

/* folder_close() in any case. */
enum tw_status folder_open(const char *path, struct folder *out, struct tw_findings *findings);
void folder_close(struct folder *folder);

/* Whether it names a file straight in the folder: plain UTF-8, no slash, no dot at its beginning. */
bool folder_is_name(const char *name);

/* Whether a plain file stands there; `path` may lead through folders inside, "profiles/wheels/cup.cfg", but over no link. */
bool folder_holds(const struct folder *folder, const char *path);

/* Whether nothing of that name is there, not even a link; whether a folder is. */
bool folder_has_no(const struct folder *folder, const char *name);
bool folder_has_folder(const struct folder *folder, const char *name);

/* Appends the file to *text. TW_IO where there is none, or a larger one. */
enum tw_status folder_read(const struct folder *folder, const char *path, size_t most_bytes, struct tw_text *text);

/* Replaces the file of that name, or makes it. */
enum tw_status folder_write(const struct folder *folder, const char *name, const char *data, size_t length,
                            struct tw_findings *findings);

/* The folder's path and `name` behind it; the caller's: free(). NULL when memory runs out. */
char *folder_path(const struct folder *folder, const char *name);

/* Names of the plain files in `inner` ("" the folder itself) that `wanted` likes, in order; NULL when memory runs out. Where
 * there is no such folder, none. */
json_t *folder_list(const struct folder *folder, const char *inner, bool (*wanted)(const char *name));

/* Takes the folder's own path out of a message. */
char *folder_words(const struct folder *folder, const char *words);

#endif
