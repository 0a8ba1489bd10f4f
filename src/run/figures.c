/* figures.c - what stays of a load when its plan is gone. */
#include "tangwright/run.h"

#include "base/memory.h"
#include "tangwright/assess.h"
#include "tangwright/blank.h"
#include "tangwright/plan.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum tw_status tw_run_outcome_open(const struct tw_run_request *request, const struct tw_run_layout *layout,
                                   struct tw_run_outcome *out, struct tw_findings *findings)
{
    *out = (struct tw_run_outcome){ .request = request,
                                    .layout = layout,
                                    .loads = calloc(layout->load_count + 1, sizeof *out->loads) };
    return out->loads ? TW_OK : tw_no_memory(findings);
}

void tw_run_outcome_free(struct tw_run_outcome *outcome)
{
    for (size_t i = 0; outcome->loads && i < outcome->layout->load_count; i++) {
        free(outcome->loads[i].refusal);
        free(outcome->loads[i].why_not_joined);
    }
    free(outcome->loads);
    *outcome = (struct tw_run_outcome){ 0 };
}

/* ---- one load ---- */

static void note_setup(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_place_figures *out)
{
    const struct tw_face *face = &setup->face;

    out->height_mm[face->side] = face->height_mm - face->zero_mm;
    out->packing_mm[face->side] = tw_setup_packing_mm(job, setup, job->taper.length_mm);
    out->rise_mm[face->side] = tw_face_rise_mm(face, job->fixture.sine_bar_mm);
}

/* What is aimed at; the job's own butt is corrected by what was gauged. */
static struct tw_place_figures figures_of(const struct tw_load_part *part, const struct tw_run_totals *totals)
{
    const struct tw_job *job = &part->job;
    struct tw_place_figures out = { .planned_mm = job->taper.ricasso_mm,
                                    .band_mm = job->taper.band_mm,
                                    .butt_mm = job->taper.butt_mm + tw_run_butt_lower_mm(job, totals),
                                    .deviation_mm = job->straight ? job->straight->deviation_mm : 0.0 };

    snprintf(out.digest, sizeof out.digest, "%s", job->digest);
    for (size_t i = 0; i < part->proven.plan.setup_count; i++)
        if (part->proven.plan.setups[i].scope != TW_SCOPE_RELIEF)
            note_setup(job, &part->proven.plan.setups[i], &out);
    return out;
}

/* How often each blank is laid in or turned over. */
static int handlings(const struct tw_plan *plan)
{
    int count = 1;

    for (size_t i = 1; i < plan->setup_count; i++)
        count += plan->setups[i].face.side != plan->setups[i - 1].face.side;
    return count;
}

static void note_error(const struct tw_load_part *part, struct tw_load_figures *out)
{
    struct tw_error_budget budget = tw_error_budget(&part->job, &part->proven.plan);

    if (budget.thickness_um <= out->error_um)
        return;
    out->error_um = budget.thickness_um;
    out->error_cause = budget.rows[budget.largest_thickness].name;
}

static void note_loss(const struct tw_wheel_loss *loss, double blanks, struct tw_load_figures *out)
{
    out->wheel_mm += loss->likely_mm * blanks;
    out->wheel_most_mm += loss->most_mm * blanks;
}

/* The programs for all blanks: their head's digest, what they take, and how hot they get. */
static enum tw_status note_joined(const struct tw_load_joined *joined, size_t blanks, struct tw_load_figures *out,
                                  struct tw_findings *findings)
{
    out->joined = joined->count > 0;
    if (joined->why_not) {
        out->why_not_joined = tw_copy_string(joined->why_not);
        return out->why_not_joined ? TW_OK : tw_no_memory(findings);
    }
    if (!out->joined)
        return TW_OK;
    out->cycle_s = 0.0;
    for (size_t i = 0; i < joined->count; i++)
        out->cycle_s += joined->cycle_s[i];
    out->reserve_degC = fmax(out->reserve_degC, joined->reserve_degC);
    for (size_t k = 0; k < blanks; k++)
        snprintf(out->places[k].digest, sizeof out->places[k].digest, "%s", joined->job.digest);
    return TW_OK;
}

enum tw_status tw_run_note_plan(struct tw_run_outcome *outcome, size_t load, const struct tw_load_plan *plan,
                                struct tw_findings *findings)
{
    const struct tw_run_totals *totals = tw_run_totals_for(outcome->request, tw_run_load_number(outcome->layout, load));
    struct tw_load_figures *out = &outcome->loads[load];

