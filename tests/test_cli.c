/* test_cli.c - guards the contract of the command line: exit statuses, first lines of complaints, and that a
 * failure never damages what is there. Runs the built program, named by TANGWRIGHT, on jobs in a temporary folder. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "sanitized.h"

#include "check/check.h"
#include "check/tree.h"
#include <ctype.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static char folder[64];

/* What one run printed and answered. */
struct run {
    int status;
    char out[16384], err[16384];
};

static const char *program(void)
{
    const char *path = getenv("TANGWRIGHT");
    static char absolute[4096];

    if (!path)
        path = "build/release/tangwright";
    cr_assert(realpath(path, absolute) != NULL, "the built program is not at %s", path);
    return absolute;
}

static void slurp(const char *name, char *text, size_t room)
{
    char path[256];
    FILE *stream;
    size_t got;

    snprintf(path, sizeof path, "%s/%s", folder, name);
    stream = fopen(path, "rb");
    cr_assert(stream != NULL);
    got = fread(text, 1, room - 1, stream);
    text[got] = '\0';
    fclose(stream);
}

/* Runs "tangwright ARGUMENTS" in the temporary folder. */
static struct run run(const char *arguments)
{
    struct run result;
    char command[8192];
    int status;

    snprintf(command, sizeof command, "cd %s && exec %s %s >stdout.txt 2>stderr.txt", folder, program(), arguments);
    status = system(command);
    result.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    slurp("stdout.txt", result.out, sizeof result.out);
    slurp("stderr.txt", result.err, sizeof result.err);
    return result;
}

static void shell(const char *command)
{
    char whole[8192];

    snprintf(whole, sizeof whole, "cd %s && %s", folder, command);
    cr_assert(eq(int, system(whole), 0), "%s", whole);
}

/* The job that `new` of the release build writes, which is quicker than under the sanitizers (they watch `new` in a test of its own),
 * for a measured blank from which little comes off: planned in a third of the time. */
static void make_folder(void)
{
    char release[4096], command[4200];

    strcpy(folder, "/tmp/tangwright-cli-XXXXXX");
    cr_assert(mkdtemp(folder) != NULL);
    cr_assert(realpath("build/release/tangwright", release) != NULL, "make build/release/tangwright");
    snprintf(command, sizeof command, "%s new job >/dev/null", release);
    shell(command);
    shell("sed -i 's/butt_thickness = \"1.6 mm\"/butt_thickness = \"3.0 mm\"/; "
          "s/thickness_band = \"0.05 mm\"/thickness_band = \"0 mm\"/' job/job.cfg");
}

static void remove_folder(void)
{
    check_remove(folder);
}

TestSuite(cli, .init = make_folder, .fini = remove_folder, .timeout = 300);

static void first_line(char *text)
{
    text[strcspn(text, "\n")] = '\0';
}

struct wrong {
    const char *prepare; /* shell words run in the temporary folder; NULL: none */
    const char *arguments;
    int status;
    const char *complaint; /* the whole first line on standard error */
};

#define NO_COPY          "cp -r job j && "
#define SHORT_TRAVEL     "s/^machine: {/&\\n axes: { along: { travel_max = \"60 mm\"; }; };/"
#define EDIT(expression) NO_COPY "sed -i '" expression "' j/job.cfg"

#define WEIGHED NO_COPY "echo 'blank: { mass = \"186 g\"; balance_point = \"38 mm\"; };' >> j/job.cfg"

