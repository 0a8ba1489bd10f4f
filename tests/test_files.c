/* test_files.c - guards what stands in a folder when writing is cut off or fails: at no point may a new program lie beside
 * an older one, and what is no whole set must say so. The calls that change the disk are counted; the n-th kills the process,
 * or fails, for every n. Also what files are read and written at all. */
#include "base/file.h"
#include "base/own.h"
#include "base/plain.h"
#include "base/replace.h"
#include "base/staged.h"

#include "check/check.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* ---- the seam: --wrap of every call that changes the disk ---- */

enum { HARMLESS, KILL, FAIL };
#define KILLED 77

static int mode, calls, fatal_call;

static bool fails(void)
{
    if (mode == HARMLESS || ++calls != fatal_call)
        return false;
    if (mode == KILL)
        _exit(KILLED); /* as abrupt as SIGKILL: nothing is flushed or cleaned */
    errno = EIO;
    return true;
}

int __real_open(const char *path, int flags, ...);
ssize_t __real_write(int descriptor, const void *data, size_t length);
int __real_fsync(int descriptor);
int __real_rename(const char *from, const char *to);
int __real_unlink(const char *path);
int __real_unlinkat(int folder, const char *path, int flags);

int __wrap_open(const char *path, int flags, ...);
ssize_t __wrap_write(int descriptor, const void *data, size_t length);
int __wrap_fsync(int descriptor);
int __wrap_rename(const char *from, const char *to);
int __wrap_unlink(const char *path);
int __wrap_unlinkat(int folder, const char *path, int flags);

int __wrap_open(const char *path, int flags, ...)
{
    va_list arguments;
    mode_t permissions;

    va_start(arguments, flags);
    permissions = flags & O_CREAT ? va_arg(arguments, mode_t) : 0;
    va_end(arguments);
    return fails() ? -1 : __real_open(path, flags, permissions);
}

/* Half is written, so that a killed run leaves half of a file. */
ssize_t __wrap_write(int descriptor, const void *data, size_t length)
{
    ssize_t half = __real_write(descriptor, data, (length + 1) / 2);

    return fails() ? -1 : half;
}

int __wrap_fsync(int descriptor)
{
    return fails() ? -1 : __real_fsync(descriptor);
}

int __wrap_rename(const char *from, const char *to)
{
    return fails() ? -1 : __real_rename(from, to);
}

int __wrap_unlink(const char *path)
{
    return fails() ? -1 : __real_unlink(path);
}

int __wrap_unlinkat(int folder, const char *path, int flags)
{
    return fails() ? -1 : __real_unlinkat(folder, path, flags);
}

/* ---- a folder with an older set ---- */

#define OLD  "(TANGWRIGHT 0 - JOB old - SIDE A)\nM2\n"
#define NEW  "(TANGWRIGHT 0 - JOB new - SIDE A)\nM2\n"
#define MARK "tangwright is writing\n"

static char folder[64];
static const char *const names[] = { "side-a.nc", "side-b.nc", "fresh.nc" };
static const char outdated_name[] = "side-a-rough.nc", mark_name[] = "UNFINISHED.txt";

