/* record.h - what became of a run, in an SQLite database beside its run file.
 *
 * Holds   blanks and where they were ground, the surveys they were planned by, programs by their SHA-256 (FIPS 180-4), how far
 *         each load is, what each took off and cost the wheel, readings of finished parts, and corrections.
 * Safe    Every change is one transaction, written through to the disk before the call returns: after a power cut or a kill
 *         it is there as a whole or not at all. Two processes at once wait for each other, TW_RECORD_WAIT_S at most. Who
 *         plans by a state that another has changed meanwhile is refused, and nothing of it is written.
 * Schema  The version stands in the database. An older one is brought up to date when it is opened, in one transaction; a newer
 *         one is refused.
 * Memory  a tw_record is closed, states are freed by their own functions. What is handed in is borrowed for the call.
 * Errors  TW_IO: the database cannot be opened, read or written, is no record of ours, or a newer one; TW_DO_NOT_CUT: another
 *         process was ahead; TW_BAD_INPUT: what is asked for does not fit the run; TW_NO_MEMORY. */
#ifndef TANGWRIGHT_RECORD_H
#define TANGWRIGHT_RECORD_H

#include "tangwright/findings.h"

#include <stdbool.h>
#include <stddef.h>

#define TW_RECORD_WAIT_S 20
#define TW_SHA256_BYTES  65 /* as hexadecimal digits, base/fingerprint.h */

struct tw_record;

/* Opens the record at `path`; `make`: an empty one is made where there is none, else that is no error and *out is NULL. */
enum tw_status tw_record_open(const char *path, bool make, struct tw_record **out, struct tw_findings *findings);
void tw_record_close(struct tw_record *record);

/* ---- what is in it ---- */

enum tw_load_state { TW_LOAD_PLANNED, TW_LOAD_GROUND, TW_LOAD_GAUGED };
const char *tw_load_state_name(enum tw_load_state state);

/* Texts may be NULL where nothing is told. */
struct tw_record_blank {
    const char *number;
    double thickness_mm;       /* of its ricasso; 0: not told */
    const char *survey_sha256; /* of tw_record_survey */
    const char *remark;
    const char *aside;  /* why it is set aside; NULL: it is not */
    int load, station;  /* from 1; 0: in none */
    const char *inputs; /* digest of the job that its programs are of */
    double planned_mm,
        butt_mm; /* thicknesses that its load aims at, corrections aside: at the taper start and the butt */
};

struct tw_record_survey {
    char sha256[TW_SHA256_BYTES];
    const char *name, *text;
};

struct tw_record_program {
    char sha256[TW_SHA256_BYTES];
    const char *name; /* below the folder of the run */
    int load;
    const char *inputs;
};

struct tw_record_load {
    int load;
    enum tw_load_state state;
    double cycle_s;
    double removed_mm3; /* steel that the wheel takes off, all blanks */
    double wheel_mm;    /* likely loss of the wheel's height; 0: not known */
    bool dress_before;  /* the wheel was planned to be dressed before it */
    const char *wheel;  /* that it is planned for, in words that tell it from another; NULL: not told */
};

struct tw_record_reading {
    const char *part;
    int station; /* 0: not told */
    double x_mm, y_mm, thickness_mm;
};

struct tw_record_correction {
    int load;         /* after whose readings it was found */
    const char *what; /* "offset", "taper", "crown", "station" */
    int station;      /* of the last; else 0 */
    double value_mm, standard_mm, chance;
    bool advised;
};

/* By how much finished parts were gauged too thick, in all, and so how much thinner they are planned. */
struct tw_record_total {
    int load;         /* that is planned with it; 0: it is for the loads that are planned next */
    const char *what; /* "offset", "taper", "roughing", "station" */
    int station;      /* of the last; else 0 */
    double value_mm;  /* of the thickness */
};

/* What a load's roughed part was gauged too thick by, and so how much thinner its programs are written. */
struct tw_record_roughed {
    int load, station;
    double value_mm;  /* of the thickness, in all */
    bool planned;     /* the programs in the folder are written with it */
    const char *stop; /* why it is not to be finished as it is, by its name in roughed.h; NULL: nothing is in the way */
    const char *wheel; /* that roughed it, in words that tell it from another; NULL: not told */
    double left_mm;    /* of the thickness, by its last readings: its roughing, run again, takes it off */
    double written_mm; /* what the programs in the folder are thinner by */
    bool
        told; /* its last readings told, and were so much too thick where it was cut by programs that were thinner by cut_mm */
    double cut_mm, off_mm;
};

/* Something that was told of a load, and when. What is taken back is a note of its own: none ever goes. */
struct tw_record_note {
    const char *at;   /* in UTC, ISO 8601: "2026-05-04T09:30:00Z" */
    const char *what; /* "planned", "ground", "not ground", "dressed", "not dressed" */
    int load;         /* 0: of all that are not ground */
};

/* A file of the plan that is written beside its place; `aside` NULL: what stands at the target goes. */
struct tw_record_file {
    const char *target, *aside;
};

/* All of it as it stands at one moment; lists in the order of load and number. */
struct tw_record_state {
    long change;               /* counts the changes of the record: hand it back to tw_record_plan() */
    const char *name, *folder; /* of the run, and where its loads were written; NULL: never */
    struct tw_record_blank *blanks;
    size_t blank_count;
    struct tw_record_program *programs;
    size_t program_count;
    struct tw_record_load *loads;
    size_t load_count;
    struct tw_record_reading *readings; /* of finished parts */
    size_t reading_count;
    struct tw_record_correction *corrections;
    size_t correction_count;
    struct tw_record_total *totals;
    size_t total_count;
    struct tw_record_roughed *roughed;
    size_t roughed_count;
    const char **files; /* SHA-256 of each file of readings */
    size_t file_count;
    struct tw_record_file *placing; /* files of the last plan that may not be in their places yet */
    size_t placing_count;
    int *dressings; /* loads before which the shop told that the wheel is dressed, planned or not */
    size_t dressing_count;
    struct tw_record_note *notes; /* in the order in which they were told */
    size_t note_count;
    char **texts; /* what the lists point into */
    size_t text_count, text_capacity;
};

