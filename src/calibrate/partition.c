/* partition.c - bounds of the share from marks: the model's peak rises with the share, so each mark is one
 * root. */
#include "calibrate/partition.h"

#include "base/numbers.h"
#include "tangwright/heat.h"
#include "tangwright/rim.h"
#include "tangwright/taper.h"

#include <math.h>

/* A mark bounds the share as if its temperature were this many standard uncertainties off to the harmless
 * side. */
#define MARK_COVERAGE 2.0
#define HALVINGS      60
#define BARELY_ROOM   1e-6

double partition_wheel_mm_per_s(const struct tw_job *job, const struct tw_reading *reading, double usual_mm_per_s)
{
    return reading->spindle_rpm > 0.0 ? tw_rim_mm_per_s(job->wheel.diameter_mm, reading->spindle_rpm) : usual_mm_per_s;
}

/* The scrap lies and is ground as the tang will be. */
static double lean_of(const struct tw_job *job)
{
    struct tw_face face = tw_face_of(job, TW_SIDE_A);

    return tw_face_lean(job, &face);
}

static struct tw_contact contact_of(const struct partition_setup *setup, const struct tw_reading *mark)
{
    const struct tw_job *job = setup->job;

    return (struct tw_contact){
        .depth_mm = mark->depth_mm,
        .table_mm_per_s = mark->table_mm_per_s,
        .wheel_mm_per_s = partition_wheel_mm_per_s(job, mark, setup->wheel_mm_per_s),
        .contact_mm = job->wheel.kind == TW_WHEEL_CUP ? tw_cup_contact_mm(&job->wheel, lean_of(job), mark->depth_mm)
                                                      : tw_disc_contact_mm(mark->depth_mm, &job->wheel),
    };
}

static double start_of(const struct partition_setup *setup, const struct tw_reading *mark)
{
    return isnan(mark->start_degC) ? setup->job->coolant.temperature_degC : mark->start_degC;
}

/* Everything about one mark that does not change with the share. */
struct pass {
    struct tw_contact contact;
    struct tw_wheel wheel;
    double start_degC, factor;
};

static struct pass pass_of(const struct partition_setup *setup, const struct tw_reading *mark)
{
    const struct tw_job *job = setup->job;
    struct pass pass = { contact_of(setup, mark), setup->wheel, start_of(setup, mark), 1.0 };

    if (mark->thickness_mm > 0.0)
        pass.factor = fmax(1.0, tw_plate_factor(pass.contact.contact_mm, mark->table_mm_per_s, mark->thickness_mm,
                                                job->coolant.joint_conductance_W_per_mm2_K, &job->steel));
    return pass;
}

/* Hottest the surface gets with this share of the heat; share 0: by Hahn's rule. */
static enum tw_status peak_of(const struct partition_setup *setup, struct pass *pass, double share, double *out_degC,
                              struct tw_findings *findings)
{
    struct tw_flash flash;
    enum tw_status status;

    pass->wheel.work_partition = share;
    status = tw_flash_estimate(&pass->contact, &pass->wheel, &setup->job->steel, &setup->job->coolant, pass->start_degC,
                               &flash, findings);
    if (status == TW_OK)
        *out_degC = pass->start_degC + flash.rise_K * pass->factor;
    return status;
}

/* Smallest allowed share at which the peak reaches the temperature: below 0 if even the least does, above
 * 1 if even the most does not. Where the coolant boils off the peak jumps, so only halving is safe. */
static enum tw_status share_at(const struct partition_setup *setup, struct pass *pass, double degC, double *out,
                               struct tw_findings *findings)
{
    double low = PARTITION_LEAST, high = PARTITION_MOST, least_degC, most_degC;
    enum tw_status status = peak_of(setup, pass, low, &least_degC, findings);

    if (status == TW_OK)
        status = peak_of(setup, pass, high, &most_degC, findings);
    if (status != TW_OK)
        return status;
    if (least_degC >= degC || most_degC < degC) {
        *out = least_degC >= degC ? -1.0 : 2.0;
        return TW_OK;
    }
    for (int i = 0; i < HALVINGS; i++) {
        double middle = 0.5 * (low + high), peak_degC;

        status = peak_of(setup, pass, middle, &peak_degC, findings);
        if (status != TW_OK)
            return status;
        if (peak_degC >= degC)
            high = middle;
        else
            low = middle;
    }
    *out = high;
    return TW_OK;
}

static struct tw_place place_of(const struct tw_readings *readings, const struct tw_reading *mark)
{
    return (struct tw_place){ .file = readings->path, .line = mark->line };
}

/* ---- one mark ---- */

