/* optimum.c - how far the planner's schedule is from the best that a far wider search finds. Slow; run by itself.
 *
 *     optimum JOB...
 *
 * What is searched, for each side and each way of travel that is possible there:
 *
 *   Without a thought for the tang's warmth, everything: dynamic programming over the stock that remains, in whole infeed
 *   steps, and the finishing layers still to come. Every depth in whole steps, down to the wheel's smallest infeed (the top
 *   layer: any), finishing layers up to their own infeed; for each the fastest of SPEEDS table speeds that keeps all limits
 *   at the width that this very layer's first lane, and its later lanes, meet (a slower one only takes longer). Overtravel
 *   of a disc by the layer's own depth. What a pass takes besides its lane (turns, infeed, lifting) is the mean over the
 *   planner's own program in that way of travel. Waits can only add to this: the least of it is a bound for all schedules
 *   of this kind.
 *
 *   With the tang's warmth, which waits are needed depends on all that went before, and no table of states holds it. Where
 *   the schedule above needs no wait it is the optimum. Else coordinate descent from several starts: the program is
 *   divided into SEGMENTS by depth, each with its own allowance for warmth (so many K of bulk that its cuts leave room
 *   for), for each set of allowances the program above is solved anew, strung together and run through the thermal model
 *   with its waits; allowances are changed one by one as long as that helps.
 *
 * Not searched: other orders of lanes in a layer than from one side to the other, ways of travel changing within a side,
 * and going from station to station before a part is done. */
#include "bench.h"

#include "tangwright/contacts.h"
#include "plan/ways/cover.h"
#include "plan/cuts/cut.h"
#include "plan/ways/path.h"
#include "plan/search/schedule.h"
#include "plan/ways/string.h"
#include "plan/search/warmth.h"
#include "tangwright/motion.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SPEEDS           400
#define SEGMENTS         5
#define MOST_FINISH      9
#define ALLOWANCE_STEP_K 4
#define ALLOWANCES       26 /* 0 to 100 K */

/* Widest engagement that depth and speed allow; 0: too hot. One for each allowance, filled when first asked for. */
struct widths {
    double *mm; /* [depth * SPEEDS + speed]; NULL: not yet */
};

struct search {
    const struct sample *sample;
    enum tw_side side;
    struct tw_geos geos;
    struct tw_scene scene;
    struct tw_cut_limits limits;
    struct tw_warmth *warmth;
    double speeds[SPEEDS]; /* fastest first */
    struct widths widths[ALLOWANCES];
    long steps, deepest, shallowest, finish_deepest; /* stock; depths; in infeed steps */
    double step_mm, deepest_mm;

    /* of the way of travel in hand */
    struct tw_lane_rule rule; /* crossfeed as the planner chose it, in all layers */
    enum tw_travel_style style;
    struct tw_cover *covers; /* of each bottom, in steps; passes < 0: not yet laid */
    double pass_s;           /* of a pass besides its lane */

    int evaluations;
};

/* One layer of a schedule. */
struct choice {
    long bottom, depth;
    double first_mm_per_s, later_mm_per_s;
    bool finish;
};

struct schedule {
    struct choice *layers; /* from the face upwards */
    size_t count;
    double time_s; /* as reckoned */
};

static void *must_have(void *memory)
{
    if (!memory)
        bench_must(TW_NO_MEMORY, "memory", NULL);
    return memory;
}

/* ---- what is allowed ---- */

static const double *widths_for(struct search *search, int allowance)
{
    struct widths *widths = &search->widths[allowance];
    struct tw_cut_limits limits = search->limits;

    if (widths->mm)
        return widths->mm;
    widths->mm = must_have(calloc((size_t)(search->deepest + 1) * SPEEDS, sizeof *widths->mm));
    limits.bulk_K = allowance * ALLOWANCE_STEP_K;
    for (long d = 1; d <= search->deepest; d++) {
        for (int i = 0; i < SPEEDS; i++) {
            struct tw_cut cut;

            bench_must(tw_cut_estimate(&search->sample->job, &limits, (double)d * search->step_mm, search->speeds[i],
                                       1.0, &cut, search->scene.findings),
                       "an estimate", search->scene.findings);
            if (tw_cut_is_cool(&cut, &limits))
                widths->mm[d * SPEEDS + i] = fmin(limits.power_W / cut.power_W, limits.force_N / cut.force_N);
        }
    }
    return widths->mm;
}

