/* job.c - reads a job with its profiles and its outline. */
#include "tangwright/job.h"

#include "base/file.h"
#include "base/memory.h"
#include "base/nearest.h"
#include "base/units.h"
#include "geometry/ring.h"
#include "input/input.h"
#include "input/instead.h"
#include "input/reading.h"
#include "tangwright/relief.h"
#include "tangwright/straight.h"
#include "tangwright/warm.h"
#include "tangwright/wear.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* Whether both names end in the same .letters. */
static bool same_ending(const char *a, const char *b)
{
    const char *a_dot = strrchr(a, '.'), *b_dot = strrchr(b, '.');

    return a_dot && b_dot && strcmp(a_dot, b_dot) == 0;
}

/* Names the file of the folder that `path` most likely meant. */
static void suggest_file(const char *path, struct tw_text *complaint)
{
    const char *slash = strrchr(path, '/');
    struct tw_nearest nearest = tw_nearest_to(slash ? slash + 1 : path);
    struct tw_text folder = { 0 }, best = { 0 };
    struct dirent *entry;
    DIR *listing;

    tw_text_append(&folder, path, slash ? (size_t)(slash - path) + 1 : 0);
    listing = folder.failed ? NULL : opendir(slash ? folder.data : ".");
    while (listing && (entry = readdir(listing))) {
        struct tw_nearest before = nearest;

        if (same_ending(entry->d_name, nearest.wanted))
            tw_nearest_offer(&nearest, entry->d_name);
        if (nearest.distance == before.distance && nearest.name == before.name)
            continue;
        tw_text_free(&best);
        tw_text_print(&best, "%s", entry->d_name);
        complaint->failed = complaint->failed || best.failed;
        nearest.name = best.data;
    }
    complaint->failed = complaint->failed || folder.failed;
    if (listing)
        closedir(listing);
    if (best.length)
        tw_text_print(complaint, "; did you mean %s?", best.data);
    else if (strchr(path, '\\'))
        tw_text_print(complaint, "; folders are parted by /, not by \\");
    else if (strstr(path, "~/"))
        tw_text_print(complaint, "; ~ is not known here: write the whole path");
    tw_text_free(&folder);
    tw_text_free(&best);
}

/* Whether a plain file that can be read stands there; else a fault at the line that names it. */
static bool file_stands(struct tw_input *input, struct tw_place at, const char *path)
{
    struct tw_text complaint = { 0 };
    struct stat about;

    if (stat(path, &about) != 0) {
        tw_text_print(&complaint, "\"%s\" cannot be opened: %s", path, strerror(errno));
        suggest_file(path, &complaint);
    } else if (!S_ISREG(about.st_mode)) {
        tw_text_print(&complaint, "\"%s\" is not a file", path);
    } else {
        return true;
    }
    input->io_failures++;
    if (complaint.failed)
        input->no_memory = true;
    else
        tw_fail(input->findings, TW_IO, at, "%s", complaint.data);
    tw_text_free(&complaint);
    return false;
}

static void note_status(struct tw_input *input, enum tw_status status)
{
    input->bad_inputs += status == TW_BAD_INPUT;
    input->io_failures += status == TW_IO;
    input->no_memory = input->no_memory || status == TW_NO_MEMORY;
}

static const char *kind_word(const char *profile)
{
    return tw_profile_is_optional(profile) ? "wheel" : profile;
}

/* Which profile the keys are of, where they are plainly of another than the i-th; else i. */
static size_t kind_of_profile(const config_setting_t *root, size_t i)
{
    size_t most = 2 * tw_input_known_keys(tw_group_find(tw_profile_names[i], strlen(tw_profile_names[i])), root) + 1;
    size_t kind = i;

    for (size_t k = 0; k < TW_PROFILE_COUNT; k++) {
        size_t known = tw_input_known_keys(tw_group_find(tw_profile_names[k], strlen(tw_profile_names[k])), root);

        if (known > most) {
            most = known;
            kind = k;
        }
    }
    return kind;
}

/* One sentence for a file that was mistaken for another, not one for each key that it lacks. */
static void refuse_other_kind(struct tw_input *input, size_t i, struct tw_place at, const char *name)
{
    struct tw_source *source = &input->profiles[i];
    size_t kind = source->loaded ? kind_of_profile(config_root_setting(&source->config), i) : i;

    if (kind == i)
        return;
    tw_input_faultf(input, at, "\"%s\" is a profile of a %s, not of a %s; name one of a %s here", name,
                    kind_word(tw_profile_names[kind]), kind_word(tw_profile_names[i]), kind_word(tw_profile_names[i]));
    tw_source_free(source);
}

