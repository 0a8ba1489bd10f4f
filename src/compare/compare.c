/* compare.c - see compare.h. */
#include "tangwright/assess.h"
#include "tangwright/compare.h"

#include "base/memory.h"
#include "base/text.h"
#include "tangwright/balance.h"
#include "tangwright/contacts.h"
#include "tangwright/proven.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WORTH_SAYING_S 1.0
#define DIGEST_BYTES   sizeof(((struct tw_job *)NULL)->digest)

/* ---- the words ---- */

/* One key and its values, in a text of their own that is cut into pieces. */
struct choice {
    char *key;
    char *values[TW_VARIANTS_MOST + 1];
    size_t count;
};

static char *trimmed(char *word)
{
    size_t length;

    word += strspn(word, " ");
    length = strlen(word);
    while (length > 0 && word[length - 1] == ' ')
        word[--length] = '\0';
    return word;
}

/* Cuts the text after the next comma that stands in no brackets and no quotes; NULL at its end. */
static char *cut_value(char *text)
{
    int open = 0;
    bool quoted = false;

    for (; *text; text++) {
        quoted = quoted != (*text == '"');
        if (quoted)
            continue;
        open += strchr("([{", *text) ? 1 : strchr(")]}", *text) ? -1 : 0;
        if (*text != ',' || open > 0)
            continue;
        *text = '\0';
        return text + 1;
    }
    return NULL;
}

static enum tw_status misuse(const char *word, const char *what, struct tw_findings *findings)
{
    return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 },
                   "%s %s; say for example taper.butt_thickness=\"1.4 mm,1.6 mm\"", word, what);
}

static enum tw_status too_many(struct tw_findings *findings)
{
    return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 },
                   "%d variants stand side by side at the most, the job as it stands among them: give fewer values",
                   TW_VARIANTS_MOST);
}

/* "1" and "7 mm" were one number, written with a decimal comma. */
static bool was_one_number(const char *whole, const char *rest)
{
    size_t digits = strspn(whole, "0123456789"), decimals = strspn(rest, "0123456789");
    const char *unit = rest + decimals + strspn(rest + decimals, " ");

    return digits > 0 && whole[digits] == '\0' && decimals > 0 && isalpha((unsigned char)*unit);
}

static enum tw_status check_decimals(const char *word, const struct choice *choice, struct tw_findings *findings)
{
    for (size_t i = 0; i + 1 < choice->count; i++)
        if (was_one_number(choice->values[i], choice->values[i + 1]))
            return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 },
                           "%s: commas part values, and decimals stand behind a point: write %s=\"%s.%s\"", word,
                           choice->key, choice->values[i], choice->values[i + 1]);
    return TW_OK;
}

static enum tw_status read_choice(const char *word, char *text, struct choice *out, struct tw_findings *findings)
{
    char *value = strchr(text, '=');

    if (!value || value == text)
        return misuse(word, "is no KEY=VALUE", findings);
    *value++ = '\0';
    out->key = trimmed(text);
    while (value) {
        char *next = cut_value(value);

        if (out->count >= TW_VARIANTS_MOST)
            return too_many(findings);
        out->values[out->count] = trimmed(value);
        if (!*out->values[out->count])
            return misuse(word, "has an empty value", findings);
        out->count++;
        value = next;
    }
    return check_decimals(word, out, findings);
}

/* The second would stand in place of the first, and no variant would have the first one's value. */
static enum tw_status check_new(const struct tw_comparison *comparison, const struct choice *choice,
                                struct tw_findings *findings)
{
    const struct tw_variant *any = &comparison->variants[comparison->count - 1];

    for (size_t i = 0; i < any->change_count; i++)
        if (strcmp(any->changes[i].key, choice->key) == 0)
            return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 },
                           "%s is named twice; give all its values at once: %s=\"%s,%s\"", choice->key, choice->key,
                           any->changes[i].value, choice->values[0]);
    return TW_OK;
}

/* Every value of each key with every value of the others: each choice multiplies the variants that are there. */
static enum tw_status multiply(struct tw_comparison *out, const struct choice *choice, struct tw_findings *findings)
{
    size_t before = out->count - 1; /* the job as it stands stays apart */
    struct tw_variant old[TW_VARIANTS_MOST];

