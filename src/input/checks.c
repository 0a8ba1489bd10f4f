/* checks.c - what keys say about each other. Each check runs only on values that are sound by themselves. */
#include "input/input.h"

#include "base/numbers.h"
#include "tangwright/rim.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define MM_PER_INCH   25.4
#define SECONDS_A_MIN 60.0

/* Stiffness of a small vertical mill and of a small surface grinder, where none is given: judgement. */
#define MILL_N_PER_MM     8000.0
#define GRINDER_N_PER_MM  20000.0
#define MILL_GROWTH_MM    0.03
#define GRINDER_GROWTH_MM 0.01

/* Whether all the named keys hold sound values. The names end with NULL. */
static bool known(const struct tw_input *input, const char *const *paths)
{
    for (; *paths; paths++)
        if (!tw_input_origin(input, *paths)->ok)
            return false;
    return true;
}

#define KNOWN(input, ...) known(input, (const char *const[]){ __VA_ARGS__, NULL })

static bool is_given(const struct tw_input *input, const char *path)
{
    return tw_input_origin(input, path)->setting != NULL;
}

/* ---- defaults that follow from other keys ---- */

static bool is_svg(const struct tw_outline_request *outline)
{
    const char *dot = outline->path ? strrchr(outline->path, '.') : NULL;

    if (outline->drawing.format != TW_DRAWING_BY_NAME)
        return outline->drawing.format == TW_DRAWING_SVG;
    return dot && (dot[1] == 's' || dot[1] == 'S') && (dot[2] == 'v' || dot[2] == 'V') &&
           (dot[3] == 'g' || dot[3] == 'G') && dot[4] == '\0';
}

/* From here on every point has its y upwards. */
static void turn_points_up(struct tw_input *input)
{
    struct tw_outline_request *outline = &input->draft->outline;

    if (!KNOWN(input, "outline.points", "outline.file", "outline.format") || !outline->y_down)
        return;
    if (!is_svg(outline)) {
        tw_input_faultf(
            input, tw_input_place(input, "outline.points"),
            "only SVG drawings count y downwards, and this is none; write points = \"y up\"; and the points "
            "as the drawing has them");
        tw_input_origin(input, "outline.points")->ok = false;
        return;
    }
    outline->start.y_mm = 0.0 - outline->start.y_mm;
    outline->towards.y_mm = 0.0 - outline->towards.y_mm;
}

/* An axis in doubt is none: the outline is then not placed on it. */
static void check_taper_axis(struct tw_input *input)
{
    struct tw_outline_request *outline = &input->draft->outline;
    struct tw_origin *towards = tw_input_origin(input, "outline.axis_towards");
    double dx, dy;

    if (!KNOWN(input, "outline.taper_start", "outline.axis_towards", "outline.axis_angle") ||
        !is_given(input, "outline.axis_towards"))
        return;
    if (is_given(input, "outline.axis_angle")) {
        tw_input_faultf(input, tw_input_place(input, "outline.axis_towards"),
                        "the taper axis is given twice, here and by axis_angle on line %d: drop one of them",
                        tw_input_origin(input, "outline.axis_angle")->line);
        towards->ok = false;
        return;
    }
    dx = outline->towards.x_mm - outline->start.x_mm;
    dy = outline->towards.y_mm - outline->start.y_mm;
    if (hypot(dx, dy) < 1e-6) {
        tw_input_faultf(input, tw_input_place(input, "outline.axis_towards"),
                        "is the same point as taper_start, so it gives no direction; name a point nearer the butt");
        towards->ok = false;
        return;
    }
    outline->angle_rad = atan2(dy, dx);
    outline->towards = (struct tw_point){ 0, 0 };
}

static void derive_tempering(struct tw_input *input)
{
    if (KNOWN(input, "steel.tempering_temperature") && !is_given(input, "heat.tempering_temperature"))
        input->draft->job.limits.tempering_degC = input->draft->job.steel.tempering_degC;
}

static void derive_rim(struct tw_input *input)
{
    struct tw_job *job = &input->draft->job;

    if (!is_given(input, "wheel.rim_contact"))
        job->wheel.rim_contact_mm = job->wheel.rim_width_mm / 2;
    if (!is_given(input, "wheel.lead_in_angle"))
        job->wheel.lead_in_rad = tw_rim_lead_in_rad(job->wheel.rim_state);
    if (!is_given(input, "relief_wheel.rim_contact"))
        job->relief_wheel.rim_contact_mm = job->relief_wheel.rim_width_mm / 2;
    if (!is_given(input, "relief_wheel.lead_in_angle"))
        job->relief_wheel.lead_in_rad = tw_rim_lead_in_rad(job->relief_wheel.rim_state);
}

/* The ends of a range that a profile gives are those of its own middle, not of another that the job writes. */
static bool is_given_with(const struct tw_input *input, const char *end_key, const char *key)
{
    const struct tw_origin *end = tw_input_origin(input, end_key), *middle = tw_input_origin(input, key);

    return end->setting && !(middle->setting && middle->file == input->job.path && end->file != input->job.path);
}

static void derive_least(struct tw_input *input, const char *least_key, double *least, double least_share,
                         const char *key, double middle)
{
    if (!is_given_with(input, least_key, key))
        *least = least_share * middle;
    if (KNOWN(input, key, least_key) && *least > middle)
        tw_input_faultf(input, tw_input_place(input, least_key),
                        "lies above %s and is the lower end of its range: lower it, or leave it out, which takes %.6g "
                        "times the middle",
                        key, least_share);
}

