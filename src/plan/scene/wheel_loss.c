/* wheel_loss.c - see wheel_loss.h. */
#include "plan/scene/wheel_loss.h"

#include "base/numbers.h"
#include "base/text.h"
#include "plan/scene/scene.h"
#include "tangwright/relief.h"
#include "tangwright/wear.h"

#include <math.h>
#include <stdlib.h>

/* A sharp CBN wheel in a resin bond, for the advice; docs/wheel-state.md. */
#define CBN_RATIO 400.0

static double half_tolerance_mm(const struct tw_job *job)
{
    return job->finish.thickness_mm / 2.0;
}

/* For each mm of depth. */
static double deeper(const struct tw_wheel_loss *loss)
{
    return tw_wear_mm(loss->tang_mm2, loss->ratio, loss->area_mm2) -
           tw_wear_mm(loss->tang_mm2, loss->ratio_most, loss->area_mm2);
}

double tw_wheel_loss_depth_mm(const struct tw_job *job, const struct tw_wheel_loss *loss, double depth_mm)
{
    return loss->follows ? depth_mm * (1.0 + deeper(loss)) + loss->jump_mm + tw_infeed_step_mm(job) : depth_mm;
}

double tw_wheel_loss_infeed_mm(const struct tw_job *job, const struct tw_wheel_loss *loss, double infeed_mm)
{
    double step_mm = tw_infeed_step_mm(job);

    return loss->follows ? fmax(step_mm, (infeed_mm - step_mm) / (1.0 + deeper(loss))) : infeed_mm;
}

double tw_wheel_loss_least_mm(const struct tw_wheel_loss *loss, double volume_mm3)
{
    return loss->follows ? tw_wear_mm(volume_mm3, loss->ratio_most, loss->area_mm2) : 0.0;
}

double tw_wheel_loss_round(const struct tw_job *job, enum tw_side side, size_t layers_a_round,
                           struct tw_wheel_loss *loss)
{
    double stay_mm3 = (double)layers_a_round * job->wheel.max_infeed_mm * tw_tang_area_mm2(job);
    double blanks = fmin(job->parts - 1, tw_wear_blanks(job, side)); /* others, since the last dressing */

    if (layers_a_round == 0)
        return tw_wear_jump_mm(loss, blanks * loss->volume_mm3);
    loss->jump_mm = tw_wear_jump_mm(loss, fmin((job->parts - 1) * stay_mm3, blanks * loss->volume_mm3));
    return loss->jump_mm;
}

/* ---- the heights follow ---- */

static double steps_mm(const struct tw_job *job, const struct tw_setup_plan *setup, double volume_mm3)
{
    double step_mm = tw_infeed_step_mm(job);

    return step_mm * floor(tw_wear_mm(volume_mm3, setup->loss.ratio, setup->loss.area_mm2) / step_mm + 1e-6);
}

/* Half of what a layer itself costs counts to it. The thinnest blank of the band costs the wheel least: followed for that
 * one, no blank is cut below its face. What comes on top at a later part is so many steps for all of a stay: then its layers
 * are as deep as the first part's, which is the one whose warmth is followed. */
static double lower_mm(const struct tw_job *job, const struct tw_setup_plan *setup, const struct tw_layer *layer,
                       int part)
{
    const double *since_mm3 = &setup->ledger.since_mm3[layer->stay * (size_t)job->parts];

    return steps_mm(job, setup, since_mm3[0] + layer->gone_mm3) + steps_mm(job, setup, since_mm3[part] - since_mm3[0]);
}

static bool follows(const struct tw_move *move)
{
    return move->role == TW_ROLE_CUT || move->role == TW_ROLE_OVER || move->role == TW_ROLE_INFEED ||
           move->role == TW_ROLE_ACROSS;
}

double tw_plan_lower_mm(const struct tw_job *job, const struct tw_setup_plan *setup, const struct tw_move *move,
                        int part)
{
    const struct tw_layer *layer = move->layer < 0 ? NULL : &setup->layers[move->layer];

    if (part == 0 || !layer || !setup->loss.follows || !follows(move))
        return 0.0;
    return lower_mm(job, setup, layer, part) - lower_mm(job, setup, layer, 0);
}

