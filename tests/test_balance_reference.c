/* test_balance_reference.c - every sample's weights beside tests/reference/balance.py, which cuts the same regions with
 * Shapely and integrates over strips; it shares no formula with src. The samples are given a relief, a handle and a
 * weighed blank, so that all bodies are there. And guards against a reference that notices nothing. */
#include "base/file.h"
#include "geometry/ring.h"
#include "report/balance_parts.h"
#include "samples/sample.h"
#include "tangwright/relief.h"
#include "tangwright/straight.h"

#include <jansson.h>
#include <math.h>

static json_t *ring_array(const struct tw_ring *ring)
{
    json_t *array = json_array();

    for (size_t i = 0; i < ring->count; i++)
        json_array_append_new(array, json_pack("[f, f]", ring->points[i].x_mm, ring->points[i].y_mm));
    return array;
}

static json_t *outline_array(const struct tw_outline *outline)
{
    json_t *array = json_array();

    if (outline->outer.count == 0)
        return array;
    json_array_append_new(array, ring_array(&outline->outer));
    for (size_t i = 0; i < outline->hole_count; i++)
        json_array_append_new(array, ring_array(&outline->holes[i]));
    return array;
}

static json_t *relief_object(const struct tw_job *job)
{
    struct tw_relief_region region;
    json_t *pieces = json_array(), *faces;

    cr_assert(eq(int, tw_relief_region(job, &region, NULL), TW_OK));
    for (size_t i = 0; i < region.count; i++)
        json_array_append_new(pieces, outline_array(&region.pieces[i]));
    faces = job->relief.sides == TW_RELIEF_BOTH ? json_pack("[i, i]", 0, 1)
                                                : json_pack("[i]", job->relief.sides == TW_RELIEF_A ? 0 : 1);
    json_t *object = json_pack("{s:f, s:f, s:f, s:f, s:f, s:o, s:o}", "land", job->relief.land_mm, "boss",
                               job->relief.boss_mm, "end", job->relief.end_mm, "depth", job->relief.depth_mm, "area",
                               region.area_mm2, "faces", faces, "pieces", pieces);
    tw_relief_free(&region);
    return object;
}

static json_t *pins_array(const struct tw_job *job)
{
    json_t *array = json_array();

    for (size_t i = 0; i < job->handle.pin_count; i++) {
        const struct tw_pin *pin = &job->handle.pins[i];

        json_array_append_new(array, json_pack("{s:i, s:f, s:f, s:f}", "hole", pin->hole, "diameter", pin->diameter_mm,
                                               "bore", pin->bore_mm, "density", pin->density_g_per_mm3));
    }
    return array;
}

static json_t *handle_object(const struct tw_handle *handle)
{
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:b}", "thickness", handle->scale_mm, "offset",
                     handle->offset_mm, "front", handle->front_mm, "fill", handle->fill, "density",
                     handle->density_g_per_mm3, "glue", handle->glue_mm, "glue_density", handle->glue_density_g_per_mm3,
                     "filled", handle->relief_filled);
}

/* `butt_factor` other than 1 tells the reference a wrong butt. */
static void write_knife(const struct tw_job *job, double butt_factor, const char *path)
{
    struct tw_findings findings = { 0 };
    struct tw_balance balance;
    enum tw_status status = tw_balance_make(job, NULL, &balance, &findings);
    json_t *knife;

    show_findings(&findings);
    cr_assert(eq(int, status, TW_OK));
    knife =
        json_pack("{s:o, s:o, s:f, s:f, s:f, s:f, s:f, s:f, s:o, s:o, s:o, s:{s:f, s:f}, s:o}", "tang",
                  outline_array(&job->part.tang), "blade", outline_array(&job->part.blade), "T0", job->taper.ricasso_mm,
                  "T1", job->taper.butt_mm * butt_factor, "L", job->taper.length_mm, "smallest", job->taper.smallest_mm,
                  "allowance", job->finish.allowance_mm, "steel", job->steel.density_g_per_mm3, "relief",
                  relief_object(job), "handle", handle_object(&job->handle), "pins", pins_array(job), "blank", "mass",
                  job->blank.mass_g, "x", job->blank.balance_x_mm, "ours", tw_balance_object(&balance));
    cr_assert(knife != NULL);
    cr_assert(eq(int, json_dump_file(knife, path, JSON_REAL_PRECISION(17)), 0));
    json_decref(knife);
    tw_findings_free(&findings);
}

/* A pin of 3 mm in up to two of the holes. */
static void give_pins(struct tw_job *job)
{
    job->handle.pins = calloc(2, sizeof *job->handle.pins);
    cr_assert(job->handle.pins != NULL);
    for (int i = 0; i < 2 && (size_t)i < job->part.tang.hole_count; i++)
        job->handle.pins[job->handle.pin_count++] =
            (struct tw_pin){ .hole = i + 1, .diameter_mm = 3.0, .bore_mm = 1.0 * i, .density_g_per_mm3 = 0.0085 };
}