static const struct wrong wrongs[] = {
    /* wrong use */
    { NULL, "", 2, "nothing to do: name a verb; see tangwright --help" },
    { NULL, "grind job/job.cfg", 2, "unknown verb grind; see tangwright --help" },
    { NULL, "chek job/job.cfg", 2, "unknown verb chek; did you mean check? Or see tangwright --help" },
    { NULL, "dryrun job/job.cfg", 2, "unknown verb dryrun; did you mean dry-run? Or see tangwright --help" },
    { NULL, "profiles surfacegrinder", 2,
      "no profile is called surfacegrinder; did you mean machines/surface-grinder? Or see tangwright profiles" },
    { NULL, "check", 2, "missing: JOB; see tangwright check --help" },
    { NULL, "new", 2, "missing: DIR; see tangwright new --help" },
    { NULL, "plan job/job.cfg", 2,
      "missing: --out DIR (folder for what is written; made where missing); see tangwright plan --help" },
    { NULL, "plan --out out", 2, "missing: JOB; see tangwright plan --help" },
    { NULL, "plan job/job.cfg --out", 2, "a value must follow --out; see tangwright plan --help" },
    { NULL, "plan job/job.cfg --out=", 2, "an empty value for --out; see tangwright plan --help" },
    { NULL, "plan job/job.cfg --out a --out b", 2, "given twice: --out; see tangwright plan --help" },
    { NULL, "plan job/job.cfg more --out a", 2, "one word too many: more; see tangwright plan --help" },
    { NULL, "preview job/job.cfg --out a", 2, "unknown option --out; see tangwright preview --help" },
    { NULL, "check job/job.cfg --lift a", 2, "unknown option --lift; see tangwright check --help" },
    { NULL, "preview job/job.cfg --jso a", 2,
      "unknown option --jso; did you mean --json? Or see tangwright preview --help" },
    { NULL, "preview job/job.cfg --jso=a", 2,
      "unknown option --jso=a; did you mean --json? Or see tangwright preview --help" },
    { NULL, "plan job/job.cfg --out a --lift 10", 2,
      "--lift: 10 is no length above 0 and up to 500 mm; say for example --lift \"10 mm\"" },
    { NULL, "plan job/job.cfg --out a --lift '-3 mm'", 2,
      "--lift: -3 mm is no length above 0 and up to 500 mm; say for example --lift \"10 mm\"" },
    { NULL, "plan job/job.cfg --out a --lift '10 degC'", 2,
      "--lift: 10 degC is no length above 0 and up to 500 mm; say for example --lift \"10 mm\"" },
    { NULL, "dry-run job/job.cfg", 2, "missing: JOB PROGRAM...; see tangwright dry-run --help" },
    { NULL, "dry-run job/job.cfg x.nc --cell 0.1", 2,
      "--cell: 0.1 is no length above 0 and up to 5 mm; say for example --cell \"0.1 mm\"" },
    { NULL, "balance job/job.cfg --at 12", 2,
      "--at: 12 is no place; say how far ahead of the taper start, on the blade, or behind it, on the tang: --at \"12 "
      "mm "
      "ahead\", --at \"5 mm behind\", or --at 0 for the taper start itself" },
    { NULL, "balance job/job.cfg --at '12 mm'", 2, "--at: 12 mm is no place; say how far@" },
    { NULL, "balance job/job.cfg --at '-3 mm ahead'", 2, "--at: -3 mm ahead is no place; say how far@" },
    { NULL, "balance job/job.cfg --at '3 deg behind'", 2, "--at: 3 deg behind is no place; say how far@" },
    { NULL, "balance job/job.cfg --at 'ahead'", 2, "--at: ahead is no place; say how far@" },
    { NULL, "balance job/job.cfg --at '12 mm ahead'", 3,
      "job/job.cfg: blank: the blank was not weighed, so its balance cannot be worked out; weigh and balance it, and "
      "write "
      "blank: { mass = \"186 g\"; balance_point = \"38 mm\"; };" },
    { WEIGHED, "balance j/job.cfg --at '200 mm ahead'", 4,
      "j/job.cfg: neither butt nor relief brings the balance point there: @ mm are missing; what else would help "
      "stands in "
      "the table" },
    { NULL, "new ''", 2, "an empty word for DIR; see tangwright new --help" },
    /* reading and writing */
    { NULL, "check job", 5, "job: is a folder; name a file in it" },
    { EDIT("1s/^/\\xef\\xbb\\xbf!/"), "check j/job.cfg", 3, "j/job.cfg:1: syntax error: @" },
    { EDIT("s/petty-160/K\\xfcche/"), "check j/job.cfg", 3,
      "j/job.cfg:7: name: holds letters that are not UTF-8; save the file as UTF-8, or write it without accents" },
    { EDIT("s#profiles/wheels/cup-cbn-75.cfg#profiles\\\\wheels\\\\cup.cfg#"), "check j/job.cfg", 5,
      "j/job.cfg:69: wheel.profile: \"j/profiles\\wheels\\cup.cfg\" cannot be opened: No such file or directory; "
      "folders are "
      "parted by /, not by \\" },
    { NULL, "dry-run job/job.cfg x.nc", 5, "x.nc: cannot be opened: No such file or directory" },
    { NULL, "check nowhere.cfg", 5, "nowhere.cfg: cannot be opened: No such file or directory" },
    { NULL, "new job", 5, "job/job.cfg: is there already, and new never overwrites; give the name of a new folder" },
    { "mkdir -p x/profiles/wheels && touch x/profiles/wheels/cup-cbn-75.cfg", "new x", 5,
      "x/profiles/wheels/cup-cbn-75.cfg: is there already, and new never overwrites; give the name of a new folder" },
    { "touch file", "new file", 5, "file: the folder cannot be made: Not a directory" },
    { "touch file", "plan job/job.cfg --out file", 5, "file: the folder cannot be made: Not a directory" },
    { "touch file", "plan job/job.cfg --out file/below", 5, "file/below: the folder cannot be made: Not a directory" },
    { "mkdir -p o/side-b-rough.nc", "plan job/job.cfg --out o", 5,
      "o/side-b-rough.nc: is a folder; a file of that name is to be written, so move the folder away" },
    { NULL, "preview job/job.cfg --json no/such/folder.json", 5,
      "no/such/folder.json: cannot be created: No such file or directory" },
    { NULL, "preview job/job.cfg --sheet job/job.cfg", 2,
      "--sheet: job/job.cfg is read by this very command and would be lost; give --sheet a file of its own, or - for "
      "standard output" },
    { NULL, "straighten job/job.cfg --survey job/outline.svg --json job/../job/outline.svg", 2,
      "--json: job/../job/outline.svg is read by this very command and would be lost; give --json a file of its own, "
      "or "
      "- for standard output" },
    { "printf 'x,a,b\n-20 mm,0 mm,0 mm\n-5 mm,0 mm,0 mm\n30 mm,0.05 mm,0.05 mm\n70 mm,0.15 mm,0.15 mm\n110 mm,0.25 "
      "mm,0.25 mm\n' > s.csv",
      "straighten job/job.cfg --survey s.csv", 3,
      "@/s.csv:6: at x = 110 mm the blank would be 0.50 mm thicker than at the ricasso, but within 0.1 mm is usual: is "
      "the "
      "sign of one side wrong? @" },
    { NULL, "preview job/job.cfg --sheet job/outline.svg", 5,
      "job/outline.svg: is there already, and it is no setup sheet that tangwright wrote, so it stays as it is; give "
      "another name, or move it away" },
    { NULL, "preview job/job.cfg --json x.out --sheet x.out", 2,
      "--sheet: x.out is already where --json goes; give the sheet a file of its own" },
    { "mkdir o && echo 'G0 X0' > o/side-b-rough.nc", "plan job/job.cfg --out o", 5,
      "o/side-b-rough.nc: is there already, and it is no program that tangwright wrote, so it stays as it is; give "
      "another "
      "name, or move it away" },
    { NULL, "check /dev/zero", 5,
      "/dev/zero: is a device, which may never end; save what comes from it to a file and name that" },
    { NULL, "plan job/job.cfg --out o --lift '0.5 mm'", 4,
      "--lift: 0.500 mm do not keep the wheel out of the steel; from @ mm on it cuts only air" },
    { NULL, "plan job/job.cfg --out o --lift '480 mm'", 4,
      "--lift: 480.000 mm would take the machine's Z past its travel; there is room for @ mm" },
    { NO_COPY "sed -i 's/petty-160/evil\\xc2\\x9b/' j/job.cfg", "check j/job.cfg", 3,
      "j/job.cfg:7: name: holds a character that steers a terminal, or turns the direction of writing; write it anew "
      "by "
      "hand" },
    { NO_COPY "sed -i 's/^mount/\\xc2\\x9bmount/' j/job.cfg", "check j/job.cfg", 3, "j/job.cfg:@: syntax error: @" },
    { NULL, "check \"$(printf 'a\\033[31mb\\302\\233c')\"", 5,
      "a\\x1b[31mb\\u009bc: cannot be opened: No such file or directory" },
    /* no plan */
    { EDIT("s/allowance = \"0 mm\"/allowance = \"0.15 mm\"/"), "preview j/job.cfg", 3,
      "j/job.cfg:41: finish.allowance: 0.15 mm leaves nothing to grind: at the butt only 0.1 mm comes off each face" },
    { EDIT(SHORT_TRAVEL), "preview j/job.cfg", 4,
      "j/job.cfg: side A, part 1: the machine's X would go to @ mm, past its travel of @ to 60.000 mm; move the "
      "fixture (its station's work offset), lower travel.clear_height or take a machine with more travel" },
    { EDIT("s/band = \"0 mm\"/band = \"0.02 mm\"/; s/ keep_outs = (/& { name = \"end stop\"; kind = \"pin\"; circle = "
           "[\"116 mm\", \"0 mm\", "
           "\"6 mm\"]; "
           "top = \"4 mm\"; }, { name = \"toe clamp\"; kind = \"clamp\"; box = [\"-30 mm\", \"-20 mm\", \"-5 mm\", "
           "\"20 mm\"]; "
           "top = \"9 mm\"; },/"),
      "preview j/job.cfg", 4,
      "j/job.cfg: side A: @ forbids the lane at y = @ mm from x = @ to @ mm, and the wheel must get @ mm farther @ to "
      "finish the stock there; move the keep-out, lower its top, or take a smaller wheel; "
      "the thickest blank of taper.thickness_band is ground from ahead of the taper start: measure the blank and give "
      "a "
      "smaller band, or zero on its ricasso (taper.height_zero = \"ricasso\")" },
};

