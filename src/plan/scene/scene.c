/* scene.c - the face, the wheel's ride on it, and the grid of positions that the text can say. */
#include "plan/scene/scene.h"

#include "base/numbers.h"
#include "geometry/shape.h"
#include "taper/assumed.h"

/* A value this close to a whole step is that step: sums of doubles are not exact. */
#define STEP_SLACK 1e-6

double tw_representable_feed_mm_per_s(const struct tw_machine *machine, double feed_mm_per_s)
{
    const struct tw_dialect *dialect = &machine->dialect;
    double unit_mm_per_s = tw_last_decimal_mm(dialect->feed_decimals, dialect->inch) / 60.0;
    double least = ceil(machine->feed_min_mm_per_s / unit_mm_per_s - STEP_SLACK);

    return fmax(least, floor(feed_mm_per_s / unit_mm_per_s + STEP_SLACK)) * unit_mm_per_s;
}

double tw_infeed_step_mm(const struct tw_job *job)
{
    const struct tw_dialect *dialect = &job->machine.dialect;
    double step_mm = tw_last_decimal_mm(dialect->length_decimals, dialect->inch);

    return fmax(step_mm * ceil(job->machine.smallest_step_mm / step_mm - STEP_SLACK), step_mm);
}

double tw_fastest_table_mm_per_s(const struct tw_job *job)
{
    const struct tw_machine *machine = &job->machine;
    double fall = fmax(tw_face_of(job, TW_SIDE_A).fall, tw_face_of(job, TW_SIDE_B).fall),
           stretch = sqrt(1.0 + fall * fall);
    double fastest = fmin(machine->feed_max_mm_per_s, machine->along.rapid_mm_per_s * stretch);

    if (fall > 0.0)
        fastest = fmin(fastest, machine->up.rapid_mm_per_s * stretch / fall);
    else if (job->wheel.kind == TW_WHEEL_CUP)
        fastest = fmin(fastest, machine->across.rapid_mm_per_s);
    return fmax(fastest, machine->feed_min_mm_per_s);
}

static struct tw_ride ride_of(const struct tw_wheel *wheel, const struct tw_face *face)
{
    double radius_mm = wheel->diameter_mm / 2.0, fall = face->fall;
    struct tw_ride ride = { 0 };

    if (wheel->kind == TW_WHEEL_CUP) {
        ride.shift_mm = fall > 0.0 ? radius_mm : 0.0; /* only the uphill edge touches a falling plane */
        ride.lift_mm = fall * radius_mm;
    } else {
        ride.shift_mm = radius_mm * fall / sqrt(1.0 + fall * fall);
        ride.lift_mm = radius_mm * (sqrt(1.0 + fall * fall) - 1.0);
    }
    return ride;
}

/* A flat blank's top lies level in the level mount and climbs towards the butt in the tilted one. */
static double top_of_blank_mm(const struct tw_scene *scene, const struct tw_ring *tang)
{
    double butt_x_mm = tw_ring_box(tang).max_x_mm;

    return fmax(tw_face_height_mm(&scene->face, butt_x_mm), tw_face_highest_mm(&scene->face, butt_x_mm));
}

static void set_heights(struct tw_scene *scene)
{
    const struct tw_job *job = scene->job;
    double over_mm =
        fmax(scene->top_mm + job->travel.approach_mm, scene->obstacles.highest_mm + job->fixture.clearance_mm);

    scene->hop_z_mm = tw_scene_round_up_mm(scene, over_mm);
    scene->part_z_mm = tw_scene_round_up_mm(
        scene, fmax(over_mm, fmax(scene->top_mm, scene->obstacles.highest_mm) + job->travel.hop_height_mm));
    scene->clear_z_mm = tw_scene_round_up_mm(scene, fmax(over_mm, scene->top_mm + job->travel.clear_height_mm));
    scene->part_z_mm = fmin(scene->part_z_mm, scene->clear_z_mm);
}

/* ---- the region ---- */

/* The strip overlaps the tang by this, so that both become one. */
#define OVERLAP_MM 0.02

