/* cut.c - the deepest cut at each table speed, and good advice when there is none. */
#include "plan/cuts/cut.h"

#include "base/text.h"
#include "plan/cuts/remedy.h"
#include "plan/cuts/spring_back.h"
#include "plan/scene/wheel_loss.h"
#include "tangwright/contacts.h"
#include "tangwright/rim.h"
#include "tangwright/warm.h"

#include <math.h>

/* The plan keeps this far below the limit: the dry-run, which works the heat out anew from the program's text, may find
 * a pass a little hotter. */
#define GUARD_K 1.0

/* The same of the film's reserve, as a share: the warmth that thicker chips have left rises a little faster than the flash. */
#define FILM_GUARD 0.03

/* The same of power and force, as a share: the dry-run finds a slice a little deeper here and there. */
#define LOAD_GUARD 0.005

/* Of the table speeds of neighbouring rows. */
#define ROW_RATIO 1.08

/* How often the interval between the speeds of two rows is halved. */
#define HALVINGS 6

/* A real-valued comparison of whole steps needs this much slack. */
#define STEP_SLACK 1e-6

#define THINNEST_MM 0.3

/* Deepest that anything comes off this side. */
static double stock_mm(const struct tw_job *job, enum tw_side side)
{
    struct tw_face face = tw_face_of(job, side);

    return fmax(0.0, tw_face_most_mm(&face, face.start_mm + tw_tang_end_mm(job) * face.stretch));
}

/* What the face below still bears where the tang ends. */
static double below_mm(const struct tw_job *job, enum tw_side side)
{
    struct tw_face below = tw_face_of(job, side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A);

    if (tw_face_of(job, side).over_ground || job->one_face)
        return 0.0;
    return fmax(0.0, tw_face_stock_mm(&below, below.start_mm + tw_tang_end_mm(job) * below.stretch));
}

/* Where the tang ends, of the blank in hand; hollows as if they went so far; of a relief's own both faces' are counted in the thickness. */
static double thinnest_mm(const struct tw_job *job, enum tw_side side)
{
    double hollowed_mm = job->task.scope == TW_SCOPE_RELIEF ? 0.0 : job->task.hollowed_mm;
    double thick_mm = tw_taper_thickness_mm(job, tw_tang_end_mm(job)) + tw_taper_thicker_mm(job);

    return fmax(THINNEST_MM, thick_mm + below_mm(job, side) - hollowed_mm);
}

double tw_cut_lean(enum tw_travel_style style, double lean)
{
    switch (style) {
    case TW_STYLE_FROM_RICASSO:
        return lean;
    case TW_STYLE_FROM_BUTT:
        return -lean;
    default:
        return -fabs(lean);
    }
}

double tw_plan_lean(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    return tw_cut_lean(setup->style, tw_face_lean(job, &setup->face));
}

/* Of power and force, what a plan may use. */
static double load_share(const struct tw_job *job)
{
    return 1.0 - job->reserve.load_share - LOAD_GUARD;
}

struct tw_cut_limits tw_cut_limits_of(const struct tw_job *job, enum tw_side side, double wheel_mm_per_s,
                                      double holding_N, struct tw_factors *factors)
{
    double margin_K = job->limits.margin_K + job->reserve.heat_K, loads = load_share(job);
    struct tw_face face = tw_face_of(job, side);
    struct tw_cut_limits limits = {
        .side = side,
        .wheel_mm_per_s = wheel_mm_per_s,
        .energy = tw_energy_reserve(job),
        .limit_degC = job->limits.tempering_degC - margin_K,
        .ambient_degC = job->coolant.temperature_degC,
        .power_W = job->machine.spindle_power_W * loads,
        .force_N = holding_N * loads,
        .thinnest_mm = thinnest_mm(job, side),
        .back_W_per_mm2_K = tw_warm_back_W_per_mm2_K(job, &face),
        .factors = factors,
        .temper = tw_temper_limit_of(job->limits.tempering_degC, margin_K, job->limits.tempering_s,
                                     job->steel.temper_constant),
        .equivalent = job->limits.flash == TW_FLASH_EQUIVALENT,
        .more_passes = tw_finishing_layers(job) + tw_spark_outs_expected(job),
        .reserve = 1.0,
        .film_reserve = job->limits.film_reserve * (1.0 + job->reserve.film_share),
        .film_stated = job->limits.film_reserve,
        .dry_K = job->reserve.dry_K,
        .film_K = job->coolant.boiling_degC - job->coolant.temperature_degC,
    };

    limits.lean = -fabs(tw_face_lean(job, &face)); /* until the way of travel is known */
    limits.loss = tw_wear_expected(job, side);
    limits.infeed_mm = tw_wheel_loss_infeed_mm(job, &limits.loss, job->wheel.max_infeed_mm);
    limits.finish_infeed_mm = fmin(limits.infeed_mm, tw_wheel_loss_infeed_mm(job, &limits.loss, job->finish.infeed_mm));
    limits.stock_mm = stock_mm(job, side);
    return limits;
}

