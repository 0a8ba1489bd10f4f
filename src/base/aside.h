/* aside.h - a new file beside the place that it is for, until it is put there. */
#ifndef TANGWRIGHT_BASE_ASIDE_H
#define TANGWRIGHT_BASE_ASIDE_H

#include "base/own.h"
#include "tangwright/findings.h"

#include <stdbool.h>
#include <stddef.h>

/* TW_IO with the system's own reason. */
enum tw_status aside_failed(struct tw_findings *findings, const char *path, const char *what);

bool aside_write(int descriptor, const char *data, size_t length);
bool aside_sync_folder_of(const char *path);
bool aside_is_there(const char *path);

/* Locks the file; true where another process that lives holds it. */
bool aside_is_taken(int descriptor);

/* Written to as it is, at once: what the shell handed over open, and the device that swallows all. */
bool aside_is_stream(const char *path);

/* A file may be written there; and what stands there is empty or of that kind. */
enum tw_status aside_check_target(const char *path, struct tw_findings *findings);
enum tw_status aside_check_kind(const char *path, enum tw_own wanted, struct tw_findings *findings);

/* The path that a link leads to, else the path itself; the caller's: free(). NULL when memory runs out. */
char *aside_follow(const char *path);

/* Name beside a target, by this process; the caller's: free(). NULL when memory runs out. */
char *aside_name(const char *target, const char *what);

/* Removes what killed runs left of one target: files named after it that no living run holds. */
void aside_clean(const char *target, const char *what);

#endif
