/* own.c - our own files, known again by their beginning. */
#include "base/own.h"

#include <stdbool.h>
#include <string.h>

static const struct row {
    enum tw_own kind;
    const char *name;
    const char *start;    /* the file begins with this */
    const char *contains; /* and this stands in its head; NULL: nothing more is asked */
} rows[] = {
    { TW_OWN_PROGRAM, "program", "(TANGWRIGHT ", NULL },
    { TW_OWN_PROGRAM, "program", "%\n(TANGWRIGHT ", NULL },
    { TW_OWN_PROGRAM, "program", "%\r\n(TANGWRIGHT ", NULL },
    { TW_OWN_LIST, "list of programs", "# tangwright: ", NULL },
    { TW_OWN_SHEET, "setup sheet", "<!DOCTYPE html>\n", "<meta name=\"generator\" content=\"tangwright" },
    { TW_OWN_CHECK, "answer of check", "{\n  \"format\": \"tangwright-check/", NULL },
    { TW_OWN_SUMMARY, "summary of a plan", "{\n  \"format\": \"tangwright-summary/", NULL },
    { TW_OWN_COMPARISON, "answer of compare", "{\n  \"format\": \"tangwright-compare/", NULL },
    { TW_OWN_GAUGE, "answer of gauge", "{\n  \"format\": \"tangwright-gauge/", NULL },
    { TW_OWN_GAUGE, "answer of gauge", "{\n  \"format\": \"tangwright-gauge-roughed/", NULL },
    { TW_OWN_DRY_RUN, "answer of a dry-run", "{\n  \"format\": \"tangwright-dryrun/", NULL },
    { TW_OWN_STRAIGHTEN, "answer of straighten", "{\n  \"format\": \"tangwright-straighten/", NULL },
    { TW_OWN_BALANCE, "answer of balance", "{\n  \"format\": \"tangwright-balance/", NULL },
    { TW_OWN_CALIBRATION, "calibration", "{\n  \"format\": \"tangwright-calibration/", NULL },
    { TW_OWN_RUN, "answer of run", "{\n  \"format\": \"tangwright-run/", NULL },
    { TW_OWN_RUN_STATUS, "status of a run", "{\n  \"format\": \"tangwright-run-status/", NULL },
    { TW_OWN_LOAD, "job of a load", "# tangwright load: ", NULL },
    { TW_OWN_FIXTURE, "file of a fixture", "# tangwright fixture: ", NULL },
    { TW_OWN_FIXTURE, "file of a fixture", "999\ntangwright plate of a fixture", NULL },
    { TW_OWN_FIXTURE, "file of a fixture", "<svg xmlns=", "<title>tangwright plate of a fixture" },
};

#define ROW_COUNT (sizeof rows / sizeof *rows)

static bool contains(const char *head, size_t length, const char *words)
{
    size_t wanted = strlen(words);

    for (size_t i = 0; i + wanted <= length; i++)
        if (memcmp(head + i, words, wanted) == 0)
            return true;
    return false;
}

enum tw_own tw_own_of(const char *head, size_t length)
{
    if (length > TW_OWN_HEAD_BYTES)
        length = TW_OWN_HEAD_BYTES;
    for (size_t i = 0; i < ROW_COUNT; i++) {
        size_t start = strlen(rows[i].start);

        if (length >= start && memcmp(head, rows[i].start, start) == 0 &&
            (!rows[i].contains || contains(head, length, rows[i].contains)))
            return rows[i].kind;
    }
    return TW_OWN_NONE;
}

const char *tw_own_name(enum tw_own kind)
{
    for (size_t i = 0; i < ROW_COUNT; i++)
        if (rows[i].kind == kind)
            return rows[i].name;
    return "file";
}
