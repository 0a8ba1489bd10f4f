/* told.h - whether a program's text says what was planned: what an RS-274 parser from outside reads of it, word for word, and
 * whether it keeps to the conservative core of RS-274 (NISTIR 6556, 2000) in every dialect.
 *
 * The parser is gcode-parser from the npm registry, run by tests/words/words.mjs. */
#ifndef TANGWRIGHT_TESTS_SAMPLES_TOLD_H
#define TANGWRIGHT_TESTS_SAMPLES_TOLD_H

#include "sample.h"

#include <ctype.h>
#include <math.h>
#include <regex.h>

#define not_a_number ((double)NAN)

/* ---- lines ---- */

#define LINES_MOST 60000

struct lines {
    char *copy;
    char *at[LINES_MOST];
    size_t count;
};

/* Cuts a copy of the text into lines; CR before the line feed stays. */
static struct lines *split(const char *text)
{
    struct lines *lines = calloc(1, sizeof *lines);
    char *at;

    cr_assert(lines != NULL);
    lines->copy = strdup(text);
    for (at = lines->copy; *at;) {
        char *end = strchr(at, '\n');

        cr_assert(end != NULL, "the last line has no end");
        *end = '\0';
        cr_assert(lt(sz, lines->count, LINES_MOST));
        lines->at[lines->count++] = at;
        at = end + 1;
    }
    return lines;
}

static void free_lines(struct lines *lines)
{
    free(lines->copy);
    free(lines);
}

/* Patterns are compiled once for each test process. */
static const regex_t *compiled(const char *pattern)
{
    static struct {
        char *pattern;
        regex_t regex;
    } cache[64];
    size_t i;

    for (i = 0; cache[i].pattern; i++)
        if (strcmp(cache[i].pattern, pattern) == 0)
            return &cache[i].regex;
    cr_assert(lt(sz, i, 63));
    cr_assert(eq(int, regcomp(&cache[i].regex, pattern, REG_EXTENDED | REG_NOSUB), 0), "%s", pattern);
    cache[i].pattern = strdup(pattern);
    return &cache[i].regex;
}

static int matches(const char *text, const char *pattern)
{
    return regexec(compiled(pattern), text, 0, NULL, 0) == 0;
}

/* The first line at or after `from` that matches; the number of lines when none does. */
static size_t find_line(const struct lines *lines, size_t from, const char *pattern)
{
    while (from < lines->count && !matches(lines->at[from], pattern))
        from++;
    return from;
}

/* ---- what the parser from outside reads ---- */

/* One line of words. not a number: not named. */
struct words {
    int line, motion; /* motion: 0, 1; -1: none */
    double axis[3];   /* X, Y, Z */
    double feed, dwell;
    int offset; /* 54.. */
};

static struct words next_words(char **at)
{
    struct words words = { .line = (int)strtol(*at, at, 10),
                           .motion = -1,
                           .axis = { not_a_number, not_a_number, not_a_number },
                           .feed = not_a_number,
                           .dwell = not_a_number };

    while (**at && **at != '\n') {
        char letter;
        double value;
        char *end;

        while (**at == ' ')
            (*at)++;
        letter = *(*at)++;
        value = strtod(*at, &end);
        if (end == *at)
            cr_fatal("line %d: not a letter and a number", words.line);
        *at = end;
        if (letter == 'G' && (value == 0.0 || value == 1.0))
            words.motion = (int)value;
        else if (letter == 'G' && value == 4.0)
            words.dwell = 0.0;
        else if (letter == 'G' && value >= 54.0 && value < 60.0)
            words.offset = (int)lround(value * 10.0);
        else if (words.dwell == 0.0 && (letter == 'P' || letter == 'X'))
            words.dwell = value;
        else if (letter >= 'X' && letter <= 'Z')
            words.axis[letter - 'X'] = value;
        else if (letter == 'F')
            words.feed = value;
    }
    if (**at == '\n')
        (*at)++;
    return words;
}

