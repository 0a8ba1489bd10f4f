/* balance_table.c - weight and balance for a person. */
#include "tangwright/report.h"

#include "base/numbers.h"
#include "base/units.h"
#include "report/balance_parts.h"
#include "report/lengths.h"

#include <math.h>
#include <stdlib.h>

const char *tw_place_words(double x_mm, bool inches, char words[TW_PLACE_SIZE])
{
    if (fabs(x_mm) < 0.05)
        snprintf(words, TW_PLACE_SIZE, "at the taper start");
    else
        snprintf(words, TW_PLACE_SIZE, "%s %s the taper start", tw_length_text(fabs(x_mm), 1, inches).text,
                 x_mm < 0.0 ? "ahead of" : "behind");
    return words;
}

/* ---- bodies ---- */

/* In the units of the shop: one table of each, for both in one would be too wide to read. */
static const struct columns {
    const char *mass, *volume, *length, *moment;
    double g, mm3, mm; /* one of each */
} columns[] = { { "g", "mm3", "mm", "g mm", 1.0, 1.0, 1.0 },
                { "oz", "in3", "in", "oz in", TW_G_PER_OUNCE, TW_MM3_PER_INCH3, TW_MM_PER_INCH } };

/* What is printed as nothing has no sign. */
static double shown(double value, int decimals)
{
    return fabs(value) * pow(10.0, decimals) < 0.5 ? 0.0 : value;
}

static void print_body(struct tw_text *text, bool inches, const char *label, const struct tw_weight *weight)
{
    const struct columns *unit = &columns[inches], *other = &columns[!inches];
    int more = inches ? 1 : 0;

    if (!(weight->mass_g > 0.0))
        return;
    tw_text_print(text, "  %-27s %9.*f %8.*f %11.*f %8.*f %8.*f %8.*f %10.*f\n", label, 2 + more,
                  weight->mass_g / unit->g, 3 - more, weight->mass_g / other->g, 1 + 3 * more,
                  weight->volume_mm3 / unit->mm3, 2 + more, shown(weight->x_mm / unit->mm, 2 + more), 2 + more,
                  shown(weight->y_mm / unit->mm, 2 + more), 2 + more, shown(weight->z_mm / unit->mm, 2 + more),
                  3 * more, shown(tw_weight_moment_g_mm(weight) / (unit->g * unit->mm), 3 * more));
}

static void print_bodies(struct tw_text *text, const struct tw_balance *b, const char *across, bool inches)
{
    const struct columns *unit = &columns[inches];

    tw_text_print(text, "  %-27s %9s %8s %11s %6s %s %6s %s %6s %s %10s\n", "", unit->mass, columns[!inches].mass,
                  unit->volume, "x", unit->length, "y", unit->length, "z", unit->length, unit->moment);
    print_body(text, inches, "drawn tang, not ground", &b->tang);
    print_body(text, inches, "steel drilled from its holes", &b->holes);
    print_body(text, inches, "taper off side A", &b->taper[0]);
    print_body(text, inches, "taper off side B", &b->taper[1]);
    print_body(text, inches, "relief off side A", &b->relief[0]);
    print_body(text, inches, "relief off side B", &b->relief[1]);
    print_body(text, inches, "taken off, all together", &b->removed);
    print_body(text, inches, "scales", &b->scales);
    print_body(text, inches, "pins", &b->pins);
    print_body(text, inches, "glue", &b->glue);
    print_body(text, inches, "handle, all together", &b->handle);
    tw_text_print(text,
                  "  x: behind the taper start, towards the butt; y: towards the %s; z: out of side A; %s: "
                  "moment about the taper start\n",
                  across, unit->moment);
    if (b->relief[0].mass_g > 0.0 || b->relief[1].mass_g > 0.0)
        tw_text_print(
            text, "  relief: what the wheel takes out, as if %.0f of the %.0f mm2 inside the land were at full depth\n",
            b->hollowed_mm2, b->region_mm2);
}

