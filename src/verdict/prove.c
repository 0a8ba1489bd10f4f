/* prove.c - the programs of a side, driven step by step over every part of every blank.
 *
 * Each part stands on its own station; each step is looked at from each of them, whichever work offset it was
 * written for, because the wheel does not know about offsets. */
#include "verdict/prove.h"

#include "verdict/asked.h"
#include "verdict/dressed.h"
#include "verdict/drive.h"
#include "witness/hold.h"
#include "witness/task.h"

#include <math.h>
#include <stdlib.h>

static enum tw_status note_dressing(struct tw_proving *parts, const struct tw_step *step, struct tw_worn *worn)
{
    struct tw_proof *proof = parts[0].proof;
    struct tw_check *check = &proof->checks[TW_CHECK_DRESSING];

    if (step->stops)
        tw_worn_dress(worn);
    tw_check_note(check, worn->volume_mm3, (struct tw_spot){ .line = step->line });
    return tw_taken_note(&proof->taken, step->line, step->stops, worn->volume_mm3, parts[0].findings);
}

/* One step looked at from every part: what one of them loses wears the wheel for all. */
static enum tw_status drive_parts(struct tw_proving *parts, int count, const struct tw_step *step, struct tw_worn *worn)
{
    enum tw_status status = TW_OK;

    for (int part = 0; status == TW_OK && part < count; part++) {
        parts[part].step_mm3 = 0.0;
        status = tw_drive_step(&parts[part], step, &parts[part].step_mm3);
    }
    for (int part = 0; status == TW_OK && part < count; part++)
        tw_worn_by(worn, parts[part].step_mm3);
    return status == TW_OK ? note_dressing(parts, step, worn) : status;
}

/* One blank on all stations. */
struct blank {
    const struct tw_run *runs;
    struct tw_proving common; /* to all parts */
    struct tw_proving *parts;
    int opened;
    struct tw_worn worn;
};

/* A program that is refused on its way may have been read farther for one blank than for another: such a one leads none. */
static enum tw_status begin_blank(struct blank *blank, const struct blank *leader, size_t index)
{
    bool led = leader != blank && leader->runs[index].trace->count == blank->runs[index].trace->count;
    enum tw_status status = TW_OK;

    tw_taken_free(&blank->runs[index].proof->taken); /* of a raised program: as it stands */
    blank->worn = tw_worn_open(&blank->runs[index].job, &blank->parts[0].workpiece->face);
    for (int part = 0; status == TW_OK && part < blank->opened; part++) {
        blank->parts[part].leader = led ? &leader->parts[part] : NULL;
        status = tw_drive_begin(&blank->parts[part], blank->runs, index, &blank->worn);
    }
    return status;
}

static enum tw_status end_blank(struct blank *blank, size_t count, size_t index)
{
    enum tw_status status = TW_OK;

    for (int part = 0; status == TW_OK && part < blank->opened; part++)
        status = tw_drive_end(&blank->parts[part], blank->runs, count, index);
    return status;
}

static size_t steps_of(const struct blank *blanks, size_t blank_count, size_t index)
{
    size_t most = 0;

    for (size_t i = 0; i < blank_count; i++)
        most = blanks[i].runs[index].trace->count > most ? blanks[i].runs[index].trace->count : most;
    return most;
}

/* One program over all parts of all blanks at once. */
static enum tw_status run_on_blanks(struct blank *blanks, size_t blank_count, size_t count, size_t index)
{
    size_t steps = steps_of(blanks, blank_count, index);
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < blank_count; i++)
        status = begin_blank(&blanks[i], &blanks[0], index);
    for (size_t step = 0; status == TW_OK && step < steps; step++)
        for (size_t i = 0; status == TW_OK && i < blank_count; i++)
            if (step < blanks[i].runs[index].trace->count)
                status = drive_parts(blanks[i].parts, blanks[i].opened, &blanks[i].runs[index].trace->steps[step],
                                     &blanks[i].worn);
    for (size_t i = 0; status == TW_OK && i < blank_count; i++)
        status = end_blank(&blanks[i], count, index);
    for (size_t i = 0; i < blank_count; i++)
        for (int part = 0; part < blanks[i].opened; part++)
            tw_drive_stop(&blanks[i].parts[part]);
    return status;
}

static enum tw_status open_blank(struct blank *blank, size_t count, double cell_mm)
{
    int parts = blank->common.whole_job->parts;
    enum tw_status status = TW_OK;

    blank->parts = calloc((size_t)parts, sizeof *blank->parts);
    if (!blank->parts)
        return tw_no_memory(blank->common.findings);
    while (status == TW_OK && blank->opened < parts) {
        status =
            tw_drive_open(&blank->common, blank->runs, count, blank->opened, cell_mm, &blank->parts[blank->opened]);
        blank->opened += status == TW_OK;
    }
    return status;
}

static void close_blank(struct blank *blank)
{
    for (int part = 0; part < blank->opened; part++)
        tw_drive_close(&blank->parts[part]);
    free(blank->parts);
}

static struct tw_proving common_of(const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_proving common = { .whole_job = job,
                                 .job = job,
                                 .clearance_mm = 0.5 * fmin(fmin(job->travel.approach_mm, job->travel.return_lift_mm),
                                                            job->travel.overtravel_mm),
                                 /* All blanks alike are under the same fixture or, z counting from the ricasso, the
                                  * thinnest lies lowest under it; and the thickest blade stands highest. */
                                 .fixture = job->task.thicker_mm == tw_witness_hardest_mm(job),
                                 .findings = findings };

    /* Where each part is as it was measured, so is its zero. */
    if (job->taper.zero == TW_ZERO_RICASSO && (job->blank_count == 0 || job->task.thicker_mm != 0.0))
        common.lower_mm = job->task.thicker_mm - tw_witness_hardest_mm(job);
    return common;
}

static void compare_limits(const struct tw_run_blank *blank, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct tw_proof *proof = blank->runs[i].proof;

        proof->reserve_degC = proof->heat.reserve_degC;
        tw_thermal_run_compare(fmax(proof->reserve_degC, proof->checks[TW_CHECK_TEMPERATURE].amount), &proof->heat);
    }
}

enum tw_status tw_prove(const struct tw_run_blank *asked, size_t blank_count, size_t count, double cell_mm,
                        struct tw_findings *findings)
{
    struct blank *blanks = calloc(blank_count, sizeof *blanks);
    enum tw_status status = blanks ? TW_OK : tw_no_memory(findings);

    for (size_t i = 0; status == TW_OK && i < blank_count; i++) {
        blanks[i] = (struct blank){ .runs = asked[i].runs, .common = common_of(asked[i].job, findings) };
        status = tw_asked_of_blank(&asked[i], count, findings);
    }
    for (size_t i = 0; status == TW_OK && i < blank_count; i++)
        status = open_blank(&blanks[i], count, cell_mm);
    for (size_t i = 0; status == TW_OK && i < count; i++)
        status = run_on_blanks(blanks, blank_count, count, i);
    for (size_t i = 0; blanks && i < blank_count; i++)
        close_blank(&blanks[i]);
    free(blanks);
    for (size_t i = 0; i < blank_count; i++)
        compare_limits(&asked[i], count);
    return status;
}