/* Returns how many stays there are. */
static size_t find_stays(struct tw_setup_plan *setup)
{
    size_t stay = 0;

    for (size_t i = 1; i < setup->move_count; i++) {
        stay += setup->moves[i].enters;
        if (setup->moves[i].layer >= 0)
            setup->layers[setup->moves[i].layer].stay = stay;
    }
    return stay + 1;
}

/* What each stay takes off the thinnest and the thickest blank: two stretches of one allocation. */
struct stays {
    double *thin_mm3, *thick_mm3;
    size_t count;
};

static bool open_stays(size_t count, struct stays *stays)
{
    stays->count = count;
    stays->thin_mm3 = calloc(2 * count, sizeof *stays->thin_mm3);
    stays->thick_mm3 = stays->thin_mm3 ? stays->thin_mm3 + count : NULL;
    return stays->thin_mm3 != NULL;
}

/* A step down on top of a finishing layer is deeper than finish.infeed where that has no room for two of them: then such a layer is
 * as low as the one before it, and what the wheel loses meanwhile stays on the face. */
static bool finishing_has_steps(const struct tw_job *job)
{
    double infeed_mm = fmin(job->finish.infeed_mm, job->wheel.max_infeed_mm);

    return infeed_mm >= 2.0 * tw_infeed_step_mm(job);
}

/* Sets what each layer finds gone in its stay, and sums the stays up. */
static void sum_up_stays(const struct tw_job *job, enum tw_side side, struct tw_setup_plan *setup, struct stays *stays)
{
    double band_mm = job->taper.band_mm, thin_before_mm3 = 0.0, thick_before_mm3 = 0.0;
    bool steps = finishing_has_steps(job);

    for (size_t i = 0; i < setup->layer_count; i++) {
        struct tw_layer *layer = &setup->layers[i];
        double thin_after_mm3 = tw_wear_volume_mm3(job, side, -band_mm, layer->bottom_mm);
        double thick_after_mm3 = tw_wear_volume_mm3(job, side, band_mm, layer->bottom_mm);

        stays->thick_mm3[layer->stay] += layer->caught_mm3;
        layer->gone_mm3 = stays->thin_mm3[layer->stay];
        if (layer->again)
            continue;
        layer->gone_mm3 += (thin_after_mm3 - thin_before_mm3) / 2.0;
        if (layer->kind != TW_LAYER_ROUGH && !steps)
            layer->gone_mm3 = i > 0 && setup->layers[i - 1].stay == layer->stay ? setup->layers[i - 1].gone_mm3 : 0.0;
        stays->thin_mm3[layer->stay] += thin_after_mm3 - thin_before_mm3;
        stays->thick_mm3[layer->stay] += thick_after_mm3 - thick_before_mm3;
        thin_before_mm3 = thin_after_mm3;
        thick_before_mm3 = thick_after_mm3;
    }
}

static bool make_ledger(const struct tw_job *job, struct tw_setup_plan *setup)
{
    struct stays stays;
    bool made = false;

    if (open_stays(find_stays(setup), &stays)) {
        sum_up_stays(job, setup->face.side, setup, &stays);
        made = tw_wear_ledger_make(stays.thin_mm3, stays.thick_mm3, stays.count, job->parts, job->wheel.dress_after_mm3,
                                   &setup->ledger);
    }
    free(stays.thin_mm3);
    return made;
}

/* ---- from stay to stay ---- */

struct parting {
    const struct tw_job *job;
    enum tw_side side;
    struct tw_wheel_loss loss;
    struct tw_setup_plan *setup;
};

/* How much higher than meant a wheel may be that has taken so much off since it was touched off. */
static double unreached_mm(const struct parting *parting, double thin_mm3, double thick_mm3)
{
    const struct tw_wheel_loss *loss = &parting->loss;
    double most_mm = loss->known ? tw_wear_mm(thick_mm3, loss->ratio_least, loss->area_mm2) : 0.0;

    if (!loss->known || !loss->follows)
        return most_mm;
    return fmax(0.0, most_mm - tw_wear_mm(thin_mm3, loss->ratio, loss->area_mm2)) + tw_infeed_step_mm(parting->job);
}

