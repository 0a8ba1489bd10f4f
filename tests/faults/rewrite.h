/* rewrite.h - good programs written in another way that means the same: by hand, by another program, or changed by an editor
 * or a transfer. Each has to pass the dry-run as the first one does. */
#ifndef TANGWRIGHT_TESTS_FAULTS_REWRITE_H
#define TANGWRIGHT_TESTS_FAULTS_REWRITE_H

#include "lines.h"

/* What a style is made of: one rewriter that tells places anew, then a plain one; and one that the damages would not understand,
 * so it comes after them. */
enum rewriting { REWRITE_PLACES, REWRITE_PLAIN, REWRITE_LATE };

struct rewriter {
    const char *name;
    enum rewriting kind;
    bool (*rewrite)(struct mutant *m); /* false: this program cannot be written so */
    const char *ending;                /* of lines; NULL: as it was */
    const char *mark;                  /* before the first line; NULL: nothing */
};

static inline void join_rewritten(const struct mutant *m, const struct rewriter *rewriter, struct tw_text *out)
{
    const char *ending = rewriter->ending ? rewriter->ending : m->returns ? "\r\n" : "\n";

    tw_text_append(out, rewriter->mark ? rewriter->mark : "", rewriter->mark ? strlen(rewriter->mark) : 0);
    for (size_t i = 0; i < m->count; i++) {
        tw_text_append(out, m->lines[i].text, (size_t)m->lines[i].length);
        tw_text_append(out, ending, strlen(ending));
    }
}

/* ---- letters, blanks, lines ---- */

static bool keep_as_is(struct mutant *m)
{
    return m->count > 0;
}

/* Every character outside comments goes through `change`; 0 leaves it out. */
static bool change_characters(struct mutant *m, char (*change)(char c))
{
    for (size_t i = 0; i < m->count; i++) {
        char text[300];
        int length = 0, depth = 0;

        for (int k = 0; k < m->lines[i].length && length < 290; k++) {
            char c = m->lines[i].text[k], changed;

            depth += c == '(';
            changed = depth > 0 ? c : change(c);
            depth -= c == ')';
            if (changed)
                text[length++] = changed;
        }
        set_line(m, i, "%.*s", length, text);
    }
    return true;
}

static char lower_one(char c)
{
    return (char)tolower((unsigned char)c);
}

static char no_blank(char c)
{
    return c == ' ' ? '\0' : c;
}

static char to_tab(char c)
{
    return c == ' ' ? '\t' : c;
}

static bool lower_case(struct mutant *m)
{
    return change_characters(m, lower_one);
}

static bool without_blanks(struct mutant *m)
{
    return change_characters(m, no_blank);
}

static bool with_tabs(struct mutant *m)
{
    return change_characters(m, to_tab);
}

static bool unnumber(struct mutant *m)
{
    struct word word;

    for (size_t i = 0; i < m->count; i++)
        if (m->lines[i].length > 0 && m->lines[i].text[0] == 'N' && find_word(m, i, "N", &word)) {
            int to = word.to;

            while (to < m->lines[i].length && m->lines[i].text[to] == ' ')
                to++;
            replace_part(m, i, word.at, to, "%s", "");
        }
    return true;
}

static bool renumber(struct mutant *m)
{
    unnumber(m);
    for (size_t i = 0; i < m->count; i++)
        if (m->lines[i].length > 0 && m->lines[i].text[0] != '%')
            replace_part(m, i, 0, 0, "N%zu ", 7 * (i + 1) % 99999);
    return true;
}

static bool with_blank_lines(struct mutant *m)
{
    for (size_t i = m->count; i-- > 1;)
        if (i % 3 == 0 && m->lines[i].text[0] != '%' && !insert_line(m, i, "%s", ""))
            return false;
    return true;
}

static bool with_percent_lines(struct mutant *m)
{
    if (m->lines[0].length > 0 && m->lines[0].text[0] == '%') { /* it has them: they may be left out */
        remove_lines(m, 0, 1);
        while (m->count > 0 && m->lines[m->count - 1].length == 0)
            m->count--;
        if (m->lines[m->count - 1].text[0] != '%')
            return false;
        m->count--;
        return true;
    }
    return insert_line(m, 0, "%%") && insert_line(m, m->count, "%%");
}

/* ---- comments ---- */

