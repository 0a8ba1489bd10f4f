/* test_outline_formats.c - guards against a format's rule read wrongly: what is drawn, where, and what is not. */
#include "outline/help.h"

#include <time.h>

static const double pi = 3.14159265358979323846;

#define SVG      "<svg width='200mm' viewBox='0 0 200 200'>"
#define DXF_HEAD "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
#define DXF_TAIL "0\nENDSEC\n0\nEOF\n"

static void expect_area(const char *name, const char *text, double unit_mm, double area_mm2, double within_mm2)
{
    struct reading r = read_text(name, text, unit_mm);

    cr_assert(r.status == TW_OK, "%s: %s", text, first_fault(&r));
    cr_expect(epsilon_eq(dbl, area_of(&r.outline.outer), area_mm2, within_mm2), "%s", text);
    free_reading(&r);
}

static void expect_box(const char *name, const char *text, double unit_mm, double x0, double y0, double x1, double y1)
{
    struct reading r = read_text(name, text, unit_mm);
    double box[4] = { HUGE_VAL, HUGE_VAL, -HUGE_VAL, -HUGE_VAL };

    cr_assert(r.status == TW_OK, "%s: %s", text, first_fault(&r));
    for (size_t i = 0; i < r.outline.outer.count; i++) {
        struct tw_point p = r.outline.outer.points[i];

        box[0] = fmin(box[0], p.x_mm);
        box[1] = fmin(box[1], p.y_mm);
        box[2] = fmax(box[2], p.x_mm);
        box[3] = fmax(box[3], p.y_mm);
    }
    cr_expect(fabs(box[0] - x0) < 1e-6 && fabs(box[1] - y0) < 1e-6 && fabs(box[2] - x1) < 1e-6 &&
                  fabs(box[3] - y1) < 1e-6,
              "%s: (%g, %g) to (%g, %g)", text, box[0], box[1], box[2], box[3]);
    free_reading(&r);
}

Test(formats, orientation_is_ours_whatever_the_drawing_did)
{
    struct reading r =
        read_sound("a.wkt", "POLYGON((0 0,0 20,100 20,100 0,0 0),(5 5,9 5,9 9,5 5),(20 5,20 9,24 5,20 5))", 1.0);

    cr_expect(gt(dbl, area_of(&r.outline.outer), 0.0));
    cr_assert(eq(sz, r.outline.hole_count, 2));
    cr_expect(lt(dbl, area_of(&r.outline.holes[0]), 0.0));
    cr_expect(lt(dbl, area_of(&r.outline.holes[1]), 0.0));
    cr_expect(eq(sz, r.outline.outer.count, 4));
    free_reading(&r);
}

Test(formats, wkt_takes_heights_small_letters_and_one_member)
{
    expect_area("a.wkt", "Polygon Z((0 0 5, 100 0 5, 100 20 5, 0 20 5, 0 0 5))", 1.0, 2000.0, 1e-9);
    expect_area("a.wkt", "multipolygon zm (((0 0 5 1, 100 0 5 1, 100 20 5 1, 0 0 5 1)))", 1.0, 1000.0, 1e-9);
    expect_area("a.wkt", " LINESTRING(0 0,4 0,4 1e0,0 +1.0,0 0) ;\n", 25.4, 4.0 * 25.4 * 25.4, 1e-9);
}

Test(formats, csv_takes_the_usual_separators)
{
    expect_area("a.csv", "\xEF\xBB\xBFx,y\n0,0\n100,0\n100,20\n0,20\n0,0\n", 1.0, 2000.0, 1e-9);
    expect_area("a.csv", "0\t0\r\n100\t0\r\n100\t20\r\n0\t20\r\n", 1.0, 2000.0, 1e-9);
    expect_area("a.csv", "# mm\n0 0\n100   0 # corner\n# not a blank line\n100 20\n 0  20\n\n\n", 1.0, 2000.0, 1e-9);
}

