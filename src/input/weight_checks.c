/* weight_checks.c - what the keys of blank, handle, relief and blade say about each other and about the drawing. */
#include "geometry/ring.h"
#include "base/numbers.h"
#include "input/input.h"

#include <math.h>

#define ROUND_SHARE     0.02 /* a hole whose area differs more than this from its ellipse's is not round */
#define FIT_MM          0.05 /* a pin may be this much wider than its drawn hole: chords, and a push fit */
#define BLADE_MM        0.5  /* blade.length may differ this much from the drawing */
#define THICKEST_MM     20.0
#define FARTHEST_TIP_MM 600.0
#define SLIVER_MM       10.0 /* a tang drawn askew leaves that much ahead of the taper start: no blade */

static bool sound(const struct tw_input *input, const char *path)
{
    return tw_input_origin(input, path)->ok;
}

static bool given(const struct tw_input *input, const char *path)
{
    return tw_input_origin(input, path)->setting != NULL;
}

/* ---- blank ---- */

static void check_weighing(struct tw_input *input)
{
    bool mass = given(input, "blank.mass"), point = given(input, "blank.balance_point");

    if (mass && !point)
        tw_input_faultf(input, tw_input_place(input, "blank.mass"),
                        "needs balance_point beside it; balance the blank on a round bar and write for example "
                        "balance_point = \"38 mm\";");
    if (point && !mass)
        tw_input_faultf(input, tw_input_place(input, "blank.balance_point"),
                        "needs mass beside it; weigh the blank and write for example mass = \"186 g\";");
}

static const struct tw_ring *tang_of(const struct tw_input *input)
{
    return &input->draft->job.part.tang.outer;
}

/* Lengths from a point that is not known leave the balance point unknown: a fault. */
static bool place_balance(struct tw_input *input)
{
    struct tw_job *job = &input->draft->job;
    struct tw_blank *blank = &job->blank;
    double tip_mm = job->blade.length_mm;

    if (blank->measured == TW_BEHIND_TIP && !(tip_mm > 0)) {
        tw_input_faultf(input, tw_input_place(input, "blank.measured"),
                        "the drawing shows no tip; add blade: { length = \"...\"; }; with the distance from tip to "
                        "taper start, or measure from the taper start or the butt");
        return false;
    }
    blank->balance_x_mm = blank->measured == TW_AHEAD_OF_START ? -blank->balance_mm
                          : blank->measured == TW_BEHIND_START ? blank->balance_mm
                          : blank->measured == TW_BEHIND_TIP   ? blank->balance_mm - tip_mm
                                                             : tw_ring_box(tang_of(input)).max_x_mm - blank->balance_mm;
    return true;
}

#define TOO_HEAVY 1.15 /* of the drawn knife at full thickness: scales, drawing and density are not exact */

/* Of what is drawn, were it as thick as the ricasso everywhere. */
static double full_mass_g(const struct tw_job *job, const struct tw_outline *drawn)
{
    double area_mm2 = fabs(tw_ring_area_mm2(&drawn->outer));

    for (size_t i = 0; i < drawn->hole_count; i++)
        area_mm2 -= fabs(tw_ring_area_mm2(&drawn->holes[i]));
    return area_mm2 * job->taper.ricasso_mm * job->steel.density_g_per_mm3;
}

/* How far ahead the tip lies is not always known. */
static void check_on_knife(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    double far_mm = tw_ring_box(tang_of(input)).max_x_mm, at_mm = job->blank.balance_x_mm;
    bool known = job->blade.length_mm > 0;

    if (at_mm >= -(known ? job->blade.length_mm : FARTHEST_TIP_MM) && at_mm <= far_mm)
        return;
    if (!known && at_mm < 0)
        tw_input_faultf(input, tw_input_place(input, "blank.balance_point"),
                        "%.6g mm puts the balance point %.1f mm ahead of the taper start, farther than any blade "
                        "reaches that this program knows of, %.6g mm; look at measured as well",
                        job->blank.balance_mm, -at_mm, FARTHEST_TIP_MM);
    else
        tw_input_faultf(input, tw_input_place(input, "blank.balance_point"),
                        "%.6g mm puts the balance point at %.1f mm from the taper start, off the knife, which reaches "
                        "from %.1f mm to %.1f mm; look at measured as well",
                        job->blank.balance_mm, at_mm, known ? -job->blade.length_mm : 0.0, far_mm);
}

/* A slip of units, or a balance point measured from elsewhere, shows here. */
static void check_blank(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    const struct tw_blank *blank = &job->blank;
    double tang_g = full_mass_g(job, &job->part.tang), knife_g = tang_g + full_mass_g(job, &job->part.blade);

    if (!(blank->mass_g > 0) || !sound(input, "blank.mass") || !sound(input, "blank.balance_point") ||
        !sound(input, "blank.measured") || !given(input, "blank.balance_point") || !place_balance(input))
        return;
    check_on_knife(input);
    if (!sound(input, "steel.density"))
        return;
    if (blank->mass_g < tang_g)
        tw_input_faultf(input, tw_input_place(input, "blank.mass"),
                        "%.6g g is less than the drawn tang alone weighs at full thickness, %.1f g; weigh the whole "
                        "blank, and look at the drawing's scale",
                        blank->mass_g, tang_g);
    else if (job->placement.shown == TW_SHOWN_KNIFE && blank->mass_g > TOO_HEAVY * knife_g)
        tw_input_faultf(
            input, tw_input_place(input, "blank.mass"),
            "%.6g g is more than the drawn knife would weigh as thick as its ricasso all over, %.1f g; weigh "
            "it without its handle, and look at the unit and the drawing's scale",
            blank->mass_g, knife_g);
}

