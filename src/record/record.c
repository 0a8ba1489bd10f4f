/* record.c - opening a record, and the changes that are made to it. */
#include "base/memory.h"
#include "record/sql.h"

#include <errno.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* ---- opening ---- */

/* Every change waits until it is on the disk; without that a power cut could take it back. */
static enum tw_status set_up(struct tw_record *record, struct tw_findings *findings)
{
    enum tw_status status;

    sqlite3_busy_timeout(record->database, 1000 * TW_RECORD_WAIT_S);
    status = tw_sql_run(record, "PRAGMA synchronous = EXTRA; PRAGMA foreign_keys = ON; PRAGMA trusted_schema = OFF",
                        findings);
    return status == TW_OK ? tw_record_bring_up(record, findings) : status;
}

enum tw_status tw_record_open(const char *path, bool make, struct tw_record **out, struct tw_findings *findings)
{
    struct tw_record *record = calloc(1, sizeof *record);
    struct stat about;
    enum tw_status status = TW_OK;

    *out = NULL;
    if (!record || !(record->path = tw_copy_string(path))) {
        free(record);
        return tw_no_memory(findings);
    }
    if (!make && stat(path, &about) != 0 && errno == ENOENT) {
        tw_record_close(record);
        return TW_OK;
    }
    if (sqlite3_open_v2(path, &record->database, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX,
                        NULL) != SQLITE_OK)
        status = record->database ? tw_sql_failed(record, findings) : tw_no_memory(findings);
    if (status == TW_OK)
        status = set_up(record, findings);
    if (status == TW_OK)
        *out = record;
    else
        tw_record_close(record);
    return status;
}

void tw_record_close(struct tw_record *record)
{
    if (!record)
        return;
    sqlite3_close(record->database);
    free(record->path);
    free(record);
}

/* ---- what is told, and when ---- */

static enum tw_status put_note(struct tw_record *record, const char *what, int load, struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(
        record, "INSERT INTO noted (at, what, load) VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), ?, ?)", findings);

    tw_sql_text(&sql, what);
    tw_sql_whole(&sql, load);
    tw_sql_do(&sql);
    return tw_sql_close(&sql);
}

/* ---- a plan ---- */

static enum tw_status check_change(struct tw_record *record, long planned_by, struct tw_findings *findings)
{
    struct tw_place at = { .file = record->path };
    long change;
    enum tw_status status = tw_sql_ask(record, "SELECT value FROM run WHERE key = 'change'", 0, &change, findings);

    if (status == TW_OK && change != planned_by)
        status = tw_fail(
            findings, TW_IO, at,
            "another tangwright has changed the record while this one worked, so nothing of this is in it or in "
            "the run's folder; do it again");
    return status;
}

static enum tw_status put_name(struct tw_record *record, const char *key, const char *value,
                               struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(record, "INSERT OR REPLACE INTO run VALUES (?, ?)", findings);

    tw_sql_text(&sql, key);
    tw_sql_text(&sql, value);
    tw_sql_do(&sql);
    return tw_sql_close(&sql);
}

static enum tw_status put_surveys(struct tw_record *record, const struct tw_record_plan *plan,
                                  struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(record, "INSERT OR IGNORE INTO survey VALUES (?, ?, ?)", findings);

    for (size_t i = 0; i < plan->survey_count; i++) {
        tw_sql_text(&sql, plan->surveys[i].sha256);
        tw_sql_text(&sql, plan->surveys[i].name);
        tw_sql_text(&sql, plan->surveys[i].text);
        tw_sql_do(&sql);
    }
    return tw_sql_close(&sql);
}

/* What was planned of loads that are not ground is gone. */
static enum tw_status clear_planned(struct tw_record *record, struct tw_findings *findings)
{
    return tw_sql_run(record,
                      "DELETE FROM program WHERE load IN (SELECT load FROM load WHERE state = 0);"
                      "DELETE FROM blank WHERE load IS NULL OR load NOT IN (SELECT load FROM load WHERE state > 0);"
                      "DELETE FROM total WHERE load IN (SELECT load FROM load WHERE state = 0);"
                      "DELETE FROM load WHERE state = 0",
                      findings);
}

