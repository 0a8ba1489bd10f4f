/* warm.c - from what a motion removed to what heats the part. */
#include "tangwright/warm.h"

#include "geometry/ring.h"
#include "taper/assumed.h"

#include <math.h>
#include <stdlib.h>

/* Along one axis the cut is no wider than all that the motion cut; slanting, it is as wide as the slice says. */
static void set_extent(const double from_mm[3], const double to_mm[3], const struct tw_removal *removal,
                       struct tw_history_piece *piece)
{
    bool along_y = fabs(to_mm[1] - from_mm[1]) > fabs(to_mm[0] - from_mm[0]);

    piece->low_mm = along_y ? removal->x_from_mm : removal->y_from_mm;
    piece->high_mm = along_y ? removal->x_to_mm : removal->y_to_mm;
}

/* Whether all that a motion along one axis cut lay inside the cup's hollow when it began: then the trailing rim cut it. */
static bool trails(const struct tw_wheel *wheel, const double from_mm[3], const double to_mm[3],
                   const struct tw_removal *removal)
{
    const double cut_mm[2][2] = { { removal->x_from_mm, removal->x_to_mm }, { removal->y_from_mm, removal->y_to_mm } };
    double hollow_mm = wheel->kind == TW_WHEEL_CUP ? wheel->diameter_mm / 2.0 - wheel->rim_width_mm : 0.0;
    int along = fabs(to_mm[1] - from_mm[1]) > fabs(to_mm[0] - from_mm[0]), across = !along;
    double way = to_mm[along] < from_mm[along] ? -1.0 : 1.0;
    double beside_mm = fmax(fabs(cut_mm[across][0] - from_mm[across]), fabs(cut_mm[across][1] - from_mm[across]));
    double ahead_mm = fmax(way * (cut_mm[along][0] - from_mm[along]), way * (cut_mm[along][1] - from_mm[along]));

    return beside_mm < hollow_mm && to_mm[across] == from_mm[across] && removal->cells > 0 &&
           ahead_mm <= sqrt(hollow_mm * hollow_mm - beside_mm * beside_mm);
}

size_t tw_warm_pieces(const struct tw_wheel *ground_by, const double from_mm[3], const double to_mm[3],
                      const struct tw_removal *removal, double table_mm_per_s, double wheel_mm_per_s, int tag,
                      struct tw_history_piece *out)
{
    bool by_trailing_rim = trails(ground_by, from_mm, to_mm, removal);
    size_t count = 0;

    for (size_t i = 0; i < removal->slice_count; i++) {
        const struct tw_slice *slice = &removal->slices[i];
        double depth_mm = slice->depth_mm - TW_REMOVAL_TOUCH_MM;
        double mean_mm = slice->contact_mm2 > 0.0 ? slice->volume_mm3 / slice->contact_mm2 : 0.0;
        struct tw_history_piece piece = { .depth_mm = depth_mm,
                                          .mean_mm = fmin(mean_mm, depth_mm),
                                          .volume_mm3 = slice->volume_mm3,
                                          .table_mm_per_s = table_mm_per_s,
                                          .wheel_mm_per_s = wheel_mm_per_s,
                                          .trails = by_trailing_rim,
                                          .tag = tag };

        if (depth_mm <= TW_REMOVAL_TOUCH_MM || piece.mean_mm <= 0.0)
            continue;
        for (int k = 0; k < 2; k++) {
            piece.from_mm[k] = from_mm[k] + slice->from * (to_mm[k] - from_mm[k]);
            piece.to_mm[k] = from_mm[k] + slice->to * (to_mm[k] - from_mm[k]);
        }
        if (piece.from_mm[0] == piece.to_mm[0] && piece.from_mm[1] == piece.to_mm[1])
            continue; /* straight down: no pass */
        set_extent(from_mm, to_mm, removal, &piece);
        out[count++] = piece;
    }
    return count;
}

double tw_warm_underside_slope(const struct tw_job *job, const struct tw_face *face)
{
    return face->over_ground ? tw_face_of(job, face->side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A).slope : 0.0;
}

/* The face below comes out of the blank's own where it has risen by what was left on it. */
double tw_warm_underside_from_mm(const struct tw_job *job, const struct tw_face *face)
{
    double slope = tw_warm_underside_slope(job, face);

    return tw_taper_begin_mm(job) + (slope > 0.0 ? job->finish.allowance_mm / slope : 0.0);
}

/* Beyond where the plane leaves the blank: there lies some of the contact too. */
#define BEYOND_MM 4.0

