/* warmth.c - the plan's own moves run over a model of the part. */
#include "plan/warmth.h"

#include "base/memory.h"
#include "geometry/ring.h"
#include "plan/string.h"
#include "tangwright/motion.h"
#include "tangwright/warm.h"

#include <math.h>
#include <stdlib.h>

/* Cells in which the removal is predicted: those of the dry-run, because depth and heat follow their edges. */
#define CELL_MM 0.1
#define MARGIN_MM 2.0
/* Waits are sought up to this, and to this step. */
#define LONGEST_WAIT_S 900.0
#define WAIT_STEP_S 0.1
#define CLOSE_K 2.0 /* nearer to the limit than this a wait is not shortened further */

/* One move's pieces: a stretch of the store. */
struct heated {
    size_t move, first, count;
};

struct warming {
    const struct tw_scene *scene;
    const struct tw_cut_limits *limits;
    struct tw_setup_plan *plan;
    struct tw_outline tang, blade;
    struct tw_field field;
    struct tw_sweep *sweep;
    struct tw_history *history, *before; /* before: the state to go back to when a wait is tried */
    double *times_s;
    struct tw_history_piece *pieces;
    size_t piece_count, piece_capacity;
    struct heated *heated;               /* of the group of cuts in hand */
    size_t heated_count, heated_capacity;
    struct tw_move *moves;               /* the plan's moves with the waits between them */
    size_t move_count, move_capacity;
    int layer;
    double last_wait_s;
    double waiting_s;                    /* time since the last cut, not yet given to the history */
};

/* ---- setting up ---- */

static struct tw_wheel_body body_of(const struct tw_job *job)
{
    const struct tw_wheel *wheel = &job->wheel;

    return (struct tw_wheel_body){
        .shape = wheel->kind == TW_WHEEL_CUP ? TW_BODY_CUP : TW_BODY_DISC,
        .radius_mm = wheel->diameter_mm / 2.0,
        .width_mm = wheel->width_mm,
        .rim_mm = wheel->rim_width_mm,
        .hollow_mm = wheel->width_mm,
    };
}

static enum tw_status fill_field(struct warming *warming)
{
    const struct tw_job *job = warming->scene->job;
    const struct tw_face *face = &warming->scene->face;
    struct tw_box box = tw_ring_box(&warming->tang.outer);
    double tilt = face->mount == TW_MOUNT_TILTED ? tan(face->tilt_rad) : 0.0;
    struct tw_height_plane top = { job->taper.ricasso_mm / cos(face->tilt_rad), tilt, 0.0 };
    struct tw_ring *rings = malloc((warming->tang.hole_count + 1) * sizeof *rings);
    int columns = (int)ceil((box.max_x_mm - box.min_x_mm + 2.0 * MARGIN_MM) / CELL_MM);
    int rows = (int)ceil((box.max_y_mm - box.min_y_mm + 2.0 * MARGIN_MM) / CELL_MM);
    enum tw_status status;

    if (!rings)
        return tw_no_memory(warming->scene->findings);
    rings[0] = warming->tang.outer;
    for (size_t i = 0; i < warming->tang.hole_count; i++)
        rings[i + 1] = warming->tang.holes[i];
    status = tw_field_new(box.min_x_mm - MARGIN_MM, box.min_y_mm - MARGIN_MM, CELL_MM, columns, rows, 0.0,
                          &warming->field, warming->scene->findings);
    if (status == TW_OK)
        status = tw_field_add_stock(&warming->field, rings, warming->tang.hole_count + 1, top, warming->scene->findings);
    free(rings);
    return status;
}

static enum tw_status open_warming(struct warming *warming)
{
    const struct tw_job *job = warming->scene->job;
    const struct tw_face *face = &warming->scene->face;
    struct tw_findings *findings = warming->scene->findings;
    struct tw_wheel_body body = body_of(job);
    enum tw_status status = tw_face_outline(face, &job->part.tang, &warming->tang, findings);

