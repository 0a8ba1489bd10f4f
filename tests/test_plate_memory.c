/* test_plate_memory.c - the plate when memory runs out: each allocation is made to fail in turn. The Makefile
 * links this test with malloc and calloc wrapped. */
#include "tangwright/plate.h"

#include "check/check.h"
#include <stdlib.h>

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);

static int allocations_left = -1; /* -1: as many as asked for */

static bool may_allocate(void)
{
    if (allocations_left == 0)
        return false;
    if (allocations_left > 0)
        allocations_left--;
    return true;
}

void *__wrap_malloc(size_t size)
{
    return may_allocate() ? __real_malloc(size) : NULL;
}

void *__wrap_calloc(size_t count, size_t size)
{
    return may_allocate() ? __real_calloc(count, size) : NULL;
}

Test(plate_memory, every_failing_allocation_is_reported_and_nothing_leaks)
{
    const struct tw_steel steel = { .conductivity_W_per_mm_K = 0.04,
                                    .density_g_per_mm3 = 7.8e-3,
                                    .specific_heat_J_per_g_K = 0.48 };
    const struct tw_plate_surroundings around = { 1e-5, 1e-3, 1e-5, 20.0 };
    const double thickness[6] = { 2.0, 2.0, 2.0, 2.0, 2.0, 2.0 };
    const struct tw_plate_grid grid = { .nx = 3, .ny = 2, .cell_mm = 1.0, .thickness_mm = thickness };
    int refused = 0;

    for (;; refused++) {
        struct tw_plate *plate = NULL;
        struct tw_findings findings = { 0 };
        enum tw_status status;

        allocations_left = refused;
        status = tw_plate_new(&grid, &steel, &around, &plate, &findings);
        allocations_left = -1;
        if (status == TW_OK) {
            tw_plate_free(plate);
            break;
        }
        cr_assert(eq(int, status, TW_NO_MEMORY));
        cr_assert(plate == NULL);
        cr_assert(findings.out_of_memory);
        tw_findings_free(&findings);
    }
    cr_expect(refused >= 2, "the plate makes several allocations, %d were seen to fail", refused);
}