bool tw_warm_ahead(const struct tw_job *job, const struct tw_face *face, struct tw_point corners[4])
{
    struct tw_box tang = tw_ring_box(&job->part.tang.outer);
    double body_mm = (job->wheel.kind == TW_WHEEL_DISC ? job->wheel.width_mm : job->wheel.diameter_mm) / 2.0;
    double ahead_mm = (face->start_mm - tw_face_reach_mm(face, 0.0)) / face->stretch + BEYOND_MM;
    double beside_mm = fmin(body_mm, TW_ASSUMED_BESIDE_MM);

    corners[0] = (struct tw_point){ -ahead_mm, tang.min_y_mm - beside_mm };
    corners[1] = (struct tw_point){ 0.0, tang.min_y_mm - beside_mm };
    corners[2] = (struct tw_point){ 0.0, tang.max_y_mm + beside_mm };
    corners[3] = (struct tw_point){ -ahead_mm, tang.max_y_mm + beside_mm };
    return tw_assumes_blade(job) && ahead_mm > BEYOND_MM;
}

enum tw_status tw_warm_blade(const struct tw_job *job, const struct tw_face *face, struct tw_outline *out,
                             struct tw_findings *findings)
{
    struct tw_point corners[4];
    struct tw_outline ahead = { .outer = { corners, 4 } };

    return tw_face_outline(face, tw_warm_ahead(job, face, corners) ? &ahead : &job->part.blade, out, findings);
}

double tw_warm_back_W_per_mm2_K(const struct tw_job *job, const struct tw_face *face)
{
    double joint = job->coolant.joint_conductance_W_per_mm2_K;

    if (tw_warm_on_rests(job, face->side))
        return 0.0;
    return face->over_ground ? joint * TW_HISTORY_PACKED_SHARE : joint;
}

/* The plans of all that carries the blank, in *rings, which the caller frees; what they point to stays the job's. None where the
 * tang lies on the plate. */
static enum tw_status gather_carrying(const struct tw_job *job, enum tw_side side, struct tw_ring **rings,
                                      size_t *count, struct tw_findings *findings)
{
    const struct tw_fixture *fixture = &job->fixture;

    *count = 0;
    *rings = NULL;
    if (!tw_warm_on_rests(job, side))
        return TW_OK;
    *rings = malloc(fixture->keep_out_count * sizeof **rings);
    if (!*rings)
        return tw_no_memory(findings);
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (tw_warm_carries(&fixture->keep_outs[i], side))
            (*rings)[(*count)++] = fixture->keep_outs[i].plan;
    return TW_OK;
}

enum tw_status tw_warm_history(const struct tw_job *job, const struct tw_face *face, const struct tw_outline *tang,
                               const struct tw_outline *blade, double cell_mm, struct tw_history **out,
                               struct tw_findings *findings)
{
    struct tw_history_part part = {
        .tang = tang,
        .blade = blade,
        .blank_mm = face->blank_mm - job->task.hollowed_mm,
        .underside_slope = tw_warm_underside_slope(job, face),
        .start_mm = face->start_mm,
        .ahead_mm = -tw_warm_underside_from_mm(job, face),
        .packed = face->over_ground,
        .cell_mm = cell_mm,
    };
    double fall = face->fall, radius_mm = job->wheel.diameter_mm / 2.0;
    struct tw_history_wheel wheel = {
        .wheel = &job->wheel,
        .level_cup = job->wheel.kind == TW_WHEEL_CUP && job->mount == TW_MOUNT_LEVEL,
        .lean = tw_face_lean(job, face),
        .shift_mm = job->wheel.kind == TW_WHEEL_DISC ? radius_mm * fall / sqrt(1.0 + fall * fall) : 0.0,
    };
    struct tw_ring *carrying;
    enum tw_status status = gather_carrying(job, face->side, &carrying, &part.carried_count, findings);

    part.carried = carrying;
    *out = NULL;
    if (status == TW_OK)
        status = tw_history_open(&part, &wheel, &job->steel, &job->coolant, out, findings);
    if (status == TW_OK)
        tw_history_set_energy(*out, tw_energy_reserve(job));
    free(carrying);
    return status;
}

enum tw_status tw_warm_set_layer(struct tw_history *history, const struct tw_job *job, const struct tw_face *face,
                                 double bottom_mm, struct tw_findings *findings)
{
    /* Thickness does not know about the mount: the face as it lies to the blank in the level one. */
    double z_mm = face->blank_mm - face->over_mm - job->task.hollowed_mm + face->allowance_mm + bottom_mm +
                  face->slope * face->start_mm;

    return tw_history_set_face(history, z_mm, -face->slope, findings);
}