    if (status == TW_OK)
        status = tw_face_outline(face, &job->part.blade, &warming->blade, findings);
    if (status == TW_OK)
        status = fill_field(warming);
    if (status == TW_OK)
        status = tw_sweep_new(&warming->field, &body, TW_WARM_SLICE_MM, &warming->sweep, findings);
    if (status == TW_OK)
        status = tw_warm_history(job, face, &warming->tang, &warming->blade, &warming->history, findings);
    if (status == TW_OK)
        status = tw_warm_history(job, face, &warming->tang, &warming->blade, &warming->before, findings);
    if (status == TW_OK) {
        warming->times_s = calloc(warming->plan->move_count + 1, sizeof *warming->times_s);
        if (!warming->times_s)
            status = tw_no_memory(findings);
    }
    return status;
}

static void close_warming(struct warming *warming)
{
    tw_sweep_free(warming->sweep);
    tw_field_free(&warming->field);
    tw_history_close(warming->history);
    tw_history_close(warming->before);
    tw_outline_free(&warming->tang);
    tw_outline_free(&warming->blade);
    free(warming->times_s);
    free(warming->pieces);
    free(warming->heated);
    free(warming->moves);
}

/* ---- one group of cuts: what lies between two places where the wheel is off the part ---- */

static bool is_cut(const struct tw_move *move)
{
    return move->kind == TW_MOVE_FEED && move->role == TW_ROLE_CUT;
}

static enum tw_status collect_pieces(struct warming *warming, size_t index)
{
    const struct tw_move *move = &warming->plan->moves[index], *last = move - 1;
    double from_mm[3] = { last->to.x_mm, last->to.y_mm, last->to.z_mm };
    double to_mm[3] = { move->to.x_mm, move->to.y_mm, move->to.z_mm };
    struct heated heated = { .move = index, .first = warming->piece_count };
    struct tw_removal removal;
    enum tw_status status = tw_sweep_line(warming->sweep, from_mm, to_mm, &removal, warming->scene->findings);

    if (status != TW_OK)
        return status;
    if (!tw_grow((void **)&warming->pieces, &warming->piece_capacity, warming->piece_count + removal.slice_count,
                 sizeof *warming->pieces) ||
        !tw_grow((void **)&warming->heated, &warming->heated_capacity, warming->heated_count + 1, sizeof *warming->heated))
        return tw_no_memory(warming->scene->findings);
    heated.count = tw_warm_pieces(from_mm, to_mm, &removal, move->feed_mm_per_s, warming->limits->wheel_mm_per_s,
                                  move->layer, warming->pieces + warming->piece_count);
    warming->piece_count += heated.count;
    warming->heated[warming->heated_count++] = heated;
    return TW_OK;
}

/* Time of a cutting move that its pieces do not account for: ramps, and the way off the part. */
static double idle_s(const struct warming *warming, const struct heated *heated)
{
    double cutting_s = 0.0;

    for (size_t i = 0; i < heated->count; i++) {
        const struct tw_history_piece *piece = &warming->pieces[heated->first + i];

        cutting_s += hypot(piece->to_mm[0] - piece->from_mm[0], piece->to_mm[1] - piece->from_mm[1]) / piece->table_mm_per_s;
    }
    return fmax(0.0, warming->times_s[heated->move] - cutting_s);
}

/* The hotter of two, and the worst of both in all else. */
static void merge_peaks(struct tw_history_peak *all, const struct tw_history_peak *one)
{
    struct tw_history_peak hotter = one->degC > all->degC ? *one : *all;

    hotter.highest_bulk_degC = fmax(all->highest_bulk_degC, one->highest_bulk_degC);
    hotter.dry_degC = fmax(all->dry_degC, one->dry_degC);
    hotter.boiling_room_K = fmin(all->boiling_room_K, one->boiling_room_K);
    *all = hotter;
}

