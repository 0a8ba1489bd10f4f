/* judge.h - is a damaged program harmless? Told from what it does to a blank, by the reader and the removal alone: the
 * dry-run's own checks are not asked. A side may take several programs: they are run one after the other.
 *
 * Harmless: it reads to its end; every rapid leaves everything untouched; nothing but the tang's stock is touched;
 * wherever the wheel is down at feed, spindle and coolant are as in the good program; the same face is left within the
 * job's flatness and nowhere more than 2 um below the target; the wheel never goes below the pads' plane; and the same
 * state is left at the end, the wheel up. The wheel starts low beside the part, as nobody promises where it stands. */
#ifndef TANGWRIGHT_TESTS_FAULTS_JUDGE_H
#define TANGWRIGHT_TESTS_FAULTS_JUDGE_H

#include "base/memory.h"
#include "tangwright/relief.h"
#include "tangwright/removal.h"
#include "tangwright/rs274.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define JUDGE_BELOW_MM        0.002
#define JUDGE_FIXTURE_CELL_MM 0.5
#define JUDGE_MARGIN_MM       1.0

/* One motion, along, across and up from the machine's zero, and what was switched on. */
struct judge_motion {
    double from_mm[3], to_mm[3];
    bool rapid;
    struct tw_rs274_modes modes;
    double waited_s; /* dwelt since the spindle was last switched */
};

struct judge_path {
    const struct tw_machine *machine;
    struct judge_motion *motions;
    size_t count, capacity;
    double at_mm[3], waited_s;
    struct tw_rs274_modes before_end; /* in force when the end was met */
    bool read, ended_by_code;
    struct tw_rs274_result result;
};

#define JUDGE_CARDS_MOST 4

/* One program of a side, and what it does of it. */
struct judge_card {
    const char *text;
    size_t length;
    enum tw_scope scope;
};

struct judge_cards {
    enum tw_side side;
    struct judge_card cards[JUDGE_CARDS_MOST];
    size_t count;
};

/* What good programs do; the measure for their mutants. */
struct judge_norm {
    struct judge_state {
        struct tw_rs274_modes at_work; /* when the wheel is first down at feed */
        double waited_s;
        struct tw_rs274_modes at_end;
    } states[JUDGE_CARDS_MOST];
    float *surface_mm; /* of the last part: all parts are ground alike */
    size_t cells;
};

/* ---- the path ---- */

static inline void judge_table(const struct tw_machine *machine, const double machine_mm[3], double out_mm[3])
{
    const struct tw_axis *axes[3] = { &machine->along, &machine->across, &machine->up };

    for (int k = 0; k < 3; k++)
        out_mm[k] = axes[k]->sign * machine_mm[axes[k]->letter - 'X'];
}

static inline void judge_add(struct judge_path *path, const double machine_mm[3], bool rapid,
                             const struct tw_rs274_modes *modes)
{
    struct judge_motion motion = { .rapid = rapid, .modes = *modes, .waited_s = path->waited_s };

    if (!tw_grow((void **)&path->motions, &path->capacity, path->count + 1, sizeof motion))
        abort();
    memcpy(motion.from_mm, path->at_mm, sizeof motion.from_mm);
    judge_table(path->machine, machine_mm, motion.to_mm);
    memcpy(path->at_mm, motion.to_mm, sizeof motion.to_mm);
    path->motions[path->count++] = motion;
}

static inline enum tw_status judge_event(const struct tw_rs274_event *event, void *context)
{
    struct judge_path *path = context;
    enum { CHORDS = 200 };
    double machine_mm[3];

    switch (event->kind) {
    case TW_RS274_RAPID:
    case TW_RS274_FEED:
        judge_add(path, event->end_machine_mm, event->kind == TW_RS274_RAPID, &event->modes);
        break;
    case TW_RS274_ARC:
        for (int i = 1; i <= CHORDS; i++) {
            tw_rs274_point(event, (double)i / CHORDS, NULL, machine_mm);
            judge_add(path, machine_mm, false, &event->modes);
        }
        break;
    case TW_RS274_DWELL:
        path->waited_s += event->dwell_s;
        break;
    case TW_RS274_SPINDLE:
    case TW_RS274_SPINDLE_SPEED:
    case TW_RS274_TOOL_CHANGE:
        path->waited_s = 0.0;
        break;
    case TW_RS274_END:
        path->ended_by_code = event->code != 0;
        return TW_OK; /* its modes are those after the reset */
    default:
        break;
    }
    path->before_end = event->modes;
    return TW_OK;
}

