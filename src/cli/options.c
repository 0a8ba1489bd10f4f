/* options.c - the command line, read against tables. */
#include "cli/options.h"

#include "base/nearest.h"

#include <stdio.h>
#include <string.h>

/* A row without a value is a switch: its own name is kept. */
static const struct option_row {
    const char *name, *value, *meaning;
    unsigned bit;
    size_t offset;
} rows[] = {
    { "--out", "DIR", "folder for what is written; made where missing", OPTION_OUT, offsetof(struct options, out) },
    { "--json", "FILE", "write the figures to FILE as JSON; - for standard output", OPTION_JSON,
      offsetof(struct options, json) },
    { "--lift", "LENGTH", "how high the programs for the run in the air are raised, such as --lift \"20 mm\"",
      OPTION_LIFT, offsetof(struct options, lift) },
    { "--cell", "LENGTH", "side of the cells in which the part is simulated, such as --cell \"0.05 mm\"", OPTION_CELL,
      offsetof(struct options, cell) },
    { "--strict", NULL, "a program without a head fails, and so does a job with a side missing", OPTION_STRICT,
      offsetof(struct options, strict) },
    { "--survey", "FILE", "measured heights of this blank, instead of those that the job names", OPTION_SURVEY,
      offsetof(struct options, survey) },
    { "--sheet", "FILE", "write the setup sheet (check, compare: their own page) to FILE as one HTML page",
      OPTION_SHEET, offsetof(struct options, sheet) },
    { "--at", "PLACE", "where the knife shall balance: \"12 mm ahead\" or \"5 mm behind\" the taper start, or 0",
      OPTION_AT, offsetof(struct options, at) },
    { "--stations", "N", "blanks that the fixture takes; else as many as the job has parts", OPTION_STATIONS,
      offsetof(struct options, stations) },
    { "--gauge", "LENGTH", "standard uncertainty of the gauge, such as --gauge \"2 um\"", OPTION_GAUGE,
      offsetof(struct options, gauge) },
    { "--tolerance", "LENGTH", "allowed deviation to either side, such as --tolerance \"0.02 mm\"", OPTION_TOLERANCE,
      offsetof(struct options, tolerance) },
    { "--roughed", NULL, "of a run: the parts of its next load are roughed, and not finished yet", OPTION_ROUGHED,
      offsetof(struct options, roughed) },
    { "--finished", NULL, "of a run: parts that are as thick as roughing leaves them are finished nevertheless",
      OPTION_FINISHED, offsetof(struct options, finished) },
    { "--status", NULL, "where the run stands by its record, and what to do next; nothing is planned", OPTION_STATUS,
      offsetof(struct options, status) },
    { "--done", "LOAD", "note in the run's record that this load is ground, such as --done 3", OPTION_DONE,
      offsetof(struct options, done) },
    { "--not-done", "LOAD", "take back that this load is ground, which was noted by mistake; the record keeps both",
      OPTION_NOT_DONE, offsetof(struct options, not_done) },
    { "--dressed", "LOAD", "note in the run's record that the wheel is dressed before this load", OPTION_DRESSED,
      offsetof(struct options, dressed) },
    { "--not-dressed", "LOAD", "take back that the wheel is dressed before this load, which was noted by mistake",
      OPTION_NOT_DRESSED, offsetof(struct options, not_dressed) },
    { "--export", "DIR", "write every table of the run's record to DIR as comma-separated values", OPTION_EXPORT,
      offsetof(struct options, export) },
    { "--port", "N", "port of the page; else any that is free", OPTION_PORT, offsetof(struct options, port) },
    { "--no-browser", NULL, "only print the page's address, and open no browser", OPTION_NO_BROWSER,
      offsetof(struct options, headless) },
    { "--detail", NULL, "show all figures: limits, tempering, and what the temperatures depend on", OPTION_DETAIL,
      offsetof(struct options, detail) },
    { "--plot", NULL, "draw the knife with plain characters, in a file or a pipe as on a terminal", OPTION_PLOT,
      offsetof(struct options, plot) },
};

#define ROW_COUNT (sizeof rows / sizeof *rows)

static const struct option_row *find_row(const char *word, size_t length)
{
    for (size_t i = 0; i < ROW_COUNT; i++)
        if (strlen(rows[i].name) == length && memcmp(rows[i].name, word, length) == 0)
            return &rows[i];
    return NULL;
}

static enum tw_status misuse(struct tw_findings *findings, const struct verb *verb, const char *what, const char *word)
{
    return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 }, "%s%s; see tangwright %s --help", what, word,
                   verb->name);
}

