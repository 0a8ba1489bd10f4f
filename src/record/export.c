/* export.c - the tables of a record as comma-separated values, RFC 4180 (2005). */
#include "base/text.h"
#include "record/sql.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void tw_record_tables_free(struct tw_record_tables *tables)
{
    for (size_t i = 0; i < tables->count; i++)
        free(tables->texts[i]);
    *tables = (struct tw_record_tables){ 0 };
}

/* Quoted where a comma, a quote, a line break or, for our own reader, a comment's beginning would part it. */
static void print_cell(struct tw_text *text, const char *cell)
{
    if (!strpbrk(cell, ",\"\r\n#;\t")) {
        tw_text_print(text, "%s", cell);
        return;
    }
    tw_text_print(text, "\"");
    for (; *cell; cell++)
        tw_text_print(text, *cell == '"' ? "\"\"" : "%c", *cell);
    tw_text_print(text, "\"");
}

static void print_value(struct tw_text *text, sqlite3_stmt *statement, int column)
{
    const char *words;

    switch (sqlite3_column_type(statement, column)) {
    case SQLITE_FLOAT:
        tw_text_print(text, "%.9g", sqlite3_column_double(statement, column));
        break;
    case SQLITE_INTEGER:
        tw_text_print(text, "%lld", (long long)sqlite3_column_int64(statement, column));
        break;
    case SQLITE_TEXT:
        words = (const char *)sqlite3_column_text(statement, column);
        if (words)
            print_cell(text, words);
        else
            text->failed = true;
        break;
    default:
        break;
    }
}

static void print_heading(struct tw_text *text, sqlite3_stmt *statement)
{
    for (int i = 0; i < sqlite3_column_count(statement); i++)
        tw_text_print(text, "%s%s", i > 0 ? "," : "", sqlite3_column_name(statement, i));
    tw_text_print(text, "\r\n");
}

static enum tw_status export_table(struct tw_record *record, const char *table, char **out,
                                   struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    struct tw_sql sql;
    char select[96];

    snprintf(select, sizeof select, "SELECT * FROM %s ORDER BY rowid", table);
    sql = tw_sql_open(record, select, findings);
    if (sql.status == TW_OK)
        print_heading(&text, sql.statement);
    while (tw_sql_row(&sql)) {
        for (int i = 0; i < sqlite3_column_count(sql.statement); i++) {
            tw_text_print(&text, i > 0 ? "," : "");
            print_value(&text, sql.statement, i);
        }
        tw_text_print(&text, "\r\n");
    }
    if (tw_sql_close(&sql) == TW_OK) {
        *out = tw_text_take(&text);
        sql.status = *out ? TW_OK : tw_no_memory(findings);
    }
    tw_text_free(&text);
    return sql.status;
}

enum tw_status tw_record_export(struct tw_record *record, struct tw_record_tables *out, struct tw_findings *findings)
{
    static const char *const file_names[] = { "run.csv",        "blank.csv",    "survey.csv",       "load.csv",
                                              "program.csv",    "dressing.csv", "reading_file.csv", "reading.csv",
                                              "correction.csv", "total.csv",    "roughed.csv",      "noted.csv" };
    enum tw_status status;

    *out = (struct tw_record_tables){ 0 };
    status = tw_sql_run(record, "BEGIN", findings);
    for (size_t i = 0; status == TW_OK && tw_record_table_names[i]; i++) {
        status = export_table(record, tw_record_table_names[i], &out->texts[out->count], findings);
        if (status == TW_OK)
            out->names[out->count++] = file_names[i];
    }
    sqlite3_exec(record->database, "ROLLBACK", NULL, NULL, NULL);
    if (status != TW_OK)
        tw_record_tables_free(out);
    return status;
}
