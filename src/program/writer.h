/* writer.h - RS-274 lines in a machine's dialect. */
#ifndef TANGWRIGHT_PROGRAM_WRITER_H
#define TANGWRIGHT_PROGRAM_WRITER_H

#include "base/text.h"
#include "tangwright/equipment.h"

#include <stdarg.h>

/* Writes whole lines; remembers what the controller already knows, so that feeds are said once. */
struct tw_writer {
    struct tw_text text;
    const struct tw_machine *machine;
    long next_number;
    bool numbers_ended; /* and the program says so */
    long last_feed;     /* in units of the last decimal; 0: none yet */
    long last_word[3];  /* of X, Y, Z, in units of the last decimal */
    bool known[3];
};

void tw_writer_open(struct tw_writer *writer, const struct tw_machine *machine);

/* A comment on its own line, or more when it is long; nothing when the dialect has none. Characters that a
 * comment may not hold are replaced. */
void tw_writer_comment(struct tw_writer *writer, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* A line of codes as given, numbered if the dialect asks for it. */
void tw_writer_codes(struct tw_writer *writer, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* "G1" or "G01". */
const char *tw_writer_code(const struct tw_writer *writer, char letter, int code, char buffer[8]);

/* A straight move to along, across, up (mm); feed 0 for a rapid. Only words that change are written. */
void tw_writer_move(struct tw_writer *writer, const double to_mm[3], double feed_mm_per_s);

/* A rapid of the up axis alone, and one of the two others alone. */
void tw_writer_rapid_up(struct tw_writer *writer, double z_mm);
void tw_writer_rapid_over(struct tw_writer *writer, double x_mm, double y_mm);

/* The axes' numbers change meaning (another work offset): all words are written again. */
void tw_writer_forget_position(struct tw_writer *writer);

void tw_writer_dwell(struct tw_writer *writer, double dwell_s);

/* A line that stands alone and unnumbered, for percent signs. */
void tw_writer_bare(struct tw_writer *writer, const char *line);

#endif
