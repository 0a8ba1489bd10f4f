/* test_habits.c - guards what a person at a terminal is used to: plots and progress there and only there, profiles to look
 * at, man pages and completions that know every verb and option, and an installation that another program can use. Runs
 * the built program, named by TANGWRIGHT. */
#include "sanitized.h"

#include "check/check.h"
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

static const char job[] = "samples/nakiri-165/job.cfg";

static const char *program(void)
{
    return getenv("TANGWRIGHT") ? getenv("TANGWRIGHT") : "build/release/tangwright";
}

/* What a shell command prints; its exit status goes to *status. */
static char *output_of(int *status, const char *format, ...) __attribute__((format(printf, 2, 3)));

static char *output_of(int *status, const char *format, ...)
{
    static char text[1 << 20];
    char command[4096];
    va_list arguments;
    size_t got;
    FILE *pipe;
    int answer;

    va_start(arguments, format);
    vsnprintf(command, sizeof command, format, arguments);
    va_end(arguments);
    pipe = popen(command, "r");
    cr_assert(pipe != NULL);
    got = fread(text, 1, sizeof text - 1, pipe);
    text[got] = '\0';
    answer = pclose(pipe);
    if (status)
        *status = WIFEXITED(answer) ? WEXITSTATUS(answer) : -1;
    return text;
}

TestSuite(habits, .timeout = 300);

/* ---- at a terminal ---- */

/* script(1) gives the program a terminal. */
Test(habits, a_terminal_gets_the_plot_and_a_pipe_does_not)
{
    int status;
    char *shown = output_of(&status, "script -qec '%s preview %s 2>/dev/null' /dev/null </dev/null", program(), job);
    char *plot = strstr(shown, "seen edge-on:");

    cr_expect(eq(int, status, 0));
    cr_assert(plot != NULL);
    cr_expect(strstr(plot, "side A by layer") != NULL);
    cr_expect(strstr(plot, "side B by layer") != NULL);
    for (char *line = strtok(plot, "\r\n"); line; line = strtok(NULL, "\r\n")) {
        cr_expect(le(sz, strlen(line), 80), "%s", line);
        for (char *c = line; *c; c++)
            cr_expect(strchr("\t\x1b", *c) == NULL && (*c & 0x80) == 0, "%s", line);
    }
    cr_expect(strstr(output_of(&status, "%s preview %s | cat", program(), job), "seen edge-on:") == NULL);
}

/* The outermost row is kept as long as the tang is at least 7/8 of the ricasso there: thickness falls evenly from 2.8 to
 * 1.5 mm, so over (2.8 - 2.45) / (2.8 - 1.5) = 0.269 of the length; by hand. */
Test(habits, the_plot_of_the_spine_is_to_scale)
{
    char *shown = output_of(NULL, "script -qec '%s preview %s 2>/dev/null' /dev/null </dev/null", program(), job);
    char *row = strstr(shown, "A #");

    cr_assert(row != NULL);
    cr_expect(epsilon_eq(dbl, (double)strspn(row + 2, "#"), 0.269 * 60.0, 0.5));
    cr_expect(eq(sz, strspn(row + 2, "#."), 60));
}

/* A plan of more than an hour takes longer than half a second: tests/bench/hour.cfg. */
Test(habits, progress_is_shown_on_a_terminal_and_never_in_a_file)
{
    char *shown = output_of(
        NULL, "script -qec 'timeout 2 %s preview tests/bench/hour.cfg >/dev/null' /dev/null </dev/null", program());

    cr_expect(strstr(shown, "planning, 0.5 s") != NULL, "%s", shown);
    shown = output_of(NULL, "timeout 2 %s preview tests/bench/hour.cfg 2>&1 >/dev/null", program());
    cr_expect(strstr(shown, "planning") == NULL, "%s", shown);
}

/* ---- profiles ---- */

Test(habits, every_profile_is_listed_and_shown_as_it_is)
{
    int status;

    output_of(
        &status,
        "list=$(%s profiles); for f in $(cd profiles && echo */*.cfg); do case \"$list\" in *\"  ${f%%.cfg} \"*) ;; "
        "*) exit 1 ;; esac; %s profiles ${f%%.cfg} | cmp - profiles/$f || exit 2; %s profiles $(basename $f) | cmp - "
        "profiles/$f || "
        "exit 3; done",
        program(), program(), program());
    cr_expect(eq(int, status, 0));
}

Test(habits, an_unknown_profile_is_told)
{
    int status;
    char *said = output_of(&status, "%s profiles belt-ceramic 2>&1", program());

    cr_expect(eq(int, status, 2));
    cr_expect(strcmp(said, "no profile is called belt-ceramic; see tangwright profiles\n") == 0, "%s", said);
}

/* ---- manuals and completions ---- */

static char *slurp(const char *path)
{
    return output_of(NULL, "cat %s", path);
}

