/* picture.c - the drawing and the knife in it, as places in mm with y up. */
#include "page/page.h"

#include "tangwright/contacts.h"
#include "tangwright/looks.h"
#include "tangwright/report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A picture wants no more; the file that is read keeps all its digits. */
#define DIGITS_MM 1e4

/* ---- lines ---- */

static json_t *place(struct tw_point at)
{
    return json_pack("[f, f]", round(at.x_mm * DIGITS_MM) / DIGITS_MM + 0.0,
                     round(at.y_mm * DIGITS_MM) / DIGITS_MM + 0.0);
}

/* Of the part frame, or NULL: as it is. */
static struct tw_point in_drawing(const struct tw_placement *placement, struct tw_point part)
{
    struct tw_point at = placement ? tw_placement_drawing(placement, part) : part;

    if (placement && placement->axis.y_down)
        at.y_mm = -at.y_mm;
    return at;
}

static json_t *ring_places(const struct tw_placement *placement, const struct tw_ring *ring, double y_sign)
{
    json_t *list = json_array();

    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point part = { ring->points[i].x_mm, y_sign * ring->points[i].y_mm };

        list = page_appended(list, place(in_drawing(placement, part)));
    }
    return list;
}

static json_t *outline_places(const struct tw_placement *placement, const struct tw_outline *outline)
{
    json_t *list = json_array();

    if (outline->outer.count > 0)
        list = page_appended(list, ring_places(placement, &outline->outer, 1.0));
    for (size_t i = 0; i < outline->hole_count; i++)
        list = page_appended(list, ring_places(placement, &outline->holes[i], 1.0));
    return list;
}

/* ---- the drawing ---- */

static json_t *drawn_lines(const struct tw_drawn_lines *lines)
{
    json_t *list = json_array();

    for (size_t i = 0; i < lines->count; i++)
        list =
            page_appended(list, json_pack("{s:o, s:b, s:o}", "points", ring_places(NULL, &lines->items[i].line, 1.0),
                                          "closed", lines->items[i].closed, "name", page_string(lines->items[i].name)));
    return list;
}

/* As the job writes it: once the axis is known the reader keeps its direction alone. */
static struct tw_point towards_of(struct tw_reading *reading)
{
    const struct tw_origin *origin = tw_input_origin(&reading->input, "outline.axis_towards");
    struct tw_outline_request again = { 0 };
    const struct tw_key *key = page_key("outline.axis_towards");

    if (origin->setting && tw_value_read(&reading->input, key, origin->setting, (struct tw_place){ 0 }, &again) &&
        reading->draft.outline.y_down)
        again.towards.y_mm = -again.towards.y_mm;
    return again.towards;
}

json_t *page_drawing(struct tw_reading *reading)
{
    const struct tw_outline_request *request = &reading->draft.outline;
    struct tw_drawn_lines lines = { 0 };
    struct tw_drawing drawing = request->drawing;
    json_t *object = NULL;

    drawing.path = request->path;
    if (!request->path || !tw_input_outline_is_sound(&reading->input) ||
        tw_outline_drawn(&drawing, &lines, NULL) != TW_OK)
        return json_null();
    object = json_pack("{s:o, s:o, s:o, s:b, s:f}", "lines", drawn_lines(&lines), "start", place(request->start),
                       "towards", place(towards_of(reading)), "by_point",
                       tw_input_origin(&reading->input, "outline.axis_towards")->setting != NULL, "angle_rad",
                       request->angle_rad);
    tw_drawn_lines_free(&lines);
    return object;
}

/* ---- how the knife lies ---- */

static const char *meeting_name(enum tw_meeting meeting)
{
    static const char *const names[] = {
        [TW_MEETING_INSIDE] = "inside", [TW_MEETING_TOUCHES] = "touches", [TW_MEETING_MISSES] = "misses",
        [TW_MEETING_UNDER] = "under",   [TW_MEETING_OVER] = "over",       [TW_MEETING_NOT_DRAWN] = "not drawn",
    };

    return names[meeting];
}

/* With side B up the blank is rolled over, so its keep-outs lie mirrored in the drawing. */
static json_t *keep_out(const struct tw_job *job, const struct tw_fixture_contact *contact, double y_sign)
{
    char words[256] = "";

    if (tw_keep_out_is_stop(contact->keep_out))
        tw_contact_words(contact, job->machine.dialect.inch, words, sizeof words);
    return json_pack("{s:o, s:b, s:s, s:o, s:o}", "name", page_string(contact->keep_out->name), "stop",
                     tw_keep_out_is_stop(contact->keep_out), "meeting", meeting_name(contact->meeting), "words",
                     page_string(words), "plan", ring_places(&job->placement, &contact->keep_out->plan, y_sign));
}