/* ---- stages ---- */

void tw_balance_print_stages(struct tw_text *text, const struct tw_balance *balance, bool relieved, bool handled,
                             bool inches)
{
    for (int stage = 0; stage < TW_STAGE_COUNT; stage++) {
        const struct tw_balance_point *knife = &balance->stages[stage];
        char place[TW_PLACE_SIZE];

        if ((stage == TW_STAGE_RELIEVED && !relieved) ||
            (!handled && (stage == TW_STAGE_FINISHED || stage == TW_STAGE_UNGROUND)))
            continue;
        tw_text_print(text,
                      inches ? "  %-27s %9.3f oz  (%.2f g), balances %s   (%s)\n"
                             : "  %-27s %9.2f g  (%.3f oz), balances %s   (%s)\n",
                      tw_stage_name((enum tw_stage)stage), knife->mass_g / columns[inches].g,
                      knife->mass_g / columns[!inches].g, tw_place_words(knife->x_mm, inches, place),
                      tw_length_text(fabs(knife->x_mm), 1, !inches).text);
    }
}

/* ---- table over the butt ---- */

/* The key counts both faces. With one ground, half as much comes off. */
static double finished_butt_mm(const struct tw_job *job, double key_mm)
{
    return job->one_face ? (job->taper.ricasso_mm + key_mm) / 2.0 : key_mm;
}

