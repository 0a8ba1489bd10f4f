/* stops.c - which stops stand while a side is up, and where the blank touches them. */
#include "sheet/sheet.h"

#include "tangwright/contacts.h"

/* Along and across, in the page's unit. */
static void write_place(struct page *page, struct tw_point at)
{
    double unit_mm = page->inch ? 25.4 : 1.0;

    tw_text_print(&page->out, page->inch ? "%.2f, %.2f" : "%.1f, %.1f", at.x_mm / unit_mm + 0.0,
                  at.y_mm / unit_mm + 0.0);
}

static void write_stop(struct page *page, const struct tw_fixture_contact *contact)
{
    tw_text_print(&page->out, "<strong>");
    sheet_escape(&page->out, contact->keep_out->name);
    tw_text_print(&page->out, "</strong> ");
    switch (contact->meeting) {
    case TW_MEETING_TOUCHES:
        tw_text_print(&page->out, "at ");
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
        tw_text_print(&page->out, "(not drawn: look)");
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
        tw_text_print(&page->out,
                      any ? "; " : " The stops, in %s along and across from the zero: ", page->inch ? "inches" : "mm");
        write_stop(page, &contacts.items[i]);
        any = true;
    }
    tw_text_print(&page->out, any ? "." : " No stop is listed: line it up by an indicator, along and across.");
    if (is_changed(&page->job->fixture))
        tw_text_print(&page->out, " The stops of side %s are out.", side == TW_SIDE_A ? "B" : "A");
    tw_contacts_free(&contacts);
    return TW_OK;
}
