/* straight_table.c - the straightening for a person: what comes off where, and how to pack and tilt the blank. */
#include "tangwright/report.h"

#include "base/numbers.h"
#include "base/plain.h"
#include "base/text.h"

#include <math.h>
#include <stdio.h>

#define DEGREES (180.0 / 3.14159265358979323846)

static const char *side_word(double towards_a_mm)
{
    return towards_a_mm < 0.0 ? "B" : "A";
}

/* ---- what was found ---- */

static void print_shape(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight)
{
    const struct tw_survey *survey = &job->survey;
    double guard_mm = straight->gauges[straight->gauge_count - 1].guard_mm;

    tw_text_print(text, "%s: the blank of ", job->name);
    tw_plain_append(text, survey->path);
    tw_text_print(text, "\n");
    tw_text_print(text, "  %-16s %.3f mm at most, towards side %s, at x %.1f mm   (%.4f in at %.2f in)\n", "bow",
                  fabs(straight->bow_mm), side_word(straight->bow_mm), straight->bow_x_mm,
                  fabs(straight->bow_mm) / TW_MM_PER_INCH, straight->bow_x_mm / TW_MM_PER_INCH);
    if (isnan(straight->twist_rad))
        tw_text_print(text, "  %-16s not measured; read spine and edge side at some x to see it\n", "twist");
    else
        tw_text_print(text, "  %-16s %.3f deg at most, at x %.1f mm; %.3g deg allowed\n", "twist",
                      fabs(straight->twist_rad) * DEGREES, straight->twist_x_mm,
                      job->straighten.largest_twist_rad * DEGREES);
    tw_text_print(text, "  %-16s steps of %.4g mm; heights at the butt are sure to %.3f mm   (%.4f in)\n", "indicator",
                  survey->resolution_mm, guard_mm, guard_mm / TW_MM_PER_INCH);
}

static void print_answer(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight)
{
    const char *answer = straight->twisted       ? "NO: twisted"
                         : straight->straight    ? "yes"
                         : straight->comes_clean ? "NO: the straightest that cleans up is below"
                                                 : "NO: it does not even clean up; the nearest is below";

    tw_text_print(text, "  %-16s %s%s\n", "comes straight", answer,
                  straight->straight_in_doubt ? " (but less than the indicator can tell decides it)" : "");
    if (straight->below_mm > 0.0)
        tw_text_print(text, "  %-16s side %s by up to %.3f mm, at x %.1f mm: old skin remains   (%.4f in)\n",
                      "stays short", tw_side_letter(straight->below_side), straight->below_mm, straight->below_x_mm,
                      straight->below_mm / TW_MM_PER_INCH);
    tw_text_print(text,
                  "  %-16s %.3f mm at most   (%.4f in); %.3g mm allowed; within what was measured %.3f to %.3f mm\n",
                  "deviation left", straight->deviation_mm, straight->deviation_mm / TW_MM_PER_INCH,
                  job->straighten.tolerance_mm, straight->deviation_low_mm, straight->deviation_high_mm);
    if (straight->tilt != 0.0 || straight->offset_mm != 0.0)
        tw_text_print(text, "  %-16s towards side %s by %.4f deg from the taper start on%s", "middle tilted",
                      side_word(straight->tilt), fabs(atan(straight->tilt)) * DEGREES,
                      straight->offset_mm == 0.0 ? "\n" : "");
    if (straight->offset_mm != 0.0)
        tw_text_print(text, ", and %.3f mm towards side %s at the taper start\n", fabs(straight->offset_mm),
                      side_word(straight->offset_mm));
}

