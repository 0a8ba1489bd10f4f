/* damage.h - the ways in which a good program is damaged between the planner and the machine, and for each the checks
 * of which at least one should say so. */
#ifndef TANGWRIGHT_TESTS_FAULTS_DAMAGE_H
#define TANGWRIGHT_TESTS_FAULTS_DAMAGE_H

#include "lines.h"
#include "tangwright/verdict.h"

/* ---- numbers ---- */

static const char *text_of(const struct mutant *m, const struct word *word)
{
    return m->lines[word->line].text;
}

static bool flip_sign(struct mutant *m)
{
    struct word word;

    if (!pick_word(m, "XYZ", &word) || word.value == 0.0)
        return false;
    if (text_of(m, &word)[word.from] == '-')
        return replace_part(m, word.line, word.from, word.from + 1, "%s", "");
    return replace_part(m, word.line, word.from, word.from, "-");
}

static bool flip_axis(struct mutant *m, const struct tw_axis *axis)
{
    char letter[2] = { axis->letter, '\0' };
    struct word word;

    if (!pick_word(m, letter, &word) || word.value == 0.0)
        return false;
    if (text_of(m, &word)[word.from] == '-')
        return replace_part(m, word.line, word.from, word.from + 1, "%s", "");
    return replace_part(m, word.line, word.from, word.from, "-");
}

static bool flip_up(struct mutant *m)
{
    return flip_axis(m, &machine_of(m)->up);
}

static bool flip_along(struct mutant *m)
{
    return flip_axis(m, &machine_of(m)->along);
}

static bool flip_across(struct mutant *m)
{
    return flip_axis(m, &machine_of(m)->across);
}

static bool lose_point(struct mutant *m)
{
    struct word word;
    const char *point;
    int at;

    if (!pick_word(m, "XYZFP", &word) || word.value == 0.0)
        return false;
    point = memchr(text_of(m, &word) + word.from, '.', (size_t)(word.to - word.from));
    at = point ? (int)(point - text_of(m, &word)) : 0;
    return point && replace_part(m, word.line, at, at + 1, "%s", "");
}

/* A word and one of its digits. */
static bool pick_digit(struct mutant *m, struct word *word, int *at)
{
    if (!pick_word(m, "XYZFSP", word) || word->from == word->to)
        return false;
    *at = word->from + (int)draw(m, (size_t)(word->to - word->from));
    return isdigit((unsigned char)text_of(m, word)[*at]);
}

static bool change_digit(struct mutant *m)
{
    struct word word;
    int at;

    if (!pick_digit(m, &word, &at))
        return false;
    return replace_part(m, word.line, at, at + 1, "%d", (text_of(m, &word)[at] - '0' + 1 + (int)draw(m, 9)) % 10);
}

/* True when the word reads as another number now. */
static bool differs(struct mutant *m, const struct word *word)
{
    return fabs(strtod(text_of(m, word) + word->from, NULL) - word->value) > 1e-12;
}

static bool drop_digit(struct mutant *m)
{
    struct word word;
    int at;

    return pick_digit(m, &word, &at) && replace_part(m, word.line, at, at + 1, "%s", "") && differs(m, &word);
}

static bool double_digit(struct mutant *m)
{
    struct word word;
    int at;

    return pick_digit(m, &word, &at) && replace_part(m, word.line, at, at, "%c", text_of(m, &word)[at]) &&
           differs(m, &word);
}

static bool exchange_digits(struct mutant *m)
{
    struct word word;
    const char *text;
    int at;

    if (!pick_digit(m, &word, &at))
        return false;
    text = text_of(m, &word);
    return at + 1 < word.to && isdigit((unsigned char)text[at + 1]) && text[at] != text[at + 1] &&
           replace_part(m, word.line, at, at + 2, "%c%c", text[at + 1], text[at]);
}

static bool exchange_letters(struct mutant *m)
{
    struct word a, b;
    int at;
    size_t index;

    if (!pick_line(m, is_move, &index) || !find_word(m, index, "XYZ", &a))
        return false;
    at = a.to;
    if (next_word(m, index, &at, &b) && strchr("XYZ", b.letter))
        return replace_part(m, index, b.at, b.at + 1, "%c", a.letter) &&
               replace_part(m, index, a.at, a.at + 1, "%c", b.letter);
    return replace_part(m, index, a.at, a.at + 1, "%c", 'X' + (a.letter - 'X' + 1 + (int)draw(m, 2)) % 3);
}

