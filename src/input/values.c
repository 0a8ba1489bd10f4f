/* values.c - one setting of a file turned into one member, or a sentence that says what it should have been. */
#include "base/memory.h"
#include "base/numbers.h"
#include "base/nearest.h"
#include "base/plain.h"
#include "input/input.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CIRCLE_CORNERS 64

_Static_assert(sizeof(enum tw_spindle) == sizeof(int), "words are stored as int");

static const char *wanted_text(const struct tw_key *key)
{
    switch (key->kind) {
    case TW_KIND_TEXT:
    case TW_KIND_PATH:
        return "a text in quotes";
    case TW_KIND_WORD:
    case TW_KIND_WORD_FLAG:
        return "a word in quotes";
    case TW_KIND_AXIS:
        return "a letter in quotes";
    case TW_KIND_FLAG:
        return "true or false, without quotes,";
    case TW_KIND_COUNT:
        return "a whole number without quotes";
    case TW_KIND_RATIO:
        return "a number without quotes or unit";
    case TW_KIND_MEASURE:
        return tw_quantity_name(key->quantity);
    case TW_KIND_POINT:
        return "a point of two lengths";
    case TW_KIND_BOX:
        return "two opposite corners, four lengths,";
    case TW_KIND_CIRCLE:
        return "centre and diameter, three lengths,";
    case TW_KIND_POLYGON:
        return "a list of three or more corners";
    case TW_KIND_PAIRS:
        return "a list of pairs of lengths";
    case TW_KIND_LIST:
        return "a list of groups";
    }
    return "something else";
}

static void describe(const config_setting_t *setting, struct tw_text *text)
{
    double number = config_setting_get_float(setting);

    switch (config_setting_type(setting)) {
    case CONFIG_TYPE_INT:
    case CONFIG_TYPE_INT64:
        tw_text_print(text, "%lld", config_setting_get_int64(setting));
        break;
    case CONFIG_TYPE_FLOAT:
        tw_text_print(text, number == floor(number) && fabs(number) < 1e6 ? "%.1f" : "%.10g", number);
        break;
    case CONFIG_TYPE_BOOL:
        tw_text_print(text, config_setting_get_bool(setting) ? "true" : "false");
        break;
    case CONFIG_TYPE_STRING:
        tw_text_print(text, "\"%s\"", config_setting_get_string(setting));
        break;
    case CONFIG_TYPE_GROUP:
        tw_text_print(text, "a group");
        break;
    case CONFIG_TYPE_ARRAY:
        tw_text_print(text, "an array");
        break;
    default:
        tw_text_print(text, "a list");
    }
}

static bool stands_in_quotes(const struct tw_key *key)
{
    return key->kind == TW_KIND_MEASURE || key->kind == TW_KIND_WORD || key->kind == TW_KIND_WORD_FLAG;
}

void tw_value_example(const struct tw_key *key, struct tw_text *text)
{
    if (key->example)
        tw_text_print(text, "%s = %s;", key->name, key->example);
    else if (stands_in_quotes(key))
        tw_text_print(text, "%s = \"%s\";", key->name, key->preset ? key->preset : key->words[0].word);
    else
        tw_text_print(text, "%s = %s;", key->name, key->preset);
}

static bool wrong_kind(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                       struct tw_place at)
{
    struct tw_text complaint = { 0 };

    describe(setting, &complaint);
    tw_text_print(&complaint, " stands here, but %s is wanted, such as ", wanted_text(key));
    tw_value_example(key, &complaint);
    tw_input_fault(input, at, &complaint);
    return false;
}

static bool store_text(struct tw_input *input, const char *text, char **member)
{
    char *copy = tw_copy_string(text);

    if (!copy) {
        input->no_memory = true;
        return false;
    }
    free(*member);
    *member = copy;
    return true;
}

