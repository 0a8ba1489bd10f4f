/* options.h - the command line, read against tables. */
#ifndef TANGWRIGHT_CLI_OPTIONS_H
#define TANGWRIGHT_CLI_OPTIONS_H

#include "tangwright/findings.h"

#define OPTION_OPERANDS_MOST 16

/* What a command line may say; NULL for what it did not. */
struct options {
    const char *operands[OPTION_OPERANDS_MOST];
    size_t operand_count;
    const char *out;         /* --out DIR */
    const char *json;        /* --json FILE */
    const char *lift;        /* --lift "10 mm" */
    const char *cell;        /* --cell "0.05 mm" */
    const char *at;          /* --at "12 mm ahead" */
    const char *survey;      /* --survey FILE */
    const char *sheet;       /* --sheet FILE */
    const char *detail;      /* --detail; NULL: not given */
    const char *plot;        /* --plot; NULL: not given */
    const char *strict;      /* --strict; no value */
    const char *stations;    /* --stations N */
    const char *gauge;       /* --gauge "2 um" */
    const char *tolerance;   /* --tolerance "0.02 mm" */
    const char *status;      /* --status; NULL: not given */
    const char *done;        /* --done LOAD */
    const char *not_done;    /* --not-done LOAD */
    const char *dressed;     /* --dressed LOAD */
    const char *not_dressed; /* --not-dressed LOAD */
    const char *export;      /* --export DIR */
    const char *port;        /* --port N */
    const char *headless;    /* --no-browser; NULL: not given */
    const char *roughed;     /* --roughed; NULL: not given */
    const char *finished;    /* --finished; NULL: not given */
    bool help;
};

enum option_bit {
    OPTION_OUT = 1,
    OPTION_JSON = 2,
    OPTION_LIFT = 4,
    OPTION_CELL = 8,
    OPTION_AT = 16,
    OPTION_SURVEY = 32,
    OPTION_SHEET = 64,
    OPTION_DETAIL = 128,
    OPTION_PLOT = 256,
    OPTION_STRICT = 512,
    OPTION_STATIONS = 1024,
    OPTION_GAUGE = 2048,
    OPTION_TOLERANCE = 4096,
    OPTION_STATUS = 8192,
    OPTION_DONE = 16384,
    OPTION_EXPORT = 32768,
    OPTION_DRESSED = 65536,
    OPTION_PORT = 131072,
    OPTION_NO_BROWSER = 262144,
    OPTION_ROUGHED = 524288,
    OPTION_NOT_DONE = 1048576,
    OPTION_NOT_DRESSED = 2097152,
    OPTION_FINISHED = 4194304
};

struct verb {
    const char *name;
    const char *operands; /* as the help shows them: "JOB" */
    size_t operand_least, operand_most;
    unsigned allowed; /* option_bit */
    unsigned required;
    const char *summary; /* one line */
    enum tw_status (*run)(const struct options *options, struct tw_findings *findings);
};

/* Reads what follows the verb. */
enum tw_status options_read(const struct verb *verb, int count, char *const words[], struct options *out,
                            struct tw_findings *findings);

void options_print_verb(const struct verb *verb);

#endif
