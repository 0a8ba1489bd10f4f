/* test_outline_reference.c - the same drawings read by general-purpose libraries: shapely (WKT, GeoJSON),
 * svgelements (SVG) and ezdxf (DXF), through tests/reference/outline.py. Guards against a reader that
 * understands a format in its own way.
 *
 * Bounds: our chords lie within the chord tolerance e of the curve, so no boundary point is farther than e from
 * the reference's (to which its own flattening adds 1e-5 mm and rounding), and the areas differ by less than e times the
 * perimeter. */
#include "outline/help.h"

#define OWN_FLATTENING_MM 5.0e-4 /* of the reference: 1e-5 units, and 5 decimals of a unit, up to 25.4 mm */

static char root[400];

static void run(const char *command, char *out, size_t room)
{
    FILE *pipe = popen(command, "r");
    size_t got;

    cr_assert(pipe != NULL);
    got = fread(out, 1, room - 1, pipe);
    out[got] = '\0';
    cr_assert(pclose(pipe) == 0, "%s failed", command);
}

static void write_ring(FILE *file, const struct tw_ring *ring)
{
    fputc('(', file);
    for (size_t i = 0; i <= ring->count; i++)
        fprintf(file, "%s%.17g %.17g", i ? ", " : "", ring->points[i % ring->count].x_mm,
                ring->points[i % ring->count].y_mm);
    fputc(')', file);
}

static void write_wkt(const char *path, const struct tw_outline *outline)
{
    FILE *file = fopen(path, "w");

    cr_assert(file != NULL);
    fputs("POLYGON (", file);
    write_ring(file, &outline->outer);
    for (size_t i = 0; i < outline->hole_count; i++) {
        fputs(", ", file);
        write_ring(file, &outline->holes[i]);
    }
    fputs(")\n", file);
    cr_assert(fclose(file) == 0);
}

/* unit_mm: what the job says, 0 where the drawing says it; reference_mm: mm in one unit as the script reads it. */
static void compare_at(const char *kind, const char *path, double unit_mm, double reference_mm, double tolerance_mm)
{
    struct tw_drawing drawing = {
        .path = path, .unit_mm = unit_mm, .chord_tolerance_mm = tolerance_mm, .gap_tolerance_mm = 0.05
    };
    struct tw_outline outline;
    struct tw_findings findings = { 0 };
    char command[1400], answer[400];
    double difference_mm2, far_mm, perimeter_mm;
    unsigned long holes;

    if (tw_outline_read(&drawing, &outline, &findings) != TW_OK) {
        tw_findings_print(&findings, stderr);
        cr_assert(false, "%s was refused", path);
    }
    write_wkt("ours.wkt", &outline);
    snprintf(command, sizeof command, "/usr/bin/python3 %s/tests/reference/outline.py %s %s %.17g ours.wkt", root, kind,
             path, reference_mm);
    run(command, answer, sizeof answer);
    cr_assert(sscanf(answer, "%lf %lf %lf %lu", &difference_mm2, &far_mm, &perimeter_mm, &holes) == 4, "%s", answer);
    cr_expect(far_mm <= tolerance_mm + OWN_FLATTENING_MM, "%s: boundaries %g mm apart", path, far_mm);
    cr_expect(difference_mm2 <= (tolerance_mm + OWN_FLATTENING_MM) * perimeter_mm, "%s: areas differ by %g mm2", path,
              difference_mm2);
    cr_expect(eq(ulong, outline.hole_count, holes));
    cr_expect(gt(dbl, perimeter_mm, 200.0), "the reference read next to nothing");
    tw_outline_free(&outline);
    tw_findings_free(&findings);
    remove("ours.wkt");
}

static void compare(const char *kind, const char *path, double unit_mm, double reference_mm)
{
    compare_at(kind, path, unit_mm, reference_mm, 0.01);
    if (strstr(path, "loose")) /* each run costs a second of the interpreter's start */
        compare_at(kind, path, unit_mm, reference_mm, 0.001);
}

static const char *sample(const char *name, char out[600])
{
    snprintf(out, 600, "%s/tests/outline/%s", root, name);
    return out;
}

static void set_up(void)
{
    cr_assert(getcwd(root, sizeof root) != NULL);
    enter_folder();
}

TestSuite(reference, .init = set_up, .fini = leave_folder, .timeout = 120);

Test(reference, wkt_and_geojson_agree_with_shapely)
{
    char path[600];

    compare("wkt", sample("whole-knife.wkt", path), 1.0, 1.0);
    compare("geojson", sample("whole-knife.geojson", path), 1.0, 1.0);
}

Test(reference, svg_agrees_with_svgelements)
{
    static const char *const names[] = { "whole-knife.svg", "tang-inch.svg", "loose.svg" };
    char path[600];

    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        compare("svg", sample(names[i], path), 0.0, 1.0);
}

Test(reference, handwritten_dxf_agrees_with_ezdxf)
{
    char path[600];

    compare("dxf", sample("loose.dxf", path), 0.0, 25.4);
}

Test(reference, dxf_written_by_a_library_agrees_with_what_it_reads)
{
    static const struct {
        const char *name;
        double unit_mm, reference_mm;
    } drawings[] = { { "polyline-r12.dxf", 1.0, 1.0 },
                     { "mirrored.dxf", 0.0, 1.0 },
                     { "loose.dxf", 0.0, 25.4 },
                     { "blocks.dxf", 0.0, 1.0 },
                     { "splines.dxf", 0.0, 10.0 } };
    char command[600], answer[100];

    snprintf(command, sizeof command, "/usr/bin/python3 %s/tests/reference/outline_make.py .", root);
    run(command, answer, sizeof answer);
    for (size_t i = 0; i < sizeof drawings / sizeof *drawings; i++) {
        compare("dxf", drawings[i].name, drawings[i].unit_mm, drawings[i].reference_mm);
        remove(drawings[i].name);
    }
}
