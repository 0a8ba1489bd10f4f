/* compare.h - the same job with some keys changed, each variant planned and proved.
 *
 * Memory  a tw_comparison owns all its texts: tw_comparison_free().
 * Errors  TW_BAD_USAGE for a word that is no KEY=VALUE, or too many variants; what reading a variant finds wrong;
 *         TW_NO_MEMORY. A variant that cannot be planned is no error: it says why. */
#ifndef TANGWRIGHT_COMPARE_H
#define TANGWRIGHT_COMPARE_H

#include "tangwright/job.h"
#include "tangwright/plan.h"

#define TW_VARIANTS_MOST 6 /* that stand side by side */
#define TW_CHANGES_MOST  4 /* keys that one variant changes */

struct tw_variant {
    struct tw_instead changes[TW_CHANGES_MOST]; /* none: the job as it stands */
    size_t change_count;
    char *refusal; /* NULL: planned; else why not, and nothing below is set */
    int parts, pass_count;
    double cycle_time_s, cut_time_s, dwell_s; /* all parts; cut: wheel over stock; dwell: waited for a tang to cool */
    double peak_degC, reserve_degC, allowed_degC;
    double saves_s[TW_LIMIT_COUNT]; /* see tw_setup_plan */
    double removed_g;               /* of one part */
    bool weighed;                   /* the blank's mass is known, and so the next two */
    double knife_g, balance_mm;     /* with the handle, if there is one; behind the taper start */
};

struct tw_comparison {
    struct tw_variant variants[TW_VARIANTS_MOST]; /* the job as it stands first */
    size_t count;
    bool inches;                  /* the job's machine is programmed in inches */
    char *texts[TW_CHANGES_MOST]; /* what the changes point into */
    size_t text_count;
};

/* `words`: KEY=VALUE[,VALUE...], each value of each key with each value of the others. Commas inside brackets or quotes
 * part no values. A key has its values in one word. Variants that are the same job are planned once, with a remark. */
enum tw_status tw_comparison_make(const char *job_path, const char *const words[], size_t count,
                                  struct tw_comparison *out, struct tw_findings *findings);

void tw_comparison_free(struct tw_comparison *comparison);

/* The limit that a tenth looser would save most, TW_LIMIT_COUNT where none saves as much as a second. */
enum tw_limit tw_variant_dearest(const struct tw_variant *variant);

#endif
