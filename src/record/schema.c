/* schema.c - the tables of a record, version by version.
 *
 * Each row of `steps` brings a record from the version before to its own. A step that was ever in use is never changed: what
 * has to be otherwise is a further step. */
#include "record/sql.h"

/* "twrt": SQLite keeps it in the head of the file, so that a database of another program is known for one. */
#define APPLICATION_ID 0x74777274

static const char *const steps[] = {
    /* 1: what is planned, and how far it is */
    "CREATE TABLE run (key TEXT PRIMARY KEY, value);"
    "INSERT INTO run VALUES ('change', 0);"
    "CREATE TABLE survey (sha256 TEXT PRIMARY KEY, name TEXT NOT NULL, text TEXT NOT NULL);"
    "CREATE TABLE load (load INTEGER PRIMARY KEY, state INTEGER NOT NULL, cycle_s REAL, removed_mm3 REAL, wheel_mm "
    "REAL);"
    "CREATE TABLE blank (number TEXT PRIMARY KEY, thickness_mm REAL, survey_sha256 TEXT REFERENCES survey, remark TEXT,"
    " aside TEXT, load INTEGER, station INTEGER, inputs TEXT);"
    "CREATE TABLE program (name TEXT NOT NULL, sha256 TEXT NOT NULL, load INTEGER NOT NULL, inputs TEXT NOT NULL,"
    " PRIMARY KEY (load, name));",
    /* 2: what was measured of finished parts, and what came of it */
    "CREATE TABLE reading_file (entry INTEGER PRIMARY KEY, sha256 TEXT NOT NULL UNIQUE, name TEXT NOT NULL);"
    "CREATE TABLE reading (entry INTEGER PRIMARY KEY, file INTEGER NOT NULL REFERENCES reading_file, part TEXT NOT "
    "NULL,"
    " station INTEGER, x_mm REAL NOT NULL, y_mm REAL NOT NULL, thickness_mm REAL NOT NULL, counts INTEGER NOT NULL);"
    "CREATE INDEX reading_of_part ON reading (part);"
    "CREATE TABLE correction (entry INTEGER PRIMARY KEY, file INTEGER NOT NULL REFERENCES reading_file, load INTEGER "
    "NOT NULL,"
    " what TEXT NOT NULL, station INTEGER, value_mm REAL NOT NULL, standard_mm REAL, chance REAL, advised INTEGER NOT "
    "NULL);",
    /* 3: what loads aim at, and what they are corrected by */
    "ALTER TABLE blank ADD COLUMN planned_mm REAL;"
    "ALTER TABLE blank ADD COLUMN butt_mm REAL;"
    "CREATE TABLE total (load INTEGER NOT NULL, what TEXT NOT NULL, station INTEGER NOT NULL, value_mm REAL NOT NULL,"
    " PRIMARY KEY (load, what, station));",
    /* 4: before which loads the wheel is dressed: as planned, and as the shop told */
    ("ALTER TABLE load ADD COLUMN dress_before INTEGER NOT NULL DEFAULT 0;"
     "CREATE TABLE dressing (load INTEGER PRIMARY KEY);"),
    /* 5: files of the plan that may not be in their places yet */
    "CREATE TABLE placing (entry INTEGER PRIMARY KEY, target TEXT NOT NULL, aside TEXT);",
    /* 6: readings of parts that are roughed, and what the finishing programs of their load are lower by */
    ("ALTER TABLE reading ADD COLUMN roughed INTEGER NOT NULL DEFAULT 0;"
     "CREATE TABLE roughed (load INTEGER NOT NULL, station INTEGER NOT NULL, value_mm REAL NOT NULL,"
     " planned INTEGER NOT NULL, PRIMARY KEY (load, station));"),
    /* 7: what was noted of loads, and when: no row is ever changed or taken out */
    "CREATE TABLE noted (entry INTEGER PRIMARY KEY, at TEXT NOT NULL, what TEXT NOT NULL, load INTEGER NOT NULL);",
    /* 8: why a roughed part is not to be finished as it is */
    "ALTER TABLE roughed ADD COLUMN stop TEXT;",
    /* 9: by which wheel the part was roughed */
    "ALTER TABLE roughed ADD COLUMN wheel TEXT;",
    /* 10: what roughing, run again, still has to take off the part */
    "ALTER TABLE roughed ADD COLUMN left_mm REAL;",
    /* 11: for which wheel the load is planned */
    "ALTER TABLE load ADD COLUMN wheel TEXT;",
    /* 12: what the programs in the folder are written with, and, where the last readings told it, by which the part was cut */
    ("ALTER TABLE roughed ADD COLUMN written_mm REAL NOT NULL DEFAULT 0;"
     "ALTER TABLE roughed ADD COLUMN told INTEGER NOT NULL DEFAULT 0;"
     "ALTER TABLE roughed ADD COLUMN cut_mm REAL NOT NULL DEFAULT 0;"
     "ALTER TABLE roughed ADD COLUMN off_mm REAL NOT NULL DEFAULT 0;"
     "UPDATE roughed SET written_mm = value_mm WHERE planned;"),
    /* 13: that is told of older rows, too: what roughing, run again, still has to take off was read on top of what the programs had */
    ("UPDATE roughed SET told = 1, cut_mm = value_mm - left_mm, off_mm = left_mm, written_mm = CASE WHEN planned THEN "
     "value_mm ELSE value_mm - left_mm END WHERE NOT told AND stop IS NULL AND left_mm IS NOT NULL AND value_mm > 0;"
     "UPDATE roughed SET planned = written_mm = value_mm WHERE told;"),
};

