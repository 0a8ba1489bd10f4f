/* taper.c - the wedge that comes off each face, and where it lies for the controller. */
#include "tangwright/taper.h"

#include "geometry/ring.h"
#include "tangwright/blank.h"

#include <math.h>
#include <stdlib.h>

static double slope_of(const struct tw_job *job)
{
    return (job->taper.ricasso_mm - job->taper.butt_mm) / (2.0 * job->taper.length_mm);
}

double tw_profile_mm(const struct tw_profile *profile, double x_mm)
{
    const struct tw_point *p = profile->points;
    size_t i = 1;

    if (profile->count == 0)
        return 0.0;
    if (profile->count == 1 || x_mm <= p[0].x_mm)
        return p[0].y_mm;
    while (i + 1 < profile->count && p[i].x_mm < x_mm)
        i++;
    return p[i - 1].y_mm + (p[i].y_mm - p[i - 1].y_mm) * (x_mm - p[i - 1].x_mm) / (p[i].x_mm - p[i - 1].x_mm);
}

/* A tilt of the middle towards side A leaves less to come off A and more off B. */
static double side_slope(const struct tw_job *job, enum tw_side side)
{
    double tilt = job->straight ? job->straight->tilt : 0.0;

    return slope_of(job) - (side == TW_SIDE_A ? tilt : -tilt);
}

/* What the job's program leaves over the plane of the taper. */
static double left_mm(const struct tw_job *job)
{
    return job->finish.allowance_mm + job->task.leaves_mm;
}

double tw_band_hardest_mm(const struct tw_job *job)
{
    return job->taper.zero == TW_ZERO_PAD ? job->taper.band_mm : -job->taper.band_mm;
}

struct tw_job tw_blank_job(const struct tw_job *job, double thicker_mm)
{
    struct tw_job other = *job;

    other.task.thicker_mm = thicker_mm;
    other.task.stands_high = false;
    return other;
}

double tw_blank_mm(const struct tw_job *job)
{
    return job->taper.ricasso_mm + job->task.thicker_mm;
}

double tw_taper_begin_mm(const struct tw_job *job)
{
    return job->taper.zero == TW_ZERO_PAD ? -job->task.thicker_mm / slope_of(job) : 0.0;
}

double tw_tang_end_mm(const struct tw_job *job)
{
    return tw_ring_box(&job->part.tang.outer).max_x_mm;
}

/* From the pad each face that is ground takes the thickness beyond what was stated, and the blank had it once. */
double tw_taper_thicker_mm(const struct tw_job *job)
{
    return (job->taper.zero == TW_ZERO_PAD ? 1.0 - TW_SIDES_OF(job) : 1.0) * job->task.thicker_mm;
}

double tw_taper_stated_mm(const struct tw_job *job, double x_mm)
{
    return job->taper.ricasso_mm - TW_SIDES_OF(job) * slope_of(job) * x_mm;
}

double tw_taper_butt_mm(const struct tw_job *job)
{
    return tw_taper_stated_mm(job, tw_tang_end_mm(job)) + tw_taper_thicker_mm(job);
}

/* Where the blank's thickness goes: over the face, or with the face up. */
static void place_height(struct tw_face *face, enum tw_height_zero zero)
{
    double thicker_mm = (face->blank_mm - 2.0 * face->half_mm) / cos(face->tilt_rad); /* as it lies in the mount */

    face->height_mm = 2.0 * face->half_mm * cos(face->tilt_rad);
    if (zero == TW_ZERO_PAD) {
        face->over_mm = thicker_mm;
    } else {
        face->height_mm += thicker_mm;
        face->zero_mm = face->height_mm;
    }
    face->height_mm += face->allowance_mm;
}

static const struct tw_profile *raw_of(const struct tw_job *job, enum tw_side side)
{
    if (job->task.raw || !job->straight)
        return job->task.raw;
    return job->task.stands_high ? &job->straight->utmost[side] : &job->straight->highest[side];
}

struct tw_face tw_face_of(const struct tw_job *job, enum tw_side side)
{
    double slope = side_slope(job, side);
    double ricasso_mm = job->taper.ricasso_mm;
    struct tw_face face = { .side = side,
                            .mount = job->mount,
                            .slope = slope,
                            .allowance_mm = left_mm(job),
                            .raw = raw_of(job, side),
                            .half_mm = ricasso_mm / 2.0,
                            .raw_up_mm = ricasso_mm / 2.0 + job->task.thicker_mm,
                            .blank_mm = tw_blank_mm(job),
                            .over_ground = side == TW_SIDE_B || job->task.over_ground };