    before = before > 0 ? before : 1;
    if (1 + before * choice->count > TW_VARIANTS_MOST)
        return too_many(findings);
    memcpy(old, out->variants, sizeof old);
    if (out->count > 1) /* the first choice starts from the job as it stands */
        memmove(old, old + 1, before * sizeof *old);
    out->count = 1;
    for (size_t i = 0; i < before; i++)
        for (size_t k = 0; k < choice->count; k++) {
            struct tw_variant *variant = &out->variants[out->count++];

            *variant = old[i];
            variant->changes[variant->change_count++] = (struct tw_instead){ choice->key, choice->values[k] };
        }
    return TW_OK;
}

static enum tw_status list_variants(const char *const words[], size_t count, struct tw_comparison *out,
                                    struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    out->count = 1;
    if (count > TW_CHANGES_MOST)
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 }, "%d keys can be changed at the most",
                       TW_CHANGES_MOST);
    for (size_t i = 0; status == TW_OK && i < count; i++) {
        struct choice choice = { 0 };
        char *text = tw_copy_string(words[i]);

        if (!text)
            return tw_no_memory(findings);
        out->texts[out->text_count++] = text;
        status = read_choice(words[i], text, &choice, findings);
        if (status == TW_OK)
            status = check_new(out, &choice, findings);
        if (status == TW_OK)
            status = multiply(out, &choice, findings);
    }
    return status;
}

/* ---- one variant ---- */

static void take_figures(const struct tw_job *job, const struct tw_plan *plan, struct tw_variant *out)
{
    struct tw_plan_limits limits = tw_plan_limits(plan);

    out->parts = job->parts;
    out->pass_count = plan->pass_count;
    out->cycle_time_s = plan->cycle_time_s;
    out->cut_time_s = plan->cut_time_s;
    for (size_t i = 0; i < plan->setup_count; i++)
        out->dwell_s += job->parts * plan->setups[i].dwell_s;
    out->peak_degC = plan->peak_degC;
    out->reserve_degC = limits.reserve_degC;
    out->allowed_degC = limits.used == TW_FLASH_STRICT ? limits.strict_degC : limits.equivalent_degC;
    out->removed_g = plan->removed_g;
    memcpy(out->saves_s, plan->saves_s, sizeof out->saves_s);
}

static enum tw_status weigh(const struct tw_job *job, struct tw_variant *out, struct tw_findings *findings)
{
    struct tw_balance balance;
    enum tw_status status = tw_plan_balance(job, &balance, findings);

    if (status != TW_OK)
        return status;
    out->weighed = balance.weighed;
    out->knife_g = balance.stages[TW_STAGE_FINISHED].mass_g;
    out->balance_mm = balance.stages[TW_STAGE_FINISHED].x_mm;
    return TW_OK;
}

/* What stopped it, in the words of the first fault. */
static enum tw_status keep_refusal(const struct tw_findings *said, struct tw_variant *out, struct tw_findings *findings)
{
    const char *text = "no plan";

    for (size_t i = said->count; i-- > 0;)
        if (said->items[i].status != TW_OK)
            text = said->items[i].text;
    out->refusal = tw_copy_string(text);
    return out->refusal ? TW_OK : tw_no_memory(findings);
}

/* "taper.butt_thickness = 1.4 mm, mount = level" */
static void print_changes(struct tw_text *text, const struct tw_variant *variant)
{
    for (size_t i = 0; i < variant->change_count; i++)
        tw_text_print(text, "%s%s = %s", i > 0 ? ", " : "", variant->changes[i].key, variant->changes[i].value);
}

/* What cannot be read is not compared: which variant it is, and what is wrong with it. */
static enum tw_status refuse_variant(const struct tw_variant *variant, enum tw_status status, struct tw_findings *said,
                                     struct tw_findings *findings)
{
    struct tw_text changes = { 0 };

    print_changes(&changes, variant);
    if (status != TW_NO_MEMORY && variant->change_count > 0 && changes.data)
        tw_fail(findings, status, (struct tw_place){ 0 }, "with %s the job is not sound:", changes.data);
    tw_text_free(&changes);
    tw_findings_append(findings, said);
    return status;
}

static enum tw_status read_variant(const char *job_path, const struct tw_variant *variant, struct tw_job *job,
                                   struct tw_findings *findings)
{
    struct tw_findings said = { 0 };
    enum tw_status status = tw_job_read_with(job_path, variant->changes, variant->change_count, job, &said);

