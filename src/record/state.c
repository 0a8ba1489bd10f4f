/* state.c - all of a record as it stands at one moment. */
#include "base/memory.h"
#include "record/sql.h"

#include <stdlib.h>
#include <string.h>

const char *tw_load_state_name(enum tw_load_state state)
{
    static const char *const names[] = {
        [TW_LOAD_PLANNED] = "planned", [TW_LOAD_GROUND] = "ground", [TW_LOAD_GAUGED] = "gauged"
    };

    return names[state];
}

void tw_record_state_free(struct tw_record_state *state)
{
    for (size_t i = 0; i < state->text_count; i++)
        free(state->texts[i]);
    free(state->texts);
    free(state->blanks);
    free(state->programs);
    free(state->loads);
    free(state->readings);
    free(state->corrections);
    free(state->totals);
    free(state->roughed);
    free(state->files);
    free(state->dressings);
    free(state->placing);
    free(state->notes);
    *state = (struct tw_record_state){ 0 };
}

int tw_record_last_ground(const struct tw_record_state *state)
{
    int last = 0;

    for (size_t i = 0; i < state->load_count; i++)
        if (state->loads[i].state >= TW_LOAD_GROUND && state->loads[i].load > last)
            last = state->loads[i].load;
    return last;
}

bool tw_record_is_roughed_apart(const struct tw_record_state *state, int load)
{
    for (size_t i = 0; i < state->program_count; i++)
        if (state->programs[i].load == load && strstr(state->programs[i].name, "-rough."))
            return true;
    return false;
}

const char *tw_record_taken_back(const struct tw_record_state *state, int load)
{
    const char *at = NULL;

    for (size_t i = 0; i < state->note_count; i++)
        if (strcmp(state->notes[i].what, "planned") == 0)
            at = NULL;
        else if (state->notes[i].load == load && strcmp(state->notes[i].what, "not ground") == 0)
            at = state->notes[i].at;
    return at;
}

/* Planned after the load was noted as ground, which is taken back by note `back`. */
static bool misled(const struct tw_record_state *state, size_t back)
{
    for (size_t i = back; i-- > 0;) {
        const struct tw_record_note *note = &state->notes[i];

        if (strcmp(note->what, "planned") == 0)
            return true;
        if (note->load == state->notes[back].load && strcmp(note->what, "ground") == 0)
            return false;
    }
    return false;
}

bool tw_record_plan_was_misled(const struct tw_record_state *state)
{
    for (size_t i = state->note_count; i-- > 0 && strcmp(state->notes[i].what, "planned") != 0;)
        if (strcmp(state->notes[i].what, "not ground") == 0 && misled(state, i))
            return true;
    return false;
}

bool tw_record_is_dressed(const struct tw_record_state *state, int load)
{
    bool dressed = false;

    for (size_t i = 0; i < state->dressing_count; i++)
        dressed = dressed || state->dressings[i] == load;
    for (size_t i = 0; i < state->load_count; i++)
        dressed = dressed || (state->loads[i].load == load && state->loads[i].dress_before);
    return dressed;
}

/* ---- columns ---- */

struct reading {
    struct tw_record *record;
    struct tw_record_state *out;
    struct tw_findings *findings;
};

/* A column's text, kept by the state; NULL where it holds none. */
static const char *text_at(const struct reading *reading, struct tw_sql *sql, int column)
{
    const char *text = (const char *)sqlite3_column_text(sql->statement, column);
    struct tw_record_state *out = reading->out;
    char *copy;

    if (!text)
        return NULL;
    copy = tw_copy_string(text);
    if (!copy || !tw_grow((void **)&out->texts, &out->text_capacity, out->text_count + 1, sizeof *out->texts)) {
        free(copy);
        sql->status = tw_no_memory(reading->findings);
        return NULL;
    }
    out->texts[out->text_count++] = copy;
    return copy;
}

static double number_at(struct tw_sql *sql, int column)
{
    return sqlite3_column_double(sql->statement, column);
}

static int whole_at(struct tw_sql *sql, int column)
{
    return sqlite3_column_int(sql->statement, column);
}

static void copy_sha256(struct tw_sql *sql, int column, char out[TW_SHA256_BYTES])
{
    const char *text = (const char *)sqlite3_column_text(sql->statement, column);

    out[0] = '\0';
    if (text && strlen(text) < TW_SHA256_BYTES)
        strcpy(out, text);
}

/* ---- tables ---- */

/* One row into the next member of its list. */
typedef void (*take_row)(const struct reading *reading, struct tw_sql *sql, void *member);

