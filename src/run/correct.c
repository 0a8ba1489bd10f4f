/* correct.c - see correct.h. */
#include "tangwright/correct.h"

#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define UM 1000.0

double tw_run_total_mm(const struct tw_run_totals *totals, int station, double x_mm, double length_mm)
{
    double own_mm = station >= 1 && station <= TW_RUN_STATIONS_MOST ? totals->station_mm[station - 1] : 0.0;

    return totals->offset_mm + own_mm + totals->taper_mm * x_mm / length_mm;
}

double tw_run_lower_mm(const struct tw_job *job, const struct tw_run_totals *totals, int station)
{
    return (job->one_face ? 1.0 : 0.5) * tw_run_total_mm(totals, station, 0.0, job->taper.length_mm);
}

void tw_corrections_free(struct tw_corrections *corrections)
{
    tw_gaugings_free(&corrections->weighed_readings);
    tw_gaugings_free(&corrections->all_readings);
    tw_gauged_run_free(&corrections->weighed);
    tw_gauged_run_free(&corrections->all);
    *corrections = (struct tw_corrections){ 0 };
}

/* ---- readings as gauge.h takes them ---- */

struct weighing {
    const struct tw_job *job;
    const struct tw_measured *measured;
    size_t count;
    const struct tw_run_totals *now;
    double gauge_mm, tolerance_mm;
    struct tw_findings *findings;
};

static double straight_mm(double from_mm, double to_mm, double x_mm, double length_mm)
{
    return from_mm + (to_mm - from_mm) * x_mm / length_mm;
}

/* What its own ricasso makes the part thicker than its load aims at. */
static double own_mm(const struct tw_job *job, const struct tw_measured *measured)
{
    double thicker_mm = measured->ricasso_mm - measured->planned_mm;

    return job->taper.zero == TW_ZERO_PAD ? -thicker_mm : thicker_mm;
}

/* How much too thick it was; as it would be with the corrections of today and a blank as planned, if so wanted. */
static double deviation_mm(const struct weighing *weighing, const struct tw_measured *measured, bool as_today)
{
    double length_mm = weighing->job->taper.length_mm, x_mm = measured->x_mm;
    double off_mm = measured->thickness_mm - straight_mm(measured->planned_mm, measured->butt_mm, x_mm, length_mm);

    if (as_today)
        off_mm += tw_run_total_mm(&measured->totals, measured->station, x_mm, length_mm) -
                  tw_run_total_mm(weighing->now, measured->station, x_mm, length_mm) - own_mm(weighing->job, measured);
    return off_mm;
}

static int newest_load(const struct weighing *weighing)
{
    int newest = 0;

    for (size_t i = 0; i < weighing->count; i++)
        newest = weighing->measured[i].load > newest ? weighing->measured[i].load : newest;
    return newest;
}

/* What a station does cannot be told from what its one part is: only with two loads can it be asked. */
static bool has_two_loads(const struct weighing *weighing, int oldest)
{
    for (size_t i = 0; i < weighing->count; i++)
        if (weighing->measured[i].load >= oldest && weighing->measured[i].load != newest_load(weighing))
            return true;
    return false;
}

/* Loads from `oldest` on; each thickness is that of the job and its deviation. */
static enum tw_status fill(const struct weighing *weighing, int oldest, bool as_today, struct tw_gaugings *out)
{
    const struct tw_taper *taper = &weighing->job->taper;
    bool stations = has_two_loads(weighing, oldest);

    *out = (struct tw_gaugings){ .path = tw_copy_string("the run's readings"),
                                 .items = calloc(weighing->count + 1, sizeof *out->items),
                                 .has_y = true,
                                 .has_station = stations };
    if (!out->path || !out->items) {
        tw_gaugings_free(out);
        return tw_no_memory(weighing->findings);
    }
    for (size_t i = 0; i < weighing->count; i++) {
        const struct tw_measured *measured = &weighing->measured[i];
        struct tw_gauging *item = &out->items[out->count];

        if (measured->load < oldest)
            continue;
        *item = (struct tw_gauging){ .line = (int)i + 1,
                                     .station = stations ? measured->station : 0,
                                     .x_mm = measured->x_mm,
                                     .y_mm = measured->y_mm,
                                     .thickness_mm = straight_mm(taper->ricasso_mm, taper->butt_mm, measured->x_mm,
                                                                 taper->length_mm) +
                                                     deviation_mm(weighing, measured, as_today) };
        snprintf(item->part, sizeof item->part, "%s", measured->part);
        out->count++;
    }
    return TW_OK;
}

