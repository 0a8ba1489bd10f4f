/* warmth.c - the plan's own moves run over a model of the part. */
#include "plan/search/warmth.h"

#include "base/memory.h"
#include "plan/scene/removed.h"
#include "plan/ways/stations.h"
#include "plan/ways/string.h"
#include "tangwright/motion.h"
#include "tangwright/warm.h"

#include <math.h>
#include <stdlib.h>
#include <stdio.h>
#include <string.h>

/* Waits are sought up to this, and to this step. */
#define LONGEST_WAIT_S 900.0
#define WAIT_STEP_S    0.1
#define COOLED_K       0.2
#define VAIN_WAIT_S    60.0
/* A wait is shortened further, so many times at most, where that is likely to save more than this time and this share of it. A
 * shorter one aims at so much room, a longer one at so many times what is missing. */
#define CLOSE_S     0.3
#define CLOSE_SHARE 0.1
#define TRIES_MORE  4
#define AIM_K       0.25
#define BEYOND      1.2
/* A first wait where nothing is known, and by how much a wait that does not serve is lengthened at most and at least. */
#define FIRST_WAIT_S       0.5
#define MOST_GROWTH        4.0
#define LEAST_GROWTH       1.1
#define LEAST_GAIN_K_PER_S 1e-3
#define LEAST_SHARE        0.1 /* of what lies between a wait that serves and one that does not */

/* Cells of the plate and of the field, slices of a cut; and how much quicker than the fine one a cut or a wait is computed. A
 * piece of heat is longer by as much as its plate has fewer cells. */
struct grain {
    double plate_mm; /* 0: those of the dry-run */
    struct tw_removed_grain removed;
    double quicker;
};

/* The fine one has the cells of the dry-run, because depth and heat follow their edges. */
static const struct grain grains[] = {
    [TW_COARSE] = { 4.0, { 0.2, 2.0 * TW_WARM_SLICE_MM }, 3.0 },
    [TW_FINE] = { 0.0, { 0.1, TW_WARM_SLICE_MM }, 1.0 },
};

/* One move's pieces: a stretch of the store. */
struct heated {
    size_t move, first, count;
};

struct tw_warmth {
    const struct tw_scene *scene; /* of the run in hand */
    const struct grain *grain;
    bool tempers; /* what the face goes through is counted: where the plan depends on it, and of the plan chosen */
    const struct tw_cut_limits *limits;
    struct tw_setup_plan *plan;
    struct tw_outline tang, blade;
    struct tw_removed *removed;
    struct tw_history *uncut;                   /* the part at the start */
    struct tw_history *history, *before, *kept; /* before a group; after the wait that serves so far */
    double *times_s;
    struct tw_history_piece *pieces;
    size_t piece_count, piece_capacity;
    struct heated *heated; /* of the group of cuts in hand */
    size_t heated_count, heated_capacity;
    struct tw_move *moves; /* the plan's moves with the waits between them */
    size_t move_count, move_capacity;
    int layer;
    double guesses_s[3]; /* waits before the groups that go one way, neither, and the other */
    double gain_K_per_s; /* of room by waiting, as last seen; 0: never */
    double longest_s;
    double effort_s;  /* roughly in seconds of computing */
    double share_s;   /* of it, for trials */
    double end_s;     /* of it, after which a program is given up */
    double waiting_s; /* time since the last cut, not yet given to the history */
    double waited_s;  /* by the plan when the wheel came to the part for this stay */
    struct tw_stay stay;
    size_t stay_number;
};

/* ---- what it costs ---- */

/* Of one core, fitted to 11 jobs with and without a relief, see docs/measurements.md: cuts, cells under the wheel, pieces of heat,
 * seconds of grinding to be followed, passes laid out, and loops of a face, each of which is an offset of the one before. */
#define CUTS_PER_S     45e3
#define CELLS_PER_S    900e6
#define PIECES_PER_S   80e3
#define GRINDING_PER_S 100e3
#define PASSES_PER_S   90e3
#define LOOPS_PER_S    700.0
/* What the trials of all programs of a plan may cost together; a program that costs more than so many times its share is not
 * followed to its end. */
#define EFFORT_MOST_S 6.0
#define END_SHARE     3.0
/* Of its share, what a program may cost that is planned in haste. */
#define HASTY_SHARE 0.25

/* Programs that are tried for this job, those of both orders where the plan chooses. One that only finishes takes next to nothing. */
static int programs_of(const struct tw_job *job)
{
    int programs = 2;

    if (!(job->relief.depth_mm > 0.0))
        return programs;
    programs += job->relief.sides == TW_RELIEF_BOTH ? 2 : 1;
    return job->relief.when == TW_RELIEF_AUTO ? 2 * programs : programs;
}

/* Of a program's part of the computing, what the plan in hand may take. */
static double share_of(const struct tw_job *job)
{
    bool hasty = job->reserves && job->reserves->hasty;

    return (hasty ? HASTY_SHARE : 1.0) / (1.0 + job->reserve.plans);
}

