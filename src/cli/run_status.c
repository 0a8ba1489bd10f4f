/* run_status.c - see run_status.h. */
#include "cli/run_status.h"

#include "base/file.h"
#include "base/numbers.h"
#include "base/replace.h"
#include "base/units.h"
#include "cli/run_standing.h"
#include "cli/verbs.h"
#include "tangwright/correct.h"
#include "tangwright/roughed.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- as words ---- */

static void print_wrong_programs(struct tw_text *text, const struct run_standing *standing, int load)
{
    for (size_t i = 0; i < standing->wrong_count; i++)
        if (standing->wrong[i].program->load == load)
            tw_text_print(text, "    %s/%s %s: do not run it, plan again\n", standing->folder,
                          standing->wrong[i].program->name, standing->wrong[i].what);
}

/* What its parts were gauged to be off by between roughing and finishing. */
static void print_roughed(struct tw_text *text, const struct run_standing *standing, int load)
{
    const struct tw_record_state *state = standing->state;
    const char *before = standing->one_face ? "    roughed parts gauged: the face is ground"
                                            : "    roughed parts gauged: each face is ground";

    for (size_t i = 0; i < state->roughed_count; i++) {
        double lower_mm = (standing->one_face ? 1.0 : 0.5) * state->roughed[i].value_mm;

        if (state->roughed[i].load != load || lower_mm == 0.0)
            continue;
        tw_text_print(text, "%s %s %s at station %d", before, tw_fine_text(fabs(lower_mm), standing->inch).text,
                      lower_mm > 0.0 ? "lower" : "higher", state->roughed[i].station);
        before = ",";
    }
    if (*before == ',')
        tw_text_print(text, "\n");
}

/* Why parts of a load that lies half ground are not to be finished. */
static void print_stops(struct tw_text *text, const struct run_standing *standing, const struct standing_load *at)
{
    const struct tw_record_state *state = standing->state;

    for (size_t i = 0; at->roughed && i < state->roughed_count; i++)
        if (state->roughed[i].load == at->load->load && state->roughed[i].stop)
            tw_text_print(text, "    roughed, station %d: %s\n", state->roughed[i].station,
                          tw_roughed_stop_words(tw_roughed_stop_named(state->roughed[i].stop)));
}

static void print_load(struct tw_text *text, const struct run_standing *standing, const struct standing_load *at)
{
    tw_text_print(text, "  load %-3d %zu blank%s  %s", at->load->load, at->blanks, at->blanks == 1 ? " " : "s",
                  tw_load_state_name(at->load->state));
    if (at->load->state == TW_LOAD_GROUND && at->gauged > 0)
        tw_text_print(text, ", %zu of its blanks gauged", at->gauged);
    if (at->dressed)
        tw_text_print(text, ", the wheel dressed before it");
    if (at->load->state == TW_LOAD_PLANNED && at->taken_back)
        tw_text_print(text, ", noted as ground and taken back at %s", at->taken_back);
    if (at->for_other_wheel)
        tw_text_print(text, ", for another wheel than the job names now");
    else if (at->outdated)
        tw_text_print(text, ", without what was gauged since");
    tw_text_print(text, "\n");
    print_roughed(text, standing, at->load->load);
    print_stops(text, standing, at);
    print_wrong_programs(text, standing, at->load->load);
}

static void print_blanks(struct tw_text *text, const struct run_standing *standing)
{
    const struct tw_record_state *state = standing->state;

    for (size_t i = 0; i < state->blank_count; i++)
        if (state->blanks[i].aside)
            tw_text_print(text, "  set aside: blank %s: %s\n", state->blanks[i].number, state->blanks[i].aside);
    for (size_t i = 0; i < standing->unplanned_count; i++)
        tw_text_print(text, "  not planned yet: blank %s\n", standing->unplanned[i]->number);
}

struct volume {
    char text[32];
};

static struct volume volume_of(const struct run_standing *standing, double mm3)
{
    struct volume out;

