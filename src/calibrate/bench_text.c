/* bench_text.c - what the bench tests say, as profile lines and as JSON. */
#include "tangwright/bench.h"

#include "base/plain.h"
#include "base/text.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>

#define NORMAL_95 1.959963984540054
/* However much the readings scatter, a film takes so much of what they say. */
#define LEAST_FILM_SHARE 0.1

/* So many digits and no exponent, whatever the size. */
static void print_number(struct tw_text *text, double value, int digits)
{
    double place = value == 0.0 ? 1.0 : pow(10.0, floor(log10(fabs(value))) - digits + 1);

    if (place >= 1.0)
        tw_text_print(text, "%.0f", round(value / place) * place);
    else
        tw_text_print(text, "%.*g", digits, value);
}

static void print_conductance(struct tw_text *text, const char *key, double W_per_mm2_K)
{
    tw_text_print(text, "%s = \"", key);
    print_number(text, W_per_mm2_K * 1e6, 3);
    tw_text_print(text, " W/m2K\";\n");
}

static void between(struct tw_text *text, const struct tw_bench_value *value, double factor, const char *unit)
{
    double low = (value->value - NORMAL_95 * value->uncertainty) * factor;
    double high = (value->value + NORMAL_95 * value->uncertainty) * factor;

    print_number(text, value->value * factor, 3);
    tw_text_print(text, " +- ");
    print_number(text, value->uncertainty * factor, 2);
    tw_text_print(text, " %s (standard), 95 %%: ", unit);
    print_number(text, low, 3);
    tw_text_print(text, " to ");
    print_number(text, high, 3);
}

static void scatter(struct tw_text *text, const struct tw_bench *bench, enum tw_bench_test test)
{
    tw_text_print(text, "# %zu readings", bench->counts[test]);
    if (bench->scatter[test] > 1.0)
        tw_text_print(text, "; they scatter %.2g times as far as stated, and the uncertainties are grown by that",
                      bench->scatter[test]);
    tw_text_print(text, "\n");
}

static void print_passes(struct tw_text *text, const struct tw_job *job, const struct tw_bench *bench)
{
    const struct tw_bench_value *k = &bench->stiffness_N_per_mm;
    double low = fmax(k->value - NORMAL_95 * k->uncertainty, 0.1 * k->value),
           high = k->value + NORMAL_95 * k->uncertainty;

    if (!k->known)
        return;
    tw_text_print(text, "#\n# for the job's group machine: { ... }\n");
    tw_text_print(text, "stiffness = \"%.3g N/um\"; stiffness_least = \"%.3g N/um\"; stiffness_most = \"%.3g N/um\";\n",
                  k->value / 1e3, fmin(low, k->value) / 1e3, high / 1e3);
    scatter(text, bench, TW_BENCH_PASS);
    tw_text_print(text, "# stiffness ");
    between(text, k, 1e-3, "N/um");
    tw_text_print(
        text,
        ", with force_ratio %.3g and specific_energy %.3g J/mm3:\n# only their product over the stiffness was "
        "measured, and that is what the spark-outs follow from\n# a pass takes ",
        job->wheel.force_ratio, job->wheel.specific_energy_J_per_mm3);
    between(text, &bench->share, 100.0, "% of what the wheel is too low");
    tw_text_print(text, "\n# the wheel loses ");
    between(text, &bench->wear, 100.0, "% of the height that it takes off");
    tw_text_print(text, "\n");
}

static void print_pull(struct tw_text *text, const struct tw_job *job, const struct tw_bench *bench)
{
    if (!bench->pull_N_per_mm2.known)
        return;
    tw_text_print(text, "#\n# for the job's group fixture: { ... }\npull = \"%.3g N/cm2\";\n",
                  bench->pull_N_per_mm2.value * 100.0);
    if (bench->gap_scale_mm.known)
        tw_text_print(text, "gap_scale = \"%.3g mm\";\n", bench->gap_scale_mm.value);
    scatter(text, bench, TW_BENCH_PULL);
    tw_text_print(text, "# sideways it holds ");
    between(text, &bench->sideways_N_per_mm2, 100.0, "N/cm2");
    tw_text_print(text, "; pull is that over friction %.3g and steel.magnetic_pull %.3g\n", job->fixture.friction,
                  job->steel.magnetic_pull);
    if (bench->gap_scale_mm.known) {
        tw_text_print(text, "# gap_scale ");
        between(text, &bench->gap_scale_mm, 1.0, "mm");
        tw_text_print(text, "\n");
    } else {
        tw_text_print(text, "# a pull over a feeler of 0.1 mm would tell gap_scale too\n");
    }
}

static void print_dull(struct tw_text *text, const struct tw_bench *bench)
{
    if (!bench->fresh_W.known)
        return;
    tw_text_print(text, "#\n# when to dress\n");
    scatter(text, bench, TW_BENCH_DULL);
    tw_text_print(text, "# just dressed, this cut takes ");
    between(text, &bench->fresh_W, 1.0, "W net");
    if (bench->dress_passes.known) {
        tw_text_print(text, "\n# dress at %.0f W net, %.0f %% up, after ",
                      bench->fresh_W.value * (1.0 + TW_BENCH_DULL_SHARE), 100.0 * TW_BENCH_DULL_SHARE);
        between(text, &bench->dress_passes, 1.0, "such passes");
        tw_text_print(text, "\n");
    } else {
        tw_text_print(text, "\n# it does not get duller by more than the readings can tell\n");
    }
}

