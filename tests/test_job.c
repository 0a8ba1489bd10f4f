/* test_job.c - guards against a job that is read otherwise than it was written, and against a fault that is not
 * named, or named in words that do not help. */
#include "base/text.h"
#include "input/failing_memory.h"
#include "input/reference.h"
#include "input/schema.h"
#include "input/source.h"
#include "tangwright/job.h"

#include "check/check.h"
#include "check/tree.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* libconfig 1.5 loses the text it was collecting when a file ends inside quotes; that is not ours to mend. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
    return "leak:libconfig";
}

static void expect_text(const char *got, const char *wanted)
{
    cr_expect(got && strcmp(got, wanted) == 0, "said   %s\nwanted %s", got ? got : "nothing", wanted);
}

/* ---- a folder to break things in ---- */

static char home[4096];
static char folder[] = "/tmp/tangwright-test-job-XXXXXX";

static void run(const char *command)
{
    cr_assert(eq(int, system(command), 0), "%s", command);
}

static void open_folder(void)
{
    char path[64];

    cr_assert(getcwd(home, sizeof home) != NULL);
    cr_assert(mkdtemp(folder) != NULL);
    check_copy("tests/input/good", folder);
    snprintf(path, sizeof path, "%s/profiles", folder);
    check_copy("profiles", path);
    snprintf(path, sizeof path, "%s/starter", folder);
    check_copy("samples/starter", path);
    cr_assert(eq(int, chdir(folder), 0));
}

static void close_folder(void)
{
    cr_assert(eq(int, chdir(home), 0));
    check_remove(folder);
}

static char *read_file(const char *name)
{
    FILE *stream = fopen(name, "rb");
    char *text = calloc(1, 65536);

    cr_assert(stream != NULL, "%s", name);
    cr_assert(fread(text, 1, 65535, stream) < 65535);
    fclose(stream);
    return text;
}

static void write_file(const char *name, const char *text)
{
    FILE *stream = fopen(name, "wb");

    cr_assert(stream != NULL, "%s", name);
    fputs(text, stream);
    fclose(stream);
}

/* Turns the first `from` of the file into `to`. */
static void edit(const char *name, const char *from, const char *to)
{
    char *text = read_file(name);
    const char *at = strstr(text, from);
    struct tw_text edited = { 0 };

    cr_assert(at != NULL, "%s holds no %s", name, from);
    tw_text_print(&edited, "%.*s%s%s", (int)(at - text), text, to, at + strlen(from));
    write_file(name, edited.data);
    tw_text_free(&edited);
    free(text);
}

/* All findings, each on a line, as the command line prints them. */
static char *all_said(const struct tw_findings *findings)
{
    struct tw_text text = { 0 };

    for (size_t i = 0; i < findings->count; i++)
        tw_text_print(&text, "%s%s\n", findings->items[i].status == TW_OK ? "note: " : "", findings->items[i].text);
    return tw_text_take(&text);
}

static struct tw_job read_sound(const char *path)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    enum tw_status status = tw_job_read(path, &job, &findings);
    char *said = all_said(&findings);

    cr_assert(eq(int, status, TW_OK), "%s", said);
    free(said);
    tw_findings_free(&findings);
    return job;
}

/* The digest of the job as it now is in the folder. */
static void digest_now(char digest[17])
{
    struct tw_job job = read_sound("job.cfg");

    memcpy(digest, job.digest, 17);
    tw_job_free(&job);
}

/* ---- sound jobs ---- */

Test(job, values_arrive_in_the_programs_units, .init = open_folder, .fini = close_folder)
{
    struct tw_job job = read_sound("job.cfg");

    expect_text(job.path, "job.cfg");
    expect_text(job.name, "test");
    cr_expect(eq(int, job.mount, TW_MOUNT_TILTED));
    cr_expect(eq(dbl, job.taper.ricasso_mm, 3.7));
    cr_expect(eq(dbl, job.taper.butt_mm, 1.7));
    cr_expect(eq(dbl, job.taper.length_mm, 110));
    cr_expect(eq(int, job.finish.spark_out, TW_SPARK_OUT_AUTO)); /* default */
    cr_expect(eq(dbl, job.limits.tempering_degC, 200));
    cr_expect(eq(dbl, job.machine.feed_max_mm_per_s, 50)); /* 3 m/min */
    cr_expect(eq(int, job.machine.up.letter, 'Z'));
    cr_expect(eq(int, job.machine.up.sign, 1));
    cr_expect(eq(dbl, job.machine.up.travel_min_mm, -350));
    cr_expect(eq(int, job.machine.dialect.flood_code, 8));
    cr_expect(eq(int, job.wheel.kind, TW_WHEEL_CUP));
    cr_expect(eq(dbl, job.wheel.rim_contact_mm, 3)); /* half the rim */
    cr_expect(eq(dbl, job.wheel.grain_conductivity_W_per_mm_K, 0.24));
    cr_expect(eq(dbl, job.steel.density_g_per_mm3, 0.00783));
    cr_expect(eq(dbl, job.coolant.contact_conductance_W_per_mm2_K, 0.025));
    cr_expect(eq(dbl, job.fixture.pull_N_per_mm2, 0.2));
    cr_expect(eq(sz, job.fixture.station_count, 2));
    cr_expect(eq(int, job.fixture.stations[1].work_offset, 2)); /* G55 */
    cr_expect(eq(sz, job.part.tang.outer.count, 4));
    tw_job_free(&job);
}