    snprintf(out.text, sizeof out.text, standing->inch ? "%.3f in3" : "%.0f mm3",
             standing->inch ? mm3 / TW_MM3_PER_INCH3 : mm3);
    return out;
}

static void print_wheel(struct tw_text *text, const struct run_standing *standing)
{
    if (standing->other_wheel)
        tw_text_print(text, "  %s\n", standing->other_wheel);
    tw_text_print(text, "  wheel: has taken off %s in this run, %s since it was dressed",
                  volume_of(standing, standing->wheel.removed_mm3).text,
                  volume_of(standing, standing->wheel.since_mm3).text);
    if (standing->dress_after_mm3 > 0.0)
        tw_text_print(text, " (dress after %s)", volume_of(standing, standing->dress_after_mm3).text);
    if (standing->wheel.lost_mm > 0.0)
        tw_text_print(text, ", and has likely lost %s of its height to the steel",
                      tw_fine_text(standing->wheel.lost_mm, standing->inch).text);
    if (standing->dress_next > 0)
        tw_text_print(text, "; dress it before load %d", standing->dress_next);
    tw_text_print(text, "\n");
}

/* Below zero: parts are planned so much thinner. */
static void print_correction(struct tw_text *text, const char **before, double thinner_mm, bool inch, const char *where)
{
    if (thinner_mm == 0.0)
        return;
    tw_text_print(text, "%s%s %s", *before, tw_fine_signed_text(-thinner_mm, inch).text, where);
    *before = ", ";
}

static void print_corrections(struct tw_text *text, const struct tw_run_totals *totals, bool inch)
{
    const char *before = " ";
    char where[32];

    tw_text_print(text, "  corrections of the thickness:");
    print_correction(text, &before, totals->offset_mm, inch, "at the taper start");
    print_correction(text, &before, totals->taper_mm, inch, "more at the butt");
    print_correction(text, &before, totals->roughing_mm, inch, "by what roughing left in loads before");
    for (int i = 0; i < TW_RUN_STATIONS_MOST; i++) {
        snprintf(where, sizeof where, "at station %d", i + 1);
        print_correction(text, &before, totals->station_mm[i], inch, where);
    }
    tw_text_print(text, "%s\n", *before == ' ' ? " none" : "");
}

/* What stops it, each cure once, and how it is gone on with. */
static void print_not_to_be_finished(struct tw_text *text, const struct run_standing *standing)
{
    const struct tw_record_state *state = standing->state;

    tw_text_print(text, "  do not finish load %d:\n", standing->grind);
    for (int stop = TW_ROUGHED_GOES_ON + 1; stop < TW_ROUGHED_STOP_COUNT; stop++)
        for (size_t i = 0; i < state->roughed_count; i++)
            if (state->roughed[i].load == standing->grind &&
                tw_roughed_stop_named(state->roughed[i].stop) == (enum tw_roughed_stop)stop) {
                tw_text_print(text, "  %s\n", tw_roughed_stop_cure((enum tw_roughed_stop)stop));
                break;
            }
    tw_text_print(text, "  measured again: tangwright gauge %s READINGS.csv --roughed\n", standing->request->path);
    tw_text_print(text, "  or given up: tangwright run %s --done %d\n", standing->request->path, standing->grind);
}

/* What stops it, and what clears it. */
static void print_far_off(struct tw_text *text, const struct run_standing *standing)
{
    const char *run = standing->request->path;

    if (standing->unexplained)
        tw_text_print(text,
                      "  grind nothing yet: most readings of load %d miss the tolerance, and no correction explains "
                      "it. Look at the places measured, gauge, packing and stops\n",
                      standing->far_off);
    else
        tw_text_print(text,
                      "  grind nothing yet: load %d was gauged more than %s a face off, and no machine is so far off. "
                      "Look at zeros, stops, packing and gauge\n",
                      standing->far_off, tw_fine_text(TW_CORRECT_MOST_MM, standing->inch).text);
    tw_text_print(text, "  where a reading was wrong, measure load %d again, then: tangwright gauge %s READINGS.csv\n",
                  standing->far_off, run);
    if (standing->grind > 0)
        tw_text_print(
            text,
            "  where the cause is found and put right, go on, and measure load %d before any other is ground: its "
            "readings clear this\n",
            standing->grind);
}

