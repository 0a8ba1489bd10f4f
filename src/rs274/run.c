/* run.c - from text to lines, and the program around them: NISTIR 6556, sections 3.1 and 3.3. */
#include "rs274/parts.h"

#include <string.h>

struct run {
    const char *at, *end;
    int line;
    bool percent; /* the text began with a percent line */
    bool closed;  /* and the second one was met */
    const struct tw_rs274_setup *setup;
    tw_rs274_sink sink;
    void *context;
    struct rs274_state state;
    struct rs274_faults faults;
    struct rs274_line words;
    struct rs274_events events;
};

struct line_text {
    const char *start;
    size_t length;
};

/* The next line without its end, which is CR, LF, or CR and LF. False at the end of the text. */
static bool next_line(struct run *run, struct line_text *out)
{
    const char *c = run->at;

    if (c == run->end)
        return false;
    while (c < run->end && *c != '\n' && *c != '\r')
        c++;
    out->start = run->at;
    out->length = (size_t)(c - run->at);
    if (c < run->end && *c++ == '\r' && c < run->end && *c == '\n')
        c++;
    run->at = c;
    run->line++;
    return true;
}

static void trim(struct line_text *text)
{
    while (text->length > 0 && rs274_is_blank(text->start[text->length - 1]))
        text->length--;
    while (text->length > 0 && rs274_is_blank(text->start[0])) {
        text->start++;
        text->length--;
    }
}

static bool next_line_with_text(struct run *run, struct line_text *out, size_t *whole_length)
{
    while (next_line(run, out)) {
        *whole_length = out->length;
        trim(out);
        if (out->length > 0)
            return true;
    }
    return false;
}

static bool is_percent(const struct line_text *text)
{
    return text->length == 1 && text->start[0] == '%';
}

static enum tw_status hand_over(struct run *run)
{
    for (int i = 0; run->sink && i < run->events.count; i++) {
        enum tw_status status = run->sink(&run->events.items[i], run->context);

        if (status != TW_OK)
            return status;
    }
    return TW_OK;
}

static enum tw_status end_by_percent(struct run *run)
{
    struct tw_rs274_event *event = &run->events.items[0];

    run->state.ended = run->closed = true;
    memset(event, 0, sizeof *event);
    event->kind = TW_RS274_END;
    event->line = run->line;
    event->block_number = RS274_NOT_THERE;
    event->modes = run->state.modes;
    for (int i = 0; i < 3; i++) {
        event->start_mm[i] = event->end_mm[i] = run->state.position_mm[i];
        event->start_machine_mm[i] = event->end_machine_mm[i] = run->state.machine_mm[i];
    }
    run->events.count = 1;
    return hand_over(run);
}

/* Takes the / off a line that the operator's switch governs. *skip: leave the whole line out. */
static bool take_block_delete(struct run *run, struct line_text *text, bool *skip)
{
    *skip = false;
    if (text->start[0] != '/')
        return true;
    if (run->setup->block_delete == TW_RS274_DELETE_REFUSED)
        return rs274_fault(
            &run->faults, run->line, TW_RS274_BLOCK_DELETE_UNSET,
            "the line begins with /, so whether it is run depends on a switch of the machine; say how that "
            "switch stands, or take the / away");
    *skip = run->setup->block_delete == TW_RS274_DELETE_ON;
    text->start++;
    text->length--;
    return true;
}

/* Turns the dwell of controllers that differ from the report into the report's P in seconds. */
static bool take_dwell_word(struct run *run)
{
    struct rs274_line *words = &run->words;

    if (words->g[RS274_G_NON_MODAL] != 40 || run->setup->dwell_word == TW_RS274_P_SECONDS)
        return true;
    if (run->setup->dwell_word == TW_RS274_P_MILLISECONDS) {
        if (rs274_has(words, 'P')) /* else the next check says what is missing */
            words->value['P' - 'A'] /= 1000.0;
        return true;
    }
    if (!rs274_has(words, 'X') || rs274_has(words, 'P'))
        return rs274_fault(&run->faults, run->line, TW_RS274_MISSING_WORD,
                           "G4 needs X, the seconds to wait, and no P on this controller");
    if (rs274_value(words, 'X') < 0.0)
        return rs274_fault(&run->faults, run->line, TW_RS274_NEGATIVE_VALUE, "G4 X%g: no wait is shorter than 0 s",
                           rs274_value(words, 'X'));
    words->value['P' - 'A'] = rs274_value(words, 'X');
    words->letters = (words->letters & ~rs274_bit('X')) | rs274_bit('P');
    return true;
}

/* Reads and checks one line into run->words. */
static bool understand(struct run *run, struct line_text text, size_t whole_length, bool *skip)
{
    if (whole_length > RS274_LINE_BYTES)
        return rs274_fault(&run->faults, run->line, TW_RS274_LINE_TOO_LONG,
                           "the line has %zu characters; %d is the most", whole_length, RS274_LINE_BYTES);
    if (is_percent(&text))
        return rs274_fault(&run->faults, run->line, TW_RS274_STRAY_PERCENT,
                           "a percent line ends a program that began with one, and this one did not");
    if (!take_block_delete(run, &text, skip))
        return false;
    if (*skip)
        return true;
    return rs274_read_line(text.start, text.length, run->line, &run->words, &run->faults) && take_dwell_word(run) &&
           rs274_check_line(&run->words, &run->faults);
}