static bool lose_word(struct mutant *m)
{
    struct word word;

    return pick_word(m, "XYZFSPGM", &word) && replace_part(m, word.line, word.at, word.to, "%s", "");
}

static bool repeat_word(struct mutant *m)
{
    struct word word;

    return pick_word(m, "XYZFSPGM", &word) &&
           replace_part(m, word.line, word.to, word.to, " %.*s", word.to - word.at, text_of(m, &word) + word.at);
}

/* ---- modes ---- */

static bool change_code(struct mutant *m, char letter, double from, double to)
{
    struct word word;

    for (size_t i = 0; i < m->count; i++)
        if (find_code(m, i, letter, from, &word))
            return replace_part(m, i, word.from, word.to, "%g", to);
    return false;
}

static bool switch_units(struct mutant *m)
{
    return change_code(m, 'G', 21, 20) || change_code(m, 'G', 20, 21);
}

static bool switch_plane(struct mutant *m)
{
    double other = (double)(17 + draw(m, 3));

    for (double plane = 17; plane <= 19; plane++)
        if (plane != other && change_code(m, 'G', plane, other))
            return true;
    return false;
}

static bool become_incremental(struct mutant *m)
{
    return change_code(m, 'G', 90, 91);
}

static bool become_inverse_time(struct mutant *m)
{
    return change_code(m, 'G', 94, 93);
}

static bool change_path_mode(struct mutant *m)
{
    return change_code(m, 'G', 61, 64) || change_code(m, 'G', 64, 61);
}

static bool lose_code(struct mutant *m, double code)
{
    struct word word;

    for (size_t i = 0; i < m->count; i++)
        if (find_code(m, i, 'G', code, &word))
            return replace_part(m, i, word.at, word.to, "%s", "");
    return false;
}

static bool lose_plane(struct mutant *m)
{
    return lose_code(m, 17) || lose_code(m, 18) || lose_code(m, 19);
}

static bool lose_units(struct mutant *m)
{
    return lose_code(m, 20) || lose_code(m, 21);
}

static bool lose_g40(struct mutant *m)
{
    return lose_code(m, 40);
}

static bool lose_g49(struct mutant *m)
{
    return lose_code(m, 49);
}

static bool lose_g80(struct mutant *m)
{
    return lose_code(m, 80);
}

static bool lose_g90(struct mutant *m)
{
    return lose_code(m, 90);
}

static bool lose_g94(struct mutant *m)
{
    return lose_code(m, 94);
}

static bool lose_path_mode(struct mutant *m)
{
    return lose_code(m, 61) || lose_code(m, 64);
}

static bool insert_before_move(struct mutant *m, const char *what)
{
    size_t index;

    return pick_line(m, is_move, &index) && insert_line(m, index, "%s", what);
}

static bool insert_incremental(struct mutant *m)
{
    return insert_before_move(m, "G91");
}

/* ---- layers and lanes ---- */

static bool ends_layer(const struct mutant *m, size_t index)
{
    return m->lines[index].length > 0 && m->lines[index].text[0] == '(';
}

static bool pick_layer(struct mutant *m, size_t *from, size_t *count)
{
    size_t end;

    if (!pick_line(m, is_layer, from))
        return false;
    for (end = *from + 1; end < m->count && !ends_layer(m, end); end++)
        ;
    *count = end - *from;
    return true;
}

static bool skip_layer(struct mutant *m)
{
    size_t from, count;

    if (!pick_layer(m, &from, &count))
        return false;
    remove_lines(m, from, count);
    return true;
}

static bool is_finishing(const struct mutant *m, size_t index)
{
    static const char mark[] = " - finish";
    const struct line *line = &m->lines[index];

    if (!is_layer(m, index))
        return false;
    for (int at = 0; at + (int)sizeof mark - 1 <= line->length; at++)
        if (memcmp(line->text + at, mark, sizeof mark - 1) == 0)
            return true;
    return false;
}

static bool skip_finishing(struct mutant *m)
{
    size_t from, end;

    if (!pick_line(m, is_finishing, &from))
        return false;
    for (end = from + 1; end < m->count && !ends_layer(m, end); end++)
        ;
    remove_lines(m, from, end - from);
    return true;
}

/* A layer and the one after it change places. */
static bool swap_layers(struct mutant *m)
{
    size_t from, count, next;

    if (!pick_layer(m, &from, &count) || from + count >= m->count || !is_layer(m, from + count))
        return false;
    for (next = from + count + 1; next < m->count && !ends_layer(m, next); next++)
        ;
    if (!open_gap(m, next, count))
        return false;
    memcpy(m->lines + next, m->lines + from, count * sizeof *m->lines);
    remove_lines(m, from, count);
    return true;
}

