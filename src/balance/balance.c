/* balance.c - weights and balance points for one butt and one depth of relief. */
#include "balance/model.h"

#include "geometry/ring.h"
#include "tangwright/blank.h"

#include <math.h>
#include <stdlib.h>

#define BEYOND_ALL_MM 1e6

double tw_weight_moment_g_mm(const struct tw_weight *weight)
{
    return weight->mass_g * weight->x_mm;
}

const char *tw_stage_name(enum tw_stage stage)
{
    static const char *const names[TW_STAGE_COUNT] = { "blank as weighed", "tapered", "relieved", "finished knife",
                                                       "not ground, same handle" };

    return names[stage];
}

struct tw_layer_law tw_taper_law(const struct tw_job *job, double butt_mm)
{
    const struct tw_taper *taper = &job->taper;
    double slope = (taper->ricasso_mm - butt_mm) / (2.0 * taper->length_mm);
    struct tw_layer_law law = { slope, BEYOND_ALL_MM, BEYOND_ALL_MM };

    if (!(slope > 0.0))
        return law;
    law.from_mm = job->finish.allowance_mm / slope;
    law.to_mm = fmax(law.from_mm, (taper->ricasso_mm - fmin(taper->smallest_mm, butt_mm)) / (2.0 * slope));
    return law;
}

/* From sums of volume and first moments. */
static struct tw_weight weight_from(double volume_mm3, double x_mm4, double y_mm4, double z_mm4,
                                    double density_g_per_mm3)
{
    if (!(volume_mm3 > 0.0))
        return (struct tw_weight){ 0 };
    return (struct tw_weight){ volume_mm3, volume_mm3 * density_g_per_mm3, x_mm4 / volume_mm3, y_mm4 / volume_mm3,
                               z_mm4 / volume_mm3 };
}

static void add_weight(struct tw_weight *sum, const struct tw_weight *more)
{
    double mass_g = sum->mass_g + more->mass_g;

    if (!(more->mass_g > 0.0))
        return;
    sum->x_mm = (sum->x_mm * sum->mass_g + more->x_mm * more->mass_g) / mass_g;
    sum->y_mm = (sum->y_mm * sum->mass_g + more->y_mm * more->mass_g) / mass_g;
    sum->z_mm = (sum->z_mm * sum->mass_g + more->z_mm * more->mass_g) / mass_g;
    sum->mass_g = mass_g;
    sum->volume_mm3 += more->volume_mm3;
}

static struct tw_weight plate(const struct tw_moments *area, double thickness_mm, double density_g_per_mm3)
{
    return weight_from(area->one_mm2 * thickness_mm, area->u_mm3 * thickness_mm, area->y_mm3 * thickness_mm, 0.0,
                       density_g_per_mm3);
}

/* ---- steel taken off ---- */

static struct tw_weight taper_off(const struct tw_balance_model *model, const struct tw_layer_law *law, double side)
{
    const struct tw_job *job = model->job;
    struct tw_layer_sums d = tw_layer_over(&job->part.tang, law);
    double z_mm4;

    if (law->slope > 0.0) {
        d.d_mm3 -= model->lacking.d_mm3;
        d.xd_mm4 -= model->lacking.xd_mm4;
        d.yd_mm4 -= model->lacking.yd_mm4;
    }
    z_mm4 = side * (job->taper.ricasso_mm * d.d_mm3 - d.dd_mm4) / 2.0;
    return weight_from(d.d_mm3, d.xd_mm4, d.yd_mm4, z_mm4, job->steel.density_g_per_mm3);
}