/* Calls `check` with every verb of --help, and with every option of every verb. */
static void each_word(void (*check)(const char *verb, const char *option))
{
    char verbs[4096], options[4096];
    char *rest, *more;

    snprintf(verbs, sizeof verbs, "%s",
             output_of(NULL, "%s --help | sed -n '/VERB/d; s/^  \\([a-z][a-z-]*\\)  *[[A-Z].*/\\1/p'", program()));
    cr_expect(strstr(verbs, "dry-run") != NULL);
    cr_expect(strstr(verbs, "profiles") != NULL);
    for (char *verb = strtok_r(verbs, "\n", &rest); verb; verb = strtok_r(NULL, "\n", &rest)) {
        check(verb, NULL);
        snprintf(options, sizeof options, "%s",
                 output_of(NULL, "%s %s --help | sed -n 's/^  \\(--[a-z]*\\) .*/\\1/p'", program(), verb));
        for (char *option = strtok_r(options, "\n", &more); option; option = strtok_r(NULL, "\n", &more))
            check(verb, option);
    }
}

/* A roff page writes each hyphen of a word as \-. */
static void check_manual(const char *verb, const char *option)
{
    static char page[1 << 16];
    char written[128] = "";

    if (!page[0])
        snprintf(page, sizeof page, "%s", slurp("docs/man/tangwright.1"));
    for (const char *c = option ? option : verb; *c; c++)
        snprintf(written + strlen(written), sizeof written - strlen(written), *c == '-' ? "\\-" : "%c", *c);
    cr_expect(strstr(page, written) != NULL, "the man page does not tell of %s %s", verb, option ? option : "");
}

/* In bash the script itself is asked, once for all options of a verb. */
static void check_bash(const char *verb, const char *option)
{
    static char asked[64], offered[4096];

    if (!option)
        snprintf(offered, sizeof offered, "%s",
                 output_of(NULL,
                           "bash -c '. src/completions/tangwright.bash; COMP_WORDS=(tangwright \"\"); COMP_CWORD=1; "
                           "_tangwright; echo \" ${COMPREPLY[*]} \"'"));
    else if (strcmp(asked, verb) != 0)
        snprintf(offered, sizeof offered, "%s",
                 output_of(NULL,
                           "bash -c '. src/completions/tangwright.bash; PATH=$(dirname $(realpath %s)):$PATH; "
                           "COMP_WORDS=(tangwright %s --); COMP_CWORD=2; _tangwright; echo \" ${COMPREPLY[*]} \"'",
                           program(), verb));
    snprintf(asked, sizeof asked, "%s", option ? verb : "");
    cr_expect(strstr(offered, option ? option : verb) != NULL, "bash offers%s for %s %s", offered, verb,
              option ? option : "");
}

/* The line that the zsh script has for a verb: what it is for, or its options. */
static void check_zsh(const char *verb, const char *option)
{
    static char script[1 << 16];
    char begins[96], *line, *end;

    if (!script[0])
        snprintf(script, sizeof script, "%s", slurp("src/completions/_tangwright"));
    snprintf(begins, sizeof begins, option ? "\n%s) _arguments" : "\n    '%s:", verb);
    line = strstr(script, begins);
    end = line ? strchr(line + 1, '\n') : NULL;
    cr_assert(end != NULL, "the zsh completion has no line for %s", verb);
    *end = '\0';
    cr_expect(!option || strstr(line, option) != NULL, "the zsh completion does not know %s %s", verb,
              option ? option : "");
    *end = '\n';
}

Test(habits, man_page_and_completions_know_every_verb_and_option)
{
    each_word(check_manual);
    each_word(check_bash);
    each_word(check_zsh);
}

/* ---- installed ---- */

static const char user_program[] =
    "#include <tangwright/job.h>\\n#include <tangwright/sheet.h>\\n#include <stdio.h>\\n"
    "int main(int n, char **words) { struct tw_job job; struct tw_findings f = { 0 }; "
    "int status = (int)tw_job_read(words[n - 1], &job, &f); if (status == 0) puts(job.name); return status; }\\n";

/* A program that knows only what pkg-config says compiles, links, runs. */
/* The release build is what is installed, whichever variant these tests are. */
Test(habits, what_is_installed_can_be_built_against, ONLY_IN_RELEASE)
{
    char folder[] = "/tmp/tangwright-habits-XXXXXX";
    int status;
    char *said;

    cr_assert(mkdtemp(folder) != NULL);
    output_of(&status, "make -s install VARIANT=release DESTDIR=%s/root PREFIX=/opt/tw >/dev/null 2>&1", folder);
    cr_assert(eq(int, status, 0));
    said = output_of(
        &status,
        "cd %s && printf '%s' > user.c && export PKG_CONFIG_PATH=root/opt/tw/lib/pkgconfig PKG_CONFIG_SYSROOT_DIR= && "
        "sed -i 's|^prefix=.*|prefix=%s/root/opt/tw|' root/opt/tw/lib/pkgconfig/tangwright.pc && "
        "cc user.c $(pkg-config --cflags --libs tangwright) -o user 2>&1 && cd %s && "
        "%s/user samples/nakiri-165/job.cfg",
        folder, user_program, folder, "$OLDPWD", folder);
    cr_expect(eq(int, status, 0), "%s", said);
    cr_expect(strcmp(said, "nakiri-165\n") == 0, "%s", said);
    output_of(&status,
              "cd %s/root/opt/tw && test -x bin/tangwright && test -s share/man/man1/tangwright.1 && "
              "test -s share/man/man5/tangwright-job.5 && test -s share/tangwright/profiles/wheels/cup-cbn-75.cfg && "
              "test -s share/bash-completion/completions/tangwright && test -s share/zsh/site-functions/_tangwright",
              folder);
    cr_expect(eq(int, status, 0));
    output_of(NULL, "rm -rf %s", folder);
}