/* 4 in by 20 mm. */
Test(formats, csv_may_name_its_unit_in_the_heading)
{
    expect_area("a.csv", "x [mm], y [mm]\n0,0\n100,0\n100,20\n0,20\n", 0.0, 2000.0, 1e-9);
    expect_area("a.csv", "x (in); y (in)\n0;0\n4;0\n4;2\n0;2\n", 0.0, 8.0 * 25.4 * 25.4, 1e-9);
    expect_area("a.csv", "x [mm], y [mm]\n0,0\n100,0\n100,20\n0,20\n", 1.0, 2000.0, 1e-9);
}

Test(formats, csv_reads_decimal_commas_between_semicolons)
{
    expect_area("a.csv", "0;0\n100,5;0\n100,5;20,25\n0;20,25\n", 1.0, 100.5 * 20.25, 1e-9);
}

/* One square of 100, written with every straight command and number form of SVG 1.1, 8.3. */
Test(formats, path_commands_and_compact_numbers_draw_the_same_square)
{
    static const char *const paths[] = {
        "M0,0L100,0L100,100L0,100Z",
        "m0 0 100 0 0 100-100 0z",
        "M0 0H100V100H0z",
        "M 0 0 h 100 v 100 h -100 Z",
        "M.0.0 100-0 1e2 100 0+100z",
        "M0,0 l50,0 h50 v50 l0 50 H0 Z M10 10",
        "M0 0 100 0 100 100 0 100 0 0",
        "M0 0C0 0 100 0 100 0S100 100 100 100 0 100 0 100z",
        "M0 0Q50 0 100 0 100 50 100 100T0 100z",
        "M0 0A0 5 0 0 0 100 0a0 0 0 0 1 0 100H0z",
    };
    char text[300];

    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        snprintf(text, sizeof text, SVG "<path d='%s'/></svg>", paths[i]);
        /* T after the quadratic to 100,100 mirrors its control to 100,150: a parabola segment below the side,
         * two thirds of the control triangle: Archimedes, 2/3 * 1/2 * |(0,50) x (-100,0)| = 1666.67. */
        expect_area("a.svg", text, 0.0, i == 8 ? 10000.0 + 5000.0 / 3.0 : 10000.0, i == 8 ? 1.0 : 1e-6);
    }
}

Test(formats, smooth_quadratic_after_another_command_is_a_straight_line)
{
    /* SVG 1.1, 8.3.7: no Q or T before, so the control is the current point. */
    expect_area("a.svg", SVG "<path d='M0 0C30 0 60 0 100 0T100 100H0z'/></svg>", 0.0, 10000.0, 1e-6);
}

Test(formats, arc_flags_need_no_separators_and_choose_the_right_arc)
{
    /* Chord 60 in a circle of 50: segment areas by r^2 (a - sin a cos a), a = asin(0.6). */
    double a = asin(0.6), small = 2500.0 * (a - sin(a) * cos(a)), large = pi * 2500.0 - small;

    expect_area("a.svg", SVG "<path d='M50 50a50 50 0 0160 0z'/></svg>", 0.0, small, 1.0);
    expect_area("a.svg", SVG "<path d='M50 50a50,50,0,1,1,60,0z'/></svg>", 0.0, large, 3.5);
    expect_area("a.svg", SVG "<path d='M50 50a50 50 33 00 60 0z'/></svg>", 0.0, small, 1.0);
    expect_area("a.svg", SVG "<path d='M50 50a50 50 0 1060 0z'/></svg>", 0.0, large, 3.5);
    expect_box("a.svg", SVG "<path d='M50 50A25 10 0 0 0 100 50 25 10 0 0 0 50 50z'/></svg>", 0.0, 50.0, -60.0, 100.0,
               -40.0);
}

