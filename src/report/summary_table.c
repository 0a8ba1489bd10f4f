/* summary_table.c - the plan's figures for a person: what will happen, how long, how hot, and what binds. */
#include "tangwright/assess.h"
#include "tangwright/report.h"

#include "base/numbers.h"
#include "base/text.h"
#include "base/units.h"
#include "report/balance_parts.h"
#include "report/budget_parts.h"
#include "report/lengths.h"
#include "tangwright/program.h"
#include "tangwright/relief.h"
#include "tangwright/rim.h"
#include "tangwright/warm.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void line(struct tw_text *text, const char *label, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void line(struct tw_text *text, const char *label, const char *format, ...)
{
    va_list arguments;

    tw_text_print(text, "  %-19s ", label);
    va_start(arguments, format);
    tw_text_vprint(text, format, arguments);
    va_end(arguments);
    tw_text_append(text, "\n", 1);
}

/* Shown in um, or thou. */
static struct tw_length fine(double mm)
{
    return (struct tw_length){ mm, TW_FINE };
}

/* Lengths of the job, one for each "{}"; see lengths.h. */
static void line_of(struct tw_text *text, const char *label, const struct tw_job *job, const char *words,
                    const struct tw_length *lengths)
{
    tw_text_print(text, "  %-19s ", label);
    tw_lengths_print(text, tw_job_in_inches(job), words, lengths);
    tw_text_append(text, "\n", 1);
}

static void print_duration(struct tw_text *text, const char *label, double time_s)
{
    long whole_s = lround(time_s);

    if (whole_s >= 3600)
        line(text, label, "%ld h %02ld min %02ld s", whole_s / 3600, whole_s / 60 % 60, whole_s % 60);
    else
        line(text, label, "%ld min %02ld s", whole_s / 60, whole_s % 60);
}

/* A line with readings in place of each "{}", in the units of the machine; behind them, in brackets, the same in the other. */
static void line_of_degrees(struct tw_text *text, const char *label, const struct tw_job *job, const char *words,
                            const double *degC)
{
    struct tw_text said = { 0 };

    tw_degrees_print(&said, tw_job_in_inches(job), words, degC);
    line(text, label, "%s", said.data ? said.data : "");
    text->failed |= said.failed;
    tw_text_free(&said);
}

/* The peak as it is expected, and as the limit judges it; without a reserve both are the same. */
static void print_hottest(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan)
{
    struct tw_plan_limits limits = tw_plan_limits(plan);
    double allowed_degC = limits.used == TW_FLASH_STRICT ? limits.strict_degC : limits.equivalent_degC;
    char words[TW_ENERGY_WORDS], shown[80];

    if (tw_energy_largest_reserve(job) != 1.0)
        line_of_degrees(text, "peak, estimated", job, "{}", &plan->peak_degC);
    snprintf(shown, sizeof shown, "{} of {} allowed, %s", tw_flash_limit_name(limits.used));
    line_of_degrees(text, tw_energy_largest_reserve(job) == 1.0 ? "peak, estimated" : "with the reserve", job, shown,
                    (double[]){ limits.reserve_degC, allowed_degC });
    if (limits.used == TW_FLASH_EQUIVALENT) {
        snprintf(shown, sizeof shown, "as much as %.3g h at {}, of {} allowed", job->limits.tempering_s / 3600.0);
        line_of_degrees(text, "tempering in all", job, shown,
                        (double[]){ fmax(limits.tempering.equivalent_degC[0], limits.tempering.equivalent_degC[1]),
                                    limits.tempering.allowed_degC });
    }
    if (limits.used == TW_FLASH_EQUIVALENT)
        line(text, "",
             "the rule behind it was checked against measured hardness down to 10 s; flashes are far shorter");
    tw_energy_words(job, words);
    line(text, "calibration", "%s", words);
}

/* What rests on the coolant, and what becomes of the face without it. */
static void print_coolant(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan)
{
    struct tw_plan_film film = tw_plan_film(job, plan);
    char words[TW_FILM_WORDS];

    if (!film.wet)
        return;
    line_of_degrees(text, "coolant", job,
                    film.hardens ? "aimed and flowing, or {}: THE STEEL WOULD HARDEN AGAIN"
                                 : "aimed and flowing, or {}",
                    &film.dry_degC);
    tw_plan_film_words(&film, words);
    line(text, "its film", "%s", words);
}

