/* fixture_parts.c - what has to be made or bought for a fixture: one row for each kind of part, all its sizes in it. */
#include "sheet/sheet.h"

static void length_cell(struct page *page, const char *label, double mm, enum sheet_precision precision)
{
    tw_text_print(&page->out, "<td data-label=\"%s\">", label);
    sheet_length(&page->out, page->inch, mm, precision);
    tw_text_print(&page->out, "</td>");
}

/* Width; of a dowel its diameter; of the maker's own block what the blade asks for. */
static void width_cell(struct page *page, const struct tw_piece *piece)
{
    if (piece->width_mm > 0.0) {
        length_cell(page, piece->kind == TW_PIECE_DOWEL ? "diameter" : "width", piece->width_mm,
                    piece->kind == TW_PIECE_DOWEL ? SHEET_GAUGE : SHEET_RULE);
        return;
    }
    tw_text_print(&page->out, "<td data-label=\"width\">as the blade there</td>");
}

static void height_cell(struct page *page, const struct tw_piece *piece)
{
    bool is_bar = piece->kind == TW_PIECE_REST_B || piece->kind == TW_PIECE_WEDGE;
    bool is_thickness = piece->kind == TW_PIECE_PLATE || piece->kind == TW_PIECE_CLAMP;

    tw_text_print(&page->out, "<td data-label=\"over the plate\">");
    if (is_bar)
        tw_text_print(&page->out, piece->kind == TW_PIECE_REST_B ? "rear " : "thick end ");
    sheet_length(&page->out, page->inch, piece->high_mm,
                 is_thickness                    ? SHEET_RULE
                 : piece->kind == TW_PIECE_DOWEL ? SHEET_GAUGE
                                                 : SHEET_BLOCKS);
    if (is_bar) {
        tw_text_print(&page->out, piece->kind == TW_PIECE_REST_B ? ", front " : ", thin end ");
        sheet_length(&page->out, page->inch, piece->low_mm, SHEET_BLOCKS);
    }
    tw_text_print(&page->out, "%s</td>", is_thickness ? " thick" : "");
}

/* What the sizes do not say. */
static void notes_cell(struct page *page, const struct tw_piece *piece)
{
    const struct tw_fixture_design *design = page->design;

    tw_text_print(&page->out, "<td data-label=\"faces\">");
    if (piece->kind == TW_PIECE_DOWEL) {
        sheet_length(&page->out, page->inch, piece->high_mm - design->pad_height_mm, SHEET_GAUGE);
        tw_text_print(&page->out, " over the pad, in a hole ");
        sheet_length(&page->out, page->inch, piece->deep_mm, SHEET_GAUGE);
        tw_text_print(&page->out, " deep without the drill\u2019s point; ");
    }
    tw_text_print(&page->out, "%s", tw_piece_faces(design, piece));
    if (piece->kind == TW_PIECE_OWN_BLOCK) {
        tw_text_print(&page->out, "; it lies between x ");
        sheet_length(&page->out, page->inch, design->clamp.x0_mm, SHEET_RULE);
        tw_text_print(&page->out, " and ");
        sheet_length(&page->out, page->inch, design->clamp.x1_mm, SHEET_RULE);
    }
    if (piece->kind == TW_PIECE_CLAMP) {
        tw_text_print(&page->out, ", ");
        sheet_length(&page->out, page->inch, tw_fixture_clamp_room_mm(design), SHEET_RULE);
        tw_text_print(&page->out, " over the blade\u2019s upper face; presses with %.0f\u00a0N", design->clamp_force_N);
    }
    tw_text_print(&page->out, "</td>");
}

static void piece_row(struct page *page, const struct tw_piece *piece)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th><td data-label=\"number\">%d</td>", piece->name,
                  piece->count);
    length_cell(page, "length", piece->length_mm, SHEET_RULE);
    width_cell(page, piece);
    height_cell(page, piece);
    tw_text_print(&page->out, "<td data-label=\"material\">");
    sheet_escape(&page->out, piece->material);
    tw_text_print(&page->out, "</td>");
    notes_cell(page, piece);
    tw_text_print(&page->out, "</tr>\n");
}

/* From what all heights count, and what a block through a window is higher. */
static void write_heights(struct page *page)
{
    const struct tw_fixture_design *design = page->design;

    if (design->station_count == 1)
        tw_text_print(&page->out, "<p>For one station.");
    else
        tw_text_print(&page->out, "<p>For all %d stations together.", design->station_count);
    tw_text_print(&page->out,
                  " Heights count from the plate\u2019s face; the pad\u2019s face, from which the stops\u2019 "
                  "heights count, lies ");
    sheet_length(&page->out, page->inch, design->pad_height_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, " over it. %s</p>\n",
                  design->job->fixture.pull_N_per_mm2 > 0.0
                      ? "<strong>Pad, rests and supports that have a window stand on the magnet, through it: make each "
                        "of these blocks higher than said here by the plate\u2019s thickness, as measured.</strong>"
                      : "Pad, rests and supports are screwed to the plate from below.");
}

enum tw_status section_fixture_parts(struct page *page)
{
    struct tw_piece pieces[TW_PIECES_MOST];
    size_t count = tw_fixture_pieces(page->design, pieces);

    write_heights(page);
    tw_text_print(&page->out,
                  "<table class=\"flow\"><thead><tr><th scope=\"col\">what</th><th scope=\"col\">number</th><th "
                  "scope=\"col\">length</th><th scope=\"col\">width</th><th scope=\"col\">over the plate</th><th "
                  "scope=\"col\">material</th><th scope=\"col\">faces, and what else</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < count; i++)
        piece_row(page, &pieces[i]);
    tw_text_print(&page->out, "</tbody></table>\n");
    return TW_OK;
}