static bool read_text(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                      struct tw_place at, char **member)
{
    const char *text = config_setting_get_string(setting);

    if (!text)
        return wrong_kind(input, key, setting, at);
    if (*text == '\0') {
        tw_input_faultf(input, at, "is empty; %s is wanted, such as %s = %s;", wanted_text(key), key->name,
                        key->example);
        return false;
    }
    for (const char *c = text; *c; c++) {
        if ((unsigned char)*c < ' ' || *c == 0x7f) {
            tw_input_faultf(input, at, "holds a line break or control character; keep it to one line");
            return false;
        }
    }
    if (key->kind == TW_KIND_TEXT && strlen(text) > (size_t)tw_key_longest_text(key)) {
        tw_input_faultf(input, at, "is %zu bytes long; at most %d are allowed", strlen(text), tw_key_longest_text(key));
        return false;
    }
    if (key->kind == TW_KIND_TEXT && !tw_is_utf8(text)) {
        tw_input_faultf(input, at,
                        "holds letters that are not UTF-8; save the file as UTF-8, or write it without accents");
        return false;
    }
    if (key->kind == TW_KIND_TEXT && !tw_is_plain(text)) {
        tw_input_faultf(
            input, at,
            "holds a character that steers a terminal, or turns the direction of writing; write it anew by hand");
        return false;
    }
    return store_text(input, text, member);
}

static const struct tw_word *find_word(const struct tw_word *words, const char *word)
{
    for (; words->word; words++)
        if (strcmp(words->word, word) == 0)
            return words;
    return NULL;
}

static void complain_of_word(const struct tw_key *key, const char *word, struct tw_text *complaint)
{
    struct tw_nearest nearest = tw_nearest_to(word);

    for (const struct tw_word *w = key->words; w->word; w++)
        tw_nearest_offer(&nearest, w->word);
    tw_text_print(complaint, "\"%s\" is not a known word", word);
    if (nearest.name)
        tw_text_print(complaint, "; did you mean \"%s\"? Allowed are", nearest.name);
    else
        tw_text_print(complaint, "; allowed are");
    for (const struct tw_word *w = key->words; w->word; w++)
        tw_text_print(complaint, "%s \"%s\"", w == key->words ? "" : ",", w->word);
}

static bool read_word(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                      struct tw_place at, void *member)
{
    const char *text = config_setting_get_string(setting);
    const struct tw_word *word = text ? find_word(key->words, text) : NULL;
    struct tw_text complaint = { 0 };

    if (!text)
        return wrong_kind(input, key, setting, at);
    if (!word) {
        complain_of_word(key, text, &complaint);
        tw_input_fault(input, at, &complaint);
        return false;
    }
    if (key->kind == TW_KIND_WORD)
        *(int *)member = word->value;
    else
        *(bool *)member = word->value != 0;
    return true;
}

static bool read_flag(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                      struct tw_place at, bool *member)
{
    if (config_setting_type(setting) != CONFIG_TYPE_BOOL)
        return wrong_kind(input, key, setting, at);
    *member = config_setting_get_bool(setting);
    return true;
}

static bool read_count(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                       struct tw_place at, int *member)
{
    int type = config_setting_type(setting);
    long long count = config_setting_get_int64(setting);

    if (type != CONFIG_TYPE_INT && type != CONFIG_TYPE_INT64)
        return wrong_kind(input, key, setting, at);
    if (count < (long long)key->least || count > (long long)key->most) {
        tw_input_faultf(input, at, "%lld is out of range: %g to %g is allowed", count, key->least, key->most);
        return false;
    }
    *member = (int)count;
    return true;
}

static bool read_ratio(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                       struct tw_place at, double *member)
{
    int type = config_setting_type(setting);
    double ratio = config_setting_get_float(setting);

    if (type == CONFIG_TYPE_INT || type == CONFIG_TYPE_INT64)
        ratio = (double)config_setting_get_int64(setting);
    else if (type != CONFIG_TYPE_FLOAT)
        return wrong_kind(input, key, setting, at);
    if (!(ratio >= key->least && ratio <= key->most)) {
        tw_input_faultf(input, at, "%.10g is out of range: %g to %g is allowed", ratio, key->least, key->most);
        return false;
    }
    *member = ratio;
    return true;
}