static char *path_of(const char *name)
{
    static char paths[8][400];
    static int next;
    char *path = paths[next++ % 8];

    snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

static void put(const char *name, const char *text)
{
    FILE *stream = fopen(path_of(name), "wb");

    cr_assert(stream != NULL);
    fputs(text, stream);
    fclose(stream);
}

/* 'o' or 'n' for the older or the new text, '-' for no file, '?' for anything else. */
static char holds(const char *name)
{
    char text[256];
    FILE *stream = fopen(path_of(name), "rb");
    size_t got;

    if (!stream)
        return '-';
    got = fread(text, 1, sizeof text - 1, stream);
    text[got] = '\0';
    fclose(stream);
    return strcmp(text, OLD) == 0 ? 'o' : strcmp(text, NEW) == 0 ? 'n' : '?';
}

static int entry_count(void)
{
    DIR *entries = opendir(folder);
    int count = 0;

    while (readdir(entries))
        count++;
    closedir(entries);
    return count - 2; /* . and .. */
}

static void empty_folder(void)
{
    DIR *entries = opendir(folder);
    const struct dirent *entry;

    while ((entry = readdir(entries)))
        if (entry->d_name[0] != '.')
            unlink(path_of(entry->d_name));
    closedir(entries);
}

static void lay_older_set(void)
{
    empty_folder();
    put(names[0], OLD);
    put(names[1], OLD);
    put(outdated_name, OLD);
}

static enum tw_status write_new_set(struct tw_findings *findings)
{
    char paths[3][400], gone[400], mark[400], *outdated[] = { gone };
    struct tw_new_file files[3];
    struct tw_file_set set = {
        .files = files, .count = 3, .outdated = outdated, .outdated_count = 1, .mark = mark, .mark_text = MARK
    };

    for (int i = 0; i < 3; i++) {
        snprintf(paths[i], sizeof paths[i], "%s", path_of(names[i]));
        files[i] = (struct tw_new_file){ .path = paths[i], .data = NEW, .length = strlen(NEW) };
    }
    snprintf(gone, sizeof gone, "%s", path_of(outdated_name));
    snprintf(mark, sizeof mark, "%s", path_of(mark_name));
    return tw_file_set_replace(&set, findings);
}

/* What stands under the real names, the outdated program last: "oo-o" is the older set, "nnn-" the new one. */
static void read_folder(char state[5])
{
    for (int i = 0; i < 3; i++)
        state[i] = holds(names[i]);
    state[3] = holds(outdated_name);
    state[4] = '\0';
}

static void expect_sound(const char *when, int n)
{
    char state[5];
    bool marked = access(path_of(mark_name), F_OK) == 0, mixed;

    read_folder(state);
    mixed = strchr(state, '?') || (strchr(state, 'o') && strchr(state, 'n'));
    cr_expect(mixed == false, "%s %d: %s", when, n, state);
    cr_expect(marked || strcmp(state, "oo-o") == 0 || strcmp(state, "nnn-") == 0, "%s %d: %s without mark", when, n,
              state);
}

/* The next run finds its way whatever was left, and leaves nothing of it. */
static void expect_mended(const char *when, int n)
{
    struct tw_findings findings = { 0 };
    char state[5];

    mode = HARMLESS;
    cr_expect(eq(int, write_new_set(&findings), TW_OK), "%s %d", when, n);
    tw_findings_print(&findings, stderr);
    read_folder(state);
    cr_expect(strcmp(state, "nnn-") == 0, "%s %d: then %s", when, n, state);
    cr_expect(eq(int, entry_count(), 3), "%s %d: %d files stay", when, n, entry_count());
    tw_findings_free(&findings);
}

static void make_folder(void)
{
    strcpy(folder, "/tmp/tangwright-files-XXXXXX");
    cr_assert(mkdtemp(folder) != NULL);
    mode = HARMLESS;
    calls = 0;
}

static void remove_folder(void)
{
    mode = HARMLESS;
    empty_folder();
    rmdir(folder);
}

TestSuite(files, .init = make_folder, .fini = remove_folder, .timeout = 60);

/* Runs the writing in a process of its own, which the n-th call ends. False once n is beyond the last call. */
static bool killed_at(int n)
{
    pid_t child = fork();
    int status;

    if (child == 0) {
        struct tw_findings findings = { 0 };

        mode = KILL;
        calls = 0;
        fatal_call = n;
        write_new_set(&findings);
        _exit(0);
    }
    waitpid(child, &status, 0);
    cr_assert(ne(int, WIFEXITED(status), 0));
    return WEXITSTATUS(status) == KILLED;
}

Test(files, a_set_whose_writing_is_killed_anywhere_is_the_old_one_the_new_one_or_marked)
{
    int n = 1;

    for (lay_older_set(); killed_at(n); lay_older_set(), n++) {
        expect_sound("killed at call", n);
        expect_mended("killed at call", n);
    }
    cr_expect(gt(int, n, 20), "only %d calls were counted", n);
}

Test(files, a_set_of_which_any_call_fails_is_the_old_one_the_new_one_or_marked)
{
    bool failed = true;
    int n = 1;

    for (; failed; n++) {
        struct tw_findings findings = { 0 };
        enum tw_status status;

        lay_older_set();
        mode = FAIL;
        calls = 0;
        fatal_call = n;
        status = write_new_set(&findings);
        mode = HARMLESS;
        failed = calls >= n;
        expect_sound("failed at call", n);
        cr_expect(status == TW_OK || findings.count > 0, "call %d failed without a word", n);
        if (failed && holds(names[0]) != 'n')
            cr_expect(eq(int, status, TW_IO), "call %d failed and the set is not there", n);
        tw_findings_free(&findings);
        expect_mended("failed at call", n);
    }
    cr_expect(gt(int, n, 20), "only %d calls were counted", n);
}

/* A second failure after a killed run must not take away the word that the folder is no set. */
Test(files, a_mark_that_a_killed_run_left_stays_until_a_set_is_whole)
{
    struct tw_findings findings = { 0 };

    empty_folder();
    put(names[0], NEW);
    put(mark_name, MARK);
    mkdir(path_of(names[1]), 0700);
    cr_expect(eq(int, write_new_set(&findings), TW_IO));
    cr_expect(access(path_of(mark_name), F_OK) == 0);
    rmdir(path_of(names[1]));
    tw_findings_free(&findings);
    expect_mended("after a second failure", 0);
}

/* ---- files that wait for a note ---- */

static const struct tw_staged_mark staged_mark = { "UNFINISHED.txt", MARK };
static const char note_name[] = "noted";

/* As a record would: there as a whole, or not at all. It is no call that the test counts. */
static void note_list(const struct tw_staged *staged)
{
    char text[4096];
    size_t length = 0;
    int descriptor;

    for (size_t i = 0; i < staged->count; i++)
        length += (size_t)snprintf(text + length, sizeof text - length, "%s %s\n", staged->files[i].target,
                                   staged->files[i].staged ? staged->files[i].staged : "-");
    descriptor = __real_open(path_of(note_name), O_WRONLY | O_CREAT, 0600);
    if (descriptor < 0 || __real_write(descriptor, text, length) != (ssize_t)length)
        _exit(1);
    close(descriptor);
}

static enum tw_status stage_new_set(struct tw_staged *staged, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < 3; i++) {
        struct tw_new_file file = { .path = path_of(names[i]), .data = NEW, .length = strlen(NEW) };

        status = tw_staged_add(staged, &file, findings);
    }
    return status == TW_OK ? tw_staged_remove(staged, path_of(outdated_name), findings) : status;
}