static double area_mm2(const struct tw_ring *ring)
{
    double twice = 0;

    for (size_t i = 0, j = ring->count - 1; i < ring->count; j = i++)
        twice += ring->points[j].x_mm * ring->points[i].y_mm - ring->points[i].x_mm * ring->points[j].y_mm;
    return twice / 2;
}

Test(job, plan_shapes_become_counterclockwise_rings_that_hold_the_shape, .init = open_folder, .fini = close_folder)
{
    struct tw_job job = read_sound("job.cfg");
    const struct tw_keep_out *box = &job.fixture.keep_outs[0], *pin = &job.fixture.keep_outs[1],
                             *toe = &job.fixture.keep_outs[2];

    cr_assert(eq(sz, job.fixture.keep_out_count, 3));
    cr_expect(eq(sz, box->plan.count, 4));
    cr_expect(eq(dbl, area_mm2(&box->plan), 30.0 * 50.0));
    cr_expect(eq(sz, pin->plan.count, 64));
    /* A regular n-gon about a circle of radius r has the area n r^2 tan(pi/n) (closed form). */
    cr_expect(epsilon_eq(dbl, area_mm2(&pin->plan), 64 * 9.0 * tan(3.14159265358979324 / 64), 1e-9));
    for (size_t i = 0; i < 64; i++) { /* no side comes nearer to the centre than the radius */
        struct tw_point a = pin->plan.points[i], b = pin->plan.points[(i + 1) % 64];

        cr_expect(ge(dbl, hypot((a.x_mm + b.x_mm) / 2 + 60, (a.y_mm + b.y_mm) / 2 + 16), 3 - 1e-9));
    }
    cr_expect(eq(dbl, area_mm2(&toe->plan), 20.0 * 30.0 / 2)); /* given clockwise */
    tw_job_free(&job);
}

Test(job, the_starter_job_reads_without_a_word, .init = open_folder, .fini = close_folder)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;

    check_copy("starter", ".");
    cr_expect(eq(int, tw_job_read("job.cfg", &job, &findings), TW_OK));
    cr_expect(eq(sz, findings.count, 0));
    expect_text(job.wheel.name, "cup, CBN, 75 mm");
    tw_findings_free(&findings);
    tw_job_free(&job);
}

struct combination {
    const char *machine, *wheel, *steel, *coolant, *fixture;
};

Test(job, every_shipped_profile_is_sound, .init = open_folder, .fini = close_folder)
{
    static const struct combination combinations[] = {
        { "vertical-mill", "cup-alumina-100", "plain-carbon-1095", "dry", "single-magnet" },
        { "vertical-mill", "cup-cbn-75", "low-alloy-52100", "mist", "four-station" },
        { "vertical-mill-inch", "point-cbn-12", "stainless-13cr", "oil", "single-clamped" },
        { "surface-grinder", "disc-alumina-200", "tool-o1", "flood", "single-clamped" },
        { "surface-grinder-inch", "disc-cbn-175", "tool-d2", "flood", "four-station" },
        { "surface-grinder-inch", "disc-cbn-175", "tool-o1", "oil", "single-magnet-inch" },
    };

    for (size_t i = 0; i < sizeof combinations / sizeof combinations[0]; i++) {
        const struct combination *c = &combinations[i];
        struct tw_text name = { 0 };
        struct tw_job job;

        check_copy("starter", ".");
        tw_text_print(&name,
                      "sed -i -e s/vertical-mill/%s/ -e s/cup-cbn-75/%s/ -e s/low-alloy-52100/%s/ -e s/mist/%s/ "
                      "-e s/single-magnet/%s/ job.cfg",
                      c->machine, c->wheel, c->steel, c->coolant, c->fixture);
        run(name.data);
        job = read_sound("job.cfg");
        cr_expect(gt(sz, strlen(job.machine.name), 0));
        tw_job_free(&job);
        tw_text_free(&name);
    }
}

/* ---- overrides and digest ---- */

/* What another sound value of the key looks like, where a small change of the number is not one. */
struct other_value {
    const char *path;
    const char *text; /* goes into the job's group of the path's first word, whole */
};