static bool drop_comments_from(struct mutant *m, size_t from)
{
    for (size_t i = m->count; i-- > from;)
        if (m->lines[i].length > 0 && m->lines[i].text[0] == '(')
            remove_lines(m, i, 1);
    return true;
}

static bool without_layer_comments(struct mutant *m)
{
    size_t command;

    return first_line(m, is_command, &command) && drop_comments_from(m, command);
}

static bool without_comments(struct mutant *m)
{
    return drop_comments_from(m, 0);
}

static bool with_more_comments(struct mutant *m)
{
    for (size_t i = m->count; i-- > 0;)
        if (is_move(m, i) && i % 2 == 0 && m->lines[i].length < 150)
            replace_part(m, i, m->lines[i].length, m->lines[i].length, " (f\xc3\xbcr Werkst\xc3\xbc%s %zu)", "ck", i);
    return true;
}

/* ---- numbers ---- */

/* Every number behind these letters, written by `print`. */
static bool print_numbers(struct mutant *m, const char *letters, void (*print)(double value, char out[48]))
{
    for (size_t i = 0; i < m->count; i++) {
        struct word word;

        for (int at = 0; next_word(m, i, &at, &word);) {
            char text[48];

            if (!strchr(letters, word.letter) || word.from == word.to)
                continue;
            print(word.value, text);
            replace_part(m, i, word.from, word.to, "%s", text);
            at = word.from + (int)strlen(text);
        }
    }
    return true;
}

/* No zero that is not needed: ".5", "-3.", "12.25". */
static void print_short(double value, char out[48])
{
    char text[40], *end;

    snprintf(text, sizeof text, "%.6f", fabs(value));
    for (end = text + strlen(text); end[-1] == '0'; end--)
        ;
    *end = '\0';
    if (strcmp(text, "0.") == 0)
        strcpy(text, "0");
    snprintf(out, 48, "%s%s", value < 0.0 ? "-" : "", text[0] == '0' && text[1] == '.' ? text + 1 : text);
}

static void print_long(double value, char out[48])
{
    snprintf(out, 48, "%+013.6f", value);
}

static bool short_numbers(struct mutant *m)
{
    return print_numbers(m, "XYZF", print_short);
}

static bool long_numbers(struct mutant *m)
{
    return print_numbers(m, "XYZFSP", print_long);
}

static bool other_zeros_of_codes(struct mutant *m)
{
    for (size_t i = 0; i < m->count; i++) {
        struct word word;

        for (int at = 0; next_word(m, i, &at, &word);) {
            bool padded = word.to - word.from == 2;

            if (!strchr("GM", word.letter) || word.value >= 10.0 || word.value != floor(word.value))
                continue;
            replace_part(m, i, word.from, word.to, padded ? "%.0f" : "0%.0f", word.value);
            at = word.from + (padded ? 1 : 2);
        }
    }
    return true;
}

/* A profile of the other unit goes with it. */
static bool other_unit(struct mutant *m)
{
    bool inch = m->job.machine.dialect.inch;

    m->job.machine.dialect.inch = !inch;
    for (size_t i = 0; i < m->count; i++) {
        struct word word;

        for (int at = 0; next_word(m, i, &at, &word);) {
            char text[48] = "";

            /* An inch is 25.4 mm: from there exact with one decimal more, to there within 1e-9 of it. */
            if (strchr("XYZFIJKR", word.letter) && !has_code(m, i, 'G', 4))
                snprintf(text, sizeof text, "%.*f", inch ? 7 : 10, inch ? word.value * 25.4 : word.value / 25.4);
            else if (word.letter == 'G' && (word.value == 20.0 || word.value == 21.0))
                snprintf(text, sizeof text, "%d", inch ? 21 : 20);
            if (!text[0])
                continue;
            replace_part(m, i, word.from, word.to, "%s", text);
            at = word.from + (int)strlen(text);
        }
    }
    return true;
}

/* ---- words ---- */

static bool turn_words(struct mutant *m)
{
    for (size_t i = 0; i < m->count; i++) {
        char text[300] = "";
        struct word word;

        if (m->lines[i].length > 140 || memchr(m->lines[i].text, '(', (size_t)m->lines[i].length))
            continue;
        for (int at = 0; next_word(m, i, &at, &word);) {
            char old[300];

            strcpy(old, text);
            if (word.letter == 'N')
                continue;
            snprintf(text, sizeof text, "%.*s %.150s", word.to - word.at, m->lines[i].text + word.at, old);
        }
        if (text[0])
            set_line(m, i, "%s", text);
    }
    return true;
}

