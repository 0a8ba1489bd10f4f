/* change.c - what a person changed on the page, written into the job file. */
#include "page/page.h"

#include "base/memory.h"
#include "input/edit.h"

#include <stdlib.h>
#include <string.h>

#define CHANGES_MOST 24

/* ---- keys ---- */

const struct tw_key *page_key(const char *path)
{
    const char *dot = strrchr(path, '.');
    size_t length = dot ? (size_t)(dot - path) : 0;
    const struct tw_group *group = tw_group_find(path, length);

    if (!group || tw_group_is_member(group))
        return NULL;
    return tw_key_find(group, dot ? dot + 1 : path);
}

bool page_names_profile(const char *path)
{
    for (size_t i = 0; i < TW_PROFILE_COUNT; i++) {
        size_t length = strlen(tw_profile_names[i]);

        if (strncmp(path, tw_profile_names[i], length) == 0 && strcmp(path + length, ".profile") == 0)
            return true;
    }
    return false;
}

/* ---- values ---- */

/* A text of one line, as libconfig takes it back; what steers a terminal is no text. */
static bool print_string(struct tw_text *out, const json_t *value)
{
    const char *string = json_string_value(value);

    if (!string || strlen(string) != json_string_length(value))
        return false;
    tw_text_print(out, "\"");
    for (; *string; string++) {
        if ((unsigned char)*string < 0x20 || *string == 0x7f)
            return false;
        tw_text_print(out, *string == '"' || *string == '\\' ? "\\%c" : "%c", *string);
    }
    tw_text_print(out, "\"");
    return true;
}

/* Only what a number can be made of, so that nothing else gets between the quotes of its neighbours. */
static bool print_bare(struct tw_text *out, const json_t *value)
{
    const char *string = json_string_value(value);

    if (!string || !*string || strlen(string) > 24 || strlen(string) != json_string_length(value) ||
        strspn(string, "0123456789+-.eE") != strlen(string))
        return false;
    tw_text_print(out, "%s", string);
    return true;
}

/* Lengths in brackets, as many as the shape has: ["-90 mm", "-30 mm", "-70 mm", "30 mm"]. */
static bool print_lengths(struct tw_text *out, const json_t *value, const char *brackets, size_t least, size_t most)
{
    size_t count = json_array_size(value);
    bool printed = count >= least && count <= most;

    tw_text_print(out, "%c", brackets[0]);
    for (size_t i = 0; printed && i < count; i++) {
        tw_text_print(out, i > 0 ? ", " : "");
        printed = print_string(out, json_array_get(value, i));
    }
    tw_text_print(out, "%c", brackets[1]);
    return printed;
}

#define CORNERS_MOST 200

static bool print_corners(struct tw_text *out, const json_t *value)
{
    size_t count = json_array_size(value);
    bool printed = count > 0 && count <= CORNERS_MOST;

    tw_text_print(out, "(");
    for (size_t i = 0; printed && i < count; i++) {
        tw_text_print(out, i > 0 ? ", " : " ");
        printed = print_lengths(out, json_array_get(value, i), "()", 2, 2);
    }
    tw_text_print(out, " )");
    return printed;
}

bool page_literal(const struct tw_key *key, const json_t *value, struct tw_text *out)
{
    switch (key->kind) {
    case TW_KIND_TEXT:
    case TW_KIND_PATH:
    case TW_KIND_WORD:
    case TW_KIND_WORD_FLAG:
    case TW_KIND_MEASURE:
    case TW_KIND_AXIS:
        return print_string(out, value);
    case TW_KIND_COUNT:
    case TW_KIND_RATIO:
        return print_bare(out, value);
    case TW_KIND_FLAG:
        tw_text_print(out, "%s", json_string_value(value) ? json_string_value(value) : "");
        return out->data && (strcmp(out->data, "true") == 0 || strcmp(out->data, "false") == 0);
    case TW_KIND_POINT:
        return print_lengths(out, value, "[]", 2, 2);
    case TW_KIND_BOX:
        return print_lengths(out, value, "[]", 4, 4);
    case TW_KIND_CIRCLE:
        return print_lengths(out, value, "[]", 3, 3);
    case TW_KIND_POLYGON:
    case TW_KIND_PAIRS:
        return print_corners(out, value);
    default:
        return false; /* a list is changed row by row */
    }
}

/* ---- taking back ---- */

static void forget_step(struct page_step *step)
{
    free(step->before);
    free(step->after);
}

void page_forget_steps(struct tw_page *page)
{
    while (page->step_count > 0)
        forget_step(&page->steps[--page->step_count]);
}

/* Without memory for it the change is not remembered, and cannot be taken back. */
static void remember(struct tw_page *page, const char *before, const char *after)
{
    struct page_step step = { tw_copy_string(before), tw_copy_string(after) };

    if (!step.before || !step.after) {
        forget_step(&step);
        return;
    }
    if (page->step_count == PAGE_UNDO_MOST) {
        forget_step(&page->steps[0]);
        memmove(page->steps, page->steps + 1, (PAGE_UNDO_MOST - 1) * sizeof *page->steps);
        page->step_count--;
    }
    page->steps[page->step_count++] = step;
}