Test(formats, transforms_nest_from_the_outside_in)
{
    expect_box("a.svg",
               SVG "<g transform='translate(10 20)'><g transform='scale(2,3)'><rect width='20' "
                   "height='10'/></g></g></svg>",
               0.0, 10.0, -50.0, 50.0, -20.0);
    expect_box("a.svg", SVG "<rect width='20' height='10' transform='translate(10,20) scale(2 3)'/></svg>", 0.0, 10.0,
               -50.0, 50.0, -20.0);
    expect_box("a.svg", SVG "<rect width='20' height='10' transform='rotate(90 20 10)'/></svg>", 0.0, 20.0, -10.0, 30.0,
               10.0);
    expect_box("a.svg", SVG "<rect width='20' height='10' transform='rotate(-90)'/></svg>", 0.0, 0.0, 0.0, 10.0, 20.0);
    expect_box("a.svg", SVG "<rect width='20' height='10' transform='skewX(45)'/></svg>", 0.0, 0.0, -10.0, 30.0, 0.0);
    expect_box("a.svg", SVG "<rect width='20' height='10' transform='skewY(45)'/></svg>", 0.0, 0.0, -30.0, 20.0, 0.0);
    expect_box("a.svg", SVG "<rect width='20' height='10' transform='matrix(0 1 -1 0 50 5)'/></svg>", 0.0, 40.0, -25.0,
               50.0, -5.0);
}

Test(formats, physical_sizes_set_the_unit)
{
    static const struct {
        const char *size;
        double mm; /* CSS Values and Units, 5.2 */
    } sizes[] = { { "100mm", 100.0 }, { "10cm", 100.0 },  { "4in", 101.6 }, { "288pt", 101.6 },
                  { "24pc", 101.6 },  { "384px", 101.6 }, { "400Q", 100.0 } };
    char text[200];

    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        snprintf(text, sizeof text, "<svg width='%s' viewBox='0 0 50 50'><rect width='50' height='25'/></svg>",
                 sizes[i].size);
        expect_box("a.svg", text, 0.0, 0.0, -sizes[i].mm / 2.0, sizes[i].mm, 0.0);
        snprintf(text, sizeof text, "<svg height='%s' viewBox='-7 -9 50 50'><rect width='50' height='25'/></svg>",
                 sizes[i].size);
        expect_box("a.svg", text, 0.0, 0.0, -sizes[i].mm / 2.0, sizes[i].mm, 0.0);
    }
    expect_box("a.svg", "<svg width='100mm' height='100mm'><rect width='96' height='48'/></svg>", 0.0, 0.0, -12.7, 25.4,
               0.0);
    expect_box("a.svg", "<svg width='100' height='100'><rect width='96' height='48'/></svg>", 1.0, 0.0, -48.0, 96.0,
               0.0);
    expect_box("a.svg", "<svg width='100mm' height='100mm' viewBox='0 0 50 25'><rect width='50' height='25'/></svg>",
               0.0, 0.0, -50.0, 100.0, 0.0);
    expect_box("a.svg",
               "<svg width='100mm' height='100mm' viewBox='0 0 50 25' preserveAspectRatio='none'>"
               "<rect width='50' height='25'/></svg>",
               0.0, 0.0, -100.0, 100.0, 0.0);
}

Test(formats, inner_viewports_are_fitted)
{
    /* 100 x 50 into 80 x 80 at 10,20: scale 0.8, height 40, the other 40 shared as the alignment says. */
    expect_box("a.svg",
               SVG "<svg x='10' y='20' width='80' height='80' viewBox='0 0 100 50'><rect width='100' "
                   "height='50'/></svg></svg>",
               0.0, 10.0, -80.0, 90.0, -40.0);
    expect_box("a.svg",
               SVG "<svg x='10' y='20' width='80' height='80' viewBox='0 0 100 50' preserveAspectRatio='xMidYMin'>"
                   "<rect width='100' height='50'/></svg></svg>",
               0.0, 10.0, -60.0, 90.0, -20.0);
}