/* Codes that stand by themselves get lines of their own. */
static bool one_code_a_line(struct mutant *m)
{
    for (size_t i = 0; i < m->count; i++) {
        struct word first = { 0 }, second = { 0 };
        int at = 0;

        if (has_code(m, i, 'G', 4) || find_word(m, i, "XYZFP", &first))
            continue;
        while (next_word(m, i, &at, &first) && first.letter == 'N')
            ;
        if (!next_word(m, i, &at, &second) || !strchr("GMS", first.letter) || !strchr("GMS", second.letter))
            continue;
        if (!insert_line(m, i + 1, "%.*s", m->lines[i].length - second.at, m->lines[i].text + second.at))
            return false;
        m->lines[i].length = second.at;
    }
    return true;
}

static bool without_repeated_codes(struct mutant *m)
{
    double motion = -1.0;

    for (size_t i = 0; i < m->count; i++) {
        struct word word;
        bool moves = find_word(m, i, "XYZ", &word);

        if (has_code(m, i, 'G', 2) || has_code(m, i, 'G', 3))
            motion = -1.0;
        if (!is_move(m, i) || !find_code(m, i, 'G', is_feed(m, i) ? 1.0 : 0.0, &word))
            continue;
        if (moves && word.value == motion)
            replace_part(m, i, word.at, word.to, "%s", "");
        motion = word.value;
    }
    return true;
}

static bool with_repeated_feeds(struct mutant *m)
{
    char feed[48] = "";

    for (size_t i = 0; i < m->count; i++) {
        struct word word;

        if (find_word(m, i, "F", &word))
            snprintf(feed, sizeof feed, "%.*s", word.to - word.at, m->lines[i].text + word.at);
        else if (is_feed(m, i) && feed[0])
            replace_part(m, i, m->lines[i].length, m->lines[i].length, " %s", feed);
    }
    return true;
}

/* Said once more what is so already. */
static bool with_repeated_states(struct mutant *m)
{
    char spindle[100] = "", coolant[100] = "";

    for (size_t i = 0; i < m->count; i++) {
        if (has_code(m, i, 'M', 3) || has_code(m, i, 'M', 4))
            snprintf(spindle, sizeof spindle, "%.*s", m->lines[i].length, m->lines[i].text);
        if (has_code(m, i, 'M', 7) || has_code(m, i, 'M', 8))
            snprintf(coolant, sizeof coolant, "%.*s", m->lines[i].length, m->lines[i].text);
        if (!is_layer(m, i))
            continue;
        if (!insert_line(m, i, "%s", spindle) || (coolant[0] && !insert_line(m, i, "%s", coolant)))
            return false;
        i += coolant[0] ? 2 : 1;
    }
    return spindle[0] != '\0';
}

static bool other_end(struct mutant *m)
{
    struct word word;

    for (size_t i = 0; i < m->count; i++)
        if (find_code(m, i, 'M', 2, &word) || find_code(m, i, 'M', 30, &word))
            return replace_part(m, i, word.from, word.to, word.value == 2.0 ? "30" : "02");
    return false;
}

static bool dwell_in_two(struct mutant *m)
{
    for (size_t i = 0; i < m->count; i++) {
        struct word word;

        if (!has_code(m, i, 'G', 4) || !find_word(m, i, "PX", &word))
            continue;
        if (!copy_lines(m, i, 1))
            return false;
        set_value(m, &word, word.value * 0.4);
        word.line = ++i;
        set_value(m, &word, word.value * 0.6);
    }
    return true;
}

/* ---- places ---- */

/* Where the program stands, in its own numbers, as far as it has said under the offset in force. */
struct places {
    double at[3];
    bool known[3];
};

static inline void forget_places(struct mutant *m, size_t index, struct places *places)
{
    struct word word;

    for (int at = 0; next_word(m, index, &at, &word);)
        if (word.letter == 'G' && word.value >= 53.0 && word.value < 60.0)
            *places = (struct places){ 0 };
}

static inline void take_places(struct mutant *m, size_t index, struct places *places)
{
    struct word word;

    if (!is_move(m, index))
        return;
    for (int at = 0; next_word(m, index, &at, &word);)
        if (strchr("XYZ", word.letter)) {
            places->at[word.letter - 'X'] = word.value;
            places->known[word.letter - 'X'] = true;
        }
}