/* ---- handle ---- */

/* A density that was given counts; else that of the material. False when neither is known. */
static bool settle_density(enum tw_material_id material, double *density_g_per_mm3)
{
    if (!(*density_g_per_mm3 > 0))
        *density_g_per_mm3 = tw_material_density_g_per_mm3(material);
    return *density_g_per_mm3 > 0;
}

static void check_scales(struct tw_input *input)
{
    struct tw_handle *handle = &input->draft->job.handle;
    bool material = given(input, "handle.scale_material"), density = given(input, "handle.scale_density");
    bool scales = given(input, "handle.scale_thickness");

    if (!scales && (material || density || given(input, "handle.pins")))
        tw_input_faultf(input,
                        tw_input_place(input, material  ? "handle.scale_material"
                                              : density ? "handle.scale_density"
                                                        : "handle.pins"),
                        "needs scale_thickness beside it; write for example scale_thickness = \"8 mm\";");
    if (scales && sound(input, "handle.scale_material") && sound(input, "handle.scale_density") &&
        !settle_density(handle->material, &handle->density_g_per_mm3))
        tw_input_faultf(input, tw_input_place(input, "handle.scale_thickness"),
                        "how heavy the scales are is not known; write for example scale_material = \"walnut\"; or "
                        "scale_density = \"1180 kg/m3\";");
}

/* Where pin `i` stands, and its name; `key` is the caller's. */
static struct tw_place pin_place(const struct tw_input *input, size_t i, char key[64])
{
    const struct tw_origin *list = tw_input_origin(input, "handle.pins");
    const config_setting_t *pin = config_setting_get_elem(list->setting, (unsigned)i);

    snprintf(key, 64, "handle.pins[%zu]", i + 1);
    return (struct tw_place){ .file = list->file, .line = (int)config_setting_source_line(pin), .key = key };
}

static void check_pin(struct tw_input *input, size_t i)
{
    struct tw_handle *handle = &input->draft->job.handle;
    struct tw_pin *pin = &handle->pins[i];
    char key[64];
    struct tw_place at = pin_place(input, i, key);

    if (!settle_density(pin->material, &pin->density_g_per_mm3))
        tw_input_faultf(input, at,
                        "how heavy it is is not known; write for example material = \"brass\"; or density = "
                        "\"8440 kg/m3\";");
    if (pin->diameter_mm > 0 && pin->bore_mm >= pin->diameter_mm)
        tw_input_faultf(input, at, "a bore of %.6g mm leaves nothing of a diameter of %.6g mm", pin->bore_mm,
                        pin->diameter_mm);
    for (size_t j = 0; j < i; j++)
        if (handle->pins[j].hole == pin->hole)
            tw_input_faultf(input, at, "hole %d has pin %zu already", pin->hole, j + 1);
}

static void check_pins(struct tw_input *input)
{
    for (size_t i = 0; sound(input, "handle.pins") && i < input->draft->job.handle.pin_count; i++)
        check_pin(input, i);
}

static bool is_round(const struct tw_ring *hole, double width_mm, double height_mm)
{
    double ellipse_mm2 = TW_PI / 4 * width_mm * height_mm;

    return fabs(fabs(tw_ring_area_mm2(hole)) - ellipse_mm2) < ROUND_SHARE * ellipse_mm2 &&
           fabs(width_mm - height_mm) < ROUND_SHARE * width_mm + FIT_MM;
}

static void check_pin_in_hole(struct tw_input *input, size_t i)
{
    const struct tw_job *job = &input->draft->job;
    struct tw_pin *pin = &job->handle.pins[i];
    const struct tw_ring *hole = tw_hole_along(&job->part.tang, (size_t)pin->hole);
    char key[64];
    struct tw_place at = pin_place(input, i, key);
    struct tw_box box;
    double width_mm, height_mm;

    if (!hole) {
        tw_input_faultf(input, at, "goes through hole %d, but the drawn tang has %zu", pin->hole,
                        job->part.tang.hole_count);
        return;
    }
    box = tw_ring_box(hole);
    width_mm = box.max_x_mm - box.min_x_mm, height_mm = box.max_y_mm - box.min_y_mm;
    if (!(pin->diameter_mm > 0) && !is_round(hole, width_mm, height_mm))
        tw_input_faultf(input, at, "hole %d is not round, %.2f mm by %.2f mm; give the pin's diameter", pin->hole,
                        width_mm, height_mm);
    else if (pin->diameter_mm > fmin(width_mm, height_mm) + FIT_MM)
        tw_input_faultf(input, at, "%.6g mm is too thick for hole %d, which is drawn %.2f mm wide", pin->diameter_mm,
                        pin->hole, fmin(width_mm, height_mm));
    else if (!(pin->diameter_mm > 0)) {
        pin->diameter_mm = 2 * sqrt(fabs(tw_ring_area_mm2(hole)) / TW_PI);
        if (pin->bore_mm >= pin->diameter_mm)
            tw_input_faultf(input, at, "a bore of %.6g mm leaves nothing of the pin that fills hole %d, %.2f mm wide",
                            pin->bore_mm, pin->hole, pin->diameter_mm);
    }
}