    if (job->mount == TW_MOUNT_TILTED) {
        face.tilt_rad = atan(slope);
        face.start_mm = -ricasso_mm * sin(face.tilt_rad);
        face.stretch = 1.0 / cos(face.tilt_rad);
    } else {
        face.fall = slope;
        face.stretch = 1.0;
    }
    place_height(&face, job->taper.zero);
    return face;
}

double tw_face_lean(const struct tw_job *job, const struct tw_face *face)
{
    return face->mount == TW_MOUNT_LEVEL ? face->fall : tan(job->machine.head_tilt_rad);
}

double tw_face_height_mm(const struct tw_face *face, double x_mm)
{
    return face->height_mm - face->fall * x_mm;
}

/* ---- stock: of a surveyed blank by straight lines between the points of its profile ---- */

/* Both mounts alike: a flat blank's top leaves the target plane at the angle atan(m). */
static double flat_stock_mm(const struct tw_face *face, double x_mm)
{
    return face->slope * (x_mm - face->start_mm) + face->over_mm - face->allowance_mm;
}

/* The i-th point of the blank's top in the setup frame: x, and the stock there as y. */
static struct tw_point stock_point(const struct tw_face *face, size_t i)
{
    struct tw_point p = face->raw->points[i];
    double z_mm = face->raw_up_mm + p.y_mm, sine = sin(face->tilt_rad), cosine = cos(face->tilt_rad);
    double x_mm = p.x_mm * cosine - z_mm * sine;

    return (struct tw_point){ x_mm, p.x_mm * sine + z_mm * cosine - tw_face_height_mm(face, x_mm) };
}

static double between(struct tw_point a, struct tw_point b, double x_mm)
{
    return a.y_mm + (b.y_mm - a.y_mm) * (x_mm - a.x_mm) / (b.x_mm - a.x_mm);
}

static size_t point_count(const struct tw_face *face)
{
    return face->raw && face->raw->count > 1 ? face->raw->count : 0;
}

double tw_face_stock_mm(const struct tw_face *face, double x_mm)
{
    size_t count = point_count(face), i = 1;

    if (count == 0 || x_mm <= stock_point(face, 0).x_mm)
        return flat_stock_mm(face, x_mm);
    while (i + 1 < count && stock_point(face, i).x_mm < x_mm)
        i++;
    return between(stock_point(face, i - 1), stock_point(face, i), x_mm);
}

/* Where the line through two points reaches a height; they do not lie level. */
static double crossing_mm(struct tw_point a, struct tw_point b, double height_mm)
{
    return a.x_mm + (b.x_mm - a.x_mm) * (height_mm - a.y_mm) / (b.y_mm - a.y_mm);
}

double tw_face_reach_mm(const struct tw_face *face, double height_mm)
{
    size_t count = point_count(face);
    double flat_mm = face->start_mm + (face->allowance_mm - face->over_mm + height_mm) / face->slope;

    if (count == 0 || height_mm <= stock_point(face, 0).y_mm)
        return flat_mm;
    for (size_t i = 1; i < count; i++) {
        struct tw_point a = stock_point(face, i - 1), b = stock_point(face, i);

        if (b.y_mm >= height_mm || (i + 1 == count && b.y_mm > a.y_mm))
            return crossing_mm(a, b, height_mm);
    }
    return HUGE_VAL;
}

double tw_face_end_mm(const struct tw_face *face, double height_mm)
{
    size_t count = point_count(face);
    struct tw_point last, before;

    if (count == 0)
        return HUGE_VAL;
    last = stock_point(face, count - 1);
    before = stock_point(face, count - 2);
    if (last.y_mm > before.y_mm || (last.y_mm == before.y_mm && last.y_mm >= height_mm))
        return HUGE_VAL; /* it goes on growing, or stays */
    if (last.y_mm >= height_mm)
        return crossing_mm(before, last, height_mm);
    for (size_t i = count - 1; i > 0; i--)
        if (stock_point(face, i - 1).y_mm >= height_mm)
            return crossing_mm(stock_point(face, i - 1), stock_point(face, i), height_mm);
    return stock_point(face, 0).x_mm;
}

double tw_face_most_mm(const struct tw_face *face, double x_mm)
{
    double most_mm = tw_face_stock_mm(face, x_mm);

    for (size_t i = 0; i < point_count(face); i++)
        if (stock_point(face, i).x_mm < x_mm)
            most_mm = fmax(most_mm, stock_point(face, i).y_mm);
    return most_mm;
}

double tw_face_top_mm(const struct tw_face *face, double x_mm)
{
    return tw_face_height_mm(face, x_mm) + tw_face_stock_mm(face, x_mm);
}

double tw_face_highest_mm(const struct tw_face *face, double x_mm)
{
    double highest_mm = tw_face_top_mm(face, x_mm);

    for (size_t i = 0; i < point_count(face); i++)
        if (stock_point(face, i).x_mm < x_mm)
            highest_mm = fmax(highest_mm, tw_face_top_mm(face, stock_point(face, i).x_mm));
    return highest_mm;
}