static void print_burn(struct tw_text *text, const struct tw_plan *plan)
{
    struct tw_plan_burn burn = tw_plan_burn(plan);

    line(text, "burn line", "%.2f of it used with the reserve, side %s, layer %zu%s", burn.share,
         tw_side_letter(plan->setups[burn.setup].face.side), burn.layer + 1,
         burn.warns ? ": ABOVE 0.7 THE STEEL MAY BURN" : "");
}

static void find_bulk(const struct tw_plan *plan, double *expected_degC, double *reserve_degC)
{
    *expected_degC = *reserve_degC = -HUGE_VAL;
    for (size_t i = 0; i < plan->setup_count; i++) {
        *expected_degC = fmax(*expected_degC, plan->setups[i].bulk_degC);
        *reserve_degC = fmax(*reserve_degC, plan->setups[i].reserve_bulk_degC);
    }
}

/* The tang itself, what the flashes do together, and what the other limit says. */
static void print_limits(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan)
{
    struct tw_plan_limits limits = tw_plan_limits(plan);
    const struct tw_tempering *tempering = &limits.tempering;
    double bulk_degC, reserve_degC;
    char shown[128];

    find_bulk(plan, &bulk_degC, &reserve_degC);
    line_of_degrees(text, "tang itself", job, "{}, with the reserve {} of {} allowed",
                    (double[]){ bulk_degC, reserve_degC, plan->limit_degC });
    snprintf(shown, sizeof shown, "as much as %.3g h at {} (C = %.3g) or {} (C = %.3g); the equivalent limit is {}",
             job->limits.tempering_s / 3600.0, tempering->constants[0], tempering->constants[1]);
    line_of_degrees(
        text, "flashes together", job, shown,
        (double[]){ tempering->equivalent_degC[0], tempering->equivalent_degC[1], tempering->allowed_degC });
    line(text, "softened skin", "%.2f mm, %.2f mm of it left in the finished face", tempering->softened_mm,
         tempering->left_mm);
    if (limits.used == TW_FLASH_STRICT)
        line_of_degrees(text, "other limit", job, "equivalent would let such flashes reach {}",
                        &limits.equivalent_degC);
    else
        line_of_degrees(text, "other limit", job,
                        limits.strict_allows ? "strict would allow this: {} of {}"
                                             : "strict would refuse this: {} of {}",
                        (double[]){ limits.reserve_degC, limits.strict_degC });
}

/* Less than this is not worth a limit's being looked at. */
#define WORTH_SAYING_S 1.0

static void print_prices(struct tw_text *text, const struct tw_plan *plan)
{
    struct tw_text prices = { 0 };
    char *words;

    for (int limit = 0; limit < TW_LIMIT_COUNT; limit++)
        if (plan->saves_s[limit] >= WORTH_SAYING_S)
            tw_text_print(&prices, "%s%s %.0f s", prices.length ? ", " : "", tw_limit_name(limit),
                          plan->saves_s[limit]);
    words = tw_text_take(&prices);
    if (words && *words)
        line(text, "a tenth looser", "would save: %s", words);
    free(words);
}

/* Which way round, and what the other one would have taken. */
static void print_relief_order(struct tw_text *text, const struct tw_plan *plan)
{
    double used_s = plan->relief_first ? plan->relief_first_s : plan->relief_last_s;
    double other_s = plan->relief_first ? plan->relief_last_s : plan->relief_first_s;
    const char *used = plan->relief_first ? "before" : "after", *other = plan->relief_first ? "after" : "before";

    if (used_s <= 0.0)
        return;
    if (other_s > 0.0)
        line(text, "relief", "%s the taper: %.1f min in all; %s it about %.1f min", used, used_s / 60.0, other,
             other_s / 60.0);
    else
        line(text, "relief", "%s the taper", used);
}