static const struct other_value other_values[] = {
    { "blanks", "blanks = ( { thickness = \"3.71 mm\"; } );" },
    { "heights", "blanks = ( { thickness = \"3.71 mm\"; } ); heights = \"by-blank\";" },
    { "taper.height_zero", "height_zero = \"ricasso\";" },
    { "wheel.grinding_ratio_least", "grinding_ratio = 400.0; grinding_ratio_least = 100.0;" },
    { "wheel.grinding_ratio_most", "grinding_ratio = 400.0; grinding_ratio_most = 1000.0;" },
    { "relief_wheel.grinding_ratio_least", "grinding_ratio = 400.0; grinding_ratio_least = 100.0;" },
    { "relief_wheel.grinding_ratio_most", "grinding_ratio = 400.0; grinding_ratio_most = 1000.0;" },
    { "wheel.abrasive", "abrasive = \"cbn\";" },
    { "relief_wheel.abrasive", "abrasive = \"cbn\";" },
    { "wheel.rim_state", "rim_state = \"worn-in\";" },
    { "relief_wheel.rim_state", "rim_state = \"worn-in\";" },
    { "fixture.packing", "packing = \"steel wedge\";" },
    { "machine.spindle.direction", "spindle: { direction = \"counterclockwise\"; };" },
    { "machine.spindle.programmable", "spindle: { programmable = false; };" },
    { "machine.axes.along.letter", "axes: { along: { letter = \"Y\"; }; across: { letter = \"-X\"; }; };" },
    { "machine.axes.across.letter", "axes: { across: { letter = \"-Y\"; }; up: { letter = \"-Z\"; }; };" },
    { "machine.axes.up.letter", "axes: { up: { letter = \"-Z\"; }; along: { letter = \"-X\"; }; };" },
    { "machine.axes.up.travel_max", "axes: { up: { travel_max = \"-1 mm\"; }; };" },
    { "machine.program.unit", "program: { unit = \"inch\"; length_decimals = 5; };" },
    { "machine.program.path_mode", "program: { path_mode = \"G64\"; };" },
    { "machine.program.dwell", "program: { dwell = \"X seconds\"; };" },
    { "machine.program.flood_code", "program: { flood_code = \"none\"; };" },
    { "machine.program.mist_code", "program: { mist_code = \"M8\"; };" },
    { "machine.program.file_ending", "program: { file_ending = \"TAP\"; };" },
    { "machine.program.end_code", "program: { end_code = \"M30\"; };" },
    { "machine.program.program_stop", "program: { program_stop = false; };" },
    { "coolant.kind", "kind = \"dry\";" },
    { "heat.flash_limit", "flash_limit = \"equivalent\";" },
    { "fixture.keep_outs", "keep_outs = ( );" },
    { "fixture.stations",
      "stations = ( { offset = \"G59.3\"; along = \"0 mm\"; across = \"0 mm\"; up = \"0 mm\"; } );" },
    { "mount", "mount = \"level\";" },
    { "order", "order = \"a-then-b\";" },
    { "faces", "faces = \"a\";" },
    { "survey.reference", "reference = \"plate\";" },
    { "fixture.gauge_blocks", "gauge_blocks = \"inch 81\";" },
    { "parts", "parts = 2;" },
    { "outline.unit", "unit = \"1.2 mm\";" },
    { "outline.format", "format = \"csv\";" },
    { "outline.axis_towards", "axis_towards = [\"100 mm\", \"1 mm\"];" },
    { "outline.taper_start", "taper_start = [\"0 mm\", \"1 mm\"];" },
    { "confirmed", "confirmed = \"tang 240 mm\";" },
    { "outline.pick", "pick = \"knife\";" },
    { "outline.butt", "butt = \"right\";" },
    { "outline.spine", "spine = \"down\";" },
    { "outline.tang_width", "tang_width = \"20 mm\";" },
    { "relief.sides", "sides = \"b\";" },
    { "relief.when", "when = \"last\";" },
    { "blank.measured", "measured = \"behind tip\";" },
    { "handle.scale_material", "scale_material = \"bone\";" },
    { "handle.scale_outline",
      "scale_outline = ( (\"0 mm\", \"-9 mm\"), (\"99 mm\", \"0 mm\"), (\"0 mm\", \"9 mm\") );" },
    { "handle.pins", "pins = ( { hole = 1; diameter = \"5 mm\"; density = \"8 g/cm3\"; } );" },
    { "blade.distal", "distal = ( (\"20 mm\", \"1.5 mm\") );" },
};

static const char *other_value_of(const char *path)
{
    for (size_t i = 0; i < sizeof other_values / sizeof other_values[0]; i++)
        if (strcmp(other_values[i].path, path) == 0)
            return other_values[i].text;
    return NULL;
}

/* A number a little beside the present one, in the key's own unit. */
static double number_beside(const struct tw_key *key, double present)
{
    double span = key->most - key->least;
    double beside = present == 0 ? key->least + span / 1000 : present * 1.0078125;

    if (present == 0 && key->least < 0)
        beside = 0.5;
    return beside > key->most ? present * 0.9921875 : beside;
}

static void print_number(const struct tw_key *key, const void *member, struct tw_text *text)
{
    const struct tw_unit *unit;

    switch (key->kind) {
    case TW_KIND_MEASURE:
        unit = tw_unit_find(key->unit, key->quantity);
        tw_text_print(text, "%s = \"%.9g %s\";", key->name,
                      number_beside(key, tw_unit_from_inside(unit, *(const double *)member)), key->unit);
        break;
    case TW_KIND_RATIO:
        tw_text_print(text, "%s = %.9g;", key->name, number_beside(key, *(const double *)member));
        break;
    case TW_KIND_COUNT:
        tw_text_print(text, "%s = %d;", key->name, *(const int *)member + 1);
        break;
    case TW_KIND_FLAG:
        tw_text_print(text, "%s = %s;", key->name, *(const bool *)member ? "false" : "true");
        break;
    case TW_KIND_TEXT:
        tw_text_print(text, "%s = \"another\";", key->name);
        break;
    default:
        cr_assert(false, "%s needs a row in other_values", key->name);
    }
}