    for (size_t i = 0; i < plan->count; i++) {
        const struct tw_load_part *part = &plan->parts[i];

        note_error(part, out);
        out->cycle_s += part->proven.plan.cycle_time_s;
        out->removed_mm3 += part->proven.plan.removed_mm3 * (double)part->count;
        for (size_t k = 0; k < part->proven.plan.setup_count; k++) {
            note_loss(&part->proven.plan.setups[k].loss, (double)part->count, out);
            out->roughed_apart = out->roughed_apart || part->proven.plan.setups[k].scope == TW_SCOPE_ROUGH;
        }
        out->handling_s += outcome->request->loading_s * handlings(&part->proven.plan) * (double)part->count;
        out->peak_degC = fmax(out->peak_degC, part->proven.plan.peak_degC);
        if (part->proven.plan.reserve_degC > out->reserve_degC) {
            out->reserve_degC = part->proven.plan.reserve_degC;
            out->hottest_part = part->first;
        }
        out->pass_count += part->proven.plan.pass_count;
        for (size_t k = 0; k < part->count; k++)
            out->places[part->first + k] = figures_of(part, totals);
    }
    return note_joined(&plan->joined, outcome->layout->loads[load].count, out, findings);
}

enum tw_status tw_run_note_refusal(struct tw_run_outcome *outcome, size_t load, const struct tw_findings *said,
                                   struct tw_findings *findings)
{
    const char *text = "no plan";

    for (size_t i = said->count; i-- > 0;)
        if (said->items[i].status != TW_OK)
            text = said->items[i].text;
    outcome->loads[load].refusal = tw_copy_string(text);
    return outcome->loads[load].refusal ? TW_OK : tw_no_memory(findings);
}

/* ---- all loads ---- */

static void add_load(const struct tw_run_outcome *outcome, size_t i, struct tw_run_sum *sum)
{
    const struct tw_load_figures *load = &outcome->loads[i];
    double band_um = 0.0, gauge_um = 2000.0 * outcome->request->gauge_mm;

    sum->blanks += outcome->layout->loads[i].count;
    sum->cycle_s += load->cycle_s;
    sum->handling_s += load->handling_s;
    sum->removed_mm3 += load->removed_mm3;
    sum->wheel_mm += load->wheel_mm;
    sum->dressings += tw_run_dresses_before(outcome, i);
    for (size_t k = 0; k < outcome->layout->loads[i].count; k++)
        band_um = fmax(band_um, 1000.0 * load->places[k].band_mm);
    sum->gauged_um = fmax(sum->gauged_um, hypot(band_um, gauge_um));
    if (load->error_um > sum->error_um) {
        sum->error_um = load->error_um;
        sum->error_cause = load->error_cause;
    }
    if (load->reserve_degC > sum->reserve_degC) {
        sum->reserve_degC = load->reserve_degC;
        sum->hottest_load = i;
        sum->hottest_blank =
            outcome->layout->loads[i].apart
                ? tw_run_number(outcome->request, &outcome->layout->loads[i].places[load->hottest_part])
                : NULL;
    }
}

struct tw_run_sum tw_run_sum_of(const struct tw_run_outcome *outcome)
{
    struct tw_run_sum sum = { 0 };

    for (size_t i = 0; i < outcome->layout->load_count; i++)
        if (!outcome->loads[i].refusal)
            add_load(outcome, i, &sum);
    sum.wheels = tw_run_wheels(outcome, false);
    sum.wheels_most = tw_run_wheels(outcome, true);
    if (sum.blanks > 0)
        sum.parts_per_hour = (double)sum.blanks * 3600.0 / (sum.cycle_s + sum.handling_s);
    return sum;
}

void tw_load_own_folder(const struct tw_run_layout *layout, size_t load, char out[TW_LOAD_FOLDER_BYTES])
{
    snprintf(out, TW_LOAD_FOLDER_BYTES, "load-%02zu", tw_run_load_number(layout, load));
}

void tw_load_folder(const struct tw_run_layout *layout, size_t load, size_t place, char out[TW_LOAD_FOLDER_BYTES])
{
    if (layout->loads[load].apart)
        snprintf(out, TW_LOAD_FOLDER_BYTES, "load-%02zu/station-%d", tw_run_load_number(layout, load),
                 layout->loads[load].places[place].station + 1);
    else
        snprintf(out, TW_LOAD_FOLDER_BYTES, "load-%02zu", tw_run_load_number(layout, load));
}