/* What was not given follows; a range must hold its middle. */
static void derive_range(struct tw_input *input, const char *least_key, double *least, double least_share,
                         const char *key, double middle, const char *most_key, double *most, double most_share)
{
    derive_least(input, least_key, least, least_share, key, middle);
    if (!is_given_with(input, most_key, key))
        *most = most_share * middle;
    if (KNOWN(input, key, least_key, most_key) && *most < middle)
        tw_input_faultf(input, tw_input_place(input, most_key),
                        "lies below %s and is the upper end of its range: raise it, or leave it out, which takes %.6g "
                        "times the middle",
                        key, most_share);
}

static void derive_film(struct tw_input *input)
{
    struct tw_coolant *coolant = &input->draft->job.coolant;

    derive_least(input, "coolant.contact_conductance_least", &coolant->contact_conductance_least_W_per_mm2_K, 0.5,
                 "coolant.contact_conductance", coolant->contact_conductance_W_per_mm2_K);
}

static void derive_stiffness(struct tw_input *input)
{
    struct tw_machine *machine = &input->draft->job.machine;

    if (!is_given(input, "machine.stiffness"))
        machine->stiffness_N_per_mm = machine->spindle == TW_SPINDLE_VERTICAL ? MILL_N_PER_MM : GRINDER_N_PER_MM;
    if (!is_given(input, "machine.growth"))
        machine->growth_mm = machine->spindle == TW_SPINDLE_VERTICAL ? MILL_GROWTH_MM : GRINDER_GROWTH_MM;
    derive_range(input, "machine.stiffness_least", &machine->stiffness_least_N_per_mm, 0.5, "machine.stiffness",
                 machine->stiffness_N_per_mm, "machine.stiffness_most", &machine->stiffness_most_N_per_mm, 2.0);
}

static void derive_force_ratios(struct tw_input *input)
{
    struct tw_wheel *wheel = &input->draft->job.wheel, *relief = &input->draft->job.relief_wheel;

    derive_range(input, "wheel.force_ratio_least", &wheel->force_ratio_least, 0.7, "wheel.force_ratio",
                 wheel->force_ratio, "wheel.force_ratio_most", &wheel->force_ratio_most, 1.5);
    derive_range(input, "relief_wheel.force_ratio_least", &relief->force_ratio_least, 0.7, "relief_wheel.force_ratio",
                 relief->force_ratio, "relief_wheel.force_ratio_most", &relief->force_ratio_most, 1.5);
}

static void derive_grinding_ratios(struct tw_input *input)
{
    struct tw_wheel *wheel = &input->draft->job.wheel, *relief = &input->draft->job.relief_wheel;

    derive_range(input, "wheel.grinding_ratio_least", &wheel->grinding_ratio_least, 0.5, "wheel.grinding_ratio",
                 wheel->grinding_ratio, "wheel.grinding_ratio_most", &wheel->grinding_ratio_most, 2.0);
    derive_range(input, "relief_wheel.grinding_ratio_least", &relief->grinding_ratio_least, 0.5,
                 "relief_wheel.grinding_ratio", relief->grinding_ratio, "relief_wheel.grinding_ratio_most",
                 &relief->grinding_ratio_most, 2.0);
}

static void derive_spark_out(struct tw_input *input)
{
    if (!is_given(input, "finish.spark_out"))
        input->draft->job.finish.spark_out = TW_SPARK_OUT_AUTO;
}

/* ---- taper and finish ---- */

static void check_thicknesses(struct tw_input *input)
{
    const struct tw_taper *taper = &input->draft->job.taper;
    struct tw_place at = tw_input_place(input, "taper.butt_thickness");

    if (!KNOWN(input, "taper.ricasso_thickness", "taper.butt_thickness"))
        return;
    if (taper->butt_mm == taper->ricasso_mm)
        tw_input_faultf(input, at, "equals ricasso_thickness, %.6g mm, so there is nothing to taper",
                        taper->ricasso_mm);
    else if (taper->butt_mm > taper->ricasso_mm)
        tw_input_faultf(input, at, "%.6g mm is thicker than ricasso_thickness, %.6g mm; the butt is the thin end",
                        taper->butt_mm, taper->ricasso_mm);
}

static void check_smallest(struct tw_input *input)
{
    const struct tw_taper *taper = &input->draft->job.taper;

    if (KNOWN(input, "taper.smallest_thickness", "taper.butt_thickness") &&
        tw_input_below(taper->butt_mm, taper->smallest_mm))
        tw_input_faultf(input, tw_input_place(input, "taper.butt_thickness"),
                        "%.6g mm is below smallest_thickness, %.6g mm; make the butt thicker, or allow less",
                        taper->butt_mm, taper->smallest_mm);
}

/* A surveyed blank is one blank, and its own thickness is known. */
static void derive_band(struct tw_input *input)
{
    struct tw_job *job = &input->draft->job;

    if (job->survey.path && !is_given(input, "taper.thickness_band"))
        job->taper.band_mm = 0.0;
}