/* Low beside the butt of the first part, where no keep-out of the samples stands. */
static inline void judge_start(const struct tw_job *job, double start_mm[3])
{
    const struct tw_station *station = &job->fixture.stations[0];
    double beside_mm = job->taper.length_mm + 2.0 * job->wheel.diameter_mm;

    start_mm[job->machine.along.letter - 'X'] = station->along_mm + job->machine.along.sign * beside_mm;
    start_mm[job->machine.across.letter - 'X'] = station->across_mm + job->machine.across.sign * 0.123;
    start_mm[job->machine.up.letter - 'X'] = station->up_mm + job->machine.up.sign * job->taper.butt_mm / 2.0;
}

static inline void judge_read(const struct tw_job *job, enum tw_side side, const char *text, size_t length,
                              struct judge_path *path)
{
    static const enum tw_rs274_dwell_word words[] = { TW_RS274_P_SECONDS, TW_RS274_P_MILLISECONDS, TW_RS274_X_SECONDS };
    struct tw_rs274_setup setup = { .dwell_word = words[job->machine.dialect.dwell_word] };

    *path = (struct judge_path){ .machine = &job->machine };
    judge_start(job, setup.start_mm);
    judge_table(&job->machine, setup.start_mm, path->at_mm);
    for (size_t i = 0; i < job->fixture.station_count; i++) {
        const struct tw_station *station = &job->fixture.stations[i];
        double *origin_mm = setup.origins_mm[station->work_offset - 1];

        origin_mm[job->machine.along.letter - 'X'] = station->along_mm;
        origin_mm[job->machine.across.letter - 'X'] = station->across_mm;
        /* Zero may be the pad or the ricasso's upper face. */
        origin_mm[job->machine.up.letter - 'X'] = station->up_mm + job->machine.up.sign * tw_face_of(job, side).zero_mm;
    }
    path->read = tw_rs274_run(text, length, &setup, judge_event, path, &path->result, NULL) == TW_OK;
}

/* ---- the part ---- */

struct judge_part {
    struct tw_field tang, fixture;
    struct tw_face face;
    double top_mm; /* of everything there is */
};

static inline void judge_fill(struct tw_field *field, const struct tw_outline *outline, struct tw_height_plane top,
                              bool stock)
{
    struct tw_ring rings[64];
    size_t count = 0;

    if (outline->outer.count == 0)
        return;
    rings[count++] = outline->outer;
    for (size_t i = 0; i < outline->hole_count && count < 64; i++)
        rings[count++] = outline->holes[i];
    if (stock)
        tw_field_add_stock(field, rings, count, top, NULL);
    else
        tw_field_add_keep_out(field, rings, count, TW_CELL_BLADE, top, NULL);
}

static inline void judge_reach(const struct tw_ring *ring, double low_mm[2], double high_mm[2])
{
    for (size_t i = 0; i < ring->count; i++) {
        low_mm[0] = fmin(low_mm[0], ring->points[i].x_mm);
        low_mm[1] = fmin(low_mm[1], ring->points[i].y_mm);
        high_mm[0] = fmax(high_mm[0], ring->points[i].x_mm);
        high_mm[1] = fmax(high_mm[1], ring->points[i].y_mm);
    }
}

static inline void judge_field(const double low_mm[2], const double high_mm[2], double cell_mm, double bottom_mm,
                               struct tw_field *out)
{
    if (tw_field_new(low_mm[0] - JUDGE_MARGIN_MM, low_mm[1] - JUDGE_MARGIN_MM, cell_mm,
                     (int)ceil((high_mm[0] - low_mm[0] + 2.0 * JUDGE_MARGIN_MM) / cell_mm),
                     (int)ceil((high_mm[1] - low_mm[1] + 2.0 * JUDGE_MARGIN_MM) / cell_mm), bottom_mm, out,
                     NULL) != TW_OK)
        abort();
}

/* The blank before grinding: as thick as the ricasso, tilted or level. */
static inline struct tw_height_plane judge_blank(const struct tw_job *job, const struct tw_face *face)
{
    double t = face->tilt_rad;

    return (struct tw_height_plane){ job->taper.ricasso_mm / cos(t), tan(t), 0.0 };
}