/* Compares with @ standing for any run of characters without a line end. */
static bool fits(const char *pattern, const char *text)
{
    if (*pattern == '\0')
        return *text == '\0';
    if (*pattern != '@')
        return *pattern == *text && fits(pattern + 1, text + 1);
    for (const char *rest = text; *rest; rest++)
        if (fits(pattern + 1, rest + 1))
            return true;
    return false;
}

/* Some editors put a byte order mark first, and end lines with carriage return and line feed. */
Test(cli, a_job_saved_by_another_editor_is_read)
{
    struct run result;

    shell("rm -rf j && cp -r job j && sed -i '1s/^/\\xef\\xbb\\xbf/; s/$/\\r/' j/job.cfg j/profiles/*/*.cfg");
    result = run("check j/job.cfg");
    cr_expect(eq(int, result.status, 0), "%s", result.err);
}

/* The reader of a pipe may never come, or never read. */
Test(cli, a_pipe_is_neither_waited_for_nor_replaced)
{
    shell("rm -f pipe && mkfifo pipe");
    cr_expect(eq(int, run("preview job/job.cfg --json pipe").status, 5));
    cr_expect(eq(int, run("check pipe").status, 5));
    shell("test -p pipe");
    cr_expect(strstr(run("preview job/job.cfg --json /dev/stdout").out, "tangwright-summary") != NULL);
}

/* What is wrong comes after what is only remarked of the job. */
static void skip_notes(char *said)
{
    const char *at = said;

    while (strncmp(at, "note: ", 6) == 0 && strchr(at, '\n'))
        at = strchr(at, '\n') + 1;
    memmove(said, at, strlen(at) + 1);
}

/* Under the sanitizers every fifth, or with TEST_SAMPLES=all (make checked-tests) every one: most are found by the reader of
 * jobs, which test_job.c runs there whole. */
Test(cli, each_wrong_input_has_its_status_and_first_line, ALSO_IN_RELEASE)
{
    size_t step = SANITIZED && !getenv("TEST_SAMPLES") ? 5 : 1;

    for (size_t i = 0; i < sizeof wrongs / sizeof *wrongs; i += step) {
        struct run result;
        char prepare[8000];

        snprintf(prepare, sizeof prepare, "rm -rf j x o a file%s%s", wrongs[i].prepare ? " && " : "",
                 wrongs[i].prepare ? wrongs[i].prepare : "");
        shell(prepare);
        result = run(wrongs[i].arguments);
        skip_notes(result.err);
        first_line(result.err);
        cr_expect(eq(int, result.status, wrongs[i].status), "tangwright %s", wrongs[i].arguments);
        cr_expect(fits(wrongs[i].complaint, result.err), "tangwright %s\n  said: %s\n  not:  %s", wrongs[i].arguments,
                  result.err, wrongs[i].complaint);
    }
}

/* What would take minutes or gigabytes is refused at the start: each within ten seconds of a slow machine's time. */
Test(cli, what_is_far_too_much_is_refused_before_any_work, .timeout = 60)
{
    struct run result;

    shell("rm -rf j && cp -r job j && for i in $(seq 3000); do echo \"unknown_key_$i = 1;\"; done >> j/job.cfg");
    result = run("check j/job.cfg");
    first_line(result.err);
    cr_expect(eq(int, result.status, 3));
    cr_expect(
        fits("j/job.cfg:@: here come more than 2000 settings; a job or a profile never has so many: is it the right "
             "file?",
             result.err),
        "%s", result.err);
    shell("{ cat job/job.cfg; printf 'extra = %0300d;' 0 | tr 0 '('; } > j/deep.cfg");
    result = run("check j/deep.cfg");
    cr_expect(fits("j/deep.cfg:@: more than 32 brackets are open here; is it the right file?\n", result.err), "%s",
              result.err);
    shell("{ cat job/job.cfg; yes '# nothing' | head -n 30000; } > j/large.cfg");
    result = run("check j/large.cfg");
    cr_expect(fits("j/large.cfg: is larger than 256 KiB; a job or a profile is never so long: is it the right file?\n",
                   result.err),
              "%s", result.err);
    /* Full circles of 100 m radius: 4.5 GB of chords, were they all driven. */
    shell("{ echo 'G21 G17 G90 G94'; echo 'G54'; echo 'S5092 M3'; echo 'G1 X0 Y0 Z40 F3000'; yes 'G2 X0 Y0 I-100000 "
          "J0' | "
          "head -n 3000; echo M2; } > arcs.nc");
    result = run("dry-run job/job.cfg arcs.nc");
    cr_expect(eq(int, result.status, 1));
    cr_expect(strstr(result.out,
                     "with its arcs cut into chords the program has more than 500000 moves up to here; split it, "
                     "or write fewer and smaller arcs") != NULL,
              "%s", result.out);
}

