/* state.c - the whole of what is shown, and when it is to be shown anew. */
#include "page/page.h"

#include "base/fingerprint.h"
#include "base/memory.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* ---- what is watched ---- */

void page_forget_watched(struct tw_page *page)
{
    while (page->watched_count > 0)
        free(page->watched[--page->watched_count]);
}

static void watch(struct tw_page *page, const char *path)
{
    char *copy = path && page->watched_count < PAGE_WATCHED_MOST ? tw_copy_string(path) : NULL;

    if (copy)
        page->watched[page->watched_count++] = copy;
}

static void watch_files_of(struct tw_page *page, const struct tw_reading *reading)
{
    page_forget_watched(page);
    watch(page, page->job_path);
    watch(page, reading->draft.outline.path);
    watch(page, reading->draft.job.survey.path);
    for (size_t i = 0; i < TW_PROFILE_COUNT; i++)
        watch(page, reading->input.profiles[i].path);
}

static void print_file(struct tw_text *text, const char *path)
{
    struct stat about;

    if (stat(path, &about) == 0)
        tw_text_print(text, "%s %lld %lld %lld.%09ld\n", path, (long long)about.st_ino, (long long)about.st_size,
                      (long long)about.st_mtim.tv_sec, about.st_mtim.tv_nsec);
}

/* The folder's own time tells of files that came and went. */
static json_t *version(const struct tw_page *page)
{
    char digits[TW_FINGERPRINT_BYTES];
    struct tw_text text = { 0 };
    json_t *string = NULL;

    print_file(&text, page->folder.path);
    print_file(&text, page->job_path);
    if (page->programs_path)
        print_file(&text, page->programs_path);
    for (size_t i = 0; i < page->watched_count; i++)
        print_file(&text, page->watched[i]);
    if (!text.failed) {
        tw_fingerprint(text.data, text.length, digits);
        digits[16] = '\0';
        string = json_string(digits);
    }
    tw_text_free(&text);
    return string;
}

json_t *page_state(struct tw_page *page)
{
    asks_look(&page->asks);
    return json_pack("{s:o, s:o}", "version", version(page), "asks", asks_state(&page->asks));
}

/* ---- the job ---- */

static bool is_profile(const char *name)
{
    size_t length = strlen(name);

    return length > 4 && strcmp(name + length - 4, ".cfg") == 0;
}

static json_t *profiles_of(const struct tw_page *page)
{
    json_t *object = json_object();

    for (size_t i = 0; object && i < TW_PROFILE_COUNT; i++) {
        bool relief = tw_profile_is_optional(tw_profile_names[i]);
        char inner[64];

        snprintf(inner, sizeof inner, "profiles/%ss", relief ? "wheel" : tw_profile_names[i]);
        if (json_object_set_new(object, tw_profile_names[i], folder_list(&page->folder, inner, is_profile)) == 0)
            continue;
        json_decref(object);
        object = NULL;
    }
    return object;
}

/* Whether the picture cannot do without the group. */
static bool is_wanted(const struct tw_group *group)
{
    return strcmp(group->path, "taper") == 0 || strcmp(group->path, "outline") == 0 ||
           (group->profile && strncmp(group->path, "relief_wheel", 12) != 0);
}

/* Whether every value was read and the knife was found in its drawing, so that it can be shown where keys disagree. */
static bool can_be_shown(const struct tw_reading *reading)
{
    const struct tw_origin *origin = reading->input.origins;
    const struct tw_job *job = &reading->draft.job;

    if (job->part.tang.outer.count == 0 || job->placement.fault != TW_PLACED_WELL || !(job->taper.ricasso_mm > 0.0))
        return false;
    for (size_t i = 0; i < tw_group_count; i++)
        for (size_t k = 0; k < tw_groups[i].key_count; k++, origin++)
            if (!origin->ok && !tw_group_is_member(&tw_groups[i]) && (origin->setting || is_wanted(&tw_groups[i])))
                return false;
    return true;
}