/* Either zero leaves the butt as much off as the blank: from the pad the thickest comes out thinnest. */
static void check_band_thickness(struct tw_input *input, double thinnest_mm, const char *where)
{
    const struct tw_taper *taper = &input->draft->job.taper;

    if (tw_input_below(thinnest_mm, taper->smallest_mm))
        tw_input_faultf(input, tw_input_place(input, "taper.thickness_band"),
                        "a blank %.6g mm %s than ricasso_thickness comes out %.3f mm thick at %s, below "
                        "smallest_thickness, %.6g mm; measure the blank and give a smaller band (0 mm for this one "
                        "blank), make the butt thicker, or allow less",
                        taper->band_mm, taper->zero == TW_ZERO_PAD ? "thicker" : "thinner", thinnest_mm, where,
                        taper->smallest_mm);
}

static void check_band(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    const struct tw_taper *taper = &job->taper;
    double stock_mm = (taper->ricasso_mm - taper->butt_mm) / 2 - job->finish.allowance_mm;

    if (!KNOWN(input, "taper.ricasso_thickness", "taper.butt_thickness", "taper.smallest_thickness",
               "taper.thickness_band"))
        return;
    if (taper->butt_mm < taper->ricasso_mm && !tw_input_below(taper->butt_mm, taper->smallest_mm))
        check_band_thickness(input, taper->butt_mm - taper->band_mm, "the butt");
    if (KNOWN(input, "finish.allowance") && taper->zero == TW_ZERO_PAD && stock_mm > 0 && taper->band_mm >= stock_mm)
        tw_input_faultf(
            input, tw_input_place(input, "taper.thickness_band"),
            "a blank %.6g mm thinner than ricasso_thickness would hardly be touched: only %.6g mm comes off "
            "each face at the butt; measure the blank and give a smaller band",
            taper->band_mm, stock_mm);
}

static void check_allowance(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    double stock_mm = (job->taper.ricasso_mm - job->taper.butt_mm) / 2;

    if (KNOWN(input, "taper.ricasso_thickness", "taper.butt_thickness", "finish.allowance") && stock_mm > 0 &&
        job->finish.allowance_mm >= stock_mm)
        tw_input_faultf(input, tw_input_place(input, "finish.allowance"),
                        "%.6g mm leaves nothing to grind: at the butt only %.6g mm comes off each face",
                        job->finish.allowance_mm, stock_mm);
}

static void check_finishing_infeed(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    struct tw_place at = tw_input_place(input, "finish.infeed");
    double infeed_mm = job->finish.infeed_mm;

    if (!KNOWN(input, "finish.infeed"))
        return;
    if (KNOWN(input, "wheel.min_infeed") && tw_input_below(infeed_mm, job->wheel.min_infeed_mm))
        tw_input_faultf(input, at, "%.6g mm is below wheel.min_infeed, %.6g mm: the wheel would rub, not cut",
                        infeed_mm, job->wheel.min_infeed_mm);
    else if (KNOWN(input, "wheel.max_infeed") && tw_input_below(job->wheel.max_infeed_mm, infeed_mm))
        tw_input_faultf(input, at, "%.6g mm is above wheel.max_infeed, %.6g mm", infeed_mm, job->wheel.max_infeed_mm);
    else if (KNOWN(input, "machine.smallest_step") && tw_input_below(infeed_mm, job->machine.smallest_step_mm))
        tw_input_faultf(input, at, "%.6g mm is below machine.smallest_step, %.6g mm: the machine cannot make it",
                        infeed_mm, job->machine.smallest_step_mm);
}

static void check_heat_room(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    double limit_degC = job->limits.tempering_degC - job->limits.margin_K;

    if (!KNOWN(input, "heat.tempering_temperature", "steel.tempering_temperature", "heat.margin",
               "coolant.temperature") ||
        limit_degC > job->coolant.temperature_degC)
        return;
    tw_input_faultf(input, tw_input_place(input, "heat.margin"),
                    "a tempering temperature of %.6g degC less %.6g K is not above coolant.temperature, %.6g degC, "
                    "so nothing could be ground",
                    job->limits.tempering_degC, job->limits.margin_K, job->coolant.temperature_degC);
}

static void check_approach(struct tw_input *input)
{
    const struct tw_travel *travel = &input->draft->job.travel;

    if (KNOWN(input, "travel.approach", "travel.clear_height") &&
        tw_input_below(travel->clear_height_mm, travel->approach_mm))
        tw_input_faultf(input, tw_input_place(input, "travel.approach"),
                        "%.6g mm is above clear_height, %.6g mm; the wheel comes down from there", travel->approach_mm,
                        travel->clear_height_mm);
    if (KNOWN(input, "travel.hop_height", "travel.clear_height") && is_given(input, "travel.hop_height") &&
        tw_input_below(travel->clear_height_mm, travel->hop_height_mm))
        tw_input_faultf(input, tw_input_place(input, "travel.hop_height"),
                        "%.6g mm is above clear_height, %.6g mm, at which the wheel goes from part to part anyway",
                        travel->hop_height_mm, travel->clear_height_mm);
    if (KNOWN(input, "travel.return_lift", "travel.approach") && is_given(input, "travel.return_lift") &&
        tw_input_below(travel->approach_mm, travel->return_lift_mm))
        tw_input_faultf(input, tw_input_place(input, "travel.return_lift"),
                        "%.6g mm is above approach, %.6g mm, at which the wheel goes back to the next lane anyway",
                        travel->return_lift_mm, travel->approach_mm);
}

/* ---- machine ---- */

