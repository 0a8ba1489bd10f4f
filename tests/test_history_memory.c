/* test_history_memory.c - the history when memory runs out: each allocation is made to fail in turn, and a pass asks for
 * none. tests.mk links this test with malloc and calloc wrapped. */
#include "tangwright/history.h"

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

static const struct tw_steel steel = { .conductivity_W_per_mm_K = 0.04,
                                       .density_g_per_mm3 = 7.8e-3,
                                       .specific_heat_J_per_g_K = 0.48 };
static const struct tw_coolant coolant = { .boiling_degC = 120.0,
                                           .surface_conductance_W_per_mm2_K = 1e-5,
                                           .joint_conductance_W_per_mm2_K = 1e-3,
                                           .temperature_degC = 20.0 };
static const struct tw_wheel wheel = { .kind = TW_WHEEL_CUP,
                                       .diameter_mm = 50.0,
                                       .grain_conductivity_W_per_mm_K = 0.035,
                                       .grain_radius_mm = 0.015,
                                       .specific_energy_J_per_mm3 = 45.0,
                                       .size_exponent = 0.4,
                                       .rim_contact_mm = 3.0 };

static struct tw_point corners[] = { { 0, -5 }, { 30, -5 }, { 30, 5 }, { 0, 5 } };
static struct tw_outline tang = { .outer = { corners, 4 } }, blade = { 0 };

static enum tw_status open_part(struct tw_history **history, struct tw_findings *findings)
{
    const struct tw_history_part part = { .tang = &tang, .blade = &blade, .blank_mm = 3.0 };
    const struct tw_history_wheel how = { .wheel = &wheel };

    return tw_history_open(&part, &how, &steel, &coolant, history, findings);
}

Test(history_memory, every_failing_allocation_is_reported_and_nothing_leaks)
{
    int refused = 0;

    for (;; refused++) {
        struct tw_history *history = NULL;
        struct tw_findings findings = { 0 };
        enum tw_status status;

        allocations_left = refused;
        status = open_part(&history, &findings);
        allocations_left = -1;
        if (status == TW_OK) {
            tw_history_close(history);
            break;
        }
        cr_assert(eq(int, status, TW_NO_MEMORY));
        cr_assert(history == NULL);
        cr_assert(findings.out_of_memory);
        tw_findings_free(&findings);
    }
    cr_expect(refused >= 8, "a history makes several allocations, %d were seen to fail", refused);
}

Test(history_memory, another_one_reports_every_failing_allocation)
{
    struct tw_history *history, *another = NULL;
    int refused = 0;

    cr_assert(eq(int, open_part(&history, NULL), TW_OK));
    for (; !another; refused++) {
        allocations_left = refused;
        another = tw_history_another(history);
        allocations_left = -1;
    }
    cr_expect(refused > 8, "a history makes several allocations, %d were seen to fail", refused - 1);
    tw_history_close(another);
    tw_history_close(history);
}

Test(history_memory, a_pass_and_all_questions_go_without)
{
    const struct tw_temper_limit limit = tw_temper_limit_of(200.0, 25.0, 14400.0, 15.5);
    const struct tw_history_piece piece = { .from_mm = { 60.0, 0.0 },
                                            .to_mm = { 20.0, 0.0 },
                                            .low_mm = -5.0,
                                            .high_mm = 5.0,
                                            .depth_mm = 0.01,
                                            .mean_mm = 0.01,
                                            .volume_mm3 = 3.0,
                                            .table_mm_per_s = 40.0,
                                            .wheel_mm_per_s = 20000.0 };
    struct tw_history *history, *other;
    struct tw_history_peak peak;
    struct tw_tempering tempering;

    cr_assert(eq(int, open_part(&history, NULL), TW_OK));
    cr_assert(eq(int, open_part(&other, NULL), TW_OK));
    allocations_left = 0;
    cr_expect(eq(int, tw_history_pass(history, &piece, 1, &peak, NULL), TW_OK));
    cr_expect(eq(int, tw_history_wait(history, 3.0, NULL), TW_OK));
    cr_expect(eq(int, tw_history_set_face(history, 2.9, 0.0, NULL), TW_OK));
    cr_expect(eq(int, tw_history_copy(other, history), TW_OK));
    cr_expect(eq(int, tw_history_pass(other, &piece, 1, &peak, NULL), TW_OK));
    tw_history_tempering(other, &limit, &tempering);
    allocations_left = -1;
    cr_expect(peak.degC > 30.0);
    tw_history_close(history);
    tw_history_close(other);
}
