/* stops.c - which stops stand while a side is up, and where the blank touches them. */
#include "sheet/sheet.h"

#include "geometry/ring.h"
#include "tangwright/contacts.h"
#include "tangwright/warm.h"

/* Along and across, in the page's unit. */
static void write_place(const struct page *page, struct tw_text *out, struct tw_point at)
{
    double unit_mm = page->inch ? 25.4 : 1.0;

    tw_text_print(out, page->inch ? "%.2f, %.2f" : "%.1f, %.1f", at.x_mm / unit_mm + 0.0, at.y_mm / unit_mm + 0.0);
}

static void write_stop(const struct page *page, struct tw_text *out, const struct tw_fixture_contact *contact)
{
    switch (contact->meeting) {
    case TW_MEETING_TOUCHES:
        tw_text_print(out, " at <strong>");
        write_place(page, out, contact->at);
        tw_text_print(out, "</strong>");
        return;
    case TW_MEETING_MISSES:
        tw_text_print(out, " stays ");
        sheet_length_short(out, page->inch, contact->gap_mm, SHEET_GAUGE);
        tw_text_print(out, " away");
        return;
    case TW_MEETING_UNDER:
        tw_text_print(out, " lies under the blank");
        return;
    default:
        tw_text_print(out, "*");
        return;
    }
}

static bool is_changed(const struct tw_fixture *fixture)
{
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (fixture->keep_outs[i].sides != TW_IN_PLACE_BOTH)
            return true;
    return false;
}

/* As the blank meets it; NULL: nothing is known. */
static const struct tw_fixture_contact *contact_of(const struct tw_contacts *contacts,
                                                   const struct tw_keep_out *keep_out)
{
    for (size_t i = 0; i < contacts->count; i++)
        if (contacts->items[i].keep_out == keep_out)
            return &contacts->items[i];
    return NULL;
}

/* A stop where nothing of the blank is drawn. */
static bool is_marked(const struct tw_contacts *contacts, const struct tw_keep_out *keep_out)
{
    const struct tw_fixture_contact *contact = contact_of(contacts, keep_out);

    return contact && tw_keep_out_is_stop(keep_out) && contact->meeting != TW_MEETING_TOUCHES &&
           contact->meeting != TW_MEETING_MISSES && contact->meeting != TW_MEETING_UNDER;
}

static bool has_stop(const struct tw_contacts *contacts)
{
    for (size_t i = 0; i < contacts->count; i++)
        if (tw_keep_out_is_stop(contacts->items[i].keep_out))
            return true;
    return false;
}

static void write_holder(const struct page *page, struct tw_text *out, const struct tw_contacts *contacts,
                         const struct tw_keep_out *keep_out, double from_x_mm)
{
    const struct tw_fixture_contact *contact = contact_of(contacts, keep_out);

    sheet_escape(out, keep_out->name);
    if (contact && tw_keep_out_is_stop(keep_out))
        write_stop(page, out, contact);
    if (tw_ring_box(&keep_out->plan).max_x_mm <= from_x_mm)
        tw_text_print(out, ", farther ahead than is drawn");
}

enum tw_status sheet_write_holders(struct page *page, struct tw_text *out, enum tw_side side, double from_x_mm)
{
    const struct tw_fixture *fixture = &page->job->fixture;
    struct tw_contacts contacts;
    enum tw_status status = tw_contacts_make(page->job, side, &contacts, page->findings);
    bool any = false, marked = false;

    if (status != TW_OK)
        return status;
    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        if (!tw_keep_out_in_place(&fixture->keep_outs[i], side))
            continue;
        tw_text_print(out, "%s%zu\u00a0", any ? "; " : " ", i + 1);
        write_holder(page, out, &contacts, &fixture->keep_outs[i], from_x_mm);
        marked = marked || is_marked(&contacts, &fixture->keep_outs[i]);
        any = true;
    }
    if (any)
        tw_text_print(out, ".");
    if (marked)
        tw_text_print(out, " *\u00a0Not drawn there: see that it touches.");
    if (!has_stop(&contacts))
        tw_text_print(out, " No stop is listed: line it up by an indicator, along and across.");
    if (is_changed(fixture))
        tw_text_print(out, " Stops of side %s are out.", side == TW_SIDE_A ? "B" : "A");
    tw_contacts_free(&contacts);
    return TW_OK;
}
