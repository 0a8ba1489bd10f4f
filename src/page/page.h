/* page.h - what the parts of the page work with. */
#ifndef TANGWRIGHT_PAGE_INNER_H
#define TANGWRIGHT_PAGE_INNER_H

#include "input/reading.h"
#include "page/ask.h"
#include "page/folder.h"
#include "page/guard.h"
#include "tangwright/page.h"

#include <jansson.h>

/* A drawing may be so large (outline/read.c), a list of changes not nearly. */
#define PAGE_DRAWING_BYTES ((size_t)16 << 20)
#define PAGE_CHANGES_BYTES ((size_t)64 << 10)
#define PAGE_JOB_BYTES     ((size_t)256 << 10)

#define PAGE_JOB_NAME "job.cfg"

/* Files that the job was last read from: when one of them changes, so does what is shown. */
#define PAGE_WATCHED_MOST 10

#define PAGE_UNDO_MOST 50

/* The job file before and after a change that the page wrote. */
struct page_step {
    char *before, *after;
};

struct tw_page {
    struct folder folder;
    struct guard guard;
    char *job_path;      /* of PAGE_JOB_NAME, whole */
    char *programs_path; /* of ASK_PROGRAMS */
    char *address;
    struct asks asks;
    char *watched[PAGE_WATCHED_MOST];
    size_t watched_count;
    struct page_step steps[PAGE_UNDO_MOST];
    size_t step_count;
    int wanted_port;
    enum tw_status (*begin)(const char *folder, struct tw_findings *findings);
    struct MHD_Daemon *daemon; /* NULL: not served */
};

/* ---- JSON; each gives a new reference, or NULL when memory runs out ---- */

/* keys.c: every group and key of the schema, with range, default, words and source. */
json_t *page_keys(void);

/* values.c: what the job, its profiles or a default say for each key, "taper.length" to an object. */
json_t *page_values(const struct tw_reading *reading);

/* picture.c: the drawing with all its lines, in mm with y up; and how the knife lies in it, of a job whose every value was
 * read, in words only where it has no fault. */
json_t *page_drawing(struct tw_reading *reading);
json_t *page_placement(const struct tw_job *job, bool sound, struct tw_findings *findings);
/* A finding without the place where it stands, which is told apart. */
const char *page_sentence(const struct tw_finding *finding);
json_t *page_findings(const struct tw_page *page, const struct tw_findings *findings);

/* state.c: the whole of what is shown, and a word that changes whenever that may have changed. */
json_t *page_job(struct tw_page *page);
json_t *page_state(struct tw_page *page);
void page_forget_watched(struct tw_page *page);

/* Words of a job or a drawing, with whatever is no plain UTF-8 made visible; NULL gives null. */
json_t *page_string(const char *words);

/* Appends and gives up `item`; an array that cannot take it is given up as well and becomes NULL. */
json_t *page_appended(json_t *array, json_t *item);

/* ---- change.c ---- */

/* A key by its path, "taper.length"; NULL where there is none. */
const struct tw_key *page_key(const char *path);

/* rows.c: a row of a list, "fixture.keep_outs[2]", and a key of one, "fixture.keep_outs[2].top"; NULL: there is none. */
bool page_is_row(const char *path);
const struct tw_key *page_row_key(const char *path);
/* The key whose pairs or corners "blade.distal[2]" is one of; NULL: of none. */
const struct tw_key *page_pairs_key(const char *path);
/* Whether a finding's key lies in the row of that path. */
bool page_row_holds(const char *path, const char *key);
/* A new row as a job file writes it; false where a value of it cannot be written. */
bool page_row_literal(const char *path, const json_t *row, struct tw_text *out);
/* The rows that count now, wherever they stand, to be written into the job. */
bool page_list_literal(struct tw_page *page, const char *path, struct tw_text *out);

/* Writes the changes of a request into the job file. The status is one of HTTP; where it is not 200, the findings say why. */
int page_change(struct tw_page *page, const char *body, size_t length, struct tw_findings *findings);

/* "wheel.profile" */
bool page_names_profile(const char *path);

/* Takes the last change back. */
int page_undo(struct tw_page *page, struct tw_findings *findings);
/* Whether the last change can be taken back: the job file is still as it was left by it. */
bool page_can_undo(const struct tw_page *page, const char *text);
void page_forget_steps(struct tw_page *page);

/* A value of a key as the job file writes it. False where no such value is one of that key's. */
bool page_literal(const struct tw_key *key, const json_t *value, struct tw_text *out);

/* ---- questions.c ---- */

/* Starts the command that answers; the body tells for which job, and of variants which. The status is one of HTTP. */
int page_ask(struct tw_page *page, enum ask_kind kind, const char *body, size_t length, struct tw_findings *findings);

#endif
