/* test_shape.c - guards the bench that owns GEOS shapes: a shape lost or released twice, a failure in the middle of a chain
 * that is forgotten or told twice, and a measure of the wrong thing. */
#include "base/numbers.h"
#include "geometry/extents.h"
#include "geometry/shape.h"

#include "input/failing_memory.h"

#include "check/check.h"
#include <math.h>
#include <string.h>

#define CHORDS 64

static struct tw_geos geos;
static struct tw_findings findings;

static void open_geos(void)
{
    findings = (struct tw_findings){ 0 };
    cr_assert(eq(int, tw_geos_open(&geos, &findings), TW_OK));
}

static void close_geos(void)
{
    tw_geos_close(&geos);
    tw_findings_free(&findings);
}

TestSuite(shape, .init = open_geos, .fini = close_geos);

static const struct tw_box plate = { 0.0, 0.0, 40.0, 20.0 };

/* Elementary geometry: a rectangle a x b grown by r has a b + 2 (a + b) r + pi r^2; shrunk by r (a - 2r)(b - 2r). Chords
 * of n to a quarter take (1 - sin(x)/x) off the circle's part, x = pi / 2n. */
Test(shape, grown_and_shrunk_has_the_area_of_the_formula)
{
    struct tw_shapes shapes = tw_shapes_open(&geos, "measure", &findings);
    const GEOSGeometry *box = tw_shape_of_box(&shapes, plate);
    double turn = TW_PI / (2.0 * CHORDS), circle_mm2 = TW_PI * 9.0 * sin(turn) / turn;

    cr_expect(epsilon_eq(dbl, tw_shape_area_mm2(&shapes, tw_shape_grown(&shapes, box, 3.0, CHORDS)),
                         800.0 + 2.0 * 60.0 * 3.0 + circle_mm2, 1e-9));
    cr_expect(
        epsilon_eq(dbl, tw_shape_area_mm2(&shapes, tw_shape_grown(&shapes, box, -3.0, CHORDS)), 34.0 * 14.0, 1e-9));
    cr_expect(tw_shape_is_empty(&shapes, tw_shape_grown(&shapes, box, -11.0, CHORDS)));
    cr_expect(eq(int, tw_shapes_close(&shapes), TW_OK));
}

Test(shape, common_less_and_joined_share_out_the_area)
{
    struct tw_shapes shapes = tw_shapes_open(&geos, "measure", &findings);
    const GEOSGeometry *one = tw_shape_of_box(&shapes, plate);
    const GEOSGeometry *other = tw_shape_of_box(&shapes, (struct tw_box){ 30.0, 10.0, 60.0, 30.0 });
    struct tw_box box = tw_shape_box(&shapes, tw_shape_joined(&shapes, one, other));
    struct tw_point middle;

    cr_expect(eq(dbl, tw_shape_area_mm2(&shapes, tw_shape_common(&shapes, one, other)), 100.0));
    cr_expect(eq(dbl, tw_shape_area_mm2(&shapes, tw_shape_less(&shapes, one, other)), 700.0));
    cr_expect(eq(dbl, tw_shape_area_mm2(&shapes, tw_shape_joined(&shapes, one, other)), 1300.0));
    cr_expect(box.min_x_mm == 0.0 && box.max_x_mm == 60.0 && box.min_y_mm == 0.0 && box.max_y_mm == 30.0);
    cr_expect(epsilon_eq(dbl, tw_shape_circle_mm(&shapes, one, 0.01, &middle), 20.0, 0.02));
    cr_expect(epsilon_eq(dbl, middle.y_mm, 10.0, 0.02));
    cr_expect(tw_shape_joined(&shapes, NULL, one) == one);
    cr_expect(eq(int, tw_shapes_close(&shapes), TW_OK));
}

Test(shape, filled_has_no_holes)
{
    struct tw_shapes shapes = tw_shapes_open(&geos, "measure", &findings);
    const GEOSGeometry *hole = tw_shape_of_box(&shapes, (struct tw_box){ 10.0, 5.0, 20.0, 15.0 });
    const GEOSGeometry *frame = tw_shape_less(&shapes, tw_shape_of_box(&shapes, plate), hole);

    cr_expect(eq(dbl, tw_shape_area_mm2(&shapes, frame), 700.0));
    cr_expect(eq(dbl, tw_shape_area_mm2(&shapes, tw_shape_filled(&shapes, frame)), 800.0));
    cr_expect(eq(int, tw_shapes_close(&shapes), TW_OK));
}

