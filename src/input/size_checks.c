/* size_checks.c - sizes that no knife is likely to have are asked about, with the likely cause.
 *
 * A question stops like a fault until the job answers it: with the mend, or with the size itself in `confirmed`. A size
 * that changes later is asked about anew.
 *
 * Ranges: common practice, no source, but for these: blanks of 3 to 3.7 mm and tangs of about 110 mm are what makers
 * write of ("Knifemaking photo essay 2", NZ Hunting and Shooting forum; "Tapered Tang Tutorial", Knifedogs forum, 2009).
 * They are wide on purpose, from a small paring knife to a cleaver of 6 mm.
 *
 * Of what keeps the part from flying off: plates are rated 100 to 150 N/cm2 on thick mild steel and friction is told as 0.15 to 0.3 in
 * sellers' tables; what is more than a thin blank is held with, and where to ask, is judgement. */
#include "geometry/ring.h"
#include "input/input.h"
#include "tangwright/contacts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct usual {
    const char *name; /* as confirmed names it */
    double least_mm, most_mm;
};

static const struct usual outline_length = { "outline", 50.0, 650.0 };
static const struct usual tang_length = { "tang", 50.0, 200.0 };
static const struct usual tang_width = { "width", 8.0, 80.0 };
static const struct usual taper_length = { "taper", 40.0, 200.0 };
static const struct usual ricasso = { "steel", 1.0, 8.0 };

#define HOTTER_K 120.0 /* than the usual temper: a spring temper is 100 K above it */
#define COOLER_K 80.0

static bool is_usual(const struct usual *usual, double size_mm)
{
    return !tw_input_below(size_mm, usual->least_mm) && !tw_input_below(usual->most_mm, size_mm);
}

/* ---- answers ---- */

/* One answer of the job's list, which commas part. */
struct item {
    const char *text;
    size_t length;
    unsigned long long bit; /* in `answered` */
};

/* From before the first; false after the last. A line of text holds no more than there are bits. */
static bool next_item(const struct tw_input *input, struct item *item)
{
    const char *from = item->text ? item->text + item->length : input->draft->job.confirmed;

    if (!from)
        return false;
    from += strspn(from, " ,");
    item->bit = item->text ? item->bit << 1 : 1;
    item->text = from;
    item->length = strcspn(from, ",");
    while (item->length > 0 && from[item->length - 1] == ' ')
        item->length--;
    return *from != '\0';
}

/* "steel 9 mm" answers for "steel 9.0 mm". */
static bool says_the_same(const struct item *item, const char *answer)
{
    char written[48], name[16], wanted_name[16], unit[8] = "", wanted_unit[8] = "";
    double size, wanted_size;

    if (item->length >= sizeof written)
        return false;
    snprintf(written, sizeof written, "%.*s", (int)item->length, item->text);
    return sscanf(written, "%15s %lf %7s", name, &size, unit) >= 2 &&
           sscanf(answer, "%15s %lf %7s", wanted_name, &wanted_size, wanted_unit) >= 2 &&
           strcmp(name, wanted_name) == 0 && strcmp(unit, wanted_unit) == 0 && size == wanted_size;
}

bool tw_input_is_confirmed(struct tw_input *input, const char *answer)
{
    struct item item = { 0 };

    while (next_item(input, &item))
        if ((item.length == strlen(answer) && strncmp(item.text, answer, item.length) == 0) ||
            says_the_same(&item, answer)) {
            input->answered |= item.bit;
            return true;
        }
    return false;
}

void tw_size_checks_end(struct tw_input *input)
{
    struct item item = { 0 };

    while (input->bad_inputs == 0 && next_item(input, &item)) /* else some may not have been asked */
        if (!(input->answered & item.bit))
            tw_remark(input->findings, tw_input_place(input, "confirmed"),
                      "\"%.*s\" answers no question that this job raises: that size is usual, or another; leave it out",
                      (int)item.length, item.text);
}

/* A length to the tenth where that matters. */
static void write_answer(const char *name, double size_mm, char out[48])
{
    snprintf(out, 48, size_mm < 20.0 ? "%s %.1f mm" : "%s %.0f mm", name, size_mm);
}

void tw_input_say_answer(const struct tw_input *input, const char *answer, struct tw_text *text)
{
    const char *list = input->draft->job.confirmed;

    tw_text_print(text, "If it is right, write confirmed = \"%s%s%s\"; in the job, outside of any group",
                  list ? list : "", list && *list ? ", " : "", answer);
}

/* ---- the drawing ---- */

/* By how much the drawing would have to grow, and what would have made it so small. */
static const struct {
    double times;
    const char *cause;
} scales[] = {
    { 25.4, "in inches" },
    { 10.0, "at a tenth of its size, or in cm" },
    { 1.0 / 25.4, "in mm but read in inches" },
    { 0.1, "at ten times its size" },
};

