/* noted.c - what stops nothing and should be known: of the job as it was read, the blank on its fixture, and the plan. */
#include "sheet/sheet.h"

#include "tangwright/assess.h"
#include "tangwright/contacts.h"

#include <string.h>

/* By job and plan alone, so that a sheet with the dry-run's answer says the same. */
enum tw_status page_gather_notes(struct page *page)
{
    enum tw_status status;

    tw_findings_repeat(&page->notes, &page->job->said);
    status = tw_contacts_remark(page->job, &page->notes);
    for (size_t i = 0; status == TW_OK && i < page->plan->setup_count; i++)
        tw_findings_repeat(&page->notes, &page->plan->setups[i].said);
    if (status == TW_OK)
        tw_assess_remark(page->job, page->plan, &page->notes);
    if (status == TW_NO_MEMORY || page->notes.out_of_memory)
        return tw_no_memory(page->findings);
    if (status != TW_OK)
        tw_findings_repeat(page->findings, &page->notes);
    return status;
}

/* Without the file, whose name depends on where the job was read from. */
static const char *sentence(const struct tw_finding *note)
{
    const char *text = note->text, *colon;
    size_t file = note->file ? strlen(note->file) : 0;

    if (file == 0 || strncmp(text, note->file, file) != 0)
        return text;
    colon = strstr(text + file, ": ");
    return colon ? colon + 2 : text;
}

static bool is_said_before(const struct page *page, size_t i)
{
    for (size_t k = 0; k < i; k++)
        if (strcmp(sentence(&page->notes.items[k]), sentence(&page->notes.items[i])) == 0)
            return true;
    return false;
}

bool sheet_tells_notes(const struct page *page)
{
    return page->notes.count > 0;
}

enum tw_status section_noted(struct page *page)
{
    tw_text_print(&page->out, "<p>What <code>plan</code> said beside its result: none of it stops a program, all of it "
                              "is to be known before one runs.</p>\n<ul>\n");
    for (size_t i = 0; i < page->notes.count; i++) {
        if (page->notes.items[i].status != TW_OK || is_said_before(page, i))
            continue;
        tw_text_print(&page->out, "<li>");
        sheet_escape(&page->out, sentence(&page->notes.items[i]));
        tw_text_print(&page->out, "</li>\n");
    }
    tw_text_print(&page->out, "</ul>\n");
    return TW_OK;
}