/* GEOS takes no line of one point. */
Test(shape, a_failure_ends_the_chain_and_is_told_once)
{
    struct tw_point twice[2] = { { 0.0, 0.0 }, { 1.0, 0.0 } };
    struct tw_shapes shapes = tw_shapes_open(&geos, "cut the cloth", &findings);
    const GEOSGeometry *bad = tw_shape_of_line(&shapes, twice, 1), *more = tw_shape_grown(&shapes, bad, 1.0, CHORDS);

    cr_expect(bad == NULL);
    cr_expect(more == NULL);
    cr_expect(tw_shape_of_box(&shapes, plate) == NULL, "after a failure nothing is made any more");
    cr_expect(eq(dbl, tw_shape_area_mm2(&shapes, more), 0.0));
    cr_expect(eq(int, tw_shapes_close(&shapes), TW_BAD_INPUT));
    cr_assert(eq(sz, findings.count, 1));
    cr_expect(strstr(findings.items[0].text, "could not cut the cloth") != NULL);
}

Test(shape, what_is_given_away_outlives_the_bench)
{
    struct tw_shapes shapes = tw_shapes_open(&geos, "measure", &findings);
    const GEOSGeometry *box = tw_shape_of_box(&shapes, plate);
    const GEOSGeometry *later = tw_shape_grown(&shapes, box, 1.0, CHORDS);
    GEOSGeometry *given = tw_shape_give(&shapes, box);
    double area_mm2 = 0.0;

    cr_expect(tw_shape_give(&shapes, box) == NULL, "it can be given once");
    cr_expect(gt(dbl, tw_shape_area_mm2(&shapes, later), 800.0));
    cr_expect(eq(int, tw_shapes_close(&shapes), TW_OK));
    cr_expect(eq(int, GEOSArea_r(geos.context, given, &area_mm2), 1));
    cr_expect(eq(dbl, area_mm2, 800.0));
    GEOSGeom_destroy_r(geos.context, given);
}

Test(shape, memory_that_runs_out_anywhere_is_told_and_nothing_is_lost)
{
    for (long n = 0; n < 12; n++) {
        long before = blocks_in_use;
        struct tw_findings told = { 0 };
        struct tw_shapes shapes = tw_shapes_open(&geos, "measure", &told);
        const GEOSGeometry *all = NULL;
        enum tw_status status;

        allocations_until_failure = n;
        for (int i = 0; i < 10; i++)
            all = tw_shape_joined(&shapes, all, tw_shape_of_box(&shapes, (struct tw_box){ i, 0.0, i + 2.0, 1.0 }));
        allocations_until_failure = -1;
        status = tw_shapes_close(&shapes);
        cr_expect(status == TW_OK || status == TW_NO_MEMORY, "allocation %ld", n);
        tw_findings_free(&told);
        cr_expect(eq(long, blocks_in_use, before), "allocation %ld", n);
    }
}

/* Of a rectangle a box holds their common part; what is kept of one outline must not be told of another. */
Test(shape, an_extent_is_the_same_when_it_is_asked_again)
{
    struct tw_point one_mm[] = { { 0.0, 0.0 }, { 40.0, 0.0 }, { 40.0, 20.0 }, { 0.0, 20.0 } };
    struct tw_point other_mm[] = { { 30.0, 10.0 }, { 60.0, 10.0 }, { 60.0, 30.0 }, { 30.0, 30.0 } };
    struct tw_outline one = { .outer = { one_mm, 4 } }, other = { .outer = { other_mm, 4 } };
    struct tw_extents *extents = tw_extents_open();
    struct tw_box nowhere = { 100.0, 0.0, 120.0, 20.0 }, out;

    for (int again = 0; again < 3; again++) {
        for (int i = 0; i < 40000; i++) { /* more than are kept */
            struct tw_box within = { 10.0 + i * 1e-4, -5.0, 35.0, 15.0 };

            cr_assert(tw_extents_get(again < 2 ? extents : NULL, &one, within, &out));
            cr_assert(epsilon_eq(dbl, out.min_x_mm, within.min_x_mm, 1e-9));
            cr_assert(eq(dbl, out.max_x_mm, 35.0));
            cr_assert(eq(dbl, out.min_y_mm, 0.0));
            cr_assert(eq(dbl, out.max_y_mm, 15.0));
            cr_assert(tw_extents_get(extents, &other, within, &out));
            cr_assert(eq(dbl, out.min_x_mm, 30.0));
            cr_assert(eq(dbl, out.min_y_mm, 10.0));
        }
        cr_expect(not(tw_extents_get(extents, &one, nowhere, &out)));
    }
    tw_extents_close(extents);
}
