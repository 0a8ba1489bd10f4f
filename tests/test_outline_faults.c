/* test_outline_faults.c - a table of bad drawings with the exact first line each of them gets, and the promise
 * that a bad drawing leaves an empty outline. */
#include "geometry/ring.h"
#include "outline/help.h"

#define SVG "<svg width='200mm' viewBox='0 0 200 200'>\n"
#define DXF "0\nSECTION\n2\nENTITIES\n"
#define END "0\nENDSEC\n0\nEOF\n"

struct bad {
    const char *name, *text;
    double unit_mm;
    const char *pick, *fault;
};

static const struct bad table[] = {
    { "a.wkt", "POLYGON((0 0,60 0,60 30,0 0))", 0, NULL,
      "a.wkt: a WKT drawing does not say how long its unit is; add outline.unit to the job, for example unit "
      "= \"1 mm\"; or "
      "unit = \"1 in\";" },
    { "a.wkt", "", 1, NULL, "a.wkt: the file is empty; export the drawing again" },
    { "a.wkt", "POLYGON EMPTY", 1, NULL, "a.wkt:1: POLYGON EMPTY holds no outline; export the drawing again" },
    { "a.wkt", "\n\nPOINT(1 2)", 1, NULL,
      "a.wkt:3: a WKT drawing begins with POLYGON, MULTIPOLYGON or LINESTRING, not with 'POINT(1'; draw the "
      "outline as one "
      "POLYGON, holes as its inner rings" },
    { "a.wkt", "{\"type\":1}", 1, NULL,
      "a.wkt:1: a WKT drawing begins with POLYGON, MULTIPOLYGON or LINESTRING, not with '{\"type\":1}'; is "
      "it of another "
      "format? Then name it in outline.format" },
    { "a.wkt", "POLYGON((0 0,60 0,\n60 nan,0 0))", 1, NULL,
      "a.wkt:2: the y of a point should be a number such as 12.5, but here stands 'nan,0'" },
    { "a.wkt", "POLYGON((0 0,60 1e999,60 1,0 0))", 1, NULL,
      "a.wkt:1: the y of a point is too large to be a length: '1e999,60'" },
    { "a.wkt", "POLYGON((0 0,60 0,60 1000000000000000000000000000000000000000000000000000000000000000000000,0 0))", 1,
      NULL,
      "a.wkt:1: the y of a point has more than 64 characters, beginning '100000000000000000000000'; round "
      "it" },
    { "a.wkt", "POLYGON((0 0,60 0,60 3e7,0 0))", 1, NULL,
      "a.wkt:1: a point lies at (60, 3e+07) mm, but nothing may lie farther than 1 km from the origin; move "
      "the drawing nearer "
      "to it, or correct the unit" },
    { "a.wkt", "POLYGON((0 0,60 0,60 30", 1, NULL,
      "a.wkt:1: ',' and a further point, or ')', should stand here, but here stands the end of the file" },
    { "a.wkt", "POLYGON((0 0,60 0,60 30,0 0)) POLYGON", 1, NULL,
      "a.wkt:1: nothing more (one geometry is read) should stand here, but here stands 'POLYGON'" },
    { "a.wkt", "POLYGON((0 0,60 30,60 0,0 30,0 0))", 1, NULL,
      "a.wkt:1: the outer ring crosses or touches itself at (30, 15); part the lines there in the drawing" },
    { "a.wkt", "POLYGON((0 0,60 0,60 30,30 30,30 50,30 30,0 30,0 0))", 1, NULL,
      "a.wkt:1: a spike: the ring runs to (30, 50) and straight back; delete that point" },
    { "a.wkt", "LINESTRING(0 0,60 0,60 30,0 30,0 4)", 1, NULL,
      "a.wkt:1: the ring is open: it ends at (0, 0), and the nearest other end is (0, 4), 4 mm away; close "
      "it in the drawing, "
      "or if this is a mere gap set outline.gap_tolerance above it (now 0.05 mm)" },
    { "a.wkt", "POLYGON((0 0,60 0,60 30,0 30,0 0),\n(70 5,80 5,80 9,70 5))", 1, NULL,
      "a.wkt:2: ring 2 is a hole that lies outside the outer ring, from (70, 5) to (80, 9); move or delete "
      "it" },
    { "a.wkt", "POLYGON((0 0,60 0,60 30,0 30,0 0),\n(50 5,80 5,50 9,50 5))", 1, NULL,
      "a.wkt:2: the outer ring and ring 2 cross or touch at (60, 7.66667); part them in the drawing" },
    { "a.wkt", "POLYGON((0 0,60 0,60 30,0 30,0 0),\n(5 5,20 5,20 20,5 20,5 5),\n(8 8,12 8,12 12,8 8))", 1, NULL,
      "a.wkt:3: ring 3 at (8, 8) lies inside ring 2, which is a hole; delete one of them, or if the "
      "outermost ring is a frame "
      "around the drawing name the outline in outline.pick" },
    { "a.wkt", "MULTIPOLYGON(((0 0,60 0,60 30,0 0)),((100 0,160 0,160 30,100 0)))", 1, NULL,
      "a.wkt: 2 rings could be the outline; name one in the job, such as outline.pick = \"...\"; (the id in "
      "an SVG drawing, the "
      "layer in a DXF, name or id in a GeoJSON), or delete the others" },
    { "a.wkt", "POLYGON((0 0,6 0,6 3,0 3,0 0))", 1, NULL,
      "a.wkt: the outline measures 6 by 3 mm, but a knife is 10 to 1000 mm long; its 6 by 3 units would be 6 "
      "by 3 mm if they "
      "were mm, 152.4 by 76.2 mm if they were inches, 60 by 30 mm if they were cm; write in the outline of "
      "the job unit = "
      "\"1 in\";" },
    { "a.wkt", "POLYGON((0 0,240 0,240 30,0 30,0 0))", 25.4, NULL,
      "a.wkt: the outline measures 6096 by 762 mm, but a knife is 10 to 1000 mm long; its 240 by 30 units "
      "would be 240 by 30 mm "
      "if they were mm, 6096 by 762 mm if they were inches, 2400 by 300 mm if they were cm; write in the "
      "outline of the job "
      "unit = \"1 mm\";" },
    { "a.geojson", "{\"type\":\"Polygon\",\n\"coordinates\":[[[0,0],\n[60,0", 1, NULL,
      "a.geojson:3: this is not sound JSON: ']' expected near end of file; is the file whole?" },
    { "a.geojson", "{\"type\":\"Polygon\",\n\"coordinates\":[[[0,0],\n[60,\"0\"],[1,1],[0,0]]]}", 1, NULL,
      "a.geojson:3: a position should be two numbers, such as [12.5, 3.0]" },
    { "a.geojson", "{\"type\":\"Feature\",\"geometry\":\n{\"type\":\"Circle\"}}", 1, NULL,
      "a.geojson:2: \"Circle\" is no GeoJSON type; Polygon, MultiPolygon, LineString, Feature, "
      "FeatureCollection and "
      "GeometryCollection are read" },
    { "a.geojson", "{\"type\":\"Polygon\"}", 1, NULL, "a.geojson:1: this geometry has no \"coordinates\"" },
    { "a.geojson", "{\"type\":\"FeatureCollection\",\"features\":[]}", 1, NULL,
      "a.geojson: the drawing holds no closed ring that could be the outline; draw it as one closed line" },
    { "a.geojson",
      "{\"type\":\"Feature\",\"id\":4,\"geometry\":{\"type\":\"Polygon\",\"coordinates\":[[[0,0],[60,0],[60,"
      "30],[0,0]]]}}",
      1, "x",
      "a.geojson: outline.pick asks for \"x\", but no closed ring of the drawing has that name; it has "
      "\"4\"" },
    { "a.svg", "<svg width='100'><rect width='60' height='30'/></svg>", 0, NULL,
      "a.svg: an SVG drawing without a width such as \"300mm\" does not say how long its unit is; add "
      "outline.unit to the job, "
      "for example unit = \"1 mm\"; or unit = \"1 in\";" },
    { "a.svg", SVG "<rect width='60' height='30'/></svg>", 25.4, NULL,
      "a.svg:1: the drawing says that its unit is 1 mm (width=\"200mm\" and viewBox), but outline.unit in "
      "the job says 25.4 mm; "
      "take outline.unit out of the job, or correct the drawing" },
    { "a.svg", SVG "<g>\n</svg>", 0, NULL, "a.svg:3: this is not sound XML: mismatched tag; is the file whole?" },
    { "a.svg", SVG "<rect width='60' hei", 0, NULL,
      "a.svg:2: this is not sound XML: unclosed token; is the file whole?" },
    { "a.svg", "<html></html>", 0, NULL,
      "a.svg:1: an SVG drawing begins with <svg>, not with <html>; is it another kind of file?" },
    { "a.svg", SVG "<path d='M0 0 L 60 q'/></svg>", 0, NULL,
      "a.svg:2: path data, character 11: a number should stand, but here stands 'q'" },
    { "a.svg", SVG "<path d='0 0 L 60'/></svg>", 0, NULL,
      "a.svg:2: path data, character 1: a command should stand (M L H V C S Q T A Z, or small for relative), "
      "but here stands '0'" },
    { "a.svg", SVG "<path d='L0 0'/></svg>", 0, NULL,
      "a.svg:2: path data, character 1: path data begins with M, but here stands 'L0'" },
    { "a.svg", SVG "<path d='M0 0A5 5 0 2 0 9 9'/></svg>", 0, NULL,
      "a.svg:2: path data, character 12: a flag of an arc should be 0 or 1, but here stands '2'" },
    { "a.svg", SVG "<rect width='60%' height='3'/></svg>", 0, NULL,
      "a.svg:2: width of <rect> is a percentage; write it as a length" },
    { "a.svg", SVG "<rect width='6em' height='3'/></svg>", 0, NULL,
      "a.svg:2: width of <rect> should be a number alone or with mm, cm, in, pt, pc, px, Q or %, but here "
      "stands 'em'" },
    { "a.svg", SVG "<polygon points='0 0 60 0 60'/></svg>", 0, NULL,
      "a.svg:2: points of <polygon>: the y of a point should be a number, but here stands the end of the "
      "list" },
    { "a.svg", SVG "<g transform='rotate(5 6)'/></svg>", 0, NULL,
      "a.svg:2: transform of <g> should hold matrix(a b c d e f), translate(x y), scale(x y), rotate(a) or "
      "rotate(a x y), "
      "skewX(a), skewY(a), but here stands 'rotate(5'" },
    { "a.svg", "<svg viewBox='0 0 0 9' width='9mm'/>", 0, NULL,
      "a.svg:1: viewBox should be four numbers, x y width height, with a width and a height above zero, but "
      "it is \"0 0 0 9\"" },
    { "a.svg", SVG "<use id='u' href='#u'/></svg>", 0, NULL,
      "a.svg:2: <use> stands more than 256 levels deep; does a <use> use itself?" },
    { "a.svg", SVG "<use href='#v'/></svg>", 0, NULL,
      "a.svg:2: <use> points to nothing in this file; its href should be # and the id of an element" },
    { "a.svg", SVG "<switch/></svg>", 0, NULL,
      "a.svg:2: <switch> is not read; draw the outline with paths and basic shapes" },
    { "a.svg", SVG "<rect id='a' width='60' height='30'/><rect x='90' width='60' height='30'/></svg>", 0, NULL,
      "a.svg: 2 rings could be the outline; name one in the job, such as outline.pick = \"...\"; (the id in "
      "an SVG drawing, the "
      "layer in a DXF, name or id in a GeoJSON), or delete the others" },
    { "a.svg", SVG "<rect width='60' height='30'/>\n<rect x='50' y='5' width='60' height='10'/></svg>", 0, NULL,
      "a.svg:3: ring 1 and ring 2 cross or touch at (60, 15); part them in the drawing" },
    { "a.svg", SVG "<path d='M0 0L60 0L60 30'/></svg>", 0, NULL,
      "a.svg:2: a line is open: it ends at (0, 0), and the nearest other end is (60, 30), 67.08 mm away; if it is part "
      "of "
      "the outline, close it; if it is a centre line or another that is no edge, delete it, or name the outline's "
      "layer or "
      "id with outline.pick" },
    { "a.dxf", DXF "0\nCIRCLE\n10\n0\n20\n0\n40\n30\n" END, 0, NULL,
      "a.dxf: a DXF drawing without $INSUNITS does not say how long its unit is; add outline.unit to the "
      "job, for example unit = "
      "\"1 mm\"; or unit = \"1 in\";" },
    { "a.dxf", "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n1\n0\nENDSEC\n" DXF "0\nCIRCLE\n10\n0\n20\n0\n40\n3\n" END, 1,
      NULL,
      "a.dxf:8: the drawing says that its unit is 25.4 mm ($INSUNITS 1, inch), but outline.unit in the job "
      "says 1 mm; take "
      "outline.unit out of the job, or correct the drawing" },
    { "a.dxf", "AutoCAD Binary DXF\r\n\x1a", 1, NULL, "a.dxf: this is a binary DXF drawing; export it as ASCII DXF" },
    { "a.dxf", "<svg/>", 1, NULL,
      "a.dxf:1: a group code (a whole number from 0 to 1071) should stand here, but here stands '<svg/>'; is "
      "this an ASCII DXF "
      "drawing, and whole?" },
    { "a.dxf", DXF "0\nLINE\n10\n0\n20\n", 1, NULL,
      "a.dxf:9: the drawing ends after a group code; it is cut off, export it again" },
    { "a.dxf", DXF "0\nLINE\n10\n0\n20\n0\n", 1, NULL,
      "a.dxf:11: the drawing ends inside LINE; it is cut off, export it again" },
    { "a.dxf", DXF "0\nLINE\n10\n0\n20\n0\n" END, 1, NULL,
      "a.dxf:6: LINE lacks the place of groups 11 and 21; export the drawing again" },
    { "a.dxf", DXF "0\nCIRCLE\n10\n0\n20\nabc\n40\n5\n" END, 1, NULL,
      "a.dxf:10: the value of a group should be a number such as 12.5, but here stands 'abc'" },
    { "a.dxf", DXF "0\n3DFACE\n10\n0\n" END, 1, NULL,
      "a.dxf:6: 3DFACE is not read; explode it to LINE, ARC, CIRCLE, ELLIPSE, SPLINE, LWPOLYLINE or "
      "POLYLINE" },
    { "a.dxf", DXF "0\nINSERT\n2\nP\n10\n0\n20\n0\n" END, 1, NULL,
      "a.dxf:6: INSERT asks for the block \"P\", which the drawing does not hold; bind or explode it" },
    { "a.dxf", DXF "0\nCIRCLE\n10\n0\n20\n0\n40\n30\n210\n0\n220\n1\n230\n0\n" END, 1, NULL,
      "a.dxf:6: CIRCLE stands aslant: its extrusion is (0, 1, 0), but only (0, 0, 1) and (0, 0, -1) lie in "
      "the drawing's plane; "
      "flatten the drawing" },
    { "a.dxf", DXF "0\nSPLINE\n71\n3\n74\n2\n11\n0\n21\n0\n11\n5\n21\n0\n" END, 1, NULL,
      "a.dxf:6: SPLINE has fit points only, no control points; save it with control points, or turn it to a "
      "polyline" },
    { "a.dxf", DXF "0\nSPLINE\n71\n1\n40\n0\n40\n0\n40\n1\n10\n0\n20\n0\n10\n5\n20\n0\n" END, 1, NULL,
      "a.dxf:6: SPLINE of degree 1 with 2 control points needs 4 knots but has 3; export the drawing again" },
    { "a.dxf",
      DXF "0\nLINE\n10\n0\n20\n0\n11\n60\n21\n0\n0\nLINE\n10\n60\n20\n0\n11\n60\n21\n30\n0\nLINE\n10\n60\n20"
          "\n0\n11\n0\n21\n0\n"
          "0\nLINE\n10\n60\n20\n0\n11\n80\n21\n30\n" END,
      1, NULL,
      "a.dxf:36: three or more lines meet at (60, 0), but an outline does not branch; delete the line that "
      "is no outline, or name "
      "the outline's own layer or id in outline.pick" },
    { "a.csv", "x [mm], y [mm]\n0,0\n60,0\n60,30\n", 25.4, NULL,
      "a.csv:1: the drawing says that its unit is 1 mm (in its heading), but outline.unit in the job says 25.4 mm; "
      "take "
      "outline.unit out of the job, or correct the drawing" },
    { "a.csv", "x [mm], y [in]\n0,0\n60,0\n60,30\n", 0, NULL,
      "a.csv:1: x and y have different units in the heading; both are read in one: x [mm], y [mm]" },
    { "a.csv", "x [parts], y [parts]\n0,0\n60,0\n60,30\n", 0, NULL,
      "a.csv:1: [parts] in the heading is no unit of length; write for example x [mm], y [mm]" },
    { "a.csv", "0,0\n60,5,0\n", 1, NULL,
      "a.csv:2: nothing should stand after y, but here stands ',0'; a line holds x and y, such as 12.5,3.0" },
    { "a.csv", "x,y\n0,0\n60;\n", 1, NULL,
      "a.csv:3: the y of a point should stand here, but here stands the end of the line; a line holds x and "
      "y, such as 12.5,3.0" },
    { "a.csv", "0,0\n6O,5\n", 1, NULL,
      "a.csv:2: the separator should stand after x, but here stands 'O,5'; a line holds x and y, such as "
      "12.5,3.0" },
    { "a.csv", "0,0\n10,3\n20,5\n30,6\n40,6\n50,6\n60,6\n70,6\n80,5\n90,4\n95,3\n100,2\n105,1\n110,0\n", 1, NULL,
      "a.csv:1: the ring that begins here ends 110 mm from its first point, and a straight edge would close it: the "
      "list seems to be cut off; if that edge is meant, give the first point once more at the end" },
    { "a.pdf", "%PDF", 1, NULL,
      "a.pdf: the file's ending \".pdf\" names no drawing; .wkt, .geojson, .json, .svg, .dxf, .csv, .txt and "
      ".xy are read; rename "
      "it, or name the format in outline.format" },
};