static void check_order(struct tw_input *input, const char *low_path, const char *high_path, double low, double high,
                        const char *unit)
{
    const char *high_name = strrchr(high_path, '.') + 1;

    if (KNOWN(input, low_path, high_path) && tw_input_below(high, low))
        tw_input_faultf(input, tw_input_place(input, low_path), "%.6g %s is above %s, %.6g %s", low, unit, high_name,
                        high, unit);
}

static void check_orders(struct tw_input *input)
{
    const struct tw_machine *machine = &input->draft->job.machine;
    const struct tw_wheel *wheel = &input->draft->job.wheel, *relief = &input->draft->job.relief_wheel;

    check_order(input, "machine.feed_min", "machine.feed_max", machine->feed_min_mm_per_s, machine->feed_max_mm_per_s,
                "mm/s");
    check_order(input, "machine.spindle.min_speed", "machine.spindle.max_speed", machine->spindle_min_rpm,
                machine->spindle_max_rpm, "rpm");
    check_order(input, "wheel.min_infeed", "wheel.max_infeed", wheel->min_infeed_mm, wheel->max_infeed_mm, "mm");
    check_order(input, "wheel.speed", "wheel.operating_speed", wheel->speed_mm_per_s / 1000,
                wheel->operating_speed_mm_per_s / 1000, "m/s");
    check_order(input, "relief_wheel.min_infeed", "relief_wheel.max_infeed", relief->min_infeed_mm,
                relief->max_infeed_mm, "mm");
    check_order(input, "relief_wheel.speed", "relief_wheel.operating_speed", relief->speed_mm_per_s / 1000,
                relief->operating_speed_mm_per_s / 1000, "m/s");
    check_order(input, "machine.axes.along.travel_min", "machine.axes.along.travel_max", machine->along.travel_min_mm,
                machine->along.travel_max_mm, "mm");
    check_order(input, "machine.axes.across.travel_min", "machine.axes.across.travel_max",
                machine->across.travel_min_mm, machine->across.travel_max_mm, "mm");
    check_order(input, "machine.axes.up.travel_min", "machine.axes.up.travel_max", machine->up.travel_min_mm,
                machine->up.travel_max_mm, "mm");
}

static const char *signed_letter(const struct tw_axis *axis, int sign, char text[3])
{
    snprintf(text, 3, "%s%c", axis->sign * sign < 0 ? "-" : "", axis->letter);
    return text;
}

static bool letters_differ(struct tw_input *input)
{
    const struct tw_machine *machine = &input->draft->job.machine;
    const struct tw_axis *axes[3] = { &machine->along, &machine->across, &machine->up };
    static const char *const paths[3] = { "machine.axes.along.letter", "machine.axes.across.letter",
                                          "machine.axes.up.letter" };
    static const char *const names[3] = { "along", "across", "up" };

    for (int later = 1; later < 3; later++)
        for (int earlier = 0; earlier < later; earlier++)
            if (axes[later]->letter == axes[earlier]->letter) {
                tw_input_faultf(input, tw_input_place(input, paths[later]),
                                "%c is already the letter of %s; along, across and up need X, Y and Z, each once",
                                axes[later]->letter, names[earlier]);
                return false;
            }
    return true;
}

/* Sign of the determinant of the map from along, across, up to X, Y, Z: +1 for right-handed. */
static int handedness(const struct tw_machine *machine)
{
    int a = machine->along.letter - 'X', c = machine->across.letter - 'X';
    int permutation = (a + 1) % 3 == c ? 1 : -1;

    return permutation * machine->along.sign * machine->across.sign * machine->up.sign;
}

static void check_axes(struct tw_input *input)
{
    const struct tw_machine *machine = &input->draft->job.machine;
    char along[3], across[3], up[3], turned[3];

    if (!KNOWN(input, "machine.axes.along.letter", "machine.axes.across.letter", "machine.axes.up.letter") ||
        !letters_differ(input) || handedness(machine) > 0)
        return;
    tw_input_faultf(input, tw_input_place(input, "machine.axes.across.letter"),
                    "along %s, across %s, up %s is left-handed, so the mirror image would be cut; turn one sign, most "
                    "likely letter = \"%s\";",
                    signed_letter(&machine->along, 1, along), signed_letter(&machine->across, 1, across),
                    signed_letter(&machine->up, 1, up), signed_letter(&machine->across, -1, turned));
}

static double unit_of_decimals(bool inch, int decimals)
{
    return (inch ? MM_PER_INCH : 1.0) * pow(10, -decimals);
}

static int decimals_wanted(bool inch, double step_mm)
{
    int decimals = 0;

    while (decimals < 9 && unit_of_decimals(inch, decimals) > step_mm * (1 + 1e-9))
        decimals++;
    return decimals;
}