/* Parts that are too thick, with what was found in their programs: roughing takes it off, and no finishing layer may. */
static void print_again(struct tw_text *text, const struct run_standing *standing)
{
    const struct tw_record_state *state = standing->state;
    const char *before = "";

    tw_text_print(text, "  %s by load %d's programs: only what was left is cut (",
                  tw_roughed_again_words(standing->one_face), standing->grind);
    for (size_t i = 0; i < state->roughed_count; i++)
        if (state->roughed[i].load == standing->grind && state->roughed[i].left_mm > 0.0) {
            tw_text_print(text, "%sstation %d %s", before, state->roughed[i].station,
                          tw_fine_text(state->roughed[i].left_mm, standing->inch).text);
            before = ", ";
        }
    tw_text_print(text, ")\n  measure its parts, then: tangwright gauge %s READINGS.csv --roughed\n",
                  standing->request->path);
}

static void print_grind(struct tw_text *text, const struct run_standing *standing)
{
    const char *run = standing->request->path;

    if (standing->grind == standing->dress_next)
        tw_text_print(text, "  dress the wheel\n");
    if (standing->next->roughed)
        tw_text_print(text, "  leave the wheel as it is: no dressing, no touching off\n");
    if (standing->next->again)
        print_again(text, standing);
    tw_text_print(text, "  %s%s load %d as %s/load-%02d/load.html says, then: tangwright run %s --done %d\n",
                  standing->next->again ? "when no part is too thick any more, " : "",
                  standing->next->roughed ? "finish" : "grind", standing->grind, standing->folder, standing->grind, run,
                  standing->grind);
    if (standing->next->roughed)
        tw_text_print(text,
                      "  after a night, or with another wheel, first: warm up, touch off, and tangwright run %s "
                      "--dressed %d, for what "
                      "was measured tells nothing of it then\n",
                      run, standing->grind);
}

static void print_next(struct tw_text *text, const struct run_standing *standing)
{
    const char *run = standing->request->path;
    bool stopped = standing->next && standing->next->stopped;
    bool again = standing->next && standing->next->other_wheel;

    tw_text_print(text, "next\n");
    if (standing->far_off > 0)
        print_far_off(text, standing);
    if (stopped)
        print_not_to_be_finished(text, standing);
    if (standing->plan && (!stopped || again))
        tw_text_print(text, "  plan again: tangwright run %s --out %s\n", run, standing->folder);
    if (standing->grind > 0 && !stopped)
        print_grind(text, standing);
    if (standing->measure > 0)
        tw_text_print(text, "  measure the blanks of load %d, then: tangwright gauge %s READINGS.csv\n",
                      standing->measure, run);
    if (!standing->plan && standing->grind == 0 && standing->measure == 0)
        tw_text_print(text, "  nothing: every load is ground and gauged\n");
}

static char *words_of(const struct run_standing *standing)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "%s: %zu blanks, %zu loads, last planned into %s\n", standing->state->name,
                  standing->request->blank_count, standing->load_count, standing->folder);
    for (size_t i = 0; i < standing->load_count; i++)
        print_load(&text, standing, &standing->loads[i]);
    print_blanks(&text, standing);
    print_wheel(&text, standing);
    print_corrections(&text, &standing->totals, standing->inch);
    print_next(&text, standing);
    return tw_text_take(&text);
}

/* ---- the whole ---- */

static char *words_of_nothing(const struct tw_run_request *request)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "nothing is planned yet; next: tangwright run %s --out DIR\n", request->path);
    return tw_text_take(&text);
}