/* A hollow of even depth below the tapered face, over `pieces`. */
static struct tw_weight hollow(const struct tw_balance_model *model, const struct tw_outline *pieces, size_t count,
                               const struct tw_moments *area, const struct tw_layer_law *law, double depth_mm,
                               double side, double density_g_per_mm3)
{
    double middle_mm = (model->job->taper.ricasso_mm - depth_mm) / 2.0, taken_mm3 = 0.0;

    for (size_t i = 0; i < count; i++)
        taken_mm3 += tw_layer_over(&pieces[i], law).d_mm3;
    return weight_from(depth_mm * area->one_mm2, depth_mm * area->u_mm3, depth_mm * area->y_mm3,
                       side * depth_mm * (middle_mm * area->one_mm2 - taken_mm3), density_g_per_mm3);
}

static bool is_hollowed(const struct tw_job *job, int side)
{
    return job->relief.sides == TW_RELIEF_BOTH || (job->relief.sides == TW_RELIEF_A) == (side == 0);
}

static void take_off(const struct tw_balance_model *model, const struct tw_layer_law *law, struct tw_balance *out)
{
    const struct tw_job *job = model->job;

    for (int side = 0; side < TW_SIDES_OF(job); side++) {
        double up = side == 0 ? 1.0 : -1.0;

        out->taper[side] = taper_off(model, law, up);
        if (is_hollowed(job, side) && out->relief_depth_mm > 0.0)
            out->relief[side] = hollow(model, model->hollow->pieces, model->hollow->count, &model->relief_area, law,
                                       out->relief_depth_mm, up, job->steel.density_g_per_mm3);
        add_weight(&out->removed, &out->taper[side]);
        add_weight(&out->removed, &out->relief[side]);
    }
}

/* ---- handle put on ---- */

static double thickness_at(const struct tw_job *job, const struct tw_layer_law *law, double x_mm)
{
    double taken_mm = law->slope * fmax(0.0, fmin(x_mm, law->to_mm) - law->from_mm);

    return job->taper.ricasso_mm - TW_SIDES_OF(job) * taken_mm;
}

static struct tw_weight all_scales(const struct tw_balance_model *model)
{
    const struct tw_handle *handle = &model->job->handle;
    struct tw_moments area = model->scale_area;

    for (size_t i = 0; i < model->pin_count; i++) {
        const struct tw_standing_pin *pin = &model->pins[i];
        struct tw_moments lost = { .one_mm2 = pin->outer_mm2,
                                   .u_mm3 = pin->outer_mm2 * pin->at.x_mm,
                                   .y_mm3 = pin->outer_mm2 * pin->at.y_mm };

        tw_moments_add(&area, &lost, -1.0);
    }
    return plate(&area, 2.0 * handle->scale_mm * handle->fill, handle->density_g_per_mm3);
}

static struct tw_weight all_pins(const struct tw_balance_model *model, const struct tw_layer_law *law)
{
    const struct tw_handle *handle = &model->job->handle;
    struct tw_weight sum = { 0 };

    for (size_t i = 0; i < model->pin_count; i++) {
        const struct tw_standing_pin *pin = &model->pins[i];
        double length_mm = thickness_at(model->job, law, pin->at.x_mm) + 2.0 * (handle->glue_mm + handle->scale_mm);
        double volume_mm3 = pin->area_mm2 * length_mm;
        struct tw_weight one =
            weight_from(volume_mm3, volume_mm3 * pin->at.x_mm, volume_mm3 * pin->at.y_mm, 0.0, pin->density_g_per_mm3);

        add_weight(&sum, &one);
    }
    return sum;
}

/* The bond line under both scales; over a relief that is not filled there is none. */
static struct tw_weight bond_line(const struct tw_balance_model *model, double relief_depth_mm)
{
    const struct tw_handle *handle = &model->job->handle;
    struct tw_moments area = { 0 };

    tw_moments_add(&area, &model->glue_area, 2.0);
    if (relief_depth_mm > 0.0 && !handle->relief_filled)
        tw_moments_add(&area, &model->glue_relief_area, -(double)tw_relief_face_count(&model->job->relief));
    return plate(&area, handle->glue_mm, handle->glue_density_g_per_mm3);
}

