/* gauge_unfinished.c - see gauge_unfinished.h. */
#include "cli/gauge_unfinished.h"

#include "base/units.h"
#include "tangwright/plan.h"
#include "tangwright/roughed.h"
#include "tangwright/warm.h"

#include <math.h>
#include <string.h>

struct checking {
    const struct tw_run_request *request;
    const struct tw_record_state *state;
    const struct tw_job *job;
    const struct tw_gaugings *readings;
    double gauge_mm;
    struct tw_findings *findings;
};

/* ---- a part ---- */

static const struct tw_record_blank *blank_of(const struct checking *checking, const char *part)
{
    for (size_t i = 0; i < checking->state->blank_count; i++)
        if (strcmp(checking->state->blanks[i].number, part) == 0)
            return &checking->state->blanks[i];
    return NULL;
}

static bool is_first_of_part(const struct checking *checking, size_t reading)
{
    for (size_t i = 0; i < reading; i++)
        if (strcmp(checking->readings->items[i].part, checking->readings->items[reading].part) == 0)
            return false;
    return true;
}

/* Of what the wheel leaves too high on both faces, so much is in the thickness: a rest that rises takes half of it. */
static double share_of(const struct tw_job *job)
{
    return tw_warm_on_rise(job) ? 0.5 : 1.0;
}

/* What its finishing programs take off the part where both faces are roughed. */
static double stock_mm(const struct checking *checking)
{
    return share_of(checking->job) * TW_SIDES_OF(checking->job) * tw_plan_finish_stock_mm(checking->job);
}

/* In the mean, thicker than the finished part, at places where roughing took something; false: none of them was measured. */
static bool is_measured(const struct checking *checking, const struct tw_record_blank *blank, double *thicker_mm)
{
    const struct tw_job *job = checking->job;
    size_t count = 0;

    *thicker_mm = 0.0;
    for (size_t i = 0; i < checking->readings->count; i++) {
        const struct tw_gauging *reading = &checking->readings->items[i];
        double aim_mm = tw_run_aim_mm(job, blank->planned_mm, blank->butt_mm, reading->x_mm) +
                        tw_run_own_mm(job, blank->thickness_mm, blank->planned_mm);

        if (strcmp(reading->part, blank->number) != 0 || aim_mm + stock_mm(checking) > blank->thickness_mm)
            continue;
        *thicker_mm += reading->thickness_mm - aim_mm;
        count++;
    }
    *thicker_mm /= fmax(1.0, (double)count);
    return count > 0;
}

/* What was told of it between roughing and finishing; a part that stopped tells nothing. */
static struct tw_roughed_part roughed_of(const struct checking *checking, const struct tw_record_blank *blank)
{
    struct tw_roughed_part part = { .number = blank->number, .station = blank->station };

    for (size_t i = 0; i < checking->state->roughed_count; i++) {
        const struct tw_record_roughed *roughed = &checking->state->roughed[i];

        if (roughed->load != blank->load || roughed->station != blank->station || roughed->stop)
            continue;
        part.told = roughed->told;
        part.cut_mm = share_of(checking->job) * roughed->cut_mm;
        part.was_off_mm = share_of(checking->job) * roughed->off_mm;
        part.written_mm = share_of(checking->job) * roughed->written_mm;
    }
    return part;
}

static bool is_unfinished(const struct checking *checking, const struct tw_record_blank *blank, double *thicker_mm)
{
    struct tw_roughed_part part = roughed_of(checking, blank);

    return is_measured(checking, blank, thicker_mm) &&
           tw_roughed_is_unfinished(*thicker_mm, stock_mm(checking), &part, checking->gauge_mm);
}

/* ---- a load ---- */

/* A finishing program goes round all stations, so one that was not run leaves all parts so. */
static bool is_load_unfinished(const struct checking *checking, int load)
{
    for (size_t i = 0; i < checking->readings->count; i++) {
        const struct tw_record_blank *blank = blank_of(checking, checking->readings->items[i].part);
        double thicker_mm;

        if (blank && blank->load == load && is_first_of_part(checking, i) &&
            !is_unfinished(checking, blank, &thicker_mm))
            return false;
    }
    return tw_record_is_roughed_apart(checking->state, load);
}

static enum tw_status refuse(const struct checking *checking, const struct tw_gauging *reading,
                             const struct tw_record_blank *blank)
{
    bool inch = checking->job->machine.dialect.inch;
    double thicker_mm;

    is_unfinished(checking, blank, &thicker_mm);
    return tw_fail(
        checking->findings, TW_BAD_INPUT, (struct tw_place){ .file = checking->readings->path, .line = reading->line },
        "thickness: part %s of load %d is %s thicker than it is to be when it is finished, and finishing takes "
        "%s off it: this part looks roughed and not finished. Run the load's finishing programs and measure "
        "again (tangwright run %s --not-done %d takes back that it is ground); readings from between roughing "
        "and finishing go in with --roughed; if the part is finished, say so with --finished",
        reading->part, blank->load, tw_fine_text(thicker_mm, inch).text, tw_fine_text(stock_mm(checking), inch).text,
        checking->request->path, blank->load);
}

enum tw_status verb_gauge_check_finished(const struct tw_run_request *request, const struct run_record *record,
                                         const struct tw_job *job, const struct tw_gaugings *readings, double gauge_mm,
                                         struct tw_findings *findings)
{
    struct checking checking = { request, &record->state, job, readings, gauge_mm, findings };
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < readings->count; i++) {
        const struct tw_record_blank *blank = blank_of(&checking, readings->items[i].part);

        if (blank && is_first_of_part(&checking, i) && is_load_unfinished(&checking, blank->load))
            status = refuse(&checking, &readings->items[i], blank);
    }
    return status;
}
