/* by_hand.c - see by_hand.h. */
#include "by_hand.h"

#include "tangwright/contacts.h"
#include "plan/ways/cover.h"
#include "plan/cuts/cut.h"
#include "plan/ways/path.h"
#include "plan/ways/string.h"
#include "plan/search/warmth.h"

#include <math.h>
#include <stdlib.h>

struct hand {
    const struct sample *sample;
    const struct tw_setup_plan *like; /* our plan of this side */
    struct tw_scene scene;
    struct tw_cut_limits limits;
    struct tw_warmth *warmth;
    double stock_mm;
};

static bool keeps_limits(const struct tw_cut *cut, const struct tw_cut_limits *limits)
{
    return tw_cut_is_cool(cut, limits) && cut->force_N <= limits->force_N && cut->power_W <= limits->power_W;
}

static struct tw_cut cut_at(const struct hand *hand, double depth_mm, double table_mm_per_s)
{
    struct tw_cut cut;

    bench_must(tw_cut_estimate(hand->scene.job, &hand->limits, depth_mm, table_mm_per_s,
                               tw_lanes_widest_mm(&hand->scene, false), &cut, hand->scene.findings),
               "an estimate", hand->scene.findings);
    return cut;
}

static bool allowed(const struct hand *hand, double depth_mm, double table_mm_per_s)
{
    struct tw_cut cut = cut_at(hand, depth_mm, table_mm_per_s);

    return keeps_limits(&cut, &hand->limits);
}

/* ---- the layers ---- */

static void add(struct tw_setup_plan *plan, struct tw_layer layer)
{
    plan->layers = realloc(plan->layers, (plan->layer_count + 1) * sizeof *plan->layers);
    if (!plan->layers)
        bench_must(TW_NO_MEMORY, "memory", NULL);
    plan->layers[plan->layer_count++] = layer;
}

static double finishing_mm(const struct tw_setup_plan *plan)
{
    double sum_mm = 0.0;

    for (size_t i = 0; i < plan->layer_count; i++)
        if (plan->layers[i].kind == TW_LAYER_FINISH)
            sum_mm += plan->layers[i].depth_mm;
    return sum_mm;
}

static void stack(const struct hand *hand, double depth_mm, double table_mm_per_s, struct tw_setup_plan *out)
{
    double finish_mm = finishing_mm(hand->like), rough_mm = hand->stock_mm - finish_mm;
    int layers = (int)ceil(rough_mm / depth_mm - 1e-6);

    for (int i = layers - 1; i >= 0; i--)
        add(out, (struct tw_layer){ .kind = TW_LAYER_ROUGH,
                                    .bottom_mm = finish_mm + i * depth_mm,
                                    .depth_mm = depth_mm,
                                    .table_mm_per_s = table_mm_per_s,
                                    .later_mm_per_s = table_mm_per_s,
                                    .flash_limit_degC = cut_at(hand, depth_mm, table_mm_per_s).flash_limit_degC });
    for (size_t i = 0; i < hand->like->layer_count; i++)
        if (hand->like->layers[i].kind != TW_LAYER_ROUGH)
            add(out, hand->like->layers[i]);
}

/* ---- the way of travel ---- */

static bool ends_are_free(const struct tw_cover *cover, enum tw_travel_style style)
{
    for (size_t i = 0; i < cover->lane_count; i++)
        if ((style != TW_STYLE_FROM_RICASSO && cover->lanes[i].back_obstacle) ||
            (style != TW_STYLE_FROM_BUTT && cover->lanes[i].front_obstacle))
            return false;
    return true;
}

static bool is_clear(const struct hand *hand, const struct tw_setup_plan *plan)
{
    struct tw_findings *findings = hand->scene.findings, refusal = { 0 };
    struct tw_scene scene = hand->scene;
    enum tw_status status;

    scene.findings = &refusal;
    status = tw_path_check(&scene, plan);
    tw_findings_free(&refusal);
    if (status != TW_OK && status != TW_NO_PLAN)
        bench_must(status, "a look at what stands in the way", findings);
    return status == TW_OK;
}

/* One program with this way of travel, without waits; part_time_s is 0 when it is not possible. */
static struct tw_setup_plan program(const struct hand *hand, enum tw_travel_style style, double depth_mm,
                                    double table_mm_per_s)
{
    struct tw_setup_plan out = { .face = hand->scene.face, .style = style };
    struct tw_cover cover = { 0 }, *covers;
    enum tw_status status = tw_cover_lay(&hand->scene, style, (struct tw_lane_rule){ 0 }, 0.0, depth_mm, &cover);

    if (status == TW_OK && cover.passes > 0 && ends_are_free(&cover, style)) {
        stack(hand, depth_mm, table_mm_per_s, &out);
        for (size_t i = 0; i < cover.lane_count; i++)
            cover.lanes[i].astride_mm = HUGE_VAL; /* lifts back from every pass */
        covers = malloc(out.layer_count * sizeof *covers);
        for (size_t i = 0; covers && i < out.layer_count; i++)
            covers[i] = cover; /* the whole tang, every time */
        status = covers ? tw_string_covers(&hand->scene, covers, out.layer_count, &out) : TW_NO_MEMORY;
        if (status != TW_OK || !is_clear(hand, &out))
            out.part_time_s = 0.0;
        free(covers);
    }
    tw_cover_free(&cover);
    return out;
}

