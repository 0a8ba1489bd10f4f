/* fixture.c - a fixture for a job: profile, drawings, page, and the bars with their programs. */
#include "cli/verbs.h"

#include "base/file.h"
#include "base/replace.h"
#include "base/text.h"
#include "cli/bar_files.h"
#include "cli/card_set.h"
#include "tangwright/fixture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define OWN_MOST   4
#define BARS_MOST  2
#define FILES_MOST (OWN_MOST + BARS_MOST * BAR_FILES_MOST)

/* Everything is made in memory first, so that a failure leaves the folder as it was. */
struct outputs {
    char *own[OWN_MOST]; /* fixture.cfg, plate.svg, plate.dxf, fixture.html */
    struct bar_files bars[BARS_MOST];
    enum tw_bar_kind kinds[BARS_MOST];
    struct card_set_outdated outdated;
    size_t bar_count;
    char *paths[FILES_MOST];
    struct tw_new_file files[FILES_MOST];
    size_t count;
};

static const char *const own_names[OWN_MOST] = { "fixture.cfg", "plate.svg", "plate.dxf", "fixture.html" };

static void outputs_free(struct outputs *outputs)
{
    for (size_t i = 0; i < OWN_MOST; i++)
        free(outputs->own[i]);
    for (size_t i = 0; i < outputs->bar_count; i++)
        bar_files_free(&outputs->bars[i]);
    card_set_outdated_free(&outputs->outdated);
    for (size_t i = 0; i < outputs->count; i++)
        free(outputs->paths[i]);
}

static char *path_in(const char *folder, const char *below, const char *name)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s%s%s%s%s", folder, below ? "/" : "", below ? below : "", name ? "/" : "", name ? name : "");
    return tw_text_take(&path);
}

/* ---- what is written ---- */

static enum tw_status make_bar(const struct tw_fixture_design *design, enum tw_bar_kind kind, const char *folder,
                               struct outputs *out, struct tw_findings *findings)
{
    char *shown = path_in(folder, tw_bar_name(kind), NULL);
    enum tw_status status =
        shown ? bar_files_make(design, kind, shown, &out->bars[out->bar_count], findings) : tw_no_memory(findings);

    free(shown);
    if (status == TW_OK)
        out->kinds[out->bar_count++] = kind;
    return status;
}

static enum tw_status make_outputs(const struct tw_fixture_design *design, const char *folder, struct outputs *out,
                                   struct tw_findings *findings)
{
    enum tw_status status = tw_fixture_profile(design, &out->own[0], findings);

    if (status == TW_OK)
        status = tw_fixture_svg(design, &out->own[1], findings);
    if (status == TW_OK)
        status = tw_fixture_dxf(design, &out->own[2], findings);
    if (status == TW_OK)
        status = tw_fixture_html(design, &out->own[3], findings);
    if (status == TW_OK)
        status = make_bar(design, TW_BAR_REST_B, folder, out, findings);
    if (status == TW_OK && design->job->mount == TW_MOUNT_TILTED)
        status = make_bar(design, TW_BAR_WEDGE, folder, out, findings);
    return status;
}

static enum tw_status add_file(struct outputs *out, char *path, const char *text, struct tw_findings *findings)
{
    if (!path)
        return tw_no_memory(findings);
    out->paths[out->count] = path;
    out->files[out->count++] = (struct tw_new_file){ path, text, strlen(text), false };
    return TW_OK;
}

static enum tw_status name_files(const char *folder, struct outputs *out, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < OWN_MOST; i++)
        status = add_file(out, path_in(folder, NULL, own_names[i]), out->own[i], findings);
    for (size_t b = 0; b < out->bar_count; b++)
        for (size_t i = 0; status == TW_OK && i < out->bars[b].count; i++)
            status = add_file(out, path_in(folder, tw_bar_name(out->kinds[b]), out->bars[b].names[i]),
                              out->bars[b].texts[i], findings);
    return status;
}

/* A bar's program of an earlier fixture, which a machine that wants another ending leaves beside the new one. */
static enum tw_status find_outdated(const char *folder, struct outputs *out, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t b = 0; status == TW_OK && b < out->bar_count; b++) {
        const struct bar_files *bar = &out->bars[b];
        char *below = path_in(folder, tw_bar_name(out->kinds[b]), NULL);

        status = below ? card_set_find_outdated(below, bar->digest, bar->names, bar->count, &out->outdated, findings)
                       : tw_no_memory(findings);
        free(below);
    }
    return status;
}

static enum tw_status make_folders(const char *folder, const struct outputs *outputs, struct tw_findings *findings)
{
    enum tw_status status = tw_folder_make(folder, findings);

    for (size_t b = 0; status == TW_OK && b < outputs->bar_count; b++) {
        char *below = path_in(folder, tw_bar_name(outputs->kinds[b]), NULL);

        status = below ? tw_folder_make(below, findings) : tw_no_memory(findings);
        free(below);
    }
    return status;
}