/* Carries run->words out on a copy, so that a refused line leaves everything as it was. */
static enum tw_status carry_out(struct run *run)
{
    struct rs274_state after = run->state;

    if (!rs274_execute(&run->words, run->setup, &after, &run->events, &run->faults))
        return TW_BAD_INPUT;
    run->state = after;
    return hand_over(run);
}

/* After a fault: what else is wrong with the text, as far as single lines tell. */
static void read_on(struct run *run)
{
    struct line_text text;
    size_t whole_length;
    bool skip;

    while (run->faults.count < run->setup->most_faults && next_line_with_text(run, &text, &whole_length)) {
        if (run->percent && is_percent(&text))
            return;
        if (understand(run, text, whole_length, &skip) && !skip &&
            (run->words.m[RS274_M_STOP] == 2 || run->words.m[RS274_M_STOP] == 30))
            return;
    }
}

static enum tw_status run_lines(struct run *run)
{
    enum tw_status status = TW_OK;
    struct line_text text;
    size_t whole_length;
    bool skip, first = true;

    while (!run->state.ended && next_line_with_text(run, &text, &whole_length)) {
        if (is_percent(&text) && (first || run->percent)) {
            if (!first)
                return end_by_percent(run);
            run->percent = true;
        } else {
            status = understand(run, text, whole_length, &skip) ? TW_OK : TW_BAD_INPUT;
            if (status == TW_OK && !skip)
                status = carry_out(run);
            if (status != TW_OK)
                return status;
        }
        first = false;
    }
    return TW_OK;
}

/* A text that opens with a percent line needs the second one also where M2 ended the run before it. */
static bool has_closing_percent(struct run *run)
{
    struct line_text text;
    size_t whole_length;

    while (next_line_with_text(run, &text, &whole_length))
        if (is_percent(&text))
            return true;
    return false;
}

static enum tw_status check_end(struct run *run)
{
    if (run->setup->fragment)
        return TW_OK;
    if (run->percent && !run->closed && !has_closing_percent(run))
        rs274_fault(&run->faults, run->line, TW_RS274_PERCENT_NOT_CLOSED,
                    "the text begins with a percent line and ends without a second one; is the end of it lost?");
    else if (!run->state.ended)
        rs274_fault(&run->faults, run->line, TW_RS274_NO_END,
                    "the text stops without M2 or M30; is the end of it lost?");
    return run->faults.count > 0 ? TW_BAD_INPUT : TW_OK;
}

static void start(struct run *run)
{
    const struct tw_rs274_setup *setup = run->setup;
    struct rs274_state *state = &run->state;

    state->modes.work_system = setup->work_system ? setup->work_system : 1;
    state->modes.inch = setup->inch;
    state->modes.overrides = true;
    memcpy(state->origins_mm, setup->origins_mm, sizeof state->origins_mm);
    for (int i = 0; i < 3; i++) {
        state->machine_mm[i] = setup->start_mm[i];
        state->position_mm[i] = setup->start_mm[i] - setup->origins_mm[state->modes.work_system - 1][i];
    }
}

static void tell_result(const struct run *run, struct tw_rs274_result *result)
{
    if (!result)
        return;
    result->error = run->faults.first;
    result->error_line = run->faults.first_line;
    result->line_count = run->line;
    result->ended = run->state.ended;
    result->modes = run->state.modes;
    memcpy(result->position_mm, run->state.position_mm, sizeof result->position_mm);
    memcpy(result->machine_mm, run->state.machine_mm, sizeof result->machine_mm);
    memcpy(result->origins_mm, run->state.origins_mm, sizeof result->origins_mm);
}

enum tw_status tw_rs274_run(const char *text, size_t length, const struct tw_rs274_setup *setup, tw_rs274_sink sink,
                            void *context, struct tw_rs274_result *result, struct tw_findings *findings)
{
    struct run run = { .at = text, .setup = setup, .sink = sink, .context = context };
    enum tw_status status;

    run.end = length > 0 ? text + length : text;
    if (length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0) /* a byte order mark, as text editors put one */
        run.at += 3;
    run.faults.name = setup->name ? setup->name : "program";
    run.faults.findings = findings;
    if (setup->work_system < 0 || setup->work_system > TW_RS274_SYSTEMS)
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .file = run.faults.name },
                       "the work system at the start is %d; it must be 1 (G54) to 9 (G59.3)", setup->work_system);
    start(&run);
    status = run_lines(&run);
    if (status == TW_OK)
        status = check_end(&run);
    else if (run.faults.count > 0)
        read_on(&run);
    tell_result(&run, result);
    return status;
}
