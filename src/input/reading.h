/* reading.h - a job while it is read: what was found for every key and where, though the job may have faults. */
#ifndef TANGWRIGHT_INPUT_READING_H
#define TANGWRIGHT_INPUT_READING_H

#include "input/input.h"

struct tw_reading {
    struct tw_draft draft; /* of a job with faults: what could be read */
    struct tw_input input; /* origins, profiles; lives as long as this stands at its place */
};

/* Reads the job at `path`, or `text` as if it stood there where it is not NULL. The findings outlive it.
 * tw_reading_close() in any case. */
enum tw_status tw_reading_open(struct tw_reading *out, const char *path, const char *text,
                               const struct tw_instead *changes, size_t count, struct tw_findings *findings);

void tw_reading_close(struct tw_reading *reading);

/* Whether every key that tells how the drawing is to be read was understood. */
bool tw_input_outline_is_sound(const struct tw_input *input);

#endif