static bool repeat_layer_too_deep(struct mutant *m)
{
    size_t from, count;

    return pick_layer(m, &from, &count) && copy_lines(m, from, count) &&
           shift_axis(m, from + count, from + 2 * count, &machine_of(m)->up, -draw_between(m, 0.03, 0.5));
}

static bool go_too_deep_from_here(struct mutant *m)
{
    size_t from, count;

    return pick_layer(m, &from, &count) &&
           shift_axis(m, from, m->count, &machine_of(m)->up, -draw_between(m, 0.004, 0.5));
}

static bool is_infeed(const struct mutant *m, size_t index)
{
    return is_feed(m, index) && goes_up_or_down(m, index);
}

static bool is_lift(const struct mutant *m, size_t index)
{
    return is_rapid(m, index) && goes_up_or_down(m, index);
}

static bool is_return(const struct mutant *m, size_t index)
{
    return is_rapid(m, index) && !goes_up_or_down(m, index);
}

static bool lose_line_that(struct mutant *m, line_test *fits)
{
    size_t index;

    if (!pick_line(m, fits, &index))
        return false;
    remove_lines(m, index, 1);
    return true;
}

static bool lose_infeed(struct mutant *m)
{
    return lose_line_that(m, is_infeed);
}

static bool lose_lift(struct mutant *m)
{
    return lose_line_that(m, is_lift);
}

static bool lose_return(struct mutant *m)
{
    return lose_line_that(m, is_return);
}

static bool shift_lanes_across(struct mutant *m)
{
    double sign = draw(m, 2) ? 1.0 : -1.0;

    return shift_axis(m, 0, m->count, &machine_of(m)->across, sign * draw_between(m, 1.0, 40.0));
}

static bool shift_lanes_ahead(struct mutant *m)
{
    return shift_axis(m, 0, m->count, &machine_of(m)->along, -draw_between(m, 1.0, 60.0));
}

static bool shift_lanes_back(struct mutant *m)
{
    return shift_axis(m, 0, m->count, &machine_of(m)->along, draw_between(m, 0.5, 60.0));
}

static bool shift_one_lane(struct mutant *m)
{
    const struct tw_axis *axes[2] = { &machine_of(m)->along, &machine_of(m)->across };
    double sign = draw(m, 2) ? 1.0 : -1.0;
    size_t index;

    return pick_line(m, is_move, &index) &&
           shift_axis(m, index, index + 1, axes[draw(m, 2)], sign * draw_between(m, 0.5, 30.0));
}

static bool set_zero_too_low(struct mutant *m)
{
    return shift_axis(m, 0, m->count, &machine_of(m)->up, -draw_between(m, 0.006, 3.0));
}

static bool set_zero_too_high(struct mutant *m)
{
    return shift_axis(m, 0, m->count, &machine_of(m)->up, draw_between(m, 0.015, 3.0));
}

/* ---- spindle, coolant, feed ---- */

static bool starts_spindle(const struct mutant *m, size_t index)
{
    return has_code(m, index, 'M', 3) || has_code(m, index, 'M', 4);
}

static bool is_coolant(const struct mutant *m, size_t index)
{
    return has_code(m, index, 'M', 7) || has_code(m, index, 'M', 8);
}

static bool is_dwell(const struct mutant *m, size_t index)
{
    return has_code(m, index, 'G', 4);
}

static bool lose_spindle(struct mutant *m)
{
    return lose_line_that(m, starts_spindle);
}

static bool turn_the_wrong_way(struct mutant *m)
{
    return change_code(m, 'M', 3, 4) || change_code(m, 'M', 4, 3);
}

static bool scale_word(struct mutant *m, const char *letter, double by)
{
    struct word word;

    return pick_word(m, letter, &word) && set_value(m, &word, word.value * by) && differs(m, &word);
}

static bool speed_ten_times(struct mutant *m)
{
    return scale_word(m, "S", 10.0);
}

static bool speed_a_tenth(struct mutant *m)
{
    return scale_word(m, "S", 0.1);
}

static bool stop_spindle_midway(struct mutant *m)
{
    return insert_before_move(m, "M5");
}

static bool lose_dwell_for_speed(struct mutant *m)
{
    size_t index;

    if (!first_line(m, is_dwell, &index))
        return false;
    remove_lines(m, index, 1);
    return true;
}

