/* words.c - contacts in sentences. */
#include "tangwright/contacts.h"

#include "base/numbers.h"
#include "base/text.h"
#include "base/units.h"
#include "geometry/ring.h"
#include "tangwright/packing.h"
#include "tangwright/warm.h"

#include <math.h>
#include <stdio.h>

#define HANGING_STEPS 200
#define RESTS_SHARE   0.5  /* of the tang: what carries less of it was not made to carry it */
#define HANGS_MM      0.02 /* so little is what a blank's raw face is uneven by */

/* "(99.3, 13.1) mm" */
static struct tw_both_text place_words(struct tw_point at, bool inches)
{
    struct tw_both_text words;

    if (inches)
        snprintf(words.text, sizeof words.text, "(%.3f, %.3f) in", at.x_mm / TW_MM_PER_INCH, at.y_mm / TW_MM_PER_INCH);
    else
        snprintf(words.text, sizeof words.text, "(%.1f, %.1f) mm", at.x_mm, at.y_mm);
    return words;
}

void tw_contact_words(const struct tw_fixture_contact *contact, bool inches, char *out, size_t size)
{
    const char *name = contact->keep_out->name;
    struct tw_both_text at = place_words(contact->at, inches);

    switch (contact->meeting) {
    case TW_MEETING_INSIDE:
        snprintf(out, size, "\"%s\" stands inside the blank, %s deep at %s", name,
                 tw_length_text(contact->depth_mm, 2, inches).text, at.text);
        return;
    case TW_MEETING_TOUCHES:
        snprintf(out, size, "\"%s\" touches the blank at %s", name, at.text);
        return;
    case TW_MEETING_MISSES:
        snprintf(out, size, "\"%s\" misses the blank by %s; nearest is %s", name,
                 tw_length_text(contact->gap_mm, 2, inches).text, at.text);
        return;
    case TW_MEETING_UNDER:
        if (contact->gap_mm > 0.0)
            snprintf(out, size, "\"%s\" lies under the blank, %s below it", name,
                     tw_length_text(contact->gap_mm, 2, inches).text);
        else
            snprintf(out, size, "\"%s\" carries the blank", name);
        return;
    case TW_MEETING_OVER:
        snprintf(out, size, "\"%s\" lies on the blank", name);
        return;
    case TW_MEETING_NOT_DRAWN:
        snprintf(out, size, "\"%s\" stands ahead of what is drawn", name);
        return;
    }
}

/* ---- the drawing lies otherwise ---- */

const char *tw_misplaced_key(const struct tw_misplaced *misplaced)
{
    if (misplaced->how == TW_MISPLACED_NOT_TURNED)
        return "fixture.keep_outs";
    return misplaced->how == TW_MISPLACED_MIRRORED ? "outline.mirrored" : "outline.taper_start";
}

static void mirrored_words(const struct tw_job *job, const char *stops, char *out, size_t size)
{
    bool is = job->placement.axis.mirrored;

    snprintf(out, size,
             "%s would touch the blank if the drawing were looked at from its other side: it seems that it shows the "
             "knife from side %s; %s",
             stops, is ? "A" : "B", is ? "take mirrored = true out" : "write mirrored = true;");
}

static void not_turned_words(enum tw_side side, const char *stops, char *out, size_t size)
{
    snprintf(
        out, size,
        "%s would touch the blank if they stood on the other side of the taper axis, and those of side %s touch as "
        "they stand: rolled over the blank is mirrored, so list each for its own side (sides = \"a\"; or \"b\";) and "
        "change the sign of y of those for side %s",
        stops, tw_side_letter(side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A), tw_side_letter(side));
}

/* To a tenth: stops touch within a few hundredths, so no finer place can be told. */
static double tenths(double mm)
{
    return round(mm * 10.0) / 10.0 + 0.0;
}