/* With ever less address space (setrlimit(), POSIX.1-2017) every verb either answers as it does with enough, or says that
 * memory ran out. Below some limit the program cannot even be loaded: 127, or its loader is killed. Not under
 * the address sanitizer, which itself takes terabytes of address space. */
Test(cli, with_too_little_memory_it_says_so_and_nothing_else, ONLY_IN_RELEASE)
{
    static const char *const tries[] = {
        "check job/job.cfg",
        "check j/job.cfg",
        "check j/long.cfg",
        "calibrate job/job.cfg job/job.cfg",
    };
    char limited[8192];

    shell("rm -rf j && cp -r job j && sed -i 's/outline.svg/o.geojson/' j/job.cfg");
    shell("{ printf '{\"type\":\"MultiPoint\",\"coordinates\":['; yes '[1,2],' | head -n 20000; echo '[1,2]]}'; } > "
          "j/o.geojson");
    shell("{ cat job/job.cfg; echo 'extra = ['; yes '1,' | head -n 60000; echo '1];'; } > j/long.cfg");
    for (size_t i = 0; i < sizeof tries / sizeof *tries; i++) {
        struct run enough = run(tries[i]);
        int ran_out = 0;

        for (int kib = 16384; kib <= 32768; kib += 512) {
            struct run result;
            int status;

            snprintf(limited, sizeof limited, "cd %s && ulimit -v %d && %s %s >stdout.txt 2>stderr.txt", folder, kib,
                     program(), tries[i]);
            status = system(limited);
            result.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
            slurp("stderr.txt", result.err, sizeof result.err);
            if (result.status ==
                127) /* of the loader, or of a library that it starts, which says "out of memory" alone */
                continue;
            ran_out += result.status == 6;
            if (result.status == 6)
                cr_expect(strstr(result.err, "memory ran out") != NULL, "%s", result.err);
            else
                cr_expect(result.status == enough.status && strcmp(result.err, enough.err) == 0, "%s in %d KiB: %d, %s",
                          tries[i], kib, result.status, result.err);
        }
        cr_expect(i == 0 || i == 3 || ran_out > 0, "%s never ran out", tries[i]);
    }
}

Test(cli, full_disk_is_told)
{
    struct run result;
    char command[8192];

    snprintf(command, sizeof command, "cd %s && %s --help >/dev/full 2>stderr.txt", folder, program());
    result.status = WEXITSTATUS(system(command));
    slurp("stderr.txt", result.err, sizeof result.err);
    first_line(result.err);
    cr_expect(eq(int, result.status, 5));
    cr_expect(strcmp(result.err, "standard output cannot be written: No space left on device") == 0, "%s", result.err);
}

Test(cli, help_and_version_answer_on_standard_output)
{
    cr_expect(eq(int, run("--help").status, 0));
    cr_expect(eq(int, run("--version").status, 0));
    cr_expect(strstr(run("plan --help").out, "--out") != NULL);
    cr_expect(run("--help").err[0] == '\0');
}

/* Under the sanitizers less comes off, which is planned and proved on its three blanks in a third of the time. */
Test(cli, new_check_preview_and_plan_work_in_a_row, ALSO_IN_RELEASE)
{
    shell("rm -r job");
    cr_assert(eq(int, run("new job").status, 0));
    if (SANITIZED && !getenv("TEST_SAMPLES"))
        shell("sed -i 's/butt_thickness = \"1.6 mm\"/butt_thickness = \"3.0 mm\"/; "
              "s/thickness_band = \"0.05 mm\"/thickness_band = \"0 mm\"/' job/job.cfg");
    cr_expect(eq(int, run("check job/job.cfg").status, 0));
    cr_expect(strstr(run("preview job/job.cfg").out, "with the reserve") != NULL);
    cr_expect(eq(int, run("plan job/job.cfg --out a/deep/folder").status, 0));
    shell("cd a/deep/folder && test -s side-a-rough.nc && test -s side-b-rough.nc && test -s side-a-finish.nc && "
          "test -s "
          "side-b-finish.nc && test -s summary.json");
    shell("test -s a/deep/folder/setup.html");
}

Test(cli, check_says_how_the_knife_lies)
{
    struct run result = run("check job/job.cfg --json c.json");

    cr_expect(eq(int, result.status, 0), "%s", result.err);
    cr_expect(strstr(result.out, "\nhow the knife lies\n") != NULL, "%s", result.out);
    cr_expect(strstr(result.out, "  butt           right in the drawing, at (") != NULL, "%s", result.out);
    cr_expect(strstr(result.out, "as it lies on the machine") == NULL); /* the drawing is for a terminal */
    shell("grep -q '\"tangwright-check/1\"' c.json");
    cr_expect(strncmp(run("check job/job.cfg --json -").out, "{", 1) == 0);
    cr_expect(strstr(run("check job/job.cfg --plot").out, "as it lies on the machine") != NULL);
    cr_expect(strncmp(run("check job/job.cfg --sheet -").out, "<!DOCTYPE html>\n", 16) == 0);
    cr_expect(eq(int, run("check job/job.cfg --sheet c.html").status, 0));
    shell("grep -q 'How the knife lies' c.html && grep -q 'blade 160.0 mm' c.html && ! grep -q 'setup sheet' c.html");
}

