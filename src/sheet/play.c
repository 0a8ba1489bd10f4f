/* play.c - the programs as data for the script that plays them, and the frame it draws into. */
#include "sheet/sheet.h"

#include "geometry/ring.h"
#include "tangwright/taper.h"

#include <math.h>

/* Corners of the tang nearer to the last one than this are left out of the script's drawing. */
#define COARSE_MM 0.25
/* A surveyed blank's upper side is told at so many places. */
enum { RAW_PIECES = 40 };

/* ---- the data ---- */

static void write_ring(struct tw_text *out, const struct tw_ring *ring)
{
    double last_x = HUGE_VAL, last_y = HUGE_VAL;

    tw_text_print(out, "[");
    for (size_t i = 0; i < ring->count; i++) {
        double x = ring->points[i].x_mm, y = ring->points[i].y_mm;

        if (hypot(x - last_x, y - last_y) < COARSE_MM)
            continue;
        tw_text_print(out, "%s%.2f,%.2f", last_x == HUGE_VAL ? "" : ",", x, y);
        last_x = x;
        last_y = y;
    }
    tw_text_print(out, "]");
}

static void write_rings(struct tw_text *out, const struct tw_outline *outline)
{
    write_ring(out, &outline->outer);
    for (size_t i = 0; i < outline->hole_count; i++) {
        tw_text_print(out, ",");
        write_ring(out, &outline->holes[i]);
    }
}

static long long in_um(double mm)
{
    return llround(mm * 1000.0);
}

/* Where all steps begin: the stations' first, so that the way there is not drawn. */
static void first_place(const struct sheet_side *side, double at[3])
{
    for (size_t i = 0; i < side->trace.count; i++) {
        const struct tw_step *step = &side->trace.steps[i];

        if (step->kind == TW_STEP_DWELL || (step->from_mm[0] == step->to_mm[0] && step->from_mm[1] == step->to_mm[1]))
            continue;
        for (int k = 0; k < 3; k++)
            at[k] = step->to_mm[k];
        return;
    }
    for (int k = 0; k < 3; k++)
        at[k] = 0.0;
}

/* Seven numbers a step, each less its forerunner where that makes it shorter: line, what it does, part, layer, along,
 * across, up in micrometres, and the time at its end in milliseconds. */
static void write_steps(struct page *page, const struct sheet_side *side)
{
    struct tw_text *out = &page->out;
    double start[3];
    long long last[3], last_ms = 0;
    int last_line = 0;

    first_place(side, start);
    for (int k = 0; k < 3; k++)
        last[k] = in_um(start[k]);
    tw_text_print(out, ",\"start\":[%lld,%lld,%lld],\"steps\":[", last[0], last[1], last[2]);
    for (size_t i = 0; i < side->trace.count; i++) {
        const struct tw_step *step = &side->trace.steps[i];
        const struct sheet_step *own = &side->steps[i];
        bool before = own->start_s == 0.0 && step->time_s == 0.0; /* not over the first part yet */
        long long ms = llround((own->start_s + step->time_s) * 1000.0);

        tw_text_print(out, "%s%d,%d,%d,%d", i > 0 ? "," : "", step->line - last_line, (int)own->work, own->part,
                      own->layer);
        for (int k = 0; k < 3; k++) {
            long long um = before ? last[k] : in_um(step->to_mm[k]);

            tw_text_print(out, ",%lld", um - last[k]);
            last[k] = um;
        }
        tw_text_print(out, ",%lld", ms - last_ms);
        last_ms = ms;
        last_line = step->line;
    }
    tw_text_print(out, "]\n");
}

static void write_passes(struct page *page, const struct sheet_side *side)
{
    const struct tw_proof_record *record = side->proof ? &side->proof->record : NULL;
    size_t at = 0;

    tw_text_print(&page->out, ",\"passes\":[");
    for (size_t i = 0; i < side->pass_count; i++)
        tw_text_print(&page->out, "%s%zu,%zu,%d", i > 0 ? "," : "", side->passes[i].from, side->passes[i].to,
                      side->passes[i].layer);
    tw_text_print(&page->out, "],\"heat\":[");
    /* By step: line, peak under the wheel, hottest of the tang, peak with the reserve; from the dry-run. */
    for (size_t i = 0; record && i < record->pass_count; i++)
        tw_text_print(&page->out, "%s%d,%.0f,%.0f,%.0f", at++ > 0 ? "," : "", record->passes[i].line,
                      record->passes[i].peak_degC, record->passes[i].bulk_degC, record->passes[i].reserve_degC);
    tw_text_print(&page->out, "],\"layers\":[");
    for (size_t i = 0; i < side->setup->layer_count; i++) {
        const struct tw_layer *layer = &side->setup->layers[i];

        tw_text_print(&page->out, "%s[\"%s\",%.4g,%.3g,%.0f,%.0f,%.0f]", i > 0 ? "," : "", tw_layer_name(layer),
                      layer->depth_mm * 1000.0, layer->table_mm_per_s * 0.06, layer->peak_degC, layer->bulk_degC,
                      layer->reserve_degC);
    }
    tw_text_print(&page->out, "]\n");
}

/* The blank's upper side and the finished face, each as height at x = 0 and slope. */
static void write_planes(struct page *page, const struct sheet_side *side)
{
    const struct tw_face *face = &side->setup->face;
    double ricasso_mm = page->job->taper.ricasso_mm;

    tw_text_print(&page->out, ",\"top\":[%.5f,%.7f],\"face\":[%.5f,%.7f],\"start_x\":%.4f,\"lift\":%.4f",
                  ricasso_mm / cos(face->tilt_rad), tan(face->tilt_rad), face->height_mm, -face->fall, face->start_mm,
                  page->sheet->lift_mm);
    if (!face->raw)
        return;
    tw_text_print(&page->out, ",\"raw\":[");
    for (int i = 0; i <= RAW_PIECES; i++) {
        double x_mm = face->start_mm + (tw_ring_box(&side->tang.outer).max_x_mm - face->start_mm) * i / RAW_PIECES;

        tw_text_print(&page->out, "%s%.3f,%.4f", i > 0 ? "," : "", x_mm, tw_face_top_mm(face, x_mm));
    }
    tw_text_print(&page->out, "]");
}