/* Offered is what this verb takes. */
static enum tw_status unknown_option(struct tw_findings *findings, const struct verb *verb, const char *word,
                                     size_t length)
{
    char name[32];
    struct tw_nearest nearest;

    snprintf(name, sizeof name, "%.*s", (int)length, word);
    nearest = tw_nearest_to(name);
    for (size_t i = 0; i < ROW_COUNT; i++)
        if (verb->allowed & rows[i].bit)
            tw_nearest_offer(&nearest, rows[i].name);
    if (!nearest.name)
        return misuse(findings, verb, "unknown option ", word);
    return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 },
                   "unknown option %s; did you mean %s? Or see tangwright %s --help", word, nearest.name, verb->name);
}

/* --name VALUE or --name=VALUE, or a switch; *used is the number of words taken. */
static enum tw_status read_option(const struct verb *verb, int count, char *const words[], struct options *out,
                                  int *used, struct tw_findings *findings)
{
    const char *equals = strchr(words[0], '=');
    size_t length = equals ? (size_t)(equals - words[0]) : strlen(words[0]);
    const struct option_row *row = find_row(words[0], length);
    const char **value;

    if (!row || !(verb->allowed & row->bit))
        return unknown_option(findings, verb, words[0], length);
    value = (const char **)(void *)((char *)out + row->offset);
    if (*value)
        return misuse(findings, verb, "given twice: ", row->name);
    if (!row->value && equals)
        return misuse(findings, verb, "no value may follow ", row->name);
    if (!row->value) {
        *value = row->name;
        return TW_OK;
    }
    if (!equals && count < 2)
        return misuse(findings, verb, "a value must follow ", row->name);
    *value = equals ? equals + 1 : words[1];
    *used = equals ? 1 : 2;
    if (**value == '\0')
        return misuse(findings, verb, "an empty value for ", row->name);
    return TW_OK;
}

static const char *value_of(const struct option_row *row)
{
    return row->value ? row->value : "";
}

static enum tw_status check_complete(const struct verb *verb, const struct options *out, struct tw_findings *findings)
{
    if (out->help)
        return TW_OK;
    if (out->operand_count < verb->operand_least)
        return misuse(findings, verb, "missing: ", verb->operands);
    for (size_t i = 0; i < ROW_COUNT; i++) {
        const char *const *value = (const char *const *)(const void *)((const char *)out + rows[i].offset);

        if ((verb->required & rows[i].bit) && !*value)
            return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 },
                           "missing: %s %s (%s); see tangwright %s --help", rows[i].name, value_of(&rows[i]),
                           rows[i].meaning, verb->name);
    }
    return TW_OK;
}

enum tw_status options_read(const struct verb *verb, int count, char *const words[], struct options *out,
                            struct tw_findings *findings)
{
    bool only_operands = false;

    *out = (struct options){ 0 };
    for (int i = 0; i < count;) {
        int used = 1;

        if (!only_operands && strcmp(words[i], "--") == 0) {
            only_operands = true;
        } else if (!only_operands && (strcmp(words[i], "--help") == 0 || strcmp(words[i], "-h") == 0)) {
            out->help = true;
        } else if (!only_operands && words[i][0] == '-' && words[i][1] != '\0') {
            enum tw_status status = read_option(verb, count - i, words + i, out, &used, findings);

            if (status != TW_OK)
                return status;
        } else if (words[i][0] == '\0') {
            return misuse(findings, verb, "an empty word for ", verb->operands);
        } else if (out->operand_count >= verb->operand_most || out->operand_count >= OPTION_OPERANDS_MOST) {
            return misuse(findings, verb, "one word too many: ", words[i]);
        } else {
            out->operands[out->operand_count++] = words[i];
        }
        i += used;
    }
    return check_complete(verb, out, findings);
}

void options_print_verb(const struct verb *verb)
{
    printf("tangwright %s %s", verb->name, verb->operands);
    for (size_t i = 0; i < ROW_COUNT; i++)
        if (verb->allowed & rows[i].bit)
            printf(verb->required & rows[i].bit ? " %s%s%s" : " [%s%s%s]", rows[i].name, rows[i].value ? " " : "",
                   value_of(&rows[i]));
    printf("\n\n%s\n\n", verb->summary);
    for (size_t i = 0; i < ROW_COUNT; i++)
        if (verb->allowed & rows[i].bit)
            printf("  %-12s %-7s %s\n", rows[i].name, value_of(&rows[i]), rows[i].meaning);
    printf("  %-12s %-7s %s\n", "--help", "", "this text");
}