Test(formats, basic_shapes_have_their_areas)
{
    expect_area("a.svg", SVG "<rect width='60' height='30' rx='5'/></svg>", 0.0, 1800.0 - (4.0 - pi) * 25.0, 0.5);
    expect_area("a.svg", SVG "<rect width='60' height='30' rx='90' ry='4'/></svg>", 0.0, 1800.0 - (4.0 - pi) * 120.0,
                1.0);
    expect_area("a.svg", SVG "<ellipse cx='5' rx='40' ry='10'/></svg>", 0.0, pi * 400.0, 2.0);
    expect_area("a.svg", SVG "<polygon points='0,0 60,0 60 30-0 30'/></svg>", 0.0, 1800.0, 1e-9);
    expect_area("a.svg", SVG "<line x2='60'/><line x1='60' x2='60' y2='30'/><polyline points='0 0 0 30 60 30'/></svg>",
                0.0, 1800.0, 1e-9);
}

Test(formats, what_is_not_drawn_is_not_read)
{
    expect_area("a.svg",
                SVG "<defs><rect width='90' height='90'/></defs><symbol><circle r='9'/></symbol><clipPath id='c'>"
                    "<rect width='7' height='7'/></clipPath><g style='fill:none;display : none'><circle r='50'/></g>"
                    "<rect display='none' width='99' height='9'/><rect width='60' height='30'/></svg>",
                0.0, 1800.0, 1e-9);
    expect_area("a.svg",
                "<s:svg xmlns:s='http://www.w3.org/2000/svg' xmlns:o='urn:other' width='200mm' viewBox='0 0 200 9'>"
                "<o:view><s:rect width='5' height='5'/></o:view><s:rect width='60' height='30'/></s:svg>",
                0.0, 1800.0, 1e-9);
}

Test(formats, use_draws_its_target_once_more)
{
    struct reading r =
        read_sound("a.svg",
                   SVG "<symbol id='p'><circle r='3'/></symbol><rect width='60' height='30'/>"
                       "<use href='#p' x='10' y='15'/><use href='#p' transform='translate(40 15)'/></svg>",
                   0.0);

    cr_assert(eq(sz, r.outline.hole_count, 2));
    cr_expect(epsilon_eq(dbl, r.outline.holes[1].points[0].y_mm, -15.0, 3.0));
    free_reading(&r);
}

Test(formats, pick_chooses_among_candidates_and_keeps_the_holes)
{
    static const char svg[] =
        SVG "<g id='one'><rect width='60' height='30'/></g><rect id='two' x='100' width='50' height='20'/>"
            "<circle cx='110' cy='10' r='3'/></svg>";
    struct reading one = read_bytes("a.svg", svg, strlen(svg), 0.0, 0.01, "one");
    struct reading two = read_bytes("a.svg", svg, strlen(svg), 0.0, 0.01, "two");

    cr_expect(epsilon_eq(dbl, area_of(&one.outline.outer), 1800.0, 1e-9));
    cr_expect(eq(sz, one.outline.hole_count, 0));
    cr_expect(epsilon_eq(dbl, area_of(&two.outline.outer), 1000.0, 1e-9));
    cr_expect(eq(sz, two.outline.hole_count, 1));
    free_reading(&one);
    free_reading(&two);
}

#define LINE(layer, x0, y0, x1, y1) "0\nLINE\n8\n" layer "\n10\n" #x0 "\n20\n" #y0 "\n11\n" #x1 "\n21\n" #y1 "\n"

#define CIRCLE(layer, x, y, r) "0\nCIRCLE\n8\n" layer "\n10\n" #x "\n20\n" #y "\n40\n" #r "\n"
#define ARC(layer, x, y, r, from, to)                                                                                  \
    "0\nARC\n8\n" layer "\n10\n" #x "\n20\n" #y "\n40\n" #r "\n50\n" #from "\n51\n" #to "\n"
#define FRAME LINE("A", 0, 0, 60, 0) LINE("A", 60, 30, 60, 0) LINE("A", 60, 30, 0, 30) LINE("A", 0, 30, 0, 0)

