/* time.c - the total time of each sample: against a program by hand, and against what nothing can beat. */
#include "bench.h"
#include "by_hand.h"

#include "tangwright/contacts.h"
#include "plan/ways/cover.h"
#include "plan/cuts/cut.h"
#include "plan/ways/string.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Both sides in one program each: roughing and finishing apart are not compared, a relief's programs are left out. */
static bool comes_whole(const struct sample *sample)
{
    return bench_whole(sample, TW_SIDE_A) && bench_whole(sample, TW_SIDE_B);
}

static double whole_s(const struct sample *sample)
{
    return bench_whole(sample, TW_SIDE_A)->cycle_time_s + bench_whole(sample, TW_SIDE_B)->cycle_time_s;
}

/* ---- against a program by hand ---- */

static void print_by_hand(const struct sample *samples, size_t count)
{
    printf("\nTotal time of both sides, all parts, against a careful hand: of all single depths and table speeds that "
           "keep\n"
           "the same limits, the quickest; customary crossfeed, full lanes in every layer, rapid returns, the same\n"
           "finishing and spark-out; it waits where it must\n\n");
    printf("%-16s %9s %9s %9s %9s %8s %8s %7s   %s\n", "job", "table A", "depth A", "table B", "depth B", "hand",
           "ours", "ratio", "aim");
    printf("%-16s %9s %9s %9s %9s %8s %8s\n", "", "mm/s", "mm", "mm/s", "mm", "s", "s");
    for (size_t i = 0; i < count; i++) {
        const struct sample *s = &samples[i];
        struct by_hand a, b;
        double by_hand_s, ratio, aim = s->job.parts > 1 ? 0.33 : 0.45;

        if (!comes_whole(s))
            continue;
        a = by_hand_of(s, TW_SIDE_A);
        b = by_hand_of(s, TW_SIDE_B);
        by_hand_s = a.cycle_time_s + b.cycle_time_s;
        ratio = whole_s(s) / by_hand_s;
        if (!a.possible || !b.possible) {
            printf("%-16s no single depth keeps the limits at any speed\n", s->name);
            continue;
        }
        printf("%-16s %9.1f %9.4f %9.1f %9.4f %8.0f %8.0f %7.2f   %.2f %s\n", s->name, a.table_mm_per_s, a.depth_mm,
               b.table_mm_per_s, b.depth_mm, by_hand_s, whole_s(s), ratio, aim, ratio <= aim ? "met" : "missed");
    }
}

/* ---- what the time is spent on ---- */

enum { BOUND, SLOWER, FINISHING, OVERTRAVEL, RAMPS, ACROSS, RETURNS, WAITS, FIXED, SHARES };

struct shares {
    double s[SHARES];
};

/* The covers of a plan's layers, laid again. */
struct covers {
    struct tw_cover *items;
    size_t count;
};

/* The lanes of roughing layers alternate, counted from the finished face. */
static struct tw_lane_rule rule_of(const struct tw_setup_plan *plan, size_t layer)
{
    bool ahead = plan->layers[layer].front_mm < plan->face.start_mm;
    size_t above = 0;

    if (plan->layers[layer].kind != TW_LAYER_ROUGH)
        return (struct tw_lane_rule){ .ahead = ahead };
    for (size_t i = layer + 1; i < plan->layer_count; i++)
        above += plan->layers[i].kind != TW_LAYER_SPARK_OUT;
    return (struct tw_lane_rule){ plan->crossfeed_mm, above % 2 == 1, ahead, plan->first_widest };
}

static struct covers lay_again(const struct tw_scene *scene, const struct tw_setup_plan *plan)
{
    struct covers covers = { calloc(plan->layer_count, sizeof *covers.items), plan->layer_count };
    double deepest_mm = 0.0;

    if (!covers.items)
        bench_must(TW_NO_MEMORY, "memory", NULL);
    for (size_t i = 0; i < plan->layer_count; i++)
        deepest_mm = fmax(deepest_mm, plan->layers[i].depth_mm);
    for (size_t i = 0; i < plan->layer_count; i++)
        bench_must(
            tw_cover_lay(scene, plan->style, rule_of(plan, i), plan->layers[i].bottom_mm, deepest_mm, &covers.items[i]),
            "a layer", scene->findings);
    return covers;
}