/* A tang drawn alone has a blade all the same: 300 mm long, and 60 mm wider than the tang on either side. */
static inline void judge_assume_blade(const struct tw_outline *tang, const struct tw_face *face,
                                      struct tw_outline *blade)
{
    double low_mm[2] = { HUGE_VAL, HUGE_VAL }, high_mm[2] = { -HUGE_VAL, -HUGE_VAL };
    double start_mm = face->start_mm;

    judge_reach(&tang->outer, low_mm, high_mm);
    *blade = (struct tw_outline){ .outer = { calloc(4, sizeof(struct tw_point)), 4 } };
    if (!blade->outer.points)
        abort();
    blade->outer.points[0] = (struct tw_point){ start_mm - 300.0, low_mm[1] - 60.0 };
    blade->outer.points[1] = (struct tw_point){ start_mm, low_mm[1] - 60.0 };
    blade->outer.points[2] = (struct tw_point){ start_mm, high_mm[1] + 60.0 };
    blade->outer.points[3] = (struct tw_point){ start_mm - 300.0, high_mm[1] + 60.0 };
}

static inline void judge_part_open(const struct tw_job *job, enum tw_side side, double cell_mm, struct judge_part *out)
{
    struct tw_outline tang, blade;
    double low_mm[2] = { HUGE_VAL, HUGE_VAL }, high_mm[2] = { -HUGE_VAL, -HUGE_VAL };
    struct tw_height_plane top;

    out->face = tw_face_of(job, side);
    top = judge_blank(job, &out->face);
    if (tw_face_outline(&out->face, &job->part.tang, &tang, NULL) != TW_OK ||
        tw_face_outline(&out->face, &job->part.blade, &blade, NULL) != TW_OK)
        abort();
    if (blade.outer.count == 0)
        judge_assume_blade(&tang, &out->face, &blade);
    judge_reach(&tang.outer, low_mm, high_mm);
    judge_field(low_mm, high_mm, cell_mm, 0.0, &out->tang);
    judge_fill(&out->tang, &tang, top, true);
    judge_reach(&blade.outer, low_mm, high_mm);
    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        judge_reach(&job->fixture.keep_outs[i].plan, low_mm, high_mm);
    judge_field(low_mm, high_mm, JUDGE_FIXTURE_CELL_MM, -1e3, &out->fixture);
    judge_fill(&out->fixture, &blade, top, false);
    for (size_t i = 0; i < job->fixture.keep_out_count; i++) {
        enum tw_in_place sides = job->fixture.keep_outs[i].sides;

        if (sides != TW_IN_PLACE_BOTH && (sides == TW_IN_PLACE_A) != (side == TW_SIDE_A))
            continue; /* it stands there with the other side up only */
        tw_field_add_keep_out(&out->fixture, &job->fixture.keep_outs[i].plan, 1, TW_CELL_BODY,
                              (struct tw_height_plane){ job->fixture.keep_outs[i].top_mm, 0.0, 0.0 }, NULL);
    }
    out->top_mm = fmax(out->tang.stock_high_mm, out->fixture.keep_high_mm);
    tw_outline_free(&tang);
    tw_outline_free(&blade);
}

static inline void judge_part_close(struct judge_part *part)
{
    tw_field_free(&part->tang);
    tw_field_free(&part->fixture);
}

/* ---- the run ---- */

static inline struct tw_wheel_body judge_wheel(const struct tw_job *job)
{
    const struct tw_wheel *wheel = &job->wheel;
    struct tw_wheel_body body = { .shape = wheel->kind == TW_WHEEL_CUP ? TW_BODY_CUP : TW_BODY_DISC,
                                  .radius_mm = wheel->diameter_mm / 2.0,
                                  .width_mm = wheel->width_mm,
                                  .rim_mm = wheel->rim_width_mm,
                                  .hollow_mm = 0.75 * wheel->width_mm,
                                  .nose_side = 1 };

    if (body.shape == TW_BODY_DISC || job->machine.wheel_overhang_mm > 0.0) {
        body.nose_radius_mm = job->machine.spindle_nose_diameter_mm / 2.0;
        body.nose_start_mm = body.shape == TW_BODY_DISC ? wheel->width_mm / 2.0 : job->machine.wheel_overhang_mm;
    }
    return body;
}

