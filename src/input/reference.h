/* reference.h - the tables of docs/job-reference.md and docs/profile-reference.md, from the schema. */
#ifndef TANGWRIGHT_INPUT_REFERENCE_H
#define TANGWRIGHT_INPUT_REFERENCE_H

#include "base/text.h"
#include "input/schema.h"

/* Appends the group's keys as a Markdown table: key, kind and unit, range, default, meaning, source. */
void tw_reference_table(const struct tw_group *group, struct tw_text *text);

#endif