/* ---- setting up ---- */

static enum tw_status open_histories(struct tw_warmth *warmth)
{
    struct tw_history **others[] = { &warmth->history, &warmth->before, &warmth->kept };
    enum tw_status status = tw_warm_history(warmth->scene->job, &warmth->scene->face, &warmth->tang, &warmth->blade,
                                            warmth->grain->plate_mm, &warmth->uncut, warmth->scene->findings);

    if (status != TW_OK)
        return status;
    tw_history_borrow(warmth->uncut, warmth->scene->factors);
    tw_history_count_tempering(warmth->uncut, warmth->tempers);
    tw_history_look_wider(warmth->uncut, warmth->grain->removed.cell_mm);
    for (size_t i = 0; status == TW_OK && i < sizeof others / sizeof *others; i++) {
        *others[i] = tw_history_another(warmth->uncut);
        status = *others[i] ? TW_OK : tw_no_memory(warmth->scene->findings);
    }
    return status;
}

static enum tw_status open_parts(struct tw_warmth *warmth)
{
    const struct tw_job *job = warmth->scene->job;
    const struct tw_face *face = &warmth->scene->face;
    struct tw_findings *findings = warmth->scene->findings;
    enum tw_status status = tw_face_outline(face, &job->part.tang, &warmth->tang, findings);

    if (status == TW_OK)
        status = tw_warm_blade(job, face, &warmth->blade, findings);
    if (status == TW_OK)
        status = tw_removed_open(warmth->scene, &warmth->tang, warmth->grain->removed, &warmth->removed);
    return status == TW_OK ? open_histories(warmth) : status;
}

enum tw_status tw_warmth_open(const struct tw_scene *scene, enum tw_grain grain, struct tw_warmth **out)
{
    struct tw_warmth *warmth = calloc(1, sizeof *warmth);
    enum tw_status status;

    *out = NULL;
    if (!warmth)
        return tw_no_memory(scene->findings);
    warmth->scene = scene;
    warmth->grain = &grains[grain];
    warmth->end_s = END_SHARE * EFFORT_MOST_S / programs_of(scene->job);
    warmth->share_s = share_of(scene->job) * warmth->end_s / END_SHARE;
    warmth->tempers = grain == TW_FINE || scene->job->limits.flash == TW_FLASH_EQUIVALENT;
    status = open_parts(warmth);
    if (status != TW_OK) {
        tw_warmth_close(warmth);
        return status;
    }
    *out = warmth;
    return TW_OK;
}

void tw_warmth_close(struct tw_warmth *warmth)
{
    if (!warmth)
        return;
    tw_removed_close(warmth->removed);
    tw_history_close(warmth->history);
    tw_history_close(warmth->before);
    tw_history_close(warmth->kept);
    tw_history_close(warmth->uncut);
    tw_outline_free(&warmth->tang);
    tw_outline_free(&warmth->blade);
    free(warmth->times_s);
    free(warmth->pieces);
    free(warmth->heated);
    free(warmth->moves);
    free(warmth);
}

void tw_warmth_charge(struct tw_warmth *warmth, int passes, int loops)
{
    warmth->effort_s += passes / PASSES_PER_S + loops / LOOPS_PER_S;
}

bool tw_warmth_spent(const struct tw_warmth *warmth)
{
    return warmth->effort_s > warmth->share_s;
}

double tw_warmth_effort_s(const struct tw_warmth *warmth)
{
    return warmth->effort_s;
}

static void note_effort(struct tw_warmth *warmth, double wait_s)
{
    double grinding_s = wait_s;

    for (size_t i = 0; i < warmth->heated_count; i++)
        grinding_s += warmth->times_s[warmth->heated[i].move];
    warmth->effort_s +=
        (double)warmth->piece_count / PIECES_PER_S + grinding_s / GRINDING_PER_S / warmth->grain->quicker;
}

static enum tw_status refuse_effort(const struct tw_warmth *warmth)
{
    const struct tw_scene *scene = warmth->scene;
    struct tw_place at = { .file = scene->job->path };

    return tw_fail(
        scene->findings, TW_NO_PLAN, at,
        "side %s%s%s: a program of %zu moves is more than can be followed in a reasonable time of computing; a "
        "larger or sharper wheel, a larger wheel.max_infeed, more coolant or less stock makes it shorter",
        tw_side_letter(scene->face.side), scene->job->task.scope == TW_SCOPE_WHOLE ? "" : ", ",
        tw_scope_name(scene->job->task.scope), warmth->plan->move_count);
}

/* ---- one group of cuts: what lies between two places where the wheel is off the part ---- */

static bool is_cut(const struct tw_move *move)
{
    return move->kind == TW_MOVE_FEED && move->role == TW_ROLE_CUT;
}

