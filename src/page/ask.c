/* ask.c - see ask.h. */
#define _XOPEN_SOURCE 700 /* mkdtemp */
#include "page/ask.h"

#include "base/file.h"
#include "base/memory.h"
#include "page/page.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char **environ;

static const struct {
    const char *name, *verb;
} kinds[ASK_KINDS] = {
    [ASK_PREVIEW] = { "preview", "preview" }, [ASK_COMPARE] = { "compare", "compare" },
    [ASK_WRITE] = { "write", "plan" },        [ASK_PROVE] = { "prove", "dry-run" },
    [ASK_FIXTURE] = { "fixture", "fixture" },
};

static const char *const endings[] = { "json", "html", "txt" };
#define ENDING_COUNT (sizeof endings / sizeof *endings)

enum ask_kind ask_kind_of(const char *name)
{
    int kind = 0;

    while (kind < ASK_KINDS && strcmp(kinds[kind].name, name) != 0)
        kind++;
    return (enum ask_kind)kind;
}

const char *ask_name(enum ask_kind kind)
{
    return kinds[kind].name;
}

static double now_s(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

char *ask_file(const struct asks *asks, enum ask_kind kind, const char *ending)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/%s.%s", asks->scratch, kinds[kind].name, ending);
    return tw_text_take(&path);
}

/* ---- opening and closing ---- */

enum tw_status asks_open(struct asks *asks, const char *program, struct tw_findings *findings)
{
    const char *place = getenv("TMPDIR");
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/tangwright-bench-XXXXXX", place && *place == '/' ? place : "/tmp");
    asks->program = tw_copy_string(program);
    asks->scratch = tw_text_take(&path);
    if (!asks->program || !asks->scratch)
        return tw_no_memory(findings);
    if (mkdtemp(asks->scratch))
        return TW_OK;
    tw_fail(findings, TW_IO, (struct tw_place){ .file = asks->scratch }, "the folder cannot be made: %s",
            strerror(errno));
    free(asks->scratch);
    asks->scratch = NULL;
    return TW_IO;
}

static void clean(const struct asks *asks, enum ask_kind kind)
{
    for (size_t i = 0; i < ENDING_COUNT; i++) {
        char *path = ask_file(asks, kind, endings[i]);

        if (path)
            unlink(path);
        free(path);
    }
}

static void empty(struct ask_answer *answer)
{
    tw_text_free(&answer->json);
    tw_text_free(&answer->sheet);
    tw_text_free(&answer->said);
}

void asks_close(struct asks *asks)
{
    for (int kind = 0; asks->scratch && kind < ASK_KINDS; kind++) {
        ask_stop(asks, (enum ask_kind)kind);
        clean(asks, (enum ask_kind)kind);
        empty(&asks->each[kind].answer);
    }
    if (asks->scratch)
        rmdir(asks->scratch);
    free(asks->scratch);
    free(asks->program);
}

/* ---- one process ---- */

/* In a group of its own, with the signals as a shell hands them over. */
static bool prepare(posix_spawnattr_t *attributes, posix_spawn_file_actions_t *files, const char *said)
{
    sigset_t none, usual;

    sigemptyset(&none);
    sigemptyset(&usual);
    sigaddset(&usual, SIGPIPE);
    return posix_spawnattr_setflags(attributes,
                                    POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF) == 0 &&
           posix_spawnattr_setsigmask(attributes, &none) == 0 &&
           posix_spawnattr_setsigdefault(attributes, &usual) == 0 &&
           posix_spawn_file_actions_addopen(files, STDIN_FILENO, "/dev/null", O_RDONLY, 0) == 0 &&
           posix_spawn_file_actions_addopen(files, STDOUT_FILENO, "/dev/null", O_WRONLY, 0) == 0 &&
           posix_spawn_file_actions_addopen(files, STDERR_FILENO, said, O_WRONLY | O_CREAT | O_TRUNC, 0600) == 0;
}

static int spawn(const char *program, const char *said, char *words[], pid_t *child)
{
    posix_spawnattr_t attributes;
    posix_spawn_file_actions_t files;
    int failed = ENOMEM;

    if (posix_spawnattr_init(&attributes) != 0)
        return failed;
    if (posix_spawn_file_actions_init(&files) == 0) {
        if (prepare(&attributes, &files, said))
            failed = posix_spawn(child, program, &files, &attributes, words, environ);
        posix_spawn_file_actions_destroy(&files);
    }
    posix_spawnattr_destroy(&attributes);
    return failed;
}