static struct tw_weight all_glue(const struct tw_balance_model *model, const struct tw_layer_law *law,
                                 double relief_depth_mm)
{
    const struct tw_handle *handle = &model->job->handle;
    struct tw_weight sum = { 0 }, part;

    if (!(handle->glue_mm > 0.0))
        return sum;
    sum = bond_line(model, relief_depth_mm);
    for (int side = 0; side < 2 && handle->relief_filled && relief_depth_mm > 0.0; side++) {
        if (!is_hollowed(model->job, side))
            continue;
        part = hollow(model, model->glue_relief.items, model->glue_relief.count, &model->glue_relief_area, law,
                      relief_depth_mm, side == 0 ? 1.0 : -1.0, handle->glue_density_g_per_mm3);
        add_weight(&sum, &part);
    }
    return sum;
}

static void put_on(const struct tw_balance_model *model, const struct tw_layer_law *law, struct tw_balance *out)
{
    if (!(model->job->handle.scale_mm > 0.0))
        return;
    out->scales = all_scales(model);
    out->pins = all_pins(model, law);
    out->glue = all_glue(model, law, out->relief_depth_mm);
    add_weight(&out->handle, &out->scales);
    add_weight(&out->handle, &out->pins);
    add_weight(&out->handle, &out->glue);
}

/* ---- the whole knife ---- */

static struct tw_balance_point changed(struct tw_balance_point knife, const struct tw_weight *by, double sign)
{
    double mass_g = knife.mass_g + sign * by->mass_g;

    return (struct tw_balance_point){ mass_g, (knife.mass_g * knife.x_mm + sign * by->mass_g * by->x_mm) / mass_g };
}

static struct tw_weight handle_on_unground(const struct tw_balance_model *model)
{
    struct tw_balance plain = { .butt_mm = model->job->taper.ricasso_mm };
    struct tw_layer_law law = tw_taper_law(model->job, plain.butt_mm);

    put_on(model, &law, &plain);
    return plain.handle;
}

static void weigh_stages(const struct tw_balance_model *model, struct tw_balance *out)
{
    const struct tw_blank *blank = &model->job->blank;
    struct tw_weight plain = handle_on_unground(model);
    struct tw_balance_point knife = { blank->mass_g, blank->balance_x_mm };

    out->weighed = true;
    out->stages[TW_STAGE_BLANK] = knife;
    out->stages[TW_STAGE_UNGROUND] = changed(knife, &plain, 1.0);
    for (int side = 0; side < 2; side++)
        knife = changed(knife, &out->taper[side], -1.0);
    out->stages[TW_STAGE_TAPERED] = knife;
    for (int side = 0; side < 2; side++)
        knife = changed(knife, &out->relief[side], -1.0);
    out->stages[TW_STAGE_RELIEVED] = knife;
    out->stages[TW_STAGE_FINISHED] = changed(knife, &out->handle, 1.0);
    out->blank_share = blank->mass_g / out->stages[TW_STAGE_FINISHED].mass_g;
}

struct tw_balance tw_balance_with(const struct tw_balance_model *model, double butt_mm, double relief_depth_mm)
{
    const struct tw_job *job = model->job;
    struct tw_balance out = { .butt_mm = butt_mm,
                              .relief_depth_mm = model->hollow->count > 0 ? relief_depth_mm : 0.0,
                              .region_mm2 = model->relief.area_mm2,
                              .hollowed_mm2 = model->relief_area.one_mm2 };
    struct tw_layer_law law = tw_taper_law(job, butt_mm);

    out.tang = plate(&model->tang, job->taper.ricasso_mm, job->steel.density_g_per_mm3);
    out.holes = plate(&model->holes, job->taper.ricasso_mm, job->steel.density_g_per_mm3);
    take_off(model, &law, &out);
    put_on(model, &law, &out);
    if (job->blank.mass_g > 0.0)
        weigh_stages(model, &out);
    return out;
}

/* ---- model ---- */