static enum tw_status refuse_mark(const struct partition_setup *setup, const struct tw_readings *readings,
                                  const struct tw_reading *mark, struct pass *pass, bool too_hot,
                                  struct tw_findings *findings)
{
    double peak_degC;
    enum tw_status status = peak_of(setup, pass, too_hot ? PARTITION_LEAST : PARTITION_MOST, &peak_degC, findings);

    if (status != TW_OK)
        return status;
    if (too_hot)
        return tw_fail(findings, TW_BAD_INPUT, place_of(readings, mark),
                       "%g degC was not passed, but the model gives %.0f degC even if only %g %% of the heat of wheel "
                       "and steel entered the steel; measure the specific energy (readings of kind power), and check "
                       "the coolant and the wheel's contact in the profiles",
                       mark->temperature_degC, peak_degC, 100.0 * PARTITION_LEAST);
    return tw_fail(findings, TW_BAD_INPUT, place_of(readings, mark),
                   "%g degC was reached, but the model gives %.0f degC even if all heat of wheel and steel entered the "
                   "steel; measure the specific energy (readings of kind power), and check whether the coolant got "
                   "there, the scrap's start_temperature and the wheel's contact in the profiles",
                   mark->temperature_degC, peak_degC);
}

static enum tw_status bound_below(const struct partition_setup *setup, const struct tw_readings *readings,
                                  const struct tw_reading *mark, struct pass *pass, struct tw_partition_fit *fit,
                                  struct tw_findings *findings)
{
    double share;
    enum tw_status status =
        share_at(setup, pass, mark->temperature_degC - MARK_COVERAGE * mark->uncertainty_K, &share, findings);

    if (status != TW_OK)
        return status;
    if (share > PARTITION_MOST)
        return refuse_mark(setup, readings, mark, pass, false, findings);
    if (share > fit->lower) {
        fit->lower = share;
        fit->lower_line = mark->line;
    }
    return TW_OK;
}

static enum tw_status bound_above(const struct partition_setup *setup, const struct tw_readings *readings,
                                  const struct tw_reading *mark, struct pass *pass, struct tw_partition_fit *fit,
                                  struct tw_findings *findings)
{
    double share;
    enum tw_status status =
        share_at(setup, pass, mark->temperature_degC + MARK_COVERAGE * mark->uncertainty_K, &share, findings);

    if (status != TW_OK)
        return status;
    if (share < PARTITION_LEAST)
        return refuse_mark(setup, readings, mark, pass, true, findings);
    if (share < fit->upper) {
        fit->upper = share;
        fit->upper_line = mark->line;
    }
    return TW_OK;
}

static enum tw_status check_start(const struct partition_setup *setup, const struct tw_readings *readings,
                                  const struct tw_reading *mark, struct tw_findings *findings)
{
    struct tw_place place = place_of(readings, mark);
    double start_degC = start_of(setup, mark);

    place.key = "temperature";
    if (mark->temperature_degC - MARK_COVERAGE * mark->uncertainty_K > start_degC)
        return TW_OK;
    return tw_fail(findings, TW_BAD_INPUT, place,
                   "%g degC, known to %g K, cannot be told from the %g degC that the scrap had before the "
                   "pass; take a mark for a higher temperature",
                   mark->temperature_degC, mark->uncertainty_K, start_degC);
}

static enum tw_status take_mark(const struct partition_setup *setup, const struct tw_readings *readings,
                                const struct tw_reading *mark, struct tw_partition_fit *fit,
                                struct tw_mark_check *check, struct tw_findings *findings)
{
    struct pass pass = pass_of(setup, mark);
    enum tw_status status = check_start(setup, readings, mark, findings);

    if (status == TW_OK)
        status = peak_of(setup, &pass, 0.0, &check->rule_peak_degC, findings);
    if (status == TW_OK)
        status = share_at(setup, &pass, mark->temperature_degC, &check->share, findings);
    if (status != TW_OK)
        return status;
    if (check->share < PARTITION_LEAST || check->share > PARTITION_MOST)
        check->share = (double)NAN;
    check->peak_degC = (double)NAN;
    if (mark->mark != TW_MARK_NOT_REACHED)
        status = bound_below(setup, readings, mark, &pass, fit, findings);
    if (status == TW_OK && mark->mark != TW_MARK_REACHED)
        status = bound_above(setup, readings, mark, &pass, fit, findings);
    return status;
}

/* ---- all marks ---- */

static const struct tw_reading *reading_of_line(const struct tw_readings *readings, int line)
{
    for (size_t i = 0; i < readings->count; i++)
        if (readings->items[i].line == line)
            return &readings->items[i];
    return NULL;
}

/* No mark says how hot it did not get. Name the cut that would: the last mark's. */
static enum tw_status refuse_open_end(const struct partition_setup *setup, const struct tw_readings *readings,
                                      const struct tw_reading *mark, const struct tw_partition_fit *fit,
                                      struct tw_findings *findings)
{
    struct tw_place place = { .file = readings->path };
    struct pass pass = pass_of(setup, mark);
    double most_degC;
    enum tw_status status = peak_of(setup, &pass, PARTITION_MOST, &most_degC, findings);