bool page_can_undo(const struct tw_page *page, const char *text)
{
    return page->step_count > 0 && strcmp(page->steps[page->step_count - 1].after, text) == 0;
}

int page_undo(struct tw_page *page, struct tw_findings *findings)
{
    struct tw_text now = { 0 };
    bool can =
        folder_read(&page->folder, PAGE_JOB_NAME, PAGE_JOB_BYTES, &now) == TW_OK && page_can_undo(page, now.data);
    struct page_step *last = can ? &page->steps[page->step_count - 1] : NULL;

    tw_text_free(&now);
    if (!last) {
        tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = PAGE_JOB_NAME },
                "was changed elsewhere since, or not at all, so there is nothing that could be taken back");
        return 409;
    }
    if (folder_write(&page->folder, PAGE_JOB_NAME, last->before, strlen(last->before), findings) != TW_OK)
        return 500;
    forget_step(last);
    page->step_count--;
    return 200;
}

/* ---- one request ---- */

struct changing {
    struct tw_page *page;
    struct tw_instead changes[CHANGES_MOST];
    char *values[CHANGES_MOST];
    size_t count;
    struct tw_findings *findings;
};

static int refuse(const struct changing *changing, const char *key, const char *why)
{
    tw_fail(changing->findings, TW_BAD_INPUT, (struct tw_place){ .file = PAGE_JOB_NAME, .key = key }, "%s", why);
    return 422;
}

/* A file named by the page lies in the folder: what is asked through a browser leads nowhere else. */
static int check_file(const struct changing *changing, const char *key, const json_t *value)
{
    const char *name = json_string_value(value);

    if (name && folder_holds(&changing->page->folder, name))
        return 200;
    return refuse(changing, key,
                  "is no file of this folder; put it there, or name it in the job file with a text editor");
}

/* The files that a new row names. */
static int check_files(const struct changing *changing, const char *path, const json_t *row)
{
    const char *name;
    json_t *value;
    int status = 200;

    json_object_foreach((json_t *)(size_t)row, name, value)
    {
        char key[128];
        const struct tw_key *found;

        snprintf(key, sizeof key, "%s.%s", path, name);
        found = page_row_key(key);
        if (!found)
            return refuse(changing, NULL, "the page asked for a key that no row of that list has");
        if (status == 200 && found->kind == TW_KIND_PATH && !json_is_null(value))
            status = check_file(changing, path, value);
    }
    return status;
}

static int print_row(struct changing *changing, const char *path, const json_t *value, struct tw_text *out)
{
    int status = json_is_object(value) ? check_files(changing, path, value) : 200;

    if (status == 200 && json_is_null(value))
        tw_text_print(out, "none");
    else if (status == 200 && (!json_is_object(value) || !page_row_literal(path, value, out)))
        status = refuse(changing, path, "cannot be written so: each field needs a value of its kind");
    return status;
}

static int print_value(struct changing *changing, const char *path, const json_t *value, struct tw_text *out)
{
    static const struct tw_key profile = { .name = "profile", .kind = TW_KIND_PATH };
    const struct tw_key *key = page_names_profile(path)    ? &profile
                               : strchr(path, '[') != NULL ? page_row_key(path)
                                                           : page_key(path);
    int status = 200;

    if (!key)
        return refuse(changing, NULL, "the page asked for a key that no job has");
    if (key->kind == TW_KIND_LIST && json_is_true(value))
        return page_list_literal(changing->page, path, out)
                   ? 200
                   : refuse(changing, path, "has no rows that could be copied");
    if (key->kind == TW_KIND_PATH && !json_is_null(value))
        status = check_file(changing, path, value);
    if (status == 200 && json_is_null(value))
        tw_text_print(out, "none");
    else if (status == 200 && !page_literal(key, value, out))
        status = refuse(changing, path,
                        key->kind == TW_KIND_COUNT || key->kind == TW_KIND_RATIO ? "is to be a bare number, such as 2"
                                                                                 : "cannot be written so");
    return status;
}

/* One of a list: ("60 mm", "2 mm") */
static int print_pair(struct changing *changing, const char *path, const json_t *value, struct tw_text *out)
{
    if (json_is_null(value))
        tw_text_print(out, "none");
    else if (!print_lengths(out, value, "()", 2, 2))
        return refuse(changing, path, "cannot be written so: two lengths are wanted");
    return 200;
}

static int take_value(struct changing *changing, const char *path, const json_t *value)
{
    struct tw_text literal = { 0 };
    int status = page_is_row(path)      ? print_row(changing, path, value, &literal)
                 : page_pairs_key(path) ? print_pair(changing, path, value, &literal)
                                        : print_value(changing, path, value, &literal);

    if (status == 200) {
        changing->values[changing->count] = tw_text_take(&literal);
        changing->changes[changing->count] = (struct tw_instead){ path, changing->values[changing->count] };
        status = changing->changes[changing->count].value ? 200 : 500;
        changing->count += status == 200;
    }
    tw_text_free(&literal);
    return status;
}

