/* removed.c - see removed.h. */
#include "plan/scene/removed.h"

#include "base/memory.h"
#include "base/numbers.h"
#include "geometry/ring.h"
#include "plan/scene/wheel_loss.h"
#include "tangwright/removal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MARGIN_MM 2.0

/* One cut, and its pieces: a stretch of the store. */
struct cut {
    struct tw_place3 from, to;
    size_t first, count;
    double before_mm3, volume_mm3; /* taken off by the wheel before it, and by it */
};

struct tw_removed {
    const struct tw_scene *scene;
    struct tw_removed_grain grain;
    struct tw_field field;
    struct tw_sweep *sweep;
    float *uncut_mm; /* the field's stock at the start, row by row */
    struct cut *cuts;
    size_t cut_count, cut_capacity;
    struct tw_history_piece *pieces;
    size_t piece_count, piece_capacity;
    size_t next;  /* cut of the run in hand */
    size_t swept; /* the field is as these first cuts leave it */
    struct tw_wheel_loss loss;
    double worn_mm3; /* of steel, taken off by the wheel before the next cut of the run in hand */
    double lower_mm; /* the wheel may come to the last part so much lower, having lost less at the others */
    double cells;
};

/* ---- setting up ---- */

static struct tw_wheel_body body_of(const struct tw_job *job)
{
    const struct tw_wheel *wheel = &job->wheel;

    return (struct tw_wheel_body){
        .shape = wheel->kind == TW_WHEEL_CUP ? TW_BODY_CUP : TW_BODY_DISC,
        .radius_mm = wheel->diameter_mm / 2.0,
        .width_mm = wheel->width_mm,
        .rim_mm = fmin(wheel->rim_width_mm, wheel->diameter_mm / 2.0),
        .hollow_mm = wheel->width_mm,
    };
}

static double blank_top_mm(const void *face, double x_mm)
{
    return tw_face_top_mm(face, x_mm);
}

static enum tw_status add_stock(struct tw_removed *removed, const struct tw_outline *outline)
{
    const struct tw_face *face = &removed->scene->face;
    struct tw_height_plane top = { face->blank_mm / cos(face->tilt_rad), tan(face->tilt_rad), 0.0 };
    struct tw_ring *rings = malloc((outline->hole_count + 1) * sizeof *rings);
    enum tw_status status;

    if (!rings)
        return tw_no_memory(removed->scene->findings);
    rings[0] = outline->outer;
    for (size_t i = 0; i < outline->hole_count; i++)
        rings[i + 1] = outline->holes[i];
    status = tw_field_add_stock(&removed->field, rings, outline->hole_count + 1, top, removed->scene->findings);
    free(rings);
    return status;
}

/* The tang, and what stands over the face ahead of it. */
static struct tw_box box_of_stock(const struct tw_scene *scene, const struct tw_outline *tang)
{
    struct tw_box box = tw_ring_box(&tang->outer), ahead;

    if (tw_scene_ahead(scene, 0.0, -1e4, 1e4, &ahead)) {
        box.min_x_mm = fmin(box.min_x_mm, ahead.min_x_mm);
        box.min_y_mm = fmin(box.min_y_mm, ahead.min_y_mm);
        box.max_y_mm = fmax(box.max_y_mm, ahead.max_y_mm);
    }
    return box;
}

bool tw_removed_roughs_first(const struct tw_job *job)
{
    return job->task.scope == TW_SCOPE_FINISH && job->mount == TW_MOUNT_LEVEL && job->wheel.kind == TW_WHEEL_CUP;
}

/* The top of what the field begins with. */
static struct tw_face face_before(const struct tw_scene *scene)
{
    struct tw_job unground = *scene->job;

    if (!tw_removed_roughs_first(scene->job))
        return scene->face;
    unground.task.raw = NULL;
    return tw_face_of(&unground, scene->face.side);
}

static enum tw_status fill_field(struct tw_removed *removed, const struct tw_outline *tang)
{
    const struct tw_scene *scene = removed->scene;
    struct tw_face before = face_before(scene);
    struct tw_box box = box_of_stock(scene, tang);
    double cell_mm = removed->grain.cell_mm;
    int columns = (int)ceil((box.max_x_mm - box.min_x_mm + 2.0 * MARGIN_MM) / cell_mm);
    int rows = (int)ceil((box.max_y_mm - box.min_y_mm + 2.0 * MARGIN_MM) / cell_mm);
    enum tw_status status = tw_field_new(box.min_x_mm - MARGIN_MM, box.min_y_mm - MARGIN_MM, cell_mm, columns, rows,
                                         0.0, &removed->field, scene->findings);

