/* test_samples.c - an independent program grinds a blank along the moves of samples as the command line planned them:
 * tests/reference/prove_program.py, which knows only what a program means (see docs), not how it is made. It works
 * from setups written by hand, tests/samples/expectations.json, and drawings read by general-purpose libraries.
 * Guards against a gouge, stock left, steel taken off ahead of the taper start, a rapid or an infeed into steel, a
 * keep-out or a neighbour touched, a wrong time or volume. And against a check that notices nothing. */
#include "samples/sample.h"

static int prove(const char *program, const char *folder, const char *names, struct tw_text *said)
{
    char command[8192];

    snprintf(command, sizeof command, "/usr/bin/python3 tests/reference/%s tests/samples/expectations.json %s %s 2>&1",
             program, folder, names);
    return run_and_read(command, said);
}

/* Where the line "WORD NAME WAY" stands in what was said, or NULL. */
static const char *line_of(const char *said, const char *word, const char *name, const char *way)
{
    char line[160];

    snprintf(line, sizeof line, "%s %s %s\n", word, name, way);
    return strstr(said, line);
}

/* One start of Python for all of them, for that takes as long as many a sample; its faults name the sample. Those between which all
 * kinds are found; `make all-samples` takes all. */
Test(samples, leave_what_was_asked_for)
{
    char names[SAMPLES_MOST * sizeof(struct sample_name)] = "";
    struct criterion_test_params some = sample_of_each_kind();
    const struct sample_name *name = some.params;
    struct tw_text said = { 0 };

    for (size_t i = 0; i < some.length; i++)
        strcat(strcat(names, name[i].text), " ");
    cr_expect(eq(int, prove("prove_program.py", PLANNED, names, &said), 0), "the programs do not do what they should");
    for (size_t i = 0; i < some.length; i++)
        cr_expect(line_of(said.data, "PASSED", name[i].text, "") != NULL, "%s", name[i].text);
    fprintf(stderr, "%s", said.data);
    tw_text_free(&said);
}

/* The heat of every layer by Jaeger's integral in SciPy, written down apart from the planner, of the same samples. One start of
 * Python for all of them, for that takes as long as a sample; its faults name the sample. */
Test(samples, are_no_hotter_than_allowed_or_said)
{
    char names[SAMPLES_MOST * sizeof(struct sample_name)] = "";
    struct criterion_test_params some = sample_of_each_kind();
    const struct sample_name *name = some.params;
    struct tw_text said = { 0 };

    for (size_t i = 0; i < some.length; i++)
        strcat(strcat(names, name[i].text), " ");
    cr_expect(eq(int, prove("prove_heat.py", PLANNED, names, &said), 0), "%s", said.data);
    fprintf(stderr, "%s", said.data);
    tw_text_free(&said);
}

/* ---- does the check notice? ---- */

/* All in one start of Python; each must fail by the fault that is looked for, and no other one's. */
Test(proof, notices_a_spoiled_program)
{
    static const struct {
        const char *name, *way, *fault;
    } cases[] = {
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
    char words[sizeof cases / sizeof *cases * 64] = "";
    struct tw_text said = { 0 };

    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        snprintf(words + strlen(words), 64, "%s=%s ", cases[i].name, cases[i].way);
    cr_expect(ne(int, prove("prove_program.py", PLANNED, words, &said), 0));
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *begin = line_of(said.data, "PROVE", cases[i].name, cases[i].way);
        const char *end = line_of(said.data, "FAILED", cases[i].name, cases[i].way);
        const char *fault = begin ? strstr(begin, cases[i].fault) : NULL;

        cr_expect(end && fault && fault < end, "%s %s: wanted \"%s\" in\n%s", cases[i].name, cases[i].way,
                  cases[i].fault, said.data);
    }
    tw_text_free(&said);
}