static double contact_mm(const struct tw_job *job, const struct tw_cut_limits *limits, double depth_mm)
{
    if (job->wheel.kind == TW_WHEEL_CUP)
        return tw_cup_contact_mm(&job->wheel, limits->lean, depth_mm);
    return tw_disc_contact_mm(depth_mm, &job->wheel);
}

/* Highest flash that, at every pass that a spot will see, adds up to no more than the equivalent limit allows. */
static double equivalent_degC(const struct tw_job *job, const struct tw_cut_limits *limits, double depth_mm,
                              double table_mm_per_s)
{
    double passes = ceil(limits->stock_mm / depth_mm - STEP_SLACK) + limits->more_passes;
    double contact_s = contact_mm(job, limits, depth_mm) / table_mm_per_s;

    return tw_temper_highest_degC(&limits->temper, fmax(1.0, passes) * limits->reserve * contact_s);
}

/* Of a cut that was judged by the strict limit: what the other one would allow is only told. */
static void note_equivalent(const struct tw_job *job, const struct tw_cut_limits *limits, struct tw_cut *cut)
{
    cut->equivalent_degC =
        limits->equivalent ? cut->flash_limit_degC : equivalent_degC(job, limits, cut->depth_mm, cut->table_mm_per_s);
}

double tw_cut_highest_degC(double flash_limit_degC)
{
    return flash_limit_degC - GUARD_K;
}

double tw_cut_wet_room_K(const struct tw_cut_limits *limits, double peak_degC, double film_times,
                         double film_least_times, double flash_limit_degC)
{
    double counted = tw_film_counted_times(film_times, film_least_times, limits->film_stated);
    double film_room_K = limits->film_K * (counted / (limits->film_reserve * (1.0 + FILM_GUARD)) - 1.0);

    return fmin(tw_cut_highest_degC(flash_limit_degC) - peak_degC, film_room_K);
}

double tw_cut_room_K(const struct tw_cut_limits *limits, const struct tw_history_peak *peak, double flash_limit_degC)
{
    double wet_K = tw_cut_wet_room_K(limits, peak->degC, peak->film_times, peak->film_least_times, flash_limit_degC);
    double highest_degC = tw_cut_highest_degC(flash_limit_degC);
    double dry_K = highest_degC - limits->dry_K - peak->dry_degC, least_K = highest_degC - peak->least_degC;
    double bulk_degC = fmax(peak->highest_bulk_degC, peak->least_bulk_degC);

    return fmin(fmin(fmax(wet_K, dry_K), least_K), limits->limit_degC - GUARD_K - bulk_degC);
}

double tw_engaged_mm(const struct tw_engagement *engagement, double depth_mm)
{
    return fmin(engagement->most_mm, engagement->shallow_mm + engagement->per_depth * depth_mm);
}

/* What a cut does on a plate however thick. */
struct on_any_plate {
    struct tw_flash flash;
    double edge_factor;
    struct tw_cut cut; /* without what the plate's factor changes */
};