static enum tw_status collect_pieces(struct tw_warmth *warmth, size_t index)
{
    const struct tw_move *move = &warmth->plan->moves[index], *last = move - 1;
    struct heated heated = { .move = index, .first = warmth->piece_count };
    const struct tw_history_piece *pieces;
    double cells = tw_removed_cells(warmth->removed);
    enum tw_status status = tw_removed_cut(warmth->removed, last->to, move->to, &pieces, &heated.count);

    if (status != TW_OK)
        return status;
    cells = tw_removed_cells(warmth->removed) - cells;
    warmth->effort_s += (1.0 / CUTS_PER_S + cells / CELLS_PER_S) / warmth->grain->quicker;
    if (!tw_grow((void **)&warmth->pieces, &warmth->piece_capacity, warmth->piece_count + heated.count,
                 sizeof *warmth->pieces) ||
        !tw_grow((void **)&warmth->heated, &warmth->heated_capacity, warmth->heated_count + 1, sizeof *warmth->heated))
        return tw_no_memory(warmth->scene->findings);
    for (size_t i = 0; i < heated.count; i++) {
        struct tw_history_piece *piece = &warmth->pieces[warmth->piece_count++];

        *piece = pieces[i];
        piece->table_mm_per_s = move->feed_mm_per_s;
        piece->wheel_mm_per_s = warmth->limits->wheel_mm_per_s;
        piece->tag = move->layer;
    }
    warmth->heated[warmth->heated_count++] = heated;
    return TW_OK;
}

/* Time of a cutting move that its pieces do not account for: ramps, and the way off the part. */
static double idle_s(const struct tw_warmth *warmth, const struct heated *heated)
{
    double cutting_s = 0.0;

    for (size_t i = 0; i < heated->count; i++) {
        const struct tw_history_piece *piece = &warmth->pieces[heated->first + i];

        cutting_s +=
            hypot(piece->to_mm[0] - piece->from_mm[0], piece->to_mm[1] - piece->from_mm[1]) / piece->table_mm_per_s;
    }
    return fmax(0.0, warmth->times_s[heated->move] - cutting_s);
}

/* The hotter of two, and the worst of both in all else. */
static void merge_peaks(struct tw_history_peak *all, const struct tw_history_peak *one)
{
    struct tw_history_peak hotter = one->degC > all->degC ? *one : *all;

    hotter.expected = one->expected.degC > all->expected.degC ? one->expected : all->expected;
    hotter.highest_bulk_degC = fmax(all->highest_bulk_degC, one->highest_bulk_degC);
    hotter.dry_degC = fmax(all->dry_degC, one->dry_degC);
    hotter.boiling_room_K = fmin(all->boiling_room_K, one->boiling_room_K);
    hotter.film_times = fmin(all->film_times, one->film_times);
    hotter.film_least_times = fmin(all->film_least_times, one->film_least_times);
    hotter.least_degC = fmax(all->least_degC, one->least_degC);
    hotter.least_bulk_degC = fmax(all->least_bulk_degC, one->least_bulk_degC);
    *all = hotter;
}

/* None has a place where nothing of the whole program is cut. */
static const struct tw_history_piece *pieces_of(const struct tw_warmth *warmth, const struct heated *heated)
{
    return heated->count > 0 ? warmth->pieces + heated->first : NULL;
}

/* The group after a wait, from the state in `history`; the hottest of it in *peak. */
static enum tw_status run_group(struct tw_warmth *warmth, double wait_s, struct tw_history_peak *peak)
{
    struct tw_findings *findings = warmth->scene->findings;
    enum tw_status status = tw_history_wait(warmth->history, wait_s, findings);

    note_effort(warmth, wait_s);
    *peak = tw_history_no_peak();
    for (size_t i = 0; status == TW_OK && i < warmth->heated_count; i++) {
        const struct heated *heated = &warmth->heated[i];
        double idle = idle_s(warmth, heated) / 2.0;
        struct tw_history_peak one;

        status = tw_history_wait(warmth->history, idle, findings);
        if (status == TW_OK)
            status = tw_history_pass(warmth->history, pieces_of(warmth, heated), heated->count, &one, findings);
        if (status == TW_OK)
            status = tw_history_wait(warmth->history, idle, findings);
        one.highest_bulk_degC = fmax(one.highest_bulk_degC, tw_history_bulk_degC(warmth->history));
        if (status == TW_OK)
            merge_peaks(peak, &one);
    }
    return status;
}

/* ---- slivers ---- */

/* Of its lanes: the later ones meet less width, and so may run faster and hotter. */
static double fastest_mm_per_s(const struct tw_layer *layer)
{
    return layer->lanes > 1 ? fmax(layer->table_mm_per_s, layer->later_mm_per_s) : layer->table_mm_per_s;
}

/* What this layer's own cut does on a tang as warm as that with the energy of `limits`; nothing, when it is a spark-out. */
static enum tw_status cut_on(const struct tw_warmth *warmth, struct tw_cut_limits limits, const struct tw_layer *layer,
                             double bulk_degC, struct tw_cut *out)
{
    *out = (struct tw_cut){ .edge_factor = layer->edge_factor, .plate_factor = layer->plate_factor };
    if (layer->depth_mm <= 0.0)
        return TW_OK;
    limits.bulk_K = bulk_degC - limits.ambient_degC;
    return tw_cut_estimate(warmth->scene->job, &limits, layer->depth_mm, fastest_mm_per_s(layer), layer->engaged_mm,
                           out, warmth->scene->findings);
}

