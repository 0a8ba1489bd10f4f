/* budget.c - what the finished thickness and flatness may be off by, each cause at the worse end of its range. Formulas and
 * sources: docs/error-budget.md. */
#include "tangwright/assess.h"

#include "tangwright/contacts.h"

#include "base/numbers.h"
#include "geometry/ring.h"
#include "tangwright/spring.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define EXPANSION_PER_K 11.5e-6
#define UM              1000.0
#define SHIMS           5
#define WARM_SHARE      0.2   /* of the flatness, what the spindle may still grow by during a program */
#define WARM_STEP_S     300.0 /* a warm-up is told in whole steps of this */
#define WARM_MOST_S     7200.0
#define WORTH_UM        0.05 /* less is no row */

/* ---- closed forms ---- */

double tw_bow_mm(double flux_W_per_mm2, double length_mm, double conductivity_W_per_mm_K)
{
    return EXPANSION_PER_K * flux_W_per_mm2 * length_mm * length_mm / (8.0 * conductivity_W_per_mm_K);
}

double tw_growth_mm(double growth_mm, double constant_s, double from_s, double to_s)
{
    return growth_mm * (exp(-from_s / constant_s) - exp(-to_s / constant_s));
}

double tw_warm_up_s(double growth_mm, double constant_s, double program_s, double allowed_mm)
{
    double cold_mm = tw_growth_mm(growth_mm, constant_s, 0.0, program_s), needed_s;

    if (cold_mm <= allowed_mm)
        return 0.0;
    needed_s = constant_s * log(cold_mm / allowed_mm);
    return fmin(WARM_MOST_S, ceil(needed_s / WARM_STEP_S - 1e-9) * WARM_STEP_S);
}

/* ---- what a tang is as a beam ---- */

static double mean_width_mm(const struct tw_job *job)
{
    struct tw_box box = tw_ring_box(&job->part.tang.outer);

    return tw_tang_area_mm2(job) / (box.max_x_mm - box.min_x_mm);
}

static double stiffness_N_mm2(const struct tw_job *job, double thick_mm)
{
    return TW_STEEL_N_PER_MM2 * mean_width_mm(job) * thick_mm * thick_mm * thick_mm / 12.0;
}

/* Over how much its ends stand off, a beam that an even pull would press flat. */
static double pressed_flat_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    double length_mm = tw_tang_end_mm(job), thick_mm = tw_taper_thickness_mm(job, length_mm / 2.0);
    double area_mm2 = fmax(setup->holding.area_mm2, 1.0);
    double pull_N_per_mm = setup->holding.magnet_N * fmin(1.0, tw_tang_area_mm2(job) / area_mm2) / length_mm;

    return 5.0 * pull_N_per_mm * pow(length_mm, 4.0) / (384.0 * stiffness_N_mm2(job, thick_mm));
}

/* ---- what the programs come to ---- */

static bool finishes(const struct tw_setup_plan *setup)
{
    return setup->scope == TW_SCOPE_WHOLE || setup->scope == TW_SCOPE_FINISH;
}

static bool is_last(const struct tw_layer *layer)
{
    return layer->kind != TW_LAYER_ROUGH;
}

/* How warm the tang is over its surroundings while its last layers are ground. */
static double warm_K(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    double highest_degC = job->coolant.temperature_degC;

    for (size_t i = 0; i < setup->layer_count; i++)
        if (is_last(&setup->layers[i]) || i + 1 == setup->layer_count)
            highest_degC = fmax(highest_degC, setup->layers[i].bulk_degC);
    return highest_degC - job->coolant.temperature_degC;
}

static double joint_W_per_mm2_K(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    return job->coolant.joint_conductance_W_per_mm2_K * (setup->face.over_ground ? TW_HISTORY_PACKED_SHARE : 1.0);
}

/* The last layers' share of a program's time. */
static double last_s(const struct tw_setup_plan *setup)
{
    double lanes = 0.0, last = 0.0;

    for (size_t i = 0; i < setup->layer_count; i++) {
        lanes += setup->layers[i].lanes;
        last += is_last(&setup->layers[i]) ? setup->layers[i].lanes : 0.0;
    }
    return lanes > 0.0 ? setup->cycle_time_s * last / lanes : 0.0;
}

/* ---- the rows ---- */

struct budgeting {
    const struct tw_job *job;
    const struct tw_plan *plan;
    struct tw_error_budget *out;
};