static enum tw_status put_loads(struct tw_record *record, const struct tw_record_plan *plan,
                                struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(record, "INSERT INTO load VALUES (?, 0, ?, ?, ?, ?, ?)", findings);

    for (size_t i = 0; i < plan->load_count; i++) {
        tw_sql_whole(&sql, plan->loads[i].load);
        tw_sql_number(&sql, plan->loads[i].cycle_s);
        tw_sql_number(&sql, plan->loads[i].removed_mm3);
        tw_sql_number(&sql, plan->loads[i].wheel_mm);
        tw_sql_whole(&sql, plan->loads[i].dress_before);
        tw_sql_text(&sql, plan->loads[i].wheel);
        tw_sql_do(&sql);
    }
    return tw_sql_close(&sql);
}

static enum tw_status put_programs(struct tw_record *record, const struct tw_record_plan *plan,
                                   struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(record, "INSERT INTO program VALUES (?, ?, ?, ?)", findings);

    for (size_t i = 0; i < plan->program_count; i++) {
        tw_sql_text(&sql, plan->programs[i].name);
        tw_sql_text(&sql, plan->programs[i].sha256);
        tw_sql_whole(&sql, plan->programs[i].load);
        tw_sql_text(&sql, plan->programs[i].inputs);
        tw_sql_do(&sql);
    }
    return tw_sql_close(&sql);
}

/* Of load 0: of all that is planned next. */
static enum tw_status put_totals(struct tw_record *record, int load, const struct tw_record_total *totals, size_t count,
                                 struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(record, "INSERT OR REPLACE INTO total VALUES (?, ?, ?, ?)", findings);

    for (size_t i = 0; i < count; i++) {
        tw_sql_whole(&sql, load);
        tw_sql_text(&sql, totals[i].what);
        tw_sql_whole(&sql, totals[i].station);
        tw_sql_number(&sql, totals[i].value_mm);
        tw_sql_do(&sql);
    }
    return tw_sql_close(&sql);
}

static enum tw_status put_load_totals(struct tw_record *record, const struct tw_record_plan *plan,
                                      struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < plan->load_count; i++) {
        bool keeps = plan->kept && plan->loads[i].load == plan->kept_load;

        status =
            put_totals(record, plan->loads[i].load, keeps ? plan->kept : plan->totals, plan->total_count, findings);
    }
    return status;
}

/* Blanks that are ground already stay as they were ground. */
static enum tw_status put_blanks(struct tw_record *record, const struct tw_record_plan *plan,
                                 struct tw_findings *findings)
{
    struct tw_sql sql =
        tw_sql_open(record, "INSERT OR IGNORE INTO blank VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", findings);

    for (size_t i = 0; i < plan->blank_count; i++) {
        const struct tw_record_blank *blank = &plan->blanks[i];

        tw_sql_text(&sql, blank->number);
        tw_sql_number(&sql, blank->thickness_mm);
        tw_sql_text(&sql, blank->survey_sha256);
        tw_sql_text(&sql, blank->remark);
        tw_sql_text(&sql, blank->aside);
        tw_sql_whole(&sql, blank->load);
        tw_sql_whole(&sql, blank->station);
        tw_sql_text(&sql, blank->inputs);
        tw_sql_number(&sql, blank->planned_mm);
        tw_sql_number(&sql, blank->butt_mm);
        tw_sql_do(&sql);
    }
    return tw_sql_close(&sql);
}

static enum tw_status put_placing(struct tw_record *record, const struct tw_record_plan *plan,
                                  struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(record, "INSERT INTO placing (target, aside) VALUES (?, ?)", findings);

    for (size_t i = 0; i < plan->placing_count; i++) {
        tw_sql_text(&sql, plan->placing[i].target);
        tw_sql_text(&sql, plan->placing[i].aside);
        tw_sql_do(&sql);
    }
    return tw_sql_close(&sql);
}

static enum tw_status put_plan(struct tw_record *record, const struct tw_record_plan *plan,
                               struct tw_findings *findings)
{
    enum tw_status status = check_change(record, plan->change, findings);

    if (status == TW_OK)
        status = put_name(record, "name", plan->name, findings);
    if (status == TW_OK)
        status = put_name(record, "folder", plan->folder, findings);
    if (status == TW_OK)
        status = clear_planned(record, findings);
    if (status == TW_OK)
        status = put_surveys(record, plan, findings);
    if (status == TW_OK)
        status = put_loads(record, plan, findings);
    if (status == TW_OK)
        status = put_programs(record, plan, findings);
    if (status == TW_OK)
        status = put_load_totals(record, plan, findings);
    if (status == TW_OK)
        status = put_placing(record, plan, findings);
    if (status == TW_OK) /* its programs are written with what was found */
        status = tw_sql_run(record,
                            "UPDATE roughed SET planned = 1, written_mm = value_mm WHERE load IN (SELECT load FROM "
                            "load WHERE state = 0)",
                            findings);
    if (status == TW_OK)
        status = put_blanks(record, plan, findings);
    return status == TW_OK ? put_note(record, "planned", 0, findings) : status;
}

