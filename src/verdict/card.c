/* card.c - what the head of a program says of itself. */
#include "verdict/card.h"

#include "base/numbers.h"
#include "verdict/checks.h"
#include "verdict/remarks.h"
#include "witness/face.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* A line may end with CR, LF or both. */
static size_t line_length(const char *text, size_t length)
{
    size_t end = 0;

    while (end < length && text[end] != '\n' && text[end] != '\r')
        end++;
    return end;
}

static size_t ending_length(const char *text, size_t length)
{
    if (length == 0)
        return 0;
    return length > 1 && text[0] == '\r' && text[1] == '\n' ? 2 : 1;
}

/* However it is written: an editor may have changed the case. */
static bool starts(const char *line, size_t length, const char *words, size_t *past)
{
    *past = strlen(words);
    return length >= *past && strncasecmp(line, words, *past) == 0;
}

/* The side ends the first comment: "... - SIDE A)". A long name may have pushed it, or a part of it, to the next
 * line. */
static void read_side(const char *line, size_t length, int number, struct tw_card_head *out)
{
    static const char *const marks[] = { "SIDE A)", "SIDE B)", "(A)", "(B)" };

    while (length > 0 && line[length - 1] == ' ')
        length--;
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++) {
        size_t past = strlen(marks[i]);

        if (length < past || strncasecmp(line + length - past, marks[i], past) != 0)
            continue;
        out->has_side = true;
        out->side = i % 2 == 0 ? TW_SIDE_A : TW_SIDE_B;
        out->side_line = number;
    }
}

/* "3 OF 4 - finishing)"; "taper" is all of a side but its relief */
static void read_step(const char *words, size_t length, struct tw_card_head *out)
{
    char text[48] = "", *end, *dash;
    size_t copied = length < sizeof text - 1 ? length : sizeof text - 1;
    long step;

    memcpy(text, words, copied);
    step = strtol(text, &end, 10);
    dash = strstr(end, " - ");
    if (step < 1 || step > 99 || !dash)
        return;
    if (strncasecmp(dash + 3, "taper", 5) == 0)
        out->step = (int)step;
    for (int scope = TW_SCOPE_ROUGH; scope <= TW_SCOPE_RELIEF; scope++) {
        const char *name = tw_scope_name((enum tw_scope)scope);

        if (strncasecmp(dash + 3, name, strlen(name)) == 0) {
            out->step = (int)step;
            out->scope = (enum tw_scope)scope;
        }
    }
}

/* "0.5146 mm", in mm, and where it ends; 0 where there is no such length. */
static double read_length_mm(const char *words, const char **end)
{
    char *past;
    double written = strtod(words, &past);

    *end = past;
    if (strncasecmp(past, " mm", 3) != 0 && strncasecmp(past, " in", 3) != 0)
        return 0.0;
    *end += 3;
    return strncasecmp(past, " in", 3) == 0 ? TW_MM_PER_INCH * written : written;
}

/* "0.5146 mm OVER 300.0 mm)" */
static void read_raised(const char *words, size_t length, int number, struct tw_card_head *out)
{
    char text[48] = "";
    const char *end;
    double raised_mm, bar_mm;

    memcpy(text, words, length < sizeof text - 1 ? length : sizeof text - 1);
    raised_mm = read_length_mm(text, &end);
    if (strncasecmp(end, " OVER ", 6) != 0)
        return;
    bar_mm = read_length_mm(end + 6, &end);
    if (!(bar_mm > 0.0) || out->bar_mm > 0.0)
        return;
    out->raised_mm = raised_mm;
    out->bar_mm = bar_mm;
    out->raised_line = number;
}

static void read_line(const char *line, size_t length, int number, struct tw_card_head *out)
{
    char number_text[32] = "";
    const char *end;
    size_t past;

    if (!out->has_side && !out->has_inputs)
        read_side(line, length, number, out);
    if (starts(line, length, "(INPUTS ", &past) && length >= past + 16) {
        memcpy(out->inputs, line + past, 16);
        out->has_inputs = true;
        out->inputs_line = number;
    } else if (starts(line, length, "(LIFTED BY ", &past)) {
        size_t copied = length - past < sizeof number_text - 1 ? length - past : sizeof number_text - 1;

        memcpy(number_text, line + past, copied);
        out->lift_mm = read_length_mm(number_text, &end);
        if (!(out->lift_mm > 0.0 && out->lift_mm < 1e4))
            out->lift_mm = 0.0;
    } else if (starts(line, length, "(TILTED MOUNT - BUTT END RAISED ", &past)) {
        read_raised(line + past, length - past, number, out);
    } else if (starts(line, length, "(DRESS THE WHEEL BEFORE", &past)) {
        out->dresses = true;
    } else if (starts(line, length, "(STEP ", &past)) {
        read_step(line + past, length - past, out);
    }
}

/* Past a line number, to what the line says. */
static void skip_number(const char **line, size_t *length)
{
    size_t at = 0;

    while (at < *length && (*line)[at] == ' ')
        at++;
    if (at < *length && ((*line)[at] == 'N' || (*line)[at] == 'n'))
        for (at++; at < *length && (((*line)[at] >= '0' && (*line)[at] <= '9') || (*line)[at] == ' ');)
            at++;
    *line += at;
    *length -= at;
}