/* Of the thickest blank in a plane so high over the face. */
static double area_mm2(const struct parting *parting, double bottom_mm)
{
    double step_mm = tw_infeed_step_mm(parting->job), band_mm = parting->job->taper.band_mm;

    return (tw_wear_volume_mm3(parting->job, parting->side, band_mm, bottom_mm) -
            tw_wear_volume_mm3(parting->job, parting->side, band_mm, bottom_mm + step_mm)) /
           step_mm;
}

/* A stay ends where the round does, or where one dressing would not do for more. */
static void mark_stays(const struct parting *parting, size_t layers_a_round)
{
    const struct tw_job *job = parting->job;
    struct tw_setup_plan *setup = parting->setup;
    double thin_before_mm3 = 0.0, thick_before_mm3 = 0.0, thin_mm3 = 0.0, thick_mm3 = 0.0;

    for (size_t i = 0; i < setup->layer_count; i++) {
        struct tw_layer *layer = &setup->layers[i];
        double thin_after_mm3 = tw_wear_volume_mm3(job, parting->side, -job->taper.band_mm, layer->bottom_mm);
        double thick_after_mm3 = tw_wear_volume_mm3(job, parting->side, job->taper.band_mm, layer->bottom_mm);
        double by_mm3 = thick_after_mm3 - thick_before_mm3;

        layer->comes = i > 0 && layers_a_round > 0 && i % layers_a_round == 0;
        if (layer->comes)
            thin_mm3 = thick_mm3 = 0.0;
        else if (thick_mm3 > 0.0 && tw_wear_stay_is_full(thick_mm3 + by_mm3, job->wheel.dress_after_mm3)) {
            layer->comes = true;
            thick_mm3 = unreached_mm(parting, thin_mm3, thick_mm3) * area_mm2(parting, setup->layers[i - 1].bottom_mm);
            thin_mm3 = 0.0;
        }
        thin_mm3 += thin_after_mm3 - thin_before_mm3;
        thick_mm3 += by_mm3;
        thin_before_mm3 = thin_after_mm3;
        thick_before_mm3 = thick_after_mm3;
    }
}

static size_t number_stays(struct tw_setup_plan *setup)
{
    size_t stay = 0;

    for (size_t i = 0; i < setup->layer_count; i++) {
        stay += setup->layers[i].comes;
        setup->layers[i].stay = stay;
    }
    return stay + 1;
}

/* The most that the wheel may have left standing on any part in the stay before this one, if it is dressed between the two. */
static double left_standing_mm(const struct parting *parting, const struct tw_wear_ledger *ledger,
                               const struct stays *stays, size_t stay)
{
    size_t parts = (size_t)ledger->parts, before = stay - 1;
    double most_mm = 0.0;

    for (size_t part = 0; part < parts; part++) {
        size_t own = before * parts + part;
        double taken_mm3 = ledger->dresses[own] ? 0.0 : ledger->taken_mm3[own];
        bool dressed = false;

        for (size_t i = own + 1; i <= own + parts; i++)
            dressed |= ledger->dresses[i];
        if (dressed)
            most_mm = fmax(most_mm, unreached_mm(parting, ledger->since_mm3[own] + stays->thin_mm3[before],
                                                 taken_mm3 + stays->thick_mm3[before]));
    }
    return most_mm;
}

/* So many of the layers before layer i that none is cut deeper than it is reckoned with. */
static size_t count_again(const struct parting *parting, size_t i, double standing_mm)
{
    const struct tw_job *job = parting->job;
    const struct tw_layer *layers = parting->setup->layers;
    double last_mm = layers[i - 1].bottom_mm;
    size_t count = 0;

    if (standing_mm + layers[i].depth_mm <=
        tw_wheel_loss_depth_mm(job, &parting->loss, fmax(layers[i].depth_mm, layers[i - 1].depth_mm)))
        return 0;
    do
        count++;
    while (count < i && standing_mm > layers[i - count].bottom_mm - last_mm + layers[i - count].depth_mm);
    return count;
}

