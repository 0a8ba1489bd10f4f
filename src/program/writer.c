/* writer.c - RS-274 lines in a machine's dialect. */
#include "program/writer.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LONGEST_LINE        80
#define LARGEST_LINE_NUMBER 99999 /* NISTIR 6556 (2000), section 3.3.1: one to five digits */

void tw_writer_open(struct tw_writer *writer, const struct tw_machine *machine)
{
    *writer = (struct tw_writer){ .machine = machine, .next_number = machine->dialect.line_number_step };
}

static void end_line(struct tw_writer *writer)
{
    const char *end = writer->machine->dialect.carriage_returns ? "\r\n" : "\n";

    tw_text_append(&writer->text, end, strlen(end));
}

void tw_writer_bare(struct tw_writer *writer, const char *line)
{
    tw_text_append(&writer->text, line, strlen(line));
    end_line(writer);
}

static void begin_line(struct tw_writer *writer)
{
    const struct tw_dialect *dialect = &writer->machine->dialect;

    if (!dialect->line_numbers || writer->next_number > LARGEST_LINE_NUMBER)
        return;
    tw_text_print(&writer->text, "N%ld ", writer->next_number);
    writer->next_number += dialect->line_number_step;
}

/* A number twice in a program would name two places to go on from, so that the rest does without. */
static void end_numbered_line(struct tw_writer *writer)
{
    const struct tw_dialect *dialect = &writer->machine->dialect;
    bool last = writer->next_number > LARGEST_LINE_NUMBER && !writer->numbers_ended;

    end_line(writer);
    if (!dialect->line_numbers || !last)
        return;
    writer->numbers_ended = true;
    tw_writer_comment(writer, "LINE NUMBERS END HERE - N HAS FIVE DIGITS AT THE MOST");
}

void tw_writer_codes(struct tw_writer *writer, const char *format, ...)
{
    va_list arguments;

    begin_line(writer);
    va_start(arguments, format);
    tw_text_vprint(&writer->text, format, arguments);
    va_end(arguments);
    end_numbered_line(writer);
}

/* Between a number and its unit no line ends. */
static bool parts_unit(const char *blank, const char *from)
{
    return blank > from && isdigit((unsigned char)blank[-1]) && isalpha((unsigned char)blank[1]);
}

/* One comment line of at most LONGEST_LINE characters; returns how many characters of `from` it took. */
static size_t comment_line(struct tw_writer *writer, const char *from)
{
    size_t room = LONGEST_LINE - 2, length = strlen(from), take = length;

    if (take > room) {
        take = room;
        while (take > room / 2 && (from[take] != ' ' || parts_unit(from + take, from)))
            take--; /* break at a blank where there is one */
    }
    tw_text_append(&writer->text, "(", 1);
    for (size_t i = 0; i < take; i++) {
        char c = from[i];

        /* Nested brackets end a comment too early, and only ASCII is safe on a small controller. */
        if (c == '(' || c == ')' || c < ' ' || c > '~')
            c = '-';
        tw_text_append(&writer->text, &c, 1);
    }
    tw_text_append(&writer->text, ")", 1);
    end_line(writer);
    while (from[take] == ' ')
        take++;
    return take;
}

void tw_writer_comment(struct tw_writer *writer, const char *format, ...)
{
    struct tw_text line = { 0 };
    va_list arguments;
    const char *rest;

    if (!writer->machine->dialect.comments)
        return;
    va_start(arguments, format);
    tw_text_vprint(&line, format, arguments);
    va_end(arguments);
    if (line.failed)
        writer->text.failed = true;
    else
        for (rest = line.data; *rest; rest += comment_line(writer, rest))
            ;
    tw_text_free(&line);
}

const char *tw_writer_code(const struct tw_writer *writer, char letter, int code, char buffer[8])
{
    snprintf(buffer, 8, writer->machine->dialect.two_digit_codes ? "%c%02d" : "%c%d", letter, code);
    return buffer;
}

/* A number of `units` of the last of `decimals`: exact, never a minus before zero, and with its point unless it is whole. Only
 * feeds may be: a length without a point is read as so many of the smallest step by some controls. */