/* The oldest of the newest loads that are weighed. */
static int oldest_weighed(const struct weighing *weighing)
{
    int oldest = newest_load(weighing);

    for (int taken = 1; taken < TW_CORRECT_LOADS; taken++) {
        int next = 0;

        for (size_t i = 0; i < weighing->count; i++)
            if (weighing->measured[i].load < oldest && weighing->measured[i].load > next)
                next = weighing->measured[i].load;
        oldest = next > 0 ? next : oldest;
    }
    return oldest;
}

/* ---- what they come to ---- */

static const struct tw_gauge_term *term_of(const struct tw_gauged_run *run, enum tw_gauge_term_kind kind)
{
    for (size_t i = 0; i < run->term_count; i++)
        if (run->terms[i].kind == kind)
            return &run->terms[i];
    return NULL;
}

/* Of the loads that are weighed; or of the newest alone, where something has moved between them. */
static enum tw_status take_offset(const struct weighing *weighing, struct tw_corrections *out, double *mean_x_mm)
{
    const struct tw_gauge_term *offset = term_of(&out->weighed, TW_TERM_OFFSET);
    struct tw_gaugings readings;
    struct tw_gauged_run run;
    enum tw_status status;

    if (offset)
        out->offset = *offset;
    *mean_x_mm = out->weighed.mean_x_mm;
    if (out->weighed.course == TW_COURSE_STEADY)
        return TW_OK;
    status = fill(weighing, out->newest, true, &readings);
    if (status != TW_OK)
        return status;
    status =
        tw_gauge_run(weighing->job, &readings, weighing->gauge_mm, weighing->tolerance_mm, &run, weighing->findings);
    if (status == TW_OK) {
        offset = term_of(&run, TW_TERM_OFFSET);
        out->newest_alone = offset != NULL;
        if (offset)
            out->offset = *offset;
        *mean_x_mm = run.mean_x_mm;
        tw_gauged_run_free(&run);
    }
    tw_gaugings_free(&readings);
    return status;
}

static double whole_um_tenths(double mm)
{
    return round(mm * 1e4) / 1e4;
}

static bool are_too_large(const struct tw_job *job, const struct tw_run_totals *totals)
{
    bool large = fabs(totals->taper_mm) > 2.0 * TW_CORRECT_MOST_MM;

    for (int station = 0; station <= TW_RUN_STATIONS_MOST; station++)
        large = large || fabs(tw_run_lower_mm(job, totals, station)) > TW_CORRECT_MOST_MM;
    return large;
}

static void add_up(const struct weighing *weighing, double mean_x_mm, struct tw_corrections *out)
{
    const struct tw_gauge_term *taper = term_of(&out->weighed, TW_TERM_TAPER);
    double taper_mm = taper && taper->significant ? taper->value_mm : 0.0;
    double offset_mm = out->offset.significant ? out->offset.value_mm : 0.0;
    struct tw_run_totals next = *weighing->now;

    next.taper_mm = whole_um_tenths(next.taper_mm + taper_mm);
    next.offset_mm =
        whole_um_tenths(next.offset_mm + offset_mm - taper_mm * mean_x_mm / weighing->job->taper.length_mm);
    for (size_t i = 0; i < out->weighed.term_count; i++) {
        const struct tw_gauge_term *term = &out->weighed.terms[i];

        if (term->kind == TW_TERM_STATION && term->significant && term->station >= 1 &&
            term->station <= TW_RUN_STATIONS_MOST)
            next.station_mm[term->station - 1] = whole_um_tenths(next.station_mm[term->station - 1] + term->value_mm);
    }
    out->too_large = are_too_large(weighing->job, &next);
    out->totals = out->too_large ? *weighing->now : next;
    out->changed = memcmp(&out->totals, weighing->now, sizeof next) != 0;
}

