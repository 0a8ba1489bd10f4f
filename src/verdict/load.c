/* load.c - power and force of a cut as it was found on the field. */
#include "verdict/load.h"

#include "tangwright/heat.h"
#include "tangwright/rim.h"
#include "verdict/state.h"

#include <math.h>

static double speed_of(const struct tw_job *job, const struct tw_step *step)
{
    return step->kind == TW_STEP_FEED ? step->feed_mm_per_s : job->machine.along.rapid_mm_per_s;
}

static enum tw_status flash_of(const struct tw_job *job, const struct tw_step *step, double depth_mm,
                               struct tw_flash *out, struct tw_findings *findings)
{
    bool cup = job->wheel.kind == TW_WHEEL_CUP;
    struct tw_contact contact = {
        .depth_mm = depth_mm,
        .table_mm_per_s = speed_of(job, step),
        .wheel_mm_per_s = tw_state_wheel_mm_per_s(job, step),
        .contact_mm = cup ? tw_cup_contact_mm(&job->wheel, 0.0, depth_mm) /* power does not depend on it */
                          : tw_disc_contact_mm(depth_mm, &job->wheel),
    };

    return tw_flash_estimate(&contact, &job->wheel, &job->steel, &job->coolant, job->coolant.temperature_degC, out,
                             findings);
}

/* Straight down, the rate of removal is the contact's area times the feed. */
static double sinking_power_W(const struct tw_job *job, const struct tw_step *step, const struct tw_load *load)
{
    double rate_mm3_per_s = load->contact_mm2 * speed_of(job, step);
    double chip_mm = rate_mm3_per_s / fmax(load->width_mm, 1e-3) / tw_state_wheel_mm_per_s(job, step);

    return tw_specific_energy_J_per_mm3(chip_mm, &job->wheel) * rate_mm3_per_s;
}

static enum tw_status check_power(const struct tw_job *job, const struct tw_step *step, const struct tw_load *load,
                                  struct tw_spot spot, struct tw_check *checks, double *tangential_N,
                                  struct tw_findings *findings)
{
    struct tw_flash flash;
    double power_W;
    enum tw_status status = flash_of(job, step, fmin(load->mean_mm, load->depth_mm), &flash, findings);

    if (status != TW_OK)
        return status;
    power_W = load->sinks ? sinking_power_W(job, step, load) : flash.power_W_per_mm * load->width_mm;
    tw_check_note(&checks[TW_CHECK_POWER], power_W, spot);
    *tangential_N = 1000.0 * power_W / tw_state_wheel_mm_per_s(job, step);
    return TW_OK;
}

enum tw_status tw_load_check(const struct tw_job *job, const struct tw_step *step, const struct tw_load *load,
                             struct tw_spot spot, struct tw_check checks[TW_CHECK_COUNT], double *tangential_N,
                             struct tw_findings *findings)
{
    *tangential_N = 0.0;
    if (load->depth_mm <= TW_REMOVAL_TOUCH_MM || load->mean_mm <= TW_REMOVAL_TOUCH_MM ||
        tw_state_wheel_mm_per_s(job, step) <= 0.0)
        return TW_OK;
    return check_power(job, step, load, spot, checks, tangential_N, findings);
}
