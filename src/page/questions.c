/* questions.c - what the page may ask, as the words of a command. */
#include "page/page.h"

#include "base/memory.h"
#include "base/plain.h"
#include "tangwright/compare.h"
#include "tangwright/fixture.h"

#include <stdlib.h>
#include <string.h>

#define LONGEST_CHANGE 400

/* The words of one command; those of their own are freed. */
struct command {
    const char *words[ASK_WORDS_MOST + 1];
    char *own[ASK_WORDS_MOST];
    size_t count, own_count;
    bool failed;
};

static void add(struct command *command, const char *word)
{
    if (command->count < ASK_WORDS_MOST)
        command->words[command->count++] = word;
    else
        command->failed = true;
}

/* Takes the word over. */
static void add_own(struct command *command, char *word)
{
    if (!word || command->own_count >= ASK_WORDS_MOST) {
        free(word);
        command->failed = true;
        return;
    }
    command->own[command->own_count++] = word;
    add(command, word);
}

static void release(struct command *command)
{
    while (command->own_count > 0)
        free(command->own[--command->own_count]);
}

static int refuse(struct tw_findings *findings, const char *key, const char *why)
{
    tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = key }, "%s", why);
    return 422;
}

static void add_outputs(struct command *command, const struct tw_page *page, enum ask_kind kind)
{
    add(command, "--json");
    add_own(command, ask_file(&page->asks, kind, "json"));
    add(command, "--sheet");
    add_own(command, ask_file(&page->asks, kind, "html"));
}

/* ---- variants ---- */

/* Whether the name between `from` and `to` is that of a file of the folder; blanks round it do not count. */
static bool is_file(const struct tw_page *page, const char *from, const char *to)
{
    char name[LONGEST_CHANGE];

    while (from < to && *from == ' ')
        from++;
    while (from < to && to[-1] == ' ')
        to--;
    snprintf(name, sizeof name, "%.*s", (int)(to - from), from);
    return folder_holds(&page->folder, name);
}

/* Profiles, with commas between them. */
static bool are_files(const struct tw_page *page, const char *values)
{
    const char *end = values + strcspn(values, ",");

    while (is_file(page, values, end) && *end) {
        values = end + 1;
        end = values + strcspn(values, ",");
    }
    return *end == '\0' && is_file(page, values, end);
}

/* KEY=VALUE,...: of a key of the job; what it means is asked by the command itself. */
static int check_change(const struct tw_page *page, const char *word, struct tw_findings *findings)
{
    const char *equals = strchr(word, '=');
    const struct tw_key *key;
    char path[96];

    if (!equals || equals == word || (size_t)(equals - word) >= sizeof path || strlen(word) >= LONGEST_CHANGE ||
        !tw_is_plain(word))
        return refuse(findings, NULL, "the page asked for a variant that is no KEY=VALUE");
    snprintf(path, sizeof path, "%.*s", (int)(equals - word), word);
    if (page_names_profile(path))
        return are_files(page, equals + 1) ? 200 : refuse(findings, path, "is no file of this folder");
    key = page_key(path);
    if (key && key->kind != TW_KIND_PATH)
        return 200;
    if (!key && strcmp(equals + 1, "none") == 0 && tw_group_find(path, strlen(path)))
        return 200;
    return refuse(findings, path, "is no key that variants can differ in");
}

static int add_changes(struct command *command, const struct tw_page *page, const json_t *words,
                       struct tw_findings *findings)
{
    int status = json_array_size(words) > 0 && json_array_size(words) <= TW_CHANGES_MOST ? 200 : 422;

    if (status != 200)
        return refuse(findings, NULL, "choose one to four keys, and a value or more for each");
    for (size_t i = 0; status == 200 && i < json_array_size(words); i++) {
        const char *word = json_string_value(json_array_get(words, i));

        status = word ? check_change(page, word, findings) : 400;
        if (status == 200)
            add_own(command, tw_copy_string(word));
    }
    return status;
}

/* ---- programs ---- */

/* Nothing of that name, or a folder: no link that leads elsewhere. */
static bool may_be_written(const struct tw_page *page, const char *name)
{
    return folder_has_no(&page->folder, name) || folder_has_folder(&page->folder, name);
}

