/* syntax.h - what a person most likely did wrong in a file that libconfig refuses. */
#ifndef TANGWRIGHT_INPUT_SYNTAX_H
#define TANGWRIGHT_INPUT_SYNTAX_H

#include "tangwright/findings.h"

/* Adds one fault for the file's text, which libconfig refused on `line` saying `said`. */
enum tw_status tw_syntax_explain(const char *path, const char *text, int line, const char *said,
                                 struct tw_findings *findings);

#endif