static bool dwell_a_thousandth(struct mutant *m)
{
    struct word word;
    size_t index;

    return first_line(m, is_dwell, &index) && find_word(m, index, "PX", &word) &&
           set_value(m, &word, word.value / 1000.0);
}

static bool lose_coolant(struct mutant *m)
{
    return lose_line_that(m, is_coolant);
}

static bool wrong_coolant(struct mutant *m)
{
    return change_code(m, 'M', 7, 8) || change_code(m, 'M', 8, 7);
}

static bool coolant_off_midway(struct mutant *m)
{
    return insert_before_move(m, "M9");
}

static bool lose_feed(struct mutant *m)
{
    struct word word;

    return pick_word(m, "F", &word) && replace_part(m, word.line, word.at, word.to, "%s", "");
}

static bool feed_ten_times(struct mutant *m)
{
    return scale_word(m, "F", 10.0);
}

static bool feed_a_tenth(struct mutant *m)
{
    return scale_word(m, "F", 0.1);
}

static bool feed_a_little_off(struct mutant *m)
{
    return scale_word(m, "F", draw(m, 2) ? draw_between(m, 1.1, 3.0) : draw_between(m, 0.3, 0.9));
}

static bool speed_a_little_off(struct mutant *m)
{
    return scale_word(m, "S", draw(m, 2) ? draw_between(m, 1.03, 1.5) : draw_between(m, 0.5, 0.97));
}

/* ---- offsets ---- */

static bool pick_offset(struct mutant *m, struct word *out)
{
    size_t at = draw(m, m->count);

    for (size_t k = 0; k < m->count; k++)
        for (double code = 54; code <= 59; code++)
            if (find_code(m, (at + k) % m->count, 'G', code, out))
                return true;
    return false;
}

static bool wrong_offset(struct mutant *m)
{
    struct word word;

    return pick_offset(m, &word) &&
           replace_part(m, word.line, word.from, word.to, "%zu", 54 + ((size_t)word.value - 54 + 1 + draw(m, 5)) % 6);
}

static bool lose_offset(struct mutant *m)
{
    struct word word;

    if (!pick_offset(m, &word))
        return false;
    remove_lines(m, word.line, 1);
    return true;
}

static bool insert_shift(struct mutant *m)
{
    static const char *const lines[] = { "G92 X0.", "G92 Z0.", "G10 L2 P1 X0. Y0. Z0.", "G10 L2 P1 Z-5.", "G92.1" };

    return insert_before_move(m, lines[draw(m, sizeof lines / sizeof *lines)]);
}

static bool insert_machine_coordinates(struct mutant *m)
{
    struct word word;
    size_t index;

    return pick_line(m, is_move, &index) && find_word(m, index, "G", &word) &&
           replace_part(m, index, word.at, word.at, "G53 ");
}

/* ---- card and job ---- */

static bool use_for_other_side(struct mutant *m)
{
    m->side = m->side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A;
    m->file_name = usual_name(m->side, m->scope);
    return true;
}

static bool is_inputs(const struct mutant *m, size_t index)
{
    return m->lines[index].length > 20 && memcmp(m->lines[index].text, "(INPUTS ", 8) == 0;
}

static bool stale_digest(struct mutant *m)
{
    static const char digits[] = "0123456789abcdef";
    size_t index;
    int at = 8 + (int)draw(m, 16);
    char old, new;

    if (!first_line(m, is_inputs, &index))
        return false;
    old = m->lines[index].text[at];
    new = digits[draw(m, 16)];
    return new != old &&replace_part(m, index, at, at + 1, "%c", new);
}

static bool lose_head(struct mutant *m)
{
    size_t command;

    if (!first_line(m, is_command, &command))
        return false;
    remove_lines(m, 0, command);
    return true;
}

static bool damage_comment(struct mutant *m)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyz0123456789 -.,;:/+*=&%$!?";
    size_t command, index;
    int at;

    if (!first_line(m, is_command, &command) || !pick_line(m, is_comment, &index) || index < command)
        return false;
    at = 1 + (int)draw(m, (size_t)m->lines[index].length - 2);
    switch (draw(m, 3)) {
    case 0:
        return replace_part(m, index, at, at + 1, "%c", letters[draw(m, sizeof letters - 1)]);
    case 1:
        return replace_part(m, index, at, at + 1, "%s", "");
    default:
        return replace_part(m, index, at, at, "%c", letters[draw(m, sizeof letters - 1)]);
    }
}

