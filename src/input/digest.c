/* digest.c - a short fingerprint of everything the plan depends on.
 *
 * SHA-256 (FIPS 180-4) over one line per value, in the order of the schema and in the program's units, and over
 * the drawing's bytes. Comments, the order of keys, the units a person chose and the places of files count for
 * nothing. */
#include "base/file.h"
#include "base/fingerprint.h"
#include "input/input.h"

#include <stdint.h>
#include <string.h>

static void print_ring(struct tw_text *text, const struct tw_ring *ring)
{
    for (size_t i = 0; i < ring->count; i++)
        tw_text_print(text, " %.17g %.17g", ring->points[i].x_mm, ring->points[i].y_mm);
}

static void print_value(struct tw_text *text, const struct tw_key *key, const void *base)
{
    const void *member = (const char *)base + key->offset;
    const struct tw_point *point = member;
    const struct tw_axis *axis = base;
    const char *string;

    switch (key->kind) {
    case TW_KIND_TEXT:
        string = *(char *const *)member;
        tw_text_print(text, "%zu:%s", string ? strlen(string) : 0, string ? string : "");
        break;
    case TW_KIND_WORD:
    case TW_KIND_COUNT:
        tw_text_print(text, "%d", *(const int *)member);
        break;
    case TW_KIND_WORD_FLAG:
    case TW_KIND_FLAG:
        tw_text_print(text, "%d", *(const bool *)member);
        break;
    case TW_KIND_RATIO:
    case TW_KIND_MEASURE:
        tw_text_print(text, "%.17g", *(const double *)member);
        break;
    case TW_KIND_POINT:
        tw_text_print(text, "%.17g %.17g", point->x_mm, point->y_mm);
        break;
    case TW_KIND_AXIS:
        tw_text_print(text, "%d%c", axis->sign, axis->letter);
        break;
    case TW_KIND_POLYGON: /* the three shapes of a keep-out fill the same member: once is enough */
    case TW_KIND_PAIRS:
        print_ring(text, member);
        break;
    case TW_KIND_BOX:
    case TW_KIND_CIRCLE:
    case TW_KIND_PATH:
    case TW_KIND_LIST:
        break;
    }
}

/* What a fixture is loaded with, where it was not measured: every job would get another digest for nothing. */
static bool is_idle(const struct tw_group *group, const struct tw_key *key, const void *base)
{
    return *group->path == '\0' && ((const struct tw_job *)base)->blank_count == 0 &&
           (strcmp(key->name, "blanks") == 0 || strcmp(key->name, "heights") == 0);
}

static void print_group(struct tw_text *text, const struct tw_group *group, size_t number, const void *base)
{
    for (size_t i = 0; i < group->key_count; i++) {
        if (is_idle(group, &group->keys[i], base))
            continue;
        tw_text_print(text, "%s%zu.%s=", group->path, number, group->keys[i].name);
        print_value(text, &group->keys[i], base);
        tw_text_print(text, "\n");
    }
}

static void print_groups(struct tw_text *text, const struct tw_draft *draft)
{
    const struct tw_fixture *fixture = &draft->job.fixture;
    const struct tw_handle *handle = &draft->job.handle;

    for (size_t i = 0; i < tw_group_count; i++) {
        const struct tw_group *group = &tw_groups[i];

        if (strcmp(group->path, "fixture.keep_outs[]") == 0)
            for (size_t k = 0; k < fixture->keep_out_count; k++)
                print_group(text, group, k, &fixture->keep_outs[k]);
        else if (strcmp(group->path, "fixture.stations[]") == 0)
            for (size_t k = 0; k < fixture->station_count; k++)
                print_group(text, group, k, &fixture->stations[k]);
        else if (strcmp(group->path, "blanks[]") == 0)
            for (size_t k = 0; k < draft->job.blank_count; k++)
                print_group(text, group, k, &draft->job.blanks[k]);
        else if (strcmp(group->path, "handle.pins[]") == 0)
            for (size_t k = 0; k < handle->pin_count; k++)
                print_group(text, group, k, &handle->pins[k]);
        else if (strcmp(group->path, "relief_wheel") != 0 || draft->job.relief_wheel.diameter_mm > 0.0)
            print_group(text, group, 0, (const char *)draft + group->offset);
    }
}

/* What was measured, whatever units and order it was written in. */
static void print_survey(struct tw_text *text, const struct tw_survey *survey)
{
    for (size_t i = 0; i < survey->count; i++)
        tw_text_print(text, "survey%zu=%.17g %.17g %.17g %.17g %d\n", i, survey->rows[i].x_mm, survey->rows[i].y_mm,
                      survey->rows[i].a_mm, survey->rows[i].b_mm, survey->thickness_known);
}

#define DIGITS 16

static void hash(const struct tw_text *text, char digest[DIGITS + 1])
{
    char fingerprint[TW_FINGERPRINT_BYTES];

    tw_fingerprint(text->data, text->length, fingerprint);
    memcpy(digest, fingerprint, DIGITS);
    digest[DIGITS] = '\0';
}

enum tw_status tw_digest_job(const struct tw_draft *draft, char digest[17], struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    enum tw_status status;

    print_groups(&text, draft);
    print_survey(&text, &draft->job.survey);
    for (size_t i = 0; i < draft->job.blank_count; i++)
        print_survey(&text, &draft->job.blanks[i].survey);
    status = tw_file_read(draft->outline.path, &text, findings);
    if (status == TW_OK)
        hash(&text, digest);
    tw_text_free(&text);
    return status;
}