static void print_blank(struct tw_text *text, const char *which, const struct tw_job *job)
{
    double begin_mm = tw_taper_begin_mm(job), butt_mm = tw_taper_butt_mm(job);

    if (fabs(begin_mm) < 0.005)
        line_of(text, which, job, "tapered from the taper start, {} thick at the butt",
                (struct tw_length[]){ { butt_mm, 3 } });
    else
        line_of(text, which, job,
                begin_mm < 0.0 ? "tapered from {} ahead of the taper start, {} thick at the butt"
                               : "tapered from {} behind the taper start, {} thick at the butt",
                (struct tw_length[]){ { fabs(begin_mm), 2 }, { butt_mm, 3 } });
}

/* Which blanks the programs are for, and what becomes of the ends of the band. */
static void print_blanks(struct tw_text *text, const struct tw_job *job)
{
    const struct tw_taper *taper = &job->taper;
    struct tw_job thickest = tw_blank_job(job, taper->band_mm), thinnest = tw_blank_job(job, -taper->band_mm);
    const char *zero = taper->zero == TW_ZERO_PAD ? "the datum pad" : "each ricasso's upper face, at the taper start";

    line(text, "z zero", "on %s", zero);
    if (taper->band_mm <= 0.0) {
        line_of(text, "blank", job, "of {} at the ricasso; for another plan again",
                (struct tw_length[]){ { taper->ricasso_mm, 3 } });
        return;
    }
    line_of(text, "blanks", job, "of {} to {} at the ricasso; for others plan again",
            (struct tw_length[]){ { tw_blank_mm(&thinnest), 3 }, { tw_blank_mm(&thickest), 3 } });
    print_blank(text, "the thickest", &thickest);
    print_blank(text, "the thinnest", &thinnest);
}

/* Of the hottest layer; a disc has no rim. */
static void print_rim(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan)
{
    struct tw_plan_limits limits = tw_plan_limits(plan);
    const struct tw_setup_plan *setup = &plan->setups[limits.setup];
    const struct tw_wheel *wheel = tw_scope_wheel(job, setup->scope);
    char words[TW_RIM_WORDS];

    if (wheel->kind != TW_WHEEL_CUP)
        return;
    tw_rim_words(wheel, tw_plan_lean(job, setup), setup->layers[limits.layer].depth_mm, words);
    line(text, "rim", "%s", words);
    if (setup->dish_mm > 0.0) {
        char tilted[96];

        snprintf(tilted, sizeof tilted, "tilted by %.4g deg: the middle of the face comes out {} hollow",
                 tw_degrees(job->machine.head_tilt_rad));
        line_of(text, "head", job, tilted, (struct tw_length[]){ { setup->dish_mm, 4 } });
    }
}

static void print_taken_off(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan)
{
    double in3 = plan->removed_mm3 / TW_MM3_PER_INCH3, ounces = plan->removed_g / TW_G_PER_OUNCE;

    if (tw_job_in_inches(job))
        line(text, "taken off", "%.4f in3, %.3f oz a part   (%.1f mm3, %.2f g)", in3, ounces, plan->removed_mm3,
             plan->removed_g);
    else
        line(text, "taken off", "%.1f mm3, %.2f g a part   (%.4f in3, %.3f oz)", plan->removed_mm3, plan->removed_g,
             in3, ounces);
}

static double ft_per_min(double mm_per_s)
{
    return mm_per_s * 60.0 / (12.0 * TW_MM_PER_INCH);
}

static void print_rim_speed(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan)
{
    double runs = plan->wheel_mm_per_s, may = job->wheel.operating_speed_mm_per_s;

    if (tw_job_in_inches(job))
        line(text, "wheel", "%.0f rpm, %.0f ft/min   (%.2f m/s; operating speed %.0f ft/min)", plan->spindle_rpm,
             ft_per_min(runs), runs / 1000.0, ft_per_min(may));
    else
        line(text, "wheel", "%.0f rpm, %.2f m/s   (%.0f ft/min; operating speed %.1f m/s)", plan->spindle_rpm,
             runs / 1000.0, ft_per_min(runs), may / 1000.0);
}