    if (status != TW_OK)
        return status;
    return tw_fail(
        findings, TW_BAD_INPUT, place,
        "work_partition cannot be determined: %s%.2f, and nothing says that it is below 1; add a "
        "mark that is not reached, for less than the %.0f degC that the cut of line %d would get "
        "at most%s",
        fit->lower_line ? "the marks say that it is at least " : "no mark bounds it; it may be anything from ",
        fit->lower, most_degC, mark->line,
        fit->lower > fit->rule ? "; Hahn's rule is too low for this wheel, so until then plan with work_partition = 1"
                               : "");
}

static enum tw_status refuse_contradiction(const struct tw_readings *readings, const struct tw_partition_fit *fit,
                                           struct tw_findings *findings)
{
    struct tw_place place = { .file = readings->path, .line = fit->lower_line };

    return tw_fail(findings, TW_BAD_INPUT, place,
                   "this mark asks for a work_partition of at least %.3g, but the mark of line %d for less than %.3g; "
                   "both cannot hold: check depth, table speed, coolant and the sharpness of the wheel in both tests, "
                   "or state a larger uncertainty",
                   fit->lower, fit->upper_line, fit->upper);
}

/* How far the hot end moves with the specific energy. */
static enum tw_status fill_from_energy(const struct partition_setup *setup, const struct tw_readings *readings,
                                       struct tw_partition_fit *fit, struct tw_findings *findings)
{
    const struct tw_reading *mark = reading_of_line(readings, fit->upper_line);
    struct pass pass = pass_of(setup, mark);
    double chip_mm = mark->depth_mm * mark->table_mm_per_s / pass.contact.wheel_mm_per_s, share;
    enum tw_status status;

    fit->from_energy = (double)NAN;
    if (!setup->energy)
        return TW_OK;
    pass.wheel.specific_energy_J_per_mm3 *= exp(-tw_energy_fit_relative_at(setup->energy, chip_mm));
    status = share_at(setup, &pass, mark->temperature_degC + MARK_COVERAGE * mark->uncertainty_K, &share, findings);
    if (status == TW_OK)
        fit->from_energy = fmin(share, PARTITION_MOST) - fit->upper;
    return status;
}

static enum tw_status fill_peaks(const struct partition_setup *setup, const struct tw_readings *readings, double share,
                                 struct tw_mark_check *checks, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < readings->count; i++) {
        if (readings->items[i].kind == TW_READING_MARK) {
            struct pass pass = pass_of(setup, &readings->items[i]);

            status = peak_of(setup, &pass, share, &checks++->peak_degC, findings);
        }
    }
    return status;
}

/* Each mark's bound; every mark that contradicts the model is reported. */
static enum tw_status take_marks(const struct partition_setup *setup, const struct tw_readings *readings,
                                 struct tw_partition_fit *fit, struct tw_mark_check *checks,
                                 const struct tw_reading **last, struct tw_findings *findings)
{
    enum tw_status worst = TW_OK;

    for (size_t i = 0; i < readings->count; i++) {
        const struct tw_reading *mark = &readings->items[i];
        enum tw_status status;

        if (mark->kind != TW_READING_MARK)
            continue;
        status = take_mark(setup, readings, mark, fit, checks++, findings);
        worst = worst == TW_OK ? status : worst;
        *last = mark;
    }
    return worst;
}

enum tw_status partition_fit(const struct partition_setup *setup, const struct tw_readings *readings,
                             struct tw_partition_fit *out, struct tw_mark_check *checks, struct tw_findings *findings)
{
    struct tw_wheel by_rule = setup->wheel;
    struct tw_partition_fit fit = { .lower = PARTITION_LEAST, .upper = PARTITION_MOST };
    const struct tw_reading *last = NULL;
    enum tw_status status = take_marks(setup, readings, &fit, checks, &last, findings);

    by_rule.work_partition = 0.0;
    fit.rule = tw_work_partition(&by_rule, &setup->job->steel, setup->wheel_mm_per_s);
    if (status != TW_OK)
        return status;
    if (fit.upper_line == 0 || fit.upper > PARTITION_MOST - BARELY_ROOM)
        return refuse_open_end(setup, readings, last, &fit, findings);
    if (fit.lower > fit.upper)
        return refuse_contradiction(readings, &fit, findings);
    fit.value = fit.upper;
    status = fill_from_energy(setup, readings, &fit, findings);
    if (status == TW_OK)
        status = fill_peaks(setup, readings, fit.value, checks, findings);
    if (status == TW_OK)
        *out = fit;
    return status;
}
