/* choose.c - the way of travel, the room left for warmth and the rounds among the parts that take least time. */
#include "plan/search/choose.h"

#include "base/text.h"
#include "base/units.h"
#include "geometry/ring.h"
#include "plan/search/loosen.h"
#include "plan/search/provable.h"
#include "plan/cuts/menus.h"
#include "plan/cuts/remedy.h"
#include "plan/scene/setup.h"
#include "plan/ways/kept_loops.h"
#include "tangwright/contacts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A plan, and the way that it goes. */
struct trial {
    struct tw_setup_plan plan;
    struct tw_way way;
};

static void keep_quicker(const struct tw_job *job, struct trial *best, struct trial *trial, bool *found)
{
    if (!*found || tw_setup_time_s(job, &trial->plan) < tw_setup_time_s(job, &best->plan)) {
        struct trial slower = *best;

        *best = *trial;
        *trial = slower;
        *found = true;
    }
}

/* Bulk temperatures, in K above ambient, that a plan may allow for beforehand. With more of it the cuts are lighter and
 * the tang need not be waited for: where the total is least depends on the joint below and on how long the way is. */
static const double bulks_K[] = { 0.0, 8.0, 20.0, 35.0, 50.0, 70.0, 95.0, 125.0, 160.0 };

/* Spots that see more, or more unlike, passes than were counted may come out tempered farther than planned: then more
 * are counted. */
#define MOST_RESERVE 4.0
#define MORE_RESERVE 1.25

static bool tempered_too_far(const struct tw_cut_limits *limits, const struct tw_setup_plan *plan)
{
    const struct tw_tempering *tempering = &plan->tempering;

    return limits->equivalent &&
           fmax(tempering->equivalent_degC[0], tempering->equivalent_degC[1]) > tempering->allowed_degC;
}

static enum tw_status refuse_tempering(const struct tw_scene *scene, const struct tw_setup_plan *plan)
{
    const struct tw_tempering *tempering = &plan->tempering;
    struct tw_place at = { .file = scene->job->path, .key = "heat.flash_limit" };

    return tw_fail(
        scene->findings, TW_NO_PLAN, at,
        "side %s: all the flashes at x = %.0f, y = %.0f mm together would do as much as %.3g h at %.0f degC, above "
        "the %.0f degC allowed; a sharper wheel, more coolant or flash_limit = \"strict\" helps",
        tw_side_letter(scene->face.side), tempering->place_mm[0], tempering->place_mm[1],
        scene->job->limits.tempering_s / 3600.0, fmax(tempering->equivalent_degC[0], tempering->equivalent_degC[1]),
        tempering->allowed_degC);
}

/* The wheel may go on to the next part after so many layers, so that one cools while the others are ground. 0: not before it
 * is finished. */
static const size_t layers_a_round[] = { 0, 24, 12, 6, 4, 3, 2, 1 };

/* With more layers than these the air over the wedge is a percent or two of what they take off. */
#define FEW_LAYERS 40

/* The best allowance and those next to it are halved so often. */
#define HALVINGS 2
/* And the allowances that follow the warmth are all changed by so much. */
#define SCALED 0.15

/* How long a trial took, or how long until it was given up. */
struct outcome {
    double time_s; /* infinite: not possible */
    bool waits;    /* it waits, or cannot be */
};

/* What a plan is made from. */
struct recipe {
    struct tw_bulk bulk;
    struct tw_way way;
    size_t layers_a_round;
    double time_s; /* that it took in the trials */
};

/* So many of the quickest plans are kept in mind, the quickest first. */
#define RECIPES_MOST 4
/* Trials that take no longer than this share beyond the quickest may be quicker over fine cells. */
#define ALIKE_SHARE 0.005

struct tw_choosing {
    struct tw_scene scene; /* its own: rounds among the parts change from trial to trial */
    struct tw_warmth *warmth;
    struct tw_cut_limits limits;
    const struct tw_layout *layout;
    struct trial quickest; /* so far */
    bool found, hopeless;  /* hopeless: no way can be used at all, and cuts only get lighter */
    struct tw_bulk best;   /* what the quickest allows for, in what rounds */
    size_t best_layers;
    bool lifts; /* ways that lift the wheel wherever they can: it took these for any plan to be possible */
    struct recipe recipes[RECIPES_MOST];
    size_t recipe_count;
    double most_s;              /* that all parts may take: as the job says, or less where more is of no use */
    struct tw_findings refusal; /* what stopped the first trial */
    double too_long_s; /* of one part: the quickest of those given up because they take too long; infinite: none */
    double effort_s;   /* of the quickest, to follow its heat */
    double proof_s;    /* of it, to prove it */
    double last_effort_s, last_proof_s; /* the same of the last trial */
    double last_plain_s;                /* the last trial's time without waits, and what came of it */
    struct outcome last;
};