/* A job that was copied without its profiles, such as a sample out of a clone. The folder that holds "wheels/..." is missing, or its
 * "wheels" is; said once. */
static void tell_of_profiles(struct tw_input *input, const char *path)
{
    struct tw_place at = { .file = input->job.path };
    char *folder = tw_copy_string(path), *slash;
    struct stat about;

    input->no_memory = input->no_memory || !folder;
    slash = folder ? strrchr(folder, '/') : NULL;
    if (slash)
        *slash = '\0';
    if (slash && stat(folder, &about) != 0 && (slash = strrchr(folder, '/')) && !input->told_of_profiles) {
        *slash = '\0';
        tw_remark(input->findings, at,
                  "a job needs its profiles beside it: tangwright new DIR writes all that come with the program into "
                  "DIR/profiles; copy that folder to %s, or name the profiles where they are",
                  folder);
        input->told_of_profiles = true;
    }
    free(folder);
}

static void load_profile_file(struct tw_input *input, size_t i, struct tw_place at, const char *name)
{
    char *path = tw_path_beside(input->job.path, name);

    if (!path)
        input->no_memory = true;
    else if (file_stands(input, at, path))
        note_status(input, tw_source_load(path, &input->profiles[i], input->findings));
    else
        tell_of_profiles(input, path);
    refuse_other_kind(input, i, at, name);
    free(path);
}

static void load_profile(struct tw_input *input, size_t i)
{
    const config_setting_t *root = config_root_setting(&input->job.config);
    const config_setting_t *group = config_setting_get_member(root, tw_profile_names[i]);
    const config_setting_t *setting;
    struct tw_place at = { .file = input->job.path, .key = tw_profile_names[i] };
    const char *name;
    char key[32];

    if (!group && tw_profile_is_optional(tw_profile_names[i]))
        return;
    if (!group) {
        tw_input_faultf(input, at,
                        "the group is missing; write for example %s: { profile = \"profiles/%ss/....cfg\"; };", at.key,
                        at.key);
        return;
    }
    if (!config_setting_is_group(group))
        return; /* said while the groups are read */
    setting = config_setting_get_member(group, "profile");
    name = setting ? config_setting_get_string(setting) : NULL;
    snprintf(key, sizeof key, "%s.profile", tw_profile_names[i]);
    at.key = key;
    at.line = (int)config_setting_source_line(setting ? setting : group);
    if (name && *name)
        load_profile_file(input, i, at, name);
    else
        tw_input_faultf(input, at, "%s; write for example profile = \"profiles/%ss/....cfg\";",
                        setting ? "is not the name of a file in quotes" : "is missing",
                        tw_profile_is_optional(tw_profile_names[i]) ? "wheel" : tw_profile_names[i]);
}

static enum tw_status status_of(const struct tw_input *input)
{
    if (input->no_memory || (input->findings && input->findings->out_of_memory))
        return TW_NO_MEMORY;
    if (input->bad_inputs)
        return TW_BAD_INPUT;
    return input->io_failures ? TW_IO : TW_OK;
}

/* ---- outline ---- */

static bool make_outline_path_whole(struct tw_input *input)
{
    struct tw_outline_request *request = &input->draft->outline;
    char *path;

    if (!tw_input_origin(input, "outline.file")->ok)
        return false;
    path = tw_path_beside(input->job.path, request->path);
    if (!path) {
        input->no_memory = true;
        return false;
    }
    free(request->path);
    request->path = path;
    return file_stands(input, tw_input_place(input, "outline.file"), path);
}

bool tw_input_outline_is_sound(const struct tw_input *input)
{
    static const char *const paths[] = { "outline.format",          "outline.unit",          "outline.pick",
                                         "outline.chord_tolerance", "outline.gap_tolerance", "outline.taper_start",
                                         "outline.axis_towards",    "outline.points",        "outline.axis_angle",
                                         "outline.mirrored",        "outline.butt",          "outline.spine",
                                         "outline.tang_width",      "outline.askew",         "outline.pins_ahead",
                                         "outline.windows" };

    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++)
        if (!tw_input_origin(input, paths[i])->ok)
            return false;
    return true;
}