static void print_film(struct tw_text *text, const struct tw_job *job, const struct tw_bench *bench)
{
    const struct tw_bench_value *film = &bench->film_W_per_mm2_K;

    if (!film->known)
        return;
    tw_text_print(text, "#\n# for the job's group coolant: { ... }\n");
    print_conductance(text, "contact_conductance", film->value);
    print_conductance(text, "contact_conductance_least",
                      fmax(film->value - NORMAL_95 * film->uncertainty, LEAST_FILM_SHARE * film->value));
    scatter(text, bench, TW_BENCH_FILM);
    tw_text_print(text, "# the film ");
    between(text, &bench->film_W_per_mm2_K, 1e6, "W/m2K");
    tw_text_print(text, ",\n# in proportion to the specific_energy %.3g J/mm3, at this nozzle and speed\n",
                  job->wheel.specific_energy_J_per_mm3);
}

/* What both coolings have in common. */
static void print_cooling(struct tw_text *text, const struct tw_bench *bench, enum tw_bench_test test)
{
    scatter(text, bench, test);
    tw_text_print(text, "# the excess over the coolant falls to half in %.3g s", bench->half_time_s[test]);
    if (bench->half_time_s[test] < TW_BENCH_HALF_TIME_LEAST_S)
        tw_text_print(text, ": that may be the thermocouple and the watch; a thicker strip is slower");
    tw_text_print(text, "\n");
}

static void print_cooled(struct tw_text *text, const struct tw_bench *bench, enum tw_bench_test test, const char *key,
                         const char *of)
{
    const struct tw_bench_value *value =
        test == TW_BENCH_HANGING ? &bench->surface_W_per_mm2_K : &bench->joint_W_per_mm2_K;

    print_conductance(text, key, value->value);
    print_cooling(text, bench, test);
    tw_text_print(text, "%s", of);
    between(text, value, 1e6, "W/m2K");
}

static void print_conductances(struct tw_text *text, const struct tw_job *job, const struct tw_bench *bench)
{
    if (!bench->surface_W_per_mm2_K.known && !bench->joint_W_per_mm2_K.known)
        return;
    tw_text_print(text, "#\n# for the job's group coolant: { ... }\n");
    if (bench->surface_W_per_mm2_K.known) {
        print_cooled(text, bench, TW_BENCH_HANGING, "surface_conductance", "# each face ");
        tw_text_print(text, "\n");
    }
    if (bench->joint_W_per_mm2_K.known) {
        print_cooled(text, bench, TW_BENCH_SEATED, "joint_conductance", "# the joint ");
        if (bench->surface_W_per_mm2_K.known) {
            tw_text_print(text, ", with the surface_conductance above\n");
        } else {
            tw_text_print(text, ",\n# with the profile's surface_conductance of ");
            print_number(text, job->coolant.surface_conductance_W_per_mm2_K * 1e6, 3);
            tw_text_print(text, " W/m2K; a test \"hanging\" measures it\n");
        }
    }
    tw_text_print(text,
                  "# in proportion to the strip's thickness, density and specific_heat; its edges are not counted\n");
}

enum tw_status tw_bench_text(const struct tw_job *job, const struct tw_bench_readings *readings,
                             const struct tw_bench *bench, char **out, struct tw_findings *findings)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "# bench tests for %s by ", job->name);
    tw_plain_append(&text, readings->path);
    tw_text_print(&text, "\n");
    print_passes(&text, job, bench);
    print_pull(&text, job, bench);
    print_dull(&text, bench);
    print_film(&text, job, bench);
    print_conductances(&text, job, bench);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}

static json_t *value_object(const struct tw_bench_value *value)
{
    if (!value->known)
        return json_null();
    return json_pack("{s:f, s:f}", "value", value->value, "uncertainty", value->uncertainty);
}

enum tw_status tw_bench_json(const struct tw_job *job, const struct tw_bench *bench, char **out,
                             struct tw_findings *findings)
{
    json_t *root = json_pack(
        "{s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "format", "tangwright-bench/1",
        "job", job->name, "inputs", job->digest, "share_a_pass", value_object(&bench->share), "wear",
        value_object(&bench->wear), "stiffness_N_per_mm", value_object(&bench->stiffness_N_per_mm),
        "sideways_N_per_mm2", value_object(&bench->sideways_N_per_mm2), "pull_N_per_mm2",
        value_object(&bench->pull_N_per_mm2), "gap_scale_mm", value_object(&bench->gap_scale_mm), "fresh_W",
        value_object(&bench->fresh_W), "growth_a_pass", value_object(&bench->growth), "dress_passes",
        value_object(&bench->dress_passes), "film_W_per_mm2_K", value_object(&bench->film_W_per_mm2_K),
        "surface_W_per_mm2_K", value_object(&bench->surface_W_per_mm2_K), "joint_W_per_mm2_K",
        value_object(&bench->joint_W_per_mm2_K));

    *out = root ? json_dumps(root, JSON_INDENT(2) | JSON_REAL_PRECISION(9)) : NULL;
    json_decref(root);
    return *out ? TW_OK : tw_no_memory(findings);
}