/* Fastest speed for so much width; 0: none. */
static double fastest(const struct search *search, const double *widths_mm, long depth, double width_mm)
{
    for (int i = 0; i < SPEEDS; i++)
        if (widths_mm[depth * SPEEDS + i] >= width_mm)
            return search->speeds[i];
    return 0.0;
}

/* ---- what a layer takes ---- */

static const struct tw_cover *cover_at(struct search *search, long bottom)
{
    struct tw_cover *cover = &search->covers[bottom];

    if (cover->passes < 0)
        bench_must(tw_cover_lay(&search->scene, search->style, search->rule, (double)bottom * search->step_mm,
                                search->deepest_mm, cover),
                   "a layer", search->scene.findings);
    return cover;
}

/* By how much shorter a disc's lanes are than laid when the layer is less deep. */
static double shorter_mm(const struct search *search, long depth)
{
    double radius_mm = search->scene.radius_mm;

    if (search->sample->job.wheel.kind == TW_WHEEL_CUP)
        return 0.0;
    return sqrt(2.0 * radius_mm * search->deepest_mm) - sqrt(2.0 * radius_mm * (double)depth * search->step_mm);
}

static double lane_s(const struct search *search, const struct tw_lane *lane, long depth, double speed)
{
    const struct tw_machine *machine = &search->sample->job.machine;
    double shorter = shorter_mm(search, depth), along[3] = { 0.0, 0.0, 0.0 };

    if (search->style == TW_STYLE_BOTH_WAYS) {
        along[0] = lane->back_off_mm - shorter - lane->front_off_mm;
        return tw_motion_feed_time_s(machine, along, speed);
    }
    along[0] = search->style == TW_STYLE_FROM_BUTT ? lane->back_off_mm - shorter - lane->front_end_mm
                                                   : lane->back_end_mm - shorter - lane->front_off_mm;
    return tw_motion_feed_time_s(machine, along, speed) + tw_motion_rapid_time_s(machine, along);
}

/* A loop's corners: as the planner reckons them. */
static double loops_s(const struct search *search, const struct tw_cover *cover, double speed)
{
    return tw_cover_time_s(&search->scene, cover, speed, speed);
}

/* Time of one layer at its fastest, and the choice it is; infinite when not allowed. */
static double layer_s(struct search *search, const int *allowances, long bottom, long depth, struct choice *out)
{
    const struct tw_cover *cover = cover_at(search, bottom);
    const double *widths = widths_for(search, allowances[bottom * SEGMENTS / (search->steps + 1)]);
    double depth_mm = (double)depth * search->step_mm;
    struct tw_engagement first = tw_lanes_first(&search->scene, search->rule);
    struct tw_engagement later = tw_lanes_later(&search->scene, search->rule);
    double first_mm = fmin(tw_engaged_mm(&first, depth_mm), cover->engaged_mm);
    double later_mm = fmin(tw_engaged_mm(&later, depth_mm), first_mm), s = cover->passes * search->pass_s;

    *out = (struct choice){ .bottom = bottom, .depth = depth };
    out->first_mm_per_s = fastest(search, widths, depth, first_mm);
    if (out->first_mm_per_s <= 0.0)
        return HUGE_VAL;
    out->later_mm_per_s = fmax(out->first_mm_per_s, fastest(search, widths, depth, later_mm));
    if (cover->lane_count == 0)
        return s + loops_s(search, cover, out->first_mm_per_s);
    for (size_t i = 0; i < cover->lane_count; i++)
        s += lane_s(search, &cover->lanes[i], depth, i == 0 ? out->first_mm_per_s : out->later_mm_per_s);
    return s;
}