static void write_wheel(struct tw_text *out, const struct tw_wheel *wheel)
{
    tw_text_print(out, ",\"wheel\":{\"cup\":%s,\"diameter\":%.3f,\"width\":%.3f,\"rim\":%.3f}",
                  wheel->kind == TW_WHEEL_CUP ? "true" : "false", wheel->diameter_mm, wheel->width_mm,
                  wheel->rim_width_mm);
}

/* Where a relief's program is to take steel off: its rings, one after another. */
static void write_hollow(struct tw_text *out, const struct tw_relief_region *hollow)
{
    for (size_t i = 0; i < hollow->count; i++) {
        tw_text_print(out, i > 0 ? "," : ",\"hollow\":[");
        write_rings(out, &hollow->pieces[i]);
    }
    tw_text_print(out, hollow->count > 0 ? "]\n" : "");
}

static void write_side(struct page *page, size_t i)
{
    const struct sheet_side *side = &page->sides[i];

    tw_text_print(&page->out, "{\"name\":\"%s\",\"duration\":%.3f", side->name, side->duration_s);
    write_wheel(&page->out, side->wheel);
    write_planes(page, side);
    tw_text_print(&page->out, ",\"tang\":[");
    write_rings(&page->out, &side->tang);
    tw_text_print(&page->out, "]\n");
    write_hollow(&page->out, &side->hollow);
    write_steps(page, side);
    write_passes(page, side);
    tw_text_print(&page->out, ",\"text\":\"");
    sheet_escape_json(&page->out, side->card->text, side->card->length);
    tw_text_print(&page->out, "\"}");
}

static void write_origins(struct page *page)
{
    tw_text_print(&page->out, "\"origins\":[");
    for (int i = 0; i < page->job->parts; i++) {
        double origin[3];

        tw_trace_origin(&page->job->machine, &page->job->fixture.stations[i], origin);
        tw_text_print(&page->out, "%s[%lld,%lld,%lld]", i > 0 ? "," : "", in_um(origin[0]), in_um(origin[1]),
                      in_um(origin[2]));
    }
    tw_text_print(&page->out, "],");
}

static void write_data(struct page *page)
{
    bool comma = false;

    tw_text_print(&page->out, "<script type=\"application/json\" id=\"play-data\">{\"limit\":%.1f,\"inch\":%s,",
                  page->plan->limit_degC, page->inch ? "true" : "false");
    write_origins(page);
    tw_text_print(&page->out, "\"sides\":[");
    for (size_t i = 0; i < page->side_count; i++) {
        if (page->sides[i].trace.count == 0)
            continue;
        tw_text_print(&page->out, comma ? ",\n" : "");
        write_side(page, i);
        comma = true;
    }
    tw_text_print(&page->out, "]}</script>\n");
}

/* ---- the frame ---- */

static void write_controls(struct page *page)
{
    bool comma = false;

    tw_text_print(&page->out, "<div class=\"controls\">\n<fieldset><legend>Program</legend>");
    for (size_t i = 0; i < page->side_count; i++) {
        if (page->sides[i].trace.count == 0)
            continue;
        tw_text_print(&page->out, "<label><input type=\"radio\" name=\"play-side\" value=\"%s\"%s/> side %s</label>",
                      page->sides[i].name, comma ? "" : " checked=\"checked\"", page->sides[i].name);
        comma = true;
    }
    tw_text_print(&page->out,
                  "</fieldset>\n<div class=\"buttons\"><button type=\"button\" id=\"play-back\">\u2190 pass</button>"
                  "<button type=\"button\" id=\"play-run\">Play</button><button type=\"button\" id=\"play-on\">pass "
                  "\u2192</button></div>\n"
                  "<p class=\"time\"><label for=\"play-time\">Time</label> <output id=\"play-clock\" "
                  "for=\"play-time\">0 s</output></p>\n"
                  "<input type=\"range\" id=\"play-time\" min=\"0\" max=\"1\" step=\"0.1\" value=\"0\"/>\n</div>\n");
}

enum tw_status section_play(struct page *page)
{
    write_controls(page);
    tw_text_print(
        &page->out,
        "<dl class=\"readout\"><div><dt>Pass</dt><dd id=\"play-pass\"></dd></div><div><dt>Layer</dt><dd "
        "id=\"play-layer\"></dd></div><div><dt>Doing</dt><dd id=\"play-work\"></dd></div>"
        "<div><dt>Wheel at, part\u2019s zero</dt><dd id=\"play-place\"></dd></div><div><dt>Left at the most</dt><dd "
        "id=\"play-left\"></dd></div><div><dt>Hottest, last pass</dt><dd id=\"play-heat\"></dd></div></dl>\n"
        "<pre id=\"play-lines\" tabindex=\"0\" role=\"region\" aria-label=\"Lines of the program\"></pre>\n"
        "<figure id=\"play-figure\"><div id=\"play-draw\"></div><figcaption>Above: the tang from above with the wheel, "
        "its path in this layer, and what is still to come off, darker where more stands. Below: the same along the "
        "middle of the tang, heights exaggerated as it says. Worked out in the browser in cells of about 1\u00a0mm; "
        "the dry run is finer.</figcaption></figure>\n");
    write_data(page);
    return TW_OK;
}
