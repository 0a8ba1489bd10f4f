/* cells.h - a table of text: lines parted into cells. RFC 4180 (2005) for commas and quotes, and besides:
 * a semicolon or a tab may part the cells, # begins a comment outside of quotes, blanks around a cell are
 * cut off, and a quoted text stays on its line. */
#ifndef TANGWRIGHT_BASE_CELLS_H
#define TANGWRIGHT_BASE_CELLS_H

#include "base/text.h"
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

/* Parts a heading's "x [mm]" or "x (mm)" in place: the name stays in `cell`, the unit's text is returned, NULL without one. */
char *cells_part_unit(char *cell);

/* That a line holds more cells than the heading names columns, and what the reason may be. */
void cells_print_surplus(const struct cells_reader *reader, const struct cells *cells, size_t columns,
                         struct tw_text *text);

/* Who reads a table, line by line; `table` is handed on. */
struct cells_use {
    bool (*heading)(void *table, const struct cells *cells); /* false: no telling what stands in which column below */
    void (*row)(void *table, const struct cells *cells);
};

/* All lines of a table: the first that says something is its heading, each further one a row. False when one could not be
 * parted, or the heading is of no use. */
bool cells_each(struct cells_reader *reader, const struct cells_use *use, void *table, struct tw_findings *findings);

/* Reads the file at `path` into `reader` and has `take` read it, which adds what is wrong to the findings that it is given.
 * Those, and their status, are the caller's in the end; `findings` may be NULL. */
enum tw_status cells_read_file(const char *path, struct cells_reader *reader,
                               void (*take)(void *table, struct tw_findings *own), void *table,
                               struct tw_findings *findings);

#endif