#define VERSION ((long)(sizeof steps / sizeof *steps))

const char *const tw_record_table_names[] = { "run",      "blank",        "survey",  "load",       "program",
                                              "dressing", "reading_file", "reading", "correction", "total",
                                              "roughed",  "noted",        NULL };

static enum tw_status check_kind(struct tw_record *record, long version, struct tw_findings *findings)
{
    struct tw_place at = { .file = record->path };
    long id, tables;
    enum tw_status status = tw_sql_ask(record, "PRAGMA application_id", 0, &id, findings);

    if (status == TW_OK)
        status = tw_sql_ask(record, "SELECT count(*) FROM sqlite_schema", 0, &tables, findings);
    if (status != TW_OK)
        return status;
    if (id != APPLICATION_ID && (tables > 0 || version > 0))
        return tw_fail(findings, TW_IO, at,
                       "is a database of another program; move it away, and the run begins a record");
    if (version > VERSION)
        return tw_fail(findings, TW_IO, at,
                       "the record is of version %ld, and this tangwright knows versions up to %ld; use the newer "
                       "tangwright that wrote it",
                       version, VERSION);
    return TW_OK;
}

static enum tw_status step_up(struct tw_record *record, long version, struct tw_findings *findings)
{
    char words[64];
    enum tw_status status = tw_sql_run(record, steps[version], findings);

    if (status != TW_OK)
        return status;
    sqlite3_snprintf(sizeof words, words, "PRAGMA user_version = %ld; PRAGMA application_id = %d", version + 1,
                     APPLICATION_ID);
    return tw_sql_run(record, words, findings);
}

/* Asked again inside the change: another process may have done it meanwhile. */
static enum tw_status bring_up(struct tw_record *record, struct tw_findings *findings)
{
    long version;
    enum tw_status status = tw_sql_ask(record, "PRAGMA user_version", 0, &version, findings);

    if (status == TW_OK)
        status = check_kind(record, version, findings);
    while (status == TW_OK && version < VERSION)
        status = step_up(record, version++, findings);
    return status;
}

/* All that is asked is of one moment: another process may be making the record just now. */
static enum tw_status look(struct tw_record *record, long *version, struct tw_findings *findings)
{
    enum tw_status status = tw_sql_run(record, "BEGIN", findings);

    if (status != TW_OK)
        return status;
    status = tw_sql_ask(record, "PRAGMA user_version", 0, version, findings);
    if (status == TW_OK)
        status = check_kind(record, *version, findings);
    sqlite3_exec(record->database, "ROLLBACK", NULL, NULL, NULL);
    return status;
}

enum tw_status tw_record_bring_up(struct tw_record *record, struct tw_findings *findings)
{
    long version;
    enum tw_status status = look(record, &version, findings);

    if (status != TW_OK || version == VERSION)
        return status;
    status = tw_sql_begin(record, findings);
    if (status == TW_OK)
        status = tw_sql_end(record, bring_up(record, findings), findings);
    return status;
}
