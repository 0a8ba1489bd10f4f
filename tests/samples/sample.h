/* sample.h - one sample job for the tests: planned here, or as the command line planned it into build/samples. */
#ifndef TANGWRIGHT_TESTS_SAMPLE_H
#define TANGWRIGHT_TESTS_SAMPLE_H

#include "base/file.h"
#include "base/replace.h"
#include "../sanitized.h"
#include "tangwright/plan.h"
#include "tangwright/program.h"
#include "tangwright/report.h"

#include "../check/check.h"
#include "../check/tree.h"
#include <glob.h>
#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define SAMPLES_MOST 40

struct sample_name {
    char text[64];
};

/* Under the sanitizers every seventh sample will do. */
#define SAMPLES_EVERY (SANITIZED ? 7 : 1)

/* The folders in samples/ that hold a job. */
static inline struct criterion_test_params sample_names(void)
{
    static struct sample_name names[SAMPLES_MOST];
    size_t count = 0;
    glob_t found;

    if (glob("samples/*/job.cfg", 0, NULL, &found) == 0) {
        for (size_t i = SAMPLES_EVERY - 1; i < found.gl_pathc && count < SAMPLES_MOST; i += SAMPLES_EVERY)
            sscanf(found.gl_pathv[i], "samples/%63[^/]/job.cfg", names[count++].text);
        globfree(&found);
    }
    return cr_make_param_array(struct sample_name, names, count);
}

static inline bool sample_all_wanted(void)
{
    const char *which = getenv("TEST_SAMPLES");

    return which && strcmp(which, "all") == 0;
}

/* What takes long is done with some of them: TEST_SAMPLES=all takes all. Between them they have a disc, a cup and a point;
 * both mounts; millimetres and inches; a relief, a survey, several parts, z from pad and from ricasso; wet, mist and oil. */
static inline struct criterion_test_params sample_few(const char *const *few, size_t count)
{
    static struct sample_name names[SAMPLES_MOST];

    if (sample_all_wanted())
        return sample_names();
    for (size_t i = 0; i < count; i++)
        strcpy(names[i].text, few[i]);
    return cr_make_param_array(struct sample_name, names, count);
}

static inline struct criterion_test_params sample_of_each_kind(void)
{
    static const char *const kinds[] = { "gyuto-240-bowed", "nakiri-165", "butcher-180", "chef-210",    "cleaver-200",
                                         "paring-90",       "petty-130",  "santoku-170", "utility-four" };

    return sample_few(kinds, SANITIZED ? 1 : sizeof kinds / sizeof *kinds);
}

/* The wheel as its profile has it, strictly limited, under a film of water that lasts: heat binds whatever it grinds. */
static inline void sample_make_wet(struct tw_job *job)
{
    job->limits.flash = TW_FLASH_STRICT;
    job->wheel.calibrated = false;
    job->wheel.specific_energy_J_per_mm3 = job->wheel.grain_conductivity_W_per_mm_K > 0.1 ? 30.0 : 45.0;
    job->coolant.kind = TW_COOLANT_FLOOD;
    job->coolant.contact_conductance_W_per_mm2_K = 0.4;
    job->coolant.boiling_degC = 120.0;
    job->coolant.surface_conductance_W_per_mm2_K = 0.0024;
    job->coolant.joint_conductance_W_per_mm2_K = 0.008;
}

/* A cup of alumina instead of CBN, under oil mist. */
static inline void sample_make_alumina(struct tw_job *job)
{
    job->wheel.grain_conductivity_W_per_mm_K = 0.035;
    job->wheel.specific_energy_J_per_mm3 = 45.0;
    job->coolant.kind = TW_COOLANT_MIST;
    job->coolant.flow_mm3_per_s = 50e3 / 3600.0;
    job->coolant.surface_conductance_W_per_mm2_K = 1e-4;
    job->coolant.joint_conductance_W_per_mm2_K = 1.5e-3;
}

struct sample {
    struct tw_job job;
    struct tw_plan plan;
    char *programs[TW_SETUPS_MOST], *summary; /* programs by setup: side A, side B where each side has one */
};

static inline void show_findings(const struct tw_findings *findings)
{
    for (size_t i = 0; i < findings->count; i++)
        fprintf(stderr, "  %s\n", findings->items[i].text);
}

/* The starter is meant to stand beside its profiles, where `tangwright new` puts it. */
static inline void starter_path(char folder[64], char path[128])
{
    strcpy(folder, "/tmp/tangwright-starter-XXXXXX");
    cr_assert(mkdtemp(folder) != NULL);
    check_copy("samples/starter", folder);
    snprintf(path, 128, "%s/profiles", folder);
    check_copy("profiles", path);
    snprintf(path, 128, "%s/job.cfg", folder);
}