/* Either a tang alone or a whole knife. Not the widest range, or most drawings could be two things. */
static bool looks_true(double length_mm, double width_mm)
{
    return length_mm >= 75.0 && length_mm <= 500.0 && width_mm >= 10.0 && width_mm <= 150.0;
}

static void say_unit(const struct tw_input *input, double times, struct tw_text *text)
{
    double unit_mm = input->draft->outline.drawing.unit_mm * times;

    if (!(unit_mm > 0.0))
        tw_text_print(text, "Save it at its true size, %.4g times as large; it carries its own unit. ", times);
    else if (fabs(unit_mm / 25.4 - 1.0) < 1e-6)
        tw_text_print(text, "Write unit = \"1 in\"; in the outline. ");
    else
        tw_text_print(text, "Write unit = \"%.6g mm\"; in the outline. ", unit_mm);
}

static void say_scale(const struct tw_input *input, double length_mm, double width_mm, struct tw_text *text)
{
    bool any = false;

    for (size_t i = 0; i < sizeof scales / sizeof scales[0]; i++) {
        if (!looks_true(length_mm * scales[i].times, width_mm * scales[i].times))
            continue;
        tw_text_print(text, "%s %s, so %.4g mm long? ", any ? "Or is it" : "is the drawing", scales[i].cause,
                      length_mm * scales[i].times);
        say_unit(input, scales[i].times, text);
        any = true;
    }
    if (!any)
        tw_text_print(text, "is the drawing at its true size? ");
}

bool tw_size_checks_drawing(struct tw_input *input, const struct tw_outline *drawing)
{
    struct tw_box box = tw_ring_box(&drawing->outer);
    double x_mm = box.max_x_mm - box.min_x_mm, y_mm = box.max_y_mm - box.min_y_mm;
    double length_mm = fmax(x_mm, y_mm), width_mm = fmin(x_mm, y_mm);
    bool unit_given = input->draft->outline.drawing.unit_mm > 0.0;
    struct tw_text text = { 0 };
    char answer[48];

    write_answer(outline_length.name, length_mm, answer);
    if (is_usual(&outline_length, length_mm) || tw_input_is_confirmed(input, answer))
        return true;
    tw_text_print(&text,
                  "the outline measures %.4g by %.4g mm, but a knife or its tang is %.0f to %.0f mm long: ", length_mm,
                  width_mm, outline_length.least_mm, outline_length.most_mm);
    say_scale(input, length_mm, width_mm, &text);
    tw_input_say_answer(input, answer, &text);
    tw_input_fault(input, tw_input_place(input, unit_given ? "outline.unit" : "outline.file"), &text);
    return false;
}

static void ask_drawn(struct tw_input *input, const struct usual *usual, const char *what, double size_mm)
{
    struct tw_text text = { 0 };
    char answer[48];

    write_answer(usual->name, size_mm, answer);
    if (is_usual(usual, size_mm) || tw_input_is_confirmed(input, answer))
        return;
    tw_text_print(&text,
                  "%s %.4g mm, but %.0f to %.0f mm is usual: does the taper start where taper_start says, and is the "
                  "drawing at its true size? ",
                  what, size_mm, usual->least_mm, usual->most_mm);
    tw_input_say_answer(input, answer, &text);
    tw_input_fault(input, tw_input_place(input, "outline.taper_start"), &text);
}

void tw_size_checks_run_with_outline(struct tw_input *input)
{
    const struct tw_placement *placement = &input->draft->job.placement;

    ask_drawn(input, &tang_length, "the tang behind the taper start is as long as", placement->behind_mm);
    ask_drawn(input, &tang_width, "at the taper start the knife is as wide as", placement->width_mm);
}

/* ---- what is written ---- */

/* The same figures with another unit or point, as far as that gives a usual size. What is written in mm was not meant to be
 * in mm instead. */
static void say_slip(const struct usual *usual, double size_mm, bool in_mm, const char *key, struct tw_text *text)
{
    static const struct {
        double times;
        const char *unit;
        double unit_mm;
    } slips[] = { { 1.0 / 25.4, "mm", 1.0 }, { 25.4, "in", 25.4 }, { 10.0, "mm", 1.0 }, { 0.1, "mm", 1.0 } };

    for (size_t i = in_mm ? 1 : 0; i < sizeof slips / sizeof slips[0]; i++)
        if (is_usual(usual, size_mm * slips[i].times)) {
            tw_text_print(text, "should it be %s = \"%.6g %s\";? ", key, size_mm * slips[i].times / slips[i].unit_mm,
                          slips[i].unit);
            return;
        }
    tw_text_print(text, "is it in the unit that was meant? ");
}