static struct tw_bulk even_bulk(double bulk_K)
{
    struct tw_bulk bulk;

    for (int i = 0; i < TW_BULK_PARTS; i++)
        bulk.K[i] = bulk_K;
    return bulk;
}

/* What a trial says is its own affair. */
static struct tw_scene scene_for(const struct tw_scene *scene, struct tw_findings *findings)
{
    struct tw_scene own = *scene;

    own.findings = findings;
    return own;
}

/* Tries `count` ways; keeps the quickest that is possible, the heat aside. When none is, what stopped the first is the
 * answer. */
static enum tw_status try_ways(const struct tw_choosing *choosing, const struct tw_scene *scene,
                               const struct tw_cut_limits *limits, const struct tw_bulk *bulk,
                               const struct tw_way *tried, size_t count, struct trial *out)
{
    struct tw_findings first = { 0 };
    bool found = false;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        struct tw_findings refusal = { 0 };
        struct trial trial = { .way = tried[i] };
        struct tw_scene own = scene_for(scene, &refusal);
        int laid = tw_kept_loops_laid(scene->loops);
        enum tw_status answer =
            choosing->layout->lay(choosing->layout->context, &own, limits, bulk, &tried[i], &trial.plan);

        tw_warmth_charge(choosing->warmth, trial.plan.pass_count, tw_kept_loops_laid(scene->loops) - laid);
        if (answer == TW_OK)
            keep_quicker(scene->job, out, &trial, &found);
        else if (answer != TW_NO_PLAN)
            status = answer;
        tw_setup_free(&trial.plan);
        if (i == 0)
            first = refusal;
        else
            tw_findings_free(&refusal);
    }
    if (!found) {
        tw_findings_append(scene->findings, &first);
        status = status == TW_OK ? TW_NO_PLAN : status;
    }
    tw_findings_free(&first);
    return status;
}

/* The ways on which the tang can be waited for; returns how many. */
static size_t drop_stays(struct tw_way *ways, size_t count)
{
    size_t left = 0;

    for (size_t i = 0; i < count; i++)
        if (!ways[i].stays)
            ways[left++] = ways[i];
    return left;
}

/* A program that could not be proved is none; lighter cuts make it longer still. */
static enum tw_status check_moves(struct tw_choosing *choosing, const struct tw_scene *scene,
                                  struct tw_setup_plan *plan)
{
    struct tw_provable one = { 0 };
    enum tw_status status = tw_provable_add(scene->job, plan, &one, scene->findings);

    choosing->last_proof_s = tw_provable_s(scene->job, &one);
    if (status == TW_OK)
        status = tw_provable_check(scene->job, &one, scene->findings);
    if (status != TW_OK)
        tw_setup_free(plan);
    return status;
}

/* One plan: layers, moves, and the waits that they need. Not carried through when all parts take longer than longest_s, or
 * (*again) when it is the last trial's once more, as it is where something else than heat binds. */
static enum tw_status plan_once(struct tw_choosing *choosing, const struct tw_scene *scene, const struct tw_bulk *bulk,
                                struct tw_way *ways, size_t count, double longest_s, bool *again, struct trial *out)
{
    struct tw_cut_limits limits = choosing->limits;
    struct tw_setup_plan *plan = &out->plan;
    double plain_s;
    enum tw_status status;

    for (;;) {
        status = try_ways(choosing, scene, &limits, bulk, ways, count, out);
        plain_s = tw_setup_time_s(scene->job, plan);
        *again = status == TW_OK && plain_s == choosing->last_plain_s && limits.reserve == choosing->limits.reserve;
        if (status != TW_OK || *again)
            return status;
        if (limits.reserve == choosing->limits.reserve)
            choosing->last_plain_s = plain_s;
        status = check_moves(choosing, scene, plan);
        if (status != TW_OK)
            return status;
        choosing->last_effort_s = -tw_warmth_effort_s(choosing->warmth);
        status =
            tw_warmth_run(choosing->warmth, scene, &limits, (longest_s - plan->between_s) / scene->job->parts, plan);
        choosing->last_effort_s += tw_warmth_effort_s(choosing->warmth);
        if (status != TW_OK || tw_setup_time_s(scene->job, plan) > longest_s)
            return status;
        if (out->way.stays && plan->dwell_s > 0.0)
            count = drop_stays(ways, count);
        else if (tempered_too_far(&limits, plan))
            limits.reserve *= MORE_RESERVE;
        else
            return TW_OK;
        if (limits.reserve > MOST_RESERVE)
            return refuse_tempering(scene, plan);
        tw_setup_free(plan);
    }
}