/* How far ahead of the taper start the drawing shows steel; 0: not at all. */
static double drawn_ahead_mm(const struct tw_job *job)
{
    double drawn_mm = job->part.blade.outer.count > 0 ? -tw_ring_box(&job->part.blade.outer).min_x_mm : 0;

    return drawn_mm < SLIVER_MM ? 0 : drawn_mm;
}

/* The same where what is drawn is a blade with its tip, not a piece of the ricasso. */
static double drawn_blade_mm(const struct tw_job *job)
{
    return job->placement.shown == TW_SHOWN_KNIFE ? drawn_ahead_mm(job) : 0;
}

static void check_front(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    const struct tw_handle *handle = &job->handle;
    double far_mm = tw_ring_box(&job->part.tang.outer).max_x_mm;

    if (!(handle->scale_mm > 0) || handle->outline.count > 0)
        return;
    if (handle->front_mm >= far_mm)
        tw_input_faultf(input, tw_input_place(input, "handle.scale_front"),
                        "%.6g mm lies behind the butt, which ends at %.2f mm", handle->front_mm, far_mm);
    if (handle->front_mm < -drawn_ahead_mm(job))
        tw_input_faultf(
            input, tw_input_place(input, "handle.scale_front"),
            "%.6g mm lies ahead of the taper start, where the drawing shows nothing; give scale_outline, or "
            "the drawing of the whole knife",
            handle->front_mm);
}

/* ---- blade ---- */

static void check_distal_thicknesses(struct tw_input *input)
{
    const struct tw_ring *distal = &input->draft->job.blade.distal;

    for (size_t i = 0; sound(input, "blade.distal") && i < distal->count; i++)
        if (!(distal->points[i].y_mm > 0 && distal->points[i].y_mm <= THICKEST_MM)) {
            tw_input_faultf(input, tw_input_place(input, "blade.distal"),
                            "pair %zu gives a thickness of %.6g mm; above 0 mm and up to %.6g mm is allowed; each "
                            "pair is a distance behind the tip and the thickness there",
                            i + 1, distal->points[i].y_mm, THICKEST_MM);
            return;
        }
}

static void check_blade_length(struct tw_input *input)
{
    struct tw_job *job = &input->draft->job;
    double drawn_mm = drawn_blade_mm(job);

    if (!sound(input, "blade.length"))
        return;
    if (!given(input, "blade.length"))
        job->blade.length_mm = drawn_mm;
    else if (drawn_mm > 0 && fabs(drawn_mm - job->blade.length_mm) > BLADE_MM)
        tw_input_faultf(
            input, tw_input_place(input, "blade.length"),
            "%.6g mm, but the drawing's tip lies %.2f mm ahead of the taper start; drop this key or correct "
            "the drawing's scale",
            job->blade.length_mm, drawn_mm);
    else if (job->blade.length_mm < drawn_ahead_mm(job) - BLADE_MM)
        tw_input_faultf(input, tw_input_place(input, "blade.length"),
                        "%.6g mm, but the drawing shows steel as far as %.2f mm ahead of the taper start, and the tip "
                        "lies no nearer",
                        job->blade.length_mm, drawn_ahead_mm(job));
}

static void check_distal_places(struct tw_input *input)
{
    const struct tw_blade *blade = &input->draft->job.blade;
    const struct tw_ring *distal = &blade->distal;
    struct tw_place at = tw_input_place(input, "blade.distal");

    if (!sound(input, "blade.distal") || distal->count == 0)
        return;
    if (!(blade->length_mm > 0))
        tw_input_faultf(input, at,
                        "counts from the tip, but the drawing shows none; add length = \"...\"; from tip to "
                        "taper start");
    else if (distal->points[distal->count - 1].x_mm > blade->length_mm + BLADE_MM)
        tw_input_faultf(input, at, "%.6g mm lies behind the taper start, which is %.2f mm behind the tip",
                        distal->points[distal->count - 1].x_mm, blade->length_mm);
}

void tw_weight_checks_run(struct tw_input *input)
{
    check_weighing(input);
    check_scales(input);
    check_pins(input);
    check_distal_thicknesses(input);
}

void tw_weight_checks_run_with_outline(struct tw_input *input)
{
    check_blade_length(input);
    check_blank(input);
    for (size_t i = 0; sound(input, "handle.pins") && i < input->draft->job.handle.pin_count; i++)
        check_pin_in_hole(input, i);
    check_front(input);
    check_distal_places(input);
}