/* The head stays; what follows it is another program's. */
static bool other_body(struct mutant *m)
{
    size_t command, head;
    const char *text = m->other;

    if (!text || !first_line(m, is_command, &head))
        return false;
    m->count = head;
    for (command = 0; *text; text += strcspn(text, "\n"), text += *text == '\n') {
        int length = (int)strcspn(text, "\r\n");

        command += text[0] != '(' && length > 0;
        if (command == 0)
            continue;
        if (m->count == m->capacity)
            return false;
        m->lines[m->count++] = (struct line){ text, length };
    }
    return true;
}

static bool wrong_wheel_diameter(struct mutant *m)
{
    double by = draw(m, 2) ? draw_between(m, 0.6, 0.97) : draw_between(m, 1.03, 1.5);

    m->job.wheel.diameter_mm *= by;
    m->job.wheel.rim_width_mm = fmin(m->job.wheel.rim_width_mm, m->job.wheel.diameter_mm / 2.0);
    return m->job_changed = true;
}

static bool wrong_ricasso(struct mutant *m)
{
    m->job.taper.ricasso_mm += draw(m, 2) ? draw_between(m, 0.03, 0.5) : -draw_between(m, 0.03, 0.4);
    return m->job_changed = true;
}

static bool wrong_butt(struct mutant *m)
{
    m->job.taper.butt_mm += draw(m, 2) ? draw_between(m, 0.05, 0.4) : -draw_between(m, 0.05, 0.4);
    return m->job_changed = true;
}

/* ---- the file ---- */

static bool truncate_line(struct mutant *m)
{
    size_t index;
    int length;

    if (!pick_line(m, is_command, &index))
        return false;
    length = (int)draw(m, (size_t)m->lines[index].length);
    while (length > 0 && m->lines[index].text[length - 1] == ' ')
        length--;
    m->lines[index].length = length;
    return true;
}

static bool same_line(const struct line *a, const struct line *b)
{
    return a->length == b->length && memcmp(a->text, b->text, (size_t)a->length) == 0;
}

static bool swap_lines(struct mutant *m)
{
    struct line kept;
    size_t index;

    if (!pick_line(m, is_command, &index) || index + 1 >= m->count || !is_command(m, index + 1) ||
        same_line(&m->lines[index], &m->lines[index + 1]))
        return false;
    kept = m->lines[index];
    m->lines[index] = m->lines[index + 1];
    m->lines[index + 1] = kept;
    return true;
}

static bool move_line(struct mutant *m)
{
    struct line kept;
    size_t from, to;

    if (!pick_line(m, is_command, &from) || !pick_line(m, is_command, &to) || to == from)
        return false;
    kept = m->lines[from];
    remove_lines(m, from, 1);
    if (!open_gap(m, to, 1))
        return false;
    m->lines[to] = kept;
    return true;
}

static bool lose_line(struct mutant *m)
{
    return lose_line_that(m, is_command);
}

static bool double_line(struct mutant *m)
{
    size_t index;

    return pick_line(m, is_command, &index) && copy_lines(m, index, 1);
}

static bool lose_block(struct mutant *m)
{
    size_t at = draw(m, m->count), count = 2 + draw(m, 30);

    if (at + count >= m->count)
        return false;
    remove_lines(m, at, count);
    return true;
}

static bool double_block(struct mutant *m)
{
    size_t at = draw(m, m->count), count = 2 + draw(m, 30);

    return at + count < m->count && copy_lines(m, at, count);
}

static bool cut_short(struct mutant *m)
{
    m->count = 1 + draw(m, m->count - 1);
    if (draw(m, 2))
        m->lines[m->count - 1].length = (int)draw(m, (size_t)m->lines[m->count - 1].length + 1);
    return true;
}

static bool is_end(const struct mutant *m, size_t index)
{
    return has_code(m, index, 'M', 2) || has_code(m, index, 'M', 30);
}

static bool lose_end(struct mutant *m)
{
    return lose_line_that(m, is_end);
}

static bool is_off(const struct mutant *m, size_t index)
{
    return has_code(m, index, 'M', 5) || has_code(m, index, 'M', 9);
}

static bool lose_off(struct mutant *m)
{
    return lose_line_that(m, is_off);
}

static bool lose_retract(struct mutant *m)
{
    size_t index;

    if (!last_line(m, is_lift, &index))
        return false;
    remove_lines(m, index, 1);
    return true;
}

static bool lose_first_raise(struct mutant *m)
{
    size_t index;

    if (!first_line(m, is_lift, &index))
        return false;
    remove_lines(m, index, 1);
    return true;
}

