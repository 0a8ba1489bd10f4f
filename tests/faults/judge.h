/* judge.h - is a damaged program harmless? Told from what it does to a blank by a reader and a removal of its own (reading.h,
 * cutting.h): nothing of the dry-run is asked, nor shared with it but the job as it was read. A side may take several programs:
 * they are run one after the other.
 *
 * Harmless: it reads to its end; every rapid leaves everything untouched; nothing but the tang's stock is touched;
 * wherever the wheel is down at feed, spindle and coolant are as in the good program; the same face is left within the
 * job's flatness and nowhere more than 2 um below the target; the wheel never goes below the pads' plane; and the same
 * state is left at the end, the wheel up. The wheel starts low beside the part, as nobody promises where it stands.
 * Where the wheel's grinding ratio is known it wears by that, as docs/wheel-state.md says, while a face is finished: by what it takes off
 * all parts, which are driven together. */
#ifndef TANGWRIGHT_TESTS_FAULTS_JUDGE_H
#define TANGWRIGHT_TESTS_FAULTS_JUDGE_H

#include "cutting.h"
#include "reading.h"
#include "tangwright/relief.h"
#include "tangwright/taper.h"

#define JUDGE_BELOW_MM        0.002
#define JUDGE_TOUCH_MM        1e-5 /* heights are kept as floats */
#define JUDGE_FIXTURE_CELL_MM 0.5
#define JUDGE_MARGIN_MM       1.0
#define JUDGE_CARDS_MOST      4
#define JUDGE_BODIES_MOST     3

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
        struct reading_modes at_work; /* when the wheel is first down at feed */
        double waited_s;
        struct reading_modes at_end;
    } states[JUDGE_CARDS_MOST];
    float
        *surface_mm; /* of the last part: all are ground alike, but for the steps by which a program follows the wear */
    size_t cells;
};

/* ---- the path ---- */

static inline int judge_index(const struct tw_axis *axis)
{
    return axis->letter - 'X';
}

/* Along, across and up from the machine's zero. */
static inline void judge_table(const struct tw_machine *machine, const double machine_mm[3], double out_mm[3])
{
    const struct tw_axis *axes[3] = { &machine->along, &machine->across, &machine->up };

    for (int k = 0; k < 3; k++)
        out_mm[k] = axes[k]->sign * machine_mm[judge_index(axes[k])];
}

/* Low beside the butt of the first part, where no keep-out of the samples stands. */
static inline void judge_start(const struct tw_job *job, double start_mm[3])
{
    const struct tw_station *station = &job->fixture.stations[0];
    double beside_mm = job->taper.length_mm + 2.0 * job->wheel.diameter_mm;

    start_mm[judge_index(&job->machine.along)] = station->along_mm + job->machine.along.sign * beside_mm;
    start_mm[judge_index(&job->machine.across)] = station->across_mm + job->machine.across.sign * 0.123;
    start_mm[judge_index(&job->machine.up)] = station->up_mm + job->machine.up.sign * job->taper.butt_mm / 2.0;
}

/* Zero may be the pad or the ricasso's upper face. */
static inline bool judge_read(const struct tw_job *job, enum tw_side side, const struct judge_card *card,
                              struct reading *out)
{
    double zero_mm = tw_face_of(job, side).zero_mm;

    *out = (struct reading){ 0 };
    reading_set_dwell(out, &job->machine.dialect);
    judge_start(job, out->at_mm);
    for (size_t i = 0; i < job->fixture.station_count; i++) {
        const struct tw_station *station = &job->fixture.stations[i];
        double *origin_mm = out->origins_mm[station->work_offset - 1];

        origin_mm[judge_index(&job->machine.along)] = station->along_mm;
        origin_mm[judge_index(&job->machine.across)] = station->across_mm;
        origin_mm[judge_index(&job->machine.up)] = station->up_mm + job->machine.up.sign * zero_mm;
    }
    return reading_text(out, card->text, card->length);
}

/* ---- the part ---- */

struct judge_part {
    struct cutting_grid tang, fixture;
    struct tw_face face;
    double top_mm;   /* of everything there is */
    double stock_mm; /* of the tang, when the program in hand begins */
};

