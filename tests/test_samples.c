/* test_samples.c - an independent program grinds a blank along the moves of samples as the command line planned them:
 * tests/reference/prove_program.py, which knows only what a program means (see docs), not how it is made. It works
 * from setups written by hand, tests/samples/expectations.json, and drawings read by general-purpose libraries.
 * Guards against a gouge, stock left, steel taken off ahead of the taper start, a rapid or an infeed into steel, a
 * keep-out or a neighbour touched, a wrong time or volume. And against a check that notices nothing. */
#include "samples/sample.h"

static int prove(const char *program, const char *folder, const char *name, const char *how, struct tw_text *said)
{
    char command[4096];

    snprintf(command, sizeof command,
             "/usr/bin/python3 tests/reference/%s tests/samples/expectations.json %s %s %s 2>&1", program, folder, name,
             how);
    return run_and_read(command, said);
}

/* Those between which all kinds are found; `make all-samples` takes all. */
ParameterizedTestParameters(samples, leave_what_was_asked_for)
{
    return sample_of_each_kind();
}

ParameterizedTest(struct sample_name *name, samples, leave_what_was_asked_for)
{
    struct tw_text said = { 0 };

    cr_expect(eq(int, prove("prove_program.py", PLANNED, name->text, "", &said), 0),
              "%s: the programs do not do what they should\n%s", name->text, said.data);
    tw_text_free(&said);
}

/* The heat of every layer of every sample by Jaeger's integral in SciPy, written down apart from the planner. One start of
 * Python for all of them, for that takes as long as a sample; its faults name the sample. */
Test(samples, are_no_hotter_than_allowed_or_said)
{
    char names[SAMPLES_MOST * sizeof(struct sample_name)] = "";
    struct criterion_test_params all = sample_names();
    const struct sample_name *name = all.params;
    struct tw_text said = { 0 };

    cr_assert(gt(sz, all.length, (size_t)10));
    for (size_t i = 0; i < all.length; i++) {
        strcat(names, name[i].text);
        strcat(names, " ");
    }
    cr_expect(eq(int, prove("prove_heat.py", PLANNED, names, "", &said), 0), "%s", said.data);
    fprintf(stderr, "%s", said.data);
    tw_text_free(&said);
}

/* ---- does the check notice? ---- */

struct spoiled {
    char name[32], way[24], fault[48];
};

ParameterizedTestParameters(proof, notices_a_spoiled_program)
{
    static struct spoiled cases[] = {
        { "hunter-110", "shift:Y:-0.0025", "gouged below the target" },
        { "hunter-110", "shift:Y:0.011", "um left at" },
        { "hunter-110", "shift:Z:6", "um left at" },
        { "hunter-110", "mirror:Z", "um left at" },
        { "petty-130", "unfinished", "um left at" },
        { "hunter-110", "feed:2", "and the summary says" },
        { "chef-210", "shift:X:-12.5", "ahead of the taper start" },
        { "cleaver-200", "rapid", "a rapid meets" },
        { "cleaver-200", "shift:X:0.5", "takes off" },
        { "nakiri-165", "skip", "a cut" },
        { "nakiri-165", "shift:X:-3", "too near to low clamp" },
        { "petty-130", "shift:Z:-0.0002", "gouged below the target" },
        { "utility-four", "shift:Y:45", "too near to blank on" },
    };

    return cr_make_param_array(struct spoiled, cases, sizeof cases / sizeof *cases);
}

ParameterizedTest(struct spoiled *spoiled, proof, notices_a_spoiled_program)
{
    struct tw_text said = { 0 };
    struct scratch scratch;
    char command[512];
    int status;

    scratch_open(&scratch);
    snprintf(command, sizeof command,
             "cp -r " PLANNED "/%s %s && /usr/bin/python3 tests/reference/spoil_program.py %s %s/%s", spoiled->name,
             scratch.path, spoiled->way, scratch.path, spoiled->name);
    cr_assert(eq(int, system(command), 0), "%s", command);
    status = prove("prove_program.py", scratch.path, spoiled->name, "--until-fault", &said);
    cr_expect(ne(int, status, 0));
    cr_expect(strstr(said.data, spoiled->fault) != NULL, "%s %s: wanted \"%s\" in\n%s", spoiled->name, spoiled->way,
              spoiled->fault, said.data);
    tw_text_free(&said);
    scratch_close(&scratch);
}