double tw_face_climb(const struct tw_face *face)
{
    double climb = face->slope;

    for (size_t i = 1; i < point_count(face); i++) {
        struct tw_point a = stock_point(face, i - 1), b = stock_point(face, i);

        climb = fmax(climb, (b.y_mm - a.y_mm) / (b.x_mm - a.x_mm));
    }
    return climb;
}

double tw_face_rise_mm(const struct tw_face *face, double bar_mm)
{
    return bar_mm * sin(atan(face->slope));
}

static enum tw_status place_ring(const struct tw_face *face, const struct tw_ring *ring, struct tw_ring *out,
                                 struct tw_findings *findings)
{
    double across = face->side == TW_SIDE_B ? -1.0 : 1.0;

    out->points = malloc((ring->count ? ring->count : 1) * sizeof *out->points);
    if (!out->points)
        return tw_no_memory(findings);
    out->count = ring->count;
    for (size_t i = 0; i < ring->count; i++) {
        out->points[i].x_mm = ring->points[i].x_mm * face->stretch + face->start_mm;
        out->points[i].y_mm = across * ring->points[i].y_mm;
    }
    if (face->side == TW_SIDE_B)
        tw_ring_reverse(out); /* mirroring turned it round */
    return TW_OK;
}

enum tw_status tw_face_outline(const struct tw_face *face, const struct tw_outline *tang, struct tw_outline *out,
                               struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct tw_outline){ 0 };
    status = place_ring(face, &tang->outer, &out->outer, findings);
    if (status == TW_OK && tang->hole_count > 0) {
        out->holes = calloc(tang->hole_count, sizeof *out->holes);
        if (!out->holes)
            status = tw_no_memory(findings);
    }
    for (size_t i = 0; status == TW_OK && i < tang->hole_count; i++) {
        status = place_ring(face, &tang->holes[i], &out->holes[i], findings);
        if (status == TW_OK)
            out->hole_count++;
    }
    if (status != TW_OK)
        tw_outline_free(out);
    return status;
}

/* What comes off each face that is ground. */
static double removed_mm(const struct tw_job *job, double x_mm)
{
    return fmax(0.0, slope_of(job) * x_mm - job->finish.allowance_mm);
}

double tw_taper_thickness_mm(const struct tw_job *job, double x_mm)
{
    return job->taper.ricasso_mm - TW_SIDES_OF(job) * removed_mm(job, x_mm);
}

double tw_taper_half_mm(const struct tw_job *job, enum tw_side side, double x_mm)
{
    return job->taper.ricasso_mm / 2.0 - (side == TW_SIDE_B && job->one_face ? 0.0 : removed_mm(job, x_mm));
}

static double outline_area_mm2(const struct tw_outline *outline)
{
    double area_mm2 = fabs(tw_ring_area_mm2(&outline->outer));

    for (size_t i = 0; i < outline->hole_count; i++)
        area_mm2 -= fabs(tw_ring_area_mm2(&outline->holes[i]));
    return area_mm2;
}

double tw_tang_area_mm2(const struct tw_job *job)
{
    return outline_area_mm2(&job->part.tang);
}

double tw_tang_ground_mm2(const struct tw_job *job)
{
    double area_mm2 = tw_tang_area_mm2(job);

    for (size_t i = 0; i < job->task.hollow_count; i++)
        area_mm2 -= outline_area_mm2(&job->task.hollows[i]);
    return area_mm2;
}

/* Integral of max(0, x - start) over the triangle-fan wedge between the ring's edge a-b and the line x = start:
 * the antiderivative of (x - start) in x, squared over two, integrated along the edge in y (Green's theorem). */
static double edge_moment_mm3(struct tw_point a, struct tw_point b, double start_mm)
{
    double u = a.x_mm - start_mm, v = b.x_mm - start_mm, dy = b.y_mm - a.y_mm;

    if (u <= 0.0 && v <= 0.0)
        return 0.0;
    if (u >= 0.0 && v >= 0.0)
        return dy * (u * u + u * v + v * v) / 6.0;
    /* The edge crosses the line: only the part beyond it counts. */
    return u > 0.0 ? dy * u / (u - v) * u * u / 6.0 : dy * v / (v - u) * v * v / 6.0;
}

static double ring_moment_mm3(const struct tw_ring *ring, double start_mm)
{
    double sum = 0.0;

    for (size_t i = 0; i < ring->count; i++)
        sum += edge_moment_mm3(ring->points[i], ring->points[i + 1 < ring->count ? i + 1 : 0], start_mm);
    return fabs(sum);
}