static enum tw_status look_at(const struct tw_job *job, const struct tw_cut_limits *limits, double depth_mm,
                              double table_mm_per_s, double engaged_mm, struct on_any_plate *out,
                              struct tw_findings *findings)
{
    struct tw_contact contact = {
        .depth_mm = tw_wheel_loss_depth_mm(job, &limits->loss, depth_mm),
        .table_mm_per_s = table_mm_per_s,
        .wheel_mm_per_s = limits->wheel_mm_per_s,
        .contact_mm = contact_mm(job, limits, depth_mm),
        .engaged_mm = engaged_mm,
    };
    double bulk_degC = limits->ambient_degC + limits->bulk_K;
    struct tw_wheel judged = tw_wheel_at_energy(&job->wheel, limits->energy);
    struct tw_flash *flash = &out->flash;
    enum tw_status status =
        tw_flash_estimate(&contact, &judged, &job->steel, &job->coolant, bulk_degC, flash, findings);

    if (status != TW_OK)
        return status;
    out->edge_factor = tw_exit_edge_factor(flash->peclet);
    out->cut = (struct tw_cut){
        .depth_mm = depth_mm,
        .table_mm_per_s = table_mm_per_s,
        .later_mm_per_s = table_mm_per_s,
        .edge_factor = out->edge_factor,
        .burn_share = flash->specific_energy_J_per_mm3 / tw_burn_energy_J_per_mm3(&contact),
        .flash_limit_degC = limits->limit_degC,
        .loaded_mm = contact.depth_mm,
        .engaged_mm = engaged_mm,
        .power_W = flash->power_W_per_mm / limits->energy * engaged_mm,
        .force_N = flash->tangential_N_per_mm / limits->energy * engaged_mm,
        .binding = TW_BINDS_STOCK,
    };
    if (limits->equivalent)
        out->cut.flash_limit_degC = equivalent_degC(job, limits, depth_mm, table_mm_per_s);
    return TW_OK;
}

/* Each pass before left as much more behind as this one is hotter. */
static double least_film_degC(const struct tw_job *job, const struct tw_cut_limits *limits,
                              const struct tw_flash *flash, double factor)
{
    double hotter = flash->film_rise_K > 0.0 ? flash->film_least_rise_K / flash->film_rise_K : 1.0;
    double bulk_degC = limits->ambient_degC + limits->bulk_K * hotter / limits->energy;

    return bulk_degC + tw_least_film_rise_K(flash, bulk_degC, factor, limits->energy, &job->coolant);
}

static struct tw_cut on_plate(const struct tw_job *job, const struct tw_cut_limits *limits,
                              const struct on_any_plate *any, double factor)
{
    struct tw_cut cut = any->cut;
    double edge = any->edge_factor;
    struct tw_hot_spot spot =
        tw_hot_spot(&any->flash, limits->ambient_degC + limits->bulk_K, edge * factor, &job->coolant);

    cut.reserve_degC = spot.degC;
    cut.flash_K = spot.rise_K / (edge * factor);
    cut.plate_factor = factor;
    cut.dry_degC = spot.dry_degC;
    cut.least_degC = least_film_degC(job, limits, &any->flash, edge * factor);
    cut.boiling_room_K = spot.boiling_room_K;
    cut.film_times = limits->energy * spot.film_times;
    cut.film_least_times = limits->energy * spot.film_least_times;
    cut.boiled =
        tw_film_counted_times(cut.film_times, cut.film_least_times, limits->film_stated) < limits->film_reserve;
    return cut;
}

static double plate_factor(const struct tw_job *job, const struct tw_cut_limits *limits, double depth_mm,
                           double table_mm_per_s)
{
    return tw_factors_get(limits->factors, contact_mm(job, limits, depth_mm), table_mm_per_s, limits->thinnest_mm,
                          limits->back_W_per_mm2_K);
}

enum tw_status tw_cut_estimate(const struct tw_job *job, const struct tw_cut_limits *limits, double depth_mm,
                               double table_mm_per_s, double engaged_mm, struct tw_cut *out,
                               struct tw_findings *findings)
{
    struct on_any_plate any;
    enum tw_status status = look_at(job, limits, depth_mm, table_mm_per_s, engaged_mm, &any, findings);