static bool with_all_axes(struct mutant *m)
{
    struct places places = { 0 };

    for (size_t i = 0; i < m->count; i++) {
        forget_places(m, i, &places);
        for (int k = 0; is_move(m, i) && k < 3; k++) {
            char letter[2] = { (char)('X' + k), '\0' };
            struct word word;

            if (places.known[k] && !find_word(m, i, letter, &word))
                replace_part(m, i, m->lines[i].length, m->lines[i].length, " %s%.6f", letter, places.at[k]);
        }
        take_places(m, i, &places);
    }
    return true;
}

/* Each motion along a line in two pieces of it. */
static bool split_moves(struct mutant *m)
{
    struct places places = { 0 };

    for (size_t i = 0; i < m->count; i++) {
        char half[200] = "";
        struct word word;
        bool all = is_move(m, i);

        forget_places(m, i, &places);
        for (int at = 0; all && next_word(m, i, &at, &word);) {
            size_t used = strlen(half);
            int axis = word.letter - 'X';

            if (!strchr("XYZ", word.letter) && word.letter != 'N')
                snprintf(half + used, sizeof half - used, "%.*s ", word.to - word.at, m->lines[i].text + word.at);
            else if (word.letter != 'N' && (all = places.known[axis]))
                snprintf(half + used, sizeof half - used, "%c%.7f ", word.letter, (places.at[axis] + word.value) / 2.0);
        }
        take_places(m, i, &places);
        if (all && (!insert_line(m, i++, "%s", half)))
            return false;
    }
    return true;
}

static bool all_known(const struct places *places)
{
    return places->known[0] && places->known[1] && places->known[2];
}

/* By increments, as long as the offset stays. */
static bool incremental(struct mutant *m)
{
    struct places places = { 0 };
    bool relative = false, any = false;
    size_t i;

    for (i = 0; i < m->count && !has_code(m, i, 'M', 9) && !has_code(m, i, 'M', 5); i++) {
        struct places before;
        struct word word;

        forget_places(m, i, &places);
        before = places;
        take_places(m, i, &places);
        if (relative != (all_known(&before) && all_known(&places))) {
            relative = !relative;
            any = true;
            if (!insert_line(m, i++, relative ? "G91" : "G90"))
                return false;
        }
        for (int at = 0; relative && is_move(m, i) && next_word(m, i, &at, &word);) {
            char text[48];

            if (!strchr("XYZ", word.letter))
                continue;
            snprintf(text, sizeof text, "%.6f", word.value - before.at[word.letter - 'X']);
            replace_part(m, i, word.from, word.to, "%s", text);
            at = word.from + (int)strlen(text);
        }
    }
    return any && (!relative || insert_line(m, i, "G90"));
}

/* A full circle at the clear height, over the place where the wheel comes down first: it ends where it began. */
static bool circle_in_the_air(struct mutant *m)
{
    const struct tw_machine *machine = machine_of(m);

    for (size_t i = 0; i + 1 < m->count; i++) {
        char letter[2] = { machine->along.letter, '\0' };
        struct word word;

        if (is_rapid(m, i) && find_word(m, i, letter, &word))
            return insert_line(m, i + 1, "G2 %s%.6f %c%.4f F%.1f", letter, word.value, 'I' + letter[0] - 'X',
                               machine->dialect.inch ? 0.02 : 0.5, machine->dialect.inch ? 20.0 : 500.0);
    }
    return false;
}

/* A line that moves by a code of its own, or by none: what stands before it may set another one. */
static bool next_motion_has_code(const struct mutant *m, size_t from)
{
    struct word word;

    for (size_t i = from; i < m->count; i++)
        if (find_word(m, i, "XYZ", &word))
            return is_move(m, i) || has_code(m, i, 'G', 4);
    return false;
}

/* A feed that relied on the one before says it. */
static void say_feed(struct mutant *m, size_t from, const char *feed)
{
    struct word word;

    for (size_t i = from; i < m->count; i++) {
        if (find_word(m, i, "F", &word))
            return;
        if (!is_feed(m, i))
            continue;
        replace_part(m, i, m->lines[i].length, m->lines[i].length, " %s", feed);
        return;
    }
}

/* Level rapids from place to place as arcs that are hardly ones: of a hundred times the way, told by their radius, at a feed. The
 * middle of one lies an eight-hundredth of the way beside the straight one. */