static double outline_moment_mm3(const struct tw_outline *outline, double start_mm)
{
    double moment_mm3 = ring_moment_mm3(&outline->outer, start_mm);

    for (size_t i = 0; i < outline->hole_count; i++)
        moment_mm3 -= ring_moment_mm3(&outline->holes[i], start_mm);
    return moment_mm3;
}

/* Of what is ground of the tang. */
static double tang_moment_mm3(const struct tw_job *job, double start_mm)
{
    double moment_mm3 = outline_moment_mm3(&job->part.tang, start_mm);

    for (size_t i = 0; i < job->task.hollow_count; i++)
        moment_mm3 -= outline_moment_mm3(&job->task.hollows[i], start_mm);
    return moment_mm3;
}

double tw_taper_removed_mm3(const struct tw_job *job)
{
    double slope = slope_of(job);

    return slope * tang_moment_mm3(job, tw_taper_begin_mm(job) + left_mm(job) / slope);
}

double tw_taper_ahead_mm3(const struct tw_job *job)
{
    double slope = slope_of(job), ahead_mm = -tw_taper_begin_mm(job) - left_mm(job) / slope;

    return ahead_mm > 0.0 ? job->placement.width_mm * slope * ahead_mm * ahead_mm / 2.0 : 0.0;
}

/* What comes off a flat blank at part x, below 0 where nothing does. */
static double off_flat_mm(const struct tw_job *job, const struct tw_face *face, double x_mm)
{
    double raised_mm = job->taper.zero == TW_ZERO_PAD ? job->task.thicker_mm : 0.0;

    return face->slope * x_mm + raised_mm - left_mm(job);
}

static double off_mm(const struct tw_job *job, const struct tw_face *face, double x_mm)
{
    return tw_profile_mm(face->raw, x_mm) - face->half_mm + off_flat_mm(job, face, x_mm);
}

/* What comes off, as a sum of ramps c max(0, x - x_k): each has the volume c times the tang's moment about x_k. */
struct ramps {
    const struct tw_job *job;
    double slope; /* of what was summed so far */
    double sum_mm3;
};

static void turn(struct ramps *ramps, double x_mm, double slope)
{
    if (slope == ramps->slope)
        return;
    ramps->sum_mm3 += (slope - ramps->slope) * tang_moment_mm3(ramps->job, x_mm);
    ramps->slope = slope;
}

/* A straight piece from a to b, of which only what is above 0 counts. */
static void add_piece(struct ramps *ramps, struct tw_point a, struct tw_point b)
{
    double slope = (b.y_mm - a.y_mm) / (b.x_mm - a.x_mm);

    if (a.y_mm <= 0.0 && b.y_mm <= 0.0)
        turn(ramps, a.x_mm, 0.0);
    else
        turn(ramps, a.y_mm < 0.0 ? crossing_mm(a, b, 0.0) : a.x_mm, slope);
    if (a.y_mm > 0.0 && b.y_mm < 0.0)
        turn(ramps, crossing_mm(a, b, 0.0), 0.0);
}

double tw_face_removed_mm3(const struct tw_job *job, enum tw_side side)
{
    struct tw_face face = tw_face_of(job, side);
    struct ramps ramps = { .job = job };
    double far_mm = tw_tang_end_mm(job);
    size_t count = point_count(&face);
    double first_mm = count > 0 ? face.raw->points[0].x_mm : 0.0, flat_mm = off_flat_mm(job, &face, first_mm);

    if (count == 0)
        return tw_taper_removed_mm3(job);
    if (flat_mm > 0.0) /* ahead of its first point a surveyed blank is flat */
        add_piece(&ramps, (struct tw_point){ first_mm - flat_mm / face.slope, 0.0 },
                  (struct tw_point){ first_mm, off_mm(job, &face, first_mm) });
    for (size_t i = 0; i < count; i++) {
        double x_mm = face.raw->points[i].x_mm, end_mm = i + 1 < count ? face.raw->points[i + 1].x_mm : far_mm;

        if (end_mm > x_mm)
            add_piece(&ramps, (struct tw_point){ x_mm, off_mm(job, &face, x_mm) },
                      (struct tw_point){ end_mm, off_mm(job, &face, end_mm) });
    }
    return ramps.sum_mm3;
}

double tw_taper_rise_mm(const struct tw_job *job, double bar_mm)
{
    return bar_mm * sin(atan(slope_of(job)));
}

double tw_taper_packing_mm(const struct tw_job *job, enum tw_side side, double x_mm)
{
    if (side == TW_SIDE_A)
        return 0.0;
    return removed_mm(job, x_mm);
}

const char *tw_side_letter(enum tw_side side)
{
    return side == TW_SIDE_A ? "A" : "B";
}