static void read_words(const char *program, struct tw_text *out)
{
    char path[] = "/tmp/tangwright-words-XXXXXX", command[256];
    int file = mkstemp(path);

    cr_assert(ge(int, file, 0));
    cr_assert(eq(int, (int)write(file, program, strlen(program)), (int)strlen(program)));
    close(file);
    snprintf(command, sizeof command, "node tests/words/words.mjs %s", path);
    cr_expect(eq(int, run_and_read(command, out), 0), "the parser complains");
    remove(path);
}

/* Where the program's words say the wheel is, followed line by line. */
struct follower {
    const struct tw_job *job;
    double unit_mm;
    double zero_mm;  /* z that the program calls 0 */
    double place[3]; /* of the letters X, Y, Z, in the program's unit */
    double feed;
};

/* Setup coordinates of the letters' values: the axis map backwards. */
static struct tw_place3 place_of(const struct follower *follower)
{
    const struct tw_machine *machine = &follower->job->machine;
    const double *p = follower->place;

    return (struct tw_place3){
        machine->along.sign * p[machine->along.letter - 'X'] * follower->unit_mm,
        machine->across.sign * p[machine->across.letter - 'X'] * follower->unit_mm,
        machine->up.sign * p[machine->up.letter - 'X'] * follower->unit_mm + follower->zero_mm,
    };
}

/* Planned values are whole last decimals: any difference beyond the arithmetic is a fault. */
static int same_place(struct tw_place3 a, struct tw_place3 b)
{
    return fabs(a.x_mm - b.x_mm) < 1e-8 && fabs(a.y_mm - b.y_mm) < 1e-8 && fabs(a.z_mm - b.z_mm) < 1e-8;
}

static void follow(struct follower *follower, const struct words *words)
{
    for (int i = 0; i < 3; i++)
        if (!isnan(words->axis[i]))
            follower->place[i] = words->axis[i];
    if (!isnan(words->feed))
        follower->feed = words->feed * follower->unit_mm / 60.0;
}

/* The approach of a stay at a part: up alone, then over the start, then down to the clear height where it is higher. */
static void expect_approach(struct follower *follower, char **at, struct words *words, const struct tw_place3 *start,
                            int part)
{
    while (words->motion < 0)
        *words = next_words(at);
    for (int steps = 0; steps < 3 && words->motion == 0; steps++) {
        follow(follower, words);
        *words = next_words(at);
        if (same_place(place_of(follower), *start))
            break;
    }
    cr_expect(same_place(place_of(follower), *start) != 0, "part %d begins at %g %g %g instead of %g %g %g", part + 1,
              place_of(follower).x_mm, place_of(follower).y_mm, place_of(follower).z_mm, start->x_mm, start->y_mm,
              start->z_mm);
}

static void expect_move(struct follower *follower, char **at, struct words *words, const struct tw_move *move)
{
    double slowest_step = follower->unit_mm / 60.0 * pow(10.0, -follower->job->machine.dialect.feed_decimals);
    int number = words->line;

    if (move->kind == TW_MOVE_DWELL) {
        double scale = follower->job->machine.dialect.dwell_word == TW_DWELL_P_MILLISECONDS ? 1e-3 : 1.0;

        cr_expect(fabs(words->dwell * scale - move->dwell_s) < 6e-4, "line %d: dwells %g", number, words->dwell);
        *words = next_words(at);
        return;
    }
    if (same_place(place_of(follower), move->to))
        return; /* said already */
    if (words->motion != (move->kind == TW_MOVE_FEED ? 1 : 0))
        cr_fail("line %d: feed for rapid, or rapid for feed", number);
    follow(follower, words);
    if (!same_place(place_of(follower), move->to))
        cr_fail("line %d goes to %.6f %.6f %.6f instead of %.6f %.6f %.6f", number, place_of(follower).x_mm,
                place_of(follower).y_mm, place_of(follower).z_mm, move->to.x_mm, move->to.y_mm, move->to.z_mm);
    if (move->kind == TW_MOVE_FEED &&
        !(follower->feed <= move->feed_mm_per_s + 1e-6 && follower->feed > move->feed_mm_per_s - slowest_step - 1e-6))
        cr_fail("line %d: feed %g instead of %g mm/s", number, follower->feed, move->feed_mm_per_s);
    *words = next_words(at);
}