enum tw_status ask_start(struct asks *asks, enum ask_kind kind, const char *label, const char *const words[],
                         struct tw_findings *findings)
{
    struct ask *ask = &asks->each[kind];
    char *all[ASK_WORDS_MOST + 3] = { (char *)(size_t) "tangwright", (char *)(size_t)kinds[kind].verb };
    char *said = ask_file(asks, kind, "txt");
    int failed;

    if (!said)
        return tw_no_memory(findings);
    ask_stop(asks, kind);
    clean(asks, kind);
    for (size_t i = 0; i < ASK_WORDS_MOST && words[i]; i++)
        all[i + 2] = (char *)(size_t)words[i];
    failed = spawn(asks->program, said, all, &ask->child);
    free(said);
    if (failed) {
        ask->child = 0;
        return tw_fail(findings, TW_IO, (struct tw_place){ 0 }, "tangwright %s cannot be started: %s", kinds[kind].verb,
                       strerror(failed));
    }
    ask->started_s = now_s();
    snprintf(ask->label, sizeof ask->label, "%s", label);
    return TW_OK;
}

void ask_stop(struct asks *asks, enum ask_kind kind)
{
    struct ask *ask = &asks->each[kind];

    if (ask->child == 0)
        return;
    kill(-ask->child, SIGTERM);
    while (waitpid(ask->child, NULL, 0) < 0 && errno == EINTR)
        ;
    ask->child = 0;
}

/* ---- answers ---- */

static void read_answer(const struct asks *asks, enum ask_kind kind, const char *ending, struct tw_text *out)
{
    char *path = ask_file(asks, kind, ending);

    tw_text_free(out);
    if (path)
        tw_file_read(path, out, NULL);
    free(path);
}

static void take_answer(struct asks *asks, enum ask_kind kind, int ended)
{
    struct ask *ask = &asks->each[kind];
    struct ask_answer *answer = &ask->answer;

    ask->child = 0;
    answer->number++;
    answer->status = WIFEXITED(ended) ? WEXITSTATUS(ended) : 128 + WTERMSIG(ended);
    answer->took_s = now_s() - ask->started_s;
    memcpy(answer->label, ask->label, sizeof answer->label);
    read_answer(asks, kind, "json", &answer->json);
    read_answer(asks, kind, "html", &answer->sheet);
    read_answer(asks, kind, "txt", &answer->said);
    clean(asks, kind);
}

void asks_look(struct asks *asks)
{
    for (int kind = 0; kind < ASK_KINDS; kind++) {
        pid_t child = asks->each[kind].child;
        int ended;

        if (child > 0 && waitpid(child, &ended, WNOHANG) == child)
            take_answer(asks, (enum ask_kind)kind, ended);
    }
}

json_t *asks_state(const struct asks *asks)
{
    json_t *object = json_object();

    for (int kind = 0; object && kind < ASK_KINDS; kind++) {
        const struct ask *ask = &asks->each[kind];
        json_t *one = json_pack("{s:b, s:f, s:s, s:i}", "running", ask->child > 0, "seconds",
                                ask->child > 0 ? now_s() - ask->started_s : 0.0, "for", ask->label, "number",
                                (int)ask->answer.number);

        if (json_object_set_new(object, kinds[kind].name, one) == 0)
            continue;
        json_decref(object);
        object = NULL;
    }
    return object;
}

static json_t *lines_of(const struct tw_text *text, const struct folder *folder)
{
    char *words = folder_words(folder, text->data ? text->data : "");
    json_t *list = words ? json_array() : NULL;

    for (char *at = words, *end; words && *at; at = end + 1) {
        end = at + strcspn(at, "\n");
        if (*end == '\0')
            break; /* a line that was cut off */
        *end = '\0';
        list = page_appended(list, page_string(at));
    }
    free(words);
    return list;
}

json_t *ask_answer(const struct asks *asks, enum ask_kind kind, const struct folder *folder)
{
    const struct ask_answer *answer = &asks->each[kind].answer;
    json_t *figures = answer->json.length > 0 ? json_loadb(answer->json.data, answer->json.length, 0, NULL) : NULL;

    return json_pack("{s:i, s:i, s:s, s:f, s:b, s:o, s:o}", "number", (int)answer->number, "status", answer->status,
                     "for", answer->label, "seconds", answer->took_s, "sheet", answer->sheet.length > 0, "said",
                     lines_of(&answer->said, folder), "figures", figures ? figures : json_null());
}