static void print_overall(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan, bool detail)
{
    tw_text_print(text, "%s: %s on %s\n", job->name, job->wheel.name, job->machine.name);
    line_of(text, "taper", job, "{} to {} over {}",
            (struct tw_length[]){ { job->taper.ricasso_mm, 3 },
                                  { tw_taper_stated_mm(job, job->taper.length_mm), 3 },
                                  { job->taper.length_mm, 1 } });
    print_blanks(text, job);
    line(text, "passes", "%d", plan->pass_count);
    print_duration(text, "cycle time", plan->cycle_time_s);
    print_prices(text, plan);
    print_relief_order(text, plan);
    print_hottest(text, job, plan);
    print_coolant(text, job, plan);
    print_burn(text, plan);
    if (detail)
        print_limits(text, job, plan);
    print_taken_off(text, job, plan);
    print_rim_speed(text, job, plan);
    print_rim(text, job, plan);
}

/* Layers that were planned alike are shown in one row; without detail those too that go at other speeds to the same depth. */
static bool alike(const struct tw_layer *a, const struct tw_layer *b, bool detail)
{
    return a->kind == b->kind && a->again == b->again && fabs(a->depth_mm - b->depth_mm) < 1e-9 &&
           a->lanes == b->lanes && a->binding == b->binding &&
           (!detail || (fabs(a->table_mm_per_s - b->table_mm_per_s) < 1e-9 && a->boiled == b->boiled));
}

/* What a row says of its layers. */
struct row {
    const struct tw_layer *first;
    size_t from, to; /* counted from 0; `to` is not one of them */
    double slowest_mm_per_s, fastest_mm_per_s, peak_degC, reserve_degC, dwell_s, film_times;
    bool boiled; /* of those whose film lasts least */
};

static struct row row_from(const struct tw_setup_plan *setup, size_t from, bool detail)
{
    const struct tw_layer *layers = setup->layers;
    struct row row = { .first = &layers[from],
                       .from = from,
                       .to = from,
                       .slowest_mm_per_s = layers[from].table_mm_per_s,
                       .film_times = HUGE_VAL,
                       .peak_degC = -HUGE_VAL,
                       .reserve_degC = -HUGE_VAL };

    for (; row.to < setup->layer_count && alike(row.first, &layers[row.to], detail); row.to++) {
        const struct tw_layer *layer = &layers[row.to];

        row.slowest_mm_per_s = fmin(row.slowest_mm_per_s, layer->table_mm_per_s);
        row.fastest_mm_per_s = fmax(row.fastest_mm_per_s, fmax(layer->table_mm_per_s, layer->later_mm_per_s));
        row.peak_degC = fmax(row.peak_degC, layer->peak_degC);
        row.reserve_degC = fmax(row.reserve_degC, layer->reserve_degC);
        row.dwell_s += layer->dwell_s;
        row.boiled = layer->film_times <= row.film_times ? layer->boiled : row.boiled;
        row.film_times = fmin(row.film_times, layer->film_times);
    }
    return row;
}

/* Whether the layer counts on the film of coolant, and up to how many times the wheel's energy that lasts. */
static void print_film(char *out, size_t size, const struct row *row)
{
    if (isfinite(row->film_times))
        snprintf(out, size, row->boiled ? "dry, %.2f" : "wet, %.2f", row->film_times);
    else
        snprintf(out, size, "-");
}

/* Where a layer has several lanes the later ones, which find less stock beside them, may go faster. */
static void print_table_speed(char *out, size_t size, const struct row *row, bool inches)
{
    double shown = inches ? 60.0 / TW_MM_PER_INCH : 1.0;
    double slowest = shown * row->slowest_mm_per_s, fastest = shown * row->fastest_mm_per_s;

    snprintf(out, size, fastest - slowest >= 0.05 ? "%.1f to %.1f" : "%.1f", slowest, fastest);
}

static double shown_degrees(double degC, bool inches)
{
    return inches ? tw_degF(degC) : degC;
}