static bool change_move(struct mutant *m, line_test *fits, int from, int to)
{
    struct word word;
    size_t index;

    return pick_line(m, fits, &index) && find_code(m, index, 'G', from, &word) &&
           replace_part(m, index, word.to - 1, word.to, "%d", to);
}

static bool feed_becomes_rapid(struct mutant *m)
{
    return change_move(m, is_feed, 1, 0);
}

static bool rapid_becomes_feed(struct mutant *m)
{
    return change_move(m, is_rapid, 0, 1);
}

static bool rapid_through_stock(struct mutant *m)
{
    const struct tw_machine *machine = machine_of(m);
    double x_mm = m->job.taper.length_mm * draw_between(m, 0.2, 1.0);
    double z_mm = m->job.taper.butt_mm + (m->job.taper.ricasso_mm - m->job.taper.butt_mm) * draw_between(m, 0.0, 0.5);
    size_t index;

    return pick_line(m, is_move, &index) && insert_line(m, index, "G0 %c%.4f %c%.4f %c%.4f", machine->along.letter,
                                                        x_mm * word_per_mm(m, &machine->along), machine->across.letter,
                                                        0.0, machine->up.letter, z_mm * word_per_mm(m, &machine->up));
}

/* Where the program stands along and across before a line, in its own numbers. */
static double word_before(const struct mutant *m, size_t index, char letter)
{
    char letters[2] = { letter, '\0' };
    struct word word;

    while (index-- > 0)
        if (is_move(m, index) && find_word(m, index, letters, &word))
            return word.value;
    return 0.0;
}

/* A chord is replaced by an arc: with a centre anywhere, or one equally far from both ends but off to one side. */
static bool arc_for_chord(struct mutant *m)
{
    char a = machine_of(m)->along.letter, b = machine_of(m)->across.letter, letters[2][2] = { { a, 0 }, { b, 0 } };
    double from[2], to[2], half[2], off = draw_between(m, -2.0, 2.0);
    struct word word;
    size_t index;

    if (!pick_line(m, is_feed, &index) || goes_up_or_down(m, index))
        return false;
    for (int k = 0; k < 2; k++) {
        from[k] = word_before(m, index, letters[k][0]);
        to[k] = find_word(m, index, letters[k], &word) ? word.value : from[k];
        half[k] = (to[k] - from[k]) / 2.0;
    }
    if (draw(m, 2)) { /* perpendicular to the chord */
        double along = half[0];

        half[0] -= off * half[1];
        half[1] += off * along;
    } else {
        half[0] = draw_between(m, -20.0, 20.0);
        half[1] = draw_between(m, -20.0, 20.0);
    }
    set_line(m, index, "G%zu %c%.6f %c%.6f %c%.6f %c%.6f", 2 + draw(m, 2), a, to[0], b, to[1], 'I' + a - 'X', half[0],
             'I' + b - 'X', half[1]);
    return true;
}

static bool stray_character(struct mutant *m)
{
    static const char strays[] = "?!$&@~;:,_#[]=*|^ABCDEHIJKLNOQRTUVW-+. \t\x01\x7f\x80\xff";
    size_t index;
    int at;

    if (!pick_line(m, is_command, &index))
        return false;
    at = (int)draw(m, (size_t)m->lines[index].length + 1);
    return replace_part(m, index, at, at, "%c", strays[draw(m, sizeof strays - 1)]);
}

static bool open_comment(struct mutant *m)
{
    size_t index;
    int at;

    if (!pick_line(m, is_command, &index))
        return false;
    at = (int)draw(m, (size_t)m->lines[index].length);
    return replace_part(m, index, at, at, "(");
}

static bool unclosed_comment(struct mutant *m)
{
    size_t index;

    if (!pick_line(m, ends_layer, &index) || m->lines[index].text[m->lines[index].length - 1] != ')')
        return false;
    m->lines[index].length--;
    return true;
}

static bool stray_percent(struct mutant *m)
{
    return insert_line(m, 1 + draw(m, m->count - 1), "%%");
}

static bool change_tool(struct mutant *m)
{
    static const char *const lines[] = { "T2 M6", "T1", "M6", "M06 T5" };

    return insert_before_move(m, lines[draw(m, sizeof lines / sizeof *lines)]);
}

static bool insert_stop(struct mutant *m)
{
    return insert_before_move(m, draw(m, 2) ? "M0" : "M1");
}

static bool insert_end(struct mutant *m)
{
    return insert_before_move(m, draw(m, 2) ? "M2" : "M30");
}

