/* balance_table.c - weight and balance for a person. */
#include "tangwright/report.h"

#include "base/numbers.h"
#include "report/balance_parts.h"

#include <math.h>
#include <stdlib.h>

const char *tw_place_words(double x_mm, char words[TW_PLACE_SIZE])
{
    if (fabs(x_mm) < 0.05)
        snprintf(words, TW_PLACE_SIZE, "at the taper start");
    else
        snprintf(words, TW_PLACE_SIZE, "%.1f mm %s the taper start", fabs(x_mm), x_mm < 0.0 ? "ahead of" : "behind");
    return words;
}

/* ---- bodies ---- */

static void print_body(struct tw_text *text, const char *label, const struct tw_weight *weight)
{
    if (!(weight->mass_g > 0.0))
        return;
    tw_text_print(text, "  %-27s %9.2f %8.3f %11.1f %8.2f %8.2f %8.2f %10.0f\n", label, weight->mass_g,
                  weight->mass_g / TW_G_PER_OUNCE, weight->volume_mm3, weight->x_mm, weight->y_mm, weight->z_mm,
                  tw_weight_moment_g_mm(weight));
}

static void print_bodies(struct tw_text *text, const struct tw_balance *b, const char *across)
{
    tw_text_print(text, "  %-27s %9s %8s %11s %8s %8s %8s %10s\n", "", "g", "oz", "mm3", "x mm", "y mm", "z mm",
                  "g mm");
    print_body(text, "drawn tang, not ground", &b->tang);
    print_body(text, "steel drilled from its holes", &b->holes);
    print_body(text, "taper off side A", &b->taper[0]);
    print_body(text, "taper off side B", &b->taper[1]);
    print_body(text, "relief off side A", &b->relief[0]);
    print_body(text, "relief off side B", &b->relief[1]);
    print_body(text, "taken off, all together", &b->removed);
    print_body(text, "scales", &b->scales);
    print_body(text, "pins", &b->pins);
    print_body(text, "glue", &b->glue);
    print_body(text, "handle, all together", &b->handle);
    tw_text_print(text,
                  "  x: behind the taper start, towards the butt; y: towards the %s; z: out of side A; g mm: "
                  "moment about the taper start\n",
                  across);
    if (b->relief[0].mass_g > 0.0 || b->relief[1].mass_g > 0.0)
        tw_text_print(
            text, "  relief: what the wheel takes out, as if %.0f of the %.0f mm2 inside the land were at full depth\n",
            b->hollowed_mm2, b->region_mm2);
}

/* ---- stages ---- */

void tw_balance_print_stages(struct tw_text *text, const struct tw_balance *balance, bool relieved, bool handled)
{
    for (int stage = 0; stage < TW_STAGE_COUNT; stage++) {
        const struct tw_balance_point *knife = &balance->stages[stage];
        char place[TW_PLACE_SIZE];

        if ((stage == TW_STAGE_RELIEVED && !relieved) ||
            (!handled && (stage == TW_STAGE_FINISHED || stage == TW_STAGE_UNGROUND)))
            continue;
        tw_text_print(text, "  %-27s %9.2f g  (%.3f oz), balances %s   (%.3f in)\n",
                      tw_stage_name((enum tw_stage)stage), knife->mass_g, knife->mass_g / TW_G_PER_OUNCE,
                      tw_place_words(knife->x_mm, place), fabs(knife->x_mm) / TW_MM_PER_INCH);
    }
}

/* ---- table over the butt ---- */

static void print_rows(struct tw_text *text, const struct tw_job *job, const struct tw_balance *rows, size_t count)
{
    tw_text_print(text, "\nwhat the butt's thickness does%s\n",
                  job->relief.depth_mm > 0.0 ? ", with the job's relief" : "");
    tw_text_print(text, "  %16s %9s %9s   %s\n", "butt mm (in)", "off g", "knife g", "balances");
    for (size_t i = 0; i < count; i++) {
        const struct tw_balance_point *knife = &rows[i].stages[TW_STAGE_FINISHED];
        bool own = fabs(rows[i].butt_mm - job->taper.butt_mm) < 1e-9;
        char place[TW_PLACE_SIZE], butt[32];

        snprintf(butt, sizeof butt, "%.3f (%.4f)", rows[i].butt_mm, rows[i].butt_mm / TW_MM_PER_INCH);
        tw_text_print(text, "  %16s %9.2f %9.2f   %s%s\n", butt, rows[i].removed.mass_g, knife->mass_g,
                      tw_place_words(knife->x_mm, place), own ? "   <- this job" : "");
    }
}