/* A tang too narrow for a relief is only a fault if the job asks for one. */
static enum tw_status find_relief(struct tw_balance_model *model, struct tw_findings *findings)
{
    bool asked = model->job->relief.depth_mm > 0.0;
    struct tw_findings unasked = { 0 };
    enum tw_status status = tw_relief_region(model->job, &model->relief, asked ? findings : &unasked);

    if (status == TW_BAD_INPUT && !asked)
        status = TW_OK;
    if (unasked.out_of_memory)
        status = tw_no_memory(findings);
    tw_findings_free(&unasked);
    if (status == TW_OK && asked)
        status = tw_relief_check(model->job, &model->relief,
                                 (struct tw_place){ .file = model->job->path, .key = "relief.depth" }, findings);
    for (size_t i = 0; i < model->hollow->count; i++) {
        struct tw_moments m = tw_moments_of(&model->hollow->pieces[i]);

        tw_moments_add(&model->relief_area, &m, 1.0);
    }
    return status;
}

/* Each piece of a surveyed face is a ramp that goes on level behind it. A bow takes from one face what it gives the other. */
static void find_lacking(struct tw_balance_model *model)
{
    const struct tw_job *job = model->job;

    for (int side = 0; job->straight && side < 2; side++) {
        const struct tw_profile *raw = &job->straight->raw[side];

        for (size_t i = 0; i + 1 < raw->count; i++) {
            struct tw_point a = raw->points[i], b = raw->points[i + 1];
            struct tw_layer_law ramp = { (a.y_mm - b.y_mm) / (b.x_mm - a.x_mm) / TW_SIDES_OF(job), a.x_mm, b.x_mm };
            struct tw_layer_sums sums = tw_layer_over(&job->part.tang, &ramp);

            model->lacking.d_mm3 += sums.d_mm3;
            model->lacking.xd_mm4 += sums.xd_mm4;
            model->lacking.yd_mm4 += sums.yd_mm4;
        }
    }
}

static void measure_tang(struct tw_balance_model *model)
{
    const struct tw_outline *tang = &model->job->part.tang;

    model->tang = tw_moments_of(tang);
    model->far_mm = tw_ring_box(&tang->outer).max_x_mm;
    for (size_t i = 0; i < tang->hole_count; i++) {
        struct tw_outline hole = { .outer = tang->holes[i] };
        struct tw_moments m = tw_moments_of(&hole);

        tw_moments_add(&model->holes, &m, -1.0); /* clockwise */
    }
}

enum tw_status tw_balance_open(const struct tw_job *job, const struct tw_relief_region *hollowed,
                               struct tw_balance_model **out, struct tw_findings *findings)
{
    struct tw_balance_model *model = calloc(1, sizeof *model);
    enum tw_status status;

    *out = NULL;
    if (!model)
        return tw_no_memory(findings);
    model->job = job;
    model->hollow = hollowed ? hollowed : &model->relief;
    measure_tang(model);
    find_lacking(model);
    status = find_relief(model, findings);
    if (status == TW_OK && job->handle.scale_mm > 0.0)
        status = tw_handle_regions(model, findings);
    if (status != TW_OK) {
        tw_balance_close(model);
        return status;
    }
    *out = model;
    return TW_OK;
}

void tw_balance_close(struct tw_balance_model *model)
{
    if (!model)
        return;
    tw_relief_free(&model->relief);
    for (size_t i = 0; i < model->glue_relief.count; i++)
        tw_outline_free(&model->glue_relief.items[i]);
    free(model->glue_relief.items);
    free(model->pins);
    free(model);
}

enum tw_status tw_balance_make(const struct tw_job *job, const struct tw_relief_region *hollowed,
                               struct tw_balance *out, struct tw_findings *findings)
{
    struct tw_balance_model *model;
    enum tw_status status = tw_balance_open(job, hollowed, &model, findings);

    *out = (struct tw_balance){ 0 };
    if (status != TW_OK)
        return status;
    *out = tw_balance_with(model, job->taper.butt_mm, job->relief.depth_mm);
    tw_balance_close(model);
    return TW_OK;
}
