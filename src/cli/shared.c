/* shared.c - what several verbs do alike. */
#include "cli/verbs.h"

#include "base/file.h"
#include "base/replace.h"
#include "base/plain.h"
#include "base/units.h"
#include "cli/progress.h"
#include "tangwright/run.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum tw_status verb_plan_job(const struct tw_job *job, struct tw_proven *out, struct tw_findings *findings)
{
    struct progress progress;
    enum tw_status status;

    progress_begin(&progress, "planning");
    status = tw_proven_make(job, out, findings);
    progress_end(&progress);
    return status;
}

enum tw_status verb_prove(const struct tw_job *job, const struct tw_card *cards, size_t count,
                          struct tw_verdict_settings settings, struct tw_verdict *out, struct tw_findings *findings)
{
    struct progress progress;
    enum tw_status status;

    progress_begin(&progress, "running the programs");
    status = tw_verdict_prove(job, cards, count, settings, out, findings);
    progress_end(&progress);
    return status;
}

enum tw_status verb_read_run_job(const struct tw_run_request *request, struct tw_job *out, struct tw_findings *findings)
{
    struct tw_findings said = { 0 };
    enum tw_status status = tw_run_read_job(request, out, &said);

    if (status != TW_OK)
        tw_findings_append(findings, &said);
    tw_findings_free(&said);
    return status;
}

bool verb_is_part_again(const struct tw_gaugings *readings, size_t i)
{
    const struct tw_gauging *reading = &readings->items[i];

    for (size_t k = 0; k < i; k++)
        if (readings->items[k].station == reading->station && strcmp(readings->items[k].part, reading->part) == 0)
            return true;
    return false;
}

bool verb_is_output(const char *path)
{
    return path && (strcmp(path, "-") == 0 || tw_file_descriptor(path) == STDOUT_FILENO);
}

void verb_print(const char *text)
{
    tw_plain_print(text, true, stdout);
}

enum tw_status verb_write_text(const char *path, const char *text, struct tw_findings *findings)
{
    struct tw_new_file file = { .path = path, .data = text, .length = strlen(text) };

    if (!verb_is_output(path))
        return tw_files_replace(&file, 1, findings);
    return puts(text) < 0 ? TW_IO : TW_OK;
}

enum tw_status verb_write_sheet(const char *path, const struct tw_sheet *sheet, struct tw_findings *findings)
{
    char *page = NULL;
    enum tw_status status = tw_sheet_html(sheet, &page, findings);

    if (status == TW_OK)
        status = verb_write_text(path, page, findings);
    free(page);
    return status;
}

enum tw_status verb_read_length(const char *option, const char *text, double most_mm, double *out_mm,
                                struct tw_findings *findings)
{
    struct tw_place at = { .key = option };
    struct tw_measure measure;

    if (!tw_measure_read(text, TW_LENGTH, "mm", &measure, NULL) || !(measure.value > 0.0 && measure.value <= most_mm))
        return tw_fail(findings, TW_BAD_USAGE, at,
                       "%s is no length above 0 and up to %g mm; say for example %s \"%g mm\"", text, most_mm, option,
                       most_mm / 50.0);
    *out_mm = measure.value;
    return TW_OK;
}

enum tw_status verb_show(const struct options *options, enum tw_status status, char *table, char *json,
                         struct tw_findings *findings)
{
    if (status == TW_OK && json)
        status = verb_write_text(options->json, json, findings);
    if (status == TW_OK && !verb_is_output(options->json) && !verb_is_output(options->sheet))
        verb_print(table);
    free(table);
    free(json);
    return status;
}
