/* read.c - a run file and its table of blanks: every key and every column is one row of keys.c. */
#include "tangwright/run.h"

#include "base/cells.h"
#include "base/file.h"
#include "base/memory.h"
#include "base/nearest.h"
#include "input/input.h"
#include "run/keys.h"

#include <stdlib.h>
#include <string.h>

struct reading {
    struct tw_input input; /* of the run file; its readers serve the table as well */
    struct tw_run_request *out;
    size_t capacity;
};

static void no_memory(struct reading *reading)
{
    reading->input.no_memory = true;
}

/* ---- keys ---- */

static void complain_of_missing(struct reading *reading, const struct tw_key *key, struct tw_place at)
{
    struct tw_text complaint = { 0 };

    tw_text_print(&complaint, "is missing; write for example ");
    tw_value_example(key, &complaint);
    tw_input_fault(&reading->input, at, &complaint);
}

/* The keys of one group, those that are not there by their default. `prefix` leads the name in messages. */
static void read_keys(struct reading *reading, const struct tw_group *group, const config_setting_t *setting,
                      const char *prefix, void *base)
{
    struct tw_place at = { .file = reading->input.job.path };

    for (size_t i = 0; i < group->key_count; i++) {
        const struct tw_key *key = &group->keys[i];
        const config_setting_t *value = config_setting_get_member(setting, key->name);
        char name[64];

        snprintf(name, sizeof name, "%s%s", prefix, key->name);
        at.key = name;
        at.line = (int)config_setting_source_line(value ? value : setting);
        if (value)
            tw_value_read(&reading->input, key, value, at, base);
        else if (key->preset)
            tw_value_preset(&reading->input, key, base);
        else if (tw_key_is_required(key))
            complain_of_missing(reading, key, at);
    }
}

/* ---- blanks ---- */

static void free_blank(struct tw_run_blank *blank)
{
    free(blank->number);
    free(blank->survey);
    free(blank->remark);
}

static void settle_path(struct reading *reading, const char *beside, char **path)
{
    char *settled = *path ? tw_path_beside(beside, *path) : NULL;

    if (*path && !settled) {
        no_memory(reading);
        return;
    }
    free(*path);
    *path = settled;
}

static bool is_known_number(const struct tw_run_request *request, const char *number, int *line)
{
    for (size_t i = 0; i < request->blank_count; i++)
        if (strcmp(request->blanks[i].number, number) == 0) {
            *line = request->blanks[i].line;
            return true;
        }
    return false;
}

/* What one blank may not be; said, and true, where it may. */
static bool is_sound(struct reading *reading, const struct tw_run_blank *blank, struct tw_place at)
{
    int line = 0;

    if (!blank->number)
        return false; /* said */
    if (strlen(blank->number) >= TW_RUN_NUMBER_BYTES)
        tw_input_faultf(&reading->input, at, "is %zu bytes long; a blank's number has %d at the most",
                        strlen(blank->number), TW_RUN_NUMBER_BYTES - 1);
    else if (is_known_number(reading->out, blank->number, &line))
        tw_input_faultf(&reading->input, at, "\"%s\" is the number of the blank of line %d already; give each its own",
                        blank->number, line);
    else if (reading->out->blank_count >= TW_RUN_BLANKS_MOST)
        tw_input_faultf(&reading->input, at, "is blank %d of the run; at most %d are allowed: make two runs of it",
                        TW_RUN_BLANKS_MOST + 1, TW_RUN_BLANKS_MOST);
    else
        return true;
    return false;
}

/* Takes the blank over, or releases it. */
static void add_blank(struct reading *reading, struct tw_run_blank *blank, struct tw_place at)
{
    struct tw_run_request *out = reading->out;

    settle_path(reading, at.file, &blank->survey);
    blank->file = at.file;
    blank->line = at.line;
    if (!is_sound(reading, blank, at)) {
        free_blank(blank);
    } else if (!tw_grow((void **)&out->blanks, &reading->capacity, out->blank_count + 1, sizeof *out->blanks)) {
        no_memory(reading);
        free_blank(blank);
    } else {
        out->blanks[out->blank_count++] = *blank;
    }
}