/* One stay at a part: its moves up to the next one that enters, which is where it answers. */
static size_t expect_stay(struct follower *follower, char **at, struct words *words, const struct tw_setup_plan *setup,
                          size_t first, int part)
{
    bool starts = first == 0 && part == 0;
    size_t i = first + 1;

    while (words->offset == 0 && words->motion < 0) {
        if (!**at)
            cr_fatal("the program ends before all of the plan is said");
        *words = next_words(at);
    }
    if (!starts && words->offset == 0) { /* up to where the next part's height is clear, too */
        follow(follower, words);
        *words = next_words(at);
    }
    if (words->offset == 0 && starts)
        cr_expect(eq(int, words->offset, 540));
    for (int k = 0; k < 3; k++)
        follower->place[k] = not_a_number; /* the same letters mean other places now: all must be said again */
    expect_approach(follower, at, words, &setup->moves[first].to, part);
    for (; i < setup->move_count && !setup->moves[i].enters; i++) {
        struct tw_move move = setup->moves[i];

        move.to.z_mm -=
            tw_plan_lower_mm(follower->job, setup, &move, part); /* what the wheel lost at those before it */
        expect_move(follower, at, words, &move);
    }
    return i;
}

static void expect_plan(const struct tw_job *job, const struct tw_setup_plan *setup, const char *program)
{
    struct follower follower = { .job = job,
                                 .unit_mm = job->machine.dialect.inch ? 25.4 : 1.0,
                                 .zero_mm = setup->face.zero_mm,
                                 .place = { not_a_number, not_a_number, not_a_number } };
    struct tw_text text = { 0 };
    struct words words;
    char *at;

    read_words(program, &text);
    at = text.data;
    words = next_words(&at);
    for (size_t first = 0, next = 0; first < setup->move_count; first = next)
        for (int part = 0; part < job->parts; part++)
            next = expect_stay(&follower, &at, &words, setup, first, part);
    cr_expect(eq(int, words.motion, -1), "line %d: a move that was not planned", words.line);
    while (*at) {
        words = next_words(&at);
        cr_expect(eq(int, words.motion, -1), "line %d: a move that was not planned", words.line);
    }
    tw_text_free(&text);
}

/* ---- the text itself ---- */

/* A line of codes: words with one blank between them, no minus before zero, no sign but minus, a digit before the
 * point. */
static const char code_line[] = "^(N[0-9]+ )?[GMSFPXYZ](-?[0-9]+)(\\.[0-9]+)?( [GMSFPXYZ]-?[0-9]+(\\.[0-9]+)?)*\r?$";

/* Digits behind the point of a line's feed; -1: a point with none behind it. */
static int feed_decimals(const char *line)
{
    const char *point = strstr(line, " F") + 2;

    point += strspn(point, "0123456789");
    if (*point != '.')
        return 0;
    return point[1] >= '0' && point[1] <= '9' ? (int)strspn(point + 1, "0123456789") : -1;
}

/* What is wrong with a line; NULL: nothing. */
static const char *fault_of(const struct tw_dialect *dialect, const char *line)
{
    size_t length = strlen(line);
    bool cr = length > 0 && line[length - 1] == '\r';

    if (cr != dialect->carriage_returns)
        return "the wrong end of line";
    length -= cr;
    if (length > 80)
        return "more than 80 characters";
    for (size_t i = 0; i < length; i++)
        if (line[i] < ' ' || line[i] > '~')
            return "not plain ASCII";
    if (line[0] == '%')
        return length == 1 && dialect->percent_lines ? NULL : "a percent sign";
    if (line[0] == '(')
        return matches(line, "^\\([^()]*\\)\r?$") ? NULL : "a bracket in a comment";
    if (!matches(line, code_line))
        return "not words with one blank between them";
    if (matches(line, "-0+(\\.0*)?( |\r|$)"))
        return "minus zero";
    if ((line[0] == 'N') != dialect->line_numbers)
        return "the wrong mind about line numbers";
    if (matches(line, " F[0-9]") && feed_decimals(line) != dialect->feed_decimals)
        return "a feed with more or fewer decimals than the machine's";
    if (dialect->two_digit_codes && matches(line, "[GM][0-9]( |\r|$|\\.)"))
        return "a code of one digit";
    if (!dialect->two_digit_codes && matches(line, "[GM]0[0-9]"))
        return "a code with a zero ahead";
    /* NISTIR 6556: one code of a modal group in a line; here an M code stands alone, but for S. */
    if (matches(line, "M[0-9]") && !matches(line, "^(N[0-9]+ )?(S[0-9]+ )?M[0-9]+\r?$"))
        return "an M code among other words";
    return NULL;
}