/* The new value, wrapped in the groups between the first word of the path and the key. */
static void print_override(const struct tw_group *group, const struct tw_key *key, const void *member, const char *path,
                           struct tw_text *text)
{
    const char *other = other_value_of(path);
    const char *inner = strchr(group->path, '.');
    int depth = 0;

    if (other) {
        tw_text_print(text, "%s", other);
        return;
    }
    for (; inner; inner = strchr(inner, '.'), depth++) {
        inner++;
        tw_text_print(text, "%.*s: { ", (int)strcspn(inner, "."), inner);
    }
    print_number(key, member, text);
    while (depth-- > 0)
        tw_text_print(text, " };");
}

/* Puts the text into the job's group of that name, or before all groups. */
static void put_into_job(const char *group, const char *text)
{
    char *job = read_file("job.cfg");
    struct tw_text opening = { 0 }, edited = { 0 };
    const char *at;

    if (*group)
        tw_text_print(&opening, "\n%.*s: {", (int)strcspn(group, "."), group);
    at = *group ? strstr(job, opening.data) : strchr(job, '\n');
    cr_assert(at != NULL, "%s", group);
    at += *group ? opening.length : 0;
    tw_text_print(&edited, "%.*s\n%s%s", (int)(at - job), job, text, at);
    write_file("job.cfg", edited.data);
    tw_text_free(&opening);
    tw_text_free(&edited);
    free(job);
}

/* Takes the key's line out of the job, if it has one. */
static void drop_from_job(const struct tw_group *group, const struct tw_key *key)
{
    char *job = read_file("job.cfg");
    struct tw_text opening = { 0 }, line = { 0 };
    char *from = job, *to, *at;

    tw_text_print(&opening, "\n%s: {", group->path);
    tw_text_print(&line, *group->path ? "\n    %s =" : "\n%s =", key->name);
    if (*group->path)
        from = strstr(job, opening.data);
    to = from && *group->path ? strstr(from, "\n};") : job + strlen(job);
    at = from ? strstr(from, line.data) : NULL;
    if (at && to && at < to) {
        char *next = at + 1 + strcspn(at + 1, "\n");

        memmove(at, next, strlen(next) + 1);
        write_file("job.cfg", job);
    }
    tw_text_free(&opening);
    tw_text_free(&line);
    free(job);
}

/* The first bytes of the member; all zero for the drawing's request, which is not handed out. */
static struct bytes {
    char b[8];
} member_of(const struct tw_job *job, const struct tw_group *group, const struct tw_key *key)
{
    const char *base = (const char *)job; /* the job is the first member of what the offsets count in */
    bool narrow = key->kind == TW_KIND_FLAG || key->kind == TW_KIND_WORD_FLAG;
    bool word = key->kind == TW_KIND_COUNT || key->kind == TW_KIND_WORD;
    struct bytes member = { { 0 } };

    if (strcmp(group->path, "outline") != 0)
        memcpy(&member, base + group->offset + key->offset, narrow ? sizeof(bool) : word ? sizeof(int) : 8);
    return member;
}

static void expect_changed(const struct tw_group *group, const struct tw_key *key, const struct tw_job *before)
{
    struct tw_text path = { 0 }, override = { 0 };
    struct bytes old_member = member_of(before, group, key), new_member;
    struct tw_job job;

    tw_text_print(&path, "%s%s%s", group->path, *group->path ? "." : "", key->name);
    print_override(group, key, &old_member, path.data, &override);
    drop_from_job(group, key);
    put_into_job(group->path, override.data);
    job = read_sound("job.cfg");
    new_member = member_of(&job, group, key);
    cr_expect(strcmp(job.digest, before->digest) != 0, "%s = %s: the digest stayed", path.data, override.data);
    if (strcmp(group->path, "outline") != 0)
        cr_expect(memcmp(&new_member, &old_member, 8) != 0, "%s: no effect", override.data);
    check_copy("base.cfg", "job.cfg");
    tw_job_free(&job);
    tw_text_free(&path);
    tw_text_free(&override);
}

/* Tested in their own ways: spindle and wheel change together, and the drawing's name does not count. */
static bool is_tested_elsewhere(const struct tw_group *group, const struct tw_key *key)
{
    static const char *const paths[] = { "machine.spindle.axis", "wheel.kind",     "relief_wheel.kind",
                                         "outline.file",         "outline.points", "survey.file" };
    char path[128];

    snprintf(path, sizeof path, "%s.%s", group->path, key->name);
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++)
        if (strcmp(paths[i], path) == 0)
            return true;
    return false;
}

Test(job, overriding_wheel_and_spindle_together_makes_a_grinder_of_a_mill, .init = open_folder, .fini = close_folder)
{
    struct tw_job job;

    edit("job.cfg", "profile = \"machine.cfg\";", "profile = \"machine.cfg\"; spindle: { axis = \"horizontal\"; };");
    edit("job.cfg", "profile = \"wheel.cfg\";", "profile = \"wheel.cfg\"; kind = \"disc\";");
    edit("job.cfg", "profile = \"relief_wheel.cfg\";", "profile = \"relief_wheel.cfg\"; kind = \"disc\";");
    job = read_sound("job.cfg");
    cr_expect(eq(int, job.wheel.kind, TW_WHEEL_DISC));
    cr_expect(eq(int, job.machine.spindle, TW_SPINDLE_HORIZONTAL));
    tw_job_free(&job);
}