/* ---- what it costs ---- */

/* What is counted for trials is more than they take, by this share; so many times as long as the quickest it takes to plan it over
 * fine cells; and this to begin. Fitted to 190 programs of 80 jobs, see docs/measurements.md. */
#define TRIALS_SHARE 0.65
#define FINE_TIMES   4.0
#define BEGIN_S      0.15

/* Loops of trials are those of a layer near by; of the plan itself most passes have one of their own. */
#define LOOP_S 3e-3

static double finish_effort_s(const struct tw_choosing *trials)
{
    const struct tw_setup_plan *plan = &trials->quickest.plan;
    bool loops = plan->style == TW_STYLE_LOOPS && trials->scene.job->task.scope != TW_SCOPE_RELIEF;

    return BEGIN_S + FINE_TIMES * trials->effort_s + (loops ? LOOP_S * plan->pass_count : 0.0);
}

double tw_choose_effort_s(const struct tw_choosing *trials)
{
    return TRIALS_SHARE * tw_warmth_effort_s(trials->warmth) + finish_effort_s(trials);
}

/* Of all computing, what one program may take with its proof: not all of them are so long at once. */
#define FACE_SHARE         0.5
#define FACE_BESIDES_SHARE 0.35 /* where there are reliefs besides */
#define RELIEFS_SHARE      0.5

static double most_effort_s(const struct tw_job *job)
{
    double reliefs = job->relief.sides == TW_RELIEF_BOTH ? 2.0 : 1.0;
    double share = !(job->relief.depth_mm > 0.0)        ? FACE_SHARE
                   : job->task.scope == TW_SCOPE_RELIEF ? RELIEFS_SHARE / reliefs
                                                        : FACE_BESIDES_SHARE;

    return share * TW_EFFORT_MOST_S;
}

/* No computing is left for more trials. With a plan in hand, what it takes to prove that one counts, too. */
static bool spent(const struct tw_choosing *choosing)
{
    return tw_warmth_spent(choosing->warmth) ||
           (choosing->found && tw_choose_effort_s(choosing) + choosing->proof_s > most_effort_s(choosing->scene.job));
}

/* The longest that all parts may take. */
static double longest_s(const struct tw_choosing *choosing)
{
    const struct tw_job *job = choosing->scene.job;

    return choosing->found ? tw_setup_time_s(job, &choosing->quickest.plan) : choosing->most_s;
}

/* Among the quickest, if it is one of them. */
static void keep_recipe(struct tw_choosing *choosing, const struct recipe *recipe)
{
    size_t place = choosing->recipe_count;

    while (place > 0 && choosing->recipes[place - 1].time_s > recipe->time_s)
        place--;
    if (place == RECIPES_MOST)
        return;
    choosing->recipe_count += choosing->recipe_count < RECIPES_MOST;
    memmove(choosing->recipes + place + 1, choosing->recipes + place,
            (choosing->recipe_count - 1 - place) * sizeof *recipe);
    choosing->recipes[place] = *recipe;
}

static void judge(struct tw_choosing *choosing, const struct tw_bulk *bulk, enum tw_status status, double most_s,
                  struct trial *trial)
{
    const struct tw_job *job = choosing->scene.job;
    struct outcome *last = &choosing->last;

    last->waits = status != TW_OK || trial->plan.dwell_s > 0.0;
    last->time_s = status == TW_OK ? tw_setup_time_s(job, &trial->plan) : HUGE_VAL;
    choosing->hopeless = status == TW_NO_PLAN && trial->plan.layer_count == 0;
    if (status == TW_OK && !choosing->found && last->time_s > most_s) {
        choosing->too_long_s = fmin(choosing->too_long_s, last->time_s / job->parts);
        choosing->hopeless = choosing->last_plain_s > most_s; /* without waits: lighter cuts take longer still */
    }
    if (status == TW_OK && last->time_s <= (1.0 + ALIKE_SHARE) * most_s)
        keep_recipe(choosing, &(struct recipe){ *bulk, trial->way, choosing->scene.layers_a_round, last->time_s });
    if (status != TW_OK || last->time_s >= most_s)
        return;
    choosing->best = *bulk;
    choosing->best_layers = choosing->scene.layers_a_round;
    choosing->effort_s = choosing->last_effort_s;
    choosing->proof_s = choosing->last_proof_s;
    keep_quicker(job, &choosing->quickest, trial, &choosing->found);
}

