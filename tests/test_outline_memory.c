/* test_outline_memory.c - lets each allocation fail in turn: the answer is then "no memory", nothing leaks (the
 * sanitizer build looks), and once enough succeed the outline comes out.
 *
 * Allocations of GEOS and of the JSON library are made inside those libraries and are not reached; expat's are. */
#include "outline/help.h"

void *__real_malloc(size_t bytes);
void *__real_calloc(size_t count, size_t bytes);
void *__real_realloc(void *old, size_t bytes);
void *__wrap_malloc(size_t bytes);
void *__wrap_calloc(size_t count, size_t bytes);
void *__wrap_realloc(void *old, size_t bytes);

static long allocations_left = -1; /* below zero: no limit */

static int may_allocate(void)
{
    if (allocations_left < 0)
        return 1;
    if (allocations_left == 0)
        return 0;
    allocations_left--;
    return 1;
}

void *__wrap_malloc(size_t bytes)
{
    return may_allocate() ? __real_malloc(bytes) : NULL;
}

void *__wrap_calloc(size_t count, size_t bytes)
{
    return may_allocate() ? __real_calloc(count, bytes) : NULL;
}

void *__wrap_realloc(void *old, size_t bytes)
{
    return may_allocate() ? __real_realloc(old, bytes) : NULL;
}

/* Reads the drawing and cuts it, with `limit` allocations allowed. */
static enum tw_status read_and_cut(const struct tw_drawing *drawing, long limit)
{
    struct tw_taper_axis axis = { .start_x_mm = 30.0, .start_y_mm = -5.0 };
    struct tw_findings findings = { 0 };
    struct tw_outline outline;
    struct tw_part part = { 0 };
    enum tw_status status;

    allocations_left = limit;
    status = tw_outline_read(drawing, &outline, &findings);
    if (status == TW_OK)
        status = tw_part_from_drawing(&outline, &axis, drawing->path, &part, &findings);
    allocations_left = -1;
    if (status != TW_OK)
        cr_expect(part.tang.outer.points == NULL && part.blade.outer.points == NULL);
    cr_expect(status == TW_OK || status == TW_NO_MEMORY || findings.count > 0 || findings.out_of_memory);
    tw_outline_free(&outline);
    tw_part_free(&part);
    tw_findings_free(&findings);
    return status;
}

/* Every allocation up to the last fails once. */
static void sweep(const char *name, double unit_mm)
{
    char path[300];
    struct tw_drawing drawing = {
        .path = path, .unit_mm = unit_mm, .chord_tolerance_mm = 0.05, .gap_tolerance_mm = 0.05
    };
    long limit = 0;

    snprintf(path, sizeof path, "tests/outline/%s", name);
    for (; limit < 20000; limit++) {
        enum tw_status status = read_and_cut(&drawing, limit);

        if (status == TW_OK)
            break;
        cr_expect(status == TW_NO_MEMORY || status == TW_IO, "%s: status %d at %ld", name, status, limit);
    }
    cr_expect(limit > 10 && limit < 20000, "%s: %ld allocations", name, limit);
}

Test(memory, every_failing_allocation_is_told_in_each_format)
{
    sweep("whole-knife.wkt", 1.0);
    sweep("whole-knife.geojson", 1.0);
    sweep("tang.csv", 1.0);
    sweep("loose.dxf", 0.0);
    sweep("loose.svg", 0.0);
    sweep("whole-knife.svg", 0.0);
}