static void shifted_words(const struct tw_job *job, const char *stops, double shift_mm, char *out, size_t size)
{
    struct tw_point start = tw_placement_drawing(&job->placement, (struct tw_point){ shift_mm, 0.0 });

    snprintf(
        out, size,
        "%s would touch the blank if the taper start lay %.1f mm nearer to the %s: it seems that it is misplaced; if "
        "so, write taper_start = [\"%.6g mm\", \"%.6g mm\"];",
        stops, fabs(shift_mm), shift_mm > 0.0 ? "butt" : "tip", tenths(start.x_mm), tenths(start.y_mm));
}

static void pins_words(enum tw_side side, const struct tw_misplaced *misplaced, char *out, size_t size)
{
    if (misplaced->touching < misplaced->pins)
        snprintf(out, size, "%zu of the %zu pins of side %s", misplaced->touching, misplaced->pins,
                 tw_side_letter(side));
    else
        snprintf(out, size, "all %zu pins of side %s", misplaced->pins, tw_side_letter(side));
}

void tw_misplaced_words(const struct tw_job *job, enum tw_side side, const struct tw_misplaced *misplaced, char *out,
                        size_t size)
{
    char stops[64];

    pins_words(side, misplaced, stops, sizeof stops);
    if (misplaced->how == TW_MISPLACED_NOT_TURNED)
        not_turned_words(side, stops, out, size);
    else if (misplaced->how == TW_MISPLACED_MIRRORED)
        mirrored_words(job, stops, out, size);
    else
        shifted_words(job, stops, misplaced->shift_mm, out, size);
}

/* "along and across", "along", ...; "" when nothing is free. */
static const char *free_directions(const struct tw_contacts *contacts)
{
    if (contacts->along)
        return contacts->across ? "" : "across";
    return contacts->across ? "along" : "along or across";
}

static void say_nearest(const struct tw_contacts *contacts, bool inches, struct tw_text *text)
{
    char words[256];

    if (contacts->nearest) {
        tw_contact_words(contacts->nearest, inches, words, sizeof words);
        tw_text_print(text, ": %s", words);
        if (contacts->farthest && contacts->farthest != contacts->nearest)
            tw_text_print(text, "; \"%s\" misses it by most, %s", contacts->farthest->keep_out->name,
                          tw_length_text(contacts->farthest->gap_mm, 2, inches).text);
    } else {
        tw_text_print(text, ": list its stops in the keep_outs of the job's fixture, each kind = \"pin\";");
    }
}

static void add_remark(const struct tw_job *job, struct tw_text *text, struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "fixture.keep_outs" };

    if (text->failed)
        tw_no_memory(findings);
    else if (text->length > 0)
        tw_remark(findings, at, "%s", text->data);
    tw_text_free(text);
}

/* Once for both sides: it is the drawing that says too little. */
static void remark_not_drawn(const struct tw_job *job, const struct tw_contacts *contacts, struct tw_findings *findings)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "it cannot be told whether \"%s\"", contacts->not_drawn->keep_out->name);
    if (contacts->not_drawn_count > 1)
        tw_text_print(&text, " and %zu more %s touch", contacts->not_drawn_count - 1,
                      contacts->not_drawn_count == 2 ? "stop" : "stops");
    else
        tw_text_print(&text, " touches");
    tw_text_print(&text, " the blank: nothing is drawn ");
    if (contacts->drawn_from_mm < 0.0)
        tw_text_print(&text, "farther than %s ",
                      tw_length_text(-contacts->drawn_from_mm, 1, job->machine.dialect.inch).text);
    tw_text_print(&text, "ahead of the taper start; see on the machine where they touch, with either side up");
    add_remark(job, &text, findings);
}

static void remark_located(const struct tw_job *job, const struct tw_contacts *contacts, struct tw_findings *findings)
{
    const char *side = tw_side_letter(contacts->side), *free_ways = free_directions(contacts);
    struct tw_text text = { 0 };

    if (*free_ways)
        tw_text_print(&text, "with side %s up nothing locates the blank %s", side, free_ways);
    else if (!contacts->turning)
        tw_text_print(&text, "with side %s up nothing keeps the blank from turning", side);
    if (text.length > 0)
        say_nearest(contacts, job->machine.dialect.inch, &text);
    add_remark(job, &text, findings);
}