    if (status == TW_OK)
        status = add_stock(removed, tang);
    if (status == TW_OK && scene->blade.outer.count > 0)
        status = add_stock(removed, &scene->blade);
    if (status == TW_OK && before.raw) {
        tw_field_shape_stock(&removed->field, blank_top_mm, &before);
        tw_field_refresh_stock(&removed->field);
    }
    return status;
}

/* Of each row what lies between its first and its last cell with stock, which cutting does not change: there is little in most rows
 * of a field that a blade makes wide. */
static size_t row_cells(const struct tw_field *field, int row)
{
    return (size_t)(field->stock_to[row] - field->stock_from[row]);
}

/* From the field to the copy of the uncut stock, or back. */
static void copy_stock(struct tw_removed *removed, bool back)
{
    const struct tw_field *field = &removed->field;
    float *uncut_mm = removed->uncut_mm;

    for (int row = 0; row < field->rows; row++) {
        float *stock_mm = field->stock_mm + (size_t)row * (size_t)field->columns + field->stock_from[row];
        size_t cells = row_cells(field, row);

        memcpy(back ? stock_mm : uncut_mm, back ? uncut_mm : stock_mm, cells * sizeof *uncut_mm);
        uncut_mm += cells;
    }
}

static enum tw_status keep_uncut(struct tw_removed *removed)
{
    size_t cells = 0;

    for (int row = 0; row < removed->field.rows; row++)
        cells += row_cells(&removed->field, row);
    removed->uncut_mm = malloc((cells + 1) * sizeof *removed->uncut_mm);
    if (!removed->uncut_mm)
        return tw_no_memory(removed->scene->findings);
    copy_stock(removed, false);
    return TW_OK;
}

enum tw_status tw_removed_open(const struct tw_scene *scene, const struct tw_outline *tang,
                               struct tw_removed_grain grain, struct tw_removed **out)
{
    struct tw_removed *removed = calloc(1, sizeof *removed);
    struct tw_wheel_body body = body_of(scene->job);
    enum tw_status status;

    *out = NULL;
    if (!removed)
        return tw_no_memory(scene->findings);
    removed->scene = scene;
    removed->grain = grain;
    removed->loss = tw_wear_expected(scene->job, scene->face.side);
    status = fill_field(removed, tang);
    if (status == TW_OK)
        status = tw_sweep_new(&removed->field, &body, grain.slice_mm, &removed->sweep, scene->findings);
    if (status == TW_OK)
        status = keep_uncut(removed);
    if (status != TW_OK) {
        tw_removed_close(removed);
        return status;
    }
    *out = removed;
    return TW_OK;
}

void tw_removed_close(struct tw_removed *removed)
{
    if (!removed)
        return;
    tw_sweep_free(removed->sweep);
    tw_field_free(&removed->field);
    free(removed->uncut_mm);
    free(removed->cuts);
    free(removed->pieces);
    free(removed);
}

/* ---- cuts ---- */

double tw_removed_cells(const struct tw_removed *removed)
{
    return removed->cells;
}

static void note_cells(struct tw_removed *removed, const double from_mm[3], const double to_mm[3])
{
    const struct tw_wheel *wheel = &removed->scene->job->wheel;
    double radius_mm = wheel->diameter_mm / 2.0, long_mm = hypot(to_mm[0] - from_mm[0], to_mm[1] - from_mm[1]);
    double hollow_mm = fmax(0.0, radius_mm - wheel->rim_width_mm);
    double under_mm2 = TW_PI * (radius_mm * radius_mm - hollow_mm * hollow_mm) + 2.0 * radius_mm * long_mm;

    if (wheel->kind == TW_WHEEL_DISC)
        under_mm2 = wheel->width_mm * (long_mm + sqrt(radius_mm));
    removed->cells += under_mm2 / (removed->grain.cell_mm * removed->grain.cell_mm);
}

/* Drives the wheel along the cut over the field; `removal` lives until the next. A wheel whose wear the moves follow has got
 * smaller: by as little as it may, for then each cut takes off most. */