static enum tw_status own_cut(const struct tw_warmth *warmth, const struct tw_layer *layer, double bulk_degC,
                              struct tw_cut *out)
{
    return cut_on(warmth, *warmth->limits, layer, bulk_degC, out);
}

/* The group in hand cuts nothing that the cells can see, and neither did any before it in this layer: what it may take is told
 * by end_layer() as the layer's own cut, and it waits for the tang to be cool enough for that. */
static bool may_be_sliver(const struct tw_warmth *warmth, const struct tw_layer *layer)
{
    return warmth->piece_count == 0 && layer->depth_mm > 0.0 && layer->reserve_degC == -HUGE_VAL;
}

static enum tw_status sliver_peak(const struct tw_warmth *warmth, const struct tw_layer *layer,
                                  struct tw_history_peak *peak)
{
    double bulk_degC = tw_history_bulk_degC(warmth->history);
    struct tw_cut cut;
    enum tw_status status = own_cut(warmth, layer, bulk_degC, &cut);

    if (status != TW_OK)
        return status;
    peak->degC = cut.reserve_degC;
    peak->dry_degC = cut.dry_degC;
    peak->film_times = cut.film_times;
    peak->film_least_times = cut.film_least_times;
    peak->least_degC = cut.least_degC;
    peak->bulk_degC = bulk_degC;
    peak->tag = warmth->layer;
    return TW_OK;
}

static enum tw_status no_wait_helps(const struct tw_warmth *warmth, const struct tw_layer *layer,
                                    const struct tw_history_peak *peak)
{
    struct tw_place at = { .file = warmth->scene->job->path };
    const char *side = tw_side_letter(warmth->scene->face.side);
    double highest_degC = tw_cut_highest_degC(layer->flash_limit_degC);

    if (fmax(peak->least_degC, peak->least_bulk_degC) > highest_degC && peak->degC <= highest_degC)
        return tw_fail(warmth->scene->findings, TW_NO_PLAN, at,
                       "side %s: a pass of layer %d would reach %.1f degC where the coolant's film takes no more than "
                       "the lower end "
                       "of its range (coolant.contact_conductance_least), and waiting does not bring that below %.1f "
                       "degC; a film that "
                       "was measured (docs/bench-tests.md), a sharper wheel or more coolant does",
                       side, peak->tag + 1, fmax(peak->least_degC, peak->least_bulk_degC), highest_degC);
    if (peak->highest_bulk_degC > warmth->limits->limit_degC)
        return tw_fail(
            warmth->scene->findings, TW_NO_PLAN, at,
            "side %s: a pass of layer %d would warm the tang itself to %.1f degC, and waiting does not bring that "
            "below %.1f degC; lighter cuts (a smaller wheel.max_infeed), more coolant or a sharper wheel do",
            side, peak->tag + 1, peak->highest_bulk_degC, warmth->limits->limit_degC);
    if (peak->degC < layer->flash_limit_degC && isfinite(peak->film_times))
        return tw_fail(
            warmth->scene->findings, TW_NO_PLAN, at,
            "side %s: in a pass of layer %d the coolant's film would last up to %.2f times the wheel's specific "
            "energy, "
            "and %.2f times at the lower end of its range (coolant.contact_conductance_least), where heat.film_reserve "
            "asks for %.4g and 1, and without the film the face comes to %.1f degC where %.1f degC "
            "is allowed; waiting does not help, a sharper wheel or more coolant does",
            side, peak->tag + 1, peak->film_times, peak->film_least_times, warmth->limits->film_reserve, peak->dry_degC,
            layer->flash_limit_degC);
    return tw_fail(warmth->scene->findings, TW_NO_PLAN, at,
                   "side %s: a pass of layer %d would reach %.1f degC, %.1f degC of it left by earlier passes, and "
                   "waiting does not bring it below %.1f degC; a sharper wheel or more coolant does",
                   side, peak->tag + 1, fmax(peak->degC, peak->boiled ? peak->dry_degC : peak->degC), peak->bulk_degC,
                   tw_cut_highest_degC(layer->flash_limit_degC));
}

static double whole_steps_s(double time_s)
{
    return WAIT_STEP_S * ceil(time_s / WAIT_STEP_S - 1e-9);
}

/* A group after a wait that was tried: how far it stays below its limits. */
struct tried {
    double wait_s, room_K;
};

/* The longest wait that does not serve, the shortest that does, and the one tried last. */
struct bracket {
    struct tried low, high, last;
    bool has_low, has_high, compared; /* compared: more than one was tried */
};