/* ---- dynamic programming over the remaining stock ---- */

struct state {
    double s;
    struct choice choice;
};

/* Least time for all above `bottom` from each bottom on, nothing but roughing. */
static void rough_states(struct search *search, const int *allowances, struct state *states)
{
    for (long bottom = search->steps - 1; bottom >= 0; bottom--) {
        struct state *best = &states[bottom];

        *best = (struct state){ .s = HUGE_VAL };
        for (long depth = 1; depth <= search->deepest && bottom + depth <= search->steps; depth++) {
            struct choice choice;
            double s;

            if (depth < search->shallowest && bottom + depth < search->steps)
                continue;
            s = layer_s(search, allowances, bottom, depth, &choice) + states[bottom + depth].s;
            if (s < best->s)
                *best = (struct state){ s, choice };
        }
    }
}

/* As many as the plan that is compared. */
static int spark_outs(const struct search *search)
{
    return bench_whole(search->sample, search->side)->spring_back.spark_outs;
}

static double finish_from(struct search *search, const int *allowances, const struct state *rough, int left,
                          long bottom, struct choice *path)
{
    double best = HUGE_VAL;
    int spark_out = left == search->sample->job.finish.layers ? spark_outs(search) : 0;

    if (left == 0 || bottom >= search->steps)
        return rough[bottom].s;
    for (long depth = search->shallowest; depth <= search->finish_deepest; depth++) {
        struct choice rest[MOST_FINISH], choice;
        double s = layer_s(search, allowances, bottom, depth, &choice) * (1 + spark_out);

        if (s == HUGE_VAL || bottom + depth > search->steps)
            continue;
        s += finish_from(search, allowances, rough, left - 1, bottom + depth, rest);
        if (s < best) {
            best = s;
            choice.finish = true;
            path[0] = choice;
            memcpy(path + 1, rest, (size_t)(left - 1) * sizeof *rest);
        }
    }
    return best;
}

static struct schedule solve(struct search *search, const int *allowances)
{
    struct state *rough = must_have(calloc((size_t)search->steps + 1, sizeof *rough));
    struct choice finish[MOST_FINISH];
    struct schedule out = { must_have(calloc((size_t)search->steps + MOST_FINISH, sizeof *out.layers)), 0, 0.0 };
    int layers = search->sample->job.finish.layers;
    long bottom = 0;

    rough_states(search, allowances, rough);
    out.time_s = finish_from(search, allowances, rough, layers, 0, finish);
    for (int i = 0; out.time_s < HUGE_VAL && i < layers && bottom < search->steps; i++) {
        out.layers[out.count++] = finish[i];
        bottom += finish[i].depth;
    }
    for (; out.time_s < HUGE_VAL && bottom < search->steps; bottom += rough[bottom].choice.depth)
        out.layers[out.count++] = rough[bottom].choice;
    free(rough);
    return out;
}

/* ---- a schedule as a program ---- */

static void copy_cover(struct search *search, const struct choice *choice, struct tw_cover *out)
{
    *out = *cover_at(search, choice->bottom);
    if (out->lane_count == 0)
        return;
    out->lanes = must_have(malloc(out->lane_count * sizeof *out->lanes));
    memcpy(out->lanes, cover_at(search, choice->bottom)->lanes, out->lane_count * sizeof *out->lanes);
    for (size_t i = 0; i < out->lane_count; i++) {
        out->lanes[i].back_off_mm -= shorter_mm(search, choice->depth);
        if (!out->lanes[i].back_obstacle)
            out->lanes[i].back_end_mm = out->lanes[i].back_off_mm;
    }
}

static struct tw_layer layer_of(struct search *search, const struct choice *choice, bool spark_out)
{
    struct tw_cut cut;