Test(faults, every_bad_drawing_gets_its_sentence_and_no_outline)
{
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        const struct bad *bad = &table[i];
        struct reading r = read_bytes(bad->name, bad->text, strlen(bad->text), bad->unit_mm, TOLERANCE_MM, bad->pick);

        cr_expect(eq(int, r.status, TW_BAD_INPUT), "%s", bad->text);
        cr_expect(strcmp(first_fault(&r), bad->fault) == 0, "seen:   %s\nwanted: %s", first_fault(&r), bad->fault);
        cr_expect(r.outline.outer.points == NULL && r.outline.holes == NULL);
        free_reading(&r);
    }
}

Test(faults, candidates_are_listed_with_name_and_place)
{
    struct reading r =
        read_text("a.svg", SVG "<rect id='a' width='60' height='30'/>\n<rect x='90' width='60' height='25'/></svg>", 0);

    cr_assert(eq(sz, r.findings.count, 3));
    cr_expect(eq(str, r.findings.items[1].text,
                 (char[]){ "a.svg:2: candidate 1: ring 1 (\"a\") measures 60 by 30 mm, from (0, 0) to (60, 30)" }));
    cr_expect(eq(str, r.findings.items[2].text,
                 (char[]){ "a.svg:3: candidate 2: ring 2 measures 60 by 25 mm, from (90, 0) to (150, 25)" }));
    free_reading(&r);
}