static enum tw_status write_noted_set(struct tw_findings *findings)
{
    struct tw_staged staged;
    enum tw_status status = tw_staged_open(folder, &staged, findings);

    if (status != TW_OK)
        return status;
    status = stage_new_set(&staged, findings);
    if (status == TW_OK) {
        note_list(&staged);
        status = tw_staged_place(&staged, &staged_mark, findings);
    }
    tw_staged_close(&staged);
    return status;
}

static bool killed_noted_at(int n)
{
    pid_t child = fork();
    int status;

    if (child == 0) {
        mode = KILL;
        calls = 0;
        fatal_call = n;
        write_noted_set(NULL);
        _exit(0);
    }
    waitpid(child, &status, 0);
    cr_assert(ne(int, WIFEXITED(status), 0));
    return WEXITSTATUS(status) == KILLED;
}

/* What the next run does that finds a list. */
static void finish_noted(void)
{
    struct tw_staged_file files[4];
    char targets[4][400], asides[4][400];
    FILE *stream = fopen(path_of(note_name), "r");
    size_t count = 0;

    while (count < 4 && fscanf(stream, "%399s %399s", targets[count], asides[count]) == 2) {
        files[count] = (struct tw_staged_file){ targets[count], strcmp(asides[count], "-") ? asides[count] : NULL };
        count++;
    }
    fclose(stream);
    cr_assert(eq(sz, count, 4));
    cr_expect(eq(int, tw_staged_finish(files, count, &staged_mark, NULL), TW_OK));
    unlink(path_of(note_name));
}

