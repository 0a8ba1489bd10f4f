/* file.h - reading a file whole, and replacing one so that a half-written file is never seen. */
#ifndef TANGWRIGHT_BASE_FILE_H
#define TANGWRIGHT_BASE_FILE_H

#include "base/text.h"
#include "tangwright/findings.h"

/* Reads at most 256 MiB into *text (appended). TW_IO with the reason otherwise. */
enum tw_status tw_file_read(const char *path, struct tw_text *text, struct tw_findings *findings);

/* Writes to a temporary file beside `path`, syncs it, renames it over `path` and syncs the folder.
 * Until the rename an older file stays whole; on failure the temporary file is removed. */
enum tw_status tw_file_replace(const char *path, const char *data, size_t length, struct tw_findings *findings);

#endif