static bool is_clamp_over(const struct tw_fixture_contact *contact)
{
    return contact->keep_out->kind == TW_KEEP_OUT_CLAMP && contact->meeting == TW_MEETING_OVER;
}

/* What each clamp that has the blank under it would press with, had it enough of it. */
static double share_N(const struct tw_job *job, const struct tw_contacts *contacts)
{
    size_t clamps = 0;

    for (size_t i = 0; i < contacts->count; i++)
        clamps += is_clamp_over(&contacts->items[i]);
    return job->fixture.clamp_force_N / (double)(clamps ? clamps : 1);
}

static void remark_small_seat(const struct tw_job *job, const struct tw_contacts *contacts,
                              const struct tw_fixture_contact *clamp, struct tw_findings *findings)
{
    double bears_N = TW_SEAT_BEARS_N_PER_MM2 * clamp->area_mm2, force_N = share_N(job, contacts);

    if (force_N > bears_N)
        tw_remark(findings, (struct tw_place){ .file = job->path, .key = "fixture.keep_outs" },
                  "with side %s up \"%s\" has only %.3g mm2 of the blank under it, and so counts with %.3g N of its "
                  "%.4g N: on more than %.0f N/mm2 mild steel yields; set it farther over the blank",
                  tw_side_letter(contacts->side), clamp->keep_out->name, clamp->area_mm2, bears_N, force_N,
                  TW_SEAT_BEARS_N_PER_MM2);
}

static void remark_no_seat(const struct tw_job *job, const struct tw_contacts *contacts,
                           const struct tw_fixture_contact *clamp, struct tw_findings *findings)
{
    bool inch = job->machine.dialect.inch;
    struct tw_place at = { .file = job->path, .key = "fixture.keep_outs" };

    if (clamp->depth_mm > 0.0)
        tw_remark(findings, at,
                  "with side %s up \"%s\" reaches only %s over the blank as it is drawn, no more than "
                  "fixture.touch_tolerance, so it may miss it and counts as if it held nothing",
                  tw_side_letter(contacts->side), clamp->keep_out->name, tw_length_text(clamp->depth_mm, 2, inch).text);
    else
        tw_remark(findings, at, "with side %s up \"%s\" does not reach over the blank, so it holds nothing: %s apart",
                  tw_side_letter(contacts->side), clamp->keep_out->name, tw_length_text(clamp->gap_mm, 2, inch).text);
}

static void remark_clamps(const struct tw_job *job, const struct tw_contacts *contacts, struct tw_findings *findings)
{
    for (size_t i = 0; i < contacts->count; i++) {
        const struct tw_fixture_contact *contact = &contacts->items[i];

        if (is_clamp_over(contact))
            remark_small_seat(job, contacts, contact, findings);
        else if (contact->keep_out->kind == TW_KEEP_OUT_CLAMP &&
                 (contact->meeting == TW_MEETING_MISSES || contact->meeting == TW_MEETING_TOUCHES))
            remark_no_seat(job, contacts, contact, findings);
    }
}

/* Whether it is a pad that reaches under the ricasso; what stands ahead of the drawing may do so. */
static bool carries_ricasso(const struct tw_fixture_contact *pad)
{
    return pad->meeting == TW_MEETING_NOT_DRAWN || (pad->meeting == TW_MEETING_UNDER && pad->gap_mm <= HANGS_MM &&
                                                    tw_ring_box(&pad->keep_out->plan).min_x_mm < 0.0);
}