static enum tw_status show(const struct options *options, const struct tw_run_request *request,
                           const struct run_standing *standing, struct tw_findings *findings)
{
    char *words = standing ? words_of(standing) : words_of_nothing(request), *json = NULL;
    enum tw_status status = words ? TW_OK : tw_no_memory(findings);

    if (status == TW_OK && options->json)
        status = run_standing_json(request, standing, &json, findings);
    return verb_show(options, status, words, json, findings);
}

enum tw_status run_status_show(const struct options *options, const struct tw_run_request *request,
                               struct run_record *record, struct tw_findings *findings)
{
    struct run_standing standing;
    enum tw_status status;

    if (!record->record || !record->state.folder)
        return show(options, request, NULL, findings);
    status = run_standing_make(request, record, &standing, findings);
    if (status != TW_OK)
        return status;
    status = show(options, request, &standing, findings);
    if (status == TW_OK && standing.wrong_count > 0)
        status = tw_fail(findings, TW_DO_NOT_CUT, (struct tw_place){ .file = request->path },
                         "%zu programs are not as planned", standing.wrong_count);
    if (status != TW_NO_MEMORY && standing.far_off > 0)
        status = verb_fail_far_off(request, standing.far_off, standing.unexplained, findings);
    if (status != TW_NO_MEMORY && standing.next && standing.next->stopped)
        status = tw_fail(findings, TW_DO_NOT_CUT, (struct tw_place){ .file = request->path },
                         "load %d is not to be finished as it is", standing.grind);
    run_standing_free(&standing);
    return status;
}

/* ---- handing it out ---- */

/* Tables have no mark of ours at their beginning; one with the same columns, or the first of them, as an older tangwright had it, is
 * taken for an older copy of it. */
static bool is_older_table(const char *path, const char *table)
{
    struct tw_text text = { 0 };
    struct tw_findings unasked = { 0 };
    bool read = tw_file_read(path, &text, &unasked) == TW_OK && text.length > 0;
    size_t heading = read ? strcspn(text.data, "\r\n") : 0;
    bool same = heading > 0 && strncmp(text.data, table, heading) == 0 && strchr(",\r\n", table[heading]) != NULL;

    tw_text_free(&text);
    tw_findings_free(&unasked);
    return same;
}

static void tell_tables(const char *folder, const struct tw_record_tables *tables)
{
    verb_print("written to ");
    verb_print(folder);
    for (size_t i = 0; i < tables->count; i++) {
        verb_print(i == 0 ? ": " : ", ");
        verb_print(tables->names[i]);
    }
    verb_print("\n");
}

enum tw_status run_status_export(const struct options *options, const struct run_record *record,
                                 struct tw_findings *findings)
{
    const char *folder = options->export;
    struct tw_new_file files[TW_RECORD_TABLES_MOST];
    char *paths[TW_RECORD_TABLES_MOST] = { 0 };
    struct tw_record_tables tables;
    enum tw_status status = tw_record_export(record->record, &tables, findings);

    for (size_t i = 0; status == TW_OK && i < tables.count; i++) {
        struct tw_text path = { 0 };

        tw_text_print(&path, "%s/%s", folder, tables.names[i]);
        paths[i] = tw_text_take(&path);
        if (!paths[i])
            status = tw_no_memory(findings);
        else
            files[i] = (struct tw_new_file){ paths[i], tables.texts[i], strlen(tables.texts[i]),
                                             is_older_table(paths[i], tables.texts[i]) };
    }
    if (status == TW_OK)
        status = tw_folder_make(folder, findings);
    if (status == TW_OK)
        status = tw_files_replace(files, tables.count, findings);
    if (status == TW_OK && !verb_is_output(options->json))
        tell_tables(folder, &tables);
    for (size_t i = 0; i < TW_RECORD_TABLES_MOST; i++)
        free(paths[i]);
    tw_record_tables_free(&tables);
    return status;
}
