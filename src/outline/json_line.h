/* json_line.h - in which line of a JSON text a value stands, which the JSON library does not keep. */
#ifndef TANGWRIGHT_OUTLINE_JSON_LINE_H
#define TANGWRIGHT_OUTLINE_JSON_LINE_H

#include <stddef.h>

/* One step from a value to a member (key set) or to an element (key NULL). */
struct tw_json_step {
    const char *key;
    size_t index;
};

/* `text` must be sound JSON. Where a step leads nowhere, the line of the value reached before it. */
int tw_json_line(const char *text, size_t length, const struct tw_json_step *steps, size_t step_count);

#endif
