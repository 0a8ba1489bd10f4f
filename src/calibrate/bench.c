/* bench.c - the models of the bench tests, and their fits. */
#include "tangwright/bench.h"

#include "base/numbers.h"
#include "calibrate/cooling.h"
#include "calibrate/squares.h"
#include "tangwright/heat.h"
#include "tangwright/rim.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdlib.h>

#define SURE                                                                                                           \
    2.0 /* a value is known when it lies so many of its standard uncertainties from where it would say nothing */

struct set {
    const struct tw_job *job;
    const struct tw_bench_readings *readings;
    const struct tw_bench_reading **items; /* of one test, in the order of the file */
    size_t count;
    struct tw_findings *findings;
};

static struct tw_bench_value known(double value, double uncertainty)
{
    return (struct tw_bench_value){ true, value, uncertainty };
}

static enum tw_status refuse(const struct set *set, const char *what)
{
    struct tw_place place = { .file = set->readings->path, .line = set->items[set->count - 1]->line };

    return tw_fail(set->findings, TW_BAD_INPUT, place, "%s", what);
}

static double wheel_mm_per_s(const struct tw_job *job)
{
    double rpm = job->machine.spindle_max_rpm;

    if (job->machine.spindle_programmable)
        rpm = floor(fmin(rpm, tw_rim_rpm(job->wheel.diameter_mm, job->wheel.speed_mm_per_s)) + 1e-9);
    return tw_rim_mm_per_s(job->wheel.diameter_mm, rpm);
}

/* ---- passes: stiffness and wear ---- */

/* Height lost up to reading i: a pass takes `share` of what the wheel is too low, and the wheel loses `wear` of what it took. */
static double removed_mm(const struct set *set, double share, double wear, size_t i)
{
    double behind_mm = 0.0, removed = 0.0;

    for (size_t k = 0; k <= i; k++)
        for (int pass = 0; pass < (int)set->items[k]->passes; pass++) {
            double low_mm = behind_mm + set->items[k]->infeed_mm, taken_mm = share * low_mm;

            behind_mm = low_mm - (1.0 + wear) * taken_mm;
            removed += taken_mm;
        }
    return removed;
}

static double pass_residual(const void *context, const double parameters[2], size_t i)
{
    const struct set *set = context;

    return (removed_mm(set, parameters[0], parameters[1], i) - set->items[i]->removed_mm) / set->items[i]->uncertainty;
}

/* Normal force over depth at the passes' own infeed, by the wheel's profile. */
static double cut_N_per_mm(const struct set *set)
{
    const struct tw_wheel *wheel = &set->job->wheel;
    const struct tw_bench_reading *first = set->items[0];
    double speed = wheel_mm_per_s(set->job), infeed_mm = 0.0;
    double tangential_N;

    for (size_t i = 0; i < set->count; i++)
        infeed_mm = fmax(infeed_mm, set->items[i]->infeed_mm);
    tangential_N = tw_specific_energy_J_per_mm3(infeed_mm * first->table_mm_per_s / speed, wheel) * infeed_mm *
                   first->table_mm_per_s * first->width_mm / speed * 1000.0;
    return wheel->force_ratio * tangential_N / infeed_mm;
}

static enum tw_status fit_passes(const struct set *set, struct tw_bench *out)
{
    struct squares squares = {
        .residuals = set->count, .parameters = 2, .residual = pass_residual, .context = set, .step = { 1e-5, 1e-5 }
    };
    static const double starts[] = { 0.3, 0.6, 0.85 };
    struct squares_fit best = { .chi_square = HUGE_VAL }, fit;
    double soft, soft_variance;

    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
        double start[2] = { starts[i], 0.0 };

        if (squares_fit(&squares, start, &fit) && fit.value[0] > 0.0 && fit.value[0] < 1.2 &&
            fit.chi_square < best.chi_square)
            best = fit;
    }
    if (set->count < 3 || !isfinite(best.chi_square))
        return refuse(set,
                      "the passes do not tell stiffness from wear; read the height after 1, 2, 3, 5, 10 and 20 passes");
    out->scatter[TW_BENCH_PASS] = best.scatter;
    out->share = known(best.value[0], sqrt(best.variance[0]));
    out->wear = known(best.value[1], sqrt(best.variance[1]));
    soft = 1.0 / best.value[0] - 1.0 - best.value[1]; /* k_c / k_e */
    soft_variance = best.variance[0] / pow(best.value[0], 4.0) + best.variance[1] +
                    2.0 * best.covariance / (best.value[0] * best.value[0]);
    if (soft <= SURE * sqrt(soft_variance))
        return refuse(
            set, "the machine gives way by less than the readings can tell; take a deeper infeed or a wider cut, or "
                 "a gauge that reads closer");
    out->stiffness_N_per_mm = known(cut_N_per_mm(set) / soft, cut_N_per_mm(set) / soft * sqrt(soft_variance) / soft);
    return TW_OK;
}

