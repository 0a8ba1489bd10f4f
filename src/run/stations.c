/* stations.c - what a run would take with fewer or more stations. */
#include "tangwright/run.h"

#include <math.h>
#include <stdbool.h>

/* The load with programs in common that holds most blanks; NULL: there is none. */
static const struct tw_run_load *fullest(const struct tw_run_outcome *outcome)
{
    const struct tw_run_load *best = NULL;

    for (size_t i = 0; i < outcome->layout->load_count; i++) {
        const struct tw_run_load *load = &outcome->layout->loads[i];

        if (!outcome->loads[i].refusal && !load->apart && (!best || load->count > best->count))
            best = load;
    }
    return best;
}

/* The fullest load is planned already, where it lies on just these stations. */
static bool is_planned_so(const struct tw_run_load *model, size_t stations)
{
    for (size_t i = 0; i < model->count; i++)
        if (model->places[i].station != (int)i)
            return false;
    return model->count == stations;
}

/* Blanks of the fullest load over and over, on the first stations. */
static struct tw_run_load trial_load(const struct tw_run_load *model, size_t stations)
{
    struct tw_run_load trial = { .count = stations };

    for (size_t i = 0; i < stations; i++) {
        trial.places[i] = model->places[i % model->count];
        trial.places[i].station = (int)i;
    }
    return trial;
}

enum tw_status tw_run_try_stations(struct tw_run_outcome *outcome, size_t stations, struct tw_findings *findings)
{
    const struct tw_run_load *model = fullest(outcome);
    struct tw_run_layout layout = *outcome->layout; /* a shallow copy: only its load is its own */
    struct tw_findings said = { 0 };
    struct tw_load_plan plan;
    struct tw_run_load trial;
    enum tw_status status;

    if (!model)
        return TW_OK;
    if (is_planned_so(model, stations)) {
        outcome->trial_s[stations] = outcome->loads[model - outcome->layout->loads].cycle_s;
        return TW_OK;
    }
    trial = trial_load(model, stations);
    layout.loads = &trial;
    layout.load_count = 1;
    status = tw_load_make(outcome->request, &layout, 0, &plan, &said);
    if (status == TW_OK) {
        outcome->trial_s[stations] = plan.parts[0].proven.plan.cycle_time_s;
        tw_load_free(&plan);
    } else if (status == TW_NO_PLAN) {
        status = TW_OK;
    } else {
        tw_findings_append(findings, &said);
    }
    tw_findings_free(&said);
    return status;
}

/* The loads of blanks with programs in common, the last one with what is left. */
static double common_s(const struct tw_run_outcome *outcome, size_t blanks, size_t stations)
{
    size_t left = blanks % stations;
    double full_s = outcome->trial_s[stations];
    double last_s = outcome->trial_s[left] > 0.0 ? outcome->trial_s[left] : full_s * (double)left / (double)stations;

    return full_s * (double)(blanks / stations) + (left > 0 ? last_s : 0.0);
}

/* Blanks with programs of their own take as long wherever they lie. */
struct tw_run_estimate tw_run_estimate_of(const struct tw_run_outcome *outcome, size_t stations)
{
    struct tw_run_estimate out = { .stations = stations, .known = outcome->trial_s[stations] > 0.0 };
    size_t common = 0, own = 0;

    for (size_t i = 0; i < outcome->layout->load_count; i++) {
        const struct tw_run_load *load = &outcome->layout->loads[i];

        if (outcome->loads[i].refusal)
            continue;
        out.handling_s += outcome->loads[i].handling_s;
        if (load->apart)
            out.cycle_s += outcome->loads[i].cycle_s;
        *(load->apart ? &own : &common) += load->count;
    }
    out.cycle_s += common_s(outcome, common, stations);
    out.loads = (common + stations - 1) / stations + (own + stations - 1) / stations;
    return out;
}
