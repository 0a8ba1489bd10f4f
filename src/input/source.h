/* source.h - one libconfig file, read whole, with a helpful sentence when its syntax is broken. */
#ifndef TANGWRIGHT_INPUT_SOURCE_H
#define TANGWRIGHT_INPUT_SOURCE_H

#include "tangwright/findings.h"

#include <libconfig.h>
#include <stdbool.h>

struct tw_source {
    char *path; /* as messages show it */
    config_t config;
    bool loaded;
};

/* Reads the file at `path`. TW_IO, TW_BAD_INPUT (syntax) or TW_NO_MEMORY; tw_source_free() in any case.
 * libconfig itself ends the process, or falls over, when one of its own allocations fails; so nothing is given to it unless
 * there is memory enough for all it may need. */
enum tw_status tw_source_load(const char *path, struct tw_source *out, struct tw_findings *findings);

/* The same with the file's text at hand, a zero behind its `length` bytes; `path` is what messages call it. */
enum tw_status tw_source_parse(const char *path, const char *text, size_t length, struct tw_source *out,
                               struct tw_findings *findings);

void tw_source_free(struct tw_source *source);

/* Whether a text of this group is missing: libconfig stores none, and says nothing, when it cannot copy it. */
bool tw_source_lost_text(const config_setting_t *group);

#endif