Test(job, every_single_value_of_job_and_profiles_can_be_given_and_takes_effect, .init = open_folder,
     .fini = close_folder)
{
    struct tw_job before = read_sound("job.cfg");
    size_t changed = 0;

    check_copy("job.cfg", "base.cfg");
    for (size_t i = 0; i < tw_group_count; i++) {
        const struct tw_group *group = &tw_groups[i];

        for (size_t k = 0; k < group->key_count && !tw_group_is_member(group); k++) {
            if (is_tested_elsewhere(group, &group->keys[k]))
                continue;
            expect_changed(group, &group->keys[k], &before);
            changed++;
        }
    }
    cr_expect(ge(sz, changed, 100));
    tw_job_free(&before);
}

Test(job, the_digest_does_not_mind_comments_order_units_and_places, .init = open_folder, .fini = close_folder)
{
    char plain[17], other[17];
    struct tw_job job;

    digest_now(plain);
    cr_expect(eq(sz, strlen(plain), 16));
    cr_expect(eq(sz, strspn(plain, "0123456789abcdef"), 16));
    edit("job.cfg", "mount =", "# a remark\nmount =");
    edit("job.cfg", "    ricasso_thickness = \"3.7 mm\";\n    butt_thickness = \"1.7 mm\";",
         "butt_thickness = \"1700 um\"; /* turned round */ ricasso_thickness = \"0.37 cm\";");
    edit("job.cfg", "\"200 degC\"", "\"392 degF\""); /* 200 * 9/5 + 32 */
    edit("job.cfg", "\"25 K\"", "\"45 degF\"");      /* 25 * 9/5 */
    edit("wheel.cfg", "\"30 m/s\"", "\"30000 mm/s\"");
    digest_now(other);
    cr_expect(eq(str, other, plain));
    edit("job.cfg", "    length = \"110 mm\";\n", "");                      /* the outline ends there */
    edit("job.cfg", "\"45 degF\";", "\"45 degF\"; energy_reserve = 1.25;"); /* the default, written out */
    digest_now(other);
    cr_expect(eq(str, other, plain));
    run("mkdir elsewhere && mv *.cfg tang.csv elsewhere && mv elsewhere/wheel.cfg elsewhere/other-name.cfg "
        "&& "
        "mv elsewhere/tang.csv elsewhere/other.csv");
    edit("elsewhere/job.cfg", "wheel.cfg", "other-name.cfg");
    edit("elsewhere/job.cfg", "tang.csv", "other.csv");
    job = read_sound("elsewhere/job.cfg");
    cr_expect(eq(str, job.digest, plain));
    tw_job_free(&job);
}

Test(job, the_digest_minds_every_byte_of_the_drawing_and_members_of_lists, .init = open_folder, .fini = close_folder)
{
    static const char *const edits[][3] = {
        { "tang.csv", "110,10", "110,10.0" },
        { "fixture.cfg", "\"6 mm\"", "\"6.1 mm\"" },
        { "fixture.cfg", "\"12 mm\"", "\"13 mm\"" },
        { "fixture.cfg", "\"-70 mm\", \"30 mm\"", "\"-70 mm\", \"31 mm\"" },
        { "fixture.cfg", "\"pad\"; box", "\"body\"; box" },
        { "fixture.cfg", "G55", "G56" },
        { "fixture.cfg", "across = \"40 mm\"", "across = \"41 mm\"" },
    };
    char plain[17], other[17];

    digest_now(plain);
    for (size_t i = 0; i < sizeof edits / sizeof edits[0]; i++) {
        edit(edits[i][0], edits[i][1], edits[i][2]);
        digest_now(other);
        cr_expect(ne(str, other, plain), "%s", edits[i][2]);
        edit(edits[i][0], edits[i][2], edits[i][1]);
    }
}

/* ---- remarks ---- */

struct saying {
    const char *file, *from, *to;
    const char *said; /* everything, line by line */
};

static void expect_said(const struct saying *c, enum tw_status wanted_status)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    char *before = read_file(c->file);
    enum tw_status status;
    char *said;

    edit(c->file, c->from, c->to);
    status = tw_job_read("job.cfg", &job, &findings);
    said = all_said(&findings);
    cr_expect(strcmp(said, c->said) == 0, "%s -> %s\nsaid   %swanted %s", c->from, c->to, said, c->said);
    if (wanted_status == TW_OK)
        cr_expect(eq(int, status, TW_OK));
    else
        cr_expect(status == TW_BAD_INPUT || status == TW_IO, "%s: status %d", c->to, (int)status);
    if (status != TW_OK)
        cr_expect(job.path == NULL && job.name == NULL && job.fixture.keep_outs == NULL);
    write_file(c->file, before);
    tw_job_free(&job);
    tw_findings_free(&findings);
    free(before);
    free(said);
}

static const struct saying remarks[] = {
#include "input/remarks.inc"
};

Test(job, what_a_person_should_know_is_remarked, .init = open_folder, .fini = close_folder)
{
    for (size_t i = 0; i < sizeof remarks / sizeof remarks[0]; i++)
        expect_said(&remarks[i], TW_OK);
}