static void expect_old_or_new(const char *when, int n)
{
    bool noted = access(path_of(note_name), F_OK) == 0;
    char state[5];

    mode = HARMLESS;
    if (noted)
        finish_noted();
    read_folder(state);
    cr_expect(strcmp(state, noted ? "nnn-" : "oo-o") == 0, "%s %d: %s, %s", when, n, state,
              noted ? "noted" : "not noted");
    cr_expect(access(path_of(mark_name), F_OK) != 0, "%s %d: marked", when, n);
    cr_expect(eq(int, write_noted_set(NULL), TW_OK), "%s %d", when, n);
    finish_noted();
    cr_expect(eq(int, entry_count(), 3), "%s %d: %d files stay", when, n, entry_count());
}

Test(files, files_whose_list_is_noted_all_take_their_places_and_others_none_wherever_it_is_killed)
{
    int n = 1;

    for (lay_older_set(); killed_noted_at(n); lay_older_set(), n++)
        expect_old_or_new("killed at call", n);
    cr_expect(gt(int, n, 20), "only %d calls were counted", n);
}

Test(files, files_whose_list_is_noted_all_take_their_places_and_others_none_whatever_fails)
{
    bool failed = true;
    int n = 1;

    for (; failed; n++) {
        lay_older_set();
        mode = FAIL;
        calls = 0;
        fatal_call = n;
        write_noted_set(NULL);
        mode = HARMLESS;
        failed = calls >= n;
        expect_old_or_new("failed at call", n);
    }
    cr_expect(gt(int, n, 20), "only %d calls were counted", n);
}

Test(files, a_folder_is_held_by_one_run_at_a_time)
{
    struct tw_findings findings = { 0 };
    struct tw_staged mine;
    pid_t child;
    int status;

    cr_assert(eq(int, tw_staged_open(folder, &mine, NULL), TW_OK));
    child = fork();
    if (child == 0) {
        struct tw_staged other;

        status = tw_staged_open(folder, &other, &findings) == TW_IO && findings.count == 1 &&
                 strstr(findings.items[0].text, "another run of tangwright is writing here");
        _exit(status ? 0 : 1);
    }
    waitpid(child, &status, 0);
    cr_expect(eq(int, status, 0));
    tw_staged_close(&mine);
    cr_assert(eq(int, tw_staged_open(folder, &mine, NULL), TW_OK));
    tw_staged_close(&mine);
}

static bool is_folder(const char *name)
{
    struct stat status;

    return lstat(path_of(name), &status) == 0 && S_ISDIR(status.st_mode);
}

static void stage_below(struct tw_staged *staged, const char *below, const char *name)
{
    struct tw_new_file file = { .data = NEW, .length = strlen(NEW) };
    char path[256];

    cr_assert(eq(int, tw_staged_open(folder, staged, NULL), TW_OK));
    cr_assert(eq(int, tw_staged_make_folder(staged, path_of(below), NULL), TW_OK));
    snprintf(path, sizeof path, "%s", path_of(name));
    file.path = path;
    cr_assert(eq(int, tw_staged_add(staged, &file, NULL), TW_OK));
}

/* Whoever plans while another changes the record is refused: nothing of it stays, and nothing goes that was there before or that
 * somebody else has put there since. */
Test(files, folders_that_nothing_came_into_go_again)
{
    struct tw_staged staged;

    cr_assert(eq(int, mkdir(path_of("there"), 0777), 0));
    stage_below(&staged, "there/load-01/station-2", "there/load-01/station-2/side-a.nc");
    cr_expect(is_folder("there/load-01/station-2"));
    tw_staged_close(&staged);
    cr_expect(is_folder("there"));
    cr_expect(not(is_folder("there/load-01")));

    stage_below(&staged, "there/load-01/station-2", "there/load-01/station-2/side-a.nc");
    put("there/load-01/mine.txt", "measured again\n");
    tw_staged_close(&staged);
    cr_expect(is_folder("there/load-01"));
    cr_expect(not(is_folder("there/load-01/station-2")));
    unlink(path_of("there/load-01/mine.txt"));

    stage_below(&staged, "there/load-01/station-2", "there/load-01/station-2/side-a.nc");
    cr_assert(eq(int, tw_staged_place(&staged, &staged_mark, NULL), TW_OK));
    tw_staged_close(&staged);
    cr_expect(eq(chr, holds("there/load-01/station-2/side-a.nc"), 'n'));
    unlink(path_of("there/load-01/station-2/side-a.nc"));
    rmdir(path_of("there/load-01/station-2"));
    rmdir(path_of("there/load-01"));
    rmdir(path_of("there"));
}