/* The job's word for the spine counts, but not in silence where the shape says otherwise. */
static void remark_spine(struct tw_input *input)
{
    const struct tw_placement *placement = &input->draft->job.placement;

    for (size_t i = 0; placement->spine_told && i < placement->spine_count; i++)
        if (placement->spine * placement->spine_vote < 0.0 && placement->spine * placement->spines[i].weight < 0.0) {
            tw_remark(input->findings, tw_input_place(input, "outline.spine"),
                      "the job says that the spine lies %s in the drawing, and that counts; its shape seems to say "
                      "otherwise: %s",
                      tw_placement_towards(placement, 0.0, placement->spine), placement->spines[i].text);
            return;
        }
}

/* The scales' outline counts y towards the spine, as a survey does. */
static void turn_scales_over(struct tw_job *job)
{
    struct tw_ring *ring = &job->handle.outline;

    for (size_t i = 0; job->placement.spine < 0 && i < ring->count; i++)
        ring->points[i].y_mm = 0.0 - ring->points[i].y_mm;
    if (job->placement.spine < 0)
        tw_ring_reverse(ring);
}

/* Whether the job gives that point in inches; `otherwise` where it is not given with a unit. */
static bool is_written_in_inches(const struct tw_input *input, const char *path, bool otherwise)
{
    const config_setting_t *setting = tw_input_origin(input, path)->setting;
    const char *written = setting ? config_setting_get_string_elem(setting, 0) : NULL;
    struct tw_measure measure;

    if (!written || !tw_measure_read(written, TW_LENGTH, "mm", &measure, NULL))
        return otherwise;
    return strncmp(measure.unit->name, "in", 2) == 0 || strcmp(measure.unit->name, "thou") == 0 ||
           strcmp(measure.unit->name, "ft") == 0;
}

/* Whether taper start and axis fit the drawing; else a fault at the key that does not. */
static bool place_drawing(struct tw_input *input, const struct tw_outline *drawing, const struct tw_taper_axis *axis)
{
    struct tw_placement *placement = &input->draft->job.placement;
    struct tw_placement_told told = input->draft->outline.told;
    char key[64];

    told.inches = input->draft->job.machine.dialect.inch;
    told.places_in_inches = is_written_in_inches(input, "outline.taper_start", told.inches);
    told.axis_by_point = tw_input_origin(input, "outline.axis_towards")->setting != NULL;
    if (tw_input_origin(input, "blade.length")->ok)
        told.blade_mm = input->draft->job.blade.length_mm;
    tw_placement_examine(drawing, axis, &told, placement);
    if (placement->fault == TW_PLACED_WELL) {
        remark_spine(input);
        turn_scales_over(&input->draft->job);
        return true;
    }
    if (strcmp(placement->fault_key, "axis") == 0)
        placement->fault_key = told.axis_by_point ? "axis_towards" : "axis_angle";
    snprintf(key, sizeof key, "outline.%s", placement->fault_key);
    tw_input_faultf(input, tw_input_place(input, key), "%s", placement->fault_text);
    return false;
}

static void read_outline(struct tw_input *input)
{
    struct tw_outline_request *request = &input->draft->outline;
    struct tw_taper_axis axis = { .start_x_mm = request->start.x_mm,
                                  .start_y_mm = request->start.y_mm,
                                  .direction_rad = request->angle_rad,
                                  .y_down = request->y_down,
                                  .mirrored = request->mirrored };
    struct tw_outline drawing = { 0 };
    enum tw_status status;

    if (!make_outline_path_whole(input) || !tw_input_outline_is_sound(input))
        return;
    request->drawing.path = request->path;
    request->drawing.pick = request->pick;
    status = tw_outline_read(&request->drawing, &drawing, input->findings);
    if (status == TW_OK && !tw_size_checks_drawing(input, &drawing))
        goto done;
    if (status == TW_OK && !place_drawing(input, &drawing, &axis))
        goto done;
    if (status == TW_OK)
        status = tw_part_from_drawing(&drawing, &axis, request->path, &input->draft->job.part, input->findings);
    note_status(input, status);
    if (status == TW_OK)
        tw_size_checks_run_with_outline(input);
    if (status == TW_OK && tw_input_origin(input, "taper.length")->ok &&
        tw_input_origin(input, "taper.ricasso_thickness")->ok && tw_input_origin(input, "taper.butt_thickness")->ok &&
        tw_input_origin(input, "taper.smallest_thickness")->ok) {
        tw_checks_run_with_outline(input);
        tw_weight_checks_run_with_outline(input);
        tw_contact_checks_run(input);
    }
done:
    tw_outline_free(&drawing);
}

