/* lists.c - the keep-outs and stations of a fixture, the blanks on it, the pins of a handle. */
#include "input/input.h"

#include <stdlib.h>
#include <string.h>

#define STATIONS_MOST 9
#define PINS_MOST     99

static void free_keep_out(struct tw_keep_out *keep_out)
{
    free(keep_out->name);
    free(keep_out->plan.points);
}

void tw_fixture_drop_keep_outs(struct tw_fixture *fixture)
{
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        free_keep_out(&fixture->keep_outs[i]);
    free(fixture->keep_outs);
    fixture->keep_outs = NULL;
    fixture->keep_out_count = 0;
}

void tw_fixture_drop_stations(struct tw_fixture *fixture)
{
    free(fixture->stations);
    fixture->stations = NULL;
    fixture->station_count = 0;
}

static bool read_member_key(struct tw_input *input, const struct tw_key *key, const config_setting_t *member,
                            struct tw_place at, void *base)
{
    const config_setting_t *setting = config_setting_get_member(member, key->name);
    struct tw_text path = { 0 }, complaint = { 0 };
    bool ok = true;

    tw_text_print(&path, "%s.%s", at.key, key->name);
    at.key = path.data;
    if (path.failed) {
        input->no_memory = true;
        ok = false;
    } else if (setting) {
        at.line = (int)config_setting_source_line(setting);
        ok = tw_value_read(input, key, setting, at, base);
    } else if (tw_key_is_required(key)) {
        tw_text_print(&complaint, "is missing; write for example ");
        tw_value_example(key, &complaint);
        tw_input_fault(input, at, &complaint);
        ok = false;
    }
    tw_text_free(&path);
    return ok;
}

/* Reads one { } of the list into the struct at `base`. `at.key` is "fixture.stations[2]". */
static bool read_member(struct tw_input *input, const struct tw_group *group, const config_setting_t *member,
                        struct tw_place at, void *base)
{
    bool ok = true;

    at.line = (int)config_setting_source_line(member);
    if (!config_setting_is_group(member)) {
        tw_input_faultf(input, at, "a group { ... } is wanted here");
        return false;
    }
    tw_input_refuse_unknown(input, group, member, at.file, at.key, false);
    for (size_t i = 0; i < group->key_count; i++)
        ok = read_member_key(input, &group->keys[i], member, at, base) && ok;
    return ok;
}

static bool has_one_shape(struct tw_input *input, const config_setting_t *member, struct tw_place at)
{
    int shapes = (config_setting_get_member(member, "box") != NULL) +
                 (config_setting_get_member(member, "circle") != NULL) +
                 (config_setting_get_member(member, "polygon") != NULL);

    at.line = (int)config_setting_source_line(member);
    if (shapes != 1)
        tw_input_faultf(
            input, at,
            "%s; write one of box, circle and polygon, such as box = [\"-90 mm\", \"-30 mm\", \"-70 mm\", \"30 mm\"];",
            shapes ? "has more than one shape" : "has no shape");
    return shapes == 1;
}

static bool read_keep_out(struct tw_input *input, const struct tw_group *group, const config_setting_t *member,
                          struct tw_place at, struct tw_keep_out *keep_out)
{
    return read_member(input, group, member, at, keep_out) && has_one_shape(input, member, at);
}

static bool read_keep_outs(struct tw_input *input, const struct tw_group *group, const config_setting_t *list,
                           struct tw_place at, struct tw_fixture *fixture)
{
    size_t count = (size_t)config_setting_length(list);
    bool ok = true;

    tw_fixture_drop_keep_outs(fixture);
    if (count == 0)
        return true;
    fixture->keep_outs = calloc(count, sizeof *fixture->keep_outs);
    if (!fixture->keep_outs) {
        input->no_memory = true;
        return false;
    }
    fixture->keep_out_count = count;
    for (size_t i = 0; i < count; i++) {
        char key[64];

        snprintf(key, sizeof key, "fixture.keep_outs[%zu]", i + 1);
        at.key = key;
        ok = read_keep_out(input, group, config_setting_get_elem(list, (unsigned)i), at, &fixture->keep_outs[i]) && ok;
    }
    return ok;
}