static void check_decimals(struct tw_input *input)
{
    const struct tw_machine *machine = &input->draft->job.machine;
    const struct tw_dialect *dialect = &machine->dialect;
    double length_mm = unit_of_decimals(dialect->inch, dialect->length_decimals);
    double feed_mm_per_s = unit_of_decimals(dialect->inch, dialect->feed_decimals) / SECONDS_A_MIN;

    if (KNOWN(input, "machine.program.length_decimals", "machine.program.unit", "machine.smallest_step") &&
        tw_input_below(machine->smallest_step_mm, length_mm))
        tw_input_faultf(input, tw_input_place(input, "machine.program.length_decimals"),
                        "%d decimals of %s round to %.6g mm, coarser than smallest_step, %.6g mm; write at least %d",
                        dialect->length_decimals, dialect->inch ? "an inch" : "a millimetre", length_mm,
                        machine->smallest_step_mm, decimals_wanted(dialect->inch, machine->smallest_step_mm));
    if (KNOWN(input, "machine.program.feed_decimals", "machine.program.unit", "machine.feed_min") &&
        tw_input_below(machine->feed_min_mm_per_s, feed_mm_per_s))
        tw_input_faultf(input, tw_input_place(input, "machine.program.feed_decimals"),
                        "%d decimals round feeds to %.6g mm/s, coarser than feed_min, %.6g mm/s; write at least %d",
                        dialect->feed_decimals, feed_mm_per_s, machine->feed_min_mm_per_s,
                        decimals_wanted(dialect->inch, machine->feed_min_mm_per_s * SECONDS_A_MIN));
}

/* Programs lie beside files of ours, and of the maker's, that people and programs know by these endings. */
static bool is_taken(const char *ending)
{
    static const char *const taken[] = { "json", "html", "csv", "cfg",    "svg",    "dxf", "txt",
                                         "md",   "db",   "pdf", "sha256", "record", NULL };

    for (size_t i = 0; taken[i]; i++)
        if (strcasecmp(ending, taken[i]) == 0)
            return true;
    return false;
}

static void check_file_ending(struct tw_input *input)
{
    const char *ending = input->draft->job.machine.dialect.file_ending;

    if (!KNOWN(input, "machine.program.file_ending"))
        return;
    if (!tw_is_file_ending(ending, strlen(ending)))
        tw_input_faultf(
            input, tw_input_place(input, "machine.program.file_ending"),
            "\"%s\" is no ending of a program's name; write 1 to %d letters and digits without the dot, such "
            "as \"nc\"",
            ending, TW_FILE_ENDING_LONGEST);
    else if (is_taken(ending))
        tw_input_faultf(input, tw_input_place(input, "machine.program.file_ending"),
                        "\"%s\" is the ending of files that are no programs; write the one that the control looks for, "
                        "such as \"nc\"",
                        ending);
}

static void check_flatness(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    const struct tw_dialect *dialect = &job->machine.dialect;
    double length_mm = unit_of_decimals(dialect->inch, dialect->length_decimals);

    if (KNOWN(input, "machine.program.length_decimals", "machine.program.unit", "finish.flatness") &&
        tw_input_below(job->finish.flatness_mm, length_mm))
        tw_input_faultf(input, tw_input_place(input, "finish.flatness"),
                        "%.6g mm is finer than the last decimal of the program, %.6g mm; raise flatness or "
                        "machine.program.length_decimals",
                        job->finish.flatness_mm, length_mm);
}

/* ---- the wheels ---- */

/* The job's wheel or the relief's, with the names of its keys. */
struct checked_wheel {
    struct tw_wheel *wheel;
    const char *kind, *diameter, *rim_width, *rim_contact, *speed, *operating_speed;
};

#define WHEEL_KEYS(group)                                                                                              \
    .kind = group ".kind", .diameter = group ".diameter", .rim_width = group ".rim_width",                             \
    .rim_contact = group ".rim_contact", .speed = group ".speed", .operating_speed = group ".operating_speed"

static void check_wheel_fits_spindle(struct tw_input *input, const struct checked_wheel *checked)
{
    const struct tw_job *job = &input->draft->job;
    bool cup = checked->wheel->kind == TW_WHEEL_CUP;
    bool vertical = job->machine.spindle == TW_SPINDLE_VERTICAL;

    if (KNOWN(input, checked->kind, "machine.spindle.axis") && cup != vertical)
        tw_input_faultf(input, tw_input_place(input, checked->kind),
                        "a %s needs a %s spindle, but machine.spindle.axis is %s; choose another wheel or machine",
                        cup ? "cup" : "disc", cup ? "vertical" : "horizontal", vertical ? "vertical" : "horizontal");
}

static void check_rim(struct tw_input *input, const struct checked_wheel *checked)
{
    const struct tw_wheel *wheel = checked->wheel;
    struct tw_place at = tw_input_place(input, checked->rim_width);

    if (!KNOWN(input, checked->kind, checked->rim_width, checked->diameter) || wheel->kind != TW_WHEEL_CUP)
        return;
    if (!(wheel->rim_width_mm > 0))
        tw_input_faultf(input, at, "a cup needs the width of its rim, such as rim_width = \"6 mm\";");
    else if (tw_input_below(wheel->diameter_mm / 2, wheel->rim_width_mm))
        tw_input_faultf(input, at, "%.6g mm is more than half of diameter, %.6g mm; a full face has half of it",
                        wheel->rim_width_mm, wheel->diameter_mm);
}

static void check_contact(struct tw_input *input, const struct checked_wheel *checked)
{
    const struct tw_wheel *wheel = checked->wheel;

    if (KNOWN(input, checked->rim_contact, checked->kind, checked->rim_width) && wheel->kind == TW_WHEEL_CUP &&
        wheel->rim_width_mm > 0 && tw_input_below(wheel->rim_width_mm, wheel->rim_contact_mm))
        tw_input_faultf(input, tw_input_place(input, checked->rim_contact), "%.6g mm is more than rim_width, %.6g mm",
                        wheel->rim_contact_mm, wheel->rim_width_mm);
}