/* ---- survey ---- */

/* `key` names the file in the job. */
static void read_survey(struct tw_input *input, const char *key, struct tw_survey *survey)
{
    char *path;

    if (!survey->path)
        return;
    path = tw_path_beside(input->job.path, survey->path);
    if (!path) {
        input->no_memory = true;
        return;
    }
    free(survey->path);
    survey->path = path;
    if (file_stands(input, tw_input_place(input, key), path) && tw_input_origin(input, "survey.reference")->ok)
        note_status(input, tw_survey_read(path, survey, input->findings));
    tw_survey_checks_run(input, survey);
    if (input->draft->job.placement.spine < 0)
        tw_survey_turn_over(survey);
}

/* All by one indicator on one plate: that of the job. */
static void read_surveys(struct tw_input *input)
{
    struct tw_job *job = &input->draft->job;

    read_survey(input, "survey.file", &job->survey);
    for (size_t i = 0; i < job->blank_count; i++) {
        job->blanks[i].survey.resolution_mm = job->survey.resolution_mm;
        job->blanks[i].survey.reference = job->survey.reference;
        read_survey(input, "blanks", &job->blanks[i].survey);
    }
}

/* What the survey comes to goes with the job: each face is then ground by what stands on it. */
static void straighten(struct tw_input *input)
{
    struct tw_job *job = &input->draft->job;

    if (job->survey.count == 0 || status_of(input) != TW_OK)
        return;
    job->straight = calloc(1, sizeof *job->straight);
    if (job->straight)
        note_status(input, tw_straighten(job, job->straight, input->findings));
    else
        input->no_memory = true;
}

static void check_heel(struct tw_input *input)
{
    if (status_of(input) == TW_OK)
        tw_heel_checks_run(input);
}

/* What does not fit between the faces needs no plan to be found. */
static void check_relief(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    struct tw_relief_region region;
    enum tw_status status;

    if (status_of(input) != TW_OK || !(job->relief.depth_mm > 0.0))
        return;
    status = tw_relief_region(job, &region, input->findings);
    if (status == TW_OK)
        status = tw_relief_check(job, &region, tw_input_place(input, "relief.depth"), input->findings);
    note_status(input, status);
    tw_relief_free(&region);
}

/* Such a fixture carries side A on its raw face alone: roughed, the other face needs a rest that rises there, too. */
static bool rests_rise_for_side_b_alone(const struct tw_fixture *fixture)
{
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (fixture->keep_outs[i].kind == TW_KEEP_OUT_PAD && fixture->keep_outs[i].rise_mm > 0.0 &&
            fixture->keep_outs[i].sides == TW_IN_PLACE_B)
            return true;
    return false;
}

/* What the job does not say goes by what its fixture can carry. */
static void fit_order_to_rests(struct tw_input *input)
{
    struct tw_job *job = &input->draft->job;

    if (job->one_face || job->order != TW_ORDER_ROUGH_THEN_FINISH || job->fixture.packing == TW_PACKING_STEEL ||
        tw_input_origin(input, "order")->setting || !rests_rise_for_side_b_alone(&job->fixture))
        return;
    job->order = TW_ORDER_A_THEN_B;
    tw_remark(
        input->findings, tw_input_place(input, "order"),
        "finishing side A after both are roughed would need a rest that rises under it, and this fixture has one for "
        "side B alone; so each side is ground in one program, and nothing is measured between. With that rest "
        "in place of side A's, where it lies even about the axis, or a steel wedge, both can be roughed, measured, and "
        "finished: write order = \"rough-then-finish\"; and "
        "fixture.packing = \"steel wedge\";");
}

/* The hollows' own wheel before a side's roughing, and the faces' wheel is touched off anew between what is measured and what is
 * finished by it. */
