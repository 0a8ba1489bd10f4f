/* straight_table.c - the straightening for a person: what comes off where, and how to pack and tilt the blank. */
#include "tangwright/report.h"

#include "base/numbers.h"
#include "base/plain.h"
#include "base/text.h"
#include "base/units.h"
#include "report/lengths.h"

#include <math.h>
#include <stdio.h>

#define DEGREES (180.0 / 3.14159265358979323846)

static const char *side_word(double towards_a_mm)
{
    return towards_a_mm < 0.0 ? "B" : "A";
}

/* ---- what was found ---- */

static void line_of(struct tw_text *text, const char *label, const struct tw_job *job, const char *words,
                    const struct tw_length *lengths)
{
    tw_text_print(text, "  %-16s ", label);
    tw_lengths_print(text, tw_job_in_inches(job), words, lengths);
    tw_text_append(text, "\n", 1);
}

static void print_shape(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight)
{
    const struct tw_survey *survey = &job->survey;
    double guard_mm = straight->gauges[straight->gauge_count - 1].guard_mm;

    tw_text_print(text, "%s: the blank of ", job->name);
    tw_plain_append(text, survey->path);
    tw_text_print(text, "\n");
    line_of(text, "bow", job,
            straight->bow_mm < 0.0 ? "{} at most, towards side B, at x {}" : "{} at most, towards side A, at x {}",
            (struct tw_length[]){ { fabs(straight->bow_mm), 3 }, { straight->bow_x_mm, 1 } });
    if (isnan(straight->twist_rad))
        tw_text_print(text, "  %-16s not measured; read spine and edge side at some x to see it\n", "twist");
    else
        tw_text_print(text, "  %-16s %.3f deg at most, at x %s; %.3g deg allowed\n", "twist",
                      fabs(straight->twist_rad) * DEGREES,
                      tw_length_text(straight->twist_x_mm, 1, tw_job_in_inches(job)).text,
                      job->straighten.largest_twist_rad * DEGREES);
    line_of(text, "indicator", job, "steps of {}; heights at the butt are sure to {}",
            (struct tw_length[]){ { survey->resolution_mm, 3 }, { guard_mm, 3 } });
    line_of(text, "faces", job, "may stand up to {} higher than read; the first layers begin so much higher",
            (struct tw_length[]){ { straight->higher_mm, 3 } });
}

#define LEAST_MM  0.0005 /* what is less is shown as nothing */
#define LEAST_DEG 0.00005

static void print_answer(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight)
{
    bool is_offset = fabs(straight->offset_mm) >= LEAST_MM;
    bool is_moved = is_offset || fabs(atan(straight->tilt)) * DEGREES >= LEAST_DEG;
    const char *answer = straight->twisted       ? "NO: twisted"
                         : straight->straight    ? "yes"
                         : straight->comes_clean ? "NO: the straightest that cleans up is below"
                                                 : "NO: it does not even clean up; the nearest is below";

    tw_text_print(text, "  %-16s %s%s\n", "comes straight", answer,
                  straight->straight_in_doubt ? " (but less than the indicator can tell decides it)" : "");
    if (straight->below_mm > 0.0)
        line_of(text, "stays short", job,
                straight->below_side == TW_SIDE_A ? "side A by up to {}, at x {}: old skin remains"
                                                  : "side B by up to {}, at x {}: old skin remains",
                (struct tw_length[]){ { straight->below_mm, 3 }, { straight->below_x_mm, 1 } });
    line_of(text, "deviation left", job, "{} at most; {} allowed; within what was measured {} to {}",
            (struct tw_length[]){ { straight->deviation_mm, 3 },
                                  { job->straighten.tolerance_mm, 3 },
                                  { straight->deviation_low_mm, 3 },
                                  { straight->deviation_high_mm, 3 } });
    if (is_moved)
        tw_text_print(text, "  %-16s towards side %s by %.4f deg from the taper start on%s", "middle tilted",
                      side_word(straight->tilt), fabs(atan(straight->tilt)) * DEGREES, is_offset ? "" : "\n");
    if (is_offset)
        tw_text_print(text, ", and %s towards side %s at the taper start\n",
                      tw_length_text(fabs(straight->offset_mm), 3, tw_job_in_inches(job)).text,
                      side_word(straight->offset_mm));
}