static void find_again(const struct parting *parting, const struct tw_wear_ledger *ledger, const struct stays *stays,
                       size_t *again)
{
    for (size_t i = 1; i < parting->setup->layer_count; i++) {
        struct tw_layer *layer = &parting->setup->layers[i];
        double standing_mm =
            layer->comes && ledger->stops > 0 ? left_standing_mm(parting, ledger, stays, layer->stay) : 0.0;

        if (standing_mm > 0.0) {
            again[i] = count_again(parting, i, standing_mm);
            layer->caught_mm3 = standing_mm * area_mm2(parting, parting->setup->layers[i - 1].bottom_mm);
        }
    }
}

enum tw_status tw_wheel_loss_part_stays(const struct tw_job *job, enum tw_side side, size_t layers_a_round,
                                        struct tw_setup_plan *setup, size_t *again, struct tw_findings *findings)
{
    struct parting parting = { job, side, tw_wear_expected(job, side), setup };
    struct tw_wear_ledger ledger = { 0 };
    struct stays stays;
    bool made;

    mark_stays(&parting, layers_a_round);
    if (!(job->wheel.dress_after_mm3 > 0.0))
        return TW_OK;
    made = open_stays(number_stays(setup), &stays);
    if (made) {
        sum_up_stays(job, side, setup, &stays);
        made = tw_wear_ledger_make(stays.thin_mm3, stays.thick_mm3, stays.count, job->parts, job->wheel.dress_after_mm3,
                                   &ledger);
    }
    if (made)
        find_again(&parting, &ledger, &stays, again);
    free(stays.thin_mm3);
    tw_wear_ledger_free(&ledger);
    return made ? TW_OK : tw_no_memory(findings);
}

/* ---- the finished face ---- */

/* How many blanks the wheel has ground when it is last at work on a part. */
static double blanks_by(const struct tw_job *job, const struct tw_setup_plan *setup, int part)
{
    const struct tw_layer *last = &setup->layers[setup->layer_count - 1];
    size_t own = last->stay * (size_t)job->parts + (size_t)part;

    return (setup->ledger.since_mm3[own] + last->gone_mm3) /
           tw_wear_volume_mm3(job, setup->face.side, -job->taper.band_mm, last->bottom_mm);
}

/* `job` as its program finds it. */
static struct tw_wheel_loss part_loss(const struct tw_job *job, const struct tw_setup_plan *setup, int part)
{
    struct tw_wheel_loss loss = setup->loss;

    if (loss.follows)
        loss.followed_mm = lower_mm(job, setup, &setup->layers[setup->layer_count - 1], part);
    if (loss.known && setup->scope != TW_SCOPE_ROUGH)
        tw_wear_set_uncertain(job, setup->face.side, blanks_by(job, setup, part), &loss);
    return loss;
}

struct tw_wheel_loss tw_plan_part_loss(const struct tw_job *job, const struct tw_setup_plan *setup, int part)
{
    struct tw_job own = *job;

    own.task.scope = setup->scope;
    own.task.hollows = setup->hollows;
    own.task.hollow_count = setup->hollow_count;
    return part_loss(&own, setup, part);
}

enum tw_status tw_wheel_loss_follow(const struct tw_job *job, struct tw_setup_plan *setup, struct tw_findings *findings)
{
    setup->loss = tw_wear_expected(job, setup->face.side);
    setup->hollows = job->task.hollows;
    setup->hollow_count = job->task.hollow_count;
    if (!make_ledger(job, setup))
        return tw_no_memory(findings);
    if (!setup->loss.follows)
        return TW_OK;
    for (size_t i = 0; i < setup->move_count; i++)
        if (setup->moves[i].layer >= 0 && follows(&setup->moves[i]))
            setup->moves[i].to.z_mm -= lower_mm(job, setup, &setup->layers[setup->moves[i].layer], 0);
    for (int part = 0; part < job->parts; part++) {
        struct tw_wheel_loss loss = part_loss(job, setup, part);

        if (part == 0 || loss.high_mm > setup->loss.high_mm) {
            loss.standing_mm = fmax(loss.standing_mm, part > 0 ? setup->loss.standing_mm : 0.0);
            setup->loss = loss;
        }
        setup->loss.standing_mm = fmax(setup->loss.standing_mm, loss.standing_mm);
    }
    return TW_OK;
}

