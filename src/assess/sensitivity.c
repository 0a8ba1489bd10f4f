/* sensitivity.c - how far each assumption of the heat model moves the peak. Ranges: docs/heat-model.md, section 5. */
#include "tangwright/heat.h"
#include "tangwright/assess.h"

#include "tangwright/relief.h"
#include "tangwright/rim.h"

#include <math.h>

#define SHARPEST_J_per_mm3 25.0
#define DULLEST_J_per_mm3  100.0
#define MOST_EXPONENT      0.6
#define LEAST_EXPONENT     0.2
#define MOST_CHIP_J        8.0
#define SHARP_GRAIN_MM     0.010
#define DULL_GRAIN_MM      0.050
#define LONGEST_RATIO      2.4     /* real over geometric contact of a disc */
#define FLAT_LEAD_IN       0.00873 /* tangents of 0.5 and 3 deg: what an edge wears to */
#define STEEP_LEAD_IN      0.0524
#define FILM_FACTOR        2.0 /* of the coolant's conductance, either way */
#define JOINT_FACTOR       3.0
#define CONDUCTIVITY_PART  0.15

/* The assumptions of one estimate; copies, so that each can be changed. */
struct assumed {
    struct tw_wheel wheel;
    struct tw_steel steel;
    struct tw_coolant coolant;
    double contact_mm;
};

struct hottest {
    const struct tw_job *job;
    const struct tw_layer *layer;
    double wheel_mm_per_s;
    double lean; /* of a cup's rim, on the worst way */
    struct tw_findings *findings;
    double flash_K;       /* of the half-space, as planned and for this layer's depth */
    double heat_W_per_mm; /* into the steel */
};

static double planned_contact_mm(const struct hottest *hottest, const struct tw_wheel *wheel)
{
    return wheel->kind == TW_WHEEL_CUP ? tw_cup_contact_mm(wheel, hottest->lean, hottest->layer->depth_mm)
                                       : tw_disc_contact_mm(hottest->layer->depth_mm, wheel);
}

static enum tw_status flash_of(const struct hottest *hottest, const struct assumed *assumed, double bulk_degC,
                               struct tw_flash *out)
{
    const struct tw_layer *layer = hottest->layer;
    /* At equal depth the faster lanes are the hotter ones. */
    struct tw_contact contact = { layer->depth_mm, layer->lanes > 1 ? layer->later_mm_per_s : layer->table_mm_per_s,
                                  hottest->wheel_mm_per_s, assumed->contact_mm, layer->engaged_mm };

    return tw_flash_estimate(&contact, &assumed->wheel, &assumed->steel, &assumed->coolant, bulk_degC, out,
                             hottest->findings);
}

/* The plan's own peak when nothing is changed: flash and heat count by what they are to those of the plan. */
static enum tw_status peak_of(const struct hottest *hottest, const struct assumed *assumed, double *degC)
{
    const struct tw_layer *layer = hottest->layer;
    double ambient_degC = assumed->coolant.temperature_degC, bulk_degC = layer->bulk_degC, factor;
    double joint = hottest->job->coolant.joint_conductance_W_per_mm2_K / assumed->coolant.joint_conductance_W_per_mm2_K;
    struct tw_flash flash;
    enum tw_status status = flash_of(hottest, assumed, bulk_degC, &flash);

    if (status != TW_OK)
        return status;
    bulk_degC =
        ambient_degC + (bulk_degC - ambient_degC) * joint * flash.share * flash.power_W_per_mm / hottest->heat_W_per_mm;
    status = flash_of(hottest, assumed, bulk_degC, &flash);
    if (status != TW_OK)
        return status;
    factor = tw_exit_edge_factor(flash.peclet) * layer->plate_factor * layer->flash_K / hottest->flash_K;
    *degC = tw_hot_spot(&flash, bulk_degC, factor, &assumed->coolant).degC;
    return TW_OK;
}

/* ---- the rows ---- */

static void set_energy(struct assumed *assumed, double value)
{
    assumed->wheel.specific_energy_J_per_mm3 = value;
}

static void set_exponent(struct assumed *assumed, double value)
{
    assumed->wheel.size_exponent = value;
}

static void set_chips(struct assumed *assumed, double value)
{
    assumed->wheel.chip_energy_J_per_mm3 = value;
}

static void set_grain(struct assumed *assumed, double value_um)
{
    assumed->wheel.grain_radius_mm = value_um / 1e3;
}

static void set_contact(struct assumed *assumed, double value)
{
    assumed->contact_mm = value;
}

static void set_film(struct assumed *assumed, double value_SI)
{
    assumed->coolant.contact_conductance_W_per_mm2_K = value_SI / 1e6;
}

static void set_joint(struct assumed *assumed, double value_SI)
{
    assumed->coolant.joint_conductance_W_per_mm2_K = value_SI / 1e6;
}

static void set_conductivity(struct assumed *assumed, double value_SI)
{
    assumed->steel.conductivity_W_per_mm_K = value_SI / 1e3;
}