static void print_mends(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight)
{
    bool inches = tw_job_in_inches(job);
    double step_mm = inches ? 0.0005 * TW_MM_PER_INCH : 0.01; /* as a person writes it, never thicker */
    double butt_mm = floor(straight->butt_mm / step_mm + 1e-6) * step_mm;

    if (straight->straight)
        return;
    if (!isnan(straight->butt_mm))
        tw_text_print(text, "  %-16s butt_thickness = \"%s\"   (%s)\n", "straight with",
                      tw_length_text(butt_mm, inches ? 3 : 2, inches).text, tw_length_text(butt_mm, 3, !inches).text);
    if (!isnan(straight->start_mm))
        tw_text_print(text, "  %-16s the taper starting %s later\n",
                      isnan(straight->butt_mm) ? "straight with" : "or with",
                      tw_length_text(straight->start_mm, 0, inches).text);
    if (!isnan(straight->bend_mm))
        line_of(text, isnan(straight->butt_mm) && isnan(straight->start_mm) ? "straight with" : "or with", job,
                "a blank bent to a bow of at most {} at x {} before it is ground; {} now",
                (struct tw_length[]){ { tw_straight_bend_to_mm(straight), 2 },
                                      { straight->bow_x_mm, 1 },
                                      { fabs(straight->bow_mm), 2 } });
    else if (isnan(straight->butt_mm) && isnan(straight->start_mm))
        tw_text_print(text, "  %-16s nothing: even without its bow the blank lacks stock for this taper\n",
                      "straight with");
}

/* ---- gauge points ---- */

/* A height in both units, the shop's first; what rounds to nothing has no sign. */
static void print_both(struct tw_text *text, bool inches, double value_mm)
{
    if (fabs(value_mm) < LEAST_MM)
        value_mm = 0.0;
    if (inches)
        tw_text_print(text, "  %7.4f %8.3f", value_mm / TW_MM_PER_INCH, value_mm);
    else
        tw_text_print(text, "  %7.3f %8.4f", value_mm, value_mm / TW_MM_PER_INCH);
}

/* The same of a place along the tang. */
static void print_x(struct tw_text *text, bool inches, double x_mm)
{
    if (inches)
        tw_text_print(text, "  %6.3f %7.1f", x_mm / TW_MM_PER_INCH, x_mm);
    else
        tw_text_print(text, "  %6.1f %7.3f", x_mm, x_mm / TW_MM_PER_INCH);
}