static void fit_order_to_relief(struct tw_input *input)
{
    struct tw_job *job = &input->draft->job;
    struct tw_place at = tw_input_place(input, "order");

    if (job->order != TW_ORDER_ROUGH_THEN_FINISH || job->finish.layers == 0 || !tw_relief_changes_wheel(job) ||
        job->relief.when != TW_RELIEF_FIRST)
        return;
    job->order = TW_ORDER_A_THEN_B;
    if (tw_input_origin(input, "order")->setting)
        tw_input_faultf(
            input, at,
            "\"rough-then-finish\" finishes by a measurement of the wheel as it stands, and relief.when = "
            "\"first\" changes to relief_wheel and back in between: write relief.when = \"last\"; or order = "
            "\"a-then-b\";");
    else
        tw_remark(
            input->findings, at,
            "relief.when = \"first\" changes wheels ahead of each side, so each side is ground in one program, and "
            "nothing is measured between; with relief.when = \"last\" both sides are roughed, measured, and finished "
            "by one "
            "touching off");
}

/* One measurement between roughing and finishing cures what the wheel lost by then. */
static void choose_order(struct tw_input *input)
{
    struct tw_job *job = &input->draft->job;

    if (status_of(input) != TW_OK)
        return;
    fit_order_to_rests(input);
    fit_order_to_relief(input);
    if (job->order == TW_ORDER_ROUGH_THEN_FINISH && job->finish.layers == 0)
        tw_remark(input->findings, tw_input_place(input, "finish.layers"),
                  "0 leaves nothing for programs that finish, so each side is ground in one program, and nothing is "
                  "measured between; with a finishing layer both faces are roughed, measured, and finished by what the "
                  "measurement says");
    if (job->order != TW_ORDER_AS_NEEDED)
        return;
    job->order = TW_ORDER_A_THEN_B;
    if (job->finish.layers == 0 || (!tw_wear_is_uncertain(job) && !tw_wear_leaves_too_much(job)))
        return;
    if (tw_wear_is_uncertain(job))
        tw_remark(input->findings, tw_input_place(input, "order"),
                  "the wheel wears so much that one program a side would leave the thickness less certain than "
                  "finish.thickness_tolerance, %.3g mm; so each side is roughed, measured, and finished by a program "
                  "of its own",
                  job->finish.thickness_mm);
    else
        tw_remark(input->findings, tw_input_place(input, "order"),
                  "the wheel wears so much that one program a side would leave more standing on the thickest blank of "
                  "the band than finish.flatness, %.3g mm, has room for; so each side is roughed, measured, and "
                  "finished by a program of its own",
                  job->finish.flatness_mm);
    job->order = TW_ORDER_ROUGH_THEN_FINISH;
}

/* A rest that rises fits side A's finished face. While that still keeps something the rest lifts the blank, and from the pad side B's wheel
 * finds it as much higher as a thicker one. */
static void keep_room_for_lift(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    struct tw_taper *taper = &input->draft->job.taper;
    struct tw_place at = tw_input_place(input, "taper.thickness_band");
    bool inches = job->machine.dialect.inch;
    double lift_mm, thinnest_mm;

    if (status_of(input) != TW_OK || taper->zero != TW_ZERO_PAD || !tw_warm_on_rise(job))
        return;
    lift_mm = 1e-3 * ceil(1e3 * tw_wear_kept_on_a_mm(job) - 1e-6);
    thinnest_mm = fmin(taper->butt_mm, tw_taper_stated_mm(job, tw_tang_end_mm(job)));
    if (lift_mm <= taper->band_mm)
        return;
    if (tw_input_below(thinnest_mm - lift_mm, taper->smallest_mm)) {
        tw_input_faultf(
            input, at,
            "what side A still keeps over its finished face lifts the blank by up to %s while side B lies "
            "on its rest, and a band so wide would leave the butt thinner than smallest_thickness: make the "
            "butt thicker, or allow less",
            tw_length_both(lift_mm, 3, inches).text);
        return;
    }
    tw_remark(input->findings, at,
              "%s instead of %s: what side A still keeps over its finished face lifts the blank by up to as much "
              "while side B lies on its rest, and the first pass must find no more than it was planned for",
              tw_length_text(lift_mm, 3, inches).text, tw_length_text(taper->band_mm, 3, inches).text);
    taper->band_mm = lift_mm;
}

/* ---- the whole ---- */