/* Two finishing layers of 5 um stay on side A when both faces are roughed before; of this wheel's wear nothing is known. The rest is as
 * high as side A's taper has fallen. */
static enum tw_status on_rest(const char *order, const char *band, const char *smallest, bool rises, double *band_mm,
                              char **said)
{
    const struct tw_instead changes[] = { { "order", order },
                                          { "taper.thickness_band", band },
                                          { "taper.smallest_thickness", smallest },
                                          { "relief.depth", "0.02 mm" } };
    struct tw_findings findings = { 0 };
    struct tw_job job;
    char *before = read_file("fixture.cfg"), rest[240];
    enum tw_status status;

    snprintf(rest, sizeof rest,
             "keep_outs = ( { name = \"rest B\"; kind = \"pad\"; sides = \"b\"; %s "
             "box = [\"5 mm\", \"-9 mm\", \"105 mm\", \"9 mm\"]; },",
             rises ? "top = \"0.955 mm\"; rise = \"0.909 mm\";" : "top = \"0 mm\";");
    edit("fixture.cfg", "keep_outs = (", rest);
    status = tw_job_read_with("job.cfg", changes, 4, &job, &findings);
    *band_mm = status == TW_OK ? job.taper.band_mm : (double)NAN;
    *said = all_said(&findings);
    write_file("fixture.cfg", before);
    tw_job_free(&job);
    tw_findings_free(&findings);
    free(before);
    return status;
}

static double band_mm(const char *order, const char *band, bool rises)
{
    double found_mm;
    char *said;

    cr_assert(eq(int, on_rest(order, band, "1 mm", rises, &found_mm, &said), TW_OK), "%s", said);
    free(said);
    return found_mm;
}

Test(job, what_side_a_keeps_lifts_the_blank_on_a_rest_that_rises, .init = open_folder, .fini = close_folder)
{
    cr_expect(epsilon_eq(dbl, band_mm("rough-then-finish", "0 mm", true), 0.010, 1e-9));
    cr_expect(epsilon_eq(dbl, band_mm("rough-then-finish", "0.03 mm", true), 0.030, 1e-9));
    cr_expect(epsilon_eq(dbl, band_mm("rough-then-finish", "0 mm", false), 0.0, 0.0));
    cr_expect(epsilon_eq(dbl, band_mm("a-then-b", "0 mm", true), 0.0, 0.0));
}

/* Its butt would come out 1.69 mm thick. */
Test(job, a_lift_that_would_leave_the_butt_too_thin_is_refused, .init = open_folder, .fini = close_folder)
{
    double found_mm;
    char *said;

    cr_expect(eq(int, on_rest("rough-then-finish", "0 mm", "1.695 mm", true, &found_mm, &said), TW_BAD_INPUT));
    cr_expect(strstr(said, "lifts the blank by up to 0.010 mm (0.0004 in)") != NULL, "%s", said);
    cr_expect(strstr(said, "make the butt thicker, or allow less") != NULL, "%s", said);
    free(said);
    cr_expect(eq(int, on_rest("rough-then-finish", "0 mm", "1.69 mm", true, &found_mm, &said), TW_OK), "%s", said);
    free(said);
}

/* A piece of the ricasso is no blade: where the tip lies is not known, and the blank may balance ahead of what is drawn. */
Test(job, a_tang_drawn_with_some_ricasso_can_be_balanced, .init = open_folder, .fini = close_folder)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    char *said;

    edit("job.cfg", "    length = \"150 mm\";\n    distal = ( (\"10 mm\", \"1 mm\"), (\"140 mm\", \"3.5 mm\") );\n",
         "");
    edit("tang.csv", "0,-10\n110,-10\n110,10\n0,10\n0,-10\n", "-12,-10\n110,-10\n110,10\n-12,10\n-12,-10\n");
    job = read_sound("job.cfg"); /* 40 mm ahead */
    cr_expect(eq(dbl, job.blank.balance_x_mm, -40.0));
    cr_expect(eq(dbl, job.blade.length_mm, 0.0));
    tw_job_free(&job);
    edit("job.cfg", "balance_point = \"40 mm\"", "balance_point = \"610 mm\"");
    cr_expect(eq(int, tw_job_read("job.cfg", &job, &findings), TW_BAD_INPUT));
    edit("job.cfg", "balance_point = \"610 mm\"", "balance_point = \"5 mm\"");
    edit("job.cfg", "blade: {\n", "blade: {\n    length = \"8 mm\";\n");
    cr_expect(eq(int, tw_job_read("job.cfg", &job, &findings), TW_BAD_INPUT));
    said = all_said(&findings);
    expect_text(said,
                "job.cfg:55: blank.balance_point: 610 mm puts the balance point 610.0 mm ahead of the taper start, "
                "farther than any blade reaches that this program knows of, 600 mm; look at measured as well\n"
                "job.cfg:67: blade.length: 8 mm, but the drawing shows steel as far as 12.00 mm ahead of the taper "
                "start, and the tip lies no nearer\n");
    free(said);
    tw_findings_free(&findings);
}

/* ---- wrong input ---- */

static const struct saying wrong_inputs[] = {
#include "input/wrong_inputs.inc"
};