/* The group after a wait, from the state in `history`; the hottest of it in *peak. */
static enum tw_status run_group(struct warming *warming, double wait_s, struct tw_history_peak *peak)
{
    struct tw_findings *findings = warming->scene->findings;
    enum tw_status status = tw_history_wait(warming->history, wait_s, findings);

    *peak = (struct tw_history_peak){ .degC = -HUGE_VAL, .dry_degC = -HUGE_VAL, .boiling_room_K = HUGE_VAL,
                                      .highest_bulk_degC = -HUGE_VAL };
    for (size_t i = 0; status == TW_OK && i < warming->heated_count; i++) {
        const struct heated *heated = &warming->heated[i];
        double idle = idle_s(warming, heated) / 2.0;
        struct tw_history_peak one;

        status = tw_history_wait(warming->history, idle, findings);
        if (status == TW_OK)
            status = tw_history_pass(warming->history, warming->pieces + heated->first, heated->count, &one, findings);
        if (status == TW_OK)
            status = tw_history_wait(warming->history, idle, findings);
        if (status == TW_OK)
            merge_peaks(peak, &one);
    }
    return status;
}

static enum tw_status try_group(struct warming *warming, double wait_s, struct tw_history_peak *peak)
{
    enum tw_status status = tw_history_copy(warming->history, warming->before);

    return status == TW_OK ? run_group(warming, warming->waiting_s + wait_s, peak) : status;
}

static enum tw_status no_wait_helps(const struct warming *warming, const struct tw_layer *layer,
                                    const struct tw_history_peak *peak)
{
    struct tw_place at = { .file = warming->scene->job->path };
    const char *side = warming->scene->face.side == TW_SIDE_A ? "A" : "B";

    if (peak->highest_bulk_degC > warming->limits->limit_degC)
        return tw_fail(warming->scene->findings, TW_NO_PLAN, at,
                       "side %s: a pass of layer %d would warm the tang itself to %.1f degC, and %.0f s of waiting do not "
                       "bring that below %.1f degC",
                       side, peak->tag + 1, peak->highest_bulk_degC, LONGEST_WAIT_S, warming->limits->limit_degC);
    return tw_fail(warming->scene->findings, TW_NO_PLAN, at,
                   "side %s: a pass of layer %d would reach %.1f degC, %.1f degC of it left by earlier passes, and %.0f s of "
                   "waiting do not bring it below %.1f degC",
                   side, peak->tag + 1, fmax(peak->degC, peak->boiled ? peak->dry_degC : peak->degC), peak->bulk_degC,
                   LONGEST_WAIT_S, layer->flash_limit_degC);
}

/* How far the group in hand stays below its limits, in K. */
static double room_K(const struct warming *warming, const struct tw_layer *layer, const struct tw_history_peak *peak)
{
    return tw_cut_room_K(warming->limits, peak, layer->flash_limit_degC);
}

/* A wait, in whole steps, after which the group stays below the limit, and not by much. The excess of the bulk dies
 * away about exponentially, so two tries tell how much longer to wait; the last wait is a good first guess. */
static enum tw_status seek_wait(struct warming *warming, const struct tw_layer *layer, double *wait_s,
                                struct tw_history_peak *peak)
{
    double low_s = 0.0, high_s = fmax(0.5, warming->last_wait_s);
    enum tw_status status = try_group(warming, high_s, peak);

    while (status == TW_OK && room_K(warming, layer, peak) < 0.0) {
        low_s = high_s;
        high_s *= 1.6;
        if (high_s > LONGEST_WAIT_S)
            return no_wait_helps(warming, layer, peak);
        status = try_group(warming, high_s, peak);
    }
    for (int i = 0; status == TW_OK && i < 3 && room_K(warming, layer, peak) > CLOSE_K && high_s - low_s > WAIT_STEP_S;
         i++) {
        double middle_s = (low_s + high_s) / 2.0;
        struct tw_history_peak trial = *peak;

        status = try_group(warming, middle_s, &trial);
        if (room_K(warming, layer, &trial) < 0.0) {
            low_s = middle_s;
        } else {
            high_s = middle_s;
            *peak = trial;
        }
    }
    *wait_s = WAIT_STEP_S * ceil(high_s / WAIT_STEP_S - 1e-9);
    warming->last_wait_s = *wait_s;
    return status == TW_OK ? try_group(warming, *wait_s, peak) : status;
}

