/* sql.h - the few things that are done with SQLite: a statement is prepared, given its values, stepped and finished. */
#ifndef TANGWRIGHT_RECORD_SQL_H
#define TANGWRIGHT_RECORD_SQL_H

#include "tangwright/record.h"

#include <sqlite3.h>

struct tw_record {
    sqlite3 *database;
    char *path;
};

/* What SQLite says went wrong, as a finding; TW_IO or TW_NO_MEMORY. */
enum tw_status tw_sql_failed(const struct tw_record *record, struct tw_findings *findings);

/* Runs statements that take no values and give no rows. */
enum tw_status tw_sql_run(struct tw_record *record, const char *statements, struct tw_findings *findings);

/* One statement. After the first failure every call does nothing; tw_sql_close() tells what became of it. */
struct tw_sql {
    struct tw_record *record;
    struct tw_findings *findings;
    sqlite3_stmt *statement;
    enum tw_status status;
    int bound;
};

struct tw_sql tw_sql_open(struct tw_record *record, const char *statement, struct tw_findings *findings);

/* Values for the statement's ?, in their order. */
void tw_sql_text(struct tw_sql *sql, const char *text); /* NULL: no value */
void tw_sql_number(struct tw_sql *sql, double number);
void tw_sql_whole(struct tw_sql *sql, long whole);

/* True while there is another row. */
bool tw_sql_row(struct tw_sql *sql);

/* Runs it to its end, without rows, and makes it ready for other values. */
void tw_sql_do(struct tw_sql *sql);

enum tw_status tw_sql_close(struct tw_sql *sql);

/* The one whole number that a statement gives; `none` without a row. */
enum tw_status tw_sql_ask(struct tw_record *record, const char *statement, long none, long *out,
                          struct tw_findings *findings);

/* A change: begun at once for writing, so that two cannot stand in each other's way half done. */
enum tw_status tw_sql_begin(struct tw_record *record, struct tw_findings *findings);

/* Counts the change and writes it through, or, where `status` is not TW_OK, takes all of it back; gives the status. */
enum tw_status tw_sql_end(struct tw_record *record, enum tw_status status, struct tw_findings *findings);

/* schema.c: brings the tables to the version of this program. */
enum tw_status tw_record_bring_up(struct tw_record *record, struct tw_findings *findings);

/* The tables in the order in which they are handed out, NULL behind the last. */
extern const char *const tw_record_table_names[];

#endif
