/* stops.c - which stops stand while a side is up, and where the blank touches them. */
#include "sheet/sheet.h"

#include "tangwright/contacts.h"

static void write_place(struct page *page, struct tw_point at)
{
    tw_text_print(&page->out, "(");
    sheet_length_short(&page->out, page->inch, at.x_mm, SHEET_RULE);
    tw_text_print(&page->out, ", ");
    sheet_length_short(&page->out, page->inch, at.y_mm, SHEET_RULE);
    tw_text_print(&page->out, ")");
}

static void write_stop(struct page *page, const struct tw_fixture_contact *contact)
{
    tw_text_print(&page->out, "<strong>");
    sheet_escape(&page->out, contact->keep_out->name);
    tw_text_print(&page->out, "</strong> ");
    switch (contact->meeting) {
    case TW_MEETING_TOUCHES:
        tw_text_print(&page->out, "touches at ");
        write_place(page, contact->at);
        return;
    case TW_MEETING_MISSES:
        tw_text_print(&page->out, "stays ");
        sheet_length_short(&page->out, page->inch, contact->gap_mm, SHEET_GAUGE);
        tw_text_print(&page->out, " away");
        return;
    case TW_MEETING_UNDER:
        tw_text_print(&page->out, "lies under the blank");
        return;
    default:
        tw_text_print(&page->out, "is beyond what is drawn: see where it touches");
        return;
    }
}

static void write_taken_out(struct page *page, enum tw_side side)
{
    const struct tw_fixture *fixture = &page->job->fixture;
    bool any = false;

    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        if (tw_keep_out_in_place(&fixture->keep_outs[i], side))
            continue;
        tw_text_print(&page->out, any ? ", " : " Out of the way: ");
        sheet_escape(&page->out, fixture->keep_outs[i].name);
        any = true;
    }
    if (any)
        tw_text_print(&page->out, ".");
}

enum tw_status sheet_write_stops(struct page *page, enum tw_side side)
{
    struct tw_contacts contacts;
    enum tw_status status = tw_contacts_make(page->job, side, &contacts, page->findings);
    bool any = false;

    if (status != TW_OK)
        return status;
    for (size_t i = 0; i < contacts.count; i++) {
        if (!tw_keep_out_is_stop(contacts.items[i].keep_out))
            continue;
        tw_text_print(&page->out, any ? "; " : "Stops, along and across from the zero: ");
        write_stop(page, &contacts.items[i]);
        any = true;
    }
    tw_text_print(&page->out, any ? "." : "No stop is listed: line the blank up by an indicator, along and across.");
    write_taken_out(page, side);
    tw_contacts_free(&contacts);
    return TW_OK;
}
