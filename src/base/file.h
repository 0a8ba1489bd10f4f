/* file.h - reading a file whole, and replacing one so that a half-written file is never seen. */
#ifndef TANGWRIGHT_BASE_FILE_H
#define TANGWRIGHT_BASE_FILE_H

#include "base/text.h"
#include "tangwright/findings.h"

/* Reads at most 256 MiB into *text (appended). TW_IO with the reason otherwise. */
enum tw_status tw_file_read(const char *path, struct tw_text *text, struct tw_findings *findings);

/* A file to be written; `data` and `path` are borrowed. */
struct tw_new_file {
    const char *path;
    const char *data;
    size_t length;
};

/* Writes every file to a temporary one beside it and syncs it; only when all are on the disk are they renamed
 * over their paths, and the folders synced. Until then older files stay whole; on failure nothing new is left
 * behind. A device or a pipe is written to at once. */
enum tw_status tw_files_replace(const struct tw_new_file *files, size_t count, struct tw_findings *findings);

/* Makes the folder and its parents where they are missing. */
enum tw_status tw_folder_make(const char *path, struct tw_findings *findings);

#endif
