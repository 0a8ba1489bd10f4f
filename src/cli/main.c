/* main.c - finds the verb, runs it, prints what was found and turns the status into an exit status. */
#include "cli/verbs.h"

#include "base/nearest.h"
#include "tangwright/compare.h"

#include <errno.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct verb verbs[] = {
    { "new", "DIR", 1, 1, 0, 0, "Makes DIR with a commented job, an outline and all profiles to start from.",
      verb_new },
    { "check", "JOB", 1, 1, OPTION_JSON | OPTION_SHEET | OPTION_PLOT, 0,
      "Reads the job and its drawing; prints all faults at once, or how the knife lies.", verb_check },
    { "preview", "JOB", 1, 1, OPTION_JSON | OPTION_SHEET | OPTION_DETAIL, 0,
      "Plans without writing programs: pass count, cycle time, hottest temperature, what binds.", verb_preview },
    { "plan", "JOB", 1, 1, OPTION_OUT | OPTION_LIFT | OPTION_DETAIL, OPTION_OUT,
      "Plans and writes the programs to DIR, each also raised to run in the air, with summary.json and setup.html.",
      verb_plan },
    { "compare", "JOB KEY=VALUE[,VALUE...]...", 2, 1 + TW_CHANGES_MOST, OPTION_JSON | OPTION_SHEET, 0,
      "Plans the job with these keys changed, and shows up to six variants side by side.", verb_compare },
    { "dry-run", "JOB PROGRAM...", 2, OPTION_OPERANDS_MOST, OPTION_JSON | OPTION_CELL | OPTION_SHEET | OPTION_STRICT, 0,
      "Runs programs in a simulator, from their text alone, and says check by check whether to cut.", verb_dry_run },
    { "calibrate", "JOB READINGS", 2, 2, OPTION_JSON, 0,
      "Fits the wheel's energy and heat partition, or the machine's stiffness and what holds, to a shop's readings.",
      verb_calibrate },
    { "straighten", "JOB", 1, 1, OPTION_JSON | OPTION_SURVEY, 0,
      "From a survey of the blank: what comes off each face so that the tang is straight, and how to pack it.",
      verb_straighten },
    { "balance", "JOB", 1, 1, OPTION_JSON | OPTION_AT, 0,
      "Weight and balance of tang, handle and knife; which butt puts the balance point at a place.", verb_balance },
    { "gauge", "JOB READINGS", 2, 2, OPTION_JSON | OPTION_GAUGE | OPTION_TOLERANCE | OPTION_ROUGHED | OPTION_FINISHED,
      0, "From measured parts: what is wrong, what is chance, and how to correct the next ones.", verb_gauge },
    { "fixture", "JOB", 1, 1, OPTION_OUT | OPTION_STATIONS, OPTION_OUT,
      "Designs a fixture for the job: stops, rests, plate and stations, with drawings, profile and programs.",
      verb_fixture },
    { "run", "RUN", 1, 1,
      OPTION_OUT | OPTION_JSON | OPTION_STATUS | OPTION_DONE | OPTION_NOT_DONE | OPTION_DRESSED | OPTION_NOT_DRESSED |
          OPTION_EXPORT,
      0, "Lays many blanks of one job into loads and plans each, with a page a load; keeps a record of the run.",
      verb_run },
    { "bench", "DIR", 1, 1, OPTION_PORT | OPTION_NO_BROWSER, 0,
      "Serves a page on this machine alone, to work on DIR's job with a browser; every change goes into job.cfg.",
      verb_bench },
    { "profiles", "[NAME]", 0, 1, 0, 0,
      "Lists the profiles that come with the program, or shows one with the sources of its values.", verb_profiles },
};

#define VERB_COUNT (sizeof verbs / sizeof *verbs)

