/* load.c - one load of a run: its jobs, planned and proved. */
#include "tangwright/run.h"

#include "base/text.h"
#include "run/changes.h"
#include "run/join.h"
#include "tangwright/program.h"

#include <stdlib.h>
#include <string.h>

void tw_load_free(struct tw_load_plan *plan)
{
    for (size_t i = 0; i < plan->count; i++) {
        tw_proven_free(&plan->parts[i].proven);
        tw_job_free(&plan->parts[i].job);
    }
    tw_run_joined_free(&plan->joined);
    *plan = (struct tw_load_plan){ 0 };
}

/* Which places part `part` of a load has. */
static void places_of(const struct tw_run_load *load, size_t part, size_t *first, size_t *count)
{
    *first = load->apart ? part : 0;
    *count = load->apart ? 1 : load->count;
}

static enum tw_status make_part(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                                size_t part, struct tw_load_part *out, struct tw_findings *findings)
{
    struct tw_run_changes changes;
    enum tw_status status;

    *out = (struct tw_load_part){ 0 };
    places_of(&layout->loads[load], part, &out->first, &out->count);
    status = tw_run_changes_for_part(request, layout, load, out->first, out->count, &changes, findings);
    if (status == TW_OK)
        status = tw_job_read_with(request->job_path, changes.items, changes.count, &out->job, findings);
    tw_run_changes_free(&changes);
    if (status != TW_OK)
        return status;
    status = tw_proven_make(&out->job, &out->proven, findings);
    if (status != TW_OK)
        tw_job_free(&out->job);
    return status;
}

enum tw_status tw_load_make(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                            struct tw_load_plan *out, struct tw_findings *findings)
{
    size_t parts = layout->loads[load].apart ? layout->loads[load].count : 1;
    enum tw_status status = TW_OK;

    *out = (struct tw_load_plan){ 0 };
    while (status == TW_OK && out->count < parts) {
        status = make_part(request, layout, load, out->count, &out->parts[out->count], findings);
        if (status == TW_OK)
            out->count++;
    }
    if (status == TW_OK && layout->loads[load].apart && parts > 1)
        status = tw_run_join(request, layout, load, out, findings);
    if (status != TW_OK)
        tw_load_free(out);
    return status == TW_BAD_INPUT ? TW_NO_PLAN : status; /* the job is sound; with these blanks it is not */
}

/* ---- a load like another ---- */

static bool are_alike(const struct tw_run_changes *one, const struct tw_run_changes *other)
{
    bool alike = one->count == other->count;

    for (size_t i = 0; alike && i < one->count; i++) {
        const struct tw_instead *a = &one->items[i], *b = &other->items[i];

        alike = strcmp(a->key, b->key) == 0 && (strcmp(a->key, "name") == 0 || strcmp(a->value, b->value) == 0);
    }
    return alike;
}

static enum tw_status compare_part(const struct tw_run_request *request, const struct tw_run_layout *layout,
                                   size_t older, size_t load, const struct tw_load_part *part, bool *alike,
                                   struct tw_findings *findings)
{
    struct tw_run_changes was = { 0 }, is = { 0 };
    enum tw_status status = tw_run_changes_for_part(request, layout, older, part->first, part->count, &was, findings);

    if (status == TW_OK)
        status = tw_run_changes_for_part(request, layout, load, part->first, part->count, &is, findings);
    *alike = status == TW_OK && !part->job.straight && are_alike(&was, &is);
    tw_run_changes_free(&was);
    tw_run_changes_free(&is);
    return status;
}

static const char *skip_comments(const char *at)
{
    while (*at == '(' || *at == ';')
        at += strcspn(at, "\n") + (at[strcspn(at, "\n")] == '\n');
    return at;
}

/* Line by line, comments aside. */
static bool moves_alike(const char *one, const char *other)
{
    for (;;) {
        size_t length;

        one = skip_comments(one);
        other = skip_comments(other);
        length = strcspn(one, "\n");
        if (length != strcspn(other, "\n") || memcmp(one, other, length) != 0 || one[length] != other[length])
            return false;
        if (one[length] == '\0')
            return true;
        one += length + 1;
        other += length + 1;
    }
}

/* The plan's programs as the new job heads them, and still the proved moves. */
static enum tw_status head_anew(const struct tw_job *job, const struct tw_proven *proven, char **texts, bool *alike,
                                struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && *alike && i < proven->count; i++) {
        status = tw_program_text(job, &proven->plan, i, 0.0, &texts[i], findings);
        *alike = status == TW_OK && moves_alike(proven->texts[i], texts[i]);
    }
    return status;
}