static inline bool judge_same_state(const struct judge_state *norm, const struct judge_motion *motion)
{
    const struct tw_rs274_modes *wanted = &norm->at_work, *found = &motion->modes;

    return found->spindle == wanted->spindle && found->flood == wanted->flood && found->mist == wanted->mist &&
           fabs(found->spindle_rpm - wanted->spindle_rpm) <= 0.02 * wanted->spindle_rpm &&
           motion->waited_s >= 0.999 * norm->waited_s;
}

/* Nothing but stock was met, and that not by a rapid. */
static inline bool judge_clean(const struct tw_removal *removal, bool rapid)
{
    if (rapid && removal->depth_mm > TW_REMOVAL_TOUCH_MM)
        return false;
    for (int kind = 0; kind < TW_CELL_KINDS; kind++)
        if (removal->contacts[kind].depth_mm > (kind == TW_CELL_BLADE ? JUDGE_BELOW_MM : 0.0) && kind != TW_CELL_TARGET)
            return false;
    return true;
}

/* Drives the path over one part. `norm` NULL: the good program itself, whose states are not looked at. */
static inline bool judge_drive(const struct tw_job *job, const struct judge_path *path, int station,
                               const struct judge_state *norm, struct judge_part *part)
{
    const struct tw_station *at = &job->fixture.stations[station];
    const double origin_mm[3] = { job->machine.along.sign * at->along_mm, job->machine.across.sign * at->across_mm,
                                  job->machine.up.sign * at->up_mm };
    struct tw_wheel_body body = judge_wheel(job);
    struct tw_sweep *sweeps[2];
    struct tw_field *fields[2] = { &part->tang, &part->fixture };
    bool good = true;

    for (int i = 0; i < 2; i++)
        if (tw_sweep_new(fields[i], &body, 50.0, &sweeps[i], NULL) != TW_OK)
            abort();
    for (size_t i = 0; good && i < path->count; i++) {
        const struct judge_motion *motion = &path->motions[i];
        double from_mm[3], to_mm[3];

        for (int k = 0; k < 3; k++) {
            from_mm[k] = motion->from_mm[k] - origin_mm[k];
            to_mm[k] = motion->to_mm[k] - origin_mm[k];
        }
        good = fmin(from_mm[2], to_mm[2]) >= 0.0 || i == 0; /* where it stands at the start is nobody's fault */
        if (good && norm && !motion->rapid && fmin(from_mm[2], to_mm[2]) < part->tang.stock_high_mm)
            good = judge_same_state(norm, motion);
        for (int k = 0; good && k < 2; k++) {
            struct tw_removal removal;

            if (tw_sweep_line(sweeps[k], from_mm, to_mm, &removal, NULL) != TW_OK)
                abort();
            good = judge_clean(&removal, motion->rapid);
        }
    }
    for (int i = 0; i < 2; i++)
        tw_sweep_free(sweeps[i]);
    return good;
}

/* The face against the target, and against the one the good programs leave. Where those have hollowed it, a relief may be;
 * before they are known, anywhere. */
static inline bool judge_surface(const struct tw_job *job, const struct judge_part *part, bool hollows,
                                 const float *good_mm)
{
    const struct tw_field *field = &part->tang;

    for (int row = 0; row < field->rows; row++)
        for (int column = 0; column < field->columns; column++) {
            size_t i = (size_t)row * (size_t)field->columns + (size_t)column;
            double x_mm = field->x_mm + (column + 0.5) * field->cell_mm, stock_mm = (double)field->stock_mm[i];
            struct tw_height_plane blank = judge_blank(job, &part->face);
            double target_mm = fmin(tw_face_height_mm(&part->face, x_mm), blank.z_mm + blank.slope_x * x_mm);
            double may_mm = target_mm - (hollows ? job->relief.depth_mm : 0.0);

            if (!(stock_mm > -HUGE_VAL))
                continue;
            if (hollows && good_mm && (double)good_mm[i] > target_mm - job->finish.flatness_mm)
                may_mm = target_mm;
            if (stock_mm < may_mm - JUDGE_BELOW_MM || stock_mm > target_mm + job->finish.flatness_mm ||
                (good_mm && fabs(stock_mm - (double)good_mm[i]) > job->finish.flatness_mm))
                return false;
        }
    return true;
}