/* Plans with these allowances, in any of `count` ways, and keeps the plan if it is the quickest so far. */
static enum tw_status try_bulk(struct tw_choosing *choosing, const struct tw_bulk *bulk, const struct tw_way *tried,
                               size_t count)
{
    struct tw_findings refusal = { 0 };
    struct tw_scene own = scene_for(&choosing->scene, &refusal);
    struct tw_way ways[TW_WAYS_MOST];
    struct trial trial = { 0 };
    bool first = !choosing->found && choosing->refusal.count == 0, again = false;
    double most_s = longest_s(choosing);
    enum tw_status status;

    memcpy(ways, tried, count * sizeof *ways);
    status = plan_once(choosing, &own, bulk, ways, count, (1.0 + ALIKE_SHARE) * most_s, &again, &trial);
    if (!again)
        judge(choosing, bulk, status, most_s, &trial);
    tw_setup_free(&trial.plan);
    if (first)
        choosing->refusal = refusal;
    else
        tw_findings_free(&refusal);
    return status == TW_NO_PLAN ? TW_OK : status;
}

static enum tw_status try_again(struct tw_choosing *choosing, const struct tw_bulk *bulk)
{
    return try_bulk(choosing, bulk, &choosing->quickest.way, 1);
}

/* In the quickest plan's way; in any, where that one does not go with cuts so light. */
static enum tw_status try_lighter(struct tw_choosing *choosing, const struct tw_bulk *bulk, const struct tw_way *ways,
                                  size_t way_count)
{
    enum tw_status status = try_again(choosing, bulk);

    return status == TW_OK && choosing->hopeless ? try_bulk(choosing, bulk, ways, way_count) : status;
}

static size_t list_ways(const struct tw_choosing *choosing, struct tw_way ways[TW_WAYS_MOST])
{
    size_t count = choosing->layout->list_ways(choosing->layout->context, &choosing->scene, ways);

    for (size_t i = 0; i < count; i++)
        ways[i].lifts = choosing->lifts;
    return count;
}

/* Where the tang gets warmer than was allowed for, and the next larger allowance leaves no cut at all, one in between may do. */
static enum tw_status try_between(struct tw_choosing *choosing, double below_K, double above_K,
                                  const struct tw_way *ways, size_t way_count)
{
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && !choosing->found && i < HALVINGS; i++) {
        double middle_K = (below_K + above_K) / 2.0;
        struct tw_bulk bulk = even_bulk(middle_K);

        status = try_bulk(choosing, &bulk, ways, way_count);
        *(choosing->hopeless ? &above_K : &below_K) = middle_K;
    }
    return status;
}

/* From the least allowance upwards until nothing waits any more, or lighter cuts alone take longer than the quickest plan with
 * its waits: with a little more allowance a plan may wait as long as before, and with much more not at all. Which way is
 * quickest hardly depends on the depth of the cuts: the first plan that can be made settles it. */
static enum tw_status try_bulks(struct tw_choosing *choosing)
{
    const struct tw_cut_limits *limits = &choosing->limits;
    struct tw_way ways[TW_WAYS_MOST];
    size_t way_count = list_ways(choosing, ways);
    bool settled = choosing->found; /* which way */
    enum tw_status status = TW_OK;

    choosing->last_plain_s = -1.0;
    choosing->last.waits = true;
    for (size_t i = 0; status == TW_OK && choosing->last.waits && i < sizeof bulks_K / sizeof *bulks_K; i++) {
        struct tw_bulk bulk = even_bulk(bulks_K[i]);

        if (limits->ambient_degC + bulks_K[i] >= limits->limit_degC)
            break;
        status = settled ? try_lighter(choosing, &bulk, ways, way_count) : try_bulk(choosing, &bulk, ways, way_count);
        if (choosing->hopeless && !choosing->found && i > 0)
            status = try_between(choosing, bulks_K[i - 1], bulks_K[i], ways, way_count);
        if (choosing->hopeless)
            break;
        if (!choosing->found)
            continue; /* how long it would take is not known where it was given up at the longest time */
        if (choosing->last_plain_s > longest_s(choosing) || spent(choosing))
            break;
        settled = true;
    }
    return status;
}

/* Where the tang gets too warm by what is ground in one go, and no allowance helps, it may be waited for in between. */
static enum tw_status try_any_bulks(struct tw_choosing *choosing)
{
    enum tw_status status = try_bulks(choosing);

    if (status != TW_OK || choosing->found || choosing->lifts || !choosing->layout->can_lift ||
        choosing->too_long_s < HUGE_VAL)
        return status;
    choosing->lifts = true;
    choosing->hopeless = false;
    return try_bulks(choosing);
}

static bool has_to_cool(const struct tw_choosing *choosing)
{
    return choosing->found && (choosing->best.K[0] > 0.0 || choosing->quickest.plan.dwell_s > 0.0);
}

