/* outputs.c - may the files that a command line names be written? Asked before anything is worked out. */
#include "cli/verbs.h"

#include "base/file.h"
#include "base/replace.h"

#include <string.h>

static enum tw_own json_kind(const struct verb *verb, const struct options *options)
{
    static const struct {
        const char *verb;
        enum tw_own kind;
    } rows[] = { { "gauge", TW_OWN_GAUGE },     { "compare", TW_OWN_COMPARISON },
                 { "check", TW_OWN_CHECK },     { "preview", TW_OWN_SUMMARY },
                 { "dry-run", TW_OWN_DRY_RUN }, { "calibrate", TW_OWN_CALIBRATION },
                 { "run", TW_OWN_RUN },         { "straighten", TW_OWN_STRAIGHTEN },
                 { "balance", TW_OWN_BALANCE } };

    if (options->status || options->done || options->not_done || options->dressed || options->not_dressed)
        return TW_OWN_RUN_STATUS;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (strcmp(rows[i].verb, verb->name) == 0)
            return rows[i].kind;
    return TW_OWN_NONE;
}

/* What the command reads is lost when it is written over, however it looks. */
static enum tw_status check_inputs(const char *option, const char *path, const struct options *options,
                                   struct tw_findings *findings)
{
    bool read = options->survey && tw_file_same(path, options->survey);

    for (size_t i = 0; i < options->operand_count; i++)
        read |= tw_file_same(path, options->operands[i]);
    if (!read)
        return TW_OK;
    return tw_fail(
        findings, TW_BAD_USAGE, (struct tw_place){ .key = option },
        "%s is read by this very command and would be lost; give %s a file of its own, or - for standard output", path,
        option);
}

static enum tw_status check_output(const char *option, const char *path, enum tw_own kind,
                                   const struct options *options, struct tw_findings *findings)
{
    enum tw_status status;

    if (!path || verb_is_output(path))
        return TW_OK;
    status = check_inputs(option, path, options, findings);
    return status == TW_OK ? tw_file_check_free(path, kind, findings) : status;
}

static enum tw_status check_twice(const struct options *options, struct tw_findings *findings)
{
    const char *json = options->json, *sheet = options->sheet;

    if (!json || !sheet || (strcmp(json, sheet) != 0 && !(verb_is_output(json) && verb_is_output(sheet))))
        return TW_OK;
    return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = "--sheet" },
                   "%s is already where --json goes; give the sheet a file of its own", sheet);
}

enum tw_status verb_check_outputs(const struct verb *verb, const struct options *options, struct tw_findings *findings)
{
    enum tw_status status = check_output("--json", options->json, json_kind(verb, options), options, findings);

    if (status == TW_OK)
        status = check_output("--sheet", options->sheet, TW_OWN_SHEET, options, findings);
    return status == TW_OK ? check_twice(options, findings) : status;
}
