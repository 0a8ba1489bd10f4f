/* test_removal_memory.c - every allocation of a field and a sweep fails once, and nothing is lost or left
 * behind. */
#include "tangwright/removal.h"

#include "input/failing_memory.h"

#include "check/check.h"

/* Grinds a small block; TW_OK or TW_NO_MEMORY. */
static enum tw_status grind(void)
{
    struct tw_wheel_body body = { .shape = TW_BODY_DISC, .radius_mm = 20, .width_mm = 4 };
    struct tw_point corners[4] = { { 0, 0 }, { 10, 0 }, { 10, 6 }, { 0, 6 } };
    struct tw_ring ring = { corners, 4 };
    struct tw_height_plane top = { 2, 0, 0 }, limit = { 1, 0, 0 };
    double from[3] = { -10, 3, 1.9 }, to[3] = { 20, 3, 1.9 };
    struct tw_field field;
    struct tw_sweep *sweep = NULL;
    struct tw_twin *twin = NULL;
    struct tw_removal removal;
    enum tw_status status = tw_field_new(-1, -1, 0.25, 48, 32, 0, &field, NULL);

    if (status == TW_OK)
        status = tw_field_add_stock(&field, &ring, 1, top, NULL);
    if (status == TW_OK)
        status = tw_field_add_keep_out(&field, &ring, 1, TW_CELL_PAD, limit, NULL);
    if (status == TW_OK)
        status = tw_field_set_limit(&field, &ring, 1, limit, NULL);
    if (status == TW_OK)
        status = tw_sweep_new(&field, &body, 0.25, &sweep, NULL);
    if (status == TW_OK)
        status = tw_sweep_line(sweep, from, to, &removal, NULL);
    if (status == TW_OK)
        status = tw_twin_new(sweep, sweep, &twin, NULL);
    tw_twin_free(twin);
    tw_sweep_free(sweep);
    tw_field_free(&field);
    return status;
}

Test(removal_memory, every_allocation_may_fail)
{
    int failures = 0;

    for (long n = 0;; n++) {
        enum tw_status status;

        allocations_until_failure = n;
        status = grind();
        if (allocations_until_failure >= 0) {
            cr_assert(eq(int, status, TW_OK));
            break;
        }
        cr_assert(eq(int, status, TW_NO_MEMORY), "allocation %ld", n);
        cr_assert(eq(long, blocks_in_use, 0), "allocation %ld", n);
        failures++;
    }
    allocations_until_failure = -1;
    cr_expect(ge(int, failures, 21));
    cr_expect(eq(long, blocks_in_use, 0));
}

/* A motion whose slices find no room tells so, and the next one is right again. */
Test(removal_memory, a_motion_without_room_spoils_no_later_one)
{
    struct tw_wheel_body body = { .shape = TW_BODY_CUP, .radius_mm = 5, .rim_mm = 5 };
    struct tw_point corners[4] = { { 0, 0 }, { 20, 0 }, { 20, 10 }, { 0, 10 } };
    struct tw_ring ring = { corners, 4 };
    double points[3][3] = { { -6, 5, 1.9 }, { 30, 5, 1.9 }, { 30, 5, 1.8 } };
    double back[3] = { -6, 5, 1.8 };
    struct tw_field field;
    struct tw_sweep *sweep;
    struct tw_removal removal;

    cr_assert(eq(int, tw_field_new(0, 0, 0.1, 200, 100, 0, &field, NULL), TW_OK));
    cr_assert(eq(int, tw_field_add_stock(&field, &ring, 1, (struct tw_height_plane){ 2, 0, 0 }, NULL), TW_OK));
    cr_assert(eq(int, tw_sweep_new(&field, &body, 0.1, &sweep, NULL), TW_OK));
    allocations_until_failure = 0;
    cr_expect(eq(int, tw_sweep_line(sweep, points[0], points[1], &removal, NULL), TW_NO_MEMORY));
    allocations_until_failure = -1;
    cr_expect(eq(int, tw_sweep_line(sweep, points[2], back, &removal, NULL), TW_OK));
    /* the second layer alone: 0.1 mm of 20 by 10 mm, all of which lies within the wheel's 10 mm */
    cr_expect(epsilon_eq(dbl, removal.volume_mm3, 20.0, 0.02));
    tw_sweep_free(sweep);
    tw_field_free(&field);
}