static void print_rows(struct tw_text *text, const struct tw_job *job, const struct tw_balance *rows, size_t count)
{
    bool inches = tw_job_in_inches(job);

    tw_text_print(text, "\nwhat %s does%s\n",
                  job->one_face ? "taper.butt_thickness, which counts both faces where one is ground,"
                                : "the butt's thickness",
                  job->relief.depth_mm > 0.0 ? ", with the job's relief" : "");
    tw_text_print(text, "  %16s %9s %9s   %s\n",
                  job->one_face ? (inches ? "key in (mm)" : "key mm (in)") : (inches ? "butt in (mm)" : "butt mm (in)"),
                  inches ? "off oz" : "off g", inches ? "knife oz" : "knife g", "balances");
    for (size_t i = 0; i < count; i++) {
        const struct tw_balance_point *knife = &rows[i].stages[TW_STAGE_FINISHED];
        bool own = fabs(rows[i].butt_mm - job->taper.butt_mm) < 1e-9;
        char place[TW_PLACE_SIZE], butt[32];

        snprintf(butt, sizeof butt, inches ? "%.4f (%.3f)" : "%.3f (%.4f)", rows[i].butt_mm / columns[inches].mm,
                 rows[i].butt_mm / columns[!inches].mm);
        tw_text_print(text, "  %16s %9.*f %9.*f   %s%s\n", butt, inches ? 3 : 2,
                      rows[i].removed.mass_g / columns[inches].g, inches ? 3 : 2, knife->mass_g / columns[inches].g,
                      tw_place_words(knife->x_mm, inches, place), own ? "   <- this job" : "");
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

static void print_means(struct tw_text *text, const struct tw_job *job, const struct tw_balance_answer *answer)
{
    bool inches = tw_job_in_inches(job);

    tw_text_print(text, "a butt of %s", tw_length_both(finished_butt_mm(job, answer->butt_mm), 3, inches).text);
    if (job->one_face)
        tw_text_print(text, ", butt_thickness = \"%s\"", tw_length_text(answer->butt_mm, 3, inches).text);
    if (answer->relief_depth_mm > 0.0)
        tw_text_print(text, " and a relief %s deep", tw_length_both(answer->relief_depth_mm, 3, inches).text);
}

static void print_answer(struct tw_text *text, const struct tw_job *job, const struct tw_balance_wish *wish,
                         const struct tw_balance_answer *answer)
{
    bool inches = tw_job_in_inches(job);
    char wanted[TW_PLACE_SIZE], got[TW_PLACE_SIZE];

    tw_text_print(text, "\nto balance %s\n  ", tw_place_words(wish->x_mm, inches, wanted));
    if (answer->reached) {
        print_means(text, job, answer);
        tw_text_print(text, "\n");
        return;
    }
    tw_text_print(text, "nearest: %s, %s short, with ", tw_place_words(answer->x_mm, inches, got),
                  tw_length_text(fabs(answer->x_mm - wish->x_mm), 2, inches).text);
    print_means(text, job, answer);
    tw_text_print(text, ";\n  %s\n", why(answer->limit));
    if (answer->advice_count > 0)
        tw_text_print(text, "  what else would help, each by itself with its best butt and relief:\n");
    for (size_t i = 0; i < answer->advice_count; i++)
        tw_text_print(text, "    %-72s %s%s\n", answer->advice[i].change,
                      tw_place_words(answer->advice[i].x_mm, inches, got), answer->advice[i].enough ? ", enough" : "");
}

/* ---- spine ---- */

static void print_spine(struct tw_text *text, const struct tw_job *job, const struct tw_spine_view *view)
{
    bool from_tip = job->blade.length_mm > 0.0, inches = tw_job_in_inches(job);

    tw_text_print(text,
                  inches ? "\nseen edge-on: thickness every 0.394 in, 10 mm, %s\n"
                         : "\nseen edge-on: thickness every 10 mm %s\n",
                  from_tip ? "behind the tip" : "behind the taper start");
    tw_text_print(text, "  %5s %s %7s %s %9s\n", from_tip ? "tip" : "x", columns[inches].length, "thick",
                  columns[inches].length, columns[!inches].length);
    for (size_t i = 0; i < view->point_count; i++) {
        const struct tw_spine_point *p = &view->points[i];
        const char *note = p->x_mm == 0.0 ? "   taper start" : i + 1 == view->point_count ? "   butt" : "";

        tw_text_print(text, inches ? "  %8.3f %10.4f %9.3f%s\n" : "  %8.1f %10.3f %9.4f%s\n",
                      p->tip_mm / columns[inches].mm, p->thickness_mm / columns[inches].mm,
                      p->thickness_mm / columns[!inches].mm, note);
    }
}

enum tw_status tw_balance_table(const struct tw_job *job, const struct tw_balance_report *report, char **out,
                                struct tw_findings *findings)
{
    const struct tw_balance *b = &report->balance;
    bool inches = tw_job_in_inches(job);
    struct tw_text text = { 0 };

    tw_text_print(&text, "%s: weight and balance, butt %s\n", job->name,
                  tw_length_both(finished_butt_mm(job, b->butt_mm), 3, inches).text);
    if (job->one_face)
        tw_text_print(&text, "  one face is ground: butt_thickness, %s, counts both\n",
                      tw_length_both(b->butt_mm, 3, inches).text);
    print_bodies(&text, b, tw_placement_side(&job->placement, 1), inches);
    if (b->weighed) {
        tw_text_print(&text, "\nthe knife\n");
        tw_balance_print_stages(&text, b, b->relief_depth_mm > 0.0, b->handle.mass_g > 0.0, inches);
        tw_text_print(&text,
                      inches ? "  0.040 in misread on the blank's balance point moves the %s by %.3f in\n"
                             : "  1 mm misread on the blank's balance point moves the %s by %.2f mm\n",
                      b->handle.mass_g > 0.0 ? "finished knife's" : "tapered blank's",
                      (inches ? 0.040 : 1.0) * b->blank_share);
        print_rows(&text, job, report->rows, report->row_count);
    } else {
        tw_text_print(&text, "\nthe blank was not weighed: the group blank, with mass and balance_point, brings the "
                             "whole knife's balance\n");
    }
    if (report->asked)
        print_answer(&text, job, &report->wish, &report->answer);
    print_spine(&text, job, &report->spine);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
