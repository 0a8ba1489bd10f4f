/* load.c - one load of a run: its jobs, planned and proved. */
#include "tangwright/run.h"

#include "base/text.h"
#include "run/changes.h"

#include <stdlib.h>

void tw_load_free(struct tw_load_plan *plan)
{
    for (size_t i = 0; i < plan->count; i++) {
        tw_proven_free(&plan->parts[i].proven);
        tw_job_free(&plan->parts[i].job);
    }
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
    if (status != TW_OK)
        tw_load_free(out);
    return status == TW_BAD_INPUT ? TW_NO_PLAN : status; /* the job is sound; with these blanks it is not */
}

/* Its first line says whose it is. */
static enum tw_status head(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                           size_t first, char *text, char **out, struct tw_findings *findings)
{
    const struct tw_run_load *loaded = &layout->loads[load];
    struct tw_text whole = { 0 };

    tw_text_print(&whole, "# tangwright load: %s, load %zu", request->name, tw_run_load_number(layout, load));
    if (loaded->apart)
        tw_text_print(&whole, ", blank %s", tw_run_number(request, &loaded->places[first]));
    tw_text_print(&whole,
                  "\n# Written by tangwright run, which writes it anew: change the run file and its job instead.\n%s",
                  text);
    *out = tw_text_take(&whole);
    return *out ? TW_OK : tw_no_memory(findings);
}

enum tw_status tw_load_job_text(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                                size_t part, const char *folder, char **out, struct tw_findings *findings)
{
    struct tw_run_changes changes;
    size_t first, count;
    char *text = NULL;
    enum tw_status status;

    *out = NULL;
    places_of(&layout->loads[load], part, &first, &count);
    status = tw_run_changes_for_part(request, layout, load, first, count, &changes, findings);
    if (status == TW_OK)
        status = tw_job_text_with(request->job_path, changes.items, changes.count, folder, &text, findings);
    if (status == TW_OK)
        status = head(request, layout, load, first, text, out, findings);
    free(text);
    tw_run_changes_free(&changes);
    return status;
}