enum tw_status tw_record_plan(struct tw_record *record, const struct tw_record_plan *plan, struct tw_findings *findings)
{
    enum tw_status status = tw_sql_begin(record, findings);

    return status == TW_OK ? tw_sql_end(record, put_plan(record, plan, findings), findings) : status;
}

/* No change that a plan would have to know of. */
enum tw_status tw_record_placed(struct tw_record *record, struct tw_findings *findings)
{
    return tw_sql_run(record, "DELETE FROM placing", findings);
}

/* ---- a load is ground ---- */

static enum tw_status state_of(struct tw_record *record, int load, long *out, struct tw_findings *findings)
{
    struct tw_place at = { .file = record->path };
    struct tw_sql sql = tw_sql_open(record, "SELECT state FROM load WHERE load = ?", findings);

    *out = -1;
    tw_sql_whole(&sql, load);
    if (tw_sql_row(&sql))
        *out = (long)sqlite3_column_int64(sql.statement, 0);
    if (tw_sql_close(&sql) != TW_OK)
        return sql.status;
    return *out >= 0 ? TW_OK
                     : tw_fail(findings, TW_BAD_INPUT, at, "the run has no load %d; --status shows its loads", load);
}

/* Rows that the statement changes for this load, which is its one value. */
static enum tw_status change_load(struct tw_record *record, const char *statement, int load, int *rows,
                                  struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(record, statement, findings);
    enum tw_status status;

    tw_sql_whole(&sql, load);
    tw_sql_do(&sql);
    status = tw_sql_close(&sql);
    *rows = status == TW_OK ? sqlite3_changes(record->database) : 0;
    return status;
}

/* Said twice, it is nothing new. */
static enum tw_status note_once(struct tw_record *record, const char *statement, const char *what, int load,
                                struct tw_findings *findings)
{
    int rows;
    enum tw_status status = change_load(record, statement, load, &rows, findings);

    return status == TW_OK && rows > 0 ? put_note(record, what, load, findings) : status;
}

/* What is noted of a load, once it is sure that there is such a load. */
typedef enum tw_status load_note(struct tw_record *record, int load, struct tw_findings *findings);

static enum tw_status note_load(struct tw_record *record, int load, load_note *note, struct tw_findings *findings)
{
    long state;
    enum tw_status status = tw_sql_begin(record, findings);

    if (status != TW_OK)
        return status;
    status = state_of(record, load, &state, findings);
    if (status == TW_OK)
        status = note(record, load, findings);
    return tw_sql_end(record, status, findings);
}

static enum tw_status put_ground(struct tw_record *record, int load, struct tw_findings *findings)
{
    return note_once(record, "UPDATE load SET state = 1 WHERE load = ? AND state < 1", "ground", load, findings);
}

enum tw_status tw_record_ground(struct tw_record *record, int load, struct tw_findings *findings)
{
    return note_load(record, load, put_ground, findings);
}

/* ---- a load is not ground after all ---- */

static enum tw_status refuse_later(struct tw_record *record, int load, long later, struct tw_findings *findings)
{
    return tw_fail(
        findings, TW_BAD_INPUT, (struct tw_place){ .file = record->path },
        "load %d stays noted as ground: load %ld behind it is ground too. If that is a slip as well, take load "
        "%ld back first; else give those blanks of load %d that are not ground new numbers in the table, and "
        "plan again",
        load, later, later, load);
}

static enum tw_status check_later(struct tw_record *record, int load, struct tw_findings *findings)
{
    struct tw_sql sql =
        tw_sql_open(record, "SELECT load FROM load WHERE load > ? AND state > 0 ORDER BY load DESC", findings);
    long later = 0;

    tw_sql_whole(&sql, load);
    if (tw_sql_row(&sql))
        later = (long)sqlite3_column_int64(sql.statement, 0);
    if (tw_sql_close(&sql) != TW_OK)
        return sql.status;
    return later > 0 ? refuse_later(record, load, later, findings) : TW_OK;
}