/* Waiting longer brings nothing: what earlier passes left is gone already, or goes no more. */
static bool waits_in_vain(const struct tw_warmth *warmth, const struct bracket *bracket,
                          const struct tw_history_peak *peak)
{
    double wait_s = bracket->last.wait_s;

    return wait_s >= LONGEST_WAIT_S || peak->bulk_degC - warmth->limits->ambient_degC < COOLED_K ||
           (bracket->compared && wait_s > VAIN_WAIT_S && warmth->gain_K_per_s * wait_s < COOLED_K);
}

static void learn(struct tw_warmth *warmth, struct bracket *bracket, struct tried now)
{
    bool serves = now.room_K >= 0.0;

    bracket->compared = bracket->has_low || bracket->has_high;
    if (bracket->compared)
        warmth->gain_K_per_s = fmax(0.0, (now.room_K - bracket->last.room_K) / (now.wait_s - bracket->last.wait_s));
    *(serves ? &bracket->high : &bracket->low) = bracket->last = now;
    *(serves ? &bracket->has_high : &bracket->has_low) = true;
}

/* Where there is a little room, by what waiting gained last: there may never be much of it. */
static double aim_s(const struct tw_warmth *warmth, struct tried from)
{
    double more_K = from.room_K < 0.0 ? -BEYOND * from.room_K : fmin(0.0, AIM_K - from.room_K);

    return from.wait_s + more_K / fmax(warmth->gain_K_per_s, LEAST_GAIN_K_PER_S);
}

/* By what waiting gained last. */
static bool no_wait_may_do(const struct tw_warmth *warmth, struct tried high)
{
    return high.room_K > warmth->gain_K_per_s * high.wait_s;
}

/* Within the two that enclose it, or beyond the one that is known. */
static double next_wait_s(const struct tw_warmth *warmth, const struct bracket *bracket)
{
    double low_s = bracket->low.wait_s, high_s = bracket->high.wait_s, aimed_s = aim_s(warmth, bracket->last);
    double least_s = bracket->has_low ? low_s + LEAST_SHARE * (high_s - low_s) : 0.0;

    if (!bracket->has_high)
        return whole_steps_s(
            fmin(LONGEST_WAIT_S, fmin(fmax(FIRST_WAIT_S, MOST_GROWTH * low_s), fmax(LEAST_GROWTH * low_s, aimed_s))));
    if (!bracket->has_low && no_wait_may_do(warmth, bracket->high))
        return 0.0;
    return fmin(whole_steps_s(fmin(fmax(least_s, aimed_s), high_s - LEAST_SHARE * (high_s - least_s))),
                high_s - WAIT_STEP_S);
}

/* Whether the shortest wait that serves is short enough: neither is a shorter one likely to save much, nor none to do. */
static bool is_close(const struct tw_warmth *warmth, const struct bracket *bracket)
{
    struct tried high = bracket->high;

    if (!bracket->has_high || high.wait_s == 0.0)
        return bracket->has_high;
    if (bracket->has_low && high.wait_s - bracket->low.wait_s < 1.5 * WAIT_STEP_S)
        return true;
    return (bracket->has_low || !no_wait_may_do(warmth, high)) &&
           high.wait_s - aim_s(warmth, high) <= fmax(CLOSE_S, CLOSE_SHARE * high.wait_s);
}

/* What waiting is likely to have to be before the next group that goes the same way. */
static double *guess_s(struct tw_warmth *warmth)
{
    return &warmth->guesses_s[warmth->piece_count > 0 ? 1 + tw_history_way(warmth->pieces) : 1];
}

static void swap_kept(struct tw_warmth *warmth)
{
    struct tw_history *kept = warmth->kept;

    warmth->kept = warmth->history;
    warmth->history = kept;
}

/* The group after a wait in whole steps, if it needs one, that leaves it below its limits, and not by much. */
static enum tw_status seek_wait(struct tw_warmth *warmth, const struct tw_layer *layer, double *wait_s,
                                struct tw_history_peak *peak)
{
    struct bracket bracket = { 0 };
    struct tried now = { .wait_s = *guess_s(warmth) };
    enum tw_status status = TW_OK;

    for (int tries = 0, more = TRIES_MORE; status == TW_OK && more > 0 && !is_close(warmth, &bracket); tries++) {
        struct tw_history_peak trial;

        if (tries > 0) {
            now.wait_s = next_wait_s(warmth, &bracket);
            status = tw_history_copy(warmth->history, warmth->before);
        }
        if (status == TW_OK)
            status = run_group(warmth, warmth->waiting_s + now.wait_s, &trial);
        if (status == TW_OK && may_be_sliver(warmth, layer))
            status = sliver_peak(warmth, layer, &trial);
        if (status != TW_OK)
            break;
        now.room_K = tw_cut_room_K(warmth->limits, &trial, layer->flash_limit_degC);
        learn(warmth, &bracket, now);
        more -= bracket.has_high;
        if (now.room_K >= 0.0) {
            swap_kept(warmth);
            *peak = trial;
        } else if (!bracket.has_high && waits_in_vain(warmth, &bracket, &trial)) {
            status = no_wait_helps(warmth, layer, &trial);
        }
    }
    swap_kept(warmth); /* the state after the wait that serves */
    *wait_s = bracket.high.wait_s;
    *guess_s(warmth) = whole_steps_s(fmax(0.0, aim_s(warmth, bracket.high)));
    return status;
}