static enum tw_status sweep(struct tw_removed *removed, const struct cut *cut, struct tw_removal *removal)
{
    double worn_mm = tw_wheel_loss_least_mm(&removed->loss, cut->before_mm3) - removed->lower_mm;
    double from_mm[3] = { cut->from.x_mm, cut->from.y_mm, cut->from.z_mm + worn_mm };
    double to_mm[3] = { cut->to.x_mm, cut->to.y_mm, cut->to.z_mm + worn_mm };

    note_cells(removed, from_mm, to_mm);
    return tw_sweep_line(removed->sweep, from_mm, to_mm, removal, removed->scene->findings);
}

/* Brings the field to where the first `count` cuts leave it. */
static enum tw_status catch_up(struct tw_removed *removed, size_t count)
{
    struct tw_removal removal;
    enum tw_status status = TW_OK;

    if (removed->swept > count) {
        copy_stock(removed, true);
        tw_field_refresh_stock(&removed->field);
        removed->swept = 0;
    }
    for (; status == TW_OK && removed->swept < count; removed->swept++)
        status = sweep(removed, &removed->cuts[removed->swept], &removal);
    return status;
}

static enum tw_status keep_pieces(struct tw_removed *removed, struct cut cut, const struct tw_removal *removal)
{
    double from_mm[3] = { cut.from.x_mm, cut.from.y_mm, cut.from.z_mm };
    double to_mm[3] = { cut.to.x_mm, cut.to.y_mm, cut.to.z_mm };

    cut.first = removed->piece_count;
    cut.volume_mm3 = removal->volume_mm3;
    if (!tw_grow((void **)&removed->pieces, &removed->piece_capacity, cut.first + removal->slice_count + 1,
                 sizeof *removed->pieces) ||
        !tw_grow((void **)&removed->cuts, &removed->cut_capacity, removed->cut_count + 1, sizeof *removed->cuts))
        return tw_no_memory(removed->scene->findings);
    cut.count =
        tw_warm_pieces(&removed->scene->job->wheel, from_mm, to_mm, removal, 1.0, 1.0, 0, removed->pieces + cut.first);
    removed->piece_count += cut.count;
    removed->cuts[removed->cut_count++] = cut;
    return TW_OK;
}

/* A cut that no run before had here: those that came after it are forgotten. */
static enum tw_status find_out(struct tw_removed *removed, struct cut cut)
{
    struct tw_removal removal;
    enum tw_status status = catch_up(removed, removed->next);

    if (removed->next < removed->cut_count)
        removed->piece_count = removed->cuts[removed->next].first;
    removed->cut_count = removed->next;
    if (status == TW_OK)
        status = sweep(removed, &cut, &removal);
    if (status != TW_OK)
        return status;
    removed->swept++;
    return keep_pieces(removed, cut, &removal);
}

static bool is_same_place(struct tw_place3 a, struct tw_place3 b)
{
    return a.x_mm == b.x_mm && a.y_mm == b.y_mm && a.z_mm == b.z_mm;
}

void tw_removed_begin(struct tw_removed *removed, const struct tw_scene *scene)
{
    double lower_mm = tw_wheel_loss_round(scene->job, scene->face.side, scene->layers_a_round, &removed->loss);

    removed->scene = scene;
    removed->next = 0;
    removed->worn_mm3 = 0.0;
    if (lower_mm == removed->lower_mm)
        return;
    removed->lower_mm = lower_mm;
    removed->cut_count = removed->piece_count = 0;
    removed->swept = 1; /* the field is to be as it was uncut */
}

void tw_removed_come_back(struct tw_removed *removed, double since_mm3)
{
    removed->worn_mm3 = since_mm3;
}

enum tw_status tw_removed_cut(struct tw_removed *removed, struct tw_place3 from, struct tw_place3 to,
                              const struct tw_history_piece **pieces, size_t *count)
{
    const struct cut *known = removed->next < removed->cut_count ? &removed->cuts[removed->next] : NULL;
    enum tw_status status = TW_OK;

    *pieces = NULL;
    *count = 0;
    if (!known || !is_same_place(known->from, from) || !is_same_place(known->to, to))
        status = find_out(removed, (struct cut){ .from = from, .to = to, .before_mm3 = removed->worn_mm3 });
    if (status != TW_OK)
        return status;
    known = &removed->cuts[removed->next++];
    removed->worn_mm3 += known->volume_mm3;
    *pieces = removed->pieces + known->first;
    *count = known->count;
    return TW_OK;
}