static void read_list(struct reading *reading, const config_setting_t *list)
{
    struct tw_place at = { .file = reading->out->path, .key = "blanks" };

    at.line = (int)config_setting_source_line(list);
    if (!config_setting_is_list(list)) {
        tw_input_faultf(
            &reading->input, at,
            "a list of groups is wanted, such as blanks = ( { number = \"17\"; thickness = \"2.493 mm\"; } );");
        return;
    }
    for (int i = 0; i < config_setting_length(list); i++) {
        const config_setting_t *member = config_setting_get_elem(list, (unsigned)i);
        struct tw_run_blank blank = { 0 };
        char key[32], prefix[40];

        snprintf(key, sizeof key, "blanks[%d]", i + 1);
        snprintf(prefix, sizeof prefix, "%s.", key);
        at.key = key;
        at.line = (int)config_setting_source_line(member);
        if (!config_setting_is_group(member)) {
            tw_input_faultf(&reading->input, at, "a group { ... } is wanted here");
            continue;
        }
        tw_input_refuse_unknown(&reading->input, &tw_run_blank_group, member, at.file, key, false);
        read_keys(reading, &tw_run_blank_group, member, prefix, &blank);
        add_blank(reading, &blank, at);
    }
}

/* ---- the table of blanks ---- */

struct table {
    struct reading *reading;
    struct cells_reader reader;
    const struct tw_key *columns[CELLS_MOST];
    size_t width;
};

/* The table calls a blank's number by what it is the number of. */
static const char *column_name(const struct tw_key *key)
{
    return strcmp(key->name, "number") == 0 ? "blank" : key->name;
}

static const struct tw_key *find_column(const char *name)
{
    for (size_t i = 0; i < tw_run_blank_group.key_count; i++)
        if (strcmp(column_name(&tw_run_blank_group.keys[i]), name) == 0)
            return &tw_run_blank_group.keys[i];
    return NULL;
}

static struct tw_place place_in(const struct table *table, int line)
{
    return (struct tw_place){ .file = table->reader.path, .line = line };
}

static bool complain_of_column(struct table *table, int line, const char *name)
{
    struct tw_nearest nearest = tw_nearest_to(name);

    for (size_t i = 0; i < tw_run_blank_group.key_count; i++)
        tw_nearest_offer(&nearest, column_name(&tw_run_blank_group.keys[i]));
    tw_input_faultf(
        &table->reading->input, place_in(table, line),
        "\"%s\" is no known column%s%s%s the first line names the columns: blank, and thickness, survey and "
        "remark where they are told",
        name, nearest.name ? "; did you mean " : "", nearest.name ? nearest.name : "",
        nearest.name ? "? In any case" : ";");
    return false;
}

static bool read_heading(void *context, const struct cells *cells)
{
    struct table *table = context;
    bool numbered = false;

    for (size_t i = 0; i < cells->count; i++) {
        const struct tw_key *key = find_column(cells->text[i]);

        if (!key)
            return complain_of_column(table, cells->line, cells->text[i]);
        for (size_t k = 0; k < table->width; k++)
            if (table->columns[k] == key) {
                tw_input_faultf(&table->reading->input, place_in(table, cells->line),
                                "the column %s is named twice; keep one of them", cells->text[i]);
                return false;
            }
        numbered = numbered || key == find_column("blank");
        table->columns[table->width++] = key;
    }
    if (!numbered)
        tw_input_faultf(&table->reading->input, place_in(table, cells->line),
                        "the column blank is missing: it says which blank each line is of");
    return numbered;
}

/* A cell is read as the same key of the list would be. */
static void read_cell(struct table *table, const struct tw_key *key, const char *cell, int line,
                      struct tw_run_blank *blank)
{
    struct tw_place at = { .file = table->reader.path, .line = line, .key = column_name(key) };
    config_t config;
    config_setting_t *setting;

    if (!*cell && !tw_key_is_required(key))
        return;
    if (!tw_memory_is_there(strlen(cell) + ((size_t)64 << 10))) {
        no_memory(table->reading);
        return;
    }
    config_init(&config);
    setting = config_setting_add(config_root_setting(&config), "cell", CONFIG_TYPE_STRING);
    config_setting_set_string(setting, cell);
    tw_value_read(&table->reading->input, key, setting, at, blank);
    config_destroy(&config);
}

static void read_row(void *context, const struct cells *cells)
{
    struct table *table = context;
    struct tw_run_blank blank = { 0 };
    struct tw_place at = { .file = table->reading->out->table_path, .line = cells->line, .key = "blank" };

    if (cells->count != table->width) {
        tw_input_faultf(&table->reading->input, place_in(table, cells->line),
                        "holds %zu cells, but the heading names %zu columns", cells->count, table->width);
        return;
    }
    for (size_t i = 0; i < cells->count; i++)
        read_cell(table, table->columns[i], cells->text[i], cells->line, &blank);
    add_blank(table->reading, &blank, at);
}

static void take_table(void *context, struct tw_findings *own)
{
    static const struct cells_use use = { read_heading, read_row };
    struct table *table = context;
    struct tw_findings *before = table->reading->input.findings;

    table->reading->input.findings = own;
    cells_each(&table->reader, &use, table, own);
    table->reading->input.findings = before;
}