static bool arcs_in_the_air(struct mutant *m)
{
    const struct tw_machine *machine = machine_of(m);
    int along = machine->along.letter - 'X', across = machine->across.letter - 'X', up = machine->up.letter - 'X';
    struct places places = { 0 };
    char feed[48] = "";
    bool any = false;

    for (size_t i = 0; i < m->count; i++) {
        struct places before;
        struct word word, code;
        double way;

        forget_places(m, i, &places);
        before = places;
        take_places(m, i, &places);
        if (find_word(m, i, "F", &word))
            snprintf(feed, sizeof feed, "%.*s", word.to - word.at, m->lines[i].text + word.at);
        if (!find_code(m, i, 'G', 0, &code) || !is_move(m, i) || !all_known(&before) ||
            before.at[up] != places.at[up] || !feed[0] || !next_motion_has_code(m, i + 1))
            continue;
        way = hypot(places.at[along] - before.at[along], places.at[across] - before.at[across]);
        if (way < (machine->dialect.inch ? 0.1 : 2.0))
            continue;
        say_feed(m, i + 1, feed);
        replace_part(m, i, m->lines[i].length, m->lines[i].length, " R%.4f F%s", 100.0 * way,
                     machine->dialect.inch ? "60." : "1500.");
        replace_part(m, i, code.from, code.to, any ? "3" : "2");
        any = true;
    }
    return any;
}

/* ---- the table ---- */

static const struct rewriter rewriters[] = {
    { "as it is", REWRITE_PLAIN, keep_as_is, NULL, NULL },
    { "lines end with CR LF", REWRITE_LATE, keep_as_is, "\r\n", NULL },
    { "lines end with CR", REWRITE_LATE, keep_as_is, "\r", NULL },
    { "lines end with LF", REWRITE_LATE, keep_as_is, "\n", NULL },
    { "a byte order mark", REWRITE_LATE, keep_as_is, NULL, "\xef\xbb\xbf" },
    { "lower case", REWRITE_LATE, lower_case, NULL, NULL },
    { "no blanks", REWRITE_LATE, without_blanks, NULL, NULL },
    { "tabs for blanks", REWRITE_LATE, with_tabs, NULL, NULL },
    { "without line numbers", REWRITE_PLAIN, unnumber, NULL, NULL },
    { "other line numbers", REWRITE_PLAIN, renumber, NULL, NULL },
    { "blank lines between", REWRITE_PLAIN, with_blank_lines, NULL, NULL },
    { "percent lines added or left out", REWRITE_PLAIN, with_percent_lines, NULL, NULL },
    { "without comments behind the head", REWRITE_PLAIN, without_layer_comments, NULL, NULL },
    { "without any comment", REWRITE_PLAIN, without_comments, NULL, NULL },
    { "comments with umlauts on the lines", REWRITE_LATE, with_more_comments, NULL, NULL },
    { "numbers without needless zeros", REWRITE_PLAIN, short_numbers, NULL, NULL },
    { "numbers with signs and zeros", REWRITE_PLAIN, long_numbers, NULL, NULL },
    { "G01 for G1, G1 for G01", REWRITE_PLAIN, other_zeros_of_codes, NULL, NULL },
    { "inch for mm, mm for inch", REWRITE_LATE, other_unit, NULL, NULL },
    { "words in another order", REWRITE_PLAIN, turn_words, NULL, NULL },
    { "each code on its own line", REWRITE_PLAIN, one_code_a_line, NULL, NULL },
    { "codes in force not repeated", REWRITE_PLAIN, without_repeated_codes, NULL, NULL },
    { "feeds repeated", REWRITE_PLAIN, with_repeated_feeds, NULL, NULL },
    { "spindle and coolant repeated", REWRITE_PLAIN, with_repeated_states, NULL, NULL },
    { "M30 for M2, M2 for M30", REWRITE_PLAIN, other_end, NULL, NULL },
    { "dwells in two", REWRITE_PLAIN, dwell_in_two, NULL, NULL },
    { "all axes on every line", REWRITE_PLACES, with_all_axes, NULL, NULL },
    { "moves in two pieces", REWRITE_PLACES, split_moves, NULL, NULL },
    { "by increments", REWRITE_PLACES, incremental, NULL, NULL },
    { "a full circle in the air", REWRITE_PLACES, circle_in_the_air, NULL, NULL },
    { "rapids in the air as flat arcs", REWRITE_PLACES, arcs_in_the_air, NULL, NULL },
};

#define REWRITER_COUNT (sizeof rewriters / sizeof *rewriters)

#endif