/* Between the best even allowance and those next to it. */
static enum tw_status refine_bulk(struct tw_choosing *choosing)
{
    size_t best = 0, last = sizeof bulks_K / sizeof *bulks_K - 1;
    double below_K, above_K;
    enum tw_status status = TW_OK;

    while (best < last && bulks_K[best] < choosing->best.K[0])
        best++;
    below_K = bulks_K[best > 0 ? best - 1 : 0];
    above_K = bulks_K[best < last ? best + 1 : last];
    for (int i = 0; status == TW_OK && i < HALVINGS && !spent(choosing); i++) {
        double middle_K = choosing->best.K[0];
        struct tw_bulk below = even_bulk((below_K + middle_K) / 2.0), above = even_bulk((middle_K + above_K) / 2.0);

        status = try_again(choosing, &below);
        if (status == TW_OK && choosing->best.K[0] == middle_K && choosing->quickest.plan.dwell_s > 0.0)
            status = try_again(choosing, &above);
        if (choosing->best.K[0] < middle_K) {
            above_K = middle_K;
        } else if (choosing->best.K[0] > middle_K) {
            below_K = middle_K;
        } else {
            below_K = below.K[0];
            above_K = above.K[0];
        }
    }
    return status;
}

/* How warm the best plan found the tang where each part of the stock is ground: the first cuts find it cool. */
static struct tw_bulk measured_bulk(const struct tw_choosing *choosing)
{
    const struct tw_setup_plan *plan = &choosing->quickest.plan;
    struct tw_bulk bulk = even_bulk(0.0);
    double stock_mm = 0.0;

    for (size_t i = 0; i < plan->layer_count; i++)
        stock_mm = fmax(stock_mm, plan->layers[i].bottom_mm + plan->layers[i].depth_mm);
    for (size_t i = 0; i < plan->layer_count; i++) {
        double *part_K = &bulk.K[tw_bulk_part(plan->layers[i].bottom_mm, stock_mm)];

        *part_K = fmax(*part_K, plan->layers[i].reserve_bulk_degC - choosing->limits.ambient_degC);
    }
    return bulk;
}

/* Allowances that follow the warmth that the best plan finds, none above its own. */
static enum tw_status follow_bulk(struct tw_choosing *choosing)
{
    struct tw_bulk bulk = measured_bulk(choosing);

    for (int part = 0; part < TW_BULK_PARTS; part++)
        bulk.K[part] = fmin(bulk.K[part], choosing->best.K[part]);
    return try_again(choosing, &bulk);
}

/* The best allowances all raised, or all lowered, as long as that makes a quicker plan. */
static enum tw_status scale_bulk(struct tw_choosing *choosing, double factor)
{
    enum tw_status status = TW_OK;
    double before_s;

    do {
        struct tw_bulk bulk = choosing->best;

        before_s = longest_s(choosing);
        for (int part = 0; part < TW_BULK_PARTS; part++)
            bulk.K[part] *= factor;
        status = try_again(choosing, &bulk);
    } while (status == TW_OK && longest_s(choosing) < before_s && !spent(choosing));
    return status;
}

/* Closer to the best allowance of these rounds, if they have the best plan and it has to cool. */
static enum tw_status close_in(struct tw_choosing *choosing)
{
    enum tw_status status = TW_OK;

    if (!has_to_cool(choosing) || choosing->best_layers != choosing->scene.layers_a_round)
        return TW_OK;
    status = refine_bulk(choosing);
    if (status == TW_OK && has_to_cool(choosing) && !spent(choosing))
        status = follow_bulk(choosing);
    return status;
}

/* Over a wedge that is thin beside the depth of the cuts most of a deep layer is air; over a thicker one depth is what counts. */
static enum tw_status try_volume(struct tw_choosing *choosing)
{
    struct tw_way way = choosing->quickest.way;
    struct tw_bulk bulk = choosing->best;

    if (!choosing->found || !choosing->layout->has_wedge || choosing->quickest.plan.layer_count > FEW_LAYERS ||
        spent(choosing))
        return TW_OK;
    way.by_volume = true;
    return try_bulk(choosing, &bulk, &way, 1);
}

static bool same_lanes(const struct tw_way *a, const struct tw_way *b)
{
    return a->crossfeed_mm == b->crossfeed_mm && a->first_widest == b->first_widest;
}

/* Which way is quickest may turn with the waits: those of another crossfeed or another style once more with the best allowance. */
static enum tw_status try_neighbours(struct tw_choosing *choosing)
{
    const struct tw_way *best = &choosing->quickest.way;
    struct tw_way ways[TW_WAYS_MOST];
    size_t count = list_ways(choosing, ways);
    struct tw_bulk bulk = choosing->best;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && has_to_cool(choosing) && !spent(choosing) && i < count; i++)
        if ((ways[i].style == best->style) != same_lanes(&ways[i], best))
            status = try_bulk(choosing, &bulk, &ways[i], 1);
    return status;
}

