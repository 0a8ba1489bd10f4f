/* sql.c - see sql.h. */
#include "record/sql.h"

#include <string.h>

enum tw_status tw_sql_failed(const struct tw_record *record, struct tw_findings *findings)
{
    struct tw_place at = { .file = record->path };
    int code = sqlite3_errcode(record->database) & 0xff;

    switch (code) {
    case SQLITE_NOMEM:
        return tw_no_memory(findings);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return tw_fail(findings, TW_IO, at,
                       "another tangwright has had the record open for %d s; try again when it is done",
                       TW_RECORD_WAIT_S);
    case SQLITE_NOTADB:
        return tw_fail(findings, TW_IO, at, "is no record of a run; move it away, and the run begins a new one");
    case SQLITE_CORRUPT:
        return tw_fail(findings, TW_IO, at,
                       "the record is damaged (%s); keep a copy, and put the last one that was saved in its place",
                       sqlite3_errmsg(record->database));
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
    case SQLITE_PERM:
        return tw_fail(findings, TW_IO, at,
                       "the record cannot be written: %s; it needs a folder in which files can be made",
                       sqlite3_errmsg(record->database));
    case SQLITE_FULL:
        return tw_fail(findings, TW_IO, at, "the record cannot be written: the disk is full");
    default:
        return tw_fail(findings, TW_IO, at, "the record cannot be used: %s", sqlite3_errmsg(record->database));
    }
}

enum tw_status tw_sql_run(struct tw_record *record, const char *statements, struct tw_findings *findings)
{
    return sqlite3_exec(record->database, statements, NULL, NULL, NULL) == SQLITE_OK ? TW_OK
                                                                                     : tw_sql_failed(record, findings);
}

/* ---- one statement ---- */

struct tw_sql tw_sql_open(struct tw_record *record, const char *statement, struct tw_findings *findings)
{
    struct tw_sql sql = { .record = record, .findings = findings };

    if (sqlite3_prepare_v2(record->database, statement, -1, &sql.statement, NULL) != SQLITE_OK)
        sql.status = tw_sql_failed(record, findings);
    return sql;
}

static void note(struct tw_sql *sql, int code)
{
    if (code != SQLITE_OK)
        sql->status = tw_sql_failed(sql->record, sql->findings);
}

void tw_sql_text(struct tw_sql *sql, const char *text)
{
    if (sql->status == TW_OK)
        note(sql, text ? sqlite3_bind_text(sql->statement, ++sql->bound, text, -1, SQLITE_TRANSIENT)
                       : sqlite3_bind_null(sql->statement, ++sql->bound));
}

void tw_sql_number(struct tw_sql *sql, double number)
{
    if (sql->status == TW_OK)
        note(sql, sqlite3_bind_double(sql->statement, ++sql->bound, number));
}

void tw_sql_whole(struct tw_sql *sql, long whole)
{
    if (sql->status == TW_OK)
        note(sql, sqlite3_bind_int64(sql->statement, ++sql->bound, whole));
}

bool tw_sql_row(struct tw_sql *sql)
{
    int code;

    if (sql->status != TW_OK)
        return false;
    code = sqlite3_step(sql->statement);
    if (code != SQLITE_ROW && code != SQLITE_DONE)
        sql->status = tw_sql_failed(sql->record, sql->findings);
    return code == SQLITE_ROW;
}

void tw_sql_do(struct tw_sql *sql)
{
    while (tw_sql_row(sql))
        ;
    if (sql->status != TW_OK)
        return;
    note(sql, sqlite3_reset(sql->statement));
    sql->bound = 0;
}

enum tw_status tw_sql_close(struct tw_sql *sql)
{
    sqlite3_finalize(sql->statement); /* says again what was said; NULL is harmless */
    return sql->status;
}

enum tw_status tw_sql_ask(struct tw_record *record, const char *statement, long none, long *out,
                          struct tw_findings *findings)
{
    struct tw_sql sql = tw_sql_open(record, statement, findings);

    *out = none;
    if (tw_sql_row(&sql))
        *out = (long)sqlite3_column_int64(sql.statement, 0);
    return tw_sql_close(&sql);
}

/* ---- changes ---- */

enum tw_status tw_sql_begin(struct tw_record *record, struct tw_findings *findings)
{
    return tw_sql_run(record, "BEGIN IMMEDIATE", findings);
}

enum tw_status tw_sql_end(struct tw_record *record, enum tw_status status, struct tw_findings *findings)
{
    if (status == TW_OK)
        status = tw_sql_run(record, "UPDATE run SET value = value + 1 WHERE key = 'change'; COMMIT", findings);
    if (status != TW_OK && !sqlite3_get_autocommit(record->database))
        sqlite3_exec(record->database, "ROLLBACK", NULL, NULL, NULL);
    return status;
}