/* The range in the unit that the person wrote. */
static bool in_range(const struct tw_key *key, const char *written, const struct tw_measure *measure,
                     struct tw_text *complaint)
{
    const struct tw_unit *unit = tw_unit_find(key->unit, key->quantity);
    double least = tw_unit_to_inside(unit, key->least);
    double most = tw_unit_to_inside(unit, key->most);

    if (!tw_input_below(measure->value, least) && !tw_input_below(most, measure->value))
        return true;
    tw_text_print(complaint, "\"%s\" is out of range: %.6g %s to %.6g %s is allowed", written,
                  tw_unit_from_inside(measure->unit, least), measure->unit->name,
                  tw_unit_from_inside(measure->unit, most), measure->unit->name);
    return false;
}

static bool measure_from_text(const struct tw_key *key, const char *text, double *value, struct tw_text *complaint)
{
    struct tw_measure measure;

    if (!tw_measure_read(text, key->quantity, key->unit, &measure, complaint) ||
        !in_range(key, text, &measure, complaint))
        return false;
    *value = measure.value + 0.0; /* "-0 mm" is 0 mm */
    return true;
}

static bool read_measure(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                         struct tw_place at, double *member)
{
    const char *text = config_setting_get_string(setting);
    struct tw_text complaint = { 0 };
    double value;

    if (config_setting_is_number(setting)) {
        describe(setting, &complaint);
        tw_text_print(&complaint, " is a bare number; %s carries its unit: write %s = \"",
                      tw_quantity_name(key->quantity), key->name);
        describe(setting, &complaint);
        tw_text_print(&complaint, " %s\";", key->unit);
    } else if (!text) {
        return wrong_kind(input, key, setting, at);
    } else if (measure_from_text(key, text, &value, &complaint)) {
        *member = value;
        return true;
    }
    tw_input_fault(input, at, &complaint);
    return false;
}

/* Whether the setting is an array or list of `count` members; then each is read as a length. */
static bool read_lengths(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                         struct tw_place at, int count, double *lengths)
{
    struct tw_text complaint = { 0 };

    if ((!config_setting_is_array(setting) && !config_setting_is_list(setting)) ||
        config_setting_length(setting) != count)
        return wrong_kind(input, key, setting, at);
    for (int i = 0; i < count; i++) {
        const config_setting_t *element = config_setting_get_elem(setting, (unsigned)i);
        const char *text = config_setting_get_string(element);

        if (text && measure_from_text(key, text, &lengths[i], &complaint))
            continue;
        if (!text) {
            describe(element, &complaint);
            tw_text_print(&complaint, " stands where a length is wanted; each carries its unit and quotes, such as ");
            tw_value_example(key, &complaint);
        }
        tw_input_fault(input, at, &complaint);
        return false;
    }
    return true;
}

static bool read_point(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                       struct tw_place at, struct tw_point *member)
{
    double xy[2];

    if (!read_lengths(input, key, setting, at, 2, xy))
        return false;
    *member = (struct tw_point){ xy[0], xy[1] };
    return true;
}

static bool read_axis(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                      struct tw_place at, struct tw_axis *axis)
{
    const char *text = config_setting_get_string(setting);
    const char *letter = text;

    if (!text)
        return wrong_kind(input, key, setting, at);
    letter += *letter == '-' || *letter == '+';
    if (letter[0] < 'X' || letter[0] > 'Z' || letter[1] != '\0') {
        tw_input_faultf(input, at,
                        "\"%s\" is not an axis letter; write \"X\", \"Y\" or \"Z\", with a minus sign "
                        "such as \"-Z\" where the word falls as the direction rises",
                        text);
        return false;
    }
    axis->letter = *letter;
    axis->sign = *text == '-' ? -1 : 1;
    return true;
}

/* ---- plan shapes ---- */

static bool start_ring(struct tw_input *input, size_t count, struct tw_ring *ring)
{
    ring->points = calloc(count, sizeof *ring->points);
    ring->count = ring->points ? count : 0;
    if (!ring->points)
        input->no_memory = true;
    return ring->points != NULL;
}