/* ---- what is replaced at all ---- */

static enum tw_status write_one(const char *name, const char *text, char *said, size_t room)
{
    struct tw_new_file file = { .path = path_of(name), .data = text, .length = strlen(text) };
    struct tw_findings findings = { 0 };
    enum tw_status status = tw_files_replace(&file, 1, &findings);

    snprintf(said, room, "%s", findings.count ? findings.items[0].text : "");
    tw_findings_free(&findings);
    return status;
}

#define SHEET "<!DOCTYPE html>\n<html>\n<head>\n<meta name=\"generator\" content=\"tangwright\"/>\n"

Test(files, a_file_is_only_replaced_by_one_of_its_own_kind)
{
    char said[512];

    put("mine.nc", "G0 X0\nM2\n");
    cr_expect(eq(int, write_one("mine.nc", NEW, said, sizeof said), TW_IO));
    cr_expect(strstr(said, "is no program that tangwright wrote") != NULL, "%s", said);
    put("page.html", "<!DOCTYPE html>\n<html><head><title>mine</title>\n");
    cr_expect(eq(int, write_one("page.html", SHEET, said, sizeof said), TW_IO), "%s", said);
    cr_expect(eq(int, write_one("sheet.html", SHEET, said, sizeof said), TW_OK), "%s", said);
    cr_expect(eq(int, write_one("sheet.html", SHEET, said, sizeof said), TW_OK), "%s", said);
    cr_expect(eq(int, write_one("sheet.html", NEW, said, sizeof said), TW_IO), "%s", said);
    cr_expect(strstr(said, "is a setup sheet, and no program is written over it") != NULL, "%s", said);
    put("empty.nc", "");
    cr_expect(eq(int, write_one("empty.nc", NEW, said, sizeof said), TW_OK), "%s", said);
}

Test(files, a_link_is_followed_and_stays_a_link)
{
    char said[512];
    struct stat status;

    put("far.nc", OLD);
    cr_assert(eq(int, symlink("far.nc", path_of("near.nc")), 0));
    cr_expect(eq(int, write_one("near.nc", NEW, said, sizeof said), TW_OK), "%s", said);
    cr_expect(lstat(path_of("near.nc"), &status) == 0 && S_ISLNK(status.st_mode));
    cr_expect(eq(chr, holds("far.nc"), 'n'));
    unlink(path_of("far.nc"));
    cr_expect(eq(int, write_one("near.nc", NEW, said, sizeof said), TW_IO));
    cr_expect(strstr(said, "is a link to a file that is not there") != NULL, "%s", said);
}

Test(files, two_runs_do_not_write_one_folder_at_once)
{
    struct tw_findings findings = { 0 };
    int ready[2], done[2];
    char byte = 0;
    pid_t child;

    lay_older_set();
    cr_assert(pipe(ready) == 0 && pipe(done) == 0);
    child = fork();
    if (child == 0) { /* holds the mark as a run that is at it does */
        struct flock lock = { .l_type = F_WRLCK, .l_whence = SEEK_SET };
        int mark = open(path_of(mark_name), O_RDWR | O_CREAT, 0666);

        _exit(fcntl(mark, F_SETLK, &lock) != 0 || write(ready[1], "r", 1) != 1 || read(done[0], &byte, 1) != 1);
    }
    cr_assert(eq(long, read(ready[0], &byte, 1), 1));
    cr_expect(eq(int, write_new_set(&findings), TW_IO));
    cr_expect(findings.count == 1 && strstr(findings.items[0].text, "another run of tangwright is writing here"));
    cr_expect(eq(chr, holds(names[0]), 'o'));
    cr_assert(eq(long, write(done[1], "d", 1), 1));
    waitpid(child, NULL, 0);
    tw_findings_free(&findings);
}