static enum tw_status read_table(struct reading *reading)
{
    struct table table = { .reading = reading };

    settle_path(reading, reading->out->path, &reading->out->table_path);
    if (reading->input.no_memory)
        return TW_NO_MEMORY;
    return cells_read_file(reading->out->table_path, &table.reader, take_table, &table, reading->input.findings);
}

/* ---- the run file ---- */

/* The list of blanks is no row of the keys: it is read by the rows of its own members. */
static void take_list_out(config_setting_t *root, struct reading *reading)
{
    config_setting_t *list = config_setting_get_member(root, "blanks");

    if (!list)
        return;
    read_list(reading, list);
    config_setting_remove(root, "blanks");
}

static enum tw_status read_all(struct reading *reading)
{
    config_setting_t *root = config_root_setting(&reading->input.job.config);
    struct tw_run_request *out = reading->out;
    struct tw_place at = { .file = out->path };
    enum tw_status status = TW_OK;

    if (config_setting_get_member(root, "outline"))
        return tw_fail(reading->input.findings, TW_BAD_INPUT, at,
                       "is a job; a run file names a job and its blanks: job = \"job.cfg\"; table = \"blanks.csv\";");
    take_list_out(root, reading);
    tw_input_refuse_unknown(&reading->input, &tw_run_group, root, out->path, "", false);
    read_keys(reading, &tw_run_group, root, "", out);
    settle_path(reading, out->path, &out->job_path);
    if (out->table_path)
        status = read_table(reading);
    if (out->name && strlen(out->name) > TW_RUN_NAME_MOST)
        tw_input_faultf(&reading->input, (struct tw_place){ .file = out->path, .key = "name" },
                        "is %zu bytes long; the name of a run has %d at the most, for load and blank stand behind it",
                        strlen(out->name), TW_RUN_NAME_MOST);
    if (status == TW_OK && out->blank_count == 0 && reading->input.bad_inputs == 0)
        tw_input_faultf(&reading->input, at,
                        "tells of no blanks; write table = \"blanks.csv\"; or blanks = ( { number = \"1\"; thickness = "
                        "\"2.493 mm\"; } );");
    if (reading->input.no_memory)
        return tw_no_memory(reading->input.findings);
    return status == TW_OK && reading->input.bad_inputs > 0 ? TW_BAD_INPUT : status;
}

enum tw_status tw_run_read(const char *path, struct tw_run_request *out, struct tw_findings *findings)
{
    struct reading reading = { .input = { .findings = findings }, .out = out };
    enum tw_status status;

    *out = (struct tw_run_request){ .path = tw_copy_string(path) };
    if (!out->path)
        return tw_no_memory(findings);
    status = tw_source_load(path, &reading.input.job, findings);
    if (status == TW_OK)
        status = read_all(&reading);
    tw_source_free(&reading.input.job);
    if (findings)
        tw_findings_sort(findings);
    if (status != TW_OK)
        tw_run_request_free(out);
    return status;
}

bool tw_run_is_file(const char *path)
{
    struct tw_findings unasked = { 0 };
    struct tw_source source;
    bool is_run = false;

    if (tw_source_load(path, &source, &unasked) == TW_OK)
        is_run = config_setting_get_member(config_root_setting(&source.config), "job") != NULL &&
                 config_setting_get_member(config_root_setting(&source.config), "outline") == NULL;
    tw_source_free(&source);
    tw_findings_free(&unasked);
    return is_run;
}

void tw_run_request_free(struct tw_run_request *request)
{
    for (size_t i = 0; i < request->blank_count; i++)
        free_blank(&request->blanks[i]);
    free(request->blanks);
    free(request->path);
    free(request->name);
    free(request->job_path);
    free(request->table_path);
    free(request->stations);
    free(request->gauged);
    *request = (struct tw_run_request){ 0 };
}

/* ---- its job ---- */

/* Remarks on that key go, faults stay. */
static void leave_out(struct tw_findings *said, const char *key)
{
    size_t kept = 0;

    for (size_t i = 0; i < said->count; i++) {
        struct tw_finding *item = &said->items[i];

        if (item->status != TW_OK || !item->key || strcmp(item->key, key) != 0) {
            said->items[kept++] = *item;
            continue;
        }
        free(item->file);
        free(item->key);
        free(item->text);
    }
    said->count = kept;
}

enum tw_status tw_run_read_job(const struct tw_run_request *request, struct tw_job *out, struct tw_findings *findings)
{
    static const struct tw_instead unsurveyed = { "survey.file", "none" };
    struct tw_findings said = { 0 };
    enum tw_status status = tw_job_read_with(request->job_path, &unsurveyed, 1, out, &said);

    leave_out(&said, "order");
    tw_findings_append(findings, &said);
    return status;
}
