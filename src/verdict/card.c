/* card.c - what the head of a program says of itself. */
#include "verdict/card.h"

#include "verdict/checks.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

static size_t line_length(const char *text, size_t length)
{
    const char *end = memchr(text, '\n', length);

    return end ? (size_t)(end - text) : length;
}

static bool starts(const char *line, size_t length, const char *words, size_t *past)
{
    *past = strlen(words);
    return length >= *past && memcmp(line, words, *past) == 0;
}

/* The side ends the first comment: "... - SIDE A)". A long name may have pushed it, or a part of it, to the next
 * line. */
static void read_side(const char *line, size_t length, int number, struct tw_card_head *out)
{
    static const char *const marks[] = { "SIDE A)", "SIDE B)", "(A)", "(B)" };

    while (length > 0 && (line[length - 1] == ' ' || line[length - 1] == '\r'))
        length--;
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++) {
        size_t past = strlen(marks[i]);

        if (length < past || memcmp(line + length - past, marks[i], past) != 0)
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
    if (strncmp(dash + 3, "taper", 5) == 0)
        out->step = (int)step;
    for (int scope = TW_SCOPE_ROUGH; scope <= TW_SCOPE_RELIEF; scope++) {
        const char *name = tw_scope_name((enum tw_scope)scope);

        if (strncmp(dash + 3, name, strlen(name)) == 0) {
            out->step = (int)step;
            out->scope = (enum tw_scope)scope;
        }
    }
}

static void read_line(const char *line, size_t length, int number, struct tw_card_head *out)
{
    char number_text[32] = "";
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
        out->lift_mm = strtod(number_text, NULL);
        if (!(out->lift_mm > 0.0 && out->lift_mm < 1e4))
            out->lift_mm = 0.0;
    } else if (starts(line, length, "(STEP ", &past)) {
        read_step(line + past, length - past, out);
    }
}

void tw_card_read(const struct tw_card *card, struct tw_card_head *out)
{
    const char *line = card->text;
    size_t left = card->length;

    *out = (struct tw_card_head){ 0 };
    for (int number = 1; left > 0; number++) {
        size_t length = line_length(line, left);

        if (!strchr("(% \t\r\n", line[0]) || line[0] == '\0')
            return;
        read_line(line, length, number, out);
        length += length < left;
        line += length;
        left -= length;
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

void tw_card_check(const struct tw_job *job, const struct tw_card_head *head, enum tw_side used_for,
                   struct tw_check *check)
{
    struct tw_spot nowhere = { 0 };

    tw_check_ask(check, 0.0, "");
    if (!job->machine.dialect.comments) {
        check->asked = false; /* such a controller's programs carry no head */
        return;
    }
    if (!head->has_inputs)
        tw_check_fault(check, nowhere, "the head has no INPUTS line, so nobody can tell which job it was written for");
    else if (strcmp(head->inputs, job->digest) != 0)
        tw_check_fault(check, (struct tw_spot){ .line = head->inputs_line },
                       "written for inputs %s, but the job, profiles and outline now are %s: plan again", head->inputs,
                       job->digest);
    if (!head->has_side)
        tw_check_fault(check, nowhere, "the head does not say for which side it was written");
    else if (head->side != used_for)
        tw_check_fault(check, (struct tw_spot){ .line = head->side_line }, "written for side %s, but used for side %s",
                       head->side == TW_SIDE_A ? "A" : "B", used_for == TW_SIDE_A ? "A" : "B");
}