static void add(struct budgeting *budgeting, const char *name, double thickness_mm, double flatness_mm,
                const char *cure)
{
    struct tw_error_budget *out = budgeting->out;
    struct tw_error_row *row = &out->rows[out->count];

    if (fmax(thickness_mm, flatness_mm) * UM < WORTH_UM || out->count == TW_ERROR_ROWS)
        return;
    *row = (struct tw_error_row){ .name = name, .thickness_um = thickness_mm * UM, .flatness_um = flatness_mm * UM };
    snprintf(row->cure, sizeof row->cure, "%s", cure);
    out->count++;
}

/* Calls `of` for every program that finishes a face: what each leaves adds up in the thickness, the worst counts for the
 * flatness. */
static void over_faces(const struct budgeting *budgeting,
                       double (*of)(const struct tw_job *job, const struct tw_setup_plan *setup), double *sum_mm,
                       double *most_mm)
{
    *sum_mm = *most_mm = 0.0;
    for (size_t i = 0; i < budgeting->plan->setup_count; i++) {
        const struct tw_setup_plan *setup = &budgeting->plan->setups[i];
        double mm = finishes(setup) ? of(budgeting->job, setup) : 0.0;

        *sum_mm += mm;
        *most_mm = fmax(*most_mm, mm);
    }
}

static double spring_left_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    (void)job;
    return setup->spring_back.left_most_mm;
}

static void add_spring_back(struct budgeting *budgeting)
{
    double sum_mm, most_mm;

    over_faces(budgeting, spring_left_mm, &sum_mm, &most_mm);
    add(budgeting, "spring-back", sum_mm, most_mm,
        "measure the stiffness (docs/bench-tests.md), so that its range shrinks; more spark-outs, a sharper wheel");
}

static double bow_of(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    double flux = joint_W_per_mm2_K(job, setup) * warm_K(job, setup);
    double free_mm = tw_bow_mm(flux, tw_tang_end_mm(job), job->steel.conductivity_W_per_mm_K);

    return fmax(0.0, free_mm - pressed_flat_mm(job, setup));
}

/* Ground too low in the middle, where the warm face bulges: both faces are off, the thickness by as much. */
static void add_bow(struct budgeting *budgeting)
{
    double sum_mm, most_mm;

    over_faces(budgeting, bow_of, &sum_mm, &most_mm);
    add(budgeting, "bow while warm", sum_mm, most_mm,
        "hold the tang down along its length (magnet over solid steel, double-sided tape), let it cool before the last "
        "layers");
}

static double warm_growth_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    return EXPANSION_PER_K * warm_K(job, setup) * job->taper.ricasso_mm;
}

/* Thick and thin end grow unlike. */
static void add_warm_part(struct budgeting *budgeting)
{
    const struct tw_taper *taper = &budgeting->job->taper;
    double sum_mm, most_mm;

    over_faces(budgeting, warm_growth_mm, &sum_mm, &most_mm);
    add(budgeting, "warm part", most_mm, most_mm * (taper->ricasso_mm - taper->butt_mm) / taper->ricasso_mm,
        "measure cold; let it cool before the last layers");
}

static double warm_up_of(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    return tw_warm_up_s(job->machine.growth_mm, job->machine.growth_s, setup->cycle_time_s,
                        WARM_SHARE * job->finish.flatness_mm);
}

static double growth_while_mm(const struct tw_job *job, const struct tw_setup_plan *setup, double first_s,
                              double last_s)
{
    double warm_s = warm_up_of(job, setup);

    return tw_growth_mm(job->machine.growth_mm, job->machine.growth_s, warm_s + first_s, warm_s + last_s);
}

static double growth_of_program_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    return growth_while_mm(job, setup, 0.0, setup->cycle_time_s);
}

static double growth_of_last_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    return growth_while_mm(job, setup, setup->cycle_time_s - last_s(setup), setup->cycle_time_s);
}