/* All heights count from the datum pad, as if the ricasso lay on it. Where no pad is listed it lies on the plate. */
static void remark_pads(const struct tw_job *job, const struct tw_contacts *contacts, struct tw_findings *findings)
{
    const struct tw_fixture_contact *first = NULL;
    char words[256];

    for (size_t i = 0; i < contacts->count; i++) {
        const struct tw_fixture_contact *pad = &contacts->items[i];

        if (pad->keep_out->kind != TW_KEEP_OUT_PAD)
            continue;
        if (carries_ricasso(pad))
            return;
        first = first ? first : pad;
    }
    if (!first)
        return;
    tw_contact_words(first, job->machine.dialect.inch, words, sizeof words);
    tw_remark(
        findings, (struct tw_place){ .file = job->path, .key = "fixture.keep_outs" },
        "with side %s up no pad carries the ricasso, though z counts from the top of the datum pad it is to lie on: "
        "%s; put a pad under it whose top is 0",
        tw_side_letter(contacts->side), words);
}

/* A pad under the tang makes it lie on rests, and packing is none then. One that is meant for the ricasso alone and reaches a little too far
 * would so leave all behind it in the air. */
static void remark_pad_as_rest(const struct tw_job *job, const struct tw_contacts *contacts,
                               struct tw_findings *findings)
{
    const struct tw_fixture_contact *over = NULL;
    bool inches = job->machine.dialect.inch;
    double tang_mm = tw_ring_box(&job->part.tang.outer).max_x_mm, far_mm = 0.0;

    for (size_t i = 0; i < contacts->count; i++) {
        const struct tw_fixture_contact *pad = &contacts->items[i];
        double end_mm = tw_ring_box(&pad->keep_out->plan).max_x_mm;

        if (pad->keep_out->kind != TW_KEEP_OUT_PAD)
            continue;
        far_mm = fmax(far_mm, end_mm);
        if (end_mm > 0.0 && carries_ricasso(pad))
            over = pad;
    }
    if (!over || far_mm >= RESTS_SHARE * tang_mm)
        return;
    tw_remark(findings, (struct tw_place){ .file = job->path, .key = "fixture.keep_outs" },
              "with side %s up \"%s\" reaches %s behind the taper start, so the tang is taken to lie on it and not on "
              "packing, and its last %s to hang in the air, where they get hot; if the tang is packed, end the "
              "pad at x = 0",
              tw_side_letter(contacts->side), over->keep_out->name,
              tw_length_both(tw_ring_box(&over->keep_out->plan).max_x_mm, 1, inches).text,
              tw_length_both(tang_mm - far_mm, 1, inches).text);
}

/* Then it lies on the plate, the ricasso too; a fixture copied without its pad says the same. */
static void remark_no_pad(const struct tw_job *job, struct tw_findings *findings)
{
    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        if (job->fixture.keep_outs[i].kind == TW_KEEP_OUT_PAD)
            return;
    if (job->fixture.keep_out_count > 0)
        tw_remark(
            findings, (struct tw_place){ .file = job->path, .key = "fixture.keep_outs" },
            "no pad is listed, so the ricasso is taken to lie on the plate itself, and z counts from there; if it "
            "lies on a pad, list it: { name = \"datum pad\"; kind = \"pad\"; box = [x, y, x, y]; top = \"0 mm\"; }");
}

static void remark_sides(const struct tw_job *job, const struct tw_contacts sides[2], struct tw_findings *findings)
{
    bool told = false;

    for (int i = 0; i < TW_SIDES_OF(job); i++) {
        if (!sides[i].not_drawn)
            remark_located(job, &sides[i], findings);
        else if (!told)
            remark_not_drawn(job, &sides[i], findings);
        told = told || sides[i].not_drawn;
        remark_pads(job, &sides[i], findings);
        remark_pad_as_rest(job, &sides[i], findings);
        remark_clamps(job, &sides[i], findings);
    }
    remark_no_pad(job, findings);
}

/* Before anything is said of a stop. Once: what is wrong with the drawing is so for both sides. */
static enum tw_status remark_misplaced(const struct tw_job *job, const struct tw_contacts sides[2],
                                       struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < TW_SIDES_OF(job); i++) {
        struct tw_misplaced misplaced;
        char words[512];

        if (!*free_directions(&sides[i]) && sides[i].turning)
            continue;
        status = tw_contacts_misplaced(job, sides[i].side, &misplaced, findings);
        if (status != TW_OK || misplaced.how == TW_MISPLACED_NOT)
            continue;
        tw_misplaced_words(job, sides[i].side, &misplaced, words, sizeof words);
        tw_remark(findings, (struct tw_place){ .file = job->path, .key = tw_misplaced_key(&misplaced) }, "%s", words);
        break;
    }
    return status;
}