static void print_flags(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight,
                        const struct tw_gauge_point *gauge)
{
    for (int side = 0; side < 2; side++) {
        double lacks_mm = straight->comes_clean ? gauge->straight_lacks_mm[side] : gauge->missing_mm[side];
        double room_mm = gauge->low_mm[side] - gauge->finished_mm[side] - job->straighten.cleanup_mm;

        if (!straight->straight && lacks_mm > 0.0)
            tw_text_print(text, "  %c lacks %s%s", "AB"[side], tw_length_text(lacks_mm, 3, tw_job_in_inches(job)).text,
                          straight->comes_clean ? " to be straight" : "");
        else if (gauge->below_mm[side] > 0.0)
            tw_text_print(text, "  %c stays %s below", "AB"[side],
                          tw_length_text(gauge->below_mm[side], 3, tw_job_in_inches(job)).text);
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
    bool inches = tw_job_in_inches(job);
    const char *first = inches ? "in" : "mm", *second = inches ? "mm" : "in";

    tw_text_print(text, "\nwhat %s off each face at each gauge point, to the finished tang%s\n",
                  may_be_cut(straight) ? "comes" : "would come",
                  job->finish.allowance_mm > 0.0 ? " and its hand-finishing allowance" : "");
    tw_text_print(text, "  %14s  %16s  %16s  %16s  %16s  %16s  %8s\n", "x", "bow towards A", "off side A", "off side B",
                  "finished", "middle to A", "twist");
    tw_text_print(text, "  %6s %7s", first, second);
    for (int i = 0; i < 5; i++)
        tw_text_print(text, "  %7s %8s", first, second);
    tw_text_print(text, "  %8s\n", "deg");
    for (size_t i = 0; i < straight->gauge_count; i++) {
        const struct tw_gauge_point *gauge = &straight->gauges[i];
        double left_mm = gauge->thickness_mm - gauge->off_mm[0] - gauge->off_mm[1];

        print_x(text, inches, gauge->x_mm);
        print_both(text, inches, gauge->bow_mm);
        print_both(text, inches, gauge->off_mm[0]);
        print_both(text, inches, gauge->off_mm[1]);
        print_both(text, inches, left_mm);
        print_both(text, inches, gauge->deviation_mm);
        if (isnan(gauge->twist_rad))
            tw_text_print(text, "  %8s", "-");
        else
            tw_text_print(text, "  %8.3f", gauge->twist_rad * DEGREES);
        print_flags(text, job, straight, gauge);
        tw_text_append(text, "\n", 1);
    }
    tw_text_append(text, "  ", 2);
    tw_lengths_print(text, inches, "cleaning up is asked for from x {} on, at least {} off each face",
                     (struct tw_length[]){ { job->straighten.cleanup_from_mm, 1 }, { job->straighten.cleanup_mm, 3 } });
    tw_text_append(text, "\n", 1);
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
    char tilt[64];
    struct tw_sine sine = tw_sine_stack(job->fixture.sine_bar_mm, tw_packing_tilt_rad(job, straight, side), set);

    snprintf(tilt, sizeof tilt, "butt end up by %.4f deg: {} over {}", sine.angle_rad * DEGREES);
    line_of(text, "tilt", job, tilt, (struct tw_length[]){ { sine.rise_mm, 3 }, { sine.bar_mm, 1 } });
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
    bool inches = tw_job_in_inches(job);
    double lowest_mm = 0.0;

    tw_text_print(text, "\nside %s up: the gap under the tang, to be packed before it is held\n", tw_side_letter(side));
    if (job->mount == TW_MOUNT_TILTED)
        print_sine(text, job, straight, side);
    tw_text_print(text, "  %14s  %16s\n  %6s %7s  %7s %8s\n", "x", "gap", inches ? "in" : "mm", inches ? "mm" : "in",
                  inches ? "in" : "mm", inches ? "mm" : "in");
    for (size_t i = 0; i < straight->gauge_count; i++) {
        double x_mm = straight->gauges[i].x_mm;
        double gap_mm = tw_packing_mm(job, straight, side, x_mm);

        lowest_mm = fmin(lowest_mm, gap_mm);
        print_x(text, inches, x_mm);
        print_both(text, inches, gap_mm);
        tw_text_append(text, "\n", 1);
    }
    if (lowest_mm < -job->survey.resolution_mm)
        tw_text_print(text,
                      "  The tang hangs %s under the datum pad's level: the pad must stand that much higher\n"
                      "  over the rest, and all gaps are then larger by as much.\n",
                      tw_length_both(-lowest_mm, 3, inches).text);
}

enum tw_status tw_straight_table(const struct tw_job *job, const struct tw_straight *straight, char **out,
                                 struct tw_findings *findings)
{
    struct tw_text text = { 0 };

    print_shape(&text, job, straight);
    print_answer(&text, job, straight);
    print_mends(&text, job, straight);
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