/* Length over stock of the lane that this move runs along. */
static double over_stock_mm(const struct tw_cover *cover, const struct tw_place3 *to, double length_mm)
{
    const struct tw_lane *best = NULL;

    if (cover->lane_count == 0) {
        double all_mm = 0.0;

        for (size_t i = 1; i < cover->loops.count; i++)
            all_mm += hypot(cover->loops.points[i].x_mm - cover->loops.points[i - 1].x_mm,
                            cover->loops.points[i].y_mm - cover->loops.points[i - 1].y_mm);
        return all_mm > 0.0 ? length_mm * fmin(1.0, cover->stock_mm / all_mm) : 0.0;
    }
    for (size_t i = 0; i < cover->lane_count; i++)
        if (!best || fabs(cover->lanes[i].y_mm - to->y_mm) < fabs(best->y_mm - to->y_mm))
            best = &cover->lanes[i];
    return fmin(length_mm, best->span_back_mm - best->span_front_mm);
}

static void share_out_cut(const struct tw_setup_plan *plan, const struct covers *covers, size_t index, double time_s,
                          struct shares *out)
{
    const struct tw_move *move = &plan->moves[index], *before = move - 1;
    double length_mm = hypot(move->to.x_mm - before->to.x_mm, move->to.y_mm - before->to.y_mm);
    double stock_s = over_stock_mm(&covers->items[move->layer], &move->to, length_mm) / move->feed_mm_per_s;
    double even_s = length_mm / move->feed_mm_per_s;

    out->s[plan->layers[move->layer].kind == TW_LAYER_ROUGH ? SLOWER : FINISHING] += stock_s;
    out->s[OVERTRAVEL] += fmax(0.0, even_s - stock_s);
    out->s[RAMPS] += fmax(0.0, time_s - even_s);
}

static void share_out(const struct tw_scene *scene, const struct tw_setup_plan *plan, struct shares *out)
{
    struct covers covers = lay_again(scene, plan);
    double *times_s = calloc(plan->move_count, sizeof *times_s);

    if (!times_s)
        bench_must(TW_NO_MEMORY, "memory", NULL);
    bench_must(tw_setup_times(&scene->job->machine, plan, times_s, scene->findings), "times", scene->findings);
    for (size_t i = 1; i < plan->move_count; i++) {
        const struct tw_move *move = &plan->moves[i];

        if (move->kind == TW_MOVE_DWELL)
            out->s[move->role == TW_ROLE_COOL ? WAITS : ACROSS] += move->dwell_s;
        else if (move->role == TW_ROLE_OVER)
            out->s[OVERTRAVEL] += times_s[i];
        else if (move->role == TW_ROLE_CUT)
            share_out_cut(plan, &covers, i, times_s[i], out);
        else
            out->s[move->role == TW_ROLE_ACROSS || move->role == TW_ROLE_INFEED ? ACROSS : RETURNS] += times_s[i];
    }
    for (size_t i = 0; i < covers.count; i++)
        tw_cover_free(&covers.items[i]);
    free(covers.items);
    free(times_s);
}

/* ---- what nothing can beat ---- */

#define SPEEDS 240
#define DEPTHS 120

/* The highest removal rate at any depth, speed and engaged width: widths are part of the search because with less
 * width the chips are thicker, and the same power takes off more. No thought for whole steps, and the plate as thick
 * as it is before anything is ground. */
static double highest_rate_mm3_per_s(const struct tw_scene *scene, struct tw_cut_limits limits)
{
    const struct tw_job *job = scene->job;
    double slow = job->machine.feed_min_mm_per_s, fast = job->machine.feed_max_mm_per_s, best = 0.0;
    double widest_mm = tw_lanes_widest_mm(scene, false);

    limits.thinnest_mm = job->taper.ricasso_mm;
    for (int i = 0; i < SPEEDS; i++) {
        double speed = slow * pow(fast / slow, (double)i / (SPEEDS - 1));

        for (int k = 1; k <= DEPTHS; k++) {
            double depth_mm = job->wheel.max_infeed_mm * k / DEPTHS, width_mm;
            struct tw_cut cut;

            bench_must(tw_cut_estimate(job, &limits, depth_mm, speed, 1.0, &cut, scene->findings), "an estimate",
                       scene->findings);
            if (!tw_cut_is_cool(&cut, &limits))
                break;
            width_mm = fmin(widest_mm, fmin(limits.power_W / cut.power_W, limits.force_N / cut.force_N));
            best = fmax(best, depth_mm * speed * width_mm);
        }
    }
    return best;
}