/* How far the tang hangs below the datum pad's level, at the most. */
static double hanging_mm(const struct tw_job *job, enum tw_side side)
{
    double end_mm = tw_ring_box(&job->part.tang.outer).max_x_mm, most_mm = 0.0;

    for (int i = 0; i <= HANGING_STEPS; i++)
        most_mm = fmax(most_mm, -tw_packing_mm(job, job->straight, side, end_mm * i / HANGING_STEPS));
    return most_mm;
}

/* Nothing can lie lower than what it lies on. */
static void remark_hanging(const struct tw_job *job, enum tw_side side, struct tw_findings *findings)
{
    double most_mm = hanging_mm(job, side);

    if (most_mm > HANGS_MM)
        tw_remark(findings, (struct tw_place){ .file = job->path, .key = "survey.file" },
                  "with side %s up the tang hangs up to %.2f mm below the datum pad's level: put a ground plate so "
                  "thick, or thicker, under "
                  "the ricasso, count z from its top, and pack every gap as much higher; over shims the magnet then "
                  "holds with less "
                  "than is told here",
                  tw_side_letter(side), most_mm);
}

static bool has_clamp(const struct tw_fixture *fixture, enum tw_side side)
{
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (fixture->keep_outs[i].kind == TW_KEEP_OUT_CLAMP && tw_keep_out_in_place(&fixture->keep_outs[i], side))
            return true;
    return false;
}

/* What is not listed the wheel is not kept off. */
static void remark_clamps_not_listed(const struct tw_job *job, struct tw_findings *findings)
{
    bool on_a = has_clamp(&job->fixture, TW_SIDE_A), on_b = job->one_face || has_clamp(&job->fixture, TW_SIDE_B);
    const char *with = on_a ? " with side B up" : on_b ? " with side A up" : "";

    if (job->fixture.clamp_force_N > 0.0 && !(on_a && on_b))
        tw_remark(findings, (struct tw_place){ .file = job->path, .key = "fixture.clamp_force" },
                  "%.6g N press on the blank, and no clamp stands in keep_outs%s: the force counts over the datum pad "
                  "or at the taper start, and nothing keeps the wheel off what makes it. List each clamp where it "
                  "stands: { name = \"clamp\"; kind = \"clamp\"; box = [x, y, x, y]; top = its height over the pad; }",
                  job->fixture.clamp_force_N, with);
}

/* More is refused as the job is read. */
static void remark_rest(const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_rest_fit fit = tw_rest_fit_of(job);
    char words[512];

    if (fabs(fit.off_mm) <= job->finish.flatness_mm || fabs(fit.off_mm) > TW_REST_MISFIT_MM)
        return;
    tw_rest_fit_words(job, &fit, words, sizeof words);
    tw_remark(findings, (struct tw_place){ .file = job->path, .key = "fixture.keep_outs" }, "%s", words);
}

enum tw_status tw_contacts_remark(const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_contacts sides[2] = { 0 };
    enum tw_status status = TW_OK;

    for (int side = 0; job->straight && side < TW_SIDES_OF(job); side++)
        remark_hanging(job, (enum tw_side)side, findings);

    for (int side = 0; status == TW_OK && side < TW_SIDES_OF(job); side++)
        status = tw_contacts_make(job, (enum tw_side)side, &sides[side], findings);
    if (status == TW_OK)
        status = remark_misplaced(job, sides, findings);
    if (status == TW_OK)
        remark_sides(job, sides, findings);
    if (status == TW_OK)
        remark_clamps_not_listed(job, findings);
    if (status == TW_OK)
        remark_rest(job, findings);
    tw_contacts_free(&sides[0]);
    tw_contacts_free(&sides[1]);
    return status;
}