    if (status != TW_OK)
        return status;
    *out = on_plate(job, limits, &any, plate_factor(job, limits, depth_mm, table_mm_per_s));
    note_equivalent(job, limits, out);
    return TW_OK;
}

double tw_cut_own_room_K(const struct tw_cut *cut, const struct tw_cut_limits *limits)
{
    double highest_degC = tw_cut_highest_degC(cut->flash_limit_degC);
    double wet_K =
        tw_cut_wet_room_K(limits, cut->reserve_degC, cut->film_times, cut->film_least_times, cut->flash_limit_degC);

    return fmin(fmax(wet_K, highest_degC - limits->dry_K - cut->dry_degC), highest_degC - cut->least_degC);
}

bool tw_cut_is_cool(const struct tw_cut *cut, const struct tw_cut_limits *limits)
{
    return tw_cut_own_room_K(cut, limits) >= 0.0;
}

/* The limit that this cut breaks; TW_BINDS_STOCK: none. */
static enum tw_binding broken_limit(const struct tw_cut *cut, const struct tw_cut_limits *limits)
{
    if (!tw_cut_is_cool(cut, limits))
        return cut->boiled ? TW_BINDS_BOILING : TW_BINDS_TEMPERATURE;
    if (cut->force_N > limits->force_N)
        return TW_BINDS_HOLDING;
    if (cut->power_W > limits->power_W)
        return TW_BINDS_POWER;
    return TW_BINDS_STOCK;
}

/* So many depths are tried to find the deepest; enough to halve any interval. */
#define DEPTHS_MOST 32

/* A depth that was tried at the speed in hand, in steps: with another plate factor most of them are tried again. */
struct tried_depth {
    long steps;
    struct on_any_plate any;
};

struct tried_depths {
    struct tried_depth depths[DEPTHS_MOST];
    size_t count;
};

/* What one search needs: the job may be an altered copy when advice is sought. */
struct search {
    const struct tw_job *job;
    const struct tw_cut_limits *limits;
    double step_mm, largest_mm;
    struct tw_engagement engagement;
    enum tw_binding largest_binds;
    struct tw_findings *findings;
};

/* Looks at a depth, unless it has been tried. */
static enum tw_status try_depth(const struct search *search, double table_mm_per_s, long steps,
                                struct tried_depths *tried, const struct on_any_plate **out)
{
    double depth_mm = (double)steps * search->step_mm;
    struct tried_depth *depth;
    size_t i = 0;
    enum tw_status status;

    while (i < tried->count && tried->depths[i].steps != steps)
        i++;
    depth = &tried->depths[i < DEPTHS_MOST ? i : DEPTHS_MOST - 1];
    *out = &depth->any;
    if (i < tried->count)
        return TW_OK;
    status = look_at(search->job, search->limits, depth_mm, table_mm_per_s,
                     tw_engaged_mm(&search->engagement, depth_mm), &depth->any, search->findings);
    depth->steps = steps;
    tried->count += status == TW_OK && tried->count < DEPTHS_MOST;
    return status;
}

/* Largest whole number of infeed steps that breaks no limit at this speed with this plate factor: temperature, force
 * and power all rise with depth, so halving the interval finds it. 0 steps when not even one is allowed. */
static enum tw_status deepest_with(const struct search *search, double table_mm_per_s, double factor,
                                   struct tried_depths *tried, long *steps, struct tw_cut *best)
{
    long low = 0, high = (long)floor(search->largest_mm / search->step_mm + STEP_SLACK) + 1;
    enum tw_binding binding = search->largest_binds;

    *best = (struct tw_cut){ .table_mm_per_s = table_mm_per_s };
    while (high - low > 1) {
        long middle = low + (high - low) / 2;
        const struct on_any_plate *any;
        struct tw_cut cut;
        enum tw_binding broken;
        enum tw_status status = try_depth(search, table_mm_per_s, middle, tried, &any);

        if (status != TW_OK)
            return status;
        cut = on_plate(search->job, search->limits, any, factor);
        broken = broken_limit(&cut, search->limits);
        if (broken == TW_BINDS_STOCK) {
            low = middle;
            *best = cut;
        } else {
            high = middle;
            binding = broken;
        }
    }
    best->binding = binding;
    *steps = low;
    return TW_OK;
}