/* Where no even allowance makes a plan of each part by itself, going round in short rounds may. */
#define SHORT_ROUND 4

static bool may_go_round(const struct tw_choosing *choosing, size_t layers)
{
    return choosing->found ? has_to_cool(choosing) : !choosing->hopeless && layers <= SHORT_ROUND;
}

/* Plans without a thought for the bulk; if nothing has to wait for it, that is the quickest. Else tries what it costs to
 * cut lighter, and, with several parts, each way of going round them. */
static enum tw_status try_rounds(struct tw_choosing *choosing)
{
    size_t count = choosing->layout->goes_round && choosing->scene.job->parts > 1
                       ? sizeof layers_a_round / sizeof *layers_a_round
                       : 1;
    enum tw_status status = try_any_bulks(choosing);

    if (status == TW_OK && choosing->found)
        status = try_neighbours(choosing);
    if (status == TW_OK)
        status = try_volume(choosing);
    if (status == TW_OK)
        status = close_in(choosing);
    for (size_t i = 1; status == TW_OK && i < count && !spent(choosing); i++) {
        if (!may_go_round(choosing, layers_a_round[i]))
            continue;
        choosing->scene.layers_a_round = layers_a_round[i];
        status = try_bulks(choosing);
    }
    choosing->scene.layers_a_round = choosing->best_layers;
    if (status == TW_OK && choosing->best_layers > 0)
        status = close_in(choosing);
    for (int sign = -1; status == TW_OK && has_to_cool(choosing) && !spent(choosing) && sign <= 1; sign += 2)
        status = scale_bulk(choosing, 1.0 - sign * SCALED);
    return status;
}

/* ---- where it takes long ---- */

/* Longer than this for one part, somebody should know what would help. */
#define LONG_PART_S 1800.0
/* A remedy that does not bring it below this share of the time is none. */
#define HELPS_SHARE 0.8

/* Least time of a part with this remedy, or without any, in the quickest of `count` ways and without any thought for what the
 * tang keeps; infinite where that is no help. Keeps that way alone. */
static enum tw_status least_with(const struct tw_choosing *choosing, const struct tw_remedy *remedy,
                                 struct tw_way *ways, size_t *count, double *part_s)
{
    struct tw_findings ignored = { 0 };
    struct tw_scene own = scene_for(&choosing->scene, &ignored);
    struct tw_job job = *own.job; /* a shallow copy: only numbers are changed */
    struct tw_bulk cool = even_bulk(0.0);
    struct trial trial = { 0 };
    struct tw_cut_limits limits;
    enum tw_status status;

    if (remedy)
        remedy->alter(&job);
    limits = tw_cut_limits_of(&job, own.face.side, choosing->limits.wheel_mm_per_s, tw_holding_N(&job, own.face.side),
                              own.factors);
    own.job = &job;
    own.menus = tw_menus_open(&job); /* of this remedy; none does as well, only slower */
    status = try_ways(choosing, &own, &limits, &cool, ways, *count, &trial);
    tw_menus_close(own.menus);
    *part_s = status == TW_OK ? trial.plan.part_time_s : HUGE_VAL;
    if (status == TW_OK) {
        ways[0] = trial.way;
        *count = 1;
    }
    tw_setup_free(&trial.plan);
    tw_findings_free(&ignored);
    return status == TW_NO_PLAN ? TW_OK : status;
}

/* What would help, and how long it would then take at least. */
static enum tw_status advise(const struct tw_choosing *choosing, double part_s, struct tw_text *out)
{
    struct tw_way ways[TW_WAYS_MOST] = { choosing->quickest.way };
    size_t named = 0, count = 1;
    double plain_s;
    enum tw_status status;

    if (!choosing->found)
        count = list_ways(choosing, ways);
    status = least_with(choosing, NULL, ways, &count, &plain_s);
    for (size_t i = 0; status == TW_OK && i < TW_REMEDIES; i++) {
        double other_s;

        status = least_with(choosing, &tw_remedies[i], ways, &count, &other_s);
        if (status == TW_OK && other_s < HELPS_SHARE * plain_s)
            tw_text_print(out, "%s%s would take %s or more", named++ ? ", " : "", tw_remedies[i].what,
                          tw_duration_at_least(other_s).text);
    }
    if (!named && plain_s < HELPS_SHARE * part_s)
        tw_text_print(out,
                      "without warming up it would take %s: more coolant, or steel in contact under all of the tang, "
                      "carries the heat off",
                      tw_duration_at_least(plain_s).text);
    else if (!named)
        tw_text_print(out, "a larger wheel, more spindle power or more holding would shorten it most");
    return status == TW_OK && out->failed ? tw_no_memory(choosing->scene.findings) : status;
}