static json_t *fixture_of(const struct tw_job *job, enum tw_side side, struct tw_findings *findings)
{
    struct tw_contacts contacts;
    json_t *list;

    if (tw_contacts_make(job, side, &contacts, findings) != TW_OK)
        return NULL;
    list = json_array();
    for (size_t i = 0; i < contacts.count; i++)
        list = page_appended(list, keep_out(job, &contacts.items[i], side == TW_SIDE_A ? 1.0 : -1.0));
    tw_contacts_free(&contacts);
    return list;
}

/* Which way the spine lies in the drawing; null where that is not known. */
static json_t *spine_of(const struct tw_placement *placement)
{
    struct tw_point from = in_drawing(placement, (struct tw_point){ 0.0, 0.0 });
    struct tw_point to = in_drawing(placement, (struct tw_point){ 0.0, placement->spine });

    return placement->spine == 0 ? json_null() : json_pack("[f, f]", to.x_mm - from.x_mm, to.y_mm - from.y_mm);
}

/* The same remarks as `tangwright check` makes. */
static enum tw_status remark(const struct tw_job *job, struct tw_findings *findings)
{
    enum tw_status status = tw_looks_remark(job, findings);

    return status == TW_OK ? tw_contacts_remark(job, findings) : status;
}

/* Line by line; the text is cut up. */
static json_t *lines_of(char *text)
{
    json_t *list = json_array();

    for (char *end; *text; text = end + (*end != '\0')) {
        char last;

        end = text + strcspn(text, "\n");
        last = *end;
        *end = '\0';
        list = page_appended(list, page_string(text));
        *end = last;
    }
    return list;
}

static json_t *words_of(const struct tw_job *job, bool sound, struct tw_findings *findings)
{
    char *words = NULL;
    json_t *list = NULL;

    if (!sound)
        return json_array();
    if (remark(job, findings) == TW_OK && tw_placement_table(job, &words, findings) == TW_OK)
        list = lines_of(words);
    free(words);
    return list;
}

json_t *page_placement(const struct tw_job *job, bool sound, struct tw_findings *findings)
{
    const struct tw_placement *placement = &job->placement;
    double length_mm = job->taper.length_mm > 0.0 ? job->taper.length_mm : placement->behind_mm;

    return json_pack("{s:s, s:b, s:b, s:f, s:f, s:f, s:f, s:f, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "inputs",
                     job->digest, "inch", job->machine.dialect.inch, "whole", placement->shown == TW_SHOWN_KNIFE,
                     "ahead_mm", placement->ahead_mm, "behind_mm", placement->behind_mm, "length_mm", length_mm,
                     "ricasso_mm", job->taper.ricasso_mm, "butt_mm", job->taper.butt_mm, "tip",
                     place(in_drawing(placement, placement->tip)), "butt",
                     place(in_drawing(placement, placement->butt)), "spine", spine_of(placement), "tang",
                     outline_places(placement, &job->part.tang), "blade", outline_places(placement, &job->part.blade),
                     "side_a", fixture_of(job, TW_SIDE_A, findings), "side_b", fixture_of(job, TW_SIDE_B, findings),
                     "words", words_of(job, sound, findings));
}

/* ---- what was found ---- */

/* The sentence without where it stands, which is told apart. */
const char *page_sentence(const struct tw_finding *finding)
{
    const char *text = finding->text;
    char line[24];

    if (finding->file && strncmp(text, finding->file, strlen(finding->file)) == 0)
        text += strlen(finding->file);
    snprintf(line, sizeof line, ":%d", finding->line);
    if (finding->line > 0 && strncmp(text, line, strlen(line)) == 0)
        text += strlen(line);
    if (finding->file && strncmp(text, ": ", 2) == 0)
        text += 2;
    if (finding->key && strncmp(text, finding->key, strlen(finding->key)) == 0)
        text += strlen(finding->key) + (strncmp(text + strlen(finding->key), ": ", 2) == 0 ? 2 : 0);
    return text;
}

static json_t *string_without_folder(const struct tw_page *page, const char *words)
{
    char *plain = words ? folder_words(&page->folder, words) : NULL;
    json_t *string = plain || !words ? page_string(plain) : NULL;

    free(plain);
    return string;
}

json_t *page_findings(const struct tw_page *page, const struct tw_findings *findings)
{
    json_t *list = json_array();

    for (size_t i = 0; i < findings->count; i++) {
        const struct tw_finding *finding = &findings->items[i];

        list = page_appended(list, json_pack("{s:b, s:o, s:i, s:o, s:o}", "fault", finding->status != TW_OK, "file",
                                             string_without_folder(page, finding->file), "line", finding->line, "key",
                                             string_without_folder(page, finding->key), "text",
                                             string_without_folder(page, page_sentence(finding))));
    }
    if (findings->out_of_memory)
        list = page_appended(list, json_pack("{s:b, s:n, s:i, s:n, s:s}", "fault", 1, "file", "line", 0, "key", "text",
                                             "memory ran out"));
    return list;
}