/* Where the blank's top comes out of the finished face, ahead of the taper start; false where it does not. */
static bool emerges_ahead(const struct tw_scene *scene, double *x_mm)
{
    *x_mm = tw_face_reach_mm(&scene->face, -scene->job->task.leaves_mm);
    return *x_mm < scene->face.start_mm - STEP_SLACK && scene->job->task.scope != TW_SCOPE_RELIEF;
}

/* The tang and the strip ahead of the taper start. */
static const GEOSGeometry *add_strip(struct tw_shapes *shapes, const struct tw_outline *tang, double from_mm,
                                     const GEOSGeometry *region)
{
    double front_mm = tw_ring_box(&tang->outer).min_x_mm, back_mm = front_mm + OVERLAP_MM;
    struct tw_box edge;

    if (!tw_outline_extent(tang, (struct tw_box){ front_mm - 1.0, -1e4, back_mm, 1e4 }, &edge))
        return region;
    edge.min_x_mm = from_mm;
    edge.max_x_mm = back_mm;
    return tw_shape_joined(shapes, region, tw_shape_of_box(shapes, edge));
}

static enum tw_status build_region(struct tw_scene *scene, const struct tw_outline *tang)
{
    struct tw_shapes shapes = tw_shapes_open(scene->geos, "simplify the outline", scene->findings);
    const GEOSGeometry *region = tw_shape_of_outline(&shapes, tang);
    double ahead_mm;

    if (emerges_ahead(scene, &ahead_mm)) {
        region = add_strip(&shapes, tang, ahead_mm, region);
        if (shapes.status == TW_OK)
            shapes.status = tw_assumed_blade(scene->job, &scene->face, &scene->blade, scene->findings);
    }
    region = tw_shape_thinned(&shapes, region, TW_THIN_MM);
    if (shapes.status == TW_OK)
        shapes.status = tw_geos_to_outline(scene->geos, region, &scene->tang, scene->findings);
    scene->region = tw_shape_give(&shapes, region);
    return tw_shapes_close(&shapes);
}

bool tw_scene_ahead(const struct tw_scene *scene, double bottom_mm, double y0_mm, double y1_mm, struct tw_box *out)
{
    struct tw_box within = { tw_face_reach_mm(&scene->face, bottom_mm), y0_mm, scene->face.start_mm, y1_mm };

    return scene->blade.outer.count > 0 && within.min_x_mm < within.max_x_mm &&
           tw_extents_get(scene->extents, &scene->blade, within, out);
}

enum tw_status tw_scene_open(struct tw_scene *scene, const struct tw_job *job, enum tw_side side, struct tw_geos *geos,
                             struct tw_findings *findings)
{
    /* With z zero on each ricasso the neighbours' tops may be as much higher as the band is wide. */
    double uneven_mm = job->taper.zero == TW_ZERO_RICASSO ? 2.0 * job->taper.band_mm : 0.0;
    struct tw_outline tang = { 0 };
    enum tw_status status;

    *scene = (struct tw_scene){ .job = job, .geos = geos, .findings = findings };
    scene->face = tw_face_of(job, side);
    scene->ride = ride_of(&job->wheel, &scene->face);
    scene->radius_mm = job->wheel.diameter_mm / 2.0;
    scene->step_mm = tw_last_decimal_mm(job->machine.dialect.length_decimals, job->machine.dialect.inch);
    scene->infeed_step_mm = tw_infeed_step_mm(job);
    status = tw_face_outline(&scene->face, &job->part.tang, &tang, findings);
    if (status != TW_OK)
        return status;
    scene->top_mm = fmax(tw_blank_mm(job), top_of_blank_mm(scene, &tang.outer));
    status = build_region(scene, &tang);
    tw_outline_free(&tang);
    if (status == TW_OK)
        status = tw_obstacles_gather(job, &scene->face, scene->top_mm + uneven_mm, geos, &scene->obstacles, findings);
    if (status == TW_OK)
        set_heights(scene);
    return status;
}

void tw_scene_close(struct tw_scene *scene)
{
    if (scene->region)
        GEOSGeom_destroy_r(scene->geos->context, scene->region);
    scene->region = NULL;
    tw_outline_free(&scene->tang);
    tw_outline_free(&scene->blade);
    tw_obstacles_free(&scene->obstacles);
}

