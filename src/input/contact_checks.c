/* contact_checks.c - what of the fixture stands inside the blank: no solid can. */
#include "input/input.h"
#include "tangwright/contacts.h"

#include <math.h>

/* The lines of a job's and a profile's lists are those of their members. */
static struct tw_place place_of_keep_out(const struct tw_input *input, size_t number, char key[64])
{
    const struct tw_origin *origin = tw_input_origin(input, "fixture.keep_outs");
    const config_setting_t *member =
        origin->setting ? config_setting_get_elem(origin->setting, (unsigned)number - 1) : NULL;

    snprintf(key, 64, "fixture.keep_outs[%zu]", number);
    return (struct tw_place){ .file = origin->file,
                              .line = member ? (int)config_setting_source_line(member) : origin->line,
                              .key = key };
}

static void say_remedy(const struct tw_input *input, const struct tw_fixture_contact *contact, enum tw_side side,
                       struct tw_text *text)
{
    const struct tw_keep_out *keep_out = contact->keep_out;
    const char *move_to = contact->move_mm < 0.0 ? "-y" : "+y";

    if (keep_out->kind == TW_KEEP_OUT_CLAMP)
        tw_text_print(text,
                      "a clamp on top of the blank has its top above ricasso_thickness, %.6g mm; one beside it is a "
                      "kind = \"pin\"; that must not overlap it",
                      input->draft->job.taper.ricasso_mm);
    else if (keep_out->kind == TW_KEEP_OUT_PAD)
        tw_text_print(text, "a pad carries the blank from below: write top = \"0 mm\"; or move it %.2f mm towards %s",
                      fabs(contact->move_mm), move_to);
    else
        tw_text_print(text,
                      "move it %.2f mm towards %s and it touches, or, if it is taken out for this side, write sides = "
                      "\"%s\";",
                      fabs(contact->move_mm), move_to, side == TW_SIDE_A ? "b" : "a");
    if (tw_input_origin(input, "fixture.keep_outs")->file != input->job.path)
        tw_text_print(text, " in a keep_outs list of the job's own, which replaces this one");
}

static void refuse_inside(struct tw_input *input, const struct tw_fixture_contact *contact, enum tw_side side)
{
    struct tw_text text = { 0 };
    char key[64];
    struct tw_place at = place_of_keep_out(input, contact->number, key);

    tw_text_print(&text,
                  "with side %s up \"%s\" stands inside the blank, %.2f mm deep at (%.1f, %.1f) mm of the setup, its "
                  "top %.2f mm above the blank's lower face; ",
                  tw_side_letter(side), contact->keep_out->name, contact->depth_mm, contact->at.x_mm, contact->at.y_mm,
                  contact->above_mm);
    say_remedy(input, contact, side, &text);
    tw_input_fault(input, at, &text);
}

static void refuse_clash(struct tw_input *input, const struct tw_clash *clash, enum tw_side side)
{
    struct tw_place at = tw_input_place(input, "fixture.stations");

    if (clash->inside)
        tw_input_faultf(
            input, at,
            "with side %s up \"%s\" of station %d stands inside the blank at station %d, at (%.1f, %.1f) mm "
            "of its setup; set the stations farther apart or move the keep-out",
            tw_side_letter(side), clash->inside->name, clash->other + 1, clash->station + 1, clash->at.x_mm,
            clash->at.y_mm);
    else
        tw_input_faultf(input, at,
                        "with side %s up the blanks at stations %d and %d overlap at (%.1f, %.1f) mm of the first "
                        "one's setup; set the stations farther apart, or grind fewer parts at once",
                        tw_side_letter(side), clash->station + 1, clash->other + 1, clash->at.x_mm, clash->at.y_mm);
}

/* Where one word of the outline would let them touch, that is said before stops are sent elsewhere. */
static enum tw_status refuse_misplaced(struct tw_input *input, enum tw_side side, bool *said)
{
    struct tw_misplaced misplaced;
    char words[512];
    enum tw_status status = tw_contacts_misplaced(&input->draft->job, side, &misplaced, input->findings);
    struct tw_place at;

    if (status != TW_OK || misplaced.how == TW_MISPLACED_NOT)
        return status;
    *said = true;
    at = tw_input_place(input, tw_misplaced_key(&misplaced));
    if (at.line == 0)
        at.line = tw_input_place(input, "outline.file").line; /* the group in which it is to be written */
    tw_misplaced_words(&input->draft->job, side, &misplaced, words, sizeof words);
    tw_input_faultf(input, at, "%s", words);
    return TW_OK;
}

static bool any_inside(const struct tw_contacts *contacts)
{
    for (size_t i = 0; i < contacts->count; i++)
        if (contacts->items[i].meeting == TW_MEETING_INSIDE)
            return true;
    return false;
}

static enum tw_status check_side(struct tw_input *input, enum tw_side side, bool *said)
{
    const struct tw_job *job = &input->draft->job;
    struct tw_contacts contacts;
    struct tw_clash clash;
    enum tw_status status = tw_contacts_make(job, side, &contacts, input->findings);

    if (status != TW_OK)
        return status;
    if (!*said && any_inside(&contacts))
        status = refuse_misplaced(input, side, said);
    for (size_t i = 0; status == TW_OK && i < contacts.count; i++)
        if (contacts.items[i].meeting == TW_MEETING_INSIDE)
            refuse_inside(input, &contacts.items[i], side);
    tw_contacts_free(&contacts);
    if (status == TW_OK)
        status = tw_contacts_clash(job, side, &clash, input->findings);
    if (status == TW_OK && clash.station >= 0)
        refuse_clash(input, &clash, side);
    return status;
}

static void refuse_misfit(struct tw_input *input)
{
    struct tw_rest_fit fit = tw_rest_fit_of(&input->draft->job);
    char words[512], key[64];

    if (fabs(fit.off_mm) <= TW_REST_MISFIT_MM)
        return;
    tw_rest_fit_words(&input->draft->job, &fit, words, sizeof words);
    tw_input_faultf(input, place_of_keep_out(input, fit.number, key), "%s", words);
}

void tw_contact_checks_run(struct tw_input *input)
{
    static const char *const needed[] = { "fixture.keep_outs",         "fixture.stations",
                                          "fixture.touch_tolerance",   "parts",
                                          "finish.allowance",          "machine.axes.along.letter",
                                          "machine.axes.across.letter" };
    const struct tw_job *job = &input->draft->job;
    enum tw_status status = TW_OK;
    bool said = false;

    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++)
        if (!tw_input_origin(input, needed[i])->ok)
            return;
    if ((size_t)job->parts > job->fixture.station_count || !(job->taper.butt_mm < job->taper.ricasso_mm))
        return; /* said already */
    for (int side = 0; status == TW_OK && side < TW_SIDES_OF(job); side++)
        status = check_side(input, (enum tw_side)side, &said);
    if (status == TW_OK)
        refuse_misfit(input);
    input->no_memory = input->no_memory || status == TW_NO_MEMORY;
    input->bad_inputs += status == TW_BAD_INPUT;
}