    bench_must(tw_cut_estimate(&search->sample->job, &search->limits, (double)choice->depth * search->step_mm,
                               choice->first_mm_per_s, 1.0, &cut, search->scene.findings),
               "an estimate", search->scene.findings);
    return (struct tw_layer){ .kind = spark_out        ? TW_LAYER_SPARK_OUT
                                      : choice->finish ? TW_LAYER_FINISH
                                                       : TW_LAYER_ROUGH,
                              .bottom_mm = (double)choice->bottom * search->step_mm,
                              .depth_mm = spark_out ? 0.0 : cut.depth_mm,
                              .table_mm_per_s = choice->first_mm_per_s,
                              .later_mm_per_s = choice->later_mm_per_s,
                              .flash_limit_degC = cut.flash_limit_degC };
}

/* Strung together; its time, and with `warm` that with waits (infinite when waiting does not help). */
static double program_s(struct search *search, const struct schedule *schedule, bool warm)
{
    int spark_out = spark_outs(search);
    struct tw_setup_plan plan = { .face = search->scene.face, .style = search->style };
    struct tw_cover *covers = must_have(calloc(schedule->count, sizeof *covers));
    struct tw_findings ignored = { 0 }, *findings = search->scene.findings;
    enum tw_status status;
    double s;

    plan.layers = must_have(calloc(schedule->count + (size_t)spark_out, sizeof *plan.layers));
    for (size_t i = 0; i < schedule->count; i++) {
        copy_cover(search, &schedule->layers[schedule->count - 1 - i], &covers[i]);
        plan.layers[plan.layer_count++] = layer_of(search, &schedule->layers[schedule->count - 1 - i], false);
    }
    for (int i = 0; i < spark_out; i++)
        plan.layers[plan.layer_count++] = layer_of(search, &schedule->layers[0], true);
    bench_must(tw_string_covers(&search->scene, covers, schedule->count, &plan), "a program", findings);
    search->scene.findings = &ignored;
    status = warm ? tw_warmth_run(search->warmth, &search->scene, &search->limits, HUGE_VAL, &plan) : TW_OK;
    search->scene.findings = findings;
    tw_findings_free(&ignored);
    s = status == TW_OK ? plan.part_time_s : HUGE_VAL;
    for (size_t i = 0; i < schedule->count; i++)
        if (covers[i].lane_count > 0)
            free(covers[i].lanes);
    free(covers);
    free(plan.layers);
    free(plan.moves);
    return s;
}

static double evaluate(struct search *search, const int *allowances)
{
    struct schedule schedule = solve(search, allowances);
    double s = schedule.time_s < HUGE_VAL ? program_s(search, &schedule, true) : HUGE_VAL;

    search->evaluations++;
    free(schedule.layers);
    return s;
}

/* ---- coordinate descent over the allowances ---- */

static double descend(struct search *search, int *allowances)
{
    static const int changes[] = { 1, -1, 3, -3, 7, -7 };
    double best = evaluate(search, allowances);

    for (bool better = true; better;) {
        better = false;
        for (int k = 0; k < SEGMENTS; k++) {
            for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
                int before = allowances[k], now = before + changes[i];
                double s;

                if (now < 0 || now >= ALLOWANCES)
                    continue;
                allowances[k] = now;
                s = evaluate(search, allowances);
                if (s < best - 0.05) {
                    best = s;
                    better = true;
                } else {
                    allowances[k] = before;
                }
            }
        }
    }
    return best;
}

static double search_warm(struct search *search)
{
    static const int starts[] = { 0, 2, 5, 9, 14, 20 };
    double best = HUGE_VAL;

    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
        int allowances[SEGMENTS];

        for (int k = 0; k < SEGMENTS; k++)
            allowances[k] = starts[i];
        best = fmin(best, descend(search, allowances));
    }
    return best;
}

/* ---- one way of travel ---- */

