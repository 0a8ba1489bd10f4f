/* run_table.c - a run of blanks for a person: its loads, and what was set aside. */
#include "tangwright/report.h"

#include "base/numbers.h"
#include "base/text.h"
#include "base/units.h"
#include "report/lengths.h"

static void print_time(struct tw_text *text, double time_s)
{
    tw_text_print(text, "%s", tw_duration_text(time_s).text);
}

static void print_offset(struct tw_text *text, int offset)
{
    if (offset <= 6)
        tw_text_print(text, "G%d", 53 + offset);
    else
        tw_text_print(text, "G59.%d", offset - 6);
}

/* ---- one load ---- */

static void print_heights(struct tw_text *text, bool inches, const char *label, const struct tw_place_figures *figures)
{
    double unit_mm = inches ? TW_MM_PER_INCH : 1.0;
    int more = inches ? 1 : 0;
    const char *unit = inches ? "in" : "mm";

    tw_text_print(text, "%s A %.*f, B %.*f %s, packing under the butt A %.*f, B %.*f %s", label, 4 + more,
                  figures->height_mm[TW_SIDE_A] / unit_mm, 4 + more, figures->height_mm[TW_SIDE_B] / unit_mm, unit,
                  3 + more, figures->packing_mm[TW_SIDE_A] / unit_mm, 3 + more,
                  figures->packing_mm[TW_SIDE_B] / unit_mm, unit);
}

static void print_place(struct tw_text *text, const struct tw_run_outcome *outcome, size_t load, size_t place)
{
    const struct tw_run_place *at = &outcome->layout->loads[load].places[place];
    const struct tw_run_blank *blank = &outcome->request->blanks[at->blank];
    const struct tw_place_figures *figures = &outcome->loads[load].places[place];
    bool inches = tw_job_in_inches(&outcome->layout->job);

    tw_text_print(text, "    station %d  ", at->station + 1);
    print_offset(text, outcome->layout->job.fixture.stations[at->station].work_offset);
    tw_text_print(text, "  blank %-10s %s", blank->number, tw_length_text(at->thickness_mm, 3, inches).text);
    if (!outcome->loads[load].refusal && outcome->layout->loads[load].apart)
        print_heights(text, inches, "  height", figures);
    if (blank->survey && !outcome->loads[load].refusal)
        tw_text_print(text, "; surveyed, straight within %s", tw_length_text(figures->deviation_mm, 3, inches).text);
    if (blank->remark)
        tw_text_print(text, "  (%s)", blank->remark);
    tw_text_print(text, "\n");
}

static const char *programs_of(const struct tw_load_figures *figures)
{
    return figures->roughed_apart ? "a roughing and a finishing program" : "one program";
}

static void print_plan(struct tw_text *text, const struct tw_run_load *load, const struct tw_load_figures *figures,
                       bool inches)
{
    const struct tw_place_figures *first = &figures->places[0];

    print_time(text, figures->cycle_s);
    tw_text_print(text, " and ");
    print_time(text, figures->handling_s);
    tw_degrees_print(text, inches, " of loading, peak {}, with the reserve {}",
                     (double[]){ figures->peak_degC, figures->reserve_degC });
    tw_text_append(text, "\n", 1);
    if (figures->joined) {
        tw_text_print(text, "    %s a side for all of them, each at its own heights\n", programs_of(figures));
    } else if (load->apart) {
        tw_text_print(text, "    %s a side for each blank, at its own heights%s%s\n", programs_of(figures),
                      figures->why_not_joined ? ": " : "", figures->why_not_joined ? figures->why_not_joined : "");
    } else {
        tw_text_print(text, "    %s a side, for %s and blanks %s thinner or thicker; butt %s;", programs_of(figures),
                      tw_length_text(first->planned_mm, 4, inches).text, tw_length_text(first->band_mm, 4, inches).text,
                      tw_length_text(first->butt_mm, 3, inches).text);
        print_heights(text, inches, " height", first);
        tw_text_append(text, "\n", 1);
    }
}

static void print_load(struct tw_text *text, const struct tw_run_outcome *outcome, size_t load)
{
    const struct tw_run_load *loaded = &outcome->layout->loads[load];
    const struct tw_load_figures *figures = &outcome->loads[load];

    tw_text_print(text, "\nload %zu: %zu blank%s, ", tw_run_load_number(outcome->layout, load), loaded->count,
                  loaded->count > 1 ? "s" : "");
    if (figures->refusal)
        tw_text_print(text, "cannot be planned: %s\n", figures->refusal);
    else
        print_plan(text, loaded, figures, tw_job_in_inches(&outcome->layout->job));
    for (size_t i = 0; i < loaded->count; i++)
        print_place(text, outcome, load, i);
}

/* ---- what is not ground, and the sum ---- */

static void print_aside(struct tw_text *text, const struct tw_run_outcome *outcome)
{
    const struct tw_run_layout *layout = outcome->layout;

    if (layout->aside_count > 0)
        tw_text_print(text, "\nset aside\n");
    for (size_t i = 0; i < layout->aside_count; i++)
        tw_text_print(text, "    blank %-10s %s\n", outcome->request->blanks[layout->aside[i].blank].number,
                      layout->aside[i].reason);
}