/* Names of the programs as the plan's own figures tell them, each once. */
static bool add_programs(struct command *command, const struct tw_page *page, const json_t *summary)
{
    const json_t *setups = json_object_get(summary, "setups");
    bool added = json_array_size(setups) > 0;

    for (size_t i = 0; added && i < json_array_size(setups); i++) {
        const char *name = json_string_value(json_object_get(json_array_get(setups, i), "program"));
        struct tw_text path = { 0 };
        bool twice = false;

        tw_text_print(&path, ASK_PROGRAMS "/%s", name ? name : "");
        added = name && folder_is_name(name) && path.data && folder_holds(&page->folder, path.data);
        if (added) {
            char *whole = folder_path(&page->folder, path.data);

            for (size_t k = 0; whole && k < command->count; k++)
                twice |= strcmp(command->words[k], whole) == 0;
            if (twice)
                free(whole);
            else
                add_own(command, whole);
        }
        tw_text_free(&path);
    }
    return added;
}

static int ask_for_proof(struct command *command, const struct tw_page *page, struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    json_t *summary = NULL;
    int status = 200;

    if (may_be_written(page, ASK_PROGRAMS) &&
        folder_read(&page->folder, ASK_PROGRAMS "/summary.json", PAGE_DRAWING_BYTES, &text) == TW_OK)
        summary = json_loadb(text.data, text.length, 0, NULL);
    tw_text_free(&text);
    if (!add_programs(command, page, summary))
        status = refuse(findings, NULL, "there are no programs to run; write them first");
    json_decref(summary);
    add(command, "--json");
    add_own(command, ask_file(&page->asks, ASK_PROVE, "json"));
    add(command, "--sheet");
    add_own(command, folder_path(&page->folder, ASK_PROGRAMS "/setup.html"));
    return status;
}

/* A command that fills a folder. */
static int ask_for_folder(struct command *command, const struct tw_page *page, const char *name,
                          struct tw_findings *findings)
{
    if (!may_be_written(page, name)) {
        tw_fail(findings, TW_IO, (struct tw_place){ .file = name },
                "is no folder of its own, and would be written through; move it away");
        return 422;
    }
    add(command, "--out");
    add_own(command, folder_path(&page->folder, name));
    return 200;
}

/* The number of blanks, where the page tells it: a job with more parts than its fixture has stations does not read, and so cannot. */
static int add_stations(struct command *command, const json_t *request, struct tw_findings *findings)
{
    const json_t *stations = json_object_get(request, "stations");
    json_int_t count = json_integer_value(stations);
    struct tw_text word = { 0 };

    if (!stations)
        return 200;
    if (!json_is_integer(stations) || count < 1 || count > TW_FIXTURE_STATIONS_MOST)
        return refuse(findings, "parts", "the page asked for a fixture with a number of stations that there cannot be");
    tw_text_print(&word, "%d", (int)count);
    add(command, "--stations");
    add_own(command, word.data);
    return 200;
}

/* ---- the question ---- */

static int put_together(struct command *command, const struct tw_page *page, enum ask_kind kind, const json_t *request,
                        struct tw_findings *findings)
{
    int status = 200;

    add(command, page->job_path);
    if (kind == ASK_COMPARE)
        status = add_changes(command, page, json_object_get(request, "words"), findings);
    if (kind == ASK_PROVE)
        return ask_for_proof(command, page, findings);
    if (kind == ASK_FIXTURE)
        status = add_stations(command, request, findings);
    if (status == 200 && (kind == ASK_WRITE || kind == ASK_FIXTURE))
        return ask_for_folder(command, page, kind == ASK_WRITE ? ASK_PROGRAMS : ASK_FIXTURES, findings);
    add_outputs(command, page, kind);
    return status;
}

/* The same question about the same job is not asked twice at a time, whichever tab it comes from. */
static bool is_running(const struct ask *ask, const char *label)
{
    return ask->child > 0 && strcmp(ask->label, label) == 0;
}

int page_ask(struct tw_page *page, enum ask_kind kind, const char *body, size_t length, struct tw_findings *findings)
{
    json_t *request = json_loadb(body, length, JSON_REJECT_DUPLICATES, NULL);
    const char *label = json_string_value(json_object_get(request, "for"));
    struct command command = { 0 };
    int status = label && strlen(label) < ASK_LABEL_ROOM ? 200 : 400;

    asks_look(&page->asks);
    if (status == 200 && kind != ASK_COMPARE && is_running(&page->asks.each[kind], label))
        goto done;
    if (status == 200)
        status = put_together(&command, page, kind, request, findings);
    if (status == 200 && command.failed)
        status = 500;
    if (status == 200 && ask_start(&page->asks, kind, label, command.words, findings) != TW_OK)
        status = 500;
done:
    release(&command);
    json_decref(request);
    return status;
}