Test(faults, a_missing_file_is_no_fault_of_the_drawing)
{
    struct tw_drawing drawing = { .path = "/nonexistent/a.wkt", .unit_mm = 1.0, .chord_tolerance_mm = 0.01 };
    struct tw_outline outline;
    struct tw_findings findings = { 0 };

    cr_expect(eq(int, tw_outline_read(&drawing, &outline, &findings), TW_IO));
    tw_findings_free(&findings);
}

/* Deep nesting of every kind must be refused, not followed until the stack ends. */
static void expect_refused(const char *name, const char *opening, const char *closing, size_t depth)
{
    size_t a = strlen(opening), b = strlen(closing);
    char *text = malloc(depth * (a + b) + 1);
    struct reading r;

    cr_assert(text != NULL);
    for (size_t i = 0; i < depth; i++)
        memcpy(text + i * a, opening, a);
    for (size_t i = 0; i < depth; i++)
        memcpy(text + depth * a + i * b, closing, b);
    r = read_bytes(name, text, depth * (a + b), 1.0, TOLERANCE_MM, NULL);
    cr_expect(eq(int, r.status, TW_BAD_INPUT), "%s", opening);
    free_reading(&r);
    free(text);
}

Test(faults, endless_nesting_is_refused)
{
    expect_refused("a.svg", "<svg>", "</svg>", 100000);
    expect_refused("a.geojson", "[", "]", 100000);
    expect_refused("a.geojson", "{\"type\":\"GeometryCollection\",\"geometries\":[", "]}", 1000);
    expect_refused("a.geojson", "{\"type\":\"Feature\",\"geometry\":", "}", 1000);
    expect_refused("a.wkt", "POLYGON(", ")", 1000);
}