Test(cli, what_the_temperatures_depend_on_is_shown_on_request, ONLY_IN_RELEASE)
{
    struct run plain = run("preview job/job.cfg"), full = run("preview job/job.cfg --detail");

    cr_expect(eq(int, full.status, 0));
    cr_expect(strstr(plain.out, "specific energy at 0.1 um") == NULL);
    cr_expect(strstr(plain.out, "--detail shows what they depend on") != NULL);
    cr_expect(strstr(full.out, "specific energy at 0.1 um") != NULL);
    cr_expect(strstr(full.out, "flashes together") != NULL);
    cr_expect(eq(int, run("preview job/job.cfg --detail=yes").status, 2));
    cr_expect(eq(int, run("preview job/job.cfg --detail --detail").status, 2));
    cr_expect(eq(int, run("balance job/job.cfg --detail").status, 2));
}

Test(cli, setup_sheet_is_written_by_plan_preview_and_dry_run, ONLY_IN_RELEASE)
{
    cr_assert(eq(int, run("plan job/job.cfg --out a").status, 0));
    cr_expect(eq(int, run("preview job/job.cfg --sheet b.html").status, 0));
    shell("cmp a/setup.html b.html");
    shell("grep -qx '(SPINE TOWARDS +Y).*' a/side-a-rough.nc && grep -qx '(SPINE TOWARDS -Y).*' a/side-b-finish.nc");
    shell("grep -q 'Side A up.</strong> Now the spine lies towards +Y' a/setup.html");
    cr_expect(eq(int, run("dry-run job/job.cfg a/side-*.nc --cell '0.2 mm' --sheet c.html").status, 0));
    shell("grep -q 'checks passed' c.html && ! grep -q 'checks passed' b.html");
    cr_expect(strncmp(run("preview job/job.cfg --sheet -").out, "<!DOCTYPE html>\n", 16) == 0);
    shell("sed 's/M7/M9/' a/side-a-rough.nc > a/edited-side-a-rough.nc");
    cr_expect(eq(int, run("dry-run job/job.cfg a/edited-side-a-rough.nc --cell '0.2 mm' --sheet d.html").status, 1));
    shell("grep -q 'Do not cut' d.html && grep -q 'is not the one that was planned' d.html");
}

/* This test holds it as another process that plans would. */
Test(cli, what_another_process_puts_aside_is_left_alone)
{
    struct flock lock = { .l_type = F_WRLCK, .l_whence = SEEK_SET };
    char path[512];
    int held;

    cr_assert(eq(int, run("plan job/job.cfg --out o").status, 0));
    shell("sed 's/INPUTS [0-9a-f]*/INPUTS 0/' o/side-a-rough.nc > o/other.nc.tangwright-new-7 && "
          "cp o/other.nc.tangwright-new-7 o/side-a-rough.nc.tangwright-new-8 && "
          "sed 's/[0-9a-f]\\{16\\}/0/g' o/setup.html > o/setup.html.tangwright-new-8 && "
          "cp o/summary.json o/summary.json.tangwright-old-8");
    snprintf(path, sizeof path, "%s/o/other.nc.tangwright-new-7", folder);
    held = open(path, O_RDWR);
    cr_assert(ge(int, held, 0));
    cr_assert(eq(int, fcntl(held, F_SETLK, &lock), 0));
    cr_expect(strstr(run("plan job/job.cfg --out o").err, "tangwright-") == NULL);
    shell("test -e o/other.nc.tangwright-new-7 && ! ls o | grep tangwright-.*-8");
    close(held);
}

Test(cli, help_is_given_however_it_is_asked_for)
{
    char general[16384], verb[16384];

    snprintf(general, sizeof general, "%s", run("--help").out);
    snprintf(verb, sizeof verb, "%s", run("plan --help").out);
    cr_expect(strstr(general, "tangwright help VERB") != NULL && strstr(verb, "--lift") != NULL);
    cr_expect(eq(str, run("-h").out, general));
    cr_expect(eq(str, run("help").out, general));
    cr_expect(eq(str, run("help plan").out, verb));
    cr_expect(eq(str, run("plan -h").out, verb));
    cr_expect(eq(int, run("help grind").status, 2));
    cr_expect(strncmp(run("help grind").err, "unknown verb grind; see tangwright --help", 41) == 0);
}

Test(cli, preview_writes_json_alone_to_standard_output_when_asked)
{
    struct run result = run("preview job/job.cfg --json -");

    cr_expect(eq(int, result.status, 0));
    cr_expect(strncmp(result.out, "{", 1) == 0);
    cr_expect(strstr(result.out, "\"tangwright-summary/1\"") != NULL);
    shell("! ls *.nc 2>/dev/null");
}

Test(cli, balance_tells_where_the_knife_balances_and_what_butt_would_do)
{
    struct run result;

    shell("rm -rf j && " WEIGHED);
    result = run("balance j/job.cfg --json b.json");
    cr_expect(eq(int, result.status, 0), "%s", result.err);
    cr_expect(strstr(result.out, "blank as weighed") != NULL &&
              strstr(result.out, "38.0 mm ahead of the taper start") != NULL);
    shell("grep -q tangwright-balance/1 b.json");
    cr_expect(strstr(run("preview j/job.cfg").out, "\nweight and balance\n") != NULL);
    cr_expect(strstr(run("preview j/job.cfg --json p.json").out, "finished knife") == NULL); /* no handle was told of */
    shell("grep -q '\"balance\": {' p.json");
    shell("sed -i 's/^blank: {/relief: { depth = \"0.2 mm\"; };\\n&/' j/job.cfg");
    result = run("preview j/job.cfg");
    cr_expect(eq(int, result.status, 4)); /* so large a cup has no room inside the land */
    cr_expect(strstr(result.err, "fits nowhere inside the land and bosses") != NULL, "%s", result.err);
    cr_expect(strstr(run("preview job/job.cfg").out, "\nweight and balance\n") == NULL); /* only where it was weighed */
    result = run("balance job/job.cfg");
    cr_expect(eq(int, result.status, 0), "%s", result.err);
    cr_expect(strstr(result.out, "the blank was not weighed") != NULL);
}