/* ---- the program ---- */

static enum tw_status keep_move(struct warming *warming, struct tw_move move)
{
    if (!tw_grow((void **)&warming->moves, &warming->move_capacity, warming->move_count + 1, sizeof *warming->moves))
        return tw_no_memory(warming->scene->findings);
    warming->moves[warming->move_count++] = move;
    return TW_OK;
}

static void note_peak(struct warming *warming, const struct tw_history_peak *peak)
{
    struct tw_layer *layer = &warming->plan->layers[peak->tag];

    layer->dry_degC = fmax(layer->dry_degC, peak->dry_degC);
    layer->boiling_room_K = fmin(layer->boiling_room_K, peak->boiling_room_K);
    layer->boiled = layer->boiling_room_K < warming->limits->boiling_margin_K;
    if (layer->peak_degC >= peak->degC)
        return;
    layer->peak_degC = peak->degC;
    layer->bulk_degC = peak->bulk_degC;
    layer->flash_K = peak->rise_K / (peak->edge_factor * peak->plate_factor);
    layer->edge_factor = peak->edge_factor;
    layer->plate_factor = peak->plate_factor;
}

/* A layer too thin or too narrow for the cells to find a cut, or a spark-out: its own flash, if it has one, on the
 * tang's hottest place. */
static void note_sliver(struct warming *warming, struct tw_layer *layer)
{
    double bulk_degC = tw_history_bulk_degC(warming->history);
    double flash_K = layer->flash_K * layer->edge_factor * layer->plate_factor;

    layer->bulk_degC = fmax(layer->bulk_degC, bulk_degC);
    layer->peak_degC = fmax(layer->peak_degC, bulk_degC + flash_K);
    layer->dry_degC = fmax(layer->dry_degC, layer->peak_degC);
}

static enum tw_status begin_layer(struct warming *warming, int layer)
{
    const struct tw_scene *scene = warming->scene;
    double bottom_mm;

    if (layer == warming->layer)
        return TW_OK;
    bottom_mm = warming->layer >= 0 ? warming->plan->layers[warming->layer].bottom_mm : HUGE_VAL;
    warming->layer = layer;
    if (bottom_mm == HUGE_VAL)
        return TW_OK;
    return tw_warm_set_layer(warming->history, scene->job, &scene->face, bottom_mm, scene->findings);
}

/* The group of cuts from move `first` up to, not including, `end`; a wait, if one is needed, goes in at `place`. */
static enum tw_status warm_group(struct warming *warming, size_t first, size_t end, size_t place)
{
    struct tw_layer *layer = &warming->plan->layers[warming->plan->moves[first].layer];
    struct tw_history_peak peak = { 0 };
    double wait_s = 0.0;
    enum tw_status status = begin_layer(warming, warming->plan->moves[first].layer);

    warming->piece_count = warming->heated_count = 0;
    for (size_t i = first; status == TW_OK && i < end; i++)
        if (is_cut(&warming->plan->moves[i]))
            status = collect_pieces(warming, i);
    if (status == TW_OK)
        status = tw_history_copy(warming->before, warming->history);
    if (status == TW_OK)
        status = run_group(warming, warming->waiting_s, &peak);
    if (status == TW_OK && room_K(warming, layer, &peak) < 0.0)
        status = seek_wait(warming, layer, &wait_s, &peak);
    if (status != TW_OK)
        return status;
    warming->waiting_s = 0.0;
    peak.tag = warming->plan->moves[first].layer;
    if (warming->piece_count > 0)
        note_peak(warming, &peak);
    else
        note_sliver(warming, layer);
    if (wait_s > 0.0) {
        struct tw_move wait = { .kind = TW_MOVE_DWELL, .role = TW_ROLE_COOL, .layer = warming->plan->moves[first].layer,
                                .to = warming->plan->moves[place - 1].to, .dwell_s = wait_s };

        layer->dwell_s += wait_s;
        warming->plan->dwell_s += wait_s;
        warming->plan->part_time_s += wait_s;
        status = keep_move(warming, wait);
    }
    for (size_t i = place; status == TW_OK && i < end; i++)
        status = keep_move(warming, warming->plan->moves[i]);
    return status;
}