/* The picked layer's open lines are its own fault; a line of another layer that touches it is none. */
Test(formats, dxf_rings_inside_the_picked_layer_are_its_holes)
{
    static const char dxf[] = DXF_HEAD LINE("A", 0, 0, 60, 0) LINE("B", 0, 0, 50, 9) LINE("A", 60, 30, 60, 0)
        LINE("A", 60, 30, 0, 30) LINE("A", 0, 30, 0, 0) "0\nCIRCLE\n8\nPINS\n10\n20\n20\n15\n40\n3\n" DXF_TAIL;
    struct reading a = read_bytes("a.dxf", dxf, strlen(dxf), 0.0, 0.01, "A");
    struct reading both = read_bytes("a.dxf", dxf, strlen(dxf), 0.0, 0.01, "A, PINS");

    cr_assert(a.status == TW_OK, "%s", first_fault(&a));
    cr_expect(epsilon_eq(dbl, area_of(&a.outline.outer), 1800.0, 1e-9));
    cr_expect(eq(sz, a.outline.hole_count, 1));
    cr_expect(strstr(first_remark(&a), "1 ring inside the outline that outline.pick does not name counts as its hole, "
                                       "the largest 6.0 by 6.0 mm about (20, 15)") != NULL,
              "%s", first_remark(&a));
    cr_assert(both.status == TW_OK, "%s", first_fault(&both));
    cr_expect(eq(sz, both.outline.hole_count, 1));
    free_reading(&a);
    free_reading(&both);
}

static void expect_holes(const char *dxf, const char *pick, size_t holes, double area_mm2, const char *remark)
{
    struct reading r = read_bytes("a.dxf", dxf, strlen(dxf), 0.0, 0.001, pick);
    double sum_mm2 = 0.0;

    cr_assert(r.status == TW_OK, "%s", first_fault(&r));
    cr_expect(eq(sz, r.outline.hole_count, holes));
    for (size_t i = 0; i < r.outline.hole_count; i++)
        sum_mm2 += fabs(area_of(&r.outline.holes[i]));
    cr_expect(epsilon_eq(dbl, sum_mm2, area_mm2, 0.01 * area_mm2 + 1e-9));
    cr_expect(strstr(first_remark(&r), remark) != NULL, "%s", first_remark(&r));
    free_reading(&r);
}

/* Areas of circles, pi r^2. */
Test(formats, what_nobody_picked_is_a_hole_only_if_it_is_closed_inside_and_not_nested)
{
    /* two halves of a circle on one layer, and a lone arc on another */
    expect_holes(DXF_HEAD FRAME ARC("PINS", 20, 15, 3, 0, 180) ARC("PINS", 20, 15, 3, 180, 360)
                     ARC("MARK", 40, 15, 3, 0, 170) DXF_TAIL,
                 "A", 1, pi * 9.0, "1 ring inside");
    /* halves on two layers belong to nothing */
    expect_holes(DXF_HEAD FRAME ARC("ONE", 20, 15, 3, 0, 180) ARC("TWO", 20, 15, 3, 180, 360) DXF_TAIL, "A", 0, 0.0,
                 "");
    /* a centre mark in a hole: the outermost counts */
    expect_holes(DXF_HEAD FRAME CIRCLE("PINS", 20, 15, 3) CIRCLE("MARK", 20, 15, 0.5) DXF_TAIL, "A", 1, pi * 9.0,
                 "ring 3 (\"MARK\") at (20.5, 15) is not picked and lies inside a hole, so it is left aside");
    /* a helping line round two holes is none */
    expect_holes(DXF_HEAD FRAME CIRCLE("HELP", 30, 15, 14) CIRCLE("PINS", 22, 15, 3) CIRCLE("PINS", 38, 15, 3) DXF_TAIL,
                 "A", 2, 2.0 * pi * 9.0,
                 "ring 2 (\"HELP\") at (44, 15) is not picked and runs round several others, so it is left aside");
    /* round a picked one neither */
    expect_holes(DXF_HEAD FRAME CIRCLE("HELP", 30, 15, 14) CIRCLE("PINS", 22, 15, 3) DXF_TAIL, "A, PINS", 1, pi * 9.0,
                 "ring 3 (\"HELP\") at (44, 15) is not picked and runs round a hole that is, so it is left aside");
    /* what crosses the outline is no hole, and what lies outside is not even told */
    expect_holes(DXF_HEAD FRAME CIRCLE("HELP", 60, 15, 5) CIRCLE("HELP", 200, 15, 5) DXF_TAIL, "A", 0, 0.0, "");
}