static bool make_origins(struct tw_input *input)
{
    size_t rows = 0;

    for (size_t i = 0; i < tw_group_count; i++)
        rows += tw_groups[i].key_count;
    input->origins = calloc(rows, sizeof *input->origins);
    return input->origins != NULL;
}

static void read_everything(struct tw_input *input)
{
    for (size_t i = 0; i < TW_PROFILE_COUNT; i++)
        load_profile(input, i);
    tw_input_read_groups(input);
    tw_checks_run(input);
    tw_weight_checks_run(input);
    tw_size_checks_run(input);
    read_outline(input);
    read_surveys(input);
    tw_size_checks_end(input);
    straighten(input);
    check_heel(input);
    check_relief(input);
    choose_order(input);
    keep_room_for_lift(input);
    if (status_of(input) == TW_OK)
        note_status(input, tw_digest_job(input->draft, input->draft->job.digest, input->findings));
}

void tw_reading_close(struct tw_reading *reading)
{
    tw_source_free(&reading->input.job);
    for (size_t i = 0; i < TW_PROFILE_COUNT; i++)
        tw_source_free(&reading->input.profiles[i]);
    free(reading->input.origins);
    tw_job_free(&reading->draft.job);
    free(reading->draft.outline.path);
    free(reading->draft.outline.pick);
}

static enum tw_status load_job(const char *path, const char *text, struct tw_input *input)
{
    return text ? tw_source_parse(path, text, strlen(text), &input->job, input->findings)
                : tw_source_load(path, &input->job, input->findings);
}

enum tw_status tw_reading_open(struct tw_reading *out, const char *path, const char *text,
                               const struct tw_instead *changes, size_t count, struct tw_findings *findings)
{
    struct tw_input *input = &out->input;
    enum tw_status status;

    *out = (struct tw_reading){ .input = { .draft = &out->draft, .findings = findings } };
    out->draft.job.path = tw_copy_string(path);
    if (!out->draft.job.path || !make_origins(input))
        return tw_no_memory(findings);
    note_status(input, load_job(path, text, input));
    if (input->job.loaded)
        note_status(input, tw_instead_apply(&input->job, changes, count, findings));
    if (input->job.loaded && status_of(input) == TW_OK)
        read_everything(input);
    status = status_of(input);
    if (status == TW_NO_MEMORY)
        tw_no_memory(findings);
    if (findings)
        tw_findings_sort(findings);
    return status;
}

enum tw_status tw_job_read_with(const char *path, const struct tw_instead *changes, size_t count, struct tw_job *out,
                                struct tw_findings *findings)
{
    struct tw_reading reading;
    struct tw_findings said = { 0 };
    bool lost;
    enum tw_status status = tw_reading_open(&reading, path, NULL, changes, count, &said);

    *out = (struct tw_job){ 0 };
    if (status == TW_OK) {
        *out = reading.draft.job;
        reading.draft.job = (struct tw_job){ 0 };
        tw_findings_repeat(&out->said, &said);
        said.out_of_memory |= out->said.out_of_memory;
    }
    tw_reading_close(&reading);
    lost = said.out_of_memory;
    tw_findings_append(findings, &said);
    if (findings) {
        lost |= findings->out_of_memory;
        tw_findings_sort(findings);
    }
    if (lost) {
        tw_job_free(out);
        status = TW_NO_MEMORY;
    }
    return status;
}

enum tw_status tw_job_read(const char *path, struct tw_job *out, struct tw_findings *findings)
{
    return tw_job_read_with(path, NULL, 0, out, findings);
}

void tw_job_free(struct tw_job *job)
{
    free(job->path);
    free(job->name);
    free(job->confirmed);
    free(job->machine.name);
    free(job->machine.dialect.file_ending);
    free(job->wheel.name);
    free(job->relief_wheel.name);
    free(job->steel.name);
    free(job->coolant.name);
    free(job->fixture.name);
    tw_fixture_drop_keep_outs(&job->fixture);
    tw_fixture_drop_stations(&job->fixture);
    tw_job_drop_blanks(job);
    tw_handle_drop_pins(&job->handle);
    free(job->handle.outline.points);
    free(job->blade.distal.points);
    tw_part_free(&job->part);
    tw_survey_free(&job->survey);
    if (job->straight)
        tw_straight_free(job->straight);
    free(job->straight);
    tw_findings_free(&job->said);
    *job = (struct tw_job){ 0 };
}