enum tw_status tw_record_read(struct tw_record *record, struct tw_record_state *out, struct tw_findings *findings);
void tw_record_state_free(struct tw_record_state *state);

/* The last load that is ground; 0: none. */
int tw_record_last_ground(const struct tw_record_state *state);

/* When the load was taken back since the last plan; NULL where it was not. */
const char *tw_record_taken_back(const struct tw_record_state *state, int load);

/* Whether the last plan was made while a load counted as ground that was taken back since: what it left out has to be planned. */
bool tw_record_plan_was_misled(const struct tw_record_state *state);

/* Whether that load was planned with roughing programs of its own. */
bool tw_record_is_roughed_apart(const struct tw_record_state *state, int load);

/* Whether the wheel is dressed before that load, as was planned or told. */
bool tw_record_is_dressed(const struct tw_record_state *state, int load);

/* ---- changing it ---- */

struct tw_record_plan {
    long change; /* of the state that it was planned by */
    const char *name, *folder;
    const struct tw_record_blank *blanks;
    size_t blank_count;
    const struct tw_record_survey *surveys;
    size_t survey_count;
    const struct tw_record_program *programs;
    size_t program_count;
    const struct tw_record_load *loads; /* those that are not ground yet */
    size_t load_count;
    const struct tw_record_total *totals; /* that these loads are planned with */
    size_t total_count;
    const struct tw_record_total *kept; /* as many, that one load is planned with instead; NULL: none is */
    int kept_load;
    const struct tw_record_file *placing; /* that take their places once this is in the record */
    size_t placing_count;
};

/* Takes the place of all that was planned and is not ground; what is ground stays. */
enum tw_status tw_record_plan(struct tw_record *record, const struct tw_record_plan *plan,
                              struct tw_findings *findings);

/* All files of the last plan are in their places. */
enum tw_status tw_record_placed(struct tw_record *record, struct tw_findings *findings);

/* A planned load is ground. Said twice, it is nothing new. */
enum tw_status tw_record_ground(struct tw_record *record, int load, struct tw_findings *findings);

/* A load that was noted as ground by mistake counts as planned again; both notes stay. TW_BAD_INPUT where it is not noted so, where
 * a later one is ground, or where a part of it was measured as finished. */
enum tw_status tw_record_not_ground(struct tw_record *record, int load, struct tw_findings *findings);

/* The wheel is dressed or changed before that load, which is planned or ground. Said twice, it is nothing new; but what roughed parts of
 * the load were gauged off by was told of the wheel before, so each time it no longer counts, and they stop the load with this. */
enum tw_status tw_record_dressed(struct tw_record *record, int load, const char *stop, struct tw_findings *findings);

/* What was told by mistake is taken back; both notes stay, and what it voided stays void. TW_BAD_INPUT where nothing was told. */
enum tw_status tw_record_not_dressed(struct tw_record *record, int load, struct tw_findings *findings);

struct tw_record_gauging {
    const char *sha256, *name; /* of the file of readings */
    const struct tw_record_reading *readings;
    size_t count;
    const struct tw_record_correction *corrections; /* what they came to */
    size_t correction_count;
    const struct tw_record_total *totals; /* that loads are planned with from now on */
    size_t total_count;
    long change; /* of the state that they were weighed by */
};

/* Readings of finished parts. Each part is a blank of a load; that load counts as ground then, and as gauged once all its blanks
 * have readings. A part's older readings stay in the record, and no longer count. The same file once more changes nothing;
 * *known tells. */
enum tw_status tw_record_gauge(struct tw_record *record, const struct tw_record_gauging *gauging, bool *known,
                               struct tw_findings *findings);

/* Readings of parts of one planned load between its roughing and its finishing. */
struct tw_record_roughing {
    const char *sha256, *name; /* of the file of readings */
    const struct tw_record_reading *readings;
    size_t count;
    const struct tw_record_roughed *found; /* what its programs are written with from the next plan on */
    size_t found_count;
    long change; /* of the state that they were weighed by */
};

/* They stand apart from those of finished parts, and older ones of a roughed part no longer count. *known as above. */
enum tw_status tw_record_rough(struct tw_record *record, const struct tw_record_roughing *roughing, bool *known,
                               struct tw_findings *findings);

/* Readings that are in the record, weighed anew: loads are planned with these totals from now on. */
enum tw_status tw_record_correct(struct tw_record *record, const struct tw_record_total *totals, size_t count,
                                 long change, struct tw_findings *findings);

/* ---- handing it out ---- */

#define TW_RECORD_TABLES_MOST 12

/* Every table as a text of comma-separated values (RFC 4180), the first line naming its columns. */
struct tw_record_tables {
    const char *names[TW_RECORD_TABLES_MOST]; /* "blank.csv", ... */
    char *texts[TW_RECORD_TABLES_MOST];
    size_t count;
};

enum tw_status tw_record_export(struct tw_record *record, struct tw_record_tables *out, struct tw_findings *findings);
void tw_record_tables_free(struct tw_record_tables *tables);

#endif