Test(cli, same_job_gives_the_same_bytes, ONLY_IN_RELEASE)
{
    cr_assert(eq(int, run("plan job/job.cfg --out one").status, 0));
    cr_assert(eq(int, run("plan job/job.cfg --out two").status, 0));
    shell("diff -r one two");
}

Test(cli, failed_plan_leaves_no_program_and_spares_an_older_one, ONLY_IN_RELEASE)
{
    shell(EDIT(SHORT_TRAVEL));
    cr_expect(eq(int, run("plan j/job.cfg --out fresh").status, 4));
    shell("! ls fresh/*.nc 2>/dev/null");
    cr_assert(eq(int, run("plan job/job.cfg --out old").status, 0));
    shell("cp old/side-a-rough.nc kept.nc");
    cr_expect(eq(int, run("plan j/job.cfg --out old").status, 4));
    shell("cmp old/side-a-rough.nc kept.nc");
}

Test(cli, nothing_half_written_stays_when_one_target_is_in_the_way, ONLY_IN_RELEASE)
{
    shell("mkdir -p o/side-b-finish.nc");
    cr_expect(eq(int, run("plan job/job.cfg --out o").status, 5));
    shell("test \"$(ls o)\" = side-b-finish.nc");
}

/* The name of a program forgotten after --json must not cost the program. */
Test(cli, json_is_not_written_over_a_program, ONLY_IN_RELEASE)
{
    struct run result;

    cr_assert(eq(int, run("plan job/job.cfg --out o").status, 0));
    shell("cp o/side-a-rough.nc kept.nc");
    result = run("dry-run job/job.cfg --json o/side-a-rough.nc o/side-b-rough.nc");
    first_line(result.err);
    cr_expect(eq(int, result.status, 5));
    cr_expect(strcmp(result.err,
                     "o/side-a-rough.nc: is a program, and no answer of a dry-run is written over it; give the "
                     "answer of a dry-run another name") == 0,
              "%s", result.err);
    shell("cmp o/side-a-rough.nc kept.nc");
}

Test(cli, programs_of_an_older_plan_go_when_a_new_one_comes, ONLY_IN_RELEASE)
{
    struct run result;

    shell(NO_COPY "sed -i 's/^# order = /order = /' j/job.cfg");
    result = run("plan job/job.cfg --out o");
    cr_assert(eq(int, result.status, 0), "%s", result.err);
    shell("test -s o/side-b-finish.nc && test -s o/air-side-a-rough.nc && cp o/side-a-rough.nc o/mine.nc && echo "
          "'G0 X0' "
          "> o/side-b-relief.nc");
    result = run("plan j/job.cfg --out o");
    cr_expect(eq(int, result.status, 0), "%s", result.err);
    cr_expect(strstr(result.err, "note: o/side-a-rough.nc: is a program of an older plan, and is removed\n") != NULL,
              "%s", result.err);
    cr_expect(strstr(result.err, "note: o/mine.nc: is a program of other inputs than this plan's; move it away") !=
                  NULL,
              "%s", result.err);
    cr_expect(strstr(result.err,
                     "note: o/side-b-relief.nc: has the name of a plan's program, but this plan has none of "
                     "that name") != NULL,
              "%s", result.err);
    shell("rm o/mine.nc o/side-b-relief.nc && ls o > list.txt && printf '%s\n' air-side-a.nc air-side-b.nc "
          "programs.sha256 setup.html side-a.nc side-b.nc summary.json | cmp - list.txt");
}

/* POSIX ulimit -f counts blocks of 512 bytes: 8 KiB are less than any program. */
Test(cli, a_file_that_may_not_grow_is_told_and_leaves_the_older_plan, ONLY_IN_RELEASE)
{
    struct run result = run("plan job/job.cfg --out o");
    char command[4200];

    cr_assert(eq(int, result.status, 0), "%s", result.err);
    snprintf(command, sizeof command, "(ulimit -f 16; %s plan job/job.cfg --out o > said.txt 2>&1; test $? = 5)",
             program());
    shell(command);
    shell("grep -q 'cannot be written: File too large' said.txt && cd o && sha256sum -c --quiet programs.sha256 && "
          "! ls | grep tangwright-new");
}

Test(cli, a_list_of_programs_that_is_none_any_more_is_told_of, ONLY_IN_RELEASE)
{
    struct run result = run("plan job/job.cfg --out o");

    cr_assert(eq(int, result.status, 0), "%s", result.err);
    result = run("dry-run job/job.cfg o/side-?*.nc --cell '0.5 mm'");
    cr_expect(strstr(result.err, "is no list of programs") == NULL, "%s", result.err);
    shell("echo spoilt > o/programs.sha256");
    result = run("dry-run job/job.cfg o/side-?*.nc --cell '0.5 mm'");
    cr_expect(strstr(result.err, "note: o/programs.sha256: is no list of programs as plan writes it") != NULL, "%s",
              result.err);
}

/* What presses has to stand somewhere, and the wheel is kept off what is listed alone. */
Test(cli, a_clamp_that_presses_and_is_not_listed_is_asked_for)
{
    struct run result;

    shell("mkdir -p samples && cp -r \"$OLDPWD\"/samples/petty-130 samples && ln -s \"$OLDPWD\"/profiles profiles && "
          "sed -i 's/^fixture: {/fixture: { clamp_force = \"900 N\";/' samples/petty-130/job.cfg");
    result = run("check samples/petty-130/job.cfg");
    cr_expect(eq(int, result.status, 0), "%s", result.err);
    cr_expect(strstr(result.err, "fixture.clamp_force: 900 N press on the blank, and no clamp stands in keep_outs: ") !=
                  NULL,
              "%s", result.err);
    result = run("check \"$OLDPWD\"/samples/santoku-170/job.cfg");
    cr_expect(strstr(result.err, "clamp_force") == NULL, "%s", result.err);
}