static void print_help(void)
{
    puts("tangwright - plans the grinding of tapered knife tangs and writes RS-274 programs\n");
    for (size_t i = 0; i < VERB_COUNT; i++)
        printf("  %-10s %-15s %s\n", verbs[i].name, verbs[i].operands, verbs[i].summary);
    puts("\n  tangwright help VERB     a verb's options; tangwright VERB --help says the same\n"
         "  tangwright --version\n\n"
         "Exit status: 0 done; 1 the answer is \"do not cut\"; 2 wrong use; 3 bad input; 4 no plan can meet\n"
         "the limits; 5 reading or writing failed; 6 out of memory.\n\n"
         "Grinding can hurt people. Temperatures are estimates and a plan is no promise of safety: the\n"
         "machine and wheel makers' instructions and local codes come first.");
}

static const struct verb *find_verb(const char *name)
{
    for (size_t i = 0; i < VERB_COUNT; i++)
        if (strcmp(verbs[i].name, name) == 0)
            return &verbs[i];
    return NULL;
}

static enum tw_status unknown_verb(const char *name, struct tw_findings *findings)
{
    struct tw_nearest nearest = tw_nearest_to(name);

    for (size_t i = 0; i < VERB_COUNT; i++)
        tw_nearest_offer(&nearest, verbs[i].name);
    return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 }, "unknown verb %s; %s%s%ssee tangwright --help", name,
                   nearest.name ? "did you mean " : "", nearest.name ? nearest.name : "", nearest.name ? "? Or " : "");
}

static bool asks_for_help(const char *word)
{
    return strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0 || strcmp(word, "help") == 0;
}

/* Of all verbs, or of the one that is named. */
static enum tw_status help(int count, char *words[], struct tw_findings *findings)
{
    const struct verb *verb = count > 2 ? find_verb(words[2]) : NULL;

    if (count > 2 && !verb)
        return unknown_verb(words[2], findings);
    if (verb)
        options_print_verb(verb);
    else
        print_help();
    return TW_OK;
}

static enum tw_status run(int count, char *words[], struct tw_findings *findings)
{
    const struct verb *verb;
    struct options options;
    enum tw_status status;

    if (count < 2)
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 },
                       "nothing to do: name a verb; see tangwright --help");
    if (asks_for_help(words[1]))
        return help(count, words, findings);
    if (strcmp(words[1], "--version") == 0) {
        puts("tangwright " TANGWRIGHT_VERSION);
        return TW_OK;
    }
    verb = find_verb(words[1]);
    if (!verb)
        return unknown_verb(words[1], findings);
    status = options_read(verb, count - 2, words + 2, &options, findings);
    if (status == TW_OK && options.help)
        options_print_verb(verb);
    else if (status == TW_OK)
        status = verb_check_outputs(verb, &options, findings);
    if (status == TW_OK && !options.help)
        status = verb->run(&options, findings);
    return status;
}

/* What went to standard output is only done once it is there: a full disk shows when the stream is flushed. */
static enum tw_status flush_output(enum tw_status status, struct tw_findings *findings)
{
    if (fflush(stdout) == 0 && !ferror(stdout))
        return status;
    tw_fail(findings, TW_IO, (struct tw_place){ 0 }, "standard output cannot be written: %s", strerror(errno));
    return status == TW_OK ? TW_IO : status;
}

/* Grids of cells are asked for and given back by the dozen. What is given back is kept for the next, where else the kernel would
 * clear every page of it anew. */
static void keep_memory(void)
{
#ifdef __GLIBC__
    enum { KEPT_BYTES = 1 << 28, LARGEST_KEPT_BYTES = 1 << 25 };

    mallopt(M_MMAP_THRESHOLD, LARGEST_KEPT_BYTES);
    mallopt(M_TRIM_THRESHOLD, KEPT_BYTES);
#endif
}

int main(int count, char *words[])
{
    struct tw_findings findings = { 0 };
    enum tw_status status;

    keep_memory();
    signal(SIGXFSZ, SIG_IGN); /* a file that may not grow so large is told of like a full disk */
    status = flush_output(run(count, words, &findings), &findings);

    tw_findings_drop_repeated(&findings);
    tw_findings_print(&findings, stderr);
    if (findings.out_of_memory)
        status = TW_NO_MEMORY;
    tw_findings_free(&findings);
    return (int)status;
}
