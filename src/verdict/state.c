/* state.c - what must be switched on while the wheel is at work. */
#include "verdict/state.h"

#include "base/numbers.h"

#include <math.h>

/* By how much the speed may differ from the job's. */
#define SPEED_SHARE 0.02

double tw_state_wheel_mm_per_s(const struct tw_job *job, const struct tw_step *step)
{
    double rpm = job->machine.spindle_programmable ? step->spindle_rpm : job->machine.spindle_max_rpm;

    return tw_rim_mm_per_s(job->wheel.diameter_mm, rpm);
}

static bool check_spindle(const struct tw_job *job, const struct tw_step *step, struct tw_spot spot,
                          struct tw_check *check)
{
    bool counter = job->machine.spindle_counterclockwise;
    enum tw_rs274_spindle right = counter ? TW_RS274_SPINDLE_COUNTERCLOCKWISE : TW_RS274_SPINDLE_CLOCKWISE;
    double wanted_rpm = tw_rim_rpm(job->wheel.diameter_mm, job->wheel.speed_mm_per_s);

    if (step->spindle == TW_RS274_SPINDLE_OFF)
        tw_check_fault(check, spot, "the wheel is at work while the spindle stands");
    else if (step->spindle != right)
        tw_check_fault(check, spot, "the spindle turns the wrong way: M%d is wanted", counter ? 4 : 3);
    else if (job->machine.spindle_programmable && fabs(step->spindle_rpm - wanted_rpm) > SPEED_SHARE * wanted_rpm)
        tw_check_fault(check, spot, "%.0f rpm, but this wheel's speed asks for %.0f", step->spindle_rpm, wanted_rpm);
    else if (step->spun_s < 0.999 * job->machine.spindle_up_to_speed_s)
        tw_check_fault(check, spot,
                       "the wheel is at work %.3g s after the spindle's start; it needs %.3g s to come up to speed",
                       step->spun_s, job->machine.spindle_up_to_speed_s);
    else
        return true;
    return false;
}

/* The code that the job wants in force: 7, 8, or 0 for none. -1: the coolant is not the program's business. */
static int wanted_code(const struct tw_job *job)
{
    const struct tw_dialect *dialect = &job->machine.dialect;
    int code = job->coolant.kind == TW_COOLANT_FLOOD ? dialect->flood_code : dialect->mist_code;

    if (job->coolant.kind == TW_COOLANT_DRY)
        return 0;
    return code > 0 ? code : -1;
}

static bool check_coolant(const struct tw_job *job, const struct tw_step *step, struct tw_spot spot,
                          struct tw_check *check)
{
    const char *name = job->coolant.kind == TW_COOLANT_FLOOD ? "flood coolant" : "mist";
    int code = wanted_code(job);

    if (code < 0)
        return true;
    if (code == 0 && (step->flood || step->mist))
        tw_check_fault(check, spot, "coolant is on, but the job is to be ground dry");
    else if (code > 0 && !(code == 8 ? step->flood : step->mist))
        tw_check_fault(check, spot, "the wheel is at work without the %s (M%d) that the job relies on", name, code);
    else if (code > 0 && (code == 8 ? step->mist : step->flood))
        tw_check_fault(check, spot, "M%d is on as well, but the job asks for %s (M%d) alone", 15 - code, name, code);
    else
        return true;
    return false;
}

bool tw_state_check(const struct tw_job *job, const struct tw_step *step, struct tw_spot spot,
                    struct tw_check checks[TW_CHECK_COUNT])
{
    bool turns = check_spindle(job, step, spot, &checks[TW_CHECK_SPINDLE]);

    return check_coolant(job, step, spot, &checks[TW_CHECK_COOLANT]) && turns;
}