static void print_layers(struct tw_text *text, const struct tw_job *job, const struct tw_setup_plan *setup, bool detail)
{
    bool inches = tw_job_in_inches(job);

    tw_text_print(text, "    %-11s %-9s %16s %16s %6s %6s %8s  %-12s %8s  %s\n", "layers", "",
                  inches ? "depth in (mm)" : "depth mm (in)", inches ? "table in/min" : "table mm/s", "lanes",
                  inches ? "degF" : "degC", "reserve", "film lasts", "waits s", "bound by");
    for (size_t from = 0; from < setup->layer_count;) {
        struct row row = row_from(setup, from, detail);
        const struct tw_layer *layer = row.first;
        char range[48], depth[48], film[16], table[48];

        print_film(film, sizeof film, &row);
        print_table_speed(table, sizeof table, &row, inches);
        snprintf(range, sizeof range, row.to - from > 1 ? "%zu-%zu" : "%zu", from + 1, row.to);
        snprintf(depth, sizeof depth, inches ? "%.5f (%.4f)" : "%.4f (%.5f)",
                 layer->depth_mm / (inches ? TW_MM_PER_INCH : 1.0), layer->depth_mm / (inches ? 1.0 : TW_MM_PER_INCH));
        tw_text_print(text, "    %-11s %-9s %16s %16s %6d %6.0f %8.0f  %-12s %8.1f  %s\n", range, tw_layer_name(layer),
                      depth, table, layer->lanes, shown_degrees(row.peak_degC, inches),
                      shown_degrees(row.reserve_degC, inches), film, row.dwell_s, tw_binding_name(layer->binding));
        from = row.to;
    }
}

static void print_relief(struct tw_text *text, const struct tw_job *job, const struct tw_setup_plan *setup)
{
    const struct tw_relief_figures *relief = &setup->relief;
    char hollow[96];

    snprintf(hollow, sizeof hollow, "{} deep, %.0f of the %.0f mm2 inside the land", relief->reached_mm2,
             relief->region_mm2);
    line_of(text, "hollow", job, hollow, (struct tw_length[]){ { job->relief.depth_mm, 3 } });
    line(text, "wheel", "%s, %.0f rpm, %.2f m/s", tw_scope_wheel(job, setup->scope)->name, setup->spindle_rpm,
         setup->wheel_mm_per_s / 1000.0);
    if (relief->loss.known)
        line_of(text, "its wheel loses", job, "{}, or {} to {}: the hollow comes out so much shallower in the end",
                (struct tw_length[]){ fine(relief->loss.likely_mm), fine(relief->loss.least_mm),
                                      fine(relief->loss.most_mm) });
}

static void print_holding(struct tw_text *text, const struct tw_job *job, const struct tw_setup_plan *setup)
{
    const struct tw_holding *holding = &setup->holding;
    const char *where = holding->turns ? "at the butt end" : "sideways";
    char words[128];

    if (job->fixture.pull_N_per_mm2 <= 0.0)
        line(text, "holding", "%.1f N %s, by clamps of %.0f N   (%.1f lbf)", holding->force_N, where, holding->clamp_N,
             holding->force_N / TW_N_PER_LBF);
    else if (tw_job_in_inches(job))
        line(text, "holding", "%.1f N %s: clamps %.0f N, magnet %.0f N over %.2f of %.2f in2 that touch   (%.1f lbf)",
             holding->force_N, where, holding->clamp_N, holding->magnet_N,
             holding->touching_mm2 / (TW_MM_PER_INCH * TW_MM_PER_INCH),
             holding->area_mm2 / (TW_MM_PER_INCH * TW_MM_PER_INCH), holding->force_N / TW_N_PER_LBF);
    else
        line(text, "holding", "%.1f N %s: clamps %.0f N, magnet %.0f N over %.1f of %.1f cm2 that touch   (%.1f lbf)",
             holding->force_N, where, holding->clamp_N, holding->magnet_N, holding->touching_mm2 / 100.0,
             holding->area_mm2 / 100.0, holding->force_N / TW_N_PER_LBF);
    if (holding->turns) {
        snprintf(words, sizeof words, "about {} by a push across at {}, the butt end; sliding alone takes %.1f N%s",
                 holding->sliding_N, holding->again ? "; as run again on side B roughed" : "");
        line_of(text, "  turning", job, words,
                (struct tw_length[]){ { holding->about_mm, 0 }, { holding->push_mm, 0 } });
    }
}

/* Each meets a wheel that the others have worn. */
static void print_part_losses(struct tw_text *text, const struct tw_job *job, const struct tw_setup_plan *setup)
{
    for (int part = 0; part < job->parts; part++) {
        struct tw_wheel_loss loss = tw_plan_part_loss(job, setup, part);
        char label[24];

        snprintf(label, sizeof label, "  part %d", part + 1);
        line_of(text, label, job, "followed by {} at the end; up to {} too high or {} too low",
                (struct tw_length[]){ fine(loss.followed_mm), fine(loss.high_mm), fine(loss.low_mm) });
    }
}