/* Who has a finished part has ground it, and what later loads are corrected by counts on its readings. */
static enum tw_status check_parts(struct tw_record *record, int load, struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(record,
                                    "SELECT part FROM reading WHERE NOT roughed AND part IN (SELECT number FROM blank "
                                    "WHERE load = ?) ORDER BY part",
                                    findings);
    bool measured;

    tw_sql_whole(&sql, load);
    measured = tw_sql_row(&sql);
    if (measured)
        tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = record->path },
                "load %d stays noted as ground: blank %s of it was measured as a finished part, and later loads are "
                "corrected by it",
                load, (const char *)sqlite3_column_text(sql.statement, 0));
    tw_sql_close(&sql);
    return sql.status == TW_OK && measured ? TW_BAD_INPUT : sql.status;
}

static enum tw_status put_not_ground(struct tw_record *record, int load, struct tw_findings *findings)
{
    int rows = 0;
    enum tw_status status = check_parts(record, load, findings);

    if (status == TW_OK)
        status = check_later(record, load, findings);
    if (status == TW_OK)
        status = change_load(record, "UPDATE load SET state = 0 WHERE load = ? AND state = 1", load, &rows, findings);
    if (status == TW_OK && rows == 0)
        return tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = record->path },
                       "load %d is not noted as ground, so there is nothing to take back; --status shows how far the "
                       "loads are",
                       load);
    return status == TW_OK ? put_note(record, "not ground", load, findings) : status;
}

enum tw_status tw_record_not_ground(struct tw_record *record, int load, struct tw_findings *findings)
{
    return note_load(record, load, put_not_ground, findings);
}

/* ---- the wheel is dressed ---- */

/* Told by the wheel as it was, and so of no more use: what the programs of the load in hand were to be lower by. */
static enum tw_status void_roughed(struct tw_record *record, int load, const char *stop, struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(
        record,
        "UPDATE roughed SET value_mm = 0, left_mm = 0, planned = 0, told = 0, stop = ? WHERE load = ? AND load IN "
        "(SELECT load FROM load WHERE state = 0)",
        findings);

    tw_sql_text(&sql, stop);
    tw_sql_whole(&sql, load);
    tw_sql_do(&sql);
    return tw_sql_close(&sql);
}

static enum tw_status put_dressing(struct tw_record *record, int load, const char *stop, struct tw_findings *findings)
{
    long state;
    enum tw_status status = state_of(record, load, &state, findings);

    if (status == TW_OK)
        status = note_once(record, "INSERT OR IGNORE INTO dressing VALUES (?)", "dressed", load, findings);
    return status == TW_OK ? void_roughed(record, load, stop, findings) : status;
}

enum tw_status tw_record_dressed(struct tw_record *record, int load, const char *stop, struct tw_findings *findings)
{
    enum tw_status status = tw_sql_begin(record, findings);

    return status == TW_OK ? tw_sql_end(record, put_dressing(record, load, stop, findings), findings) : status;
}

static enum tw_status put_not_dressed(struct tw_record *record, int load, struct tw_findings *findings)
{
    int rows;
    enum tw_status status = change_load(record, "DELETE FROM dressing WHERE load = ?", load, &rows, findings);

    if (status == TW_OK && rows == 0)
        return tw_fail(
            findings, TW_BAD_INPUT, (struct tw_place){ .file = record->path },
            "before load %d no dressing was told of, so there is nothing to take back; one that was planned goes "
            "when the run is planned again",
            load);
    return status == TW_OK ? put_note(record, "not dressed", load, findings) : status;
}

enum tw_status tw_record_not_dressed(struct tw_record *record, int load, struct tw_findings *findings)
{
    return note_load(record, load, put_not_dressed, findings);
}

/* ---- readings ---- */

struct gauging {
    struct tw_record *record;
    const struct tw_record_gauging *what;
    bool roughed; /* the parts, not finished */
    long file;    /* entry */
    struct tw_findings *findings;
};

/* *known: a file of the same bytes is in the record. */
static enum tw_status look_for_file(struct gauging *gauging, bool *known)
{
    struct tw_sql sql =
        tw_sql_open(gauging->record, "SELECT entry FROM reading_file WHERE sha256 = ?", gauging->findings);

    tw_sql_text(&sql, gauging->what->sha256);
    *known = tw_sql_row(&sql);
    return tw_sql_close(&sql);
}