static void print_wheels(struct tw_text *text, const struct tw_run_outcome *outcome, const struct tw_run_sum *sum)
{
    const char *comma = "; a new one before load ";

    if (sum->wheels == 0)
        return;
    tw_text_print(text, "wheels: %zu", sum->wheels);
    if (sum->wheels_most > sum->wheels)
        tw_text_print(text, ", %zu at the least grinding ratio", sum->wheels_most);
    for (size_t i = 0; i < outcome->layout->load_count; i++)
        if (tw_run_renews_before(outcome, i)) {
            tw_text_print(text, "%s%zu", comma, tw_run_load_number(outcome->layout, i));
            comma = ", ";
        }
    tw_text_print(text, "\n");
}

static void print_wheel(struct tw_text *text, const struct tw_run_outcome *outcome, const struct tw_run_sum *sum)
{
    const char *comma = "";

    bool inches = tw_job_in_inches(&outcome->layout->job);

    if (inches)
        tw_text_print(text, "wheel: takes off %.3f in3", sum->removed_mm3 / TW_MM3_PER_INCH3);
    else
        tw_text_print(text, "wheel: takes off %.0f mm3", sum->removed_mm3);
    if (sum->wheel_mm > 0.0)
        tw_text_print(text,
                      inches ? " and likely loses %.1f thou of its height, dressing aside"
                             : " and likely loses %.0f um of its height, dressing aside",
                      inches ? 1e3 * sum->wheel_mm / TW_MM_PER_INCH : 1e3 * sum->wheel_mm);
    if (sum->dressings > 0) {
        tw_text_print(text, "; dress it before load ");
        for (size_t i = 0; i < outcome->layout->load_count; i++)
            if (!outcome->loads[i].refusal && tw_run_dresses_before(outcome, i)) {
                tw_text_print(text, "%s%zu", comma, tw_run_load_number(outcome->layout, i));
                comma = ", ";
            }
    } else if (outcome->layout->job.wheel.dress_after_mm3 == 0.0) {
        tw_text_print(text, "; its profile does not say when it wants dressing");
    }
    tw_text_print(text, "\n");
    print_wheels(text, outcome, sum);
}

/* Where they were tried. */
static void print_stations(struct tw_text *text, const struct tw_run_outcome *outcome)
{
    bool headed = false;

    for (size_t stations = 1; stations <= outcome->layout->job.fixture.station_count; stations++) {
        struct tw_run_estimate estimate = tw_run_estimate_of(outcome, stations);

        if (!estimate.known)
            continue;
        if (!headed)
            tw_text_print(text, "by stations in use, from a load planned for each\n");
        headed = true;
        tw_text_print(text, "    %zu  %3zu loads  ", stations, estimate.loads);
        print_time(text, estimate.cycle_s + estimate.handling_s);
        tw_text_print(text, "%s\n", stations == outcome->layout->station_count ? "  as asked for" : "");
    }
}

static void print_sum(struct tw_text *text, const struct tw_run_outcome *outcome)
{
    struct tw_run_sum sum = tw_run_sum_of(outcome);
    bool inches = tw_job_in_inches(&outcome->layout->job);
    double um = inches ? TW_MM_PER_INCH : 1.0; /* in what is shown */

    if (sum.blanks == 0)
        return;
    tw_text_print(text, "\nin all: %zu blank%s, ", sum.blanks, sum.blanks > 1 ? "s" : "");
    print_time(text, sum.cycle_s);
    tw_text_print(text, " in the machine and ");
    print_time(text, sum.handling_s);
    tw_text_print(text, " of loading: %.1f parts an hour; hottest %s%s of load %zu, with the reserve %s\n",
                  sum.parts_per_hour, sum.hottest_blank ? "blank " : "are the blanks",
                  sum.hottest_blank ? sum.hottest_blank : "", tw_run_load_number(outcome->layout, sum.hottest_load),
                  tw_temperature_both(sum.reserve_degC, inches).text);
    print_wheel(text, outcome, &sum);
    tw_text_print(
        text,
        "thickness: may be off by %.*f %s as planned, most of it %s; gauged load by load about %.*f %s are left, the "
        "band of a load and twice the gauge's uncertainty\n",
        inches ? 1 : 0, sum.error_um / um, inches ? "thou" : "um", sum.error_cause ? sum.error_cause : "nothing",
        inches ? 1 : 0, sum.gauged_um / um, inches ? "thou" : "um");
    print_stations(text, outcome);
}

enum tw_status tw_run_table(const struct tw_run_outcome *outcome, char **out, struct tw_findings *findings)
{
    const struct tw_run_layout *layout = outcome->layout;
    struct tw_text text = { 0 };

    tw_text_print(&text, "%s: %zu blank%s, %zu load%s on station%s", outcome->request->name,
                  outcome->request->blank_count, outcome->request->blank_count == 1 ? "" : "s", layout->load_count,
                  layout->load_count == 1 ? "" : "s", layout->station_count > 1 ? "s" : "");
    for (size_t i = 0; i < layout->station_count; i++)
        tw_text_print(&text, "%s %d", i > 0 ? "," : "", layout->stations[i] + 1);
    tw_text_print(&text, " of %s\n", layout->job.fixture.name);
    for (size_t i = 0; i < layout->load_count; i++)
        print_load(&text, outcome, i);
    print_aside(&text, outcome);
    print_sum(&text, outcome);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