static void take_blank(const struct reading *reading, struct tw_sql *sql, void *member)
{
    *(struct tw_record_blank *)member = (struct tw_record_blank){ .number = text_at(reading, sql, 0),
                                                                  .thickness_mm = number_at(sql, 1),
                                                                  .survey_sha256 = text_at(reading, sql, 2),
                                                                  .remark = text_at(reading, sql, 3),
                                                                  .aside = text_at(reading, sql, 4),
                                                                  .load = whole_at(sql, 5),
                                                                  .station = whole_at(sql, 6),
                                                                  .inputs = text_at(reading, sql, 7),
                                                                  .planned_mm = number_at(sql, 8),
                                                                  .butt_mm = number_at(sql, 9) };
}

static void take_program(const struct reading *reading, struct tw_sql *sql, void *member)
{
    struct tw_record_program *program = member;

    *program = (struct tw_record_program){ .name = text_at(reading, sql, 0),
                                           .load = whole_at(sql, 2),
                                           .inputs = text_at(reading, sql, 3) };
    copy_sha256(sql, 1, program->sha256);
}

static void take_load(const struct reading *reading, struct tw_sql *sql, void *member)
{
    *(struct tw_record_load *)member = (struct tw_record_load){ .load = whole_at(sql, 0),
                                                                .state = (enum tw_load_state)whole_at(sql, 1),
                                                                .cycle_s = number_at(sql, 2),
                                                                .removed_mm3 = number_at(sql, 3),
                                                                .wheel_mm = number_at(sql, 4),
                                                                .dress_before = whole_at(sql, 5) != 0,
                                                                .wheel = text_at(reading, sql, 6) };
}

static void take_reading(const struct reading *reading, struct tw_sql *sql, void *member)
{
    *(struct tw_record_reading *)member = (struct tw_record_reading){ .part = text_at(reading, sql, 0),
                                                                      .station = whole_at(sql, 1),
                                                                      .x_mm = number_at(sql, 2),
                                                                      .y_mm = number_at(sql, 3),
                                                                      .thickness_mm = number_at(sql, 4) };
}

static void take_correction(const struct reading *reading, struct tw_sql *sql, void *member)
{
    *(struct tw_record_correction *)member = (struct tw_record_correction){ .load = whole_at(sql, 0),
                                                                            .what = text_at(reading, sql, 1),
                                                                            .station = whole_at(sql, 2),
                                                                            .value_mm = number_at(sql, 3),
                                                                            .standard_mm = number_at(sql, 4),
                                                                            .chance = number_at(sql, 5),
                                                                            .advised = whole_at(sql, 6) != 0 };
}

static void take_total(const struct reading *reading, struct tw_sql *sql, void *member)
{
    *(struct tw_record_total *)member = (struct tw_record_total){ .load = whole_at(sql, 0),
                                                                  .what = text_at(reading, sql, 1),
                                                                  .station = whole_at(sql, 2),
                                                                  .value_mm = number_at(sql, 3) };
}

static void take_roughed(const struct reading *reading, struct tw_sql *sql, void *member)
{
    *(struct tw_record_roughed *)member = (struct tw_record_roughed){ .load = whole_at(sql, 0),
                                                                      .station = whole_at(sql, 1),
                                                                      .value_mm = number_at(sql, 2),
                                                                      .planned = whole_at(sql, 3) != 0,
                                                                      .stop = text_at(reading, sql, 4),
                                                                      .wheel = text_at(reading, sql, 5),
                                                                      .left_mm = number_at(sql, 6),
                                                                      .written_mm = number_at(sql, 7),
                                                                      .told = whole_at(sql, 8) != 0,
                                                                      .cut_mm = number_at(sql, 9),
                                                                      .off_mm = number_at(sql, 10) };
}

static void take_file(const struct reading *reading, struct tw_sql *sql, void *member)
{
    *(const char **)member = text_at(reading, sql, 0);
}

static void take_dressing(const struct reading *reading, struct tw_sql *sql, void *member)
{
    (void)reading;
    *(int *)member = whole_at(sql, 0);
}

static void take_note(const struct reading *reading, struct tw_sql *sql, void *member)
{
    *(struct tw_record_note *)member =
        (struct tw_record_note){ text_at(reading, sql, 0), text_at(reading, sql, 1), whole_at(sql, 2) };
}

static void take_placing(const struct reading *reading, struct tw_sql *sql, void *member)
{
    *(struct tw_record_file *)member = (struct tw_record_file){ text_at(reading, sql, 0), text_at(reading, sql, 1) };
}

