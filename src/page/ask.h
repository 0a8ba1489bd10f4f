/* ask.h - questions that take long: each is a command of this very program, run beside the page, so that what it answers is
 * what the command line answers.
 *
 * The last answer of a kind stays until the next is there. A newer question of the same kind ends the older one. */
#ifndef TANGWRIGHT_PAGE_ASK_H
#define TANGWRIGHT_PAGE_ASK_H

#include "page/folder.h"

#include <sys/types.h>

enum ask_kind { ASK_PREVIEW, ASK_COMPARE, ASK_WRITE, ASK_PROVE, ASK_FIXTURE, ASK_KINDS };

#define ASK_WORDS_MOST 24
#define ASK_LABEL_ROOM 40

/* Where the programs go, and a designed fixture: below the folder. */
#define ASK_PROGRAMS "programs"
#define ASK_FIXTURES "fixture"

struct ask_answer {
    unsigned number; /* of answers so far; 0: none yet */
    int status;      /* of the process as the shell has it; above 128: it was killed */
    char label[ASK_LABEL_ROOM];
    double took_s;
    struct tw_text json, sheet, said;
};

struct ask {
    pid_t child; /* 0: none runs */
    double started_s;
    char label[ASK_LABEL_ROOM];
    struct ask_answer answer;
};

struct asks {
    char *program;
    char *scratch; /* a folder of our own for what the processes write */
    struct ask each[ASK_KINDS];
};

/* asks_close() in any case; it ends what still runs. */
enum tw_status asks_open(struct asks *asks, const char *program, struct tw_findings *findings);
void asks_close(struct asks *asks);

/* The kind of that name, "preview"; ASK_KINDS where there is none. */
enum ask_kind ask_kind_of(const char *name);
const char *ask_name(enum ask_kind kind);

/* Starts the command with these words behind the verb; NULL ends them. `label` tells the page for which job. */
enum tw_status ask_start(struct asks *asks, enum ask_kind kind, const char *label, const char *const words[],
                         struct tw_findings *findings);
void ask_stop(struct asks *asks, enum ask_kind kind);

/* Takes up what has been answered meanwhile. */
void asks_look(struct asks *asks);

/* What is running, and which answers there are: an object for each kind. */
json_t *asks_state(const struct asks *asks);

/* The whole of one answer. */
json_t *ask_answer(const struct asks *asks, enum ask_kind kind, const struct folder *folder);

/* A file of the scratch folder: where a process of the kind writes its answer. The caller's: free(). */
char *ask_file(const struct asks *asks, enum ask_kind kind, const char *ending);

#endif
