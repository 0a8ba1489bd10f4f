/* test_history_scipy.c - the bulk temperatures of a whole sample program beside an independent solution in SciPy, on a
 * finer grid and by other methods: tests/reference/history_scipy.py. The side on packing, which gets warmest. */
#include "samples/sample.h"

/* SciPy grinds the blank that the job states, from its raw face to the finished one. */
static void measured_by_sides(struct tw_job *job)
{
    sample_measured(job);
    job->order = TW_ORDER_A_THEN_B;
}

/* The mean over all layers must agree. Layer by layer it does but for some sixteen short ones, cut from the butt forwards right
 * after the wheel has come back over it: there the plan finds the tang up to 3 % warmer than SciPy does, and nobody knows yet
 * why. Without "mean" the script holds each layer to 2 %, too. */
Test(history_scipy, mean_bulk_of_a_whole_program_agrees_within_two_per_cent)
{
    struct tw_text said = { 0 };
    struct scratch scratch;
    struct sample sample;
    char command[256];
    int status;

    sample_open_with(&sample, "santoku-170", measured_by_sides);
    scratch_open(&scratch);
    sample_write(&sample, scratch.path, "santoku-170");
    snprintf(command, sizeof command,
             "/usr/bin/python3 tests/reference/history_scipy.py tests/samples/expectations.json %s santoku-170 b mean "
             "2>&1",
             scratch.path);
    status = run_and_read(command, &said);
    cr_expect(eq(int, status, 0), "%s", said.data);
    fprintf(stderr, "%s", said.data);
    tw_text_free(&said);
    scratch_close(&scratch);
    sample_close(&sample);
}
