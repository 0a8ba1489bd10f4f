/* verbs.h - what the program can be asked to do. */
#ifndef TANGWRIGHT_CLI_VERBS_H
#define TANGWRIGHT_CLI_VERBS_H

#include "cli/options.h"

enum tw_status verb_new(const struct options *options, struct tw_findings *findings);
enum tw_status verb_check(const struct options *options, struct tw_findings *findings);
enum tw_status verb_preview(const struct options *options, struct tw_findings *findings);
enum tw_status verb_plan(const struct options *options, struct tw_findings *findings);

#endif