static enum tw_status say_long(const struct tw_choosing *choosing, double part_s)
{
    const struct tw_scene *scene = &choosing->scene;
    struct tw_place at = { .file = scene->job->path };
    struct tw_text advice = { 0 };
    char where[40];
    enum tw_status status = advise(choosing, part_s, &advice);

    snprintf(where, sizeof where, "side %s%s%s: ", tw_side_letter(scene->face.side),
             scene->job->task.scope == TW_SCOPE_WHOLE ? "" : ", ", tw_scope_name(scene->job->task.scope));
    if (status == TW_OK && !choosing->found)
        status = tw_setup_too_long(scene->job, where, part_s, advice.data, scene->findings);
    else if (status == TW_OK)
        tw_remark(scene->findings, at, "%sone part takes %s; %s", where, tw_duration_at_least(part_s).text,
                  advice.data);
    tw_text_free(&advice);
    return status;
}

/* ---- what each limit costs ---- */

/* The quickest plan once more, in its way and with its allowances, were this limit looser. */
static enum tw_status price(struct tw_choosing *choosing, enum tw_limit limit, struct tw_cut_limits limits,
                            double *saves_s)
{
    const struct tw_job *planned = choosing->scene.job;
    struct tw_findings ignored = { 0 };
    struct tw_scene own = scene_for(&choosing->scene, &ignored);
    struct tw_choosing other = *choosing;
    struct trial trial = { 0 };
    struct tw_way way = choosing->quickest.way;
    struct tw_job job = *planned; /* a shallow copy: only numbers are changed */
    double most_s = longest_s(choosing);
    bool cool = tw_limit_leaves_cool(&limits, &choosing->quickest.plan), again;
    enum tw_status status;

    tw_limit_loosen(limit, &job, &limits);
    other.limits = limits;
    other.last_plain_s = -1.0;
    own.job = &job;
    status = cool ? try_ways(&other, &own, &limits, &choosing->best, &way, 1, &trial)
                  : plan_once(&other, &own, &choosing->best, &way, 1, most_s, &again, &trial);
    if (status == TW_OK)
        *saves_s = fmax(0.0, most_s - tw_setup_time_s(planned, &trial.plan));
    tw_setup_free(&trial.plan);
    tw_findings_free(&ignored);
    return status == TW_NO_PLAN ? TW_OK : status;
}

static enum tw_status price_limits(struct tw_choosing *choosing)
{
    struct tw_setup_plan *plan = &choosing->quickest.plan;
    enum tw_status status = TW_OK;

    for (int limit = 0; status == TW_OK && limit < TW_LIMIT_COUNT && !spent(choosing); limit++)
        if (tw_limit_binds(limit, choosing->scene.job, plan, choosing->best.K[0] > 0.0))
            status = price(choosing, limit, choosing->limits, &plan->saves_s[limit]);
    return status;
}

/* ---- from the trials to the plan ---- */

/* Longer than it is of use for, though not than the job allows. */
static bool is_of_no_use(const struct tw_choosing *trials)
{
    const struct tw_job *job = trials->scene.job;

    return !trials->found && trials->too_long_s < HUGE_VAL && trials->most_s < job->parts * job->longest_s;
}

/* No finer look changes it: there is no cut, it takes too long without any wait, or it is too long to be followed. */
static bool is_settled(const struct tw_choosing *trials)
{
    return !trials->found && (trials->hopeless || spent(trials));
}

/* Nothing is left of the computing for more than one plan over fine cells. */
static bool is_late(const struct tw_choosing *trials, const struct tw_choosing *fine)
{
    return spent(trials) || spent(fine);
}

/* The quickest of the trials over fine cells, and those hardly slower; where none is possible, the ones before them. */
static enum tw_status try_recipes(const struct tw_choosing *trials, struct tw_choosing *fine)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < trials->recipe_count; i++) {
        const struct recipe *recipe = &trials->recipes[i];

        if (fine->found && (recipe->time_s > (1.0 + ALIKE_SHARE) * trials->recipes[0].time_s || is_late(trials, fine)))
            break;
        fine->last_plain_s = -1.0;
        fine->scene.layers_a_round = recipe->layers_a_round;
        status = try_bulk(fine, &recipe->bulk, &recipe->way, 1);
    }
    fine->scene.layers_a_round = fine->best_layers;
    if (status == TW_OK && has_to_cool(fine) && !is_late(trials, fine))
        status = follow_bulk(fine); /* the warmth that fine cells find */
    if (fine->found)
        memcpy(fine->quickest.plan.saves_s, trials->quickest.plan.saves_s, sizeof trials->quickest.plan.saves_s);
    return status;
}