static bool is_in_mm(const config_setting_t *setting)
{
    const char *written = config_setting_get_string(setting);

    return written && strstr(written, "mm") != NULL;
}

static void ask_written(struct tw_input *input, const struct usual *usual, const char *path, double size_mm)
{
    const struct tw_origin *origin = tw_input_origin(input, path);
    struct tw_text text = { 0 };
    char answer[48];

    if (!origin->ok || !origin->setting)
        return;
    write_answer(usual->name, size_mm, answer);
    if (is_usual(usual, size_mm) || tw_input_is_confirmed(input, answer))
        return;
    tw_text_print(&text, "%.6g mm, but %.0f to %.0f mm is usual: ", size_mm, usual->least_mm, usual->most_mm);
    say_slip(usual, size_mm, is_in_mm(origin->setting), strrchr(path, '.') + 1, &text);
    tw_input_say_answer(input, answer, &text);
    tw_input_fault(input, tw_input_place(input, path), &text);
}

static void ask_temper(struct tw_input *input)
{
    static const char path[] = "heat.tempering_temperature";
    double temper_degC = input->draft->job.limits.tempering_degC, usual_degC = input->draft->job.steel.tempering_degC;
    double above_K = temper_degC - usual_degC, as_degF_degC = (temper_degC - 32.0) / 1.8;
    struct tw_text text = { 0 };
    char answer[48];

    if (!tw_input_origin(input, path)->ok || !tw_input_origin(input, path)->setting ||
        !tw_input_origin(input, "steel.tempering_temperature")->ok)
        return;
    snprintf(answer, sizeof answer, "temper %.0f degC", temper_degC);
    if ((above_K <= HOTTER_K && above_K >= -COOLER_K) || tw_input_is_confirmed(input, answer))
        return;
    tw_text_print(&text, "%.4g degC is %.0f K %s what the steel's profile calls usual, %.4g degC: ", temper_degC,
                  fabs(above_K), above_K > 0.0 ? "above" : "below", usual_degC);
    if (fabs(as_degF_degC - usual_degC) <= COOLER_K)
        tw_text_print(&text, "should it be tempering_temperature = \"%.4g degF\";, that is %.0f degC? ", temper_degC,
                      as_degF_degC);
    else
        tw_text_print(&text, "is it this steel, and the temper of this very knife? ");
    tw_input_say_answer(input, answer, &text);
    tw_input_fault(input, tw_input_place(input, path), &text);
}

/* ---- what holds the part ---- */

static void ask_holding(struct tw_input *input, const char *path, double value, double most, const char *answer,
                        const char *why)
{
    const struct tw_origin *origin = tw_input_origin(input, path);
    struct tw_text text = { 0 };

    if (!origin->ok || !origin->setting || !tw_input_below(most, value) || tw_input_is_confirmed(input, answer))
        return;
    tw_text_print(&text, "%s The pull test of docs/bench-tests.md settles it. ", why);
    tw_input_say_answer(input, answer, &text);
    tw_input_fault(input, tw_input_place(input, path), &text);
}

static void ask_pull(struct tw_input *input)
{
    double pull_N_per_cm2 = 100.0 * input->draft->job.fixture.pull_N_per_mm2;
    char answer[48], why[240];

    snprintf(answer, sizeof answer, "pull %.4g N/cm2", pull_N_per_cm2);
    snprintf(why, sizeof why,
             "%.4g N/cm2 is more than a magnet pulls on a thin blank, where about 20 N/cm2 is usual and more than %.0f "
             "N/cm2 is asked about: is it what the plate is rated for on thick mild steel, 100 to 150 N/cm2?",
             pull_N_per_cm2, TW_ASKED_PULL_N_PER_CM2);
    ask_holding(input, "fixture.pull", pull_N_per_cm2, TW_ASKED_PULL_N_PER_CM2, answer, why);
}

static void ask_friction(struct tw_input *input)
{
    double friction = input->draft->job.fixture.friction;
    char answer[48], why[200];

    snprintf(answer, sizeof answer, "friction %.4g", friction);
    snprintf(why, sizeof why,
             "%.4g is more than ground steel on a wet plate grips by: 0.15 to 0.3 is usual, and more than %.4g is "
             "asked about.",
             friction, TW_ASKED_FRICTION);
    ask_holding(input, "fixture.friction", friction, TW_ASKED_FRICTION, answer, why);
}

void tw_size_checks_run(struct tw_input *input)
{
    if (!tw_input_origin(input, "confirmed")->ok)
        return;
    ask_written(input, &ricasso, "taper.ricasso_thickness", input->draft->job.taper.ricasso_mm);
    ask_written(input, &taper_length, "taper.length", input->draft->job.taper.length_mm);
    ask_temper(input);
    ask_pull(input);
    ask_friction(input);
}
