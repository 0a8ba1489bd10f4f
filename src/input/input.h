/* input.h - the state of one reading of a job: the files, what was found where, and the faults. */
#ifndef TANGWRIGHT_INPUT_INPUT_H
#define TANGWRIGHT_INPUT_INPUT_H

#include "base/text.h"
#include "input/schema.h"
#include "input/source.h"

#include <math.h>

/* Where the value of a key of the schema came from. */
struct tw_origin {
    const config_setting_t *setting; /* NULL: a default, or missing */
    const char *file;
    int line; /* of the setting, else of its group; 0: not known */
    bool ok;  /* the member holds a sound value */
};

struct tw_input {
    struct tw_draft *draft;
    struct tw_source job;
    struct tw_source profiles[TW_PROFILE_COUNT];
    struct tw_origin *origins; /* of every key, in the order of the schema */
    struct tw_findings *findings;
    unsigned long long
        answered; /* items of `confirmed` that answered a question, a bit each, as they stand in the list */
    size_t bad_inputs, io_failures;
    bool told_of_profiles; /* where those come from that are not there */
    bool no_memory;
};

/* Adds a fault with the text of `complaint`, and empties it. */
void tw_input_fault(struct tw_input *input, struct tw_place at, struct tw_text *complaint);
void tw_input_faultf(struct tw_input *input, struct tw_place at, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* `path` is the full name of a key in the schema, such as "machine.spindle.axis". */
struct tw_origin *tw_input_origin(const struct tw_input *input, const char *path);
struct tw_place tw_input_place(const struct tw_input *input, const char *path);

/* Reads every key of every group, from the job and the profiles. */
void tw_input_read_groups(struct tw_input *input);

/* values.c: one setting into its member at `base`; `path` for messages. False after a fault. */
bool tw_value_read(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting,
                   struct tw_place at, void *base);
bool tw_value_preset(struct tw_input *input, const struct tw_key *key, void *base);
/* 'key = "3.7 mm"' */
void tw_value_example(const struct tw_key *key, struct tw_text *text);

/* lists.c: keep-outs and stations of the fixture at `base`, or pins of the handle or blanks of the job there. */
bool tw_list_read(struct tw_input *input, const struct tw_key *key, const config_setting_t *setting, struct tw_place at,
                  void *base);
void tw_fixture_drop_keep_outs(struct tw_fixture *fixture);
void tw_fixture_drop_stations(struct tw_fixture *fixture);
void tw_handle_drop_pins(struct tw_handle *handle);
void tw_job_drop_blanks(struct tw_job *job);

/* Shared by groups and list members: faults for keys that `group` does not know. */
void tw_input_refuse_unknown(struct tw_input *input, const struct tw_group *group, const config_setting_t *setting,
                             const char *file, const char *shown_path, bool in_job);

/* How many of a profile's own keys the group knows, its name not counted. */
size_t tw_input_known_keys(const struct tw_group *group, const config_setting_t *profile);

/* checks.c: what keys say about each other. Before the outline is read, and after. */
void tw_checks_run(struct tw_input *input);
void tw_checks_run_with_outline(struct tw_input *input);

/* weight_checks.c: the same for blank, handle, relief and blade. */
void tw_weight_checks_run(struct tw_input *input);
void tw_weight_checks_run_with_outline(struct tw_input *input);

/* size_checks.c: questions about sizes that no knife is likely to have. The drawing as a whole first, before anyone looks
 * how the knife lies in it; false after a question. */
void tw_size_checks_run(struct tw_input *input);
bool tw_size_checks_drawing(struct tw_input *input, const struct tw_outline *drawing);
void tw_size_checks_run_with_outline(struct tw_input *input);

/* Whether the job's `confirmed` holds the answer to a question that is to be asked. */
bool tw_input_is_confirmed(struct tw_input *input, const char *answer);
/* The line that answers the question; what is confirmed already stays in it. */
void tw_input_say_answer(const struct tw_input *input, const char *answer, struct tw_text *text);
/* When all is asked: remarks answers left over from other sizes, or written otherwise than the question asks. */
void tw_size_checks_end(struct tw_input *input);

/* survey_checks.c: whether a survey leaves the blank about as thick everywhere. */
void tw_survey_checks_run(struct tw_input *input, const struct tw_survey *survey);

/* contact_checks.c: the fixture against the blank. */
void tw_contact_checks_run(struct tw_input *input);

/* Refuses a band of thickness whose thickest blank would have its taper begin on the blade's heel. Once all else is known and right. */
void tw_heel_checks_run(struct tw_input *input);

/* digest.c */
enum tw_status tw_digest_job(const struct tw_draft *draft, char digest[17], struct tw_findings *findings);

/* Whether a is below b by more than two ways of writing the same size differ: "0.2 thou" is not below "0.0002 in". */
static inline bool tw_input_below(double a, double b)
{
    return a < b - 1e-9 * fabs(b);
}

#endif