Test(formats, holes_of_the_picked_ring_are_kept_in_every_format_that_has_names)
{
    static const char geojson[] =
        "{\"type\":\"FeatureCollection\",\"features\":["
        "{\"type\":\"Feature\",\"id\":\"knife\",\"geometry\":{\"type\":\"Polygon\",\"coordinates\":"
        "[[[0,0],[60,0],[60,30],[0,30],[0,0]],[[10,10],[14,10],[14,14],[10,14],[10,10]]]}},"
        "{\"type\":\"Feature\",\"id\":\"pin\",\"geometry\":{\"type\":\"Polygon\",\"coordinates\":"
        "[[[20,10],[24,10],[24,14],[20,14],[20,10]]]}},"
        "{\"type\":\"Feature\",\"id\":\"scale\",\"geometry\":{\"type\":\"Polygon\",\"coordinates\":"
        "[[[100,0],[160,0],[160,30],[100,30],[100,0]]]}}]}";
    static const char svg[] =
        SVG "<rect id='knife' width='60' height='30'/><circle id='pin' cx='20' cy='15' r='3'/>"
            "<path d='M40,15 L44,15 44,18 M44,18 40,18 40,15'/><rect x='100' width='50' height='20'/></svg>";
    struct reading one = read_bytes("a.geojson", geojson, strlen(geojson), 1.0, 0.01, "knife");
    struct reading two = read_bytes("a.svg", svg, strlen(svg), 0.0, 0.01, "knife");

    cr_assert(one.status == TW_OK, "%s", first_fault(&one));
    cr_expect(eq(sz, one.outline.hole_count, 2));
    cr_assert(two.status == TW_OK, "%s", first_fault(&two));
    cr_expect(eq(sz, two.outline.hole_count, 2)); /* the pin, and the square of two open pieces */
    free_reading(&one);
    free_reading(&two);
}

Test(formats, formats_without_names_keep_all_and_say_that_nothing_can_be_picked)
{
    static const char wkt[] = "POLYGON((0 0,60 0,60 30,0 30,0 0),(10 10,14 10,14 14,10 10))",
                      csv[] = "0,0\n60,0\n60,30\n0,30\n0,0\n\n10,10\n14,10\n14,14\n10,10\n";
    struct reading one = read_bytes("a.wkt", wkt, strlen(wkt), 1.0, 0.01, "knife");
    struct reading two = read_bytes("a.csv", csv, strlen(csv), 1.0, 0.01, "knife");

    cr_assert(one.status == TW_OK, "%s", first_fault(&one));
    cr_expect(eq(sz, one.outline.hole_count, 1));
    cr_expect(strstr(first_remark(&one), "a.wkt: outline.pick asks for \"knife\", but nothing in a WKT drawing has a "
                                         "name: all of it counts; take outline.pick out of the job") != NULL);
    cr_assert(two.status == TW_OK, "%s", first_fault(&two));
    cr_expect(eq(sz, two.outline.hole_count, 1));
    free_reading(&one);
    free_reading(&two);
}