static enum tw_status put_file(struct gauging *gauging)
{
    struct tw_sql sql =
        tw_sql_open(gauging->record, "INSERT INTO reading_file (sha256, name) VALUES (?, ?)", gauging->findings);

    tw_sql_text(&sql, gauging->what->sha256);
    tw_sql_text(&sql, gauging->what->name);
    tw_sql_do(&sql);
    gauging->file = (long)sqlite3_last_insert_rowid(gauging->record->database);
    return tw_sql_close(&sql);
}

/* The load of the part; 0 and a fault where it is no blank that was planned. */
static enum tw_status load_of_part(struct gauging *gauging, const char *part, long *load)
{
    struct tw_place at = { .file = gauging->record->path };
    struct tw_sql sql =
        tw_sql_open(gauging->record, "SELECT load FROM blank WHERE number = ? AND load > 0", gauging->findings);

    *load = 0;
    tw_sql_text(&sql, part);
    if (tw_sql_row(&sql))
        *load = (long)sqlite3_column_int64(sql.statement, 0);
    if (tw_sql_close(&sql) != TW_OK)
        return sql.status;
    return *load > 0
               ? TW_OK
               : tw_fail(gauging->findings, TW_BAD_INPUT, at,
                         "part %s is no blank of a load of this run; name parts in readings by the blanks' numbers",
                         part);
}

static enum tw_status retire_readings(struct gauging *gauging)
{
    struct tw_sql sql =
        tw_sql_open(gauging->record, "UPDATE reading SET counts = 0 WHERE part = ? AND file <> ? AND roughed = ?",
                    gauging->findings);

    for (size_t i = 0; i < gauging->what->count; i++) {
        if (i > 0 && strcmp(gauging->what->readings[i].part, gauging->what->readings[i - 1].part) == 0)
            continue;
        tw_sql_text(&sql, gauging->what->readings[i].part);
        tw_sql_whole(&sql, gauging->file);
        tw_sql_whole(&sql, gauging->roughed);
        tw_sql_do(&sql);
    }
    return tw_sql_close(&sql);
}

static enum tw_status put_readings(struct gauging *gauging)
{
    struct tw_sql sql =
        tw_sql_open(gauging->record,
                    "INSERT INTO reading (file, part, station, x_mm, y_mm, thickness_mm, counts, roughed) VALUES "
                    "(?, ?, ?, ?, ?, ?, 1, ?)",
                    gauging->findings);

    for (size_t i = 0; i < gauging->what->count; i++) {
        const struct tw_record_reading *reading = &gauging->what->readings[i];

        tw_sql_whole(&sql, gauging->file);
        tw_sql_text(&sql, reading->part);
        tw_sql_whole(&sql, reading->station);
        tw_sql_number(&sql, reading->x_mm);
        tw_sql_number(&sql, reading->y_mm);
        tw_sql_number(&sql, reading->thickness_mm);
        tw_sql_whole(&sql, gauging->roughed);
        tw_sql_do(&sql);
    }
    return tw_sql_close(&sql);
}

static enum tw_status put_corrections(struct gauging *gauging)
{
    struct tw_sql sql = tw_sql_open(gauging->record,
                                    "INSERT INTO correction (file, load, what, station, value_mm, standard_mm, chance, "
                                    "advised) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                                    gauging->findings);

    for (size_t i = 0; i < gauging->what->correction_count; i++) {
        const struct tw_record_correction *correction = &gauging->what->corrections[i];

        tw_sql_whole(&sql, gauging->file);
        tw_sql_whole(&sql, correction->load);
        tw_sql_text(&sql, correction->what);
        tw_sql_whole(&sql, correction->station);
        tw_sql_number(&sql, correction->value_mm);
        tw_sql_number(&sql, correction->standard_mm);
        tw_sql_number(&sql, correction->chance);
        tw_sql_whole(&sql, correction->advised);
        tw_sql_do(&sql);
    }
    return tw_sql_close(&sql);
}

/* Who has finished parts has ground the load. It is gauged when none of its blanks is without a reading. */
static enum tw_status raise_loads(struct gauging *gauging)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < gauging->what->count; i++) {
        long load;

        status = load_of_part(gauging, gauging->what->readings[i].part, &load);
        if (status == TW_OK)
            status = put_ground(gauging->record, (int)load, gauging->findings);
    }
    if (status != TW_OK)
        return status;
    return tw_sql_run(
        gauging->record,
        "UPDATE load SET state = 2 WHERE state = 1 AND NOT EXISTS (SELECT 1 FROM blank WHERE blank.load = "
        "load.load AND NOT EXISTS (SELECT 1 FROM reading WHERE reading.part = blank.number AND NOT "
        "reading.roughed))",
        gauging->findings);
}