static void print_units(struct tw_text *text, char letter, long units, int decimals)
{
    long whole = 1;

    for (int i = 0; i < decimals; i++)
        whole *= 10;
    tw_text_print(text, " %c%s%ld", letter, units < 0 ? "-" : "", labs(units) / whole);
    if (decimals > 0)
        tw_text_print(text, ".%0*ld", decimals, labs(units) % whole);
}

static double unit_mm(const struct tw_dialect *dialect)
{
    return dialect->inch ? 25.4 : 1.0;
}

/* Which of along, across and up a move may name. */
enum { ALONG = 1, ACROSS = 2, UP = 4, ALL = 7 };

/* The words that change, in the order of the letters; returns how many. With `write` false it only counts. */
static int axis_words(struct tw_writer *writer, const double to_mm[3], int which, bool write)
{
    const struct tw_machine *machine = writer->machine;
    const struct tw_axis *axes[3] = { &machine->along, &machine->across, &machine->up };
    double scale = pow(10.0, machine->dialect.length_decimals) / unit_mm(&machine->dialect);
    int words = 0;

    for (char letter = 'X'; letter <= 'Z'; letter++) {
        for (int i = 0; i < 3; i++) {
            int slot = letter - 'X';
            long units = lround(axes[i]->sign * to_mm[i] * scale);

            if (axes[i]->letter != letter || !(which & 1 << i) ||
                (writer->known[slot] && writer->last_word[slot] == units))
                continue;
            words++;
            if (!write)
                continue;
            print_units(&writer->text, letter, units, machine->dialect.length_decimals);
            writer->known[slot] = true;
            writer->last_word[slot] = units;
        }
    }
    return words;
}

/* Rounded down, so that no feed is ever above what was planned. */
static long feed_units(const struct tw_dialect *dialect, double feed_mm_per_s)
{
    double scale = pow(10.0, dialect->feed_decimals);
    long units = (long)floor(feed_mm_per_s * 60.0 / unit_mm(dialect) * scale + 1e-6);

    return units > 0 ? units : 1;
}

static void write_move(struct tw_writer *writer, const double to_mm[3], int which, double feed_mm_per_s)
{
    char buffer[8];

    if (axis_words(writer, to_mm, which, false) == 0)
        return; /* a motion code without an axis word is an error */
    begin_line(writer);
    tw_text_print(&writer->text, "%s", tw_writer_code(writer, 'G', feed_mm_per_s > 0.0 ? 1 : 0, buffer));
    axis_words(writer, to_mm, which, true);
    if (feed_mm_per_s > 0.0) {
        long units = feed_units(&writer->machine->dialect, feed_mm_per_s);

        if (units != writer->last_feed)
            print_units(&writer->text, 'F', units, writer->machine->dialect.feed_decimals);
        writer->last_feed = units;
    }
    end_numbered_line(writer);
}

void tw_writer_move(struct tw_writer *writer, const double to_mm[3], double feed_mm_per_s)
{
    write_move(writer, to_mm, ALL, feed_mm_per_s);
}

void tw_writer_rapid_up(struct tw_writer *writer, double z_mm)
{
    write_move(writer, (double[3]){ 0.0, 0.0, z_mm }, UP, 0.0);
}

void tw_writer_rapid_over(struct tw_writer *writer, double x_mm, double y_mm)
{
    write_move(writer, (double[3]){ x_mm, y_mm, 0.0 }, ALONG | ACROSS, 0.0);
}

void tw_writer_forget_position(struct tw_writer *writer)
{
    for (int i = 0; i < 3; i++)
        writer->known[i] = false;
}

void tw_writer_dwell(struct tw_writer *writer, double dwell_s)
{
    char buffer[8];
    const char *code = tw_writer_code(writer, 'G', 4, buffer);

    switch (writer->machine->dialect.dwell_word) {
    case TW_DWELL_P_SECONDS:
        tw_writer_codes(writer, "%s P%.3f", code, dwell_s);
        break;
    case TW_DWELL_P_MILLISECONDS:
        tw_writer_codes(writer, "%s P%ld", code, lround(dwell_s * 1000.0));
        break;
    case TW_DWELL_X_SECONDS:
        tw_writer_codes(writer, "%s X%.3f", code, dwell_s);
        break;
    }
}