static bool read_box(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                     struct tw_place at, struct tw_ring *ring)
{
    double c[4];
    double left, right, low, high;

    if (!read_lengths(input, key, setting, at, 4, c))
        return false;
    left = fmin(c[0], c[2]), right = fmax(c[0], c[2]);
    low = fmin(c[1], c[3]), high = fmax(c[1], c[3]);
    if (!(right > left && high > low)) {
        tw_input_faultf(input, at,
                        "its two corners lie in one line, so the box has no area; they are opposite "
                        "corners x1, y1, x2, y2");
        return false;
    }
    if (!start_ring(input, 4, ring))
        return false;
    ring->points[0] = (struct tw_point){ left, low };
    ring->points[1] = (struct tw_point){ right, low };
    ring->points[2] = (struct tw_point){ right, high };
    ring->points[3] = (struct tw_point){ left, high };
    return true;
}

static bool read_circle(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                        struct tw_place at, struct tw_ring *ring)
{
    double c[3];
    double corner_radius_mm;

    if (!read_lengths(input, key, setting, at, 3, c))
        return false;
    if (!(c[2] > 0)) {
        tw_input_faultf(input, at, "the diameter, its third value, must be above zero");
        return false;
    }
    if (!start_ring(input, CIRCLE_CORNERS, ring))
        return false;
    /* Sides touch the circle, so that the polygon nowhere lies inside it. */
    corner_radius_mm = c[2] / 2 / cos(TW_PI / CIRCLE_CORNERS);
    for (size_t i = 0; i < CIRCLE_CORNERS; i++) {
        double angle_rad = 2 * TW_PI * (double)i / CIRCLE_CORNERS;

        ring->points[i] =
            (struct tw_point){ c[0] + corner_radius_mm * cos(angle_rad), c[1] + corner_radius_mm * sin(angle_rad) };
    }
    return true;
}