/* In the level mount the slope of the face itself leans the rim over the work. */
static void check_head_tilt(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;

    if (KNOWN(input, "machine.spindle.head_tilt", "mount") && job->machine.head_tilt_rad > 0 &&
        job->mount == TW_MOUNT_LEVEL)
        tw_input_faultf(
            input, tw_input_place(input, "machine.spindle.head_tilt"),
            "a tilted head goes with mount = \"tilted\" only: in the level mount the slope of the face leans "
            "the rim already; square the head to the table and leave head_tilt out");
}

static double surface_mm_per_s(double diameter_mm, double rpm)
{
    return TW_PI * diameter_mm * rpm / SECONDS_A_MIN;
}

/* A spindle of one speed gives the wheel what it gives: that becomes the wheel's speed. */
static void check_fixed_speed(struct tw_input *input, const struct checked_wheel *checked)
{
    struct tw_wheel *wheel = checked->wheel;
    double rpm = input->draft->job.machine.spindle_max_rpm;
    double speed_mm_per_s = surface_mm_per_s(wheel->diameter_mm, rpm);

    if (tw_input_below(wheel->operating_speed_mm_per_s, speed_mm_per_s))
        tw_input_faultf(input, tw_input_place(input, checked->operating_speed),
                        "the spindle's one speed, %.6g rpm, gives this wheel of %.6g mm %.4g m/s, above its operating "
                        "speed of %.6g m/s: it could burst; use a wheel of at most %.5g mm",
                        rpm, wheel->diameter_mm, speed_mm_per_s / 1000, wheel->operating_speed_mm_per_s / 1000,
                        floor(wheel->operating_speed_mm_per_s * SECONDS_A_MIN / (TW_PI * rpm) * 10) / 10);
    else if (fabs(speed_mm_per_s - wheel->speed_mm_per_s) > 0.05 * wheel->speed_mm_per_s)
        tw_remark(input->findings, tw_input_place(input, checked->speed),
                  "the spindle has one speed, %.6g rpm, so the wheel runs at %.4g m/s instead of %.6g m/s", rpm,
                  speed_mm_per_s / 1000, wheel->speed_mm_per_s / 1000);
    wheel->speed_mm_per_s = speed_mm_per_s;
}

/* The speed nearest to the asked one that the spindle reaches, to a tenth of m/s, if the wheel may run so fast. */
static void say_speed_within(const struct checked_wheel *checked, double low_mm_per_s, double high_mm_per_s,
                             struct tw_text *text)
{
    bool faster = checked->wheel->speed_mm_per_s > high_mm_per_s;
    double tenths = faster ? floor(high_mm_per_s / 100) : ceil(low_mm_per_s / 100);

    if (tenths * 100 < low_mm_per_s || tenths * 100 > fmin(high_mm_per_s, checked->wheel->operating_speed_mm_per_s))
        return;
    tw_text_print(text, "; write speed = \"%.10g m/s\"; in the job's group %.*s", tenths / 10,
                  (int)strcspn(checked->speed, "."), checked->speed);
}

static void check_programmed_speed(struct tw_input *input, const struct checked_wheel *checked)
{
    const struct tw_machine *machine = &input->draft->job.machine;
    const struct tw_wheel *wheel = checked->wheel;
    double rpm = wheel->speed_mm_per_s * SECONDS_A_MIN / (TW_PI * wheel->diameter_mm);
    double low_mm_per_s = surface_mm_per_s(wheel->diameter_mm, machine->spindle_min_rpm);
    double high_mm_per_s = surface_mm_per_s(wheel->diameter_mm, machine->spindle_max_rpm);
    struct tw_text text = { 0 };

    if (!(tw_input_below(rpm, machine->spindle_min_rpm) || tw_input_below(machine->spindle_max_rpm, rpm)) ||
        machine->spindle_min_rpm > machine->spindle_max_rpm)
        return;
    tw_text_print(&text,
                  "%.6g m/s needs %.0f rpm with a wheel of %.6g mm, but the spindle makes %.6g to %.6g rpm, which is "
                  "%.4g to %.4g m/s",
                  wheel->speed_mm_per_s / 1000, rpm, wheel->diameter_mm, machine->spindle_min_rpm,
                  machine->spindle_max_rpm, low_mm_per_s / 1000, high_mm_per_s / 1000);
    say_speed_within(checked, low_mm_per_s, high_mm_per_s, &text);
    tw_input_fault(input, tw_input_place(input, checked->speed), &text);
}

static void check_speed(struct tw_input *input, const struct checked_wheel *checked)
{
    if (!KNOWN(input, checked->diameter, checked->speed, checked->operating_speed, "machine.spindle.min_speed",
               "machine.spindle.max_speed", "machine.spindle.programmable"))
        return;
    if (input->draft->job.machine.spindle_programmable)
        check_programmed_speed(input, checked);
    else
        check_fixed_speed(input, checked);
}

static void check_wheels(struct tw_input *input)
{
    struct checked_wheel wheels[2] = { { .wheel = &input->draft->job.wheel, WHEEL_KEYS("wheel") },
                                       { .wheel = &input->draft->job.relief_wheel, WHEEL_KEYS("relief_wheel") } };

    for (int i = 0; i < 2; i++) { /* what is not known, as a wheel that is not there, is not checked */
        check_contact(input, &wheels[i]);
        check_wheel_fits_spindle(input, &wheels[i]);
        check_rim(input, &wheels[i]);
        check_speed(input, &wheels[i]);
    }
}