/* What a pass of the planner's own program takes besides its lanes; negative: this way of travel is not possible. */
static double pass_besides_s(struct search *search)
{
    struct tw_setup_plan plan = { 0 };
    struct tw_findings ignored = { 0 }, *findings = search->scene.findings;
    double besides_s = -1.0, *times_s;
    struct tw_way way = { .style = search->style,
                          .crossfeed_mm = search->rule.crossfeed_mm,
                          .first_widest = search->rule.first_widest };
    struct tw_bulk cool = { { 0.0 } };
    enum tw_status status;

    search->scene.findings = &ignored;
    status = tw_schedule_layout.lay(NULL, &search->scene, &search->limits, &cool, &way, &plan);
    search->scene.findings = findings;
    tw_findings_free(&ignored);
    if (status == TW_OK) {
        times_s = must_have(calloc(plan.move_count, sizeof *times_s));
        bench_must(tw_setup_times(&search->scene.job->machine, &plan, times_s, findings), "times", findings);
        besides_s = 0.0;
        for (size_t i = 1; i < plan.move_count; i++) {
            const struct tw_move *move = &plan.moves[i], *before = move - 1;
            double along[3] = { move->to.x_mm - before->to.x_mm, 0.0, 0.0 };

            if (move->kind == TW_MOVE_DWELL)
                besides_s += move->dwell_s;
            else if (move->role != TW_ROLE_CUT)
                besides_s += times_s[i];
            else if (search->style == TW_STYLE_FROM_BUTT || search->style == TW_STYLE_FROM_RICASSO)
                besides_s -= tw_motion_rapid_time_s(&search->sample->job.machine, along);
            else if (search->style == TW_STYLE_LOOPS)
                besides_s += times_s[i] - tw_motion_feed_time_s(&search->sample->job.machine,
                                                                (double[3]){ move->to.x_mm - before->to.x_mm,
                                                                             move->to.y_mm - before->to.y_mm, 0.0 },
                                                                move->feed_mm_per_s);
        }
        besides_s = fmax(0.0, besides_s) / plan.pass_count;
        free(times_s);
    }
    free(plan.layers);
    free(plan.moves);
    return besides_s;
}

struct found {
    double bound_s; /* without waits */
    double best_s;  /* with the waits that the thermal model asks for */
};

static void search_style(struct search *search, enum tw_travel_style style, struct found *out)
{
    int none[SEGMENTS] = { 0 };
    struct schedule schedule;
    double cold_s, warm_s;

    search->style = style;
    search->pass_s = pass_besides_s(search);
    if (search->pass_s < 0.0)
        return;
    search->covers = must_have(calloc((size_t)search->steps + 1, sizeof *search->covers));
    for (long i = 0; i <= search->steps; i++)
        search->covers[i].passes = -1;
    schedule = solve(search, none);
    cold_s = program_s(search, &schedule, false);
    free(schedule.layers);
    out->bound_s = fmin(out->bound_s, cold_s);
    if (cold_s < out->best_s) {
        warm_s = evaluate(search, none);
        if (warm_s > cold_s + 0.05)
            warm_s = fmin(warm_s, search_warm(search));
        out->best_s = fmin(out->best_s, warm_s);
    }
    for (long i = 0; i <= search->steps; i++)
        if (search->covers[i].passes >= 0)
            tw_cover_free(&search->covers[i]);
    free(search->covers);
}

/* ---- one side ---- */