/* ---- very many corners ---- */

/* A comb along both long edges of a rectangle 120 mm by 24 mm: `teeth` on each, `deep_mm` deep. The caller's: free(). */
static char *comb(int teeth, double deep_mm)
{
    char *text = malloc((size_t)teeth * 64 + 1), *end = text;

    cr_assert(text != NULL);
    for (int i = 0; i < teeth; i++)
        end += sprintf(end, "%.6f,%.6f\n", i * 120.0 / teeth, 12.0 + (i % 2) * deep_mm);
    for (int i = 0; i < teeth; i++)
        end += sprintf(end, "%.6f,%.6f\n", 120.0 - i * 120.0 / teeth, -12.0 - (i % 2) * deep_mm);
    return text;
}

static struct reading read_comb(int teeth, double deep_mm)
{
    char *text = comb(teeth, deep_mm);
    struct reading reading;

    enter_folder();
    reading = read_bytes("comb.csv", text, strlen(text), 1.0, 0.01, NULL);
    leave_folder();
    free(text);
    return reading;
}

Test(outline_faults, too_many_corners_to_work_with_are_refused_with_what_helps)
{
    struct reading reading = read_comb(50000, 0.3);
    const char *said = reading.findings.items[reading.findings.count - 1].text;

    cr_expect(eq(int, reading.status, TW_BAD_INPUT));
    cr_expect(strstr(said, "the outline has 100000 corners, and ") != NULL);
    cr_expect(strstr(said, "when thinned to 0.005 mm, above the 6000 that are worked with") != NULL);
    cr_expect(strstr(said, "export it with fewer points") != NULL);
    cr_expect(eq(sz, reading.outline.outer.count, 0));
    tw_findings_free(&reading.findings);
}

/* Teeth of a micrometre are none: the rectangle that is left keeps its area to what thinning may take along both edges. */
Test(outline_faults, very_many_corners_that_say_nothing_are_thinned_with_a_remark)
{
    struct reading reading = read_comb(50000, 0.001);

    cr_assert(eq(int, reading.status, TW_OK));
    cr_expect(lt(sz, reading.outline.outer.count, 6000));
    cr_expect(epsilon_eq(dbl, fabs(tw_ring_area_mm2(&reading.outline.outer)), 120.0 * 24.0, 120.0 * 2.0 * 0.005));
    tw_outline_free(&reading.outline);
    tw_findings_free(&reading.findings);
}