/* Of 2.5 mm at the ricasso and butt_thickness = 2 mm one face takes 0.25 mm, so the butt comes out 2.25 mm thick. Nobody turns it over. */
Test(cli, a_job_of_one_face_is_told_of_that_face_alone)
{
    struct run result;

    shell("cp -r \"$OLDPWD\"/tests/shop/one-face-in-turns one && echo 'blank: { mass = \"120 g\"; balance_point = \"10 "
          "mm\"; };' "
          ">> one/job.cfg");
    result = run("check one/job.cfg");
    cr_expect(eq(int, result.status, 0), "%s", result.err);
    cr_expect(strstr(result.err, "with side A up nothing locates the blank") != NULL, "%s", result.err);
    cr_expect(strstr(result.err, "side B") == NULL && strstr(result.out, "B up") == NULL, "%s%s", result.out,
              result.err);
    result = run("balance one/job.cfg --at '12.3 mm ahead'");
    cr_expect(eq(int, result.status, 0), "%s", result.err);
    cr_expect(strstr(result.out,
                     ": weight and balance, butt 2.250 mm (0.0886 in)\n  one face is ground: butt_thickness, 2.000 mm "
                     "(0.0787 in), counts both\n") != NULL,
              "%s", result.out);
    cr_expect(strstr(result.out, "taper off side B") == NULL && strstr(result.out, ", butt_thickness = \"1.") != NULL,
              "%s", result.out);
}

/* What the note says is enough: the starter out of a clone, which has no profiles of its own. */
Test(cli, a_job_copied_without_its_profiles_says_where_they_are)
{
    struct run result;

    shell("cp -r job st && rm -r st/profiles");
    result = run("check st/job.cfg");
    cr_expect(eq(int, result.status, 5));
    cr_expect(strstr(strstr(result.err, "a job needs its profiles") + 1, "a job needs its profiles") == NULL,
              "once: %s", result.err);
    cr_assert(eq(int, run("new fresh").status, 0));
    shell("cp -r fresh/profiles st/profiles");
    result = run("check st/job.cfg");
    cr_expect(eq(int, result.status, 0), "%s", result.err);
}

/* What the control looks for stands in the machine's profile. A program of an older plan stays under no other ending: one that the
 * control still lists would be run. */
Test(cli, programs_have_the_ending_that_the_machine_wants, ONLY_IN_RELEASE)
{
    struct run result;

    cr_assert(eq(int, run("plan job/job.cfg --out o").status, 0));
    shell("cp o/side-a-rough.nc copy.nc && printf 'G0 X0\\nM2\\n' > o/side-b-relief.tap && printf 'P\\0NG' > "
          "o/side-a.png && "
          "touch o/side-a.tar.gz o/side-a");
    shell(EDIT("s/^machine: {/& program: { file_ending = \"TAP\"; };/"));
    result = run("plan j/job.cfg --out o");
    cr_expect(eq(int, result.status, 0), "%s", result.err);
    cr_expect(strstr(result.out, "\nside A, roughing (side-a-rough.TAP)\n") != NULL, "%s", result.out);
    cr_expect(strstr(result.out,
                     "\nwritten to o: side-a-rough.TAP, side-b-rough.TAP, side-a-finish.TAP, side-b-finish.TAP, ") !=
              NULL);
    cr_expect(strstr(result.err, "note: o/air-side-b-finish.nc: is a program of an older plan, and is removed\n") !=
                  NULL,
              "%s", result.err);
    cr_expect(strstr(result.err, "note: o/side-b-relief.tap: has the name of a plan's program, but") != NULL, "%s",
              result.err);
    cr_expect(strstr(result.err, "side-a.png") == NULL && strstr(result.err, "side-a.tar") == NULL &&
                  strstr(result.err, "o/side-a:") == NULL,
              "%s", result.err);
    shell("rm o/side-b-relief.tap o/side-a.png o/side-a.tar.gz o/side-a && ls o > list.txt && printf '%s\n' "
          "air-side-a-finish.TAP air-side-a-rough.TAP air-side-b-finish.TAP air-side-b-rough.TAP programs.sha256 "
          "setup.html "
          "side-a-finish.TAP side-a-rough.TAP side-b-finish.TAP side-b-rough.TAP summary.json | LC_ALL=C sort > "
          "wanted.txt && LC_ALL=C sort list.txt | cmp - wanted.txt");
    shell("cd o && sha256sum -c --quiet programs.sha256 && grep -q '\"program\": \"side-b-finish.TAP\"' summary.json "
          "&& grep -q "
          "'side-a-rough.TAP' setup.html && ! grep -q '[.]nc\\b' setup.html summary.json side-a-rough.TAP");
    shell(
        "tail -n +5 copy.nc > wanted.txt && tail -n +5 o/side-a-rough.TAP | cmp - wanted.txt"); /* below the head the same */
    shell("cp o/side-b-finish.TAP other-name.anything");
    result = run("dry-run j/job.cfg o/side-*-rough.TAP o/side-a-finish.TAP other-name.anything --cell '0.2 mm'");
    cr_expect(eq(int, result.status, 0), "%s%s", result.out, result.err);
}

/* Each answer is known again by its beginning, so that it can be written anew, and over no other kind. */
Test(cli, an_answer_is_written_over_one_of_its_own_kind_only, ONLY_IN_RELEASE)
{
    static const char *const verbs[] = { "check job/job.cfg", "preview job/job.cfg", "balance job/job.cfg",
                                         "straighten --survey s.csv job/job.cfg",
                                         "dry-run --cell '0.5 mm' job/job.cfg x.nc" };
    char arguments[256];

    shell("printf 'x,a,b\n-20 mm,0 mm,0 mm\n-5 mm,0 mm,0 mm\n30 mm,0 mm,0 mm\n70 mm,0 mm,0 mm\n110 mm,0 mm,0 mm\n' > "
          "s.csv && echo M2 > "
          "x.nc");
    for (size_t i = 0; i < sizeof verbs / sizeof *verbs; i++)
        for (size_t k = 0; k <= sizeof verbs / sizeof *verbs; k++) {
            size_t over = k == 0 ? i : k - 1;
            struct run result;

            snprintf(arguments, sizeof arguments, "%s --json %zu.json", verbs[i], over);
            if (k > 0 && over > i)
                continue; /* not written yet */
            result = run(arguments);
            if (over == i)
                cr_expect(ne(int, result.status, 5), "tangwright %s: %s", arguments, result.err);
            else
                cr_expect(eq(int, result.status, 5), "tangwright %s: %s", arguments, result.err);
        }
}