/* ---- the program ---- */

static enum tw_status keep_move(struct tw_warmth *warmth, struct tw_move move)
{
    if (!tw_grow((void **)&warmth->moves, &warmth->move_capacity, warmth->move_count + 1, sizeof *warmth->moves))
        return tw_no_memory(warmth->scene->findings);
    warmth->moves[warmth->move_count++] = move;
    return TW_OK;
}

static void note_judged(const struct tw_warmth *warmth, struct tw_layer *layer, const struct tw_history_peak *peak)
{
    layer->dry_degC = fmax(layer->dry_degC, peak->dry_degC);
    layer->boiling_room_K = fmin(layer->boiling_room_K, peak->boiling_room_K);
    layer->film_times = fmin(layer->film_times, peak->film_times);
    layer->film_least_times = fmin(layer->film_least_times, peak->film_least_times);
    layer->film_least_degC = fmax(layer->film_least_degC, peak->least_degC);
    layer->boiled = tw_film_counted_times(layer->film_times, layer->film_least_times, warmth->limits->film_stated) <
                    warmth->limits->film_reserve;
    if (layer->reserve_degC >= peak->degC)
        return;
    layer->reserve_degC = peak->degC;
    layer->reserve_bulk_degC = peak->bulk_degC;
}

static void note_expected(struct tw_layer *layer, const struct tw_history_expected *peak)
{
    if (layer->peak_degC >= peak->degC)
        return;
    layer->peak_degC = peak->degC;
    layer->bulk_degC = peak->bulk_degC;
    layer->flash_K = peak->rise_K / (peak->edge_factor * peak->plate_factor);
    layer->edge_factor = peak->edge_factor;
    layer->plate_factor = peak->plate_factor;
}

static double peak_of(const struct tw_cut *cut, double bulk_degC)
{
    return bulk_degC + cut->flash_K * cut->edge_factor * cut->plate_factor;
}

static enum tw_status expect_sliver(struct tw_warmth *warmth, struct tw_layer *layer)
{
    struct tw_cut_limits limits = *warmth->limits;
    struct tw_cut cut;
    enum tw_status status;

    limits.energy = 1.0;
    layer->bulk_degC = tw_history_expected_degC(warmth->history, tw_history_bulk_degC(warmth->history));
    status = cut_on(warmth, limits, layer, layer->bulk_degC, &cut);
    if (status != TW_OK)
        return status;
    layer->peak_degC = peak_of(&cut, layer->bulk_degC);
    layer->flash_K = cut.flash_K;
    layer->edge_factor = cut.edge_factor;
    layer->plate_factor = cut.plate_factor;
    return TW_OK;
}

/* A layer too thin or too narrow for the cells to find a cut, or a spark-out: its own flash, if it has one, on the
 * tang's hottest place. */
static enum tw_status note_sliver(struct tw_warmth *warmth, struct tw_layer *layer)
{
    double bulk_degC = tw_history_bulk_degC(warmth->history);
    struct tw_cut cut;
    enum tw_status status = own_cut(warmth, layer, bulk_degC, &cut);

    if (status != TW_OK)
        return status;
    layer->reserve_bulk_degC = bulk_degC;
    layer->reserve_degC = peak_of(&cut, bulk_degC);
    layer->dry_degC = fmax(layer->dry_degC, layer->reserve_degC);
    layer->film_least_degC = cut.least_degC;
    return expect_sliver(warmth, layer);
}

/* A layer of which no group has been noted is a sliver. */
static enum tw_status end_layer(struct tw_warmth *warmth)
{
    struct tw_layer *layer;

    if (warmth->layer < 0)
        return TW_OK;
    layer = &warmth->plan->layers[warmth->layer];
    return layer->reserve_degC == -HUGE_VAL ? note_sliver(warmth, layer) : TW_OK;
}

static enum tw_status begin_layer(struct tw_warmth *warmth, int layer)
{
    const struct tw_scene *scene = warmth->scene;
    double bottom_mm;
    enum tw_status status;

    if (layer == warmth->layer)
        return TW_OK;
    status = end_layer(warmth);
    if (status != TW_OK)
        return status;
    bottom_mm = warmth->layer >= 0 ? warmth->plan->layers[warmth->layer].bottom_mm : HUGE_VAL;
    warmth->layer = layer;
    if (bottom_mm == HUGE_VAL && !scene->job->task.raw)
        return TW_OK;
    if (bottom_mm == HUGE_VAL) /* what an earlier program has left */
        bottom_mm = warmth->plan->layers[0].bottom_mm + warmth->plan->layers[0].depth_mm;
    return tw_warm_set_layer(warmth->history, scene->job, &scene->face, bottom_mm, scene->findings);
}