static void print_mends(struct tw_text *text, const struct tw_straight *straight)
{
    if (straight->straight)
        return;
    if (!isnan(straight->butt_mm))
        tw_text_print(text, "  %-16s butt_thickness = \"%.2f mm\"   (%.4f in)\n", "straight with",
                      floor(straight->butt_mm * 100.0 + 1e-6) / 100.0,
                      floor(straight->butt_mm * 100.0 + 1e-6) / 100.0 / TW_MM_PER_INCH);
    if (!isnan(straight->start_mm))
        tw_text_print(text, "  %-16s the taper starting %.0f mm later\n",
                      isnan(straight->butt_mm) ? "straight with" : "or with", straight->start_mm);
    if (!isnan(straight->bend_mm))
        tw_text_print(text,
                      "  %-16s a blank bent to a bow of at most %.2f mm at x %.1f mm before it is ground; %.2f mm now  "
                      " (%.4f in)\n",
                      isnan(straight->butt_mm) && isnan(straight->start_mm) ? "straight with" : "or with",
                      tw_straight_bend_to_mm(straight), straight->bow_x_mm, fabs(straight->bow_mm),
                      tw_straight_bend_to_mm(straight) / TW_MM_PER_INCH);
    else if (isnan(straight->butt_mm) && isnan(straight->start_mm))
        tw_text_print(text, "  %-16s nothing: even without its bow the blank lacks stock for this taper\n",
                      "straight with");
}

/* ---- gauge points ---- */

static void print_mm_and_inch(struct tw_text *text, double value_mm)
{
    tw_text_print(text, "  %7.3f %8.4f", value_mm, value_mm / TW_MM_PER_INCH);
}

static void print_flags(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight,
                        const struct tw_gauge_point *gauge)
{
    for (int side = 0; side < 2; side++) {
        double lacks_mm = straight->comes_clean ? gauge->straight_lacks_mm[side] : gauge->missing_mm[side];
        double room_mm = gauge->low_mm[side] - gauge->finished_mm[side] - job->straighten.cleanup_mm;

        if (!straight->straight && lacks_mm > 0.0)
            tw_text_print(text, "  %c lacks %.3f%s", "AB"[side], lacks_mm,
                          straight -> comes_clean ? " to be straight" : "");
        else if (gauge->below_mm[side] > 0.0)
            tw_text_print(text, "  %c stays %.3f below", "AB"[side], gauge -> below_mm[side]);
        else if (gauge->x_mm >= job->straighten.cleanup_from_mm && room_mm < gauge->guard_mm)
            tw_text_print(text, "  %c: cleans up by less than measured", "AB"[side]);
    }
}

/* A blank that does not come straight is shown, but not how to clamp it. */
static bool may_be_cut(const struct tw_straight *straight)
{
    return straight->straight && !straight->twisted;
}

static void print_gauges(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight)
{
    tw_text_print(text, "\nwhat %s off each face at each gauge point, to the finished tang%s\n",
                  may_be_cut(straight) ? "comes" : "would come",
                  job->finish.allowance_mm > 0.0 ? " and its hand-finishing allowance" : "");
    tw_text_print(text, "  %14s  %16s  %16s  %16s  %16s  %16s  %8s\n", "x", "bow towards A", "off side A", "off side B",
                  "finished", "middle to A", "twist");
    tw_text_print(text, "  %6s %7s", "mm", "in");
    for (int i = 0; i < 5; i++)
        tw_text_print(text, "  %7s %8s", "mm", "in");
    tw_text_print(text, "  %8s\n", "deg");
    for (size_t i = 0; i < straight->gauge_count; i++) {
        const struct tw_gauge_point *gauge = &straight->gauges[i];
        double left_mm = gauge->thickness_mm - gauge->off_mm[0] - gauge->off_mm[1];

        tw_text_print(text, "  %6.1f %7.3f", gauge->x_mm, gauge->x_mm / TW_MM_PER_INCH);
        print_mm_and_inch(text, gauge->bow_mm);
        print_mm_and_inch(text, gauge->off_mm[0]);
        print_mm_and_inch(text, gauge->off_mm[1]);
        print_mm_and_inch(text, left_mm);
        print_mm_and_inch(text, gauge->deviation_mm);
        if (isnan(gauge->twist_rad))
            tw_text_print(text, "  %8s", "-");
        else
            tw_text_print(text, "  %8.3f", gauge->twist_rad * DEGREES);
        print_flags(text, job, straight, gauge);
        tw_text_append(text, "\n", 1);
    }
    tw_text_print(text, "  cleaning up is asked for from x %.4g mm on, at least %.4g mm off each face\n",
                  job->straighten.cleanup_from_mm, job->straighten.cleanup_mm);
}