static enum tw_status take_all(const struct reading *reading, const char *statement, take_row take, void **list,
                               size_t *count, size_t bytes)
{
    struct tw_sql sql = tw_sql_open(reading->record, statement, reading->findings);
    size_t capacity = 0;

    while (tw_sql_row(&sql)) {
        if (!tw_grow(list, &capacity, *count + 1, bytes)) {
            sql.status = tw_no_memory(reading->findings);
            break;
        }
        take(reading, &sql, (char *)*list + *count * bytes);
        ++*count;
    }
    return tw_sql_close(&sql);
}

static enum tw_status take_names(const struct reading *reading)
{
    struct tw_sql sql = tw_sql_open(reading->record, "SELECT key, value FROM run", reading->findings);

    while (tw_sql_row(&sql)) {
        const char *key = (const char *)sqlite3_column_text(sql.statement, 0);

        if (strcmp(key, "change") == 0)
            reading->out->change = (long)sqlite3_column_int64(sql.statement, 1);
        else if (strcmp(key, "name") == 0)
            reading->out->name = text_at(reading, &sql, 1);
        else if (strcmp(key, "folder") == 0)
            reading->out->folder = text_at(reading, &sql, 1);
    }
    return tw_sql_close(&sql);
}

static enum tw_status take_lists(const struct reading *reading)
{
    struct tw_record_state *out = reading->out;
    const struct {
        const char *statement;
        take_row take;
        void **list;
        size_t *count, bytes;
    } rows[] = {
        { "SELECT number, thickness_mm, survey_sha256, remark, aside, load, station, inputs, planned_mm, butt_mm FROM "
          "blank "
          "ORDER BY load, station, number",
          take_blank, (void **)&out->blanks, &out->blank_count, sizeof *out->blanks },
        { "SELECT name, sha256, load, inputs FROM program ORDER BY load, name", take_program, (void **)&out->programs,
          &out->program_count, sizeof *out->programs },
        { "SELECT load, state, cycle_s, removed_mm3, wheel_mm, dress_before, wheel FROM load ORDER BY load", take_load,
          (void **)&out->loads, &out->load_count, sizeof *out->loads },
        { "SELECT target, aside FROM placing ORDER BY entry", take_placing, (void **)&out->placing, &out->placing_count,
          sizeof *out->placing },
        { "SELECT load FROM dressing ORDER BY load", take_dressing, (void **)&out->dressings, &out->dressing_count,
          sizeof *out->dressings },
        { "SELECT part, station, x_mm, y_mm, thickness_mm FROM reading WHERE counts AND NOT roughed ORDER BY entry",
          take_reading, (void **)&out->readings, &out->reading_count, sizeof *out->readings },
        { "SELECT load, what, station, value_mm, standard_mm, chance, advised FROM correction ORDER BY entry",
          take_correction, (void **)&out->corrections, &out->correction_count, sizeof *out->corrections },
        { "SELECT sha256 FROM reading_file ORDER BY entry", take_file, (void **)&out->files, &out->file_count,
          sizeof *out->files },
        { "SELECT load, what, station, value_mm FROM total ORDER BY load, what, station", take_total,
          (void **)&out->totals, &out->total_count, sizeof *out->totals },
        { "SELECT at, what, load FROM noted ORDER BY entry", take_note, (void **)&out->notes, &out->note_count,
          sizeof *out->notes },
        { "SELECT load, station, value_mm, planned, stop, wheel, left_mm, written_mm, told, cut_mm, off_mm FROM "
          "roughed ORDER BY load, station",
          take_roughed, (void **)&out->roughed, &out->roughed_count, sizeof *out->roughed },
    };
    enum tw_status status = take_names(reading);

    for (size_t i = 0; status == TW_OK && i < sizeof rows / sizeof *rows; i++)
        status = take_all(reading, rows[i].statement, rows[i].take, rows[i].list, rows[i].count, rows[i].bytes);
    return status;
}

/* All in one transaction, so that another process changes nothing in between. */
enum tw_status tw_record_read(struct tw_record *record, struct tw_record_state *out, struct tw_findings *findings)
{
    struct reading reading = { record, out, findings };
    enum tw_status status;

    *out = (struct tw_record_state){ 0 };
    status = tw_sql_run(record, "BEGIN", findings);
    if (status == TW_OK) {
        status = take_lists(&reading);
        sqlite3_exec(record->database, "ROLLBACK", NULL, NULL, NULL);
    }
    if (status != TW_OK)
        tw_record_state_free(out);
    return status;
}
