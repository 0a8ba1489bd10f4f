/* run_wheel.c - see run_wheel.h. */
#include "cli/run_wheel.h"

#include "base/memory.h"
#include "base/units.h"
#include "tangwright/roughed.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* ---- by which wheel ---- */

char *run_wheel_words(const struct tw_wheel *wheel)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "%s, %s across", wheel->name, tw_length_text(wheel->diameter_mm, 2, false).text);
    tw_text_print(&text, ", %s %s", tw_length_text(wheel->width_mm, 2, false).text,
                  wheel->kind == TW_WHEEL_CUP ? "high" : "wide");
    if (wheel->kind == TW_WHEEL_CUP)
        tw_text_print(&text, ", rim %s wide", tw_length_text(wheel->rim_width_mm, 2, false).text);
    return tw_text_take(&text);
}

/* Of the loads that are ground, and of those up to that one, the last that tells its wheel; NULL: none does. */
static const struct tw_record_load *last_told(const struct tw_record_state *state, int load)
{
    const struct tw_record_load *last = NULL;

    for (size_t i = 0; i < state->load_count && state->loads[i].load <= load; i++)
        if (state->loads[i].state >= TW_LOAD_GROUND && state->loads[i].wheel)
            last = &state->loads[i];
    return last;
}

int run_wheel_changes(const struct run_record *record, int load)
{
    const struct tw_record_state *state = &record->state;
    const char *before = NULL;
    int count = 0;

    for (size_t i = 0; i < state->load_count && state->loads[i].load <= load; i++) {
        const char *wheel = state->loads[i].wheel;

        if (state->loads[i].state < TW_LOAD_GROUND || !wheel)
            continue;
        count += before && strcmp(before, wheel) != 0;
        before = wheel;
    }
    return count;
}

enum tw_status run_wheel_set(struct run_record *record, const struct tw_wheel *wheel, struct tw_findings *findings)
{
    free(record->wheel);
    record->wheel = run_wheel_words(wheel);
    return record->wheel ? TW_OK : tw_no_memory(findings);
}

bool run_wheel_is_other(const struct run_record *record, const struct tw_record_load **ground)
{
    *ground = last_told(&record->state, INT_MAX);
    return record->wheel && *ground && strcmp((*ground)->wheel, record->wheel) != 0;
}

char *run_wheel_other_words(const struct run_record *record)
{
    const struct tw_record_load *ground;
    struct tw_text text = { 0 };

    if (!run_wheel_is_other(record, &ground))
        return NULL;
    tw_text_print(&text,
                  "the job names another wheel (%s) than load %d was ground by (%s): as after a dressing a new level "
                  "begins, so no offset is carried over to it, and what it takes off and loses is counted from its "
                  "first load",
                  record->wheel, ground->load, ground->wheel);
    return tw_text_take(&text);
}

static enum tw_status refuse_wheel(const struct tw_run_request *request, const struct tw_record_roughed *roughed,
                                   const char *wheel, struct tw_findings *findings)
{
    return tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = request->path },
                   "the parts of load %d were roughed and gauged by another wheel (%s) than the job names now (%s): "
                   "what they were "
                   "off by tells nothing of it. Say that the wheel was changed, tangwright run %s --dressed %d, and "
                   "plan again; or "
                   "give the job its wheel back",
                   roughed->load, roughed->wheel, wheel, request->path, roughed->load);
}

enum tw_status run_wheel_check(const struct run_record *record, const struct tw_run_request *request,
                               const struct tw_wheel *wheel, struct tw_findings *findings)
{
    char *words = run_wheel_words(wheel);
    enum tw_status status = words ? TW_OK : tw_no_memory(findings);

    for (size_t i = 0; status == TW_OK && i < record->state.roughed_count; i++) {
        const struct tw_record_roughed *roughed = &record->state.roughed[i];

        if (roughed->load == request->roughed.load && roughed->wheel && strcmp(roughed->wheel, words) != 0 &&
            tw_roughed_stop_named(roughed->stop) != TW_ROUGHED_OTHER_WHEEL)
            status = refuse_wheel(request, roughed, words, findings);
    }
    free(words);
    return status;
}

/* ---- what it did ---- */

/* Another wheel is on: what is known is only before which loads one is dressed. */
static void begin_wheel(struct tw_run_wheel *wheel)
{
    struct tw_run_wheel begun = { 0 };

    memcpy(begun.dressed, wheel->dressed, sizeof begun.dressed);
    *wheel = begun;
}

/* Loads stand in their order. */
struct tw_run_wheel run_wheel_so_far(const struct run_record *record)
{
    const struct tw_record_state *state = &record->state;
    const struct tw_record_load *ground;
    struct tw_run_wheel wheel = { 0 };

    for (size_t i = 0; i < state->dressing_count; i++)
        if (state->dressings[i] >= 1 && state->dressings[i] <= TW_RUN_BLANKS_MOST)
            wheel.dressed[state->dressings[i]] = true;
    for (size_t i = 0; i < state->load_count; i++) {
        const struct tw_record_load *load = &state->loads[i];

        if (load->state < TW_LOAD_GROUND)
            continue;
        if (run_wheel_changes(record, load->load) != run_wheel_changes(record, load->load - 1))
            begin_wheel(&wheel);
        wheel.used = true;
        if (tw_record_is_dressed(state, load->load)) {
            wheel.since_mm3 = 0.0;
            wheel.dressings++;
        }
        wheel.removed_mm3 += load->removed_mm3;
        wheel.since_mm3 += load->removed_mm3;
        wheel.lost_mm += load->wheel_mm;
    }
    if (run_wheel_is_other(record, &ground))
        begin_wheel(&wheel);
    return wheel;
}