static inline double judge_top_mm(const void *face, double x_mm)
{
    return tw_face_top_mm(face, x_mm);
}

/* The blade may be rubbed by as much as the face may be missed. */
static inline double judge_blade_mm(const void *face, double x_mm)
{
    return tw_face_top_mm(face, x_mm) - JUDGE_BELOW_MM;
}

static inline double judge_even_mm(const void *height_mm, double x_mm)
{
    (void)x_mm;
    return *(const double *)height_mm;
}

static inline void judge_raise(struct cutting_grid *grid, const struct tw_outline *outline,
                               double (*height)(const void *context, double x_mm), const void *context)
{
    struct tw_ring rings[64];
    size_t count = 0;

    if (outline->outer.count == 0)
        return;
    rings[count++] = outline->outer;
    for (size_t i = 0; i < outline->hole_count && count < 64; i++)
        rings[count++] = outline->holes[i];
    cutting_raise(grid, rings, count, height, context);
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

static inline void judge_grid(const double low_mm[2], const double high_mm[2], double cell_mm, struct cutting_grid *out)
{
    cutting_open(low_mm[0] - JUDGE_MARGIN_MM, low_mm[1] - JUDGE_MARGIN_MM, high_mm[0] + JUDGE_MARGIN_MM,
                 high_mm[1] + JUDGE_MARGIN_MM, cell_mm, out);
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

static inline double judge_highest_mm(const struct cutting_grid *grid)
{
    double high_mm = -HUGE_VAL;

    for (size_t i = 0; i < (size_t)grid->columns * (size_t)grid->rows; i++)
        high_mm = fmax(high_mm, (double)grid->high_mm[i]);
    return high_mm;
}

static inline void judge_part_open(const struct tw_job *job, enum tw_side side, double cell_mm, struct judge_part *out)
{
    struct tw_outline tang, blade;
    double low_mm[2] = { HUGE_VAL, HUGE_VAL }, high_mm[2] = { -HUGE_VAL, -HUGE_VAL };

    out->face = tw_face_of(job, side);
    if (tw_face_outline(&out->face, &job->part.tang, &tang, NULL) != TW_OK ||
        tw_face_outline(&out->face, &job->part.blade, &blade, NULL) != TW_OK)
        abort();
    if (blade.outer.count == 0)
        judge_assume_blade(&tang, &out->face, &blade);
    judge_reach(&tang.outer, low_mm, high_mm);
    judge_grid(low_mm, high_mm, cell_mm, &out->tang);
    judge_raise(&out->tang, &tang, judge_top_mm, &out->face);
    judge_reach(&blade.outer, low_mm, high_mm);
    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        judge_reach(&job->fixture.keep_outs[i].plan, low_mm, high_mm);
    judge_grid(low_mm, high_mm, JUDGE_FIXTURE_CELL_MM, &out->fixture);
    judge_raise(&out->fixture, &blade, judge_blade_mm, &out->face);
    for (size_t i = 0; i < job->fixture.keep_out_count; i++) {
        enum tw_in_place sides = job->fixture.keep_outs[i].sides;

        if (sides != TW_IN_PLACE_BOTH && (sides == TW_IN_PLACE_A) != (side == TW_SIDE_A))
            continue; /* it stands there with the other side up only */
        cutting_raise(&out->fixture, &job->fixture.keep_outs[i].plan, 1, judge_even_mm,
                      &job->fixture.keep_outs[i].top_mm);
    }
    cutting_refresh(&out->tang);
    cutting_refresh(&out->fixture);
    out->top_mm = fmax(judge_highest_mm(&out->tang), judge_highest_mm(&out->fixture));
    tw_outline_free(&tang);
    tw_outline_free(&blade);
}

static inline void judge_part_close(struct judge_part *part)
{
    cutting_close(&part->tang);
    cutting_close(&part->fixture);
}

/* As many as a fixture has stations. */
#define JUDGE_PARTS_MOST 9

/* All parts of a program, which share one wheel. */
struct judge_parts {
    struct judge_part items[JUDGE_PARTS_MOST];
    int count;
};

static inline void judge_parts_open(const struct tw_job *job, enum tw_side side, double cell_mm,
                                    struct judge_parts *out)
{
    for (out->count = 0; out->count < job->parts; out->count++)
        judge_part_open(job, side, cell_mm, &out->items[out->count]);
}

static inline void judge_parts_close(struct judge_parts *parts)
{
    for (int part = 0; part < parts->count; part++)
        judge_part_close(&parts->items[part]);
}

/* ---- the wheel ---- */

/* Rim or width first, then what must not touch anything: the roof of a cup's hollow, three quarters up, and the spindle's nose. */
static inline int judge_wheel(const struct tw_job *job, struct cutting_body out[JUDGE_BODIES_MOST])
{
    const struct tw_wheel *wheel = &job->wheel;
    double radius_mm = wheel->diameter_mm / 2.0, nose_mm = job->machine.spindle_nose_diameter_mm / 2.0;
    double inner_mm = fmax(0.0, radius_mm - wheel->rim_width_mm);
    int count = 0;

    if (wheel->kind == TW_WHEEL_DISC) {
        out[count++] = (struct cutting_body){
            true, true, 0.0, radius_mm, radius_mm, -wheel->width_mm / 2.0, wheel->width_mm / 2.0
        };
        out[count++] = (struct cutting_body){ true, false, 0.0, nose_mm, radius_mm, wheel->width_mm / 2.0, 1e4 };
        return count;
    }
    out[count++] = (struct cutting_body){ .cuts = true, .inner_mm = inner_mm, .radius_mm = radius_mm };
    out[count++] = (struct cutting_body){ .radius_mm = inner_mm, .at_mm = 0.75 * wheel->width_mm };
    if (job->machine.wheel_overhang_mm > 0.0)
        out[count++] = (struct cutting_body){ .radius_mm = nose_mm, .at_mm = job->machine.wheel_overhang_mm };
    return count;
}

/* Steel that costs the wheel a millimetre: docs/wheel-state.md. 0: not known. */
static inline double judge_lasts_mm2(const struct tw_job *job, const struct tw_face *face)
{
    const struct tw_wheel *wheel = &job->wheel;
    bool alumina = wheel->abrasive == TW_ABRASIVE_ALUMINA;
    double dry = alumina ? 0.4 : 0.25, ratio = wheel->grinding_ratio, ring_mm = wheel->rim_width_mm;
    double low_mm[2] = { HUGE_VAL, HUGE_VAL }, high_mm[2] = { -HUGE_VAL, -HUGE_VAL }, pi = acos(-1.0);

    ratio *= job->coolant.kind == TW_COOLANT_DRY ? dry : job->coolant.kind == TW_COOLANT_MIST ? sqrt(dry) : 1.0;
    if (alumina && job->steel.wheel_wear > 0.0)
        ratio /= job->steel.wheel_wear;
    judge_reach(&job->part.tang.outer, low_mm, high_mm);
    if (wheel->kind == TW_WHEEL_DISC)
        return ratio * pi * wheel->diameter_mm * fmin(wheel->width_mm, high_mm[1] - low_mm[1]);
    if (job->mount == TW_MOUNT_LEVEL)
        ring_mm = fmin(ring_mm, wheel->max_infeed_mm / (tw_face_height_mm(face, 0.0) - tw_face_height_mm(face, 1.0)));
    return ratio * pi * (wheel->diameter_mm - ring_mm) * ring_mm;
}

/* ---- the run ---- */

static inline bool judge_same_state(const struct judge_state *norm, const struct reading_motion *motion)
{
    const struct reading_modes *wanted = &norm->at_work, *found = &motion->modes;

    return found->spindle == wanted->spindle && found->flood == wanted->flood && found->mist == wanted->mist &&
           fabs(found->rpm - wanted->rpm) <= 0.02 * wanted->rpm && motion->waited_s >= 0.999 * norm->waited_s;
}

/* One motion over tang and fixture: nothing but stock is met, and that by the wheel at feed alone. */
static inline bool judge_move(const struct cutting_body *bodies, int count, const double from_mm[3],
                              const double to_mm[3], bool rapid, struct judge_part *part, double *volume_mm3)
{
    for (int i = 0; i < count; i++) {
        bool cuts = bodies[i].cuts && !rapid;
        struct cutting_found tang = cutting_drive(&part->tang, &bodies[i], from_mm, to_mm, cuts);

        *volume_mm3 += tang.volume_mm3;
        if ((!cuts && tang.depth_mm > JUDGE_TOUCH_MM) ||
            cutting_drive(&part->fixture, &bodies[i], from_mm, to_mm, false).depth_mm > JUDGE_TOUCH_MM)
            return false;
    }
    return true;
}

/* One motion as it goes over one part, by a wheel that has lost worn_mm. */
static inline bool judge_motion(const struct tw_job *job, const struct reading_motion *motion, int station,
                                double worn_mm, bool first, const struct judge_state *norm, struct judge_part *part,
                                double *volume_mm3)
{
    const struct tw_station *at = &job->fixture.stations[station];
    const double origin_mm[3] = { job->machine.along.sign * at->along_mm, job->machine.across.sign * at->across_mm,
                                  job->machine.up.sign * at->up_mm };
    struct cutting_body bodies[JUDGE_BODIES_MOST];
    int count = judge_wheel(job, bodies);
    double from_mm[3], to_mm[3];

    judge_table(&job->machine, motion->from_mm, from_mm);
    judge_table(&job->machine, motion->to_mm, to_mm);
    for (int k = 0; k < 3; k++) {
        from_mm[k] += (k == 2 ? worn_mm : 0.0) - origin_mm[k];
        to_mm[k] += (k == 2 ? worn_mm : 0.0) - origin_mm[k];
    }
    if (fmin(from_mm[2], to_mm[2]) < 0.0 && !first) /* where it stands at the start is nobody's fault */
        return false;
    if (norm && !motion->rapid && fmin(from_mm[2], to_mm[2]) < part->stock_mm && !judge_same_state(norm, motion))
        return false;
    return judge_move(bodies, count, from_mm, to_mm, motion->rapid, part, volume_mm3);
}

/* Drives the path over all parts at once: what one of them takes off the wheel is gone for all. `norm` NULL: the good program itself,
 * whose states are not looked at. */
static inline bool judge_drive(const struct tw_job *job, const struct reading *path, bool wears,
                               const struct judge_state *norm, struct judge_parts *parts)
{
    double lasts_mm2 = wears ? judge_lasts_mm2(job, &parts->items[0].face) : 0.0, volume_mm3 = 0.0;
    bool good = true;

    for (int part = 0; part < parts->count; part++)
        parts->items[part].stock_mm = judge_highest_mm(&parts->items[part].tang);
    for (size_t i = 0; good && i < path->count; i++) {
        double worn_mm = lasts_mm2 > 0.0 ? volume_mm3 / lasts_mm2 : 0.0;

        for (int part = 0; good && part < parts->count; part++)
            good = judge_motion(job, &path->motions[i], part, worn_mm, i == 0, norm, &parts->items[part], &volume_mm3);
    }
    return good;
}

/* The face against the target, and against the one the good programs leave. Where those have hollowed it, a relief may be;
 * before they are known, anywhere. */
static inline bool judge_surface(const struct tw_job *job, const struct judge_part *part, bool hollows,
                                 const float *good_mm)
{
    const struct cutting_grid *grid = &part->tang;

    for (int row = 0; row < grid->rows; row++)
        for (int column = 0; column < grid->columns; column++) {
            size_t i = (size_t)row * (size_t)grid->columns + (size_t)column;
            double x_mm = grid->x_mm + (column + 0.5) * grid->cell_mm, stock_mm = (double)grid->high_mm[i];
            double target_mm = fmin(tw_face_height_mm(&part->face, x_mm), tw_face_top_mm(&part->face, x_mm));
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

/* What an end by M2 or M30 leaves as it is, and what it must not be left to. */
static inline bool judge_same_end(const struct tw_job *job, const struct reading *path, const struct judge_state *norm,
                                  double top_mm)
{
    const struct reading_modes *wanted = &norm->at_end, *found = &path->modes;
    double up_mm = job->machine.up.sign * job->fixture.stations[job->parts - 1].up_mm, at_mm[3];

    judge_table(&job->machine, path->at_mm, at_mm);
    return path->ended && found->spindle == 5 && !found->mist && !found->flood &&
           found->inch == job->machine.dialect.inch && found->path == wanted->path && at_mm[2] - up_mm > top_mm;
}

/* ---- verdicts ---- */

static inline struct judge_state judge_state_of(const struct tw_job *job, const struct reading *path, double top_mm)
{
    double up_mm = job->machine.up.sign * job->fixture.stations[0].up_mm;
    struct judge_state state = { .at_end = path->modes };

    for (size_t i = 0; i < path->count; i++) {
        double from_mm[3], to_mm[3];

        judge_table(&job->machine, path->motions[i].from_mm, from_mm);
        judge_table(&job->machine, path->motions[i].to_mm, to_mm);
        if (path->motions[i].rapid || fmin(from_mm[2], to_mm[2]) - up_mm >= top_mm)
            continue;
        state.at_work = path->motions[i].modes;
        /* More than the spindle needs to come up to speed is the program's own affair. */
        state.waited_s = fmin(path->motions[i].waited_s, job->machine.spindle_up_to_speed_s);
        break;
    }
    return state;
}

/* Runs one program; with `learn` its states become the norm's. */
static inline bool judge_run(const struct tw_job *whole, const struct judge_cards *cards, size_t card,
                             struct judge_state *norm, bool learn, struct judge_parts *parts)
{
    struct tw_job job = *whole;
    enum tw_scope scope = cards->cards[card].scope;
    bool good, wears = scope == TW_SCOPE_WHOLE || scope == TW_SCOPE_FINISH;
    struct reading path;

    job.wheel = *tw_scope_wheel(whole, scope);
    good = judge_read(&job, cards->side, &cards->cards[card], &path);
    if (learn)
        *norm = judge_state_of(&job, &path, judge_highest_mm(&parts->items[0].tang));
    good = good && judge_drive(&job, &path, wears, norm, parts) &&
           judge_same_end(&job, &path, norm, parts->items[0].top_mm);
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

static inline bool judge_surfaces(const struct tw_job *job, const struct judge_parts *parts, bool hollows,
                                  const float *good_mm)
{
    for (int part = 0; part < parts->count; part++)
        if (!judge_surface(job, &parts->items[part], hollows, good_mm))
            return false;
    return true;
}

/* Learns what a side's good programs do. False: they are not good by this judge's own lights. */
static inline bool judge_learn(const struct tw_job *job, const struct judge_cards *cards, double cell_mm,
                               struct judge_norm *out)
{
    struct judge_parts parts;
    const struct cutting_grid *tang;
    bool good = true;

    judge_parts_open(job, cards->side, cell_mm, &parts);
    for (size_t i = 0; i < cards->count; i++)
        good = judge_run(job, cards, i, &out->states[i], true, &parts) && good;
    good = good && judge_surfaces(job, &parts, judge_hollows(cards), NULL);
    tang = &parts.items[parts.count - 1].tang;
    out->cells = (size_t)tang->columns * (size_t)tang->rows;
    out->surface_mm = malloc(out->cells * sizeof *out->surface_mm);
    if (!out->surface_mm)
        abort();
    memcpy(out->surface_mm, tang->high_mm, out->cells * sizeof *out->surface_mm);
    judge_parts_close(&parts);
    return good;
}

/* `job` may be another one than the norm was learned from: then the face counts against that job's target alone. */
static inline bool judge_harmless(const struct tw_job *job, bool job_changed, const struct judge_cards *cards,
                                  double cell_mm, const struct judge_norm *norm)
{
    struct judge_parts parts;
    bool harmless = true;

    judge_parts_open(job, cards->side, cell_mm, &parts);
    for (size_t i = 0; harmless && i < cards->count; i++) {
        struct judge_state state = norm->states[i];

        harmless = judge_run(job, cards, i, &state, false, &parts);
    }
    harmless = harmless && judge_surfaces(job, &parts, judge_hollows(cards), job_changed ? NULL : norm->surface_mm);
    judge_parts_close(&parts);
    return harmless;
}

#endif