static void add_spindle(struct budgeting *budgeting)
{
    const struct tw_machine *machine = &budgeting->job->machine;
    double sum_mm, ignored_mm, last_mm, warm_s = 0.0, cold_mm = 0.0;
    bool inches = budgeting->out->inches;
    char cure[TW_CURE_SIZE];

    for (size_t i = 0; i < budgeting->plan->setup_count; i++) {
        const struct tw_setup_plan *setup = &budgeting->plan->setups[i];

        warm_s = fmax(warm_s, warm_up_of(budgeting->job, setup));
        if (finishes(setup))
            cold_mm += tw_growth_mm(machine->growth_mm, machine->growth_s, 0.0, setup->cycle_time_s);
    }
    budgeting->out->warm_up_s = warm_s;
    over_faces(budgeting, growth_of_program_mm, &sum_mm, &ignored_mm);
    over_faces(budgeting, growth_of_last_mm, &ignored_mm, &last_mm);
    if (warm_s > 0.0)
        snprintf(cure, sizeof cure, "run the spindle %.0f min at its speed before z is set; cold it would be %.*f %s",
                 warm_s / 60.0, inches ? 1 : 0, cold_mm * UM / (inches ? TW_MM_PER_INCH : 1.0), inches ? "thou" : "um");
    else
        snprintf(cure, sizeof cure, "set z anew before each program");
    add(budgeting, "spindle growth", sum_mm, last_mm, cure);
}

static void add_band(struct budgeting *budgeting)
{
    add(budgeting, "thickness band", budgeting->job->taper.band_mm, 0.0,
        "measure each blank and give its own thickness with thickness_band = \"0 mm\"");
}

/* With a gap packed by shims in five places the tang gives way between them, in series with the machine: what the same
 * spark-outs leave then, beyond what the machine alone leaves. */
double tw_shim_sag_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    double span_mm = tw_tang_end_mm(job) / (SHIMS - 1);
    double thick_mm = tw_taper_thickness_mm(job, tw_tang_end_mm(job) - span_mm / 2.0);
    double between_N_per_mm = 48.0 * stiffness_N_mm2(job, thick_mm) / pow(span_mm, 3.0);
    double machine_N_per_mm = job->machine.stiffness_N_per_mm, both;
    const struct tw_layer *last = NULL;
    struct tw_spring alone, softer;

    for (size_t i = 0; i < setup->layer_count; i++)
        if (setup->layers[i].kind != TW_LAYER_SPARK_OUT && setup->layers[i].depth_mm > 0.0)
            last = &setup->layers[i];
    if (!last)
        return 0.0;
    both = 1.0 / (1.0 / machine_N_per_mm + 1.0 / between_N_per_mm);
    alone = tw_spring_of(job->wheel.force_ratio * last->force_N, last->depth_mm, machine_N_per_mm);
    softer = tw_spring_of(job->wheel.force_ratio * last->force_N, last->depth_mm, both);
    return tw_spring_left_mm(&softer, softer.lag_mm, setup->spring_back.spark_outs) -
           tw_spring_left_mm(&alone, alone.lag_mm, setup->spring_back.spark_outs);
}

/* What goes by the face: all faces together on the thickness, the worst of them on the flatness. */
static void add_over_faces(struct budgeting *budgeting, const char *name,
                           double (*of)(const struct tw_job *job, const struct tw_setup_plan *setup), const char *cure)
{
    double sum_mm, most_mm;

    over_faces(budgeting, of, &sum_mm, &most_mm);
    add(budgeting, name, sum_mm, most_mm, cure);
}

static double sag_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    bool solid = setup->holding.rests_carry || job->fixture.packing == TW_PACKING_STEEL || setup->holding.gap_mm <= 0.0;

    return solid ? 0.0 : tw_shim_sag_mm(job, setup);
}

static void add_sag(struct budgeting *budgeting)
{
    add_over_faces(budgeting, "sag between shims", sag_mm,
                   "a solid wedge or rest bar under the tang (tangwright fixture designs one)");
}

static double cusp_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    (void)job;
    return setup->cusp_mm;
}

static void add_ridges(struct budgeting *budgeting)
{
    add_over_faces(budgeting, "ridges between lanes", cusp_mm,
                   "a smaller flatness lays closer lanes; the tilted mount leaves none");
}

static double wear_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    (void)job;
    return fmax(setup->loss.high_mm, setup->loss.low_mm);
}

/* While the last layers are ground; before that the face is not there yet. */
static double wear_of_last_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    double last_mm = 0.0;

    for (size_t i = 0; i < setup->layer_count; i++)
        last_mm += is_last(&setup->layers[i]) ? setup->layers[i].depth_mm : 0.0;
    return setup->loss.volume_mm3 > 0.0
               ? setup->loss.most_mm * fmin(1.0, last_mm * tw_tang_area_mm2(job) / setup->loss.volume_mm3)
               : 0.0;
}