static double move_time_s(const struct warming *warming, size_t index)
{
    const struct tw_move *move = &warming->plan->moves[index];

    return move->kind == TW_MOVE_DWELL ? move->dwell_s : warming->times_s[index];
}

/* Walks the moves in groups: what leads to the cuts, and the cuts. */
static enum tw_status walk(struct warming *warming)
{
    const struct tw_setup_plan *plan = warming->plan;
    size_t place = 1;
    enum tw_status status = keep_move(warming, plan->moves[0]);

    while (status == TW_OK && place < plan->move_count) {
        size_t first = place, end;

        for (; first < plan->move_count && !is_cut(&plan->moves[first]); first++)
            warming->waiting_s += move_time_s(warming, first);
        end = first;
        while (end < plan->move_count && is_cut(&plan->moves[end]) && plan->moves[end].layer == plan->moves[first].layer)
            end++;
        if (first < end) {
            /* The wheel is lifted, or just past the part, before the moves that lead to the next cut. */
            size_t lifted = end;

            while (lifted < plan->move_count && !is_cut(&plan->moves[lifted]) &&
                   (plan->moves[lifted].role == TW_ROLE_RETURN || plan->moves[lifted].role == TW_ROLE_CUT))
                lifted++;
            status = warm_group(warming, first, lifted, place);
            for (; end < lifted; end++)
                warming->waiting_s += move_time_s(warming, end);
        } else {
            for (size_t i = place; status == TW_OK && i < end; i++)
                status = keep_move(warming, plan->moves[i]);
        }
        place = end;
    }
    return status;
}

static void reset_layers(struct tw_setup_plan *plan)
{
    for (size_t i = 0; i < plan->layer_count; i++) {
        plan->layers[i].peak_degC = plan->layers[i].bulk_degC = plan->layers[i].dry_degC = -HUGE_VAL;
        plan->layers[i].boiling_room_K = HUGE_VAL;
        plan->layers[i].dwell_s = 0.0;
        plan->layers[i].boiled = false;
    }
}

static void sum_up(struct warming *warming)
{
    struct tw_setup_plan *plan = warming->plan;

    plan->peak_degC = warming->limits->ambient_degC;
    for (size_t i = 0; i < plan->layer_count; i++)
        plan->peak_degC = fmax(plan->peak_degC, plan->layers[i].peak_degC);
    plan->bulk_degC = tw_history_highest_bulk_degC(warming->history);
    tw_history_tempering(warming->history, &warming->limits->temper, &plan->tempering);
}

enum tw_status tw_warmth_run(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                             struct tw_setup_plan *plan)
{
    struct warming warming = { .scene = scene, .limits = limits, .plan = plan, .layer = -1 };
    enum tw_status status = open_warming(&warming);

    if (status == TW_OK)
        status = tw_string_times(scene, plan, warming.times_s);
    if (status == TW_OK) {
        reset_layers(plan);
        status = walk(&warming);
    }
    if (status == TW_OK) {
        struct tw_move *before = plan->moves;

        plan->moves = warming.moves;
        plan->move_count = warming.move_count;
        plan->move_capacity = warming.move_capacity;
        warming.moves = before;
        sum_up(&warming);
    }
    close_warming(&warming);
    return status;
}