    if (status != TW_OK)
        refuse_variant(variant, status, &said, findings);
    tw_findings_free(&said);
    return status;
}

/* Of the variants before number `count`, one with the same inputs; -1: none. */
static int same_before(char (*digests)[DIGEST_BYTES], size_t count, const char *digest)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(digests[i], digest) == 0)
            return (int)i;
    return -1;
}

/* "2 mm" and "2.0 mm" are one variant, and so is what the job says anyway. */
static enum tw_status remark_same(const struct tw_variant *variant, int same, struct tw_findings *findings)
{
    struct tw_text changes = { 0 };

    print_changes(&changes, variant);
    if (!changes.data || changes.failed) {
        tw_text_free(&changes);
        return tw_no_memory(findings);
    }
    if (same == 0)
        tw_remark(findings, (struct tw_place){ 0 }, "%s is what the job says as it stands; it is planned once",
                  changes.data);
    else
        tw_remark(findings, (struct tw_place){ 0 }, "%s is the same as variant %d; it is planned once", changes.data,
                  same + 1);
    tw_text_free(&changes);
    return TW_OK;
}

/* Nothing is planned as long as one of them has a fault; of those that are the same the first stays. */
static enum tw_status check_variants(const char *job_path, struct tw_comparison *comparison,
                                     struct tw_findings *findings)
{
    char digests[TW_VARIANTS_MOST][DIGEST_BYTES];
    enum tw_status status = TW_OK;
    size_t kept = 0;

    for (size_t i = 0; status == TW_OK && i < comparison->count; i++) {
        struct tw_job job;
        int same;

        status = read_variant(job_path, &comparison->variants[i], &job, findings);
        if (status != TW_OK)
            break;
        if (i == 0)
            comparison->inches = job.machine.dialect.inch;
        same = same_before(digests, kept, job.digest);
        if (same >= 0) {
            status = remark_same(&comparison->variants[i], same, findings);
        } else {
            memcpy(digests[kept], job.digest, sizeof job.digest);
            comparison->variants[kept++] = comparison->variants[i];
        }
        tw_job_free(&job);
    }
    if (status == TW_OK)
        comparison->count = kept;
    return status;
}

static enum tw_status plan_variant(const char *job_path, struct tw_variant *out, struct tw_findings *findings)
{
    struct tw_findings said = { 0 };
    struct tw_proven proven;
    struct tw_job job;
    enum tw_status status = read_variant(job_path, out, &job, findings);

    if (status != TW_OK)
        return status;
    status = tw_proven_make(&job, &proven, &said);
    if (status == TW_OK) {
        take_figures(&job, &proven.plan, out);
        status = weigh(&job, out, &said);
        tw_proven_free(&proven);
    }
    if (status == TW_NO_PLAN)
        status = keep_refusal(&said, out, findings);
    else if (status != TW_OK)
        tw_findings_append(findings, &said);
    tw_findings_free(&said);
    tw_job_free(&job);
    return status;
}

enum tw_status tw_comparison_make(const char *job_path, const char *const words[], size_t count,
                                  struct tw_comparison *out, struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct tw_comparison){ 0 };
    status = list_variants(words, count, out, findings);
    if (status == TW_OK)
        status = check_variants(job_path, out, findings);
    for (size_t i = 0; status == TW_OK && i < out->count; i++)
        status = plan_variant(job_path, &out->variants[i], findings);
    if (status != TW_OK)
        tw_comparison_free(out);
    return status;
}

void tw_comparison_free(struct tw_comparison *comparison)
{
    for (size_t i = 0; i < comparison->count; i++)
        free(comparison->variants[i].refusal);
    for (size_t i = 0; i < comparison->text_count; i++)
        free(comparison->texts[i]);
    *comparison = (struct tw_comparison){ 0 };
}

enum tw_limit tw_variant_dearest(const struct tw_variant *variant)
{
    enum tw_limit dearest = TW_LIMIT_COUNT;
    double most_s = WORTH_SAYING_S;

    for (int limit = 0; limit < TW_LIMIT_COUNT; limit++) {
        if (variant->saves_s[limit] < most_s)
            continue;
        most_s = variant->saves_s[limit];
        dearest = (enum tw_limit)limit;
    }
    return dearest;
}