/* ---- what is read at all ---- */

static enum tw_status read_one(const char *path, char *said, size_t room)
{
    struct tw_text text = { 0 };
    struct tw_findings findings = { 0 };
    enum tw_status status = tw_file_read(path, &text, &findings);

    snprintf(said, room, "%s", findings.count ? findings.items[0].text : "");
    tw_text_free(&text);
    tw_findings_free(&findings);
    return status;
}

Test(files, what_may_never_end_is_neither_read_nor_written)
{
    char said[512];

    cr_assert(eq(int, mkfifo(path_of("pipe"), 0600), 0));
    cr_expect(eq(int, read_one(path_of("pipe"), said, sizeof said), TW_IO));
    cr_expect(strstr(said, "is a pipe, which may never end") != NULL, "%s", said);
    cr_expect(eq(int, write_one("pipe", NEW, said, sizeof said), TW_IO));
    cr_expect(strstr(said, "is a pipe, which may never take") != NULL, "%s", said);
    cr_expect(eq(int, read_one("/dev/zero", said, sizeof said), TW_IO));
    cr_expect(strstr(said, "is a device, which may never end") != NULL, "%s", said);
    cr_expect(eq(int, read_one(folder, said, sizeof said), TW_IO));
    cr_expect(strstr(said, "is a folder; name a file in it") != NULL, "%s", said);
}

/* A file of holes, as large as it is, takes no room on the disk. */
Test(files, a_huge_file_is_refused_before_it_is_read)
{
    char said[512];

    put("huge", "");
    cr_assert(eq(int, truncate(path_of("huge"), (off_t)1 << 40), 0));
    cr_expect(eq(int, read_one(path_of("huge"), said, sizeof said), TW_BAD_INPUT));
    cr_expect(strstr(said, "the file is larger than 64 MiB; is it the right one?") != NULL, "%s", said);
}

/* ---- text of others on a terminal ---- */

static void expect_shown(const char *text, const char *shown)
{
    struct tw_text out = { 0 };

    tw_plain_append(&out, text);
    cr_expect(strcmp(out.data ? out.data : "", shown) == 0, "%s", out.data);
    cr_expect(eq(int, tw_is_plain(text), strcmp(text, shown) == 0), "%s", shown);
    tw_text_free(&out);
}

/* ECMA-48, 5th edition (1991): C0, and C1 at U+0080 to U+009F, which UTF-8 (RFC 3629) writes as C2 80 to C2 9F; U+202E turns
 * the direction of what follows (Unicode Standard Annex 9). */
Test(files, what_could_steer_a_terminal_is_shown_and_not_obeyed)
{
    expect_shown("Küche №5, 3 µm – 刀", "Küche №5, 3 µm – 刀");
    expect_shown("a\033[31mb", "a\\x1b[31mb");
    expect_shown("a\xc2\x9b"
                 "31mb",
                 "a\\u009b31mb");
    expect_shown("a\rb\nc\td\177", "a\\x0db\\x0ac\\x09d\\x7f");
    expect_shown("a\xe2\x80\xae"
                 "b",
                 "a\\u202eb");
    expect_shown("a\x9b"
                 "b\xff",
                 "a\\x9bb\\xff"); /* C1 as one byte, and what no UTF-8 holds */
    expect_shown("\xe2\x80", "\\xe2\\x80");
}

/* What a person can do about it; of other reasons nothing is known to help. */
Test(files, what_could_not_be_written_says_what_helps)
{
    cr_expect(strstr(tw_write_advice(EACCES), "permissions") != NULL);
    cr_expect(strstr(tw_write_advice(EROFS), "a folder that you may write to") != NULL);
    cr_expect(strstr(tw_write_advice(ENOSPC), "room on the disk") != NULL);
    cr_expect(tw_write_advice(ENOTDIR)[0] == 0);
}