bool tw_scene_rim_is_coplanar(const struct tw_scene *scene)
{
    return scene->job->wheel.kind == TW_WHEEL_CUP && scene->job->mount == TW_MOUNT_TILTED;
}

const char *tw_scene_advice(const struct tw_scene *scene, const struct tw_keep_out *obstacle)
{
    double butt_x_mm = tw_ring_box(&scene->tang.outer).max_x_mm;

    return tw_obstacles_advice(&scene->obstacles, obstacle, tw_face_height_mm(&scene->face, butt_x_mm));
}

double tw_scene_front_mm(const struct tw_scene *scene, double bottom_mm)
{
    double front_mm = tw_face_reach_mm(&scene->face, bottom_mm), last_mm;

    return front_mm < scene->face.start_mm && emerges_ahead(scene, &last_mm) ? fmin(front_mm, last_mm) : front_mm;
}

double tw_scene_ahead_mm(const struct tw_scene *scene, double bottom_mm)
{
    return fmax(0.0, scene->face.start_mm - tw_face_reach_mm(&scene->face, bottom_mm));
}

const char *tw_scene_band_advice(bool by_band)
{
    return by_band
               ? "; the thickest blank of taper.thickness_band is ground from ahead of the taper start: measure the "
                 "blank and give a smaller band, or zero on its ricasso (taper.height_zero = \"ricasso\")"
               : "";
}

double tw_scene_round_mm(const struct tw_scene *scene, double value_mm)
{
    return round(value_mm / scene->step_mm) * scene->step_mm;
}

/* The grid of heights begins where the program's z does. */
double tw_scene_round_up_mm(const struct tw_scene *scene, double z_mm)
{
    double zero_mm = scene->face.zero_mm;

    return ceil((z_mm - zero_mm) / scene->step_mm - STEP_SLACK) * scene->step_mm + zero_mm;
}

static double round_height_mm(const struct tw_scene *scene, double z_mm)
{
    double zero_mm = scene->face.zero_mm;

    return round((z_mm - zero_mm) / scene->step_mm) * scene->step_mm + zero_mm;
}

double tw_scene_z_mm(const struct tw_scene *scene, double bottom_mm, double x_mm)
{
    double exact_mm = tw_face_height_mm(&scene->face, x_mm) + scene->ride.lift_mm;
    /* The face's own height is rounded up once; layers then lie whole infeed steps above it. */
    double finish_mm =
        scene->face.fall > 0.0 ? round_height_mm(scene, exact_mm) : tw_scene_round_up_mm(scene, exact_mm);

    return finish_mm + bottom_mm;
}

/* On a falling plane z is chosen first, as a whole step, and x follows from it: then the depth between two
 * layers is exact all along, and only x carries a rounding, whose effect on z is `fall` times smaller. */
static double grid_x_mm(const struct tw_scene *scene, double x_mm, bool after)
{
    double top_mm = scene->face.height_mm - scene->face.zero_mm + scene->ride.lift_mm;
    double steps;

    if (scene->face.fall <= 0.0) {
        steps = x_mm / scene->step_mm;
        return (after ? ceil(steps - STEP_SLACK) : floor(steps + STEP_SLACK)) * scene->step_mm;
    }
    steps = (top_mm - scene->face.fall * x_mm) / scene->step_mm;
    steps = after ? floor(steps + STEP_SLACK) : ceil(steps - STEP_SLACK);
    /* Rounded towards the butt, where the plane is lower: the wheel stays on or above it. */
    return ceil((top_mm - steps * scene->step_mm) / scene->face.fall / scene->step_mm - STEP_SLACK) * scene->step_mm;
}

double tw_scene_grid_x_at_or_after_mm(const struct tw_scene *scene, double x_mm)
{
    return grid_x_mm(scene, x_mm, true);
}

double tw_scene_grid_x_at_or_before_mm(const struct tw_scene *scene, double x_mm)
{
    return grid_x_mm(scene, x_mm, false);
}
