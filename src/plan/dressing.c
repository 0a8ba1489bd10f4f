/* dressing.c - see dressing.h. */
#include "plan/dressing.h"

#include "plan/scene/scene.h"
#include "tangwright/relief.h"
#include "tangwright/wear.h"

#include <math.h>
#include <stdio.h>

/* Of what the wheel takes between two dressings, so much is sure to be planned with. */
#define USED_SHARE 0.9

/* What is ground without leaving the part: a layer, of one trough by a disc. */
static enum tw_status refuse_long_stay(const struct tw_job *job, const struct tw_setup_plan *setup,
                                       struct tw_findings *findings)
{
    const struct tw_wheel *wheel = tw_scope_wheel(job, setup->scope);
    struct tw_place at = { .file = job->path, .key = "relief" };
    double step_mm = tw_infeed_step_mm(job), deepest_mm = tw_setup_deepest_mm(setup), lighter_mm;
    const char *key = wheel == &job->wheel ? "wheel" : "relief_wheel";
    char lighter[80] = "";

    lighter_mm = step_mm * floor(USED_SHARE * deepest_mm * wheel->dress_after_mm3 / setup->relief.stay_mm3 / step_mm);
    if (lighter_mm >= fmax(step_mm, wheel->min_infeed_mm))
        snprintf(lighter, sizeof lighter, "; lighter layers (%s.max_infeed = \"%.4g mm\") would do", key, lighter_mm);
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "side %s, relief: one layer%s takes %.0f mm3, and the wheel wants dressing after %.0f mm3, which it is "
        "only between two of them%s; a wheel that goes longer (%s.dress_after = \"%.0f mm3\" or more) does%s",
        tw_side_letter(setup->face.side), wheel->kind == TW_WHEEL_DISC ? " of one trough" : "", setup->relief.stay_mm3,
        wheel->dress_after_mm3, lighter, key, ceil(setup->relief.stay_mm3 / USED_SHARE), *lighter ? " too" : "");
}

enum tw_status tw_dressing_check(const struct tw_job *job, const struct tw_setup_plan *setup,
                                 struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "machine.program.program_stop" };
    bool hollows = setup->scope == TW_SCOPE_RELIEF;
    double part_mm3 = hollows ? setup->relief.taken_mm3 : setup->loss.volume_mm3;

    if (hollows && tw_scope_wheel(job, setup->scope)->dress_after_mm3 > 0.0 &&
        setup->relief.stay_mm3 > tw_scope_wheel(job, setup->scope)->dress_after_mm3)
        return refuse_long_stay(job, setup, findings);
    if (setup->ledger.stops == 0 || job->machine.dialect.program_stop)
        return TW_OK;
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "side %s%s takes %.0f mm3 off %d part%s, and the wheel wants dressing after %.0f mm3: the program would have "
        "to stop for it, and this controller has no M0 (program_stop = false;); %s, or take a wheel that goes "
        "longer (wheel.dress_after)",
        tw_side_letter(setup->face.side), hollows ? ", relief:" : "", job->parts * part_mm3, job->parts,
        job->parts > 1 ? "s" : "", tw_scope_wheel(job, setup->scope)->dress_after_mm3,
        job->parts > 1 ? "grind fewer parts in a program"
        : hollows      ? "make the relief shallower (relief.depth)"
                       : "grind each side in two programs (order = \"rough-then-finish\";)");
}

/* What it has taken off since it was dressed when the program is through. */
static double after_mm3(const struct tw_setup_plan *setup)
{
    bool dressed = setup->dress_before || setup->ledger.stops > 0;

    return setup->ledger.end_mm3 + (dressed ? 0.0 : setup->begins_mm3);
}

void tw_dressing_between(const struct tw_job *job, struct tw_plan *plan)
{
    for (size_t i = 0; i < plan->setup_count; i++) {
        struct tw_setup_plan *setup = &plan->setups[i];
        const struct tw_wheel *wheel = tw_scope_wheel(job, setup->scope);
        bool goes_on =
            i > 0 && tw_scope_wheel(job, setup[-1].scope) == wheel; /* another one is dressed when it is put on */

        setup->begins_mm3 = goes_on ? after_mm3(&setup[-1]) : 0.0;
        setup->dress_before = setup->begins_mm3 > 0.0 &&
                              tw_wear_stay_is_full(setup->begins_mm3 + setup->ledger.first_mm3, wheel->dress_after_mm3);
    }
}

void tw_dressing_remark(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_findings *findings)
{
    struct tw_wheel wheel = *tw_scope_wheel(job, setup->scope);
    struct tw_place at = { .file = job->path, .key = "wheel.dress_after" };

    if (setup->dress_before)
        tw_remark(findings, at,
                  "side %s%s%s: the wheel has taken up to %.0f mm3 off before, and with %.0f mm3 of this program that "
                  "is more than the "
                  "%.0f mm3 after which it wants dressing: dress it before, and change the up value of every work "
                  "offset in use by "
                  "what it lost",
                  tw_side_letter(setup->face.side), *tw_scope_name(setup->scope) ? ", " : "",
                  tw_scope_name(setup->scope), setup->begins_mm3, setup->ledger.first_mm3, wheel.dress_after_mm3);
    if (setup->ledger.stops > 0)
        tw_remark(
            findings, at,
            "side %s%s%s: the program stops %d time%s for the wheel to be dressed, which it wants after %.0f mm3; "
            "begin with a dressed wheel",
            tw_side_letter(setup->face.side), *tw_scope_name(setup->scope) ? ", " : "", tw_scope_name(setup->scope),
            setup->ledger.stops, setup->ledger.stops > 1 ? "s" : "", wheel.dress_after_mm3);
}
