/* schema.h - every key of a job and of its profiles: kind, range, default, meaning, and where its value goes.
 *
 * Reading, messages, digest and the reference pages all come from these rows, so a new key is one row.
 * A group of the schema is one { ... } of the file. The groups of a profile ("machine.spindle") stand in the
 * profile file without their first word ("spindle"), and in the job, as overrides, with it. */
#ifndef TANGWRIGHT_INPUT_SCHEMA_H
#define TANGWRIGHT_INPUT_SCHEMA_H

#include "base/units.h"
#include "tangwright/job.h"

#include <stdbool.h>
#include <stddef.h>

enum tw_kind {
    TW_KIND_TEXT,      /* char *: a string of one line */
    TW_KIND_PATH,      /* char *: a file, relative to the job; not part of the digest */
    TW_KIND_WORD,      /* an enum or int: one of `words` */
    TW_KIND_WORD_FLAG, /* bool: one of two `words` */
    TW_KIND_FLAG,      /* bool: true or false */
    TW_KIND_COUNT,     /* int: a bare whole number */
    TW_KIND_RATIO,     /* double: a bare number */
    TW_KIND_MEASURE,   /* double: a string with a number and its unit */
    TW_KIND_POINT,     /* struct tw_point: [ "x", "y" ], two lengths */
    TW_KIND_AXIS,      /* struct tw_axis: its letter and sign, as "X" or "-X" */
    TW_KIND_BOX,       /* struct tw_ring: [ "x1", "y1", "x2", "y2" ], two opposite corners */
    TW_KIND_CIRCLE,    /* struct tw_ring: [ "x", "y", "diameter" ] */
    TW_KIND_POLYGON,   /* struct tw_ring: ( ( "x", "y" ), ... ) */
    TW_KIND_PAIRS,     /* struct tw_ring: ( ( "at", "value" ), ... ), lengths, the first rising */
    TW_KIND_LIST       /* ( { ... }, ... ): read by src/input/lists.c with the group named `path[]` */
};

struct tw_word {
    const char *word;
    int value;
};

/* A key is required unless it has a preset or a derived default, or is a profile's list. */
struct tw_key {
    const char *name;
    enum tw_kind kind;
    enum tw_quantity quantity;   /* MEASURE, POINT and the shapes */
    const char *unit;            /* of least and most, and for examples */
    double least, most;          /* both allowed; of a text: its most bytes, 0: 80 */
    const struct tw_word *words; /* ended by a NULL word */
    const char *preset;          /* the default as a person would write it, without the quotes */
    const char *derived;         /* in words: the default that follows from other keys; the member stays 0 till then */
    const char *example;         /* a sensible value as it stands behind the equals sign */
    const char *meaning;
    const char *columns; /* of a list of pairs or corners that a key of its own holds: what the two of each are */
    const char *source;  /* of range and default */
    size_t offset;       /* in the group's struct */
};

struct tw_group {
    const char *path; /* "" the job itself; "machine.spindle"; "fixture.stations[]" one member of a list */
    bool profile;     /* its keys come from a profile, and the job may override them */
    size_t offset;    /* of its struct in tw_draft; of a list member: 0 */
    const struct tw_key *keys;
    size_t key_count;
    const char *meaning;
};

/* How the drawing is to be read and where the taper axis lies in it. */
struct tw_outline_request {
    char *path;
    struct tw_drawing drawing; /* its path and pick are not set here */
    char *pick;
    struct tw_point start, towards;
    double angle_rad;
    bool y_down; /* as start and towards are written; checks turn them up */
    bool mirrored;
    struct tw_placement_told told;
};

#define TW_PROFILE_COUNT 6

/* All that is read; the job is handed out, the rest goes. */
struct tw_draft {
    struct tw_job job;
    struct tw_outline_request outline;
};

extern const struct tw_group tw_groups[];
extern const size_t tw_group_count;

/* The words of a job that name profiles: "machine", "wheel", "relief_wheel", "steel", "coolant", "fixture". */
extern const char *const tw_profile_names[TW_PROFILE_COUNT];

/* Whether a job may do without the profile, and then without all its groups. */
bool tw_profile_is_optional(const char *name);

/* The group of that path, or NULL. `length` bytes of `path` count. */
const struct tw_group *tw_group_find(const char *path, size_t length);
const struct tw_key *tw_key_find(const struct tw_group *group, const char *name);

/* Whether `group` is a list's member: its path ends in []. */
bool tw_group_is_member(const struct tw_group *group);

/* Bytes of a TEXT: its `most`, or 80. */
int tw_key_longest_text(const struct tw_key *key);

bool tw_key_is_required(const struct tw_key *key);
bool tw_group_has_required(const struct tw_group *group);

#endif