/* ---- packing ---- */

static void print_blocks(struct tw_text *text, const struct tw_stack *stack, bool inch)
{
    for (size_t i = 0; i < stack->count; i++)
        tw_text_print(text, inch ? "%s%.4f" : "%s%.7g", i ? " + " : "",
                      stack->blocks_mm[i] / (inch ? TW_MM_PER_INCH : 1.0));
    tw_text_print(text, inch ? " = %.4f in" : " = %.7g mm", stack->height_mm / (inch ? TW_MM_PER_INCH : 1.0));
}

static void print_sine(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight,
                       enum tw_side side)
{
    enum tw_block_set set = job->fixture.blocks;
    struct tw_sine sine = tw_sine_stack(job->fixture.sine_bar_mm, tw_packing_tilt_rad(job, straight, side), set);

    tw_text_print(text, "  %-16s butt end up by %.4f deg: %.3f mm in %.4g mm   (%.4f in in %.3f in)\n", "tilt",
                  sine.angle_rad * DEGREES, sine.rise_mm, sine.bar_mm, sine.rise_mm / TW_MM_PER_INCH,
                  sine.bar_mm / TW_MM_PER_INCH);
    if (!sine.possible) {
        tw_text_print(text, "  %-16s the %s set makes no such stack; use a wedge\n", "stack", tw_block_set_name(set));
        return;
    }
    tw_text_print(text, "  %-16s ", "stack, high roll");
    print_blocks(text, &sine.under_high, tw_block_set_is_inch(set));
    tw_text_print(text, "   (%s set)\n", tw_block_set_name(set));
    if (sine.under_low.count == 0)
        return;
    tw_text_print(text, "  %-16s ", "stack, low roll");
    print_blocks(text, &sine.under_low, tw_block_set_is_inch(set));
    tw_text_print(text, ": no stack of the set is as low as the rise, so both rolls are raised\n");
}

static void print_setup(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight,
                        enum tw_side side)
{
    double lowest_mm = 0.0;

    tw_text_print(text, "\nside %s up: the gap under the tang, to be packed before it is held\n", tw_side_letter(side));
    if (job->mount == TW_MOUNT_TILTED)
        print_sine(text, job, straight, side);
    tw_text_print(text, "  %14s  %16s\n  %6s %7s  %7s %8s\n", "x", "gap", "mm", "in", "mm", "in");
    for (size_t i = 0; i < straight->gauge_count; i++) {
        double x_mm = straight->gauges[i].x_mm;
        double gap_mm = tw_packing_mm(job, straight, side, x_mm);

        lowest_mm = fmin(lowest_mm, gap_mm);
        tw_text_print(text, "  %6.1f %7.3f", x_mm, x_mm / TW_MM_PER_INCH);
        print_mm_and_inch(text, gap_mm);
        tw_text_append(text, "\n", 1);
    }
    if (lowest_mm < -job->survey.resolution_mm)
        tw_text_print(
            text,
            "  The tang hangs %.3f mm under the datum pad's level (%.4f in): the pad must stand that much higher\n"
            "  over the rest, and all gaps are then larger by as much.\n",
            -lowest_mm, -lowest_mm / TW_MM_PER_INCH);
}

enum tw_status tw_straight_table(const struct tw_job *job, const struct tw_straight *straight, char **out,
                                 struct tw_findings *findings)
{
    struct tw_text text = { 0 };

    print_shape(&text, job, straight);
    print_answer(&text, job, straight);
    print_mends(&text, straight);
    print_gauges(&text, job, straight);
    if (may_be_cut(straight)) {
        print_setup(&text, job, straight, TW_SIDE_A);
        print_setup(&text, job, straight, TW_SIDE_B);
    } else {
        tw_text_print(&text, "\nNo packing is shown: this blank must not be ground as it is.\n");
    }
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