/* What the roughing lost is in the offset by which the finishing goes. */
static bool is_measured_between(const struct tw_plan *plan)
{
    for (size_t i = 0; i < plan->setup_count; i++)
        if (plan->setups[i].scope == TW_SCOPE_FINISH)
            return true;
    return false;
}

static void add_wear(struct budgeting *budgeting)
{
    double sum_mm, most_mm, ignored_mm;

    over_faces(budgeting, wear_mm, &sum_mm, &ignored_mm);
    over_faces(budgeting, wear_of_last_mm, &ignored_mm, &most_mm);
    add(budgeting, "wheel wear", sum_mm, most_mm,
        is_measured_between(budgeting->plan)
            ? "measure the wheel's grinding ratio (docs/wheel-state.md), or take CBN"
            : "measure the wheel's grinding ratio (docs/wheel-state.md), take CBN, or measure between roughing and "
              "finishing (order = \"rough-then-finish\";)");
}

/* Lanes as wide as the wheel, in which the finishing goes, leave ridges where its edges have been rounded by the roughing. */
static double edge_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    double step_mm = setup->crossfeed_mm > 0.0 ? setup->crossfeed_mm : setup->lane_pitch_mm;
    int lanes = 1;

    for (size_t i = 0; i < setup->layer_count; i++)
        lanes = setup->layers[i].lanes > lanes ? setup->layers[i].lanes : lanes;
    if (lanes == 1 || !setup->loss.known)
        return 0.0;
    return tw_wear_edge_mm(job, job->parts * setup->loss.volume_mm3, setup->loss.ratio_least, step_mm);
}

static void add_edge(struct budgeting *budgeting)
{
    double ignored_mm, most_mm;

    over_faces(budgeting, edge_mm, &ignored_mm, &most_mm);
    if (most_mm > 0.0)
        add(budgeting, "edge of the disc", 0.0, most_mm,
            "dress between roughing and finishing and touch the wheel off anew, take CBN, or a wheel wider than the "
            "tang");
}

static double dish_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    (void)job;
    return setup->dish_mm;
}

static void add_dish(struct budgeting *budgeting)
{
    add_over_faces(budgeting, "tilted head", dish_mm, "square the head for the last layers, or take a smaller cup");
}

/* ---- all of it ---- */

static void sum_up(struct tw_error_budget *out)
{
    double thickness = 0.0, flatness = 0.0;

    for (size_t i = 0; i < out->count; i++) {
        const struct tw_error_row *row = &out->rows[i];

        thickness += row->thickness_um * row->thickness_um;
        flatness += row->flatness_um * row->flatness_um;
        if (row->thickness_um > out->rows[out->largest_thickness].thickness_um)
            out->largest_thickness = i;
        if (row->flatness_um > out->rows[out->largest_flatness].flatness_um)
            out->largest_flatness = i;
    }
    out->thickness_um = sqrt(thickness);
    out->flatness_um = sqrt(flatness);
}

struct tw_error_budget tw_error_budget(const struct tw_job *job, const struct tw_plan *plan)
{
    static void (*const rows[])(struct budgeting *) = {
        add_spring_back, add_bow,    add_warm_part, add_spindle, add_band,
        add_sag,         add_ridges, add_wear,      add_edge,    add_dish,
    };
    struct tw_error_budget out = { .flatness_allowed_um = job->finish.flatness_mm * UM,
                                   .inches = job->machine.dialect.inch };
    struct budgeting budgeting = { job, plan, &out };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        rows[i](&budgeting);
    sum_up(&out);
    return out;
}

void tw_error_sentence(const struct tw_error_budget *budget, char *out, size_t size)
{
    const struct tw_error_row *row = &budget->rows[budget->largest_flatness];
    const char *unit = budget->inches ? "thou" : "um";
    double um = budget->inches ? TW_MM_PER_INCH : 1.0; /* in what is shown */
    int decimals = budget->inches ? 2 : 1;

    if (budget->count == 0 || budget->flatness_um <= budget->flatness_allowed_um)
        *out = '\0';
    else
        snprintf(
            out, size,
            "The flatness that the job asks for, %.*f %s, is less than what may add up, %.*f %s; most of it is %s: %s.",
            decimals, budget->flatness_allowed_um / um, unit, decimals, budget->flatness_um / um, unit, row->name,
            row->cure);
}