/* A file name with a line end must not add a line of its own to the answer. */
Test(cli, a_file_name_cannot_write_lines_of_the_answer)
{
    struct run result;

    shell("echo M2 > \"$(printf 'x\\nall 19 checks passed.nc')\"");
    result = run("dry-run job/job.cfg \"$(printf 'x\\nall 19 checks passed.nc')\"");
    cr_expect(eq(int, result.status, 1));
    cr_expect(strstr(result.out, "\nx\\x0aall 19 checks passed.nc, side A, roughing\n") != NULL, "%s", result.out);
}

/* A controller that takes no comments gets programs without a head; the list knows them. */
Test(cli, programs_without_comments_are_known_by_the_list_and_replaced, ONLY_IN_RELEASE)
{
    struct run result;

    shell(EDIT("s/^machine: {/& program: { comments = false; };/"));
    result = run("plan j/job.cfg --out o");
    cr_assert(eq(int, result.status, 0), "%s", result.err);
    shell("! grep -q TANGWRIGHT o/side-a-rough.nc && cd o && sha256sum -c --quiet programs.sha256");
    cr_expect(eq(int, run("plan j/job.cfg --out o").status, 0));
    shell("echo M0 >> o/side-a-rough.nc");
    cr_expect(eq(int, run("plan j/job.cfg --out o").status, 5));
}

Test(cli, a_dry_run_says_when_the_programs_are_no_whole_set)
{
    struct run result;

    cr_assert(eq(int, run("plan job/job.cfg --out o").status, 0));
    result = run("dry-run job/job.cfg o/*.nc --cell '0.2 mm'");
    cr_expect(eq(int, result.status, 0), "%s", result.out);
    cr_expect(result.err[0] == '\0', "%s", result.err);
    shell("sed -i 's/M7/M7 /' o/side-b-rough.nc");
    result = run("dry-run job/job.cfg o/side-a-rough.nc --cell '0.2 mm'");
    cr_expect(strstr(result.err, "note: o/side-b-rough.nc: is not what plan wrote with the other programs here") !=
                  NULL,
              "%s", result.err);
    cr_expect(eq(int, run("dry-run job/job.cfg o/side-*.nc --cell '0.2 mm' --sheet s.html").status, 0));
    shell("grep -q '<strong>side-b-rough.nc is not what plan wrote with the other programs there:</strong>' s.html && "
          "! grep -q 'side-a-rough.nc is not what' s.html");
    shell("printf 'tangwright is writing the files' > o/UNFINISHED.txt");
    result = run("dry-run job/job.cfg o/side-*.nc --cell '0.2 mm'");
    cr_expect(eq(int, result.status, 1));
    cr_expect(strstr(result.err,
                     "o/UNFINISHED.txt: plan was cut off while it wrote this folder, so its programs are no "
                     "complete set; run plan again") != NULL,
              "%s", result.err);
    cr_expect(eq(int, run("plan job/job.cfg --out o").status, 0));
    shell("test ! -e o/UNFINISHED.txt");
}

Test(cli, all_faults_are_shown_at_once_in_the_order_of_their_lines)
{
    struct run result;
    int faults = 0;

    shell("cp -r job j && sed -i 's/ricasso_thickness = \"3.2 mm\"/ricasso_thickness = 3.2/; s/mount = "
          "\"tilted\"/mount = "
          "\"slanted\"/; s/layers = 2;/layers = 2; sparkle = 2;/; s/margin = \"25 K\"/margin = \"25 mm\"/' "
          "j/job.cfg");
    result = run("check j/job.cfg");
    cr_expect(eq(int, result.status, 3));
    for (const char *c = result.err; *c; c++)
        faults += *c == '\n';
    cr_expect(eq(int, faults, 4), "%s", result.err);
}

/* The job is read once as it stands and once for each variant, and remarks on its taper each time. */
Test(cli, a_note_is_said_once)
{
    struct run result = run("compare \"$OLDPWD\"/samples/chef-210/job.cfg finish.layers=-1");
    const char *note = strstr(result.err, ": taper.length: ");

    cr_expect(eq(int, result.status, 3));
    cr_assert(note != NULL, "%s", result.err);
    cr_expect(strstr(note + 1, ": taper.length: ") == NULL, "%s", result.err);
}

/* The worked example of the README is the beginning of what the program prints, as far as the first empty line. */
Test(cli, readme_shows_what_preview_prints, ONLY_IN_RELEASE)
{
    static const char command_line[] = "$ tangwright preview samples/santoku-170/job.cfg\n";
    static char readme[65536], shown[16384], whole[8192];
    char *block, *end;
    FILE *stream = fopen("README.md", "rb");
    size_t got;

    cr_assert(stream != NULL);
    got = fread(readme, 1, sizeof readme - 1, stream);
    fclose(stream);
    readme[got] = '\0';
    block = strstr(readme, command_line);
    cr_assert(block != NULL);
    block += strlen(command_line);
    end = strstr(block, "...\n```");
    cr_assert(end != NULL);
    *end = '\0';
    snprintf(whole, sizeof whole, "%s preview samples/santoku-170/job.cfg >%s/stdout.txt 2>%s/stderr.txt", program(),
             folder, folder);
    cr_assert(eq(int, system(whole), 0));
    slurp("stdout.txt", shown, sizeof shown);
    end = strstr(shown, "\n\n");
    cr_assert(end != NULL);
    end[1] = '\0';
    cr_expect(strcmp(block, shown) == 0, "the README shows\n%s\nbut the program prints\n%s", block, shown);
}