static bool is_head_line(const char *line, size_t length)
{
    return length == 0 || strchr("(% \t", line[0]);
}

static int first_foreign_line(const struct tw_card *card)
{
    int number = 1;

    for (size_t i = 0; i < card->length; i++) {
        if ((unsigned char)card->text[i] >= 0x80)
            return number;
        number +=
            card->text[i] == '\n' || (card->text[i] == '\r' && !(i + 1 < card->length && card->text[i + 1] == '\n'));
    }
    return 0;
}

void tw_card_read(const struct tw_card *card, struct tw_card_head *out)
{
    struct tw_card rest = *card;

    *out = (struct tw_card_head){ 0 };
    if (rest.length >= 3 && memcmp(rest.text, "\xef\xbb\xbf", 3) == 0) {
        out->marked = true;
        rest.text += 3;
        rest.length -= 3;
    }
    out->foreign_line = first_foreign_line(&rest);
    for (int number = 1; rest.length > 0; number++) {
        size_t whole = line_length(rest.text, rest.length), length = whole;
        const char *line = rest.text;

        skip_number(&line, &length);
        if (!is_head_line(line, length))
            return;
        read_line(line, length, number, out);
        whole += ending_length(rest.text + whole, rest.length - whole);
        rest.text += whole;
        rest.length -= whole;
    }
}

static bool name_says(const char *name, char side)
{
    const char *base = strrchr(name, '/');
    char mark[2][8] = { "side-?", "side_?" };

    base = base ? base + 1 : name;
    for (int i = 0; i < 2; i++) {
        mark[i][5] = side;
        for (const char *c = base; *c; c++)
            if (strncasecmp(c, mark[i], 6) == 0)
                return true;
    }
    return false;
}

enum tw_side tw_card_side(const struct tw_card *card, const struct tw_card_head *head)
{
    if (name_says(card->name, 'a') != name_says(card->name, 'b'))
        return name_says(card->name, 'b') ? TW_SIDE_B : TW_SIDE_A;
    return head->has_side ? head->side : TW_SIDE_A;
}

static void check_digest(const struct tw_job *job, const struct tw_card_head *head, struct tw_check *check)
{
    if (!head->has_inputs)
        tw_check_fault(check, (struct tw_spot){ 0 },
                       "the head has no INPUTS line, so nobody can tell which job it was written for");
    else if (strcasecmp(head->inputs, job->digest) != 0)
        tw_check_fault(check, (struct tw_spot){ .line = head->inputs_line },
                       "written for inputs %s, but the job, profiles and outline now are %s: plan again", head->inputs,
                       job->digest);
}

static void check_side(const struct tw_card_head *head, enum tw_side used_for, struct tw_check *check)
{
    if (!head->has_side)
        tw_check_fault(check, (struct tw_spot){ 0 }, "the head does not say for which side it was written");
    else if (head->side != used_for)
        tw_check_fault(check, (struct tw_spot){ .line = head->side_line }, "written for side %s, but used for side %s",
                       tw_side_letter(head->side), tw_side_letter(used_for));
}

/* Heads round to four decimals, and the length of the bar to one. */
#define RAISED_MM 1e-3

/* A face at constant height falls as the part is tilted: what the head has the operator set up is a part of the program. */
static void check_tilt(const struct tw_job *job, const struct tw_card_head *head, enum tw_side side,
                       struct tw_check *check)
{
    double raised_mm = head->bar_mm * sin(tw_witness_face(job, side).tilt_rad);

    if (head->bar_mm > 0.0 && fabs(head->raised_mm - raised_mm) > RAISED_MM)
        tw_check_fault(check, (struct tw_spot){ .line = head->raised_line },
                       "it has the butt end raised by %.4f mm in %.1f mm; by the job it is %.4f mm", head->raised_mm,
                       head->bar_mm, raised_mm);
}

static void remark_text(const struct tw_card_head *head, struct tw_proof *proof)
{
    if (head->marked)
        tw_proof_remark(proof, TW_REMARK_TEXT, 1,
                        "the text begins with a byte order mark; some controllers stop there: save it without");
    else if (head->foreign_line > 0)
        tw_proof_remark(proof, TW_REMARK_TEXT, head->foreign_line,
                        "a comment has characters outside ASCII; some controllers stop there");
}

void tw_card_check(const struct tw_job *job, const struct tw_card_head *head, bool strict, struct tw_proof *proof)
{
    struct tw_check *check = &proof->checks[TW_CHECK_CARD];
    bool headless = !head->has_inputs && !head->has_side;

    tw_check_ask(check, 0.0, "");
    remark_text(head, proof);
    if (headless && !job->machine.dialect.comments) {
        check->asked = false; /* such a controller's programs carry no head */
    } else if (headless && !strict) {
        tw_proof_remark(proof, TW_REMARK_HEAD, 0,
                        "no head says which job and side it was written for: it is proved for side %s of this job",
                        tw_side_letter(proof->side));
    } else {
        check_digest(job, head, check);
        check_side(head, proof->side, check);
    }
    check_tilt(job, head, proof->side, check);
    if (head->not_raised) {
        check->asked = true;
        tw_check_fault(check, (struct tw_spot){ 0 },
                       "the file's name says that it cuts only air, but it comes down to the part");
    }
    if (head->clashes)
        tw_check_fault(check, (struct tw_spot){ 0 }, "the file's name and the head speak of different operations");
}
