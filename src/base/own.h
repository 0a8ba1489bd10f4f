/* own.h - what the files that this program writes look like at their beginning, so that it knows its own again. */
#ifndef TANGWRIGHT_BASE_OWN_H
#define TANGWRIGHT_BASE_OWN_H

#include <stddef.h>

enum tw_own {
    TW_OWN_NONE, /* not by its beginning: another's, or a program for a controller that takes no comments */
    TW_OWN_PROGRAM,
    TW_OWN_LIST,
    TW_OWN_SHEET,
    TW_OWN_CHECK,
    TW_OWN_SUMMARY,
    TW_OWN_COMPARISON,
    TW_OWN_GAUGE,
    TW_OWN_DRY_RUN,
    TW_OWN_STRAIGHTEN,
    TW_OWN_BALANCE,
    TW_OWN_CALIBRATION,
    TW_OWN_FIXTURE,
    TW_OWN_RUN,
    TW_OWN_RUN_STATUS,
    TW_OWN_LOAD
};

/* As many bytes of a file's beginning tell its kind. */
#define TW_OWN_HEAD_BYTES 512

/* By the first bytes; more than TW_OWN_HEAD_BYTES are not looked at. */
enum tw_own tw_own_of(const char *head, size_t length);

/* "setup sheet", ... ; "file" of none */
const char *tw_own_name(enum tw_own kind);

#endif