/* Twice the area of the triangle a, b, c: above zero when they turn left. */
static double turn(struct tw_point a, struct tw_point b, struct tw_point c)
{
    return (b.x_mm - a.x_mm) * (c.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (c.x_mm - a.x_mm);
}

static double twice_area_mm2(const struct tw_ring *ring)
{
    double sum = 0;

    for (size_t i = 0; i < ring->count; i++)
        sum += turn(ring->points[0], ring->points[i], ring->points[(i + 1) % ring->count]);
    return sum;
}

static bool sides_cross(struct tw_point a, struct tw_point b, struct tw_point c, struct tw_point d)
{
    return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}

static bool crosses_itself(const struct tw_ring *ring)
{
    for (size_t i = 0; i < ring->count; i++)
        for (size_t j = i + 2; j < ring->count; j++)
            if (sides_cross(ring->points[i], ring->points[i + 1], ring->points[j], ring->points[(j + 1) % ring->count]))
                return true;
    return false;
}

static void turn_counterclockwise(struct tw_ring *ring)
{
    if (twice_area_mm2(ring) > 0)
        return;
    for (size_t i = 0, j = ring->count - 1; i < j; i++, j--) {
        struct tw_point swapped = ring->points[i];

        ring->points[i] = ring->points[j];
        ring->points[j] = swapped;
    }
}

static bool read_corners(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                         struct tw_place at, struct tw_ring *ring)
{
    for (size_t i = 0; i < ring->count; i++) {
        const config_setting_t *corner = config_setting_get_elem(setting, (unsigned)i);

        if (!read_point(input, key, corner, at, &ring->points[i]))
            return false;
    }
    if (crosses_itself(ring) || twice_area_mm2(ring) == 0) {
        tw_input_faultf(input, at, "its sides cross or enclose nothing; name the corners in their order around it");
        return false;
    }
    turn_counterclockwise(ring);
    return true;
}

static bool read_polygon(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                         struct tw_place at, struct tw_ring *ring)
{
    if (!config_setting_is_list(setting) || config_setting_length(setting) < 3)
        return wrong_kind(input, key, setting, at);
    return start_ring(input, (size_t)config_setting_length(setting), ring) &&
           read_corners(input, key, setting, at, ring);
}

/* The pairs are kept like points; the first of each must rise. */
static bool read_pairs(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                       struct tw_place at, struct tw_ring *ring)
{
    if (!config_setting_is_list(setting) || config_setting_length(setting) < 1)
        return wrong_kind(input, key, setting, at);
    if (!start_ring(input, (size_t)config_setting_length(setting), ring))
        return false;
    for (size_t i = 0; i < ring->count; i++) {
        if (!read_point(input, key, config_setting_get_elem(setting, (unsigned)i), at, &ring->points[i]))
            return false;
        if (i > 0 && !(ring->points[i].x_mm > ring->points[i - 1].x_mm)) {
            tw_input_faultf(input, at, "%.6g mm stands after %.6g mm; give each place once, in rising order",
                            ring->points[i].x_mm, ring->points[i - 1].x_mm);
            return false;
        }
    }
    return true;
}

static bool read_shape(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                       struct tw_place at, struct tw_ring *member)
{
    struct tw_ring ring = { 0 };
    bool ok = key->kind == TW_KIND_BOX      ? read_box(input, key, setting, at, &ring)
              : key->kind == TW_KIND_CIRCLE ? read_circle(input, key, setting, at, &ring)
              : key->kind == TW_KIND_PAIRS  ? read_pairs(input, key, setting, at, &ring)
                                            : read_polygon(input, key, setting, at, &ring);

    if (!ok) {
        free(ring.points);
        return false;
    }
    free(member->points);
    *member = ring;
    return true;
}

/* ---- any of them ---- */

bool tw_value_read(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                   struct tw_place at, void *base)
{
    void *member = (char *)base + key->offset;

    switch (key->kind) {
    case TW_KIND_TEXT:
    case TW_KIND_PATH:
        return read_text(input, key, setting, at, member);
    case TW_KIND_WORD:
    case TW_KIND_WORD_FLAG:
        return read_word(input, key, setting, at, member);
    case TW_KIND_FLAG:
        return read_flag(input, key, setting, at, member);
    case TW_KIND_COUNT:
        return read_count(input, key, setting, at, member);
    case TW_KIND_RATIO:
        return read_ratio(input, key, setting, at, member);
    case TW_KIND_MEASURE:
        return read_measure(input, key, setting, at, member);
    case TW_KIND_POINT:
        return read_point(input, key, setting, at, member);
    case TW_KIND_AXIS:
        return read_axis(input, key, setting, at, base);
    case TW_KIND_BOX:
    case TW_KIND_CIRCLE:
    case TW_KIND_POLYGON:
    case TW_KIND_PAIRS:
        return read_shape(input, key, setting, at, member);
    case TW_KIND_LIST:
        return tw_list_read(input, key, setting, at, base);
    }
    return false;
}

bool tw_value_preset(struct tw_input *input, const struct tw_key *key, void *base)
{
    void *member = (char *)base + key->offset;
    double value = 0;

    switch (key->kind) {
    case TW_KIND_WORD:
        *(int *)member = find_word(key->words, key->preset)->value;
        return true;
    case TW_KIND_WORD_FLAG:
        *(bool *)member = find_word(key->words, key->preset)->value != 0;
        return true;
    case TW_KIND_FLAG:
        *(bool *)member = strcmp(key->preset, "true") == 0;
        return true;
    case TW_KIND_COUNT:
        *(int *)member = (int)strtol(key->preset, NULL, 10);
        return true;
    case TW_KIND_RATIO:
        *(double *)member = strtod(key->preset, NULL);
        return true;
    case TW_KIND_MEASURE:
        measure_from_text(key, key->preset, member, NULL);
        return true;
    case TW_KIND_POINT:
        measure_from_text(key, key->preset, &value, NULL);
        *(struct tw_point *)member = (struct tw_point){ value, value };
        return true;
    default:
        return store_text(input, key->preset, member);
    }
}