static enum tw_status write_set(const char *folder, const struct outputs *outputs, struct tw_findings *findings)
{
    char *mark = path_in(folder, NULL, card_set_mark_name());
    struct tw_file_set set = { .files = outputs->files,
                               .count = outputs->count,
                               .outdated = outputs->outdated.paths,
                               .outdated_count = outputs->outdated.count,
                               .mark = mark,
                               .mark_text = card_set_mark_text() };
    enum tw_status status = mark ? make_folders(folder, outputs, findings) : tw_no_memory(findings);

    if (status == TW_OK)
        status = tw_file_set_replace(&set, findings);
    free(mark);
    return status;
}

/* ---- the verb ---- */

static enum tw_status show(const struct tw_fixture_design *design, const char *folder, struct tw_findings *findings)
{
    char *table = NULL;
    enum tw_status status = tw_fixture_table(design, &table, findings);

    if (status != TW_OK)
        return status;
    verb_print(
        "what the job lists under keep_outs is not looked at: this fixture takes the place of those pads, pins and "
        "clamps\n\n");
    verb_print(table);
    verb_print("\nwritten to ");
    verb_print(folder);
    verb_print(": fixture.cfg, plate.svg, plate.dxf, fixture.html, rest-b/");
    if (design->job->mount == TW_MOUNT_TILTED)
        verb_print(", wedge/");
    verb_print(
        "\nname fixture.cfg in the job, by its path from the job's folder: fixture: { profile = \"...\"; }; and take\n"
        "keep_outs, stations, clearance, clamp_force and pull out of the job's own fixture group: they would override "
        "the\nprofile\n");
    free(table);
    return TW_OK;
}

/* The number of stations; 0 and a fault where the word is no such number. */
static int read_stations(const struct options *options, const struct tw_job *job, struct tw_findings *findings)
{
    const char *word = options->stations;

    if (!word)
        return job->parts;
    if (word[0] >= '1' && word[0] <= '0' + TW_FIXTURE_STATIONS_MOST && word[1] == '\0')
        return word[0] - '0';
    tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = "--stations" },
            "%s is no number of stations; say 1 to %d, such as --stations 4", word, TW_FIXTURE_STATIONS_MOST);
    return 0;
}

/* Holes that the machine does not reach where the plate lies. */
static enum tw_status remark_beyond(const struct tw_fixture_design *design, struct tw_findings *findings)
{
    struct tw_place at = { .file = design->job->path, .key = "fixture.stations" };
    char *beyond;
    enum tw_status status = tw_fixture_beyond(design, &beyond, findings);

    if (beyond)
        tw_remark(
            findings, at,
            "%s; drill these with the plate moved, set up anew by its corner or by two holes that are there already",
            beyond);
    free(beyond);
    return status;
}

static enum tw_status design_into(const struct options *options, const struct tw_job *job, struct tw_findings *findings)
{
    struct outputs outputs = { 0 };
    struct tw_fixture_design design;
    int stations = read_stations(options, job, findings);
    enum tw_status status = stations ? tw_fixture_design(job, stations, &design, findings) : TW_BAD_USAGE;

    if (status != TW_OK)
        return status;
    status = make_outputs(&design, options->out, &outputs, findings);
    if (status == TW_OK)
        status = name_files(options->out, &outputs, findings);
    if (status == TW_OK)
        status = find_outdated(options->out, &outputs, findings);
    if (status == TW_OK)
        status = write_set(options->out, &outputs, findings);
    if (status == TW_OK)
        status = show(&design, options->out, findings);
    if (status == TW_OK)
        status = remark_beyond(&design, findings);
    outputs_free(&outputs);
    tw_fixture_design_free(&design);
    return status;
}

/* The pads and pins that the fixture replaces may well be another knife's, and stand where this one lies; and the old fixture may
 * have fewer stations than the job has parts. Only where the job reads as it is do they stay in it, for its digest. */
static enum tw_status read_job(const struct options *options, struct tw_job *job, struct tw_findings *findings)
{
    static const struct tw_instead instead[] = { { "fixture.keep_outs", "( )" }, { "parts", "1" } };
    size_t most = options->stations ? 2 : 1; /* without a number of stations that of the parts is asked for */
    struct tw_findings own = { 0 };
    enum tw_status status = tw_job_read(options->operands[0], job, &own);

    for (size_t count = 1; status == TW_BAD_INPUT && count <= most; count++) {
        tw_findings_free(&own);
        status = tw_job_read_with(options->operands[0], instead, count, job, &own);
    }
    tw_findings_append(findings, &own);
    return status;
}

enum tw_status verb_fixture(const struct options *options, struct tw_findings *findings)
{
    struct tw_job job;
    enum tw_status status = read_job(options, &job, findings);

    if (status != TW_OK)
        return status;
    status = design_into(options, &job, findings);
    tw_job_free(&job);
    return status;
}