static void expect_line(const struct tw_dialect *dialect, const char *line, size_t number)
{
    const char *fault = fault_of(dialect, line);

    if (fault)
        cr_fail("line %zu: %s: %s", number, fault, line);
}

/* Each comment that tells of passes stands once for each part, and ahead of the next comment, or part, the wheel is fed. A disc that
 * hollows one trough after the other comes to each layer anew in each. */
static void expect_pass_comments(const struct tw_job *job, const struct tw_setup_plan *setup, const struct lines *lines)
{
    bool comes_anew = setup->style == TW_STYLE_TROUGHS;
    size_t parts = (size_t)job->parts;

    for (size_t i = 0; i < lines->count; i++) {
        size_t next = i + 1, alike = 0;

        if (strncmp(lines->at[i], "(PASS ", 6) != 0)
            continue;
        while (next < lines->count && (matches(lines->at[next], "^(N[0-9]+ )?G0?[04] ") ||
                                       (lines->at[next][0] == '(' && strncmp(lines->at[next], "(PA", 3) != 0)))
            next++;
        if (next >= lines->count || !matches(lines->at[next], "^(N[0-9]+ )?G0?1 "))
            cr_fail("line %zu: passes are told of, and line %zu is: %s", i + 1, next + 1, lines->at[next]);
        for (size_t k = 0; k < lines->count; k++)
            alike +=
                strncmp(lines->at[k], lines->at[i], (size_t)(strstr(lines->at[i], " OF ") - lines->at[i]) + 4) == 0;
        if (comes_anew ? alike % parts != 0 : alike != parts)
            cr_fail("line %zu stands %zu times for %d parts: %s", i + 1, alike, job->parts, lines->at[i]);
    }
}

static double height_of(const struct tw_machine *machine, const char *word)
{
    return machine->up.sign * strtod(word + 1, NULL);
}

/* Each rapid moves up or down alone, or the others alone: at a height that clears all, or on the way back over ground that
 * has just been swept, at least the height of returns above it. */
static void expect_rapids(const struct tw_job *job, const struct tw_setup_plan *setup, const struct lines *lines)
{
    const struct tw_machine *machine = &job->machine;
    double unit_mm = machine->dialect.inch ? 25.4 : 1.0, up_mm = -HUGE_VAL, clear_mm = job->taper.ricasso_mm;
    double swept_mm = HUGE_VAL;
    bool fed = false;

    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        clear_mm = fmax(clear_mm, job->fixture.keep_outs[i].top_mm + job->fixture.clearance_mm);
    for (size_t i = 0; i < setup->move_count; i++) /* the blank's top at the butt: where the first cut begins */
        clear_mm = setup->face.mount == TW_MOUNT_TILTED
                       ? fmax(clear_mm, setup->layers[0].bottom_mm + setup->face.height_mm)
                       : clear_mm;
    for (size_t i = 0; i < lines->count; i++) {
        const char *line = lines->at[i], *word;
        bool rapid = line[0] != '(' && matches(line, "G0?0( |\r|$)"),
             feed = line[0] != '(' && matches(line, "G0?1( |\r|$)");
        bool up, over;

        if (!rapid && !feed)
            continue;
        word = strchr(line, machine->up.letter);
        up = word != NULL;
        over = strchr(line, machine->along.letter) || strchr(line, machine->across.letter);
        if (rapid && up == over)
            cr_fail("line %zu: not up alone or over alone: %s", i + 1, line);
        if (rapid && over &&
            !(up_mm >= fmin(clear_mm, swept_mm + fmin(job->travel.return_lift_mm, job->travel.approach_mm) - 1e-9)))
            cr_fail("line %zu: a rapid over the work at %g mm: %s", i + 1, up_mm, line);
        if (feed) /* a pass: from the height that the wheel was fed down to, along the face */
            swept_mm = over ? fmax(up_mm, up ? height_of(machine, word) * unit_mm : up_mm) : HUGE_VAL;
        if (up)
            up_mm = height_of(machine, word) * unit_mm;
        if (feed && !fed)
            cr_expect(strchr(line, 'F') != NULL, "line %zu: the first feed move names no feed: %s", i + 1, line);
        fed = fed || feed;
    }
    cr_expect(fed != 0);
}