/* The group of cuts from move `first` up to, not including, `end`; a wait, if one is needed, goes in at `place`. */
static enum tw_status warm_group(struct tw_warmth *warmth, size_t first, size_t end, size_t place)
{
    struct tw_layer *layer = &warmth->plan->layers[warmth->plan->moves[first].layer];
    struct tw_history_peak peak = { 0 };
    double wait_s = 0.0;
    enum tw_status status = begin_layer(warmth, warmth->plan->moves[first].layer);

    warmth->piece_count = warmth->heated_count = 0;
    for (size_t i = first; status == TW_OK && i < end; i++)
        if (is_cut(&warmth->plan->moves[i]))
            status = collect_pieces(warmth, i);
    if (status == TW_OK)
        status = tw_history_copy(warmth->before, warmth->history);
    if (status == TW_OK)
        status = seek_wait(warmth, layer, &wait_s, &peak);
    if (status != TW_OK)
        return status;
    warmth->waiting_s = 0.0;
    if (warmth->piece_count > 0) { /* a group without goes over what the lanes before it have taken already */
        note_judged(warmth, layer, &peak);
        note_expected(layer, &peak.expected);
    }
    if (wait_s > 0.0) {
        struct tw_move wait = { .kind = TW_MOVE_DWELL,
                                .role = TW_ROLE_COOL,
                                .layer = warmth->plan->moves[first].layer,
                                .to = warmth->plan->moves[place - 1].to,
                                .dwell_s = wait_s };

        layer->dwell_s += wait_s;
        warmth->plan->dwell_s += wait_s;
        warmth->plan->part_time_s += wait_s;
        status = keep_move(warmth, wait);
    }
    for (size_t i = place; status == TW_OK && i < end; i++)
        status = keep_move(warmth, warmth->plan->moves[i]);
    return status;
}

static double move_time_s(const struct tw_warmth *warmth, size_t index)
{
    const struct tw_move *move = &warmth->plan->moves[index];

    return move->kind == TW_MOVE_DWELL ? move->dwell_s : warmth->times_s[index];
}

/* Seconds of a stay, without the waits that the plan did not have yet. */
static double stay_time_s(const struct tw_warmth *warmth, struct tw_stay stay)
{
    double time_s = 0.0;

    for (size_t i = stay.first; i <= stay.last; i++)
        time_s += move_time_s(warmth, i);
    return time_s;
}

/* The wheel comes back to the part with move `index`: meanwhile it was at all the others, which took it as long as at this
 * one: at least the shorter of the stay that is over and the one that begins. */
static void come_back(struct tw_warmth *warmth, size_t index)
{
    const struct tw_job *job = warmth->scene->job;
    struct tw_stay before = warmth->stay, after = tw_plan_stay(warmth->plan, index);
    double before_s = stay_time_s(warmth, before) + warmth->plan->dwell_s - warmth->waited_s;

    warmth->waiting_s += (job->parts - 1) * fmin(before_s, stay_time_s(warmth, after));
    warmth->waiting_s += tw_stations_round_s(job, warmth->plan, before, after);
    warmth->waited_s = warmth->plan->dwell_s;
    warmth->stay = after;
    if (warmth->plan->ledger.since_mm3)
        tw_removed_come_back(warmth->removed,
                             warmth->plan->ledger.since_mm3[++warmth->stay_number * (size_t)job->parts]);
}

/* Walks the moves in groups: what leads to the cuts, and the cuts. */
static enum tw_status walk(struct tw_warmth *warmth)
{
    const struct tw_setup_plan *plan = warmth->plan;
    size_t place = 1;
    enum tw_status status = keep_move(warmth, plan->moves[0]);

    while (status == TW_OK && place < plan->move_count && plan->part_time_s <= warmth->longest_s) {
        size_t first = place, end;

        for (; first < plan->move_count && !is_cut(&plan->moves[first]); first++) {
            warmth->waiting_s += move_time_s(warmth, first);
            if (!plan->moves[first].enters)
                continue;
            come_back(warmth, first);
            for (; status == TW_OK && place <= first; place++)
                status = keep_move(warmth, plan->moves[place]);
        }
        if (status != TW_OK)
            break;
        end = first;
        while (end < plan->move_count && is_cut(&plan->moves[end]) &&
               plan->moves[end].layer == plan->moves[first].layer)
            end++;
        if (first < end) {
            /* The wheel is lifted, or just past the part, before the moves that lead to the next cut. */
            size_t lifted = end;

            while (lifted < plan->move_count && !is_cut(&plan->moves[lifted]) &&
                   (plan->moves[lifted].role == TW_ROLE_RETURN || plan->moves[lifted].role == TW_ROLE_OVER ||
                    plan->moves[lifted].role == TW_ROLE_CUT))
                lifted++;
            status =
                warmth->effort_s > warmth->end_s ? refuse_effort(warmth) : warm_group(warmth, first, lifted, place);
            for (; end < lifted; end++)
                warmth->waiting_s += move_time_s(warmth, end);
        } else {
            for (size_t i = place; status == TW_OK && i < end; i++)
                status = keep_move(warmth, plan->moves[i]);
        }
        place = end;
    }
    return status == TW_OK ? end_layer(warmth) : status;
}