/* What the sample has not is added; whole knives get scales that begin ahead of the taper start. */
static void complete(struct tw_job *job, size_t number)
{
    static const enum tw_relief_sides sides[3] = { TW_RELIEF_BOTH, TW_RELIEF_A, TW_RELIEF_B };

    job->relief = (struct tw_relief){
        .depth_mm = 0.05, .land_mm = 2.5, .boss_mm = 1.5, .end_mm = 7.0, .sides = sides[number % 3]
    };
    job->blank = (struct tw_blank){ .mass_g = 400.0, .balance_x_mm = -35.0 };
    free(job->handle.pins);
    free(job->handle.outline.points);
    job->handle = (struct tw_handle){ .scale_mm = 7.5,
                                      .offset_mm = number % 2 ? 0.8 : 0.0,
                                      .front_mm = job->part.blade.outer.count ? -4.0 : 3.0,
                                      .fill = 0.9,
                                      .density_g_per_mm3 = 0.00105,
                                      .glue_mm = 0.15,
                                      .glue_density_g_per_mm3 = 0.00115,
                                      .relief_filled = true };
    give_pins(job);
}

static void read_job(const char *name, struct tw_job *job)
{
    struct tw_findings findings = { 0 };
    char path[128], folder[64] = "";

    if (strcmp(name, "starter") == 0)
        starter_path(folder, path);
    else
        snprintf(path, sizeof path, "samples/%s/job.cfg", name);
    cr_assert(eq(int, tw_job_read(path, job, &findings), TW_OK), "%s", path);
    tw_findings_free(&findings);
    if (folder[0])
        check_remove(folder);
    if (job->straight) /* the reference knows even blanks; what a survey does has its closed form in test_balance.c */
        tw_straight_free(job->straight);
    free(job->straight);
    job->straight = NULL;
}

/* Returns the exit status of the reference, and appends what it said. */
static int compare(const char *name, double butt_factor, struct tw_text *said)
{
    struct scratch scratch;
    struct tw_job job;
    char path[128], command[256];
    int status;

    read_job(name, &job);
    complete(&job, strlen(name));
    scratch_open(&scratch);
    snprintf(path, sizeof path, "%s/knife.json", scratch.path);
    write_knife(&job, butt_factor, path);
    snprintf(command, sizeof command, "/usr/bin/python3 tests/reference/balance.py %s 2>&1", path);
    status = run_and_read(command, said);
    scratch_close(&scratch);
    tw_job_free(&job);
    return status;
}

/* `make all-samples` takes all. */
ParameterizedTestParameters(balance_reference, agrees_within_a_hundredth_of_a_per_cent)
{
    return sample_of_each_kind();
}

ParameterizedTest(struct sample_name *name, balance_reference, agrees_within_a_hundredth_of_a_per_cent)
{
    struct tw_text said = { 0 };

    cr_expect(eq(int, compare(name->text, 1.0, &said), 0), "%s", name->text);
    fprintf(stderr, "%s: %s", name->text, said.data);
    tw_text_free(&said);
}

/* The sample says of itself that its butt was chosen so. */
Test(balance_reference, the_chef_knife_balances_where_its_job_says)
{
    struct tw_balance_wish wish = { -20.0, 0.0 };
    struct tw_balance_answer answer;
    struct tw_balance_model *model;
    struct tw_job job;

    read_job("chef-210", &job);
    cr_assert(eq(int, tw_balance_open(&job, NULL, &model, NULL), TW_OK));
    cr_assert(eq(int, tw_balance_solve(model, &wish, &answer, NULL), TW_OK));
    tw_balance_close(model);
    cr_expect(answer.reached);
    cr_expect(epsilon_eq(dbl, answer.butt_mm, job.taper.butt_mm, 0.005)); /* the job rounds it to a hundredth */
    job.taper.butt_mm = answer.butt_mm;
    cr_assert(eq(int, tw_balance_open(&job, NULL, &model, NULL), TW_OK));
    cr_expect(
        epsilon_eq(dbl, tw_balance_with(model, job.taper.butt_mm, 0.0).stages[TW_STAGE_FINISHED].x_mm, -20.0, 1e-3));
    tw_balance_close(model);
    tw_job_free(&job);
}

Test(balance_reference, notices_a_butt_that_is_wrong_by_half_a_micrometre)
{
    struct tw_text said = { 0 };

    cr_expect(ne(int, compare("hunter-110", 1.0003, &said), 0)); /* of 1.7 mm; the wedge changes by 0.025 % */
    cr_expect(strstr(said.data, "taper 0: ") != NULL && strstr(said.data, "the reference says") != NULL, "%s",
              said.data);
    tw_text_free(&said);
}