/* `change`: what is asked instead of what the job says; NULL: nothing. */
static inline void sample_open_with(struct sample *sample, const char *name, void (*change)(struct tw_job *job))
{
    struct tw_findings findings = { 0 };
    char path[128], folder[64] = "";
    enum tw_status status;

    *sample = (struct sample){ 0 };
    if (strcmp(name, "starter") == 0)
        starter_path(folder, path);
    else
        snprintf(path, sizeof path, "samples/%s/job.cfg", name);
    status = tw_job_read(path, &sample->job, &findings);
    if (status == TW_OK && change)
        change(&sample->job);
    if (status == TW_OK)
        status = tw_plan_make(&sample->job, &sample->plan, &findings);
    for (size_t i = 0; status == TW_OK && i < sample->plan.setup_count; i++)
        status = tw_program_text(&sample->job, &sample->plan, i, 0.0, &sample->programs[i], &findings);
    if (status == TW_OK)
        status = tw_summary_json(&sample->job, &sample->plan, &sample->summary, &findings);
    if (status != TW_OK)
        show_findings(&findings);
    cr_assert(eq(int, status, TW_OK), "%s cannot be planned", path);
    tw_findings_free(&findings);
    if (folder[0])
        check_remove(folder);
}

/* For a blank of exactly the job's thickness. */
static inline void sample_measured(struct tw_job *job)
{
    job->taper.band_mm = 0.0;
}

/* A measured blank from which little comes off: planned and proved many times as fast, where the taper is not the question.
 * The planner alone foresees a disc's force to a percent or so: what tw_proven_make() would keep back is kept back at once. */
static inline void sample_shallow(struct tw_job *job)
{
    sample_measured(job);
    job->taper.butt_mm = job->taper.ricasso_mm - 0.2;
    job->reserve.load_share = 0.03;
}

static inline void sample_open(struct sample *sample, const char *name)
{
    sample_open_with(sample, name, NULL);
}

/* ---- as the command line planned it ---- */

#define PLANNED "build/samples" /* see tests.mk */

static inline char *sample_slurp(const char *name, const char *file)
{
    struct tw_text text = { 0 };
    char path[256];

    snprintf(path, sizeof path, PLANNED "/%s/%s", name, file);
    cr_assert(eq(int, tw_file_read(path, &text, NULL), TW_OK), "%s is missing: make planned-samples", path);
    return tw_text_take(&text);
}

/* The job, the programs in their order, and the summary; of the plan only how many programs it has. */
static inline void sample_read(struct sample *sample, const char *name)
{
    const char *folder = strcmp(name, "starter") == 0 ? "build/starter" : "samples";
    struct tw_findings findings = { 0 };
    char path[128];
    json_t *summary, *setups;

    *sample = (struct sample){ 0 };
    snprintf(path, sizeof path, "%s/%s/job.cfg", folder, name);
    cr_assert(eq(int, tw_job_read(path, &sample->job, &findings), TW_OK), "%s", path);
    tw_findings_free(&findings);
    sample->summary = sample_slurp(name, "summary.json");
    summary = json_loads(sample->summary, 0, NULL);
    setups = json_object_get(summary, "setups");
    sample->plan.setup_count = json_array_size(setups);
    cr_assert(gt(sz, sample->plan.setup_count, 0), "%s", name);
    for (size_t i = 0; i < sample->plan.setup_count; i++)
        sample->programs[i] =
            sample_slurp(name, json_string_value(json_object_get(json_array_get(setups, i), "program")));
    json_decref(summary);
}

static inline void sample_close(struct sample *sample)
{
    for (size_t i = 0; i < sample->plan.setup_count; i++)
        free(sample->programs[i]);
    free(sample->summary);
    tw_plan_free(&sample->plan);
    tw_job_free(&sample->job);
}

/* Writes all programs and the summary into FOLDER/NAME. */
static inline void sample_write(const struct sample *sample, const char *folder, const char *name)
{
    size_t count = sample->plan.setup_count;
    char path[TW_SETUPS_MOST + 1][256], own[200];
    struct tw_new_file out[TW_SETUPS_MOST + 1];

    snprintf(own, sizeof own, "%s/%s", folder, name);
    cr_assert(eq(int, tw_folder_make(own, NULL), TW_OK));
    for (size_t i = 0; i <= count; i++) {
        const struct tw_setup_plan *setup = &sample->plan.setups[i < count ? i : 0];
        const char *text = i < count ? sample->programs[i] : sample->summary;

        snprintf(path[i], sizeof path[i], "%s/%s", own, i < count ? setup->file_name : "summary.json");
        out[i] = (struct tw_new_file){ path[i], text, strlen(text), true };
    }
    cr_assert(eq(int, tw_files_replace(out, count + 1, NULL), TW_OK));
}

/* A folder that is removed again with everything in it. */
struct scratch {
    char path[64];
};

static inline void scratch_open(struct scratch *scratch)
{
    strcpy(scratch->path, "/tmp/tangwright-samples-XXXXXX");
    cr_assert(mkdtemp(scratch->path) != NULL);
}

static inline void scratch_close(struct scratch *scratch)
{
    check_remove(scratch->path);
}

/* Runs a command and appends what it prints to *out. Returns its exit status. */
static inline int run_and_read(const char *command, struct tw_text *out)
{
    char buffer[4096];
    size_t got;
    FILE *pipe = popen(command, "r");
    int status;

    cr_assert(pipe != NULL, "cannot start: %s", command);
    while ((got = fread(buffer, 1, sizeof buffer, pipe)) > 0)
        tw_text_append(out, buffer, got);
    status = pclose(pipe);
    cr_assert(eq(int, out->failed, 0));
    tw_text_append(out, "", 0);
    return status;
}

#endif