/* ---- dressing ---- */

/* A program that stops for it wants a controller that stops. */
static enum tw_status check_stops(const struct tw_job *job, const struct tw_setup_plan *setup,
                                  struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "machine.program.program_stop" };

    if (setup->ledger.stops == 0 || job->machine.dialect.program_stop)
        return TW_OK;
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "side %s takes %.0f mm3 off %d part%s, and the wheel wants dressing after %.0f mm3: the program would have "
        "to stop for it, and this controller has no M0 (program_stop = false;); %s, or take a wheel that goes "
        "longer (wheel.dress_after)",
        tw_side_letter(setup->face.side), job->parts * setup->loss.volume_mm3, job->parts, job->parts > 1 ? "s" : "",
        job->wheel.dress_after_mm3,
        job->parts > 1 ? "grind fewer parts in a program"
                       : "grind each side in two programs (order = \"rough-then-finish\";)");
}

void tw_wheel_loss_remark(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_findings *findings)
{
    struct tw_wheel wheel = *tw_scope_wheel(job, setup->scope);
    double volume_mm3 = job->parts * (setup->scope == TW_SCOPE_RELIEF ? setup->relief.removed_mm3 : 0.0);
    struct tw_place at = { .file = job->path, .key = "wheel.dress_after" };

    if (setup->ledger.stops > 0)
        tw_remark(
            findings, at,
            "side %s%s%s: the program stops %d time%s for the wheel to be dressed, which it wants after %.0f mm3; "
            "begin with a dressed wheel",
            tw_side_letter(setup->face.side), *tw_scope_name(setup->scope) ? ", " : "", tw_scope_name(setup->scope),
            setup->ledger.stops, setup->ledger.stops > 1 ? "s" : "", wheel.dress_after_mm3);
    if (wheel.dress_after_mm3 > 0.0 && volume_mm3 > wheel.dress_after_mm3)
        tw_remark(
            findings, at,
            "side %s, relief: takes off %.0f mm3, and the wheel wants dressing after %.0f mm3, before the program is "
            "through, which does not stop for it: dress right before it, and watch the spindle's power",
            tw_side_letter(setup->face.side), volume_mm3, wheel.dress_after_mm3);
}

/* ---- too uncertain ---- */

/* Ridges between lanes, and steps of the program's heights, lift the middle of the face. */
static double off_mm(const struct tw_job *job, const struct tw_setup_plan *setup, const struct tw_wheel_loss *loss)
{
    double lifted_mm = setup->cusp_mm / 2.0 + (loss->follows ? tw_infeed_step_mm(job) : 0.0);

    return fmax(loss->high_mm + lifted_mm, loss->low_mm);
}

/* The most that stands on the thickest blank over the face that is meant, were the profiles' likely figures right. */
static double standing_mm(const struct tw_setup_plan *setup, const struct tw_wheel_loss *loss)
{
    return setup->cusp_mm + setup->dish_mm + setup->rounded_mm + loss->standing_mm;
}

/* Whether a job altered like this would do, by what is expected before it is planned. */
static bool would_do_as(const struct tw_job *altered, enum tw_scope scope, const struct tw_setup_plan *setup)
{
    struct tw_job own = *altered;
    struct tw_wheel_loss loss;
    double steps_mm = tw_infeed_step_mm(altered) * (altered->parts > 1 ? 2.0 : 1.0);

    own.task.scope = scope;
    own.task.hollows = setup->hollows;
    own.task.hollow_count = setup->hollow_count;
    loss = tw_wear_expected(&own, setup->face.side);
    if (loss.follows) { /* by whole steps: of the first part, and what comes on top at a later one */
        loss.high_mm += steps_mm;
        loss.standing_mm += steps_mm;
    }
    return off_mm(altered, setup, &loss) <= half_tolerance_mm(altered) &&
           standing_mm(setup, &loss) <= altered->finish.flatness_mm;
}

static bool would_do(const struct tw_job *altered, const struct tw_setup_plan *setup)
{
    return would_do_as(altered, setup->scope, setup);
}

static struct tw_job with_ratio(const struct tw_job *job, double times)
{
    struct tw_job altered = *job;