/* ---- pull: holding ---- */

static double pull_residual(const void *context, const double parameters[2], size_t i)
{
    const struct set *set = context;
    const struct tw_bench_reading *reading = set->items[i];
    double model = parameters[0] - 2.0 * log1p(reading->gap_mm / exp(parameters[1]));

    return (model - log(reading->force_N / (reading->length_mm * reading->width_mm))) / reading->uncertainty;
}

static enum tw_status fit_pull(const struct set *set, struct tw_bench *out)
{
    double friction = set->job->fixture.friction, steel = set->job->steel.magnetic_pull;
    double start[2] = { log(set->items[0]->force_N / (set->items[0]->length_mm * set->items[0]->width_mm)),
                        log(set->job->fixture.gap_scale_mm) };
    struct squares squares = {
        .residuals = set->count, .parameters = 1, .residual = pull_residual, .context = set, .step = { 1e-5, 1e-5 }
    };
    bool flat = false, lifted = false;
    struct squares_fit fit;
    double sideways;

    for (size_t i = 0; i < set->count; i++) {
        flat = flat || set->items[i]->gap_mm == 0.0;
        lifted = lifted || set->items[i]->gap_mm > 0.0;
    }
    if (flat && lifted)
        squares.parameters = 2;
    if (!flat || !squares_fit(&squares, start, &fit))
        return refuse(set,
                      "the pulls do not tell what holds without a gap; pull the piece lying flat on the magnet too");
    sideways = exp(fit.value[0]);
    out->scatter[TW_BENCH_PULL] = fit.scatter;
    out->sideways_N_per_mm2 = known(sideways, sideways * sqrt(fit.variance[0]));
    if (friction > 0.0 && steel > 0.0)
        out->pull_N_per_mm2 =
            known(sideways / (friction * steel), sideways * sqrt(fit.variance[0]) / (friction * steel));
    if (squares.parameters == 2)
        out->gap_scale_mm = known(exp(fit.value[1]), exp(fit.value[1]) * sqrt(fit.variance[1]));
    return TW_OK;
}

/* ---- dull: when to dress ---- */

static double dull_residual(const void *context, const double parameters[2], size_t i)
{
    const struct set *set = context;
    const struct tw_bench_reading *reading = set->items[i];
    double net_W = reading->power_W - reading->idle_W;
    double unsure_W = reading->uncertainty * hypot(reading->power_W, reading->idle_W);

    return (parameters[0] * (1.0 + parameters[1] * reading->passes) - net_W) / unsure_W;
}

static enum tw_status fit_dull(const struct set *set, struct tw_bench *out)
{
    struct squares squares = {
        .residuals = set->count, .parameters = 2, .residual = dull_residual, .context = set, .step = { 1e-3, 1e-6 }
    };
    double start[2] = { set->items[0]->power_W - set->items[0]->idle_W, 0.0 };
    struct squares_fit fit;

    for (size_t i = 0; i < set->count; i++)
        if (set->items[i]->power_W <= set->items[i]->idle_W)
            return refuse(set, "power is not above idle_power: the cut would take none");
    if (set->count < 2 || !squares_fit(&squares, start, &fit))
        return refuse(
            set, "the powers do not tell how fast the wheel dulls; read them at the same cut just after dressing and "
                 "after more passes");
    out->scatter[TW_BENCH_DULL] = fit.scatter;
    out->fresh_W = known(fit.value[0], sqrt(fit.variance[0]));
    out->growth = known(fit.value[1], sqrt(fit.variance[1]));
    if (fit.value[1] > SURE * sqrt(fit.variance[1]))
        out->dress_passes = known(TW_BENCH_DULL_SHARE / fit.value[1],
                                  TW_BENCH_DULL_SHARE / fit.value[1] * sqrt(fit.variance[1]) / fit.value[1]);
    return TW_OK;
}

/* ---- film: the coolant in the contact ---- */

/* Heat that film and steel share, W/mm2: with the film it divides into h_w dT and h_f dT, without it h_w dT is all. *scale: this
 * contact's h_f over the profile's. */