static void put_texts(struct tw_proven *proven, char **texts)
{
    for (size_t i = 0; i < proven->count; i++) {
        free(proven->texts[i]);
        proven->texts[i] = texts[i];
        proven->cards[i] = (struct tw_card){ proven->cards[i].name, texts[i], strlen(texts[i]) };
    }
}

static enum tw_status take_part(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                                struct tw_load_part *part, bool *alike, struct tw_findings *findings)
{
    struct tw_run_changes changes;
    char *texts[TW_SETUPS_MOST] = { 0 };
    struct tw_job job;
    enum tw_status status =
        tw_run_changes_for_part(request, layout, load, part->first, part->count, &changes, findings);

    if (status == TW_OK)
        status = tw_job_read_with(request->job_path, changes.items, changes.count, &job, findings);
    tw_run_changes_free(&changes);
    if (status != TW_OK)
        return status;
    status = head_anew(&job, &part->proven, texts, alike, findings);
    if (status == TW_OK && *alike) {
        put_texts(&part->proven, texts);
        tw_job_free(&part->job);
        part->job = job;
        return TW_OK;
    }
    for (size_t i = 0; i < TW_SETUPS_MOST; i++)
        free(texts[i]);
    tw_job_free(&job);
    return status;
}

enum tw_status tw_load_take_over(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t older,
                                 size_t load, struct tw_load_plan *plan, bool *alike, struct tw_findings *findings)
{
    const struct tw_run_load *was = &layout->loads[older], *is = &layout->loads[load];
    enum tw_status status = TW_OK;

    *alike = was->apart == is->apart && was->count == is->count;
    for (size_t i = 0; status == TW_OK && *alike && i < plan->count; i++)
        status = compare_part(request, layout, older, load, &plan->parts[i], alike, findings);
    for (size_t i = 0; status == TW_OK && *alike && i < plan->count; i++)
        status = take_part(request, layout, load, &plan->parts[i], alike, findings);
    return status;
}

/* ---- a load's job as a file ---- */

/* Its first line says whose it is; `only`: of one blank of it. */
static enum tw_status head(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                           const struct tw_run_place *only, char *text, char **out, struct tw_findings *findings)
{
    struct tw_text whole = { 0 };

    tw_text_print(&whole, "# tangwright load: %s, load %zu", request->name, tw_run_load_number(layout, load));
    if (only)
        tw_text_print(&whole, ", blank %s", tw_run_number(request, only));
    tw_text_print(&whole,
                  "\n# Written by tangwright run, which writes it anew: change the run file and its job instead.\n%s",
                  text);
    *out = tw_text_take(&whole);
    return *out ? TW_OK : tw_no_memory(findings);
}

static enum tw_status write_job(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                                const struct tw_run_place *only, const struct tw_run_changes *changes,
                                const char *folder, char **out, struct tw_findings *findings)
{
    char *text = NULL;
    enum tw_status status =
        tw_job_text_with(request->job_path, changes->items, changes->count, folder, &text, findings);

    if (status == TW_OK)
        status = head(request, layout, load, only, text, out, findings);
    free(text);
    return status;
}

enum tw_status tw_load_job_text(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                                size_t part, const char *folder, char **out, struct tw_findings *findings)
{
    const struct tw_run_load *loaded = &layout->loads[load];
    struct tw_run_changes changes;
    size_t first, count;
    enum tw_status status;

    *out = NULL;
    places_of(loaded, part, &first, &count);
    status = tw_run_changes_for_part(request, layout, load, first, count, &changes, findings);
    if (status == TW_OK)
        status = write_job(request, layout, load, loaded->apart ? &loaded->places[first] : NULL, &changes, folder, out,
                           findings);
    tw_run_changes_free(&changes);
    return status;
}

enum tw_status tw_load_joined_job_text(const struct tw_run_request *request, const struct tw_run_layout *layout,
                                       size_t load, const char *folder, char **out, struct tw_findings *findings)
{
    struct tw_run_changes changes;
    enum tw_status status = tw_run_changes_for_load(request, layout, load, &changes, findings);

    *out = NULL;
    if (status == TW_OK)
        status = write_job(request, layout, load, NULL, &changes, folder, out, findings);
    tw_run_changes_free(&changes);
    return status;
}
