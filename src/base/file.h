/* file.h - reading a file whole, looking at its beginning, and making folders. */
#ifndef TANGWRIGHT_BASE_FILE_H
#define TANGWRIGHT_BASE_FILE_H

#include "base/own.h"
#include "base/text.h"
#include "tangwright/findings.h"

/* What a person's text can need at most; a drawing from a scanner or a program of loops may be larger than a job. */
#define TW_FILE_LARGEST_BYTES ((size_t)64 << 20)

/* Reads at most TW_FILE_LARGEST_BYTES into *text (appended). TW_IO with the reason otherwise. A pipe or a device is refused:
 * it may never end. What the shell hands over already open, /dev/stdin and /dev/fd/N, may be a pipe. */
enum tw_status tw_file_read(const char *path, struct tw_text *text, struct tw_findings *findings);

/* The number in /dev/fd/N, or of /dev/stdin, /dev/stdout and /dev/stderr; -1 for any other path. */
int tw_file_descriptor(const char *path);

/* What a file of that path is by its beginning. TW_OWN_NONE too where there is none, or none that can be read. */
enum tw_own tw_file_own(const char *path);

/* Whether both paths lead to the same file, which is there. */
bool tw_file_same(const char *a, const char *b);

/* `path` as it is written in the file `beside`, seen from here: relative to that file's folder. The caller's: free(). NULL when
 * memory runs out. */
char *tw_path_beside(const char *beside, const char *path);

/* The same file as it is written in a file of `folder`, which is there: relative to it, links followed. The caller's: free().
 * TW_IO where one of them is not there. */
enum tw_status tw_path_from(const char *folder, const char *path, char **out, struct tw_findings *findings);

/* What to do where a file or folder could not be made for that reason (of errno), begun with a semicolon; "" where nothing is
 * known to help. */
const char *tw_write_advice(int error);

/* Makes the folder and its parents where they are missing. */
enum tw_status tw_folder_make(const char *path, struct tw_findings *findings);

#endif