static enum tw_status shared_flux(const struct set *set, const struct tw_bench_reading *reading, double *out,
                                  double *scale)
{
    const struct tw_job *job = set->job;
    struct tw_face face = tw_face_of(job, TW_SIDE_A);
    struct tw_contact contact = {
        .depth_mm = reading->depth_mm,
        .table_mm_per_s = reading->table_mm_per_s,
        .wheel_mm_per_s = wheel_mm_per_s(job),
        .contact_mm = job->wheel.kind == TW_WHEEL_CUP
                          ? tw_cup_contact_mm(&job->wheel, tw_face_lean(job, &face), reading->depth_mm)
                          : tw_disc_contact_mm(reading->depth_mm, &job->wheel),
    };
    struct tw_coolant one = { .contact_conductance_W_per_mm2_K = 1.0 };
    struct tw_flash flash;
    enum tw_status status = tw_flash_estimate(&contact, &job->wheel, &job->steel, &job->coolant,
                                              job->coolant.temperature_degC, &flash, set->findings);

    if (status != TW_OK)
        return status;
    *out = flash.flux_W_per_mm2 * (1.0 - flash.chip_part);
    *scale = tw_film_conductance_W_per_mm2_K(&one, &contact);
    return TW_OK;
}

static enum tw_status fit_film(const struct set *set, struct tw_bench *out)
{
    double weights = 0.0, sum = 0.0, chi_square = 0.0;

    for (int again = 0; again < 2; again++)
        for (size_t i = 0; i < set->count; i++) {
            const struct tw_bench_reading *reading = set->items[i];
            double start_degC = isnan(reading->start_degC) ? set->job->coolant.temperature_degC : reading->start_degC;
            double wet_K = reading->wet_degC - start_degC, dry_K = reading->dry_degC - start_degC, flux, scale, film,
                   unsure;
            enum tw_status status = shared_flux(set, reading, &flux, &scale);

            if (status != TW_OK)
                return status;
            if (wet_K <= 0.0 || dry_K <= wet_K)
                return refuse(
                    set, "the film takes heat only if it is cooler with coolant than without, and warmer than before "
                         "the pass");
            film = flux / scale * (1.0 / wet_K - 1.0 / dry_K);
            unsure = flux / scale * reading->uncertainty * hypot(1.0 / (wet_K * wet_K), 1.0 / (dry_K * dry_K));
            if (again == 0) {
                weights += 1.0 / (unsure * unsure);
                sum += film / (unsure * unsure);
            } else {
                double off = (film - sum / weights) / unsure;

                chi_square += off * off;
            }
        }
    out->scatter[TW_BENCH_FILM] = set->count > 1 ? fmax(1.0, sqrt(chi_square / (double)(set->count - 1))) : 1.0;
    out->film_W_per_mm2_K = known(sum / weights, out->scatter[TW_BENCH_FILM] / sqrt(weights));
    return TW_OK;
}

/* ---- hanging and seated: a warmed strip cools ---- */

static enum tw_status refuse_strip(const struct set *set, size_t i, const char *what)
{
    struct tw_place place = { .file = set->readings->path, .line = set->items[i]->line };

    return tw_fail(set->findings, TW_BAD_INPUT, place, "%s", what);
}

/* The strip's faces and inside must have one temperature. */
static enum tw_status check_biot(const struct set *set, double upper_W_per_mm2_K, double lower_W_per_mm2_K)
{
    double thickness_mm = set->items[0]->thickness_mm;
    double biot = cooling_biot(upper_W_per_mm2_K, lower_W_per_mm2_K, thickness_mm, &set->job->steel);
    struct tw_place place = { .file = set->readings->path, .line = set->items[set->count - 1]->line };

    if (biot <= TW_BENCH_BIOT_MOST)
        return TW_OK;
    if (!isfinite(biot))
        return refuse(set, "the strip cools faster than heat comes out of this steel; look at thickness, times and the "
                           "coolant's temperature");
    return tw_fail(set->findings, TW_BAD_INPUT, place,
                   "the strip's inside lags behind its faces: Biot's number, mean conductance * half the thickness / "
                   "conductivity, is %.2g, and %g is the most; take a strip of %.2g mm or less",
                   biot, TW_BENCH_BIOT_MOST, thickness_mm * TW_BENCH_BIOT_MOST / biot);
}

static enum tw_status fit_cooling(const struct set *set, struct tw_bench *out, struct cooling_rate *rate)
{
    struct cooling cooling = { set->items, set->count, set->job->coolant.temperature_degC };
    enum tw_bench_test test = set->items[0]->test;