static bool insert_slash(struct mutant *m)
{
    size_t index;

    return pick_line(m, is_command, &index) && replace_part(m, index, 0, 0, "/");
}

static bool join_two_lines(struct mutant *m)
{
    size_t index;
    struct line next;

    if (!pick_line(m, is_command, &index) || index + 1 >= m->count)
        return false;
    next = m->lines[index + 1];
    remove_lines(m, index + 1, 1);
    return replace_part(m, index, m->lines[index].length, m->lines[index].length, "%.*s", next.length, next.text);
}

/* ---- the table ---- */

#define BIT(check) (1u << TW_CHECK_##check)

/* The wheel goes where it should not, or not where it should. */
#define WAY                                                                                                            \
    (BIT(TRAVEL) | BIT(RAPIDS) | BIT(CONTACT) | BIT(CLEARANCE) | BIT(DEPTH) | BIT(POWER) | BIT(HOLDING) |              \
     BIT(TEMPERATURE) | BIT(GOUGE) | BIT(STOCK_LEFT) | BIT(FLATNESS) | BIT(ENDING) | BIT(FINISHING) | BIT(RELIEF) |    \
     BIT(BULK) | BIT(TEMPERING) | BIT(SPRING_BACK))
#define LOAD (BIT(FEED) | BIT(POWER) | BIT(HOLDING) | BIT(TEMPERATURE) | BIT(BULK) | BIT(TEMPERING))
#define SPIN (BIT(SPINDLE) | BIT(WHEEL_SPEED))
/* Any word of the program may be hit. */
#define ANY (WAY | LOAD | SPIN | BIT(TEXT) | BIT(MODES) | BIT(OFFSETS) | BIT(COOLANT))

struct damage {
    const char *name;
    bool (*spoil)(struct mutant *m);
    unsigned checks;
};