struct question {
    struct tw_sensitivity row;
    void (*set)(struct assumed *assumed, double value);
};

static struct question ask(const char *what, const char *unit, double used, double low, double high,
                           void (*set)(struct assumed *assumed, double value))
{
    /* A value outside of the usual range widens it. */
    return (struct question){ { what, unit, used, fmin(used, low), fmax(used, high), 0.0, 0.0 }, set };
}

static struct question ask_contact(const struct hottest *hottest)
{
    const struct tw_wheel *wheel = &hottest->job->wheel;
    double used_mm = planned_contact_mm(hottest, wheel), low_mm = hottest->layer->depth_mm / STEEP_LEAD_IN;
    double high_mm = fmin(wheel->rim_width_mm, hottest->layer->depth_mm / FLAT_LEAD_IN);

    if (wheel->kind == TW_WHEEL_DISC) {
        low_mm = used_mm / wheel->contact_ratio;
        high_mm = LONGEST_RATIO * low_mm;
    }
    return ask("contact length", "mm", used_mm, low_mm, high_mm, set_contact);
}

static size_t ask_all(const struct hottest *hottest, struct question questions[TW_SENSITIVITY_MOST])
{
    const struct tw_wheel *wheel = &hottest->job->wheel;
    double film = hottest->job->coolant.contact_conductance_W_per_mm2_K * 1e6;
    double joint = hottest->job->coolant.joint_conductance_W_per_mm2_K * 1e6;
    double conductivity = hottest->job->steel.conductivity_W_per_mm_K * 1e3;
    size_t n = 0;

    questions[n++] = ask("specific energy at 0.1 um", "J/mm3", wheel->specific_energy_J_per_mm3, SHARPEST_J_per_mm3,
                         DULLEST_J_per_mm3, set_energy);
    questions[n++] = ask("its size exponent", "", wheel->size_exponent, LEAST_EXPONENT, MOST_EXPONENT, set_exponent);
    questions[n++] = ask("energy left in chips", "J/mm3", wheel->chip_energy_J_per_mm3, 0.0, MOST_CHIP_J, set_chips);
    questions[n++] = ask("partition: grain contact radius", "um", wheel->grain_radius_mm * 1e3, SHARP_GRAIN_MM * 1e3,
                         DULL_GRAIN_MM * 1e3, set_grain);
    questions[n++] = ask_contact(hottest);
    if (film > 0.0)
        questions[n++] = ask("coolant in the contact", "W/m2K", film, film / FILM_FACTOR, film * FILM_FACTOR, set_film);
    questions[n++] = ask("joint below", "W/m2K", joint, joint / JOINT_FACTOR, joint * JOINT_FACTOR, set_joint);
    questions[n++] = ask("steel's conductivity", "W/mK", conductivity, (1.0 - CONDUCTIVITY_PART) * conductivity,
                         (1.0 + CONDUCTIVITY_PART) * conductivity, set_conductivity);
    return n;
}

static enum tw_status answer(const struct hottest *hottest, const struct assumed *planned, struct question *question)
{
    struct assumed low = *planned, high = *planned;
    enum tw_status status;

    question->set(&low, question->row.low);
    question->set(&high, question->row.high);
    status = peak_of(hottest, &low, &question->row.low_degC);
    return status == TW_OK ? peak_of(hottest, &high, &question->row.high_degC) : status;
}

enum tw_status tw_plan_sensitivity(const struct tw_job *job, const struct tw_plan *plan,
                                   struct tw_sensitivity rows[TW_SENSITIVITY_MOST], size_t *count,
                                   struct tw_findings *findings)
{
    struct tw_plan_limits limits = tw_plan_limits(plan);
    const struct tw_setup_plan *setup = &plan->setups[limits.setup];
    struct tw_job narrowed = tw_setup_job(job, setup);
    const struct tw_wheel *wheel = &narrowed.wheel;
    struct hottest hottest = { .job = &narrowed,
                               .layer = &setup->layers[limits.layer],
                               .wheel_mm_per_s = setup->wheel_mm_per_s,
                               .lean = tw_plan_lean(&narrowed, setup),
                               .findings = findings };
    struct assumed planned = { *wheel, job->steel, job->coolant, planned_contact_mm(&hottest, wheel) };
    struct question questions[TW_SENSITIVITY_MOST];
    double factor = hottest.layer->edge_factor * hottest.layer->plate_factor;
    struct tw_flash flash;
    enum tw_status status = flash_of(&hottest, &planned, hottest.layer->bulk_degC, &flash);

    *count = 0;
    if (status != TW_OK)
        return status;
    hottest.flash_K = tw_hot_spot(&flash, hottest.layer->bulk_degC, factor, &job->coolant).rise_K / factor;
    hottest.heat_W_per_mm = flash.share * flash.power_W_per_mm;
    *count = ask_all(&hottest, questions);
    for (size_t i = 0; status == TW_OK && i < *count; i++) {
        status = answer(&hottest, &planned, &questions[i]);
        rows[i] = questions[i].row;
    }
    return status;
}