static void open_search(struct search *search, struct tw_findings *findings)
{
    const struct tw_job *job = &search->sample->job;
    double front_mm, back_mm, slow = job->machine.feed_min_mm_per_s, fast = job->machine.feed_max_mm_per_s;

    bench_must(tw_geos_open(&search->geos, findings), "GEOS", findings);
    bench_must(tw_scene_open(&search->scene, job, search->side, &search->geos, findings), "a scene", findings);
    search->scene.factors = must_have(tw_factors_open(&job->steel));
    search->limits = tw_cut_limits_of(job, search->side, search->sample->plan.wheel_mm_per_s,
                                      tw_holding_N(job, search->side), search->scene.factors);
    bench_must(tw_warmth_open(&search->scene, TW_FINE, &search->warmth), "the heat", findings);
    bench_span(job, &search->scene.face, &front_mm, &back_mm);
    search->step_mm = search->scene.infeed_step_mm;
    search->steps = (long)ceil(tw_face_stock_mm(&search->scene.face, back_mm) / search->step_mm - 1e-3);
    search->deepest = (long)floor(job->wheel.max_infeed_mm / search->step_mm + 1e-6);
    search->finish_deepest =
        (long)floor(fmin(job->finish.infeed_mm, job->wheel.max_infeed_mm) / search->step_mm + 1e-6);
    search->shallowest = (long)fmax(1.0, ceil(job->wheel.min_infeed_mm / search->step_mm - 1e-6));
    search->deepest_mm = (double)search->deepest * search->step_mm;
    for (int i = 0; i < SPEEDS; i++)
        search->speeds[i] =
            tw_representable_feed_mm_per_s(&job->machine, fast * pow(slow / fast, (double)i / (SPEEDS - 1)));
}

static void close_search(struct search *search)
{
    for (int i = 0; i < ALLOWANCES; i++)
        free(search->widths[i].mm);
    tw_warmth_close(search->warmth);
    tw_factors_close(search->scene.factors);
    tw_scene_close(&search->scene);
    tw_geos_close(&search->geos);
}

static void search_side(const struct sample *sample, enum tw_side side)
{
    static const enum tw_travel_style styles[] = { TW_STYLE_BOTH_WAYS, TW_STYLE_FROM_BUTT, TW_STYLE_FROM_RICASSO,
                                                   TW_STYLE_LOOPS };
    const struct tw_setup_plan *plan = &sample->plan.setups[side];
    struct search *search = must_have(calloc(1, sizeof *search));
    struct found found = { HUGE_VAL, HUGE_VAL };
    struct tw_findings findings = { 0 };
    double began = bench_cpu_s();

    search->sample = sample;
    search->side = side;
    open_search(search, &findings);
    /* The planner's own way of travel first: others are then given up sooner. */
    search->rule.crossfeed_mm = plan->crossfeed_mm;
    search->rule.first_widest = plan->first_widest;
    search_style(search, plan->style, &found);
    for (size_t i = 0; i < sizeof styles / sizeof *styles; i++)
        if (styles[i] != plan->style)
            search_style(search, styles[i], &found);
    found.best_s = fmin(found.best_s, plan->part_time_s); /* allowances between the steps are tried there */
    printf("%-14s %4s %10.1f %10.1f %10.1f %10.1f %10.3f %10.3f %8d %8.0f   %s\n", sample->name, side ? "B" : "A",
           plan->part_time_s, plan->dwell_s, found.best_s, found.bound_s, plan->part_time_s / found.best_s,
           plan->part_time_s / found.bound_s, search->evaluations, bench_cpu_s() - began,
           plan->part_time_s <= 1.03 * found.best_s ? "met" : "missed");
    close_search(search);
    tw_findings_free(&findings);
    free(search);
}

int main(int count, char **paths)
{
    struct sample *samples = bench_samples(paths + 1, (size_t)count - 1);

    setvbuf(stdout, NULL, _IOLBF, 0);
    printf(
        "Time of one part, against the best found by a wider search (see tests/bench/optimum.c); aim: within 3 %%\n\n");
    printf("%-14s %4s %10s %10s %10s %10s %10s %10s %8s %8s   %s\n", "job", "side", "planned s", "waits s", "best s",
           "no waits s", "to best", "to bound", "tried", "took s", "aim");
    for (int i = 0; i + 1 < count; i++)
        for (int side = 0; side < 2; side++)
            search_side(&samples[i], (enum tw_side)side);
    bench_samples_free(samples, (size_t)count - 1);
    return 0;
}