/* The plate factor takes long to work out and grows with the contact's length: the one for the deepest cut that would
 * be allowed without it errs, if at all, to the safe side. */
static enum tw_status deepest(const struct search *search, double table_mm_per_s, long *steps, struct tw_cut *best)
{
    struct tried_depths tried;
    enum tw_status status;
    double factor;

    tried.count = 0;
    status = deepest_with(search, table_mm_per_s, 1.0, &tried, steps, best);
    if (status != TW_OK || *steps == 0)
        return status;
    factor = plate_factor(search->job, search->limits, best->depth_mm, table_mm_per_s);
    if (factor > 1.0)
        status = deepest_with(search, table_mm_per_s, factor, &tried, steps, best);
    if (status == TW_OK && *steps > 0)
        note_equivalent(search->job, search->limits, best);
    return status;
}

/* The table speeds of a menu: from the slowest feed upwards in even ratios, and the fastest at the end. A machine that goes
 * faster has the same rows and some more, so that a plan for it finds what it would find for the slower one. */
struct rows {
    const struct tw_machine *machine;
    double slow_mm_per_s, fast_mm_per_s, ratio;
    size_t count;
};

static struct rows rows_of(const struct tw_job *job)
{
    struct rows rows = { .machine = &job->machine,
                         .slow_mm_per_s = job->machine.feed_min_mm_per_s,
                         .fast_mm_per_s = tw_fastest_table_mm_per_s(job) };
    double range = rows.fast_mm_per_s / rows.slow_mm_per_s;

    rows.ratio = fmax(ROW_RATIO, pow(range, 1.0 / (TW_CUT_MENU_SIZE - 1)));
    rows.count = (size_t)fmin(TW_CUT_MENU_SIZE, 1.0 + ceil(log(range) / log(rows.ratio) - 1e-9));
    return rows;
}

static double speed_of_row(const struct rows *rows, size_t row)
{
    return tw_representable_feed_mm_per_s(
        rows->machine, fmin(rows->fast_mm_per_s, rows->slow_mm_per_s * pow(rows->ratio, (double)row)));
}

/* Power and force alone, as look_at() finds them. */
static bool overloads(const struct tw_job *job, const struct tw_cut_limits *limits, double depth_mm,
                      double table_mm_per_s, double engaged_mm)
{
    double removal_mm2_per_s = tw_wheel_loss_depth_mm(job, &limits->loss, depth_mm) * table_mm_per_s;
    double chip_mm = removal_mm2_per_s / limits->wheel_mm_per_s;
    double power_W = tw_specific_energy_J_per_mm3(chip_mm, &job->wheel) * removal_mm2_per_s * engaged_mm;

    return power_W > limits->power_W || 1e3 * power_W / limits->wheel_mm_per_s > limits->force_N;
}

/* Whether this cut breaks no limit; its estimate, where it breaks none. What is quickly known is asked first: the plate factor,
 * which takes longest to work out, only where the cut would be allowed on a thick plate, and it is hotter on a thin one. */
static enum tw_status try_cut(const struct tw_job *job, const struct tw_cut_limits *limits, double depth_mm,
                              double table_mm_per_s, double engaged_mm, struct tw_cut *out, bool *allowed,
                              struct tw_findings *findings)
{
    struct on_any_plate any;
    struct tw_cut cut;
    enum tw_status status;

    *allowed = false;
    if (overloads(job, limits, depth_mm, table_mm_per_s, engaged_mm))
        return TW_OK;
    status = look_at(job, limits, depth_mm, table_mm_per_s, engaged_mm, &any, findings);
    if (status != TW_OK)
        return status;
    cut = on_plate(job, limits, &any, 1.0);
    if (broken_limit(&cut, limits) != TW_BINDS_STOCK)
        return TW_OK;
    cut = on_plate(job, limits, &any, plate_factor(job, limits, depth_mm, table_mm_per_s));
    *allowed = broken_limit(&cut, limits) == TW_BINDS_STOCK;
    if (*allowed) {
        note_equivalent(job, limits, &cut);
        *out = cut;
    }
    return TW_OK;
}