/* Roughing leaves it to the finishing. */
static void print_loss(struct tw_text *text, const struct tw_job *job, const struct tw_setup_plan *setup)
{
    const struct tw_wheel_loss *loss = &setup->loss;
    char words[128];

    if (!loss->known)
        return;
    snprintf(words, sizeof words, "{}, or {} to {}, at a grinding ratio of %.4g, or %.4g to %.4g%s", loss->ratio,
             loss->ratio_least, loss->ratio_most, job->parts > 1 ? ", with each part" : "");
    line_of(text, "wheel loses", job, words,
            (struct tw_length[]){ fine(loss->likely_mm), fine(loss->least_mm), fine(loss->most_mm) });
    line_of(text, "which leaves", job,
            loss->follows ? "the face up to {} too high or {} too low, of {}; the program follows the likely loss"
                          : "the face up to {} too high or {} too low, of {}",
            (struct tw_length[]){ fine(loss->high_mm), fine(loss->low_mm), fine(job->finish.thickness_mm / 2.0) });
    if (job->parts > 1 && loss->follows)
        print_part_losses(text, job, setup);
}

static void print_spring_back(struct tw_text *text, const struct tw_job *job, const struct tw_setup_plan *setup)
{
    const struct tw_spring_back *back = &setup->spring_back;
    char words[96];

    if (setup->scope == TW_SCOPE_RELIEF || setup->scope == TW_SCOPE_ROUGH)
        return;
    snprintf(words, sizeof words, "{} behind; %d spark-out%s the face {} too high, or {} to {}", back->spark_outs,
             back->spark_outs == 1 ? " leaves" : "s leave");
    line_of(text, "spring-back", job, words,
            (struct tw_length[]){ fine(back->behind_mm), fine(back->left_mm), fine(back->left_least_mm),
                                  fine(back->left_most_mm) });
}

static const char *height_name(enum tw_scope scope)
{
    return scope == TW_SCOPE_ROUGH    ? "roughed height"
           : scope == TW_SCOPE_RELIEF ? "height of its floor"
                                      : "finished height";
}

static void print_mount(struct tw_text *text, const struct tw_job *job, const struct tw_face *face)
{
    double bar_mm = job->fixture.sine_bar_mm;
    char words[96];

    snprintf(
        words, sizeof words,
        face->mount == TW_MOUNT_TILTED ? "tilted %.4f deg: raise the butt end {} over {}"
                                       : "level (to tilt it by %.4f deg: raise the butt end {} over {})",
        tw_degrees(face->mount == TW_MOUNT_TILTED ? face->tilt_rad : asin(tw_face_rise_mm(face, bar_mm) / bar_mm)));
    line_of(text, "mount", job, words, (struct tw_length[]){ { tw_face_rise_mm(face, bar_mm), 3 }, { bar_mm, 0 } });
}

static void print_packing(struct tw_text *text, const struct tw_job *job, const struct tw_setup_plan *setup)
{
    struct tw_length packing = { tw_setup_packing_mm(job, setup, tw_tang_end_mm(job)), 3 };

    if (job->straight)
        line_of(text, "packing", job, "{} under the butt: as surveyed, see tangwright straighten", &packing);
    else if (setup->face.over_ground)
        line_of(text, "packing", job, "{} under the butt, none at the taper start", &packing);
}