static int take_values(struct changing *changing, const json_t *changes)
{
    const char *path;
    json_t *value;
    int status = 200;

    if (!json_is_object(changes) || json_object_size(changes) == 0 || json_object_size(changes) > CHANGES_MOST)
        return refuse(changing, NULL, "the page asked for no change, or for too many at once");
    json_object_foreach((json_t *)(size_t)changes, path, value)
    {
        if (status == 200)
            status = take_value(changing, path, value);
    }
    return status;
}

/* Of a row alone: another row's fault is no reason to refuse this one. */
static bool row_is_sound(const struct tw_findings *said, const char *path)
{
    for (size_t i = 0; i < said->count; i++)
        if (said->items[i].status != TW_OK && page_row_holds(path, said->items[i].key))
            return false;
    return true;
}

static bool is_sound(const struct tw_reading *reading, const char *path)
{
    if (page_names_profile(path)) {
        for (size_t i = 0; i < TW_PROFILE_COUNT; i++)
            if (strncmp(path, tw_profile_names[i], strlen(tw_profile_names[i])) == 0 &&
                path[strlen(tw_profile_names[i])] == '.')
                return reading->input.profiles[i].loaded;
    }
    return tw_input_origin(&reading->input, path)->ok;
}

#define KEY_BYTES 128

/* By what a change is judged: of a pair by its whole list. */
static void name_judged(const char *path, char out[KEY_BYTES])
{
    snprintf(out, KEY_BYTES, "%.*s", page_pairs_key(path) ? (int)strcspn(path, "[") : (int)strlen(path), path);
}

/* Adds what the reader said of one changed key; false where that reads well. */
static bool blame(struct changing *changing, const struct tw_reading *reading, const struct tw_findings *said,
                  const char *key)
{
    bool row = strchr(key, '[') != NULL;

    if (row ? row_is_sound(said, key) : is_sound(reading, key))
        return false;
    for (size_t k = 0; k < said->count; k++)
        if (said->items[k].key && said->items[k].status != TW_OK &&
            (row ? page_row_holds(key, said->items[k].key) : strcmp(said->items[k].key, key) == 0))
            tw_fail(changing->findings, TW_BAD_INPUT, (struct tw_place){ .file = PAGE_JOB_NAME, .key = key }, "%s",
                    page_sentence(&said->items[k]));
    return true;
}

/* Each changed key must read by itself; what keys say against each other is shown beside them. */
static int check_text(struct changing *changing, const char *text)
{
    struct tw_findings said = { 0 };
    struct tw_reading reading;
    char before[KEY_BYTES] = "";
    int status = 200;

    if (tw_reading_open(&reading, changing->page->job_path, text, NULL, 0, &said) == TW_NO_MEMORY)
        status = 500;
    for (size_t i = 0; status != 500 && i < changing->count; i++) {
        char key[KEY_BYTES];

        name_judged(changing->changes[i].key, key);
        if (strcmp(key, before) != 0 && blame(changing, &reading, &said, key))
            status = 422;
        strcpy(before, key);
    }
    if (status == 422 && changing->findings->count == 0)
        refuse(changing, changing->changes[0].key, "would not read so, and is left as it was");
    tw_reading_close(&reading);
    tw_findings_free(&said);
    return status;
}

static int write_job(struct changing *changing, const char *before)
{
    struct tw_page *page = changing->page;
    char *text = NULL;
    enum tw_status edited =
        tw_edit_text(PAGE_JOB_NAME, before, changing->changes, changing->count, &text, changing->findings);
    int status = edited == TW_OK ? check_text(changing, text) : edited == TW_BAD_INPUT ? 422 : 500;

    if (status == 200 && strcmp(text, before) != 0) {
        if (folder_write(&page->folder, PAGE_JOB_NAME, text, strlen(text), changing->findings) == TW_OK)
            remember(page, before, text);
        else
            status = 500;
    }
    free(text);
    return status;
}

int page_change(struct tw_page *page, const char *body, size_t length, struct tw_findings *findings)
{
    struct changing changing = { .page = page, .findings = findings };
    json_t *request = json_loadb(body, length, JSON_REJECT_DUPLICATES, NULL);
    struct tw_text before = { 0 };
    int status = request ? take_values(&changing, json_object_get(request, "changes")) : 400;

    if (status == 200 && folder_read(&page->folder, PAGE_JOB_NAME, PAGE_JOB_BYTES, &before) != TW_OK)
        status = refuse(&changing, NULL, "the job file cannot be read");
    if (status == 200 && strlen(before.data) != before.length)
        status = refuse(&changing, NULL, "the job file holds a zero byte, so it is not a text file");
    if (status == 200)
        status = write_job(&changing, before.data);
    for (size_t i = 0; i < changing.count; i++)
        free(changing.values[i]);
    tw_text_free(&before);
    json_decref(request);
    return status;
}