static enum tw_status put_new_totals(struct gauging *gauging)
{
    return put_totals(gauging->record, 0, gauging->what->totals, gauging->what->total_count, gauging->findings);
}

static enum tw_status put_gauging(struct gauging *gauging, bool *known)
{
    static enum tw_status (*const steps[])(struct gauging *) = { put_file,        retire_readings, put_readings,
                                                                 put_corrections, put_new_totals,  raise_loads };
    enum tw_status status = look_for_file(gauging, known);

    if (status == TW_OK && !*known)
        status = check_change(gauging->record, gauging->what->change, gauging->findings);
    for (size_t i = 0; status == TW_OK && !*known && i < sizeof steps / sizeof *steps; i++)
        status = steps[i](gauging);
    return status;
}

/* ---- roughed parts ---- */

static enum tw_status put_roughed(struct gauging *gauging, const struct tw_record_roughing *roughing)
{
    struct tw_sql sql = tw_sql_open(
        gauging->record, "INSERT OR REPLACE INTO roughed VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", gauging->findings);

    for (size_t i = 0; i < roughing->found_count; i++) {
        tw_sql_whole(&sql, roughing->found[i].load);
        tw_sql_whole(&sql, roughing->found[i].station);
        tw_sql_number(&sql, roughing->found[i].value_mm);
        tw_sql_whole(&sql, roughing->found[i].value_mm == roughing->found[i].written_mm);
        tw_sql_text(&sql, roughing->found[i].stop);
        tw_sql_text(&sql, roughing->found[i].wheel);
        tw_sql_number(&sql, roughing->found[i].left_mm);
        tw_sql_number(&sql, roughing->found[i].written_mm);
        tw_sql_whole(&sql, roughing->found[i].told);
        tw_sql_number(&sql, roughing->found[i].cut_mm);
        tw_sql_number(&sql, roughing->found[i].off_mm);
        tw_sql_do(&sql);
    }
    return tw_sql_close(&sql);
}

static enum tw_status put_roughing(struct gauging *gauging, const struct tw_record_roughing *roughing, bool *known)
{
    static enum tw_status (*const steps[])(struct gauging *) = { put_file, retire_readings, put_readings };
    enum tw_status status = look_for_file(gauging, known);

    if (status == TW_OK && !*known)
        status = check_change(gauging->record, roughing->change, gauging->findings);
    for (size_t i = 0; status == TW_OK && !*known && i < sizeof steps / sizeof *steps; i++)
        status = steps[i](gauging);
    return status == TW_OK && !*known ? put_roughed(gauging, roughing) : status;
}

enum tw_status tw_record_rough(struct tw_record *record, const struct tw_record_roughing *roughing, bool *known,
                               struct tw_findings *findings)
{
    struct tw_record_gauging what = {
        .sha256 = roughing->sha256, .name = roughing->name, .readings = roughing->readings, .count = roughing->count
    };
    struct gauging gauging = { .record = record, .what = &what, .roughed = true, .findings = findings };
    enum tw_status status = tw_sql_begin(record, findings);

    *known = false;
    return status == TW_OK ? tw_sql_end(record, put_roughing(&gauging, roughing, known), findings) : status;
}

static enum tw_status put_weighed_anew(struct tw_record *record, const struct tw_record_total *totals, size_t count,
                                       long change, struct tw_findings *findings)
{
    enum tw_status status = check_change(record, change, findings);

    return status == TW_OK ? put_totals(record, 0, totals, count, findings) : status;
}

enum tw_status tw_record_correct(struct tw_record *record, const struct tw_record_total *totals, size_t count,
                                 long change, struct tw_findings *findings)
{
    enum tw_status status = tw_sql_begin(record, findings);

    return status == TW_OK ? tw_sql_end(record, put_weighed_anew(record, totals, count, change, findings), findings)
                           : status;
}

enum tw_status tw_record_gauge(struct tw_record *record, const struct tw_record_gauging *what, bool *known,
                               struct tw_findings *findings)
{
    struct gauging gauging = { .record = record, .what = what, .findings = findings };
    enum tw_status status = tw_sql_begin(record, findings);

    *known = false;
    return status == TW_OK ? tw_sql_end(record, put_gauging(&gauging, known), findings) : status;
}