/* Between two rows a whole step of depth may still be allowed at a speed well above the slower one's: halves the interval
 * from the cut's own speed, which is allowed, to `too_fast`, which may be. */
static enum tw_status refine_speed(const struct tw_job *job, const struct tw_cut_limits *limits, double engaged_mm,
                                   double too_fast, struct tw_cut *cut, struct tw_findings *findings)
{
    enum tw_binding binding = cut->binding;

    for (int i = 0; i < HALVINGS; i++) {
        double middle = tw_representable_feed_mm_per_s(&job->machine, sqrt(cut->table_mm_per_s * too_fast));
        bool allowed;
        enum tw_status status = try_cut(job, limits, cut->depth_mm, middle, engaged_mm, cut, &allowed, findings);

        if (status != TW_OK)
            return status;
        if (!allowed)
            too_fast = middle;
    }
    cut->binding = binding;
    return TW_OK;
}

/* What later lanes may run at. */
struct later {
    double depth_mm, row_mm_per_s; /* the fastest row that is allowed; 0: none above the cut's own speed */
    struct tw_cut cut;             /* of that row, or the one it was sought for, made quicker */
};

static enum tw_status find_later(const struct tw_job *job, const struct tw_cut_limits *limits, const struct rows *rows,
                                 double engaged_mm, const struct tw_cut *cut, struct later *out,
                                 struct tw_findings *findings)
{
    size_t row = rows->count;
    bool allowed = false;
    enum tw_status status = TW_OK;

    *out = (struct later){ .depth_mm = cut->depth_mm, .cut = *cut };
    for (; status == TW_OK && row > 0; row--) {
        double table_mm_per_s = speed_of_row(rows, row - 1);

        if (table_mm_per_s <= cut->table_mm_per_s)
            break;
        status = try_cut(job, limits, cut->depth_mm, table_mm_per_s, engaged_mm, &out->cut, &allowed, findings);
        if (allowed) {
            out->row_mm_per_s = table_mm_per_s;
            break;
        }
    }
    if (status == TW_OK && row < rows->count)
        status = refine_speed(job, limits, engaged_mm, speed_of_row(rows, row), &out->cut, findings);
    return status;
}

static void note_later(const struct tw_cut *later, struct tw_cut *cut)
{
    cut->later_mm_per_s = later->table_mm_per_s;
    if (later->table_mm_per_s > cut->table_mm_per_s)
        cut->later_force_N = later->force_N;
    cut->burn_share = fmax(cut->burn_share, later->burn_share);
}

enum tw_status tw_cut_later(const struct tw_job *job, const struct tw_cut_limits *limits, double engaged_mm,
                            struct tw_cut *cut, struct tw_findings *findings)
{
    struct rows rows = rows_of(job);
    struct later later;
    enum tw_status status = find_later(job, limits, &rows, engaged_mm, cut, &later, findings);

    note_later(&later.cut, cut);
    return status;
}

/* Slow cuts are often as deep as each other, as deep as the wheel may go: one search will do for them. */
enum tw_status tw_cut_menu_later(const struct tw_job *job, const struct tw_cut_limits *limits, double engaged_mm,
                                 struct tw_cut_menu *menu, struct tw_findings *findings)
{
    struct rows rows = rows_of(job);
    struct later later = { 0 };
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < menu->count; i++) {
        struct tw_cut *cut = &menu->cuts[i];

        if (cut->depth_mm != later.depth_mm || cut->table_mm_per_s >= later.row_mm_per_s)
            status = find_later(job, limits, &rows, engaged_mm, cut, &later, findings);
        note_later(&later.cut, cut);
    }
    return status;
}

/* The largest depth any table speed allows, for advice; real-valued, not in steps. */
static double deepest_at_any_speed_mm(const struct tw_job *job, const struct search *search)
{
    struct search altered = *search;
    struct rows rows = rows_of(job);
    double best_mm = 0.0;

    altered.job = job;
    altered.step_mm = search->step_mm / 16.0;
    for (size_t row = 0; row < rows.count; row += 4) {
        struct tw_cut cut;
        long steps;

        if (deepest(&altered, speed_of_row(&rows, row), &steps, &cut) != TW_OK)
            return 0.0;
        best_mm = fmax(best_mm, cut.depth_mm);
    }
    return best_mm;
}