static void print_setup(struct tw_text *text, const struct tw_job *job, const struct tw_setup_plan *setup, bool detail)
{
    const struct tw_face *face = &setup->face;
    char shown[96];

    tw_text_print(text, "\nside %s%s%s (%s)\n", tw_side_letter(face->side), setup->scope == TW_SCOPE_WHOLE ? "" : ", ",
                  tw_scope_name(setup->scope), setup->file_name);
    print_mount(text, job, face);
    print_packing(text, job, setup);
    if (setup->scope == TW_SCOPE_RELIEF)
        print_relief(text, job, setup);
    line_of(text, height_name(setup->scope), job,
            job->taper.zero == TW_ZERO_PAD ? "{} over the datum pad at the taper start"
                                           : "{} over the ricasso at the taper start",
            (struct tw_length[]){ { face->height_mm - face->zero_mm, 4 } });
    if (setup->rounds > 1 && job->parts > 1)
        line(text, "travel", "%s, %d passes, in %d rounds from part to part", tw_travel_style_name(setup->style),
             setup->pass_count * job->parts, setup->rounds);
    else
        line(text, "travel", "%s, %d passes", tw_travel_style_name(setup->style), setup->pass_count * job->parts);
    print_holding(text, job, setup);
    print_spring_back(text, job, setup);
    print_loss(text, job, setup);
    if (setup->ledger.stops > 0)
        line(text, "dressing", "the program stops %d time%s for it (M0): begin with a dressed wheel",
             setup->ledger.stops, setup->ledger.stops > 1 ? "s" : "");
    print_duration(text, "cycle time", setup->cycle_time_s);
    snprintf(shown, sizeof shown, "up to {}, with the reserve {}; %.1f s of waiting for it to cool",
             setup->dwell_s * job->parts);
    line_of_degrees(text, "tang itself", job, shown, (double[]){ setup->bulk_degC, setup->reserve_bulk_degC });
    print_layers(text, job, setup, detail);
}

static enum tw_status print_sensitivity(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan,
                                        struct tw_findings *findings)
{
    struct tw_sensitivity rows[TW_SENSITIVITY_MOST];
    struct tw_plan_limits limits = tw_plan_limits(plan);
    bool inches = tw_job_in_inches(job);
    size_t count;
    enum tw_status status = tw_plan_sensitivity(job, plan, rows, &count, findings);

    if (status != TW_OK)
        return status;
    tw_text_print(text, "\nWhat the estimated peak, %.0f %s (side %s, layer %zu), depends on:\n",
                  shown_degrees(limits.peak_degC, inches), inches ? "degF" : "degC", tw_side_letter(limits.side),
                  limits.layer + 1);
    tw_text_print(text, "    %-31s %10s  %-23s %s\n", "assumption", "used", "may be",
                  inches ? "then the peak is, degF" : "then the peak is, degC");
    for (size_t i = 0; i < count; i++) {
        char range[48];

        snprintf(range, sizeof range, "%.4g to %.4g %s", rows[i].low, rows[i].high, rows[i].unit);
        tw_text_print(text, "    %-31s %10.4g  %-23s %.0f to %.0f\n", rows[i].what, rows[i].used, range,
                      shown_degrees(rows[i].low_degC, inches), shown_degrees(rows[i].high_degC, inches));
    }
    tw_text_print(text, "What flashes of milliseconds do to the steel is extrapolated from minutes of tempering.\n");
    return TW_OK;
}

/* Only if the blank was weighed. */
static enum tw_status print_balance(struct tw_text *text, const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_balance balance;
    enum tw_status status;

    if (!(job->blank.mass_g > 0.0))
        return TW_OK;
    status = tw_plan_balance(job, &balance, findings);
    if (status != TW_OK)
        return status;
    tw_text_print(text, "\nweight and balance\n");
    tw_balance_print_stages(text, &balance, balance.relief_depth_mm > 0.0, balance.handle.mass_g > 0.0,
                            tw_job_in_inches(job));
    return TW_OK;
}

enum tw_status tw_summary_table(const struct tw_job *job, const struct tw_plan *plan, bool detail, char **out,
                                struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    enum tw_status status;

    print_overall(&text, job, plan, detail);
    for (size_t i = 0; i < plan->setup_count; i++)
        print_setup(&text, job, &plan->setups[i], detail);
    tw_budget_print(&text, job, plan);
    status = print_balance(&text, job, findings);
    if (status == TW_OK && detail)
        status = print_sensitivity(&text, job, plan, findings);
    tw_text_print(&text, "\nTemperatures are estimates; prove them on scrap.%s\n",
                  detail ? "" : " --detail shows what they depend on.");
    *out = tw_text_take(&text);
    if (status == TW_OK && !*out)
        status = tw_no_memory(findings);
    if (status != TW_OK) {
        free(*out);
        *out = NULL;
    }
    return status;
}