static void free_plan(struct tw_setup_plan *plan)
{
    free(plan->layers);
    free(plan->moves);
    *plan = (struct tw_setup_plan){ 0 };
}

/* ---- the best single depth and table speed ---- */

#define SPEEDS 48
#define STYLES 3

struct trial {
    enum tw_travel_style style;
    double table_mm_per_s, depth_mm;
    double plain_s; /* of one part, without waits; infinite: not possible */
};

static struct trial trial_of(const struct hand *hand, enum tw_travel_style style, double table_mm_per_s,
                             double depth_mm)
{
    struct tw_setup_plan plan = program(hand, style, depth_mm, table_mm_per_s);
    struct trial trial = { style, table_mm_per_s, depth_mm, plan.part_time_s > 0.0 ? plan.part_time_s : HUGE_VAL };

    free_plan(&plan);
    return trial;
}

/* Deepest whole number of infeed steps that this speed allows; 0: none. */
static double deepest_mm(const struct hand *hand, double table_mm_per_s)
{
    const struct tw_job *job = hand->scene.job;
    double step_mm = hand->scene.infeed_step_mm;
    long least = (long)fmax(1.0, ceil(job->wheel.min_infeed_mm / step_mm - 1e-6));
    long steps = (long)floor(job->wheel.max_infeed_mm / step_mm + 1e-6);

    while (steps >= least && !allowed(hand, (double)steps * step_mm, table_mm_per_s))
        steps--;
    return steps >= least ? (double)steps * step_mm : 0.0;
}

static size_t list_trials(const struct hand *hand, struct trial trials[SPEEDS * STYLES])
{
    static const enum tw_travel_style styles[STYLES] = { TW_STYLE_BOTH_WAYS, TW_STYLE_FROM_BUTT,
                                                         TW_STYLE_FROM_RICASSO };
    const struct tw_machine *machine = &hand->scene.job->machine;
    double slow = machine->feed_min_mm_per_s, fast = tw_fastest_table_mm_per_s(hand->scene.job);
    size_t count = 0;

    for (int i = 0; i < SPEEDS; i++) {
        double speed = tw_representable_feed_mm_per_s(machine, slow * pow(fast / slow, (double)i / (SPEEDS - 1)));
        double depth_mm = deepest_mm(hand, speed);

        for (int k = 0; depth_mm > 0.0 && k < STYLES; k++)
            trials[count++] = trial_of(hand, styles[k], speed, depth_mm);
    }
    return count;
}

static int by_plain_time(const void *a, const void *b)
{
    double x = ((const struct trial *)a)->plain_s, y = ((const struct trial *)b)->plain_s;

    return (x > y) - (x < y);
}

/* With the waits it needs, if it beats what was found before. */
static void run(const struct hand *hand, const struct trial *trial, double *best_s, struct by_hand *out)
{
    int parts = hand->sample->job.parts;
    double overhead_s = hand->like->cycle_time_s - parts * hand->like->part_time_s;
    struct tw_setup_plan plan = program(hand, trial->style, trial->depth_mm, trial->table_mm_per_s);

    if (tw_warmth_run(hand->warmth, &hand->scene, &hand->limits, *best_s, &plan) == TW_OK &&
        plan.part_time_s < *best_s) {
        *best_s = plan.part_time_s;
        *out = (struct by_hand){ true, trial->table_mm_per_s, trial->depth_mm, parts * plan.dwell_s,
                                 overhead_s + parts * plan.part_time_s };
    }
    free_plan(&plan);
}

static void seek(const struct hand *hand, struct by_hand *out)
{
    struct trial trials[SPEEDS * STYLES];
    size_t count = list_trials(hand, trials);
    double best_s = HUGE_VAL;

    qsort(trials, count, sizeof *trials, by_plain_time);
    for (size_t i = 0; i < count && trials[i].plain_s < best_s; i++)
        run(hand, &trials[i], &best_s, out);
}

struct by_hand by_hand_of(const struct sample *sample, enum tw_side side)
{
    struct hand hand = { .sample = sample, .like = bench_whole(sample, side) };
    struct tw_factors *factors = tw_factors_open(&sample->hardest.steel);
    struct tw_findings findings = { 0 };
    struct tw_geos geos;
    struct by_hand out = { 0 };
    double front_mm, back_mm;

    if (!factors)
        bench_must(TW_NO_MEMORY, "memory", NULL);
    bench_must(tw_geos_open(&geos, &findings), "GEOS", &findings);
    bench_must(tw_scene_open(&hand.scene, &sample->hardest, side, &geos, &findings), "a scene", &findings);
    hand.scene.factors = factors;
    hand.limits = tw_cut_limits_of(&sample->hardest, side, sample->plan.wheel_mm_per_s,
                                   tw_holding_N(&sample->hardest, side), factors);
    bench_span(&sample->hardest, &hand.scene.face, &front_mm, &back_mm);
    hand.stock_mm = tw_face_most_mm(&hand.scene.face, back_mm);
    bench_must(tw_warmth_open(&hand.scene, TW_FINE, &hand.warmth), "the heat", &findings);
    seek(&hand, &out);
    tw_warmth_close(hand.warmth);
    tw_scene_close(&hand.scene);
    tw_geos_close(&geos);
    tw_findings_free(&findings);
    tw_factors_close(factors);
    return out;
}