static double bound_s(const struct sample *sample, enum tw_side side, const struct tw_scene *scene,
                      const struct tw_cut_limits *limits)
{
    const struct tw_job *job = scene->job;
    double front_mm, back_mm, fast = job->machine.feed_max_mm_per_s;

    bench_span(job, &scene->face, &front_mm, &back_mm);
    return tw_taper_removed_mm3(job) / highest_rate_mm3_per_s(scene, *limits) +
           bench_whole(sample, side)->spring_back.spark_outs * (back_mm - front_mm) / fast;
}

static double measure_side(const struct sample *sample, enum tw_side side, struct shares *out)
{
    const struct tw_setup_plan *plan = bench_whole(sample, side);
    struct tw_factors *factors = tw_factors_open(&sample->hardest.steel);
    struct tw_findings findings = { 0 };
    struct shares one = { { 0.0 } };
    struct tw_cut_limits limits;
    struct tw_scene scene;
    struct tw_geos geos;
    double bound, parts = sample->job.parts;

    if (!factors)
        bench_must(TW_NO_MEMORY, "memory", NULL);
    bench_must(tw_geos_open(&geos, &findings), "GEOS", &findings);
    bench_must(tw_scene_open(&scene, &sample->hardest, side, &geos, &findings), "a scene", &findings);
    limits = tw_cut_limits_of(&sample->hardest, side, sample->plan.wheel_mm_per_s, tw_holding_N(&sample->hardest, side),
                              factors);
    bound = bound_s(sample, side, &scene, &limits);
    share_out(&scene, plan, &one);
    one.s[BOUND] = bound;
    /* The bound's time lies in roughing, finishing and spark-out; roughing gives what it can. */
    one.s[SLOWER] -= bound;
    for (int i = 0; i < SHARES; i++)
        out->s[i] += parts * one.s[i];
    out->s[FIXED] += plan->cycle_time_s - parts * plan->part_time_s;
    tw_scene_close(&scene);
    tw_geos_close(&geos);
    tw_findings_free(&findings);
    tw_factors_close(factors);
    return parts * bound;
}

static void print_shares(const struct sample *samples, size_t count)
{
    static const char *const heads[SHARES] = { "bound",  "slower",  "finish", "over", "ramps",
                                               "across", "returns", "waits",  "fixed" };

    printf(
        "\nTotal time against what nothing can beat: stock over the highest removal rate that the limits allow at any "
        "depth,\n"
        "speed and width, and one run of the spark-out at the fastest feed; and what the time is spent on, in s\n\n");
    printf("%-14s %8s %8s ", "job", "total", "ratio");
    for (int k = 0; k < SHARES; k++)
        printf(" %8s", heads[k]);
    printf("\n");
    for (size_t i = 0; i < count; i++) {
        struct shares shares = { { 0.0 } };
        double bound;

        if (!comes_whole(&samples[i]))
            continue;
        bound = measure_side(&samples[i], TW_SIDE_A, &shares) + measure_side(&samples[i], TW_SIDE_B, &shares);
        printf("%-14s %8.1f %8.2f ", samples[i].name, whole_s(&samples[i]), whole_s(&samples[i]) / bound);
        for (int k = 0; k < SHARES; k++)
            printf(" %8.1f", shares.s[k]);
        printf("\n");
    }
    printf("\nslower: roughing over stock beyond the bound (lanes that overlap or are not fully engaged, lighter or "
           "slower cuts,\n"
           "whole layers and lanes); finish: finishing and spark-out over stock; over: overtravel; ramps: speeding up "
           "and\n"
           "slowing down in cuts; across: to the next lane, infeed, stops against obstacles; returns: lifted; fixed: "
           "spindle\n"
           "start, wheel spun dry, from part to part\n");
}

void bench_time(const struct sample *samples, size_t count)
{
    print_by_hand(samples, count);
    print_shares(samples, count);
}