static inline bool judge_same_end(const struct tw_job *job, const struct judge_path *path,
                                  const struct judge_state *norm, const struct judge_part *part)
{
    const struct tw_rs274_modes *wanted = &norm->at_end, *found = &path->result.modes;
    double up_mm = job->machine.up.sign * job->fixture.stations[job->parts - 1].up_mm;

    return path->ended_by_code && path->before_end.spindle == TW_RS274_SPINDLE_OFF && !path->before_end.mist &&
           !path->before_end.flood && found->work_system == wanted->work_system && found->inch == wanted->inch &&
           found->incremental == wanted->incremental && found->inverse_time == wanted->inverse_time &&
           found->plane == wanted->plane && found->path == wanted->path && found->overrides == wanted->overrides &&
           found->tool == wanted->tool && path->at_mm[2] - up_mm > part->top_mm;
}

/* ---- verdicts ---- */

static inline struct judge_state judge_state_of(const struct tw_job *job, const struct judge_path *path, double top_mm)
{
    double up_mm = job->machine.up.sign * job->fixture.stations[0].up_mm;
    struct judge_state state = { .at_end = path->result.modes };

    for (size_t i = 0; i < path->count; i++)
        if (!path->motions[i].rapid && fmin(path->motions[i].from_mm[2], path->motions[i].to_mm[2]) - up_mm < top_mm) {
            state.at_work = path->motions[i].modes;
            /* More than the spindle needs to come up to speed is the program's own affair. */
            state.waited_s = fmin(path->motions[i].waited_s, job->machine.spindle_up_to_speed_s);
            break;
        }
    return state;
}

/* Runs one program; with `learn` its states become the norm's. */
static inline bool judge_run(const struct tw_job *whole, const struct judge_cards *cards, size_t card, int station,
                             struct judge_state *norm, bool learn, struct judge_part *part)
{
    struct tw_job job = *whole;
    struct judge_path path;
    bool good;

    job.wheel = *tw_scope_wheel(whole, cards->cards[card].scope);
    judge_read(&job, cards->side, cards->cards[card].text, cards->cards[card].length, &path);
    if (learn)
        *norm = judge_state_of(&job, &path, part->tang.stock_high_mm);
    good = path.read && judge_drive(&job, &path, station, norm, part) && judge_same_end(&job, &path, norm, part);
    free(path.motions);
    return good;
}

static inline bool judge_hollows(const struct judge_cards *cards)
{
    for (size_t i = 0; i < cards->count; i++)
        if (cards->cards[i].scope == TW_SCOPE_RELIEF)
            return true;
    return false;
}

/* Learns what a side's good programs do. False: they are not good by this judge's own lights. */
static inline bool judge_learn(const struct tw_job *job, const struct judge_cards *cards, double cell_mm,
                               struct judge_norm *out)
{
    struct judge_part part;
    bool good = true;

    *out = (struct judge_norm){ 0 };
    judge_part_open(job, cards->side, cell_mm, &part);
    for (size_t i = 0; i < cards->count; i++)
        good = judge_run(job, cards, i, job->parts - 1, &out->states[i], true, &part) && good;
    good = good && judge_surface(job, &part, judge_hollows(cards), NULL);
    out->cells = (size_t)part.tang.columns * (size_t)part.tang.rows;
    out->surface_mm = malloc(out->cells * sizeof *out->surface_mm);
    if (!out->surface_mm)
        abort();
    memcpy(out->surface_mm, part.tang.stock_mm, out->cells * sizeof *out->surface_mm);
    judge_part_close(&part);
    return good;
}

/* `job` may be another one than the norm was learned from: then the face counts against that job's target alone. */
static inline bool judge_harmless(const struct tw_job *job, bool job_changed, const struct judge_cards *cards,
                                  double cell_mm, const struct judge_norm *norm)
{
    bool harmless = true;

    for (int station = 0; harmless && station < job->parts; station++) {
        struct judge_part part;
        struct judge_state state;

        judge_part_open(job, cards->side, cell_mm, &part);
        for (size_t i = 0; harmless && i < cards->count; i++) {
            state = norm->states[i];
            harmless = judge_run(job, cards, i, station, &state, false, &part);
        }
        harmless = harmless && judge_surface(job, &part, judge_hollows(cards), job_changed ? NULL : norm->surface_mm);
        judge_part_close(&part);
    }
    return harmless;
}

#endif