/* Where coarse cells have led astray, the whole search is made over fine ones. */
static enum tw_status search_again(struct tw_choosing *fine)
{
    enum tw_status status;

    fine->scene.layers_a_round = 0;
    status = try_rounds(fine);
    return status == TW_OK && fine->found ? price_limits(fine) : status;
}

static struct tw_choosing begin(const struct tw_scene *scene, struct tw_warmth *warmth,
                                const struct tw_cut_limits *limits, const struct tw_layout *layout, double most_s)
{
    return (struct tw_choosing){ .scene = *scene,
                                 .warmth = warmth,
                                 .limits = *limits,
                                 .layout = layout,
                                 .most_s = fmin(most_s, scene->job->parts * scene->job->longest_s),
                                 .too_long_s = HUGE_VAL };
}

static void forget(struct tw_choosing *choosing)
{
    tw_setup_free(&choosing->quickest.plan);
    tw_findings_free(&choosing->refusal);
}

/* What stopped all plans is said where there is none. */
static enum tw_status conclude(struct tw_choosing *choosing)
{
    double part_s = choosing->found ? choosing->quickest.plan.part_time_s : choosing->too_long_s;

    if (choosing->found && part_s <= LONG_PART_S)
        return TW_OK;
    if (part_s < HUGE_VAL)
        return say_long(choosing, part_s);
    tw_findings_append(choosing->scene.findings, &choosing->refusal);
    return TW_NO_PLAN;
}

/* ---- as before ---- */

static struct tw_choice choice_of(const struct tw_choosing *trials, const struct tw_choosing *fine)
{
    return (struct tw_choice){ fine->quickest.way, fine->best, fine->best_layers,
                               trials->effort_s + finish_effort_s(trials) };
}

/* Nothing is found where it is not possible any more. */
static enum tw_status try_as_before(struct tw_choosing *trials, const struct tw_choice *before)
{
    enum tw_status status;

    trials->last_plain_s = -1.0;
    trials->lifts = before->way.lifts;
    trials->scene.layers_a_round = before->layers_a_round;
    status = try_bulk(trials, &before->bulk, &before->way, 1);
    if (status == TW_OK && trials->found)
        return TW_OK;
    trials->lifts = false;
    trials->scene.layers_a_round = 0;
    tw_findings_free(&trials->refusal);
    return status;
}

/* Where plans are only compared, a layer may have the loops of one that lies lower by this share of all the stock. */
#define LOOPS_WITHIN_SHARE 0.05

enum tw_status tw_choose_try(const struct tw_scene *scene, struct tw_warmth *coarse, const struct tw_cut_limits *limits,
                             const struct tw_layout *layout, double most_s, const struct tw_choice *before,
                             struct tw_choosing **out)
{
    struct tw_choosing *trials = malloc(sizeof *trials);
    enum tw_status status = TW_OK;

    *out = trials;
    if (!trials)
        return tw_no_memory(scene->findings);
    *trials = begin(scene, coarse, limits, layout, most_s);
    trials->scene.loops_within_mm =
        LOOPS_WITHIN_SHARE * tw_face_most_mm(&scene->face, tw_ring_box(&scene->tang.outer).max_x_mm);
    if (before)
        status = try_as_before(trials, before);
    if (status == TW_OK && !trials->found)
        status = try_rounds(trials);
    if (status == TW_OK && trials->found)
        status = price_limits(trials);
    if (status == TW_OK && is_of_no_use(trials))
        return TW_NO_PLAN;
    return status == TW_OK && is_settled(trials) ? conclude(trials) : status;
}

const struct tw_setup_plan *tw_choose_tried(const struct tw_choosing *trials)
{
    return trials->found ? &trials->quickest.plan : NULL;
}

enum tw_status tw_choose_finish(const struct tw_choosing *trials, struct tw_warmth *warmth,
                                const struct tw_cut_limits *limits, struct tw_setup_plan *out)
{
    struct tw_choosing fine = begin(&trials->scene, warmth, limits, trials->layout, HUGE_VAL);
    enum tw_status status;

    fine.scene.loops_within_mm = 0.0;
    status = try_recipes(trials, &fine);
    if (status == TW_OK && !fine.found) {
        tw_findings_free(&fine.refusal);
        status = search_again(&fine);
    }
    if (status == TW_OK)
        status = conclude(&fine);
    *out = fine.quickest.plan;
    out->choice = choice_of(trials, &fine);
    tw_findings_free(&fine.refusal);
    return status;
}

void tw_choose_close(struct tw_choosing *trials)
{
    if (trials)
        forget(trials);
    free(trials);
}