/* Whatever is wrong with the job, what can be told of it is. */
static json_t *read_job(struct tw_page *page, const char *text, struct tw_findings *findings)
{
    struct tw_reading reading;
    enum tw_status status = tw_reading_open(&reading, page->job_path, text, NULL, 0, findings);
    json_t *object, *placement = NULL;

    watch_files_of(page, &reading);
    if (status == TW_OK || (status == TW_BAD_INPUT && can_be_shown(&reading)))
        placement = page_placement(&reading.draft.job, status == TW_OK, findings);
    if (!reading.input.job.loaded)
        object = json_null(); /* its text does not read: nothing is known but why */
    else
        object =
            json_pack("{s:b, s:o, s:o, s:o}", "sound", status == TW_OK && placement, "values", page_values(&reading),
                      "drawing", page_drawing(&reading), "placement", placement ? placement : json_null());
    tw_reading_close(&reading);
    return object;
}

static bool is_any(const char *name)
{
    return *name != '\0';
}

/* What lies in the folder of programs, and for which job it was planned. */
static json_t *programs_of(const struct tw_page *page)
{
    struct tw_text text = { 0 };
    json_t *summary = NULL, *inputs = NULL, *object;

    if (folder_read(&page->folder, ASK_PROGRAMS "/summary.json", PAGE_DRAWING_BYTES, &text) == TW_OK)
        summary = json_loadb(text.data, text.length, 0, NULL);
    inputs = json_object_get(summary, "inputs");
    object = json_pack("{s:o, s:o}", "names", folder_list(&page->folder, ASK_PROGRAMS, is_any), "for",
                       json_is_string(inputs) ? json_incref(inputs) : json_null());
    json_decref(summary);
    tw_text_free(&text);
    return object;
}

/* The text of the job file; false where there is none that can be read, with the reason unless there is no such file. */
static bool read_text(const struct tw_page *page, struct tw_text *text, struct tw_findings *findings)
{
    struct tw_place at = { .file = PAGE_JOB_NAME };
    enum tw_status status = folder_read(&page->folder, PAGE_JOB_NAME, PAGE_JOB_BYTES, text);

    if (status == TW_NO_MEMORY)
        tw_no_memory(findings);
    else if (status != TW_OK && !folder_has_no(&page->folder, PAGE_JOB_NAME))
        tw_fail(
            findings, TW_IO, at,
            "is a link, or cannot be read, or is larger than a job can be; this page wants a plain file of its folder");
    else if (status == TW_OK && strlen(text->data) != text->length)
        tw_fail(findings, TW_BAD_INPUT, at, "holds a zero byte, so it is not a text file");
    return status == TW_OK && findings->count == 0;
}

/* Whether somebody wrote the job file while it was looked at: then it is looked at again soon. */
static bool has_changed(const struct tw_page *page, const struct tw_text *text)
{
    struct tw_text now = { 0 };
    bool same = folder_read(&page->folder, PAGE_JOB_NAME, PAGE_JOB_BYTES, &now) == TW_OK &&
                now.length == text->length && memcmp(now.data, text->data, now.length) == 0;

    tw_text_free(&now);
    return !same;
}

json_t *page_job(struct tw_page *page)
{
    struct tw_text text = { 0 };
    struct tw_findings findings = { 0 };
    bool is_read = read_text(page, &text, &findings);
    json_t *job = is_read ? read_job(page, text.data, &findings) : json_null();
    json_t *seen = version(page), *object;

    if (is_read && has_changed(page, &text)) {
        json_decref(seen);
        seen = json_string("");
    }
    object =
        json_pack("{s:o, s:b, s:b, s:o, s:o, s:o, s:o, s:o, s:b}", "version", seen, "there",
                  !folder_has_no(&page->folder, PAGE_JOB_NAME), "undo", is_read && page_can_undo(page, text.data),
                  "job", job, "findings", page_findings(page, &findings), "drawings",
                  folder_list(&page->folder, "", tw_outline_is_drawing_name), "profiles", profiles_of(page), "programs",
                  programs_of(page), "fixture", folder_holds(&page->folder, ASK_FIXTURES "/fixture.html"));
    tw_findings_free(&findings);
    tw_text_free(&text);
    return object;
}