/* ---- coolant and fixture ---- */

static void check_boiling(struct tw_input *input)
{
    const struct tw_coolant *coolant = &input->draft->job.coolant;

    if (KNOWN(input, "coolant.boiling_temperature", "coolant.temperature") &&
        coolant->boiling_degC <= coolant->temperature_degC)
        tw_input_faultf(input, tw_input_place(input, "coolant.boiling_temperature"),
                        "%.6g degC is not above coolant.temperature, %.6g degC", coolant->boiling_degC,
                        coolant->temperature_degC);
}

static void check_holding(struct tw_input *input)
{
    const struct tw_fixture *fixture = &input->draft->job.fixture;

    if (KNOWN(input, "fixture.clamp_force", "fixture.pull") && fixture->clamp_force_N == 0 &&
        fixture->pull_N_per_mm2 == 0)
        tw_input_faultf(input, tw_input_place(input, "fixture.pull"),
                        "both pull and clamp_force are zero, so nothing holds the blank; write for example pull = "
                        "\"20 N/cm2\"; or clamp_force = \"500 N\";");
}

/* Where member `name` of station `i` stands. */
static struct tw_place station_place(const struct tw_input *input, size_t i, const char *name)
{
    const struct tw_origin *list = tw_input_origin(input, "fixture.stations");
    const config_setting_t *station = config_setting_get_elem(list->setting, (unsigned)i);
    const config_setting_t *member = config_setting_get_member(station, name);

    return (struct tw_place){ .file = list->file, .line = (int)config_setting_source_line(member) };
}

static void check_offsets(struct tw_input *input)
{
    const struct tw_fixture *fixture = &input->draft->job.fixture;

    if (!KNOWN(input, "fixture.stations"))
        return;
    for (size_t i = 1; i < fixture->station_count; i++)
        for (size_t j = 0; j < i; j++) {
            struct tw_place at = station_place(input, i, "offset");
            char key[64];

            if (fixture->stations[i].work_offset != fixture->stations[j].work_offset)
                continue;
            snprintf(key, sizeof key, "fixture.stations[%zu].offset", i + 1);
            at.key = key;
            tw_input_faultf(input, at, "station %zu on line %d has the same work offset; give each its own", j + 1,
                            station_place(input, j, "offset").line);
            break;
        }
}

static void check_station_travel(struct tw_input *input, size_t i, const char *direction, double at_mm,
                                 const struct tw_axis *axis)
{
    struct tw_place at = station_place(input, i, direction);
    char min_path[64], max_path[64], key[64];

    snprintf(min_path, sizeof min_path, "machine.axes.%s.travel_min", direction);
    snprintf(max_path, sizeof max_path, "machine.axes.%s.travel_max", direction);
    if (!KNOWN(input, min_path, max_path) || (at_mm >= axis->travel_min_mm && at_mm <= axis->travel_max_mm) ||
        axis->travel_min_mm > axis->travel_max_mm)
        return;
    snprintf(key, sizeof key, "fixture.stations[%zu].%s", i + 1, direction);
    at.key = key;
    tw_input_faultf(input, at, "%.6g mm lies outside the travel of machine.axes.%s, %.6g mm to %.6g mm", at_mm,
                    direction, axis->travel_min_mm, axis->travel_max_mm);
}

static void check_station_places(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;

    if (!KNOWN(input, "fixture.stations"))
        return;
    for (size_t i = 0; i < job->fixture.station_count; i++) {
        const struct tw_station *station = &job->fixture.stations[i];

        check_station_travel(input, i, "along", station->along_mm, &job->machine.along);
        check_station_travel(input, i, "across", station->across_mm, &job->machine.across);
        check_station_travel(input, i, "up", station->up_mm, &job->machine.up);
    }
}

/* A survey tells of one blank; its neighbours on the fixture lie otherwise. And it takes both faces to make a blank straight. */
static void check_survey_parts(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;

    if (KNOWN(input, "faces") && job->survey.path && job->one_face)
        tw_input_faultf(
            input, tw_input_place(input, "faces"),
            "\"a\" beside survey.file: side B would stay as bowed as it is; a surveyed blank is ground on both "
            "faces, with faces = \"both\";");
    if (KNOWN(input, "parts") && job->survey.path && job->parts > 1)
        tw_input_faultf(
            input, tw_input_place(input, "survey.file"),
            "a survey holds for one blank, but parts = %d; grind surveyed blanks one by one, with parts = 1;",
            job->parts);
}

static void check_parts(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;

    if (KNOWN(input, "parts", "fixture.stations") && (size_t)job->parts > job->fixture.station_count)
        tw_input_faultf(input, tw_input_place(input, "parts"),
                        "%d parts need %d stations, but the fixture has %zu; tangwright fixture --stations %d designs "
                        "one that has them",
                        job->parts, job->parts, job->fixture.station_count, job->parts);
}