static bool read_stations(struct tw_input *input, const struct tw_group *group, const config_setting_t *list,
                          struct tw_place at, struct tw_fixture *fixture)
{
    size_t count = (size_t)config_setting_length(list);
    bool ok = true;

    tw_fixture_drop_stations(fixture);
    if (count < 1 || count > STATIONS_MOST) {
        tw_input_faultf(input, at, "holds %zu stations; 1 to %d are allowed", count, STATIONS_MOST);
        return false;
    }
    fixture->stations = calloc(count, sizeof *fixture->stations);
    if (!fixture->stations) {
        input->no_memory = true;
        return false;
    }
    fixture->station_count = count;
    for (size_t i = 0; i < count; i++) {
        char key[64];

        snprintf(key, sizeof key, "fixture.stations[%zu]", i + 1);
        at.key = key;
        ok = read_member(input, group, config_setting_get_elem(list, (unsigned)i), at, &fixture->stations[i]) && ok;
    }
    return ok;
}

void tw_handle_drop_pins(struct tw_handle *handle)
{
    free(handle->pins);
    handle->pins = NULL;
    handle->pin_count = 0;
}

static bool read_pins(struct tw_input *input, const struct tw_group *group, const config_setting_t *list,
                      struct tw_place at, struct tw_handle *handle)
{
    size_t count = (size_t)config_setting_length(list);
    bool ok = true;

    tw_handle_drop_pins(handle);
    if (count > PINS_MOST) {
        tw_input_faultf(input, at, "holds %zu pins; 0 to %d are allowed", count, PINS_MOST);
        return false;
    }
    if (count == 0)
        return true;
    handle->pins = calloc(count, sizeof *handle->pins);
    if (!handle->pins) {
        input->no_memory = true;
        return false;
    }
    handle->pin_count = count;
    for (size_t i = 0; i < count; i++) {
        char key[64];

        snprintf(key, sizeof key, "handle.pins[%zu]", i + 1);
        at.key = key;
        ok = read_member(input, group, config_setting_get_elem(list, (unsigned)i), at, &handle->pins[i]) && ok;
    }
    return ok;
}

void tw_job_drop_blanks(struct tw_job *job)
{
    for (size_t i = 0; i < job->blank_count; i++)
        tw_survey_free(&job->blanks[i].survey);
    free(job->blanks);
    job->blanks = NULL;
    job->blank_count = 0;
}

static bool read_blanks(struct tw_input *input, const struct tw_group *group, const config_setting_t *list,
                        struct tw_place at, struct tw_job *job)
{
    size_t count = (size_t)config_setting_length(list);
    bool ok = true;

    tw_job_drop_blanks(job);
    if (count < 1 || count > STATIONS_MOST) {
        tw_input_faultf(input, at, "holds %zu blanks; 1 to %d are allowed, one for each part", count, STATIONS_MOST);
        return false;
    }
    job->blanks = calloc(count, sizeof *job->blanks);
    if (!job->blanks) {
        input->no_memory = true;
        return false;
    }
    job->blank_count = count;
    for (size_t i = 0; i < count; i++) {
        char key[64];

        snprintf(key, sizeof key, "blanks[%zu]", i + 1);
        at.key = key;
        ok = read_member(input, group, config_setting_get_elem(list, (unsigned)i), at, &job->blanks[i]) && ok;
    }
    return ok;
}

bool tw_list_read(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting, struct tw_place at,
                  void *base)
{
    if (!config_setting_is_list(setting)) {
        tw_input_faultf(input, at, "a list of groups is wanted, such as %s = %s;", key->name, key->example);
        return false;
    }
    if (strcmp(key->name, "pins") == 0)
        return read_pins(input, tw_group_find("handle.pins[]", strlen("handle.pins[]")), setting, at, base);
    if (strcmp(key->name, "blanks") == 0)
        return read_blanks(input, tw_group_find("blanks[]", strlen("blanks[]")), setting, at, base);
    if (strcmp(key->name, "keep_outs") == 0)
        return read_keep_outs(input, tw_group_find("fixture.keep_outs[]", strlen("fixture.keep_outs[]")), setting, at,
                              base);
    return read_stations(input, tw_group_find("fixture.stations[]", strlen("fixture.stations[]")), setting, at, base);
}