/* ---- the inverse ---- */

static const char *why(enum tw_balance_limit limit)
{
    switch (limit) {
    case TW_BALANCE_BY_STRENGTH:
        return "no part of the tang may come out thinner than smallest_thickness";
    case TW_BALANCE_BY_STRAIGHT:
        return "with a thicker butt the tang would not come out straight";
    case TW_BALANCE_BY_NO_TAPER:
        return "there is nothing left to leave on";
    case TW_BALANCE_FREE:
        break;
    }
    return "";
}

static void print_means(struct tw_text *text, const struct tw_balance_answer *answer)
{
    tw_text_print(text, "a butt of %.3f mm (%.4f in)", answer->butt_mm, answer->butt_mm / TW_MM_PER_INCH);
    if (answer->relief_depth_mm > 0.0)
        tw_text_print(text, " and a relief %.3f mm (%.4f in) deep", answer->relief_depth_mm,
                      answer->relief_depth_mm / TW_MM_PER_INCH);
}

static void print_answer(struct tw_text *text, const struct tw_balance_wish *wish,
                         const struct tw_balance_answer *answer)
{
    char wanted[TW_PLACE_SIZE], got[TW_PLACE_SIZE];

    tw_text_print(text, "\nto balance %s\n  ", tw_place_words(wish->x_mm, wanted));
    if (answer->reached) {
        print_means(text, answer);
        tw_text_print(text, "\n");
        return;
    }
    tw_text_print(text, "nearest: %s, %.2f mm short, with ", tw_place_words(answer->x_mm, got),
                  fabs(answer->x_mm - wish->x_mm));
    print_means(text, answer);
    tw_text_print(text, ";\n  %s\n", why(answer->limit));
    if (answer->advice_count > 0)
        tw_text_print(text, "  what else would help, each by itself with its best butt and relief:\n");
    for (size_t i = 0; i < answer->advice_count; i++)
        tw_text_print(text, "    %-72s %s%s\n", answer->advice[i].change, tw_place_words(answer->advice[i].x_mm, got),
                      answer->advice[i].enough ? ", enough" : "");
}

/* ---- spine ---- */

static void print_spine(struct tw_text *text, const struct tw_job *job, const struct tw_spine_view *view)
{
    bool from_tip = job->blade.length_mm > 0.0;

    tw_text_print(text, "\nseen edge-on: thickness every 10 mm %s\n",
                  from_tip ? "behind the tip" : "behind the taper start");
    tw_text_print(text, "  %8s %10s %9s\n", from_tip ? "tip mm" : "x mm", "thick mm", "in");
    for (size_t i = 0; i < view->point_count; i++) {
        const struct tw_spine_point *p = &view->points[i];
        const char *note = p->x_mm == 0.0 ? "   taper start" : i + 1 == view->point_count ? "   butt" : "";

        tw_text_print(text, "  %8.1f %10.3f %9.4f%s\n", p->tip_mm, p->thickness_mm, p->thickness_mm / TW_MM_PER_INCH,
                      note);
    }
}

enum tw_status tw_balance_table(const struct tw_job *job, const struct tw_balance_report *report, char **out,
                                struct tw_findings *findings)
{
    const struct tw_balance *b = &report->balance;
    struct tw_text text = { 0 };

    tw_text_print(&text, "%s: weight and balance, butt %.3f mm (%.4f in)\n", job->name, b->butt_mm,
                  b->butt_mm / TW_MM_PER_INCH);
    print_bodies(&text, b, tw_placement_side(&job->placement, 1));
    if (b->weighed) {
        tw_text_print(&text, "\nthe knife\n");
        tw_balance_print_stages(&text, b, b->relief_depth_mm > 0.0, b->handle.mass_g > 0.0);
        tw_text_print(&text, "  1 mm misread on the blank's balance point moves the %s by %.2f mm\n",
                      b->handle.mass_g > 0.0 ? "finished knife's" : "tapered blank's", b->blank_share);
        print_rows(&text, job, report->rows, report->row_count);
    } else {
        tw_text_print(&text, "\nthe blank was not weighed: the group blank, with mass and balance_point, brings the "
                             "whole knife's balance\n");
    }
    if (report->asked)
        print_answer(&text, &report->wish, &report->answer);
    print_spine(&text, job, &report->spine);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