    for (size_t i = 0; i < set->count; i++) {
        if (set->items[i]->thickness_mm != set->items[0]->thickness_mm)
            return refuse_strip(set, i,
                                "the strip has another thickness than before; give each strip a table of its own");
        if (cooling_begins(&cooling, i) && cooling_excess_K(&cooling, i) <= SURE * set->items[i]->uncertainty)
            return refuse_strip(set, i,
                                "the strip is no warmer than the coolant where its cooling begins; warm it by 40 K or "
                                "so, or write what the coolant_temperature was");
    }
    if (set->count < cooling_runs(&cooling) + 2)
        return refuse(set, "so few readings cannot check each other; read the temperature of one cooling three times "
                           "or more, better eight times");
    if (!cooling_fit(&cooling, rate) || SURE * rate->relative >= 1.0)
        return refuse(set, "the temperatures do not tell how fast the strip cools; read on until half of the excess "
                           "over the coolant is gone");
    out->scatter[test] = rate->scatter;
    out->half_time_s[test] = log(2.0) / rate->per_s;
    return TW_OK;
}

/* Uncertainty of a conductance by that of the rate: half of what it changes by from one to the other side of it. */
static double by_rate(double faster_W_per_mm2_K, double slower_W_per_mm2_K)
{
    return (faster_W_per_mm2_K - slower_W_per_mm2_K) / 2.0;
}

static enum tw_status fit_hanging(const struct set *set, struct tw_bench *out)
{
    const struct tw_steel *steel = &set->job->steel;
    double thickness_mm = set->items[0]->thickness_mm, surface, unsure;
    struct cooling_rate rate;
    enum tw_status status = fit_cooling(set, out, &rate);

    if (status != TW_OK)
        return status;
    surface = cooling_hanging_W_per_mm2_K(rate.per_s, thickness_mm, steel);
    status = check_biot(set, surface, surface);
    if (status != TW_OK)
        return status;
    unsure = by_rate(cooling_hanging_W_per_mm2_K(rate.per_s * (1.0 + rate.relative), thickness_mm, steel),
                     cooling_hanging_W_per_mm2_K(rate.per_s * (1.0 - rate.relative), thickness_mm, steel));
    out->surface_W_per_mm2_K = known(surface, unsure);
    return TW_OK;
}

static enum tw_status fit_seated(const struct set *set, struct tw_bench *out)
{
    const struct tw_steel *steel = &set->job->steel;
    double thickness_mm = set->items[0]->thickness_mm, joint, unsure;
    struct tw_bench_value surface = out->surface_W_per_mm2_K;
    struct cooling_rate rate;
    enum tw_status status = fit_cooling(set, out, &rate);

    if (status != TW_OK)
        return status;
    if (!surface.known)
        surface = known(set->job->coolant.surface_conductance_W_per_mm2_K, 0.0);
    joint = cooling_seated_W_per_mm2_K(rate.per_s, thickness_mm, surface.value, steel);
    status = check_biot(set, surface.value, joint);
    if (status != TW_OK)
        return status;
    unsure =
        by_rate(cooling_seated_W_per_mm2_K(rate.per_s * (1.0 + rate.relative), thickness_mm, surface.value, steel),
                cooling_seated_W_per_mm2_K(rate.per_s * (1.0 - rate.relative), thickness_mm, surface.value, steel));
    unsure = hypot(unsure, surface.uncertainty); /* what the upper face takes more, the joint takes less */
    if (joint <= SURE * unsure)
        return refuse(set, "the joint takes no more than the readings can tell beside the upper face; measure that "
                           "by a test \"hanging\", and read the temperature oftener");
    out->joint_W_per_mm2_K = known(joint, unsure);
    return TW_OK;
}

/* ---- all ---- */

enum tw_status tw_bench_fit(const struct tw_job *job, const struct tw_bench_readings *readings, struct tw_bench *out,
                            struct tw_findings *findings)
{
    static enum tw_status (*const fits[TW_BENCH_TESTS])(const struct set *, struct tw_bench *) = {
        [TW_BENCH_PASS] = fit_passes, [TW_BENCH_PULL] = fit_pull,       [TW_BENCH_DULL] = fit_dull,
        [TW_BENCH_FILM] = fit_film,   [TW_BENCH_HANGING] = fit_hanging, [TW_BENCH_SEATED] = fit_seated
    };
    struct set set = { .job = job, .readings = readings, .findings = findings };
    enum tw_status worst = TW_OK;

    *out = (struct tw_bench){ 0 };
    set.items = calloc(readings->count + 1, sizeof *set.items);
    if (!set.items)
        return tw_no_memory(findings);
    for (int test = 0; test < TW_BENCH_TESTS; test++) {
        enum tw_status status = TW_OK;

        set.count = 0;
        for (size_t i = 0; i < readings->count; i++)
            if (readings->items[i].test == (enum tw_bench_test)test)
                set.items[set.count++] = &readings->items[i];
        out->counts[test] = set.count;
        if (set.count > 0)
            status = fits[test](&set, out);
        worst = worst == TW_OK ? status : worst;
    }
    free(set.items);
    return worst;
}