Test(job, every_fault_is_named_in_exactly_these_words, .init = open_folder, .fini = close_folder)
{
    for (size_t i = 0; i < sizeof wrong_inputs / sizeof wrong_inputs[0]; i++)
        expect_said(&wrong_inputs[i], TW_BAD_INPUT);
    cr_expect(ge(sz, sizeof wrong_inputs / sizeof wrong_inputs[0], 60));
}

Test(job, all_faults_of_all_files_are_said_at_once_sorted_by_file_and_line, .init = open_folder, .fini = close_folder)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    char *said;

    edit("wheel.cfg", "\"75 mm\"", "75");
    edit("wheel.cfg", "speed = \"20 m/s\"", "speed = \"20 mm\"");
    edit("steel.cfg", "density", "densitty");
    edit("job.cfg", "layers = 2", "layers = 200");
    edit("job.cfg", "\"3.7 mm\"", "3.7");
    edit("fixture.cfg", "circle", "sphere");
    cr_expect(eq(int, tw_job_read("job.cfg", &job, &findings), TW_BAD_INPUT));
    said = all_said(&findings);
    expect_text(said,
                "fixture.cfg:5: fixture.keep_outs[2].sphere: is not a key that is known here; known are name, kind, "
                "top, rise, sides, "
                "box, circle, polygon\n"
                "fixture.cfg:5: fixture.keep_outs[2]: has no shape; write one of box, circle and polygon, such as "
                "box = "
                "[\"-90 mm\", \"-30 mm\", \"-70 mm\", \"30 mm\"];\n"
                "job.cfg:10: taper.ricasso_thickness: 3.7 is a bare number; a length carries its unit: write "
                "ricasso_thickness = \"3.7 mm\";\n"
                "job.cfg:19: finish.layers: 200 is out of range: 0 to 50 is allowed\n"
                "steel.cfg: steel.density: is missing; write for example density = \"7810 kg/m3\";\n"
                "steel.cfg:3: steel.densitty: is not a key that is known here; did you mean density?\n"
                "wheel.cfg:3: wheel.diameter: 75 is a bare number; a length carries its unit: write diameter = \"75 "
                "mm\";\n"
                "wheel.cfg:7: wheel.speed: \"20 mm\" is a length, but a speed is wanted; allowed are mm/s, mm/min, "
                "m/s, "
                "m/min, in/s, in/min, ft/min\n");
    free(said);
    tw_findings_free(&findings);
}

Test(job, a_job_that_is_not_there_is_an_input_output_fault, .init = open_folder, .fini = close_folder)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;

    cr_expect(eq(int, tw_job_read("nowhere.cfg", &job, &findings), TW_IO));
    cr_assert(eq(sz, findings.count, 1));
    expect_text(findings.items[0].text, "nowhere.cfg: cannot be opened: No such file or directory");
    tw_findings_free(&findings);
}

Test(job, a_missing_profile_alone_is_an_input_output_fault_and_no_other_follows, .init = open_folder,
     .fini = close_folder)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;

    edit("job.cfg", "\"wheel.cfg\"", "\"whel.cfg\"");
    cr_expect(eq(int, tw_job_read("job.cfg", &job, &findings), TW_IO));
    cr_assert(eq(sz, findings.count, 1));
    expect_text(findings.items[0].text,
                "job.cfg:34: wheel.profile: \"whel.cfg\" cannot be opened: No such file or directory; did you mean "
                "wheel.cfg?");
    tw_findings_free(&findings);
}

Test(job, a_zero_byte_is_not_text, .init = open_folder, .fini = close_folder)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;

    run("printf 'name = \"a\";\\0' > job.cfg");
    cr_expect(eq(int, tw_job_read("job.cfg", &job, &findings), TW_BAD_INPUT));
    cr_assert(eq(sz, findings.count, 1));
    expect_text(findings.items[0].text, "job.cfg: holds a zero byte, so it is not a text file; is it the right one?");
    tw_findings_free(&findings);
}

/* ---- memory ---- */

/* A run whose n-th allocation fails must say so, hand out nothing and keep nothing. */
static void sweep(bool sound)
{
    enum tw_status status = TW_NO_MEMORY;
    long failed = 0;

    for (long n = 0; n < 100000 && allocations_until_failure < 0; n++) {
        struct tw_findings findings = { 0 };
        long before = blocks_in_use;
        struct tw_job job;

        allocations_until_failure = n;
        status = tw_job_read("job.cfg", &job, &findings);
        if (allocations_until_failure < 0) {
            cr_expect(eq(int, status, TW_NO_MEMORY), "allocation %ld", n);
            cr_expect(findings.out_of_memory && job.path == NULL, "allocation %ld", n);
            failed++;
        } else {
            cr_expect(eq(int, status, sound ? TW_OK : TW_BAD_INPUT));
        }
        tw_job_free(&job);
        tw_findings_free(&findings);
        cr_expect(eq(long, blocks_in_use, before), "allocation %ld", n);
    }
    cr_expect(gt(long, failed, 100));
    allocations_until_failure = -1;
}