static void check_blank(struct tw_input *input, size_t i)
{
    const struct tw_job *job = &input->draft->job;
    const struct tw_loaded_blank *blank = &job->blanks[i];
    struct tw_place at = tw_input_place(input, "blanks");

    if (job->heights == TW_HEIGHTS_SHARED && KNOWN(input, "taper.ricasso_thickness", "taper.thickness_band") &&
        tw_input_below(job->taper.band_mm + 1e-9, fabs(blank->thickness_mm - job->taper.ricasso_mm)))
        tw_input_faultf(input, at,
                        "the blank of part %zu, %.6g mm, is farther from ricasso_thickness, %.6g mm, than "
                        "thickness_band, %.6g mm; measure it again, or plan the load anew",
                        i + 1, blank->thickness_mm, job->taper.ricasso_mm, job->taper.band_mm);
    if (blank->survey.path && job->heights == TW_HEIGHTS_SHARED)
        tw_input_faultf(input, at,
                        "the blank of part %zu has a survey, and parts with shared heights are ground flat; write "
                        "heights = \"by-blank\";",
                        i + 1);
}

/* What lies on the stations goes with the parts. */
static void check_blanks(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    struct tw_place at = tw_input_place(input, "blanks");

    if (!KNOWN(input, "parts", "blanks", "heights"))
        return;
    if (job->blank_count == 0 && job->heights == TW_HEIGHTS_BY_BLANK)
        tw_input_faultf(input, tw_input_place(input, "heights"),
                        "by-blank needs blanks, with the thickness of each; write them, or heights = \"shared\";");
    if (job->blank_count > 0 && job->blank_count != (size_t)job->parts)
        tw_input_faultf(input, at, "holds %zu blanks, but parts = %d; name one for each part, in the stations' order",
                        job->blank_count, job->parts);
    if (job->blank_count > 0 && job->survey.path)
        tw_input_faultf(input, at, "stand beside survey.file, which holds for one blank; give each its own survey");
    for (size_t i = 0; i < job->blank_count; i++)
        check_blank(input, i);
}

void tw_checks_run(struct tw_input *input)
{
    static void (*const checks[])(struct tw_input *) = {
        turn_points_up,         check_taper_axis, derive_tempering,     derive_rim,          check_thicknesses,
        check_smallest,         derive_band,      check_band,           check_allowance,     check_orders,
        check_finishing_infeed, check_heat_room,  check_approach,       check_axes,          check_decimals,
        check_file_ending,      check_flatness,   check_wheels,         check_head_tilt,     check_boiling,
        check_holding,          check_offsets,    check_station_places, check_parts,         check_survey_parts,
        check_blanks,           derive_film,      derive_stiffness,     derive_force_ratios, derive_spark_out,
        derive_grinding_ratios,
    };

    for (size_t i = 0; i < sizeof checks / sizeof checks[0]; i++)
        checks[i](input);
}

/* ---- with the outline ---- */

static double far_end_mm(const struct tw_ring *ring)
{
    double far_mm = 0;

    for (size_t i = 0; i < ring->count; i++)
        far_mm = fmax(far_mm, ring->points[i].x_mm);
    return far_mm;
}

static double round_up(double value)
{
    return ceil(value * 100 - 1e-9) / 100;
}

static void check_beyond_taper(struct tw_input *input, double far_mm)
{
    const struct tw_taper *taper = &input->draft->job.taper;
    double drop_mm = taper->ricasso_mm - taper->butt_mm;
    double end_mm = taper->ricasso_mm - drop_mm * far_mm / taper->length_mm;
    struct tw_place at = tw_input_place(input, "taper.length");

    if (tw_input_below(end_mm, taper->smallest_mm))
        tw_input_faultf(
            input, at,
            "the outline reaches %.2f mm, past the taper's end at %.6g mm; on the same slope its end would "
            "be %.3f mm thick, below smallest_thickness, %.6g mm: write length = \"%.2f mm\"; or more, or "
            "butt_thickness = \"%.2f mm\"; or more",
            far_mm, taper->length_mm, end_mm, taper->smallest_mm,
            round_up(drop_mm * far_mm / (taper->ricasso_mm - taper->smallest_mm)),
            round_up(taper->ricasso_mm - (taper->ricasso_mm - taper->smallest_mm) * taper->length_mm / far_mm));
    else if (tw_input_below(end_mm - taper->band_mm, taper->smallest_mm))
        check_band_thickness(input, end_mm - taper->band_mm, "the outline's end");
    else
        tw_remark(input->findings, at,
                  "the outline reaches %.2f mm, past the taper's end at %.6g mm; the taper goes on at the "
                  "same slope to %.3f mm",
                  far_mm, taper->length_mm, end_mm);
}

void tw_checks_run_with_outline(struct tw_input *input)
{
    struct tw_taper *taper = &input->draft->job.taper;
    double tolerance_mm = input->draft->outline.drawing.chord_tolerance_mm;
    double far_mm = far_end_mm(&input->draft->job.part.tang.outer);
    struct tw_place at = tw_input_place(input, "taper.length");

    if (!is_given(input, "taper.length"))
        taper->length_mm = far_mm;
    else if (far_mm > taper->length_mm + tolerance_mm)
        check_beyond_taper(input, far_mm);
    else if (far_mm < taper->length_mm - tolerance_mm)
        tw_remark(input->findings, at, "the outline ends at %.2f mm, before the taper does; there it is %.3f mm thick",
                  far_mm, taper->ricasso_mm - (taper->ricasso_mm - taper->butt_mm) * far_mm / taper->length_mm);
}
