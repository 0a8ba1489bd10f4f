/* cells.h - a table of text: lines parted into cells. RFC 4180 (2005) for commas and quotes, and besides:
 * a semicolon or a tab may part the cells, # begins a comment outside of quotes, blanks around a cell are
 * cut off, and a quoted text stays on its line. */
#ifndef TANGWRIGHT_BASE_CELLS_H
#define TANGWRIGHT_BASE_CELLS_H

#include "tangwright/findings.h"

#include <stdbool.h>
#include <stddef.h>

#define CELLS_MOST 32

/* One line, parted. */
struct cells {
    char *text[CELLS_MOST]; /* zero-terminated, inside the text that was given */
    size_t count;           /* 0: nothing but blanks and comment */
    int line;
};

struct cells_reader {
    char *at, *end;
    const char *path;
    char separator; /* 0 until the first line that says something decides */
    int line;
};

/* Reads text[length], a copy that is changed on the way and whose byte behind the end can be written. */
void cells_open(struct cells_reader *reader, const char *path, char *text, size_t length);

/* The next line that says something; count 0 at the end. A line that cannot be parted is a finding,
 * TW_BAD_INPUT, and the reader then stands at the next. */
enum tw_status cells_next(struct cells_reader *reader, struct cells *out, struct tw_findings *findings);

#endif