/* libconfig has no other sign of it. */
Test(job, a_text_that_libconfig_could_not_copy_is_noticed)
{
    config_t config;
    config_setting_t *list;

    config_init(&config);
    cr_assert(eq(int, config_read_string(&config, "a = 1; g: { l = ( \"x\", { t = \"y\"; } ); };"), CONFIG_TRUE));
    cr_expect(not(tw_source_lost_text(config_root_setting(&config))));
    list = config_lookup(&config, "g.l");
    config_setting_set_string(config_setting_get_member(config_setting_get_elem(list, 1), "t"), NULL);
    cr_expect(tw_source_lost_text(config_root_setting(&config)));
    config_destroy(&config);
}

Test(job, each_failing_allocation_is_reported_and_leaves_nothing_behind, .init = open_folder, .fini = close_folder)
{
    sweep(true);
}

Test(job, failing_allocations_among_faults_are_reported_too, .init = open_folder, .fini = close_folder)
{
    edit("job.cfg", "\"wheel.cfg\"", "\"whel.cfg\"");
    edit("job.cfg", "\"3.7 mm\"", "3.7");
    edit("job.cfg", "tilted", "tiltd");
    edit("job.cfg", "margin", "margn");
    edit("fixture.cfg", "circle", "sphere");
    edit("steel.cfg", "density = ", "density ");
    sweep(false);
}

/* ---- documents ---- */

/* The page must hold each group's table word for word; what is wanted is printed, to be pasted in. */
static void expect_tables(const char *page_name, bool profile)
{
    char *page = read_file(page_name);

    for (size_t i = 0; i < tw_group_count; i++) {
        struct tw_text table = { 0 }, heading = { 0 };

        if (tw_groups[i].profile != profile || tw_groups[i].key_count == 0)
            continue;
        tw_reference_table(&tw_groups[i], &table);
        tw_text_print(&heading, "`%s`", *tw_groups[i].path ? tw_groups[i].path : "name");
        cr_expect(strstr(page, heading.data) != NULL, "%s lacks %s", page_name, heading.data);
        cr_expect(strstr(page, table.data) != NULL, "%s lacks this table of %s:\n%s", page_name, tw_groups[i].path,
                  table.data);
        tw_text_free(&table);
        tw_text_free(&heading);
    }
    free(page);
}

Test(reference, the_pages_hold_every_key_with_unit_range_default_and_meaning)
{
    expect_tables("docs/job-reference.md", false);
    expect_tables("docs/profile-reference.md", true);
}

/* How a program is written and how many decimals it has is chosen, not measured. */
static bool is_measured(const struct tw_group *group, const struct tw_key *key)
{
    return group->profile && strcmp(group->path, "machine.program") != 0 && key->least < key->most;
}

Test(reference, every_number_of_a_profile_says_what_settles_it)
{
    char *page = read_file("docs/bench-tests.md");
    const char *tables = strstr(page, "## Every number of a profile");

    cr_assert(tables != NULL);
    for (size_t i = 0; i < tw_group_count; i++)
        for (size_t k = 0; k < tw_groups[i].key_count; k++) {
            struct tw_text name = { 0 };

            tw_text_print(&name, "`%s`", tw_groups[i].keys[k].name);
            if (is_measured(&tw_groups[i], &tw_groups[i].keys[k]))
                cr_expect(strstr(tables, name.data) != NULL, "%s.%s", tw_groups[i].path, name.data);
            tw_text_free(&name);
        }
    free(page);
}

Test(reference, every_key_has_a_meaning_and_every_number_a_source)
{
    for (size_t i = 0; i < tw_group_count; i++)
        for (size_t k = 0; k < tw_groups[i].key_count; k++) {
            const struct tw_key *key = &tw_groups[i].keys[k];

            cr_expect(key->meaning != NULL, "%s.%s", tw_groups[i].path, key->name);
            cr_expect(key->source || (!key->preset && !key->unit && key->least == key->most), "%s.%s",
                      tw_groups[i].path, key->name);
            cr_expect(key->example || key->preset || key->words, "%s.%s", tw_groups[i].path, key->name);
        }
}

/* Well-formed and ill-formed sequences: RFC 3629 (2003), sections 3 and 4, and U+D800 to U+DFFF, C0, C1, F5 to FF. */
Test(text, utf8_is_told_from_other_bytes)
{
    static const char *const good[] = { "",
                                        "plain",
                                        ("K\xc3\xbc"
                                         "che"),
                                        "\xe2\x82\xac",
                                        "\xf0\x9f\x94\xaa",
                                        "\xf4\x8f\xbf\xbf",
                                        "\xed\x9f\xbf",
                                        "\xee\x80\x80" };
    static const char *const bad[] = { ("K\xfc"
                                        "che"),
                                       "\xc3",
                                       "\xe2\x82",
                                       "\xf0\x9f\x94",
                                       "\x80",
                                       "\xc0\x80",
                                       "\xc1\xbf",
                                       "\xe0\x9f\xbf",
                                       "\xed\xa0\x80",
                                       "\xf0\x8f\xbf\xbf",
                                       "\xf4\x90\x80\x80",
                                       "\xf5\x80\x80\x80",
                                       "\xff",
                                       "\xc3z" };

    for (size_t i = 0; i < sizeof good / sizeof *good; i++)
        cr_expect(tw_is_utf8(good[i]), "%zu", i);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        cr_expect(eq(int, tw_is_utf8(bad[i]), 0), "%zu", i);
}