    altered.wheel.grinding_ratio_least *= times;
    altered.wheel.grinding_ratio *= times;
    altered.wheel.grinding_ratio_most *= times;
    return altered;
}

#define MOST_TIMES 1e4
/* Said to two figures. */
static double rounded_up(double value)
{
    double unit = pow(10.0, floor(log10(value)) - 1.0);

    return unit * ceil(value / unit - 1e-9);
}

/* A wheel like this that wears less. */
static void advise_ratio(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    double low = 1.0, high = MOST_TIMES, ratio;
    struct tw_job altered = with_ratio(job, high);

    if (!would_do(&altered, setup))
        return;
    while (high > 1.02 * low) {
        double middle = sqrt(low * high);

        altered = with_ratio(job, middle);
        if (would_do(&altered, setup))
            high = middle;
        else
            low = middle;
    }
    ratio = rounded_up(1.02 * high * job->wheel.grinding_ratio);
    tw_text_print(
        text, "; a wheel that wears less, of a wheel.grinding_ratio of %.4g or more with as wide a range, would do%s",
        ratio, ratio <= CBN_RATIO ? " (CBN in resin has some 400 in plenty of coolant)" : "");
}

/* This wheel, its ratio measured to a tenth. */
static void advise_measuring(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    static const double tens[] = { 0.9, 1.0, 1.1 };
    struct tw_job altered = *job;
    double *ends[] = { &altered.wheel.grinding_ratio_least, &altered.wheel.grinding_ratio,
                       &altered.wheel.grinding_ratio_most };

    for (int i = 0; i < 3; i++)
        *ends[i] = tens[i] * job->wheel.grinding_ratio;
    if (would_do(&altered, setup))
        tw_text_print(text,
                      "; so would this one with its ratio measured to a tenth (docs/bench-tests.md), if it is %.3g: "
                      "wheel.grinding_ratio_least = %.3g; grinding_ratio_most = %.3g;",
                      job->wheel.grinding_ratio, *ends[0], *ends[2]);
}

static void advise_fewer(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    struct tw_job altered = *job;

    for (altered.parts = job->parts - 1; altered.parts > 0; altered.parts--)
        if (would_do(&altered, setup)) {
            tw_text_print(text, "; parts = %d; would do", altered.parts);
            return;
        }
}

/* Nobody tapers for more. Judgement. */
#define MOST_TOLERANCE_MM 0.3
#define MOST_FLATNESS_MM  0.1

static void advise_tolerance(const struct tw_job *job, const struct tw_setup_plan *setup, double off,
                             struct tw_text *text)
{
    struct tw_job altered = *job;

    altered.finish.thickness_mm = rounded_up(2.0 * off);
    if (altered.finish.thickness_mm <= MOST_TOLERANCE_MM && would_do(&altered, setup))
        tw_text_print(text, "; or finish.thickness_tolerance = \"%.4g mm\"", altered.finish.thickness_mm);
}

/* As many finishing layers as a new job has, where there are none. */
#define LAYERS 2

static void advise_order(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    struct tw_job altered = *job;

    altered.order = TW_ORDER_ROUGH_THEN_FINISH;
    altered.finish.layers = job->finish.layers > 0 ? job->finish.layers : LAYERS;
    if (job->order == TW_ORDER_ROUGH_THEN_FINISH || !would_do_as(&altered, TW_SCOPE_FINISH, setup))
        return;
    tw_text_print(text, "; measuring between roughing and finishing (order = \"rough-then-finish\";");
    if (job->finish.layers == 0)
        tw_text_print(text, " finish.layers = %d;", LAYERS);
    tw_text_print(text, ") would do");
}

/* Blanks more alike: what is followed for the thinnest is then nearer to what the thickest costs. To the hundredth. */
static void advise_band(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    struct tw_job altered = *job;
    int hundredths = (int)ceil(job->taper.band_mm * 100.0 - 1e-9) - 1;

    for (; hundredths > 0; hundredths--) {
        altered.taper.band_mm = hundredths / 100.0;
        if (would_do(&altered, setup)) {
            tw_text_print(text, "; taper.thickness_band = \"%.2f mm\" would do", altered.taper.band_mm);
            return;
        }
    }
}