/* What holds the part is a good deal of work to find. */
static bool holds_alike(const struct tw_job *a, const struct tw_job *b)
{
    return a->fixture.clamp_force_N == b->fixture.clamp_force_N && a->fixture.packing == b->fixture.packing;
}

static void advise(const struct search *search, double needed_mm, struct tw_text *text)
{
    size_t named = 0;

    for (size_t i = 0; i < TW_REMEDIES; i++) {
        struct tw_job altered = *search->job; /* a shallow copy: only numbers are changed */
        struct search other = *search;
        struct tw_cut_limits limits = *search->limits;
        double depth_mm;

        tw_remedies[i].alter(&altered);
        if (!holds_alike(&altered, search->job))
            limits.force_N = load_share(&altered) * tw_holding_N(&altered, limits.side);
        other.limits = &limits;
        other.engagement.shallow_mm *= tw_remedies[i].width;
        other.engagement.most_mm *= tw_remedies[i].width;
        depth_mm = deepest_at_any_speed_mm(&altered, &other);
        if (depth_mm >= needed_mm)
            tw_text_print(text, "%s%s would allow %.4f mm", named++ ? ", " : "; ", tw_remedies[i].what, depth_mm);
    }
    if (!named)
        tw_text_print(text, "; no single remedy that this program knows is enough");
}

static enum tw_status refuse(const struct tw_scene *scene, const struct search *search, double needed_mm,
                             enum tw_binding binding)
{
    const struct tw_job *job = scene->job;
    struct tw_place at = { .file = job->path };
    struct tw_text advice = { 0 };
    double allowed_mm = deepest_at_any_speed_mm(job, search);
    enum tw_status status;

    advise(search, needed_mm, &advice);
    if (advice.failed) {
        tw_text_free(&advice);
        return tw_no_memory(scene->findings);
    }
    status = tw_fail(scene->findings, TW_NO_PLAN, at,
                     "no table speed from %g to %g mm/s allows a pass of %.4f mm (the smallest that wheel and machine "
                     "can make): %s stops it at %.4f mm%s%s",
                     job->machine.feed_min_mm_per_s, tw_fastest_table_mm_per_s(job), needed_mm,
                     tw_binding_name(binding), allowed_mm, allowed_mm > 0.0 ? "" : " already", advice.data);
    tw_text_free(&advice);
    return status;
}

enum tw_status tw_cut_menu_fill(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                                const struct tw_engagement *engagement, double largest_mm,
                                enum tw_binding largest_binds, struct tw_cut_menu *out)
{
    const struct tw_job *job = scene->job;
    struct search search = {
        job, limits, scene->infeed_step_mm, largest_mm, *engagement, largest_binds, scene->findings
    };
    double needed_mm =
        scene->infeed_step_mm * fmax(1.0, ceil(job->wheel.min_infeed_mm / scene->infeed_step_mm - STEP_SLACK));
    enum tw_binding last = TW_BINDS_STOCK;
    struct rows rows = rows_of(job);

    out->count = 0;
    search.largest_mm = fmax(largest_mm, needed_mm);
    for (size_t row = 0; row < rows.count; row++) {
        struct tw_cut cut;
        long steps;
        enum tw_status status = deepest(&search, speed_of_row(&rows, row), &steps, &cut);

        if (status != TW_OK)
            return status;
        if ((double)steps * scene->infeed_step_mm < needed_mm - STEP_SLACK * scene->infeed_step_mm) {
            last = cut.binding;
            continue;
        }
        if (row + 1 < rows.count)
            status = refine_speed(job, limits, tw_engaged_mm(engagement, cut.depth_mm), speed_of_row(&rows, row + 1),
                                  &cut, scene->findings);
        if (status != TW_OK)
            return status;
        out->cuts[out->count++] = cut;
    }
    return out->count > 0 ? TW_OK : refuse(scene, &search, needed_mm, last);
}