static enum tw_status weigh(const struct weighing *weighing, struct tw_corrections *out)
{
    double mean_x_mm = 0.0;
    enum tw_status status = fill(weighing, oldest_weighed(weighing), true, &out->weighed_readings);

    if (status == TW_OK)
        status = fill(weighing, 0, false, &out->all_readings);
    if (status == TW_OK)
        status = tw_gauge_run(weighing->job, &out->weighed_readings, weighing->gauge_mm, weighing->tolerance_mm,
                              &out->weighed, weighing->findings);
    if (status == TW_OK)
        status = tw_gauge_run(weighing->job, &out->all_readings, weighing->gauge_mm, weighing->tolerance_mm, &out->all,
                              weighing->findings);
    if (status == TW_OK)
        status = take_offset(weighing, out, &mean_x_mm);
    if (status == TW_OK)
        add_up(weighing, mean_x_mm, out);
    return status;
}

enum tw_status tw_corrections_make(const struct tw_job *job, const struct tw_measured *measured, size_t count,
                                   const struct tw_run_totals *now, double gauge_mm, double tolerance_mm,
                                   struct tw_corrections *out, struct tw_findings *findings)
{
    struct weighing weighing = { job, measured, count, now, gauge_mm, tolerance_mm, findings };
    enum tw_status status;

    *out = (struct tw_corrections){ .newest = newest_load(&weighing) };
    status = weigh(&weighing, out);
    if (status != TW_OK)
        tw_corrections_free(out);
    return status;
}

/* ---- for a person ---- */

static void print_heights(struct tw_text *text, const struct tw_job *job, const struct tw_run_totals *totals)
{
    for (int station = 1; station <= (int)job->fixture.station_count; station++) {
        double lower_mm = tw_run_lower_mm(job, totals, station);

        tw_text_print(text, "  station %d: each face %.1f um %s\n", station, fabs(lower_mm) * UM,
                      lower_mm < 0.0 ? "higher" : "lower");
    }
    if (totals->taper_mm != 0.0)
        tw_text_print(text, "  butt: planned %.1f um %s%s\n", fabs(totals->taper_mm) * UM,
                      totals->taper_mm > 0.0 ? "thinner" : "thicker",
                      job->mount == TW_MOUNT_TILTED ? ", so the stack is another" : ", by the slope");
}

static void print_planned(struct tw_text *text, const struct tw_job *job, const struct tw_corrections *corrections)
{
    tw_text_print(text, "\nfor the next loads\n");
    if (corrections->newest_alone)
        tw_text_print(
            text, "  the parts moved between loads, so the offset is that of load %d alone: %+.1f +- %.1f um\n",
            corrections->newest, corrections->offset.value_mm * UM, 2.0 * corrections->offset.standard_mm * UM);
    if (corrections->too_large)
        tw_text_print(
            text,
            "  more than %.0f um a face would have to be corrected: no machine is so far off. Look at zeros, stops, "
            "packing and gauge; nothing is changed\n",
            TW_CORRECT_MOST_MM * UM);
    else if (!corrections->changed)
        tw_text_print(text, "  nothing is changed: no deviation is larger than what it is known to\n");
    else
        print_heights(text, job, &corrections->totals);
}

enum tw_status tw_corrections_text(const struct tw_job *job, const struct tw_corrections *corrections,
                                   double tolerance_mm, char **out, struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    char *weighed = NULL, *all = NULL;
    enum tw_status status =
        tw_gauge_figures(job, &corrections->weighed_readings, tolerance_mm, &corrections->weighed, &weighed, findings);

    *out = NULL;
    if (status == TW_OK)
        status = tw_gauge_figures(job, &corrections->all_readings, tolerance_mm, &corrections->all, &all, findings);
    if (status == TW_OK) {
        tw_text_print(&text,
                      "the last %d loads, as they would be with the corrections of today\n%s\nthe run so far, as it "
                      "was ground\n%s",
                      TW_CORRECT_LOADS, weighed, all);
        print_planned(&text, job, corrections);
        *out = tw_text_take(&text);
        status = *out ? TW_OK : tw_no_memory(findings);
    }
    free(weighed);
    free(all);
    return status;
}