static const struct damage damages[] = {
    { "sign flipped", flip_sign, WAY | LOAD | BIT(MODES) },
    { "sign along flipped", flip_along, WAY | LOAD | BIT(MODES) },
    { "sign across flipped", flip_across, WAY | LOAD | BIT(MODES) },
    { "sign of a height flipped", flip_up, WAY | BIT(MODES) | BIT(FEED) /* a fast lane then climbs, too */ },
    { "decimal point lost", lose_point, WAY | LOAD | SPIN | BIT(TEXT) | BIT(MODES) },
    { "digit changed", change_digit, WAY | LOAD | SPIN | BIT(MODES) },
    { "digit dropped", drop_digit, WAY | LOAD | SPIN | BIT(TEXT) | BIT(MODES) },
    { "digit doubled", double_digit, WAY | LOAD | SPIN | BIT(MODES) },
    { "digits exchanged", exchange_digits, WAY | LOAD | SPIN | BIT(MODES) },
    { "axis letters exchanged", exchange_letters,
      WAY | LOAD | BIT(TEXT) | BIT(MODES) | BIT(OFFSETS) }, /* the wheel may get over another station */
    { "word lost", lose_word, ANY },
    { "word written twice", repeat_word, BIT(TEXT) },
    { "units switched", switch_units, BIT(MODES) },
    { "plane switched", switch_plane, BIT(TEXT) },
    { "G90 turned G91", become_incremental, BIT(MODES) },
    { "G91 inserted", insert_incremental, WAY | BIT(FEED) | BIT(MODES) },
    { "G94 turned G93", become_inverse_time, BIT(TEXT) | BIT(FEED) },
    { "path mode changed", change_path_mode, BIT(MODES) },
    { "plane not set", lose_plane, BIT(MODES) },
    { "units not set", lose_units, BIT(MODES) },
    { "G40 not set", lose_g40, BIT(MODES) },
    { "G49 not set", lose_g49, BIT(MODES) },
    { "G80 not set", lose_g80, BIT(MODES) },
    { "G90 not set", lose_g90, BIT(MODES) },
    { "G94 not set", lose_g94, BIT(MODES) },
    { "path mode not set", lose_path_mode, BIT(MODES) },
    { "layer skipped", skip_layer, WAY },
    { "finishing layer skipped", skip_finishing, WAY },
    { "layers swapped", swap_layers, WAY },
    { "layer repeated too deep", repeat_layer_too_deep, WAY },
    { "too deep from a layer on", go_too_deep_from_here, WAY },
    { "infeed lost", lose_infeed, WAY | LOAD },
    { "lift lost", lose_lift, WAY | LOAD | BIT(MODES) },
    { "return lost", lose_return, WAY | LOAD | BIT(MODES) },
    { "lanes shifted across", shift_lanes_across, WAY },
    { "lanes shifted to the blade", shift_lanes_ahead, WAY },
    { "lanes shifted to the butt", shift_lanes_back, WAY },
    { "one move shifted", shift_one_lane, WAY | LOAD | BIT(MODES) },
    { "zero too low", set_zero_too_low, WAY },
    { "zero too high", set_zero_too_high, WAY },
    { "spindle line lost", lose_spindle, BIT(SPINDLE) },
    { "spindle the wrong way", turn_the_wrong_way, BIT(SPINDLE) },
    { "speed ten times", speed_ten_times, BIT(WHEEL_SPEED) },
    { "speed a tenth", speed_a_tenth, BIT(SPINDLE) },
    { "spindle off midway", stop_spindle_midway, BIT(SPINDLE) },
    { "dwell for speed lost", lose_dwell_for_speed, BIT(SPINDLE) },
    { "dwell a thousandth", dwell_a_thousandth, BIT(SPINDLE) },
    { "coolant line lost", lose_coolant, BIT(COOLANT) },
    { "coolant of the wrong kind", wrong_coolant, BIT(COOLANT) },
    { "coolant off midway", coolant_off_midway, BIT(COOLANT) },
    { "feed lost", lose_feed, LOAD | BIT(TEXT) },
    { "feed ten times", feed_ten_times, LOAD },
    { "feed a tenth", feed_a_tenth, LOAD },
    { "feed a little off", feed_a_little_off, LOAD },
    { "speed a little off", speed_a_little_off, SPIN },
    { "wrong work offset", wrong_offset, WAY | BIT(OFFSETS) },
    { "work offset lost", lose_offset, WAY | BIT(MODES) },
    { "offset changed inside", insert_shift, BIT(OFFSETS) },
    { "machine coordinates", insert_machine_coordinates, WAY | BIT(FEED) | BIT(MODES) | BIT(OFFSETS) },
    { "used for the other side", use_for_other_side, BIT(CARD) },
    { "stale digest", stale_digest, BIT(CARD) },
    { "head lost", lose_head, BIT(CARD) },
    { "comment damaged", damage_comment, 0 },
    { "body of another program", other_body, ANY | BIT(SPINDLE) | BIT(RELIEF) },
    { "wrong wheel diameter", wrong_wheel_diameter, WAY | SPIN },
    { "wrong ricasso thickness", wrong_ricasso, WAY | BIT(CARD) }, /* and what blanks it is for */
    { "wrong butt thickness", wrong_butt, WAY | BIT(CARD) },       /* the head says how far the butt is raised */
    { "line truncated", truncate_line, ANY },
    { "lines swapped", swap_lines, ANY },
    { "line moved elsewhere", move_line, ANY },
    { "line lost", lose_line, ANY },
    { "line doubled", double_line, ANY },
    { "block lost", lose_block, ANY | BIT(CARD) },
    { "block doubled", double_block, ANY | BIT(CARD) },
    { "file cut short", cut_short, BIT(TEXT) | BIT(ENDING) },
    { "end lost", lose_end, BIT(TEXT) | BIT(ENDING) },
    { "M5 or M9 lost", lose_off, BIT(ENDING) },
    { "retract lost", lose_retract, BIT(ENDING) },
    { "first raise lost", lose_first_raise, BIT(MODES) },
    { "G1 turned G0", feed_becomes_rapid, BIT(RAPIDS) | BIT(TEXT) },
    { "G0 turned G1", rapid_becomes_feed, LOAD | BIT(TEXT) },
    { "rapid through stock", rapid_through_stock, WAY | LOAD },
    { "arc for a chord", arc_for_chord, WAY | LOAD | BIT(TEXT) },
    { "stray character", stray_character, ANY },
    { "comment opened", open_comment, BIT(TEXT) },
    { "comment not closed", unclosed_comment, BIT(TEXT) },
    { "stray percent sign", stray_percent, BIT(TEXT) | BIT(ENDING) },
    { "tool change inserted", change_tool, BIT(MODES) | BIT(TEXT) },
    { "stop inserted", insert_stop, BIT(MODES) },
    { "end inserted", insert_end, BIT(ENDING) | BIT(STOCK_LEFT) },
    { "slash inserted", insert_slash, BIT(TEXT) },
    { "two lines joined", join_two_lines, ANY },
};

#define DAMAGE_COUNT (sizeof damages / sizeof *damages)

#endif