/* A larger flatness lays the lanes of a cup in the level mount farther apart, up to that share of it. */
static void advise_flatness(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    struct tw_job altered = *job;
    bool has_ridges = setup->cusp_mm > 0.0;
    double others_mm = standing_mm(setup, &setup->loss) - (has_ridges ? setup->cusp_mm : 0.0);

    altered.finish.flatness_mm = rounded_up(has_ridges ? others_mm / (1.0 - TW_CUSP_SHARE) : others_mm);
    if (altered.finish.flatness_mm <= MOST_FLATNESS_MM && would_do(&altered, setup))
        tw_text_print(text, "; or finish.flatness = \"%.4g mm\"", altered.finish.flatness_mm);
}

static enum tw_status refuse_uncertain(const struct tw_job *job, const struct tw_setup_plan *setup, double off,
                                       struct tw_findings *findings)
{
    const struct tw_wheel_loss *loss = &setup->loss;
    struct tw_place at = { .file = job->path, .key = "finish.thickness_tolerance" };
    struct tw_text advice = { 0 };
    enum tw_status status;

    advise_order(job, setup, &advice);
    advise_ratio(job, setup, &advice);
    advise_measuring(job, setup, &advice);
    advise_fewer(job, setup, &advice);
    advise_tolerance(job, setup, off, &advice);
    status = advice.failed ? tw_no_memory(findings)
                           : tw_fail(findings, TW_NO_PLAN, at,
                                     "side %s: the wheel loses %.4f to %.4f mm with each part, at a grinding ratio of "
                                     "%.3g to %.3g on this steel with this coolant%s, so that with ridges and steps "
                                     "the face may come out %.4f mm off, and half of the tolerance is %.4f mm%s",
                                     tw_side_letter(setup->face.side), loss->least_mm, loss->most_mm, loss->ratio_least,
                                     loss->ratio_most, loss->follows ? "; the program follows what is likely" : "", off,
                                     half_tolerance_mm(job),
                                     advice.data ? advice.data
                                                 : "; a wheel that wears less, or a larger "
                                                   "tolerance, would help");
    tw_text_free(&advice);
    return status;
}

static enum tw_status refuse_standing(const struct tw_job *job, const struct tw_setup_plan *setup,
                                      struct tw_findings *findings)
{
    const struct tw_wheel_loss *loss = &setup->loss;
    struct tw_place at = { .file = job->path, .key = "finish.flatness" };
    struct tw_text advice = { 0 };
    enum tw_status status;

    advise_order(job, setup, &advice);
    advise_ratio(job, setup, &advice);
    advise_band(job, setup, &advice);
    advise_fewer(job, setup, &advice);
    advise_flatness(job, setup, &advice);
    status =
        advice.failed
            ? tw_no_memory(findings)
            : tw_fail(findings, TW_NO_PLAN, at,
                      "side %s: the wheel's wear leaves %.4f mm standing on the thickest blank of the band%s, and with "
                      "ridges between lanes of %.4f mm, a head out of square by %.4f mm and rounding that is %.4f mm "
                      "where %.4g mm is allowed%s",
                      tw_side_letter(setup->face.side), loss->standing_mm,
                      loss->follows ? "; the program follows what the thinnest costs" : "", setup->cusp_mm,
                      setup->dish_mm, standing_mm(setup, loss), job->finish.flatness_mm,
                      advice.data ? advice.data : "; a wheel that wears less, or a larger flatness, would help");
    tw_text_free(&advice);
    return status;
}

enum tw_status tw_wheel_loss_check(const struct tw_job *job, const struct tw_setup_plan *setup,
                                   struct tw_findings *findings)
{
    double off = off_mm(job, setup, &setup->loss);

    if (check_stops(job, setup, findings) != TW_OK)
        return TW_NO_PLAN;
    if (!setup->loss.known || setup->scope == TW_SCOPE_ROUGH)
        return TW_OK;
    if (off > half_tolerance_mm(job))
        return refuse_uncertain(job, setup, off, findings);
    if (standing_mm(setup, &setup->loss) > job->finish.flatness_mm)
        return refuse_standing(job, setup, findings);
    return TW_OK;
}