static void reset_layers(struct tw_setup_plan *plan)
{
    for (size_t i = 0; i < plan->layer_count; i++) {
        plan->layers[i].reserve_degC = plan->layers[i].reserve_bulk_degC = plan->layers[i].dry_degC = -HUGE_VAL;
        plan->layers[i].peak_degC = plan->layers[i].bulk_degC = plan->layers[i].film_least_degC = -HUGE_VAL;
        plan->layers[i].boiling_room_K = plan->layers[i].film_times = plan->layers[i].film_least_times = HUGE_VAL;
        plan->layers[i].dwell_s = 0.0;
        plan->layers[i].boiled = false;
    }
}

static void sum_up(struct tw_warmth *warmth)
{
    struct tw_setup_plan *plan = warmth->plan;

    plan->reserve_degC = plan->peak_degC = warmth->limits->ambient_degC;
    for (size_t i = 0; i < plan->layer_count; i++) {
        plan->reserve_degC = fmax(plan->reserve_degC, plan->layers[i].reserve_degC);
        plan->peak_degC = fmax(plan->peak_degC, plan->layers[i].peak_degC);
    }
    plan->reserve_bulk_degC = tw_history_highest_bulk_degC(warmth->history);
    plan->bulk_degC = tw_history_expected_degC(warmth->history, plan->reserve_bulk_degC);
    if (warmth->tempers)
        tw_history_tempering(warmth->history, &warmth->limits->temper, &plan->tempering);
}

/* By the ways of the first layer, as high over it as it is deep: those of roughing are not known here, and lie much like them. */
static enum tw_status rough(struct tw_warmth *warmth)
{
    const struct tw_setup_plan *plan = warmth->plan;
    enum tw_status status = TW_OK;

    for (size_t i = 1; status == TW_OK && i < plan->move_count && plan->moves[i].layer <= 0; i++) {
        struct tw_place3 from = plan->moves[i - 1].to, to = plan->moves[i].to;
        const struct tw_history_piece *pieces;
        size_t count;

        from.z_mm += plan->layers[0].depth_mm;
        to.z_mm += plan->layers[0].depth_mm;
        if (!is_cut(&plan->moves[i]))
            continue;
        status = tw_removed_cut(warmth->removed, from, to, &pieces, &count);
        tw_removed_come_back(warmth->removed, 0.0); /* as if the wheel had not worn: it is touched off on that face */
    }
    return status;
}

/* The part as it was before anything was cut. */
static enum tw_status begin_again(struct tw_warmth *warmth)
{
    struct tw_findings *findings = warmth->scene->findings;
    enum tw_status status = TW_OK;

    tw_removed_begin(warmth->removed, warmth->scene);
    free(warmth->times_s);
    warmth->times_s = calloc(warmth->plan->move_count + 1, sizeof *warmth->times_s);
    if (!warmth->times_s)
        return tw_no_memory(findings);
    warmth->move_count = 0;
    warmth->layer = -1;
    warmth->waiting_s = warmth->waited_s = warmth->gain_K_per_s = 0.0;
    memset(warmth->guesses_s, 0, sizeof warmth->guesses_s);
    warmth->stay = tw_plan_stay(warmth->plan, 0);
    warmth->stay_number = 0;
    if (tw_removed_roughs_first(warmth->scene->job))
        status = rough(warmth);
    return status == TW_OK ? tw_history_copy(warmth->history, warmth->uncut) : status;
}

/* The plan's moves become those with the waits. */
static void swap_moves(struct tw_warmth *warmth)
{
    struct tw_setup_plan *plan = warmth->plan;
    struct tw_move *moves = plan->moves;
    size_t capacity = plan->move_capacity;

    plan->moves = warmth->moves;
    plan->move_count = warmth->move_count;
    plan->move_capacity = warmth->move_capacity;
    warmth->moves = moves;
    warmth->move_capacity = capacity;
}

enum tw_status tw_warmth_run(struct tw_warmth *warmth, const struct tw_scene *scene, const struct tw_cut_limits *limits,
                             double longest_s, struct tw_setup_plan *plan)
{
    enum tw_status status;

    warmth->scene = scene;
    warmth->limits = limits;
    warmth->plan = plan;
    warmth->longest_s = longest_s;
    if (plan->part_time_s > longest_s)
        return TW_OK;
    reset_layers(plan);
    status = begin_again(warmth);
    if (status == TW_OK)
        status = tw_setup_times(&scene->job->machine, plan, warmth->times_s, scene->findings);
    if (status == TW_OK)
        status = walk(warmth);
    if (status == TW_OK && plan->part_time_s <= longest_s) {
        swap_moves(warmth);
        sum_up(warmth);
    }
    return status;
}