/* The fixed order: identification and cautions, safe line, offset, spindle, coolant, moves, everything off, end. */
static void expect_order(const struct tw_job *job, const struct lines *lines)
{
    const struct tw_dialect *dialect = &job->machine.dialect;
    size_t at = dialect->percent_lines ? 1 : 0, comments = at;
    char pattern[160];

    if (dialect->percent_lines) {
        cr_expect(lines->at[0][0] == '%' && lines->at[lines->count - 1][0] == '%', "percent lines");
        cr_expect(eq(sz, find_line(lines, 1, "^%"), lines->count - 1));
    }
    if (dialect->comments) {
        snprintf(pattern, sizeof pattern, "^\\(INPUTS %s\\)", job->digest);
        cr_expect(lt(sz, find_line(lines, at, pattern), find_line(lines, at, "^[^(%]")),
                  "the digest heads the program");
        cr_expect(lt(sz, find_line(lines, at, "^\\(CAUTION"), find_line(lines, at, "^[^(%]")));
        for (; lines->at[comments][0] == '('; comments++)
            ;
        at = comments;
    }
    cr_expect(matches(lines->at[at], dialect->inch ? "G20 (G1[789] )?G90 G94" : "G21 (G1[789] )?G90 G94") != 0, "%s",
              lines->at[at]);
    at = find_line(lines, at, "G5[4-9]");
    cr_expect(lt(sz, at, find_line(lines, 0, "(S[0-9]+ )?M0?[34](\r|$)")), "the work offset before the spindle");
    at = find_line(lines, at, "(S[0-9]+ )?M0?[34](\r|$)");
    cr_expect(eq(int, strchr(lines->at[at], 'S') != NULL, job->machine.spindle_programmable), "%s", lines->at[at]);
    cr_expect(lt(sz, at, find_line(lines, 0, "G0?0 ")), "the spindle before the first move");
    if (job->coolant.kind == TW_COOLANT_FLOOD && job->machine.dialect.flood_code) {
        cr_expect(lt(sz, at, find_line(lines, 0, "M0?[78](\r|$)")));
        cr_expect(lt(sz, find_line(lines, 0, "M0?[78](\r|$)"), find_line(lines, 0, "G0?0 ")),
                  "coolant before the first move");
    }
    if (job->machine.spindle_up_to_speed_s > 0.0)
        cr_expect(lt(sz, find_line(lines, at, "G0?4 [PX]"), find_line(lines, 0, "G0?0 ")),
                  "a dwell for the wheel's speed");
    at = find_line(lines, at, "M0?9(\r|$)");
    cr_expect(eq(sz, find_line(lines, at, "G0?[01] "), lines->count), "no move after all is off");
    at = find_line(lines, at, "M0?5(\r|$)");
    snprintf(pattern, sizeof pattern, "M0?%d(\r|$)", dialect->end_code);
    at = find_line(lines, at, pattern);
    cr_expect(eq(sz, at, lines->count - (dialect->percent_lines ? 2 : 1)), "the program ends with its end");
}

static void expect_text(const struct tw_job *job, const struct tw_setup_plan *setup, const char *program)
{
    struct lines *lines = split(program);

    for (size_t i = 0; i < lines->count; i++)
        expect_line(&job->machine.dialect, lines->at[i], i + 1);
    expect_order(job, lines);
    expect_rapids(job, setup, lines);
    expect_pass_comments(job, setup, lines);
    free_lines(lines);
}

/* All programs of the plan, as they were written. */
static void expect_told(const struct tw_job *job, const struct tw_plan *plan, char *const programs[])
{
    for (size_t i = 0; i < plan->setup_count; i++) {
        expect_text(job, &plan->setups[i], programs[i]);
        expect_plan(job, &plan->setups[i], programs[i]);
    }
}

#endif