Test(formats, lines_drawn_twice_count_once)
{
    struct reading r = read_sound("a.dxf",
                                  DXF_HEAD LINE("0", 0, 0, 60, 0) LINE("0", 60, 0, 0, 0) LINE("0", 60, 30, 60, 0)
                                      LINE("0", 60, 30, 0, 30) LINE("0", 0, 30, 0, 0) DXF_TAIL,
                                  0.0);

    cr_expect(epsilon_eq(dbl, area_of(&r.outline.outer), 1800.0, 1e-9));
    cr_expect(strstr(first_remark(&r), "drawn twice") != NULL);
    free_reading(&r);
}

Test(formats, a_gap_below_the_tolerance_is_closed_and_told)
{
    struct reading r = read_sound("a.wkt", "LINESTRING(0 0,60 0,60 30,0 30,0 0.04)", 1.0);

    cr_expect(epsilon_eq(dbl, area_of(&r.outline.outer), 1800.0, 2.0));
    cr_expect(strstr(first_remark(&r), "1 gap was closed; the widest, 0.04 mm, at (0, 0.02)") != NULL, "%s",
              first_remark(&r));
    free_reading(&r);
}

Test(formats, repeated_points_are_dropped)
{
    struct reading r = read_sound("a.wkt", "POLYGON((0 0,0 0,60 0,60 0,60 0,60 30,0 30,0 0,0 0))", 1.0);

    cr_expect(eq(sz, r.outline.outer.count, 4));
    free_reading(&r);
}

/* A wavy ring of 100000 points; as one polygon, and as loose lines in an order that is as bad as any. */
static struct tw_point wavy(size_t i)
{
    double t = 2.0 * pi * (double)(i % 100000) / 100000.0;

    return (struct tw_point){ 150.0 * cos(t) * (1.0 + 0.05 * sin(40.0 * t)), 30.0 * sin(t) };
}

/* Area and length round of all the points (shoelace formula). */
static double wavy_area_mm2(double *around_mm)
{
    double twice = 0.0;

    *around_mm = 0.0;
    for (size_t i = 0; i < 100000; i++) {
        struct tw_point a = wavy(i), b = wavy(i + 1);

        twice += a.x_mm * b.y_mm - b.x_mm * a.y_mm;
        *around_mm += hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
    }
    return fabs(twice) / 2.0;
}

/* Thinned by at most 0.005 mm to fewer than 6000 corners: the area may differ by the length round times that. */
static void read_large(const char *name, char *text, size_t length, double unit_mm)
{
    struct reading r = read_bytes(name, text, length, unit_mm, 0.01, NULL);
    double around_mm, area_mm2 = wavy_area_mm2(&around_mm);

    cr_assert(r.status == TW_OK, "%s", first_fault(&r));
    cr_expect(lt(sz, r.outline.outer.count, 6000));
    cr_expect(epsilon_eq(dbl, area_of(&r.outline.outer), area_mm2, 0.005 * around_mm));
    free_reading(&r);
}

Test(formats, a_hundred_thousand_points_are_read_and_thinned)
{
    size_t room = 20000000, length;
    char *text = malloc(room);

    cr_assert(text != NULL);
    length = (size_t)sprintf(text, "POLYGON((");
    for (size_t i = 0; i <= 100000; i++)
        length += (size_t)sprintf(text + length, "%s%.6f %.6f", i ? "," : "", wavy(i).x_mm, wavy(i).y_mm);
    length += (size_t)sprintf(text + length, "))");
    read_large("a.wkt", text, length, 1.0);
    length = (size_t)sprintf(text, DXF_HEAD);
    for (size_t k = 0; k < 100000; k++) {
        size_t i = k * 61803 % 100000; /* coprime to 100000, so each once */
        struct tw_point a = wavy(i + (k & 1)), b = wavy(i + !(k & 1));

        length += (size_t)sprintf(text + length, LINE("0", % .6f, % .6f, % .6f, % .6f), a.x_mm, a.y_mm, b.x_mm, b.y_mm);
    }
    length += (size_t)sprintf(text + length, DXF_TAIL);
    read_large("a.dxf", text, length, 0.0);
    free(text);
}
