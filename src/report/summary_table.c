/* summary_table.c - the plan's figures for a person: what will happen, how long, how hot, and what binds. */
#include "tangwright/report.h"

#include "base/text.h"
#include "tangwright/program.h"

#include <math.h>
#include <string.h>

static void line(struct tw_text *text, const char *label, const char *format, ...) __attribute__((format(printf, 3, 4)));

static void line(struct tw_text *text, const char *label, const char *format, ...)
{
    va_list arguments;

    tw_text_print(text, "  %-19s ", label);
    va_start(arguments, format);
    tw_text_vprint(text, format, arguments);
    va_end(arguments);
    tw_text_append(text, "\n", 1);
}

static void print_duration(struct tw_text *text, const char *label, double time_s)
{
    long whole_s = lround(time_s);

    if (whole_s >= 3600)
        line(text, label, "%ld h %02ld min %02ld s", whole_s / 3600, whole_s / 60 % 60, whole_s % 60);
    else
        line(text, label, "%ld min %02ld s", whole_s / 60, whole_s % 60);
}

static void print_overall(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan)
{
    tw_text_print(text, "%s: %s on %s\n", job->name, job->wheel.name, job->machine.name);
    line(text, "taper", "%.3f mm to %.3f mm over %.1f mm   (%.4f in to %.4f in over %.3f in)", job->taper.ricasso_mm,
         job->taper.butt_mm, job->taper.length_mm, job->taper.ricasso_mm / 25.4, job->taper.butt_mm / 25.4,
         job->taper.length_mm / 25.4);
    line(text, "passes", "%d", plan->pass_count);
    print_duration(text, "cycle time", plan->cycle_time_s);
    line(text, "hottest, estimated", "%.0f degC of %.0f degC allowed (strict)   (%.0f of %.0f degF)", plan->peak_degC,
         plan->limit_degC, plan->peak_degC * 1.8 + 32.0, plan->limit_degC * 1.8 + 32.0);
    line(text, "taken off", "%.1f mm3, %.2f g a part   (%.4f in3, %.3f oz)", plan->removed_mm3, plan->removed_g,
         plan->removed_mm3 / 16387.064, plan->removed_g / 28.349523125);
    line(text, "wheel", "%.0f rpm, %.2f m/s   (%.0f ft/min; operating speed %.1f m/s)", plan->spindle_rpm,
         plan->wheel_mm_per_s / 1000.0, plan->wheel_mm_per_s * 60.0 / 304.8, job->wheel.operating_speed_mm_per_s / 1000.0);
}

/* Layers that were planned alike are shown in one row. */
static bool alike(const struct tw_layer *a, const struct tw_layer *b)
{
    return a->kind == b->kind && fabs(a->depth_mm - b->depth_mm) < 1e-9 &&
           fabs(a->table_mm_per_s - b->table_mm_per_s) < 1e-9 && a->lanes == b->lanes && a->binding == b->binding;
}

static void print_layers(struct tw_text *text, const struct tw_setup_plan *setup)
{
    tw_text_print(text, "    %-11s %-9s %16s %14s %6s %7s %8s  %s\n", "layers", "", "depth mm (in)", "table mm/s", "lanes", "degC",
                  "waits s", "bound by");
    for (size_t i = 0; i < setup->layer_count;) {
        const struct tw_layer *layer = &setup->layers[i];
        char range[32], depth[48];
        double hottest = layer->peak_degC, dwell_s = layer->dwell_s;
        size_t j = i + 1;

        for (; j < setup->layer_count && alike(layer, &setup->layers[j]); j++) {
            hottest = fmax(hottest, setup->layers[j].peak_degC);
            dwell_s += setup->layers[j].dwell_s;
        }
        snprintf(range, sizeof range, j - i > 1 ? "%zu-%zu" : "%zu", i + 1, j);
        snprintf(depth, sizeof depth, "%.4f (%.5f)", layer->depth_mm, layer->depth_mm / 25.4);
        tw_text_print(text, "    %-11s %-9s %16s %14.1f %6d %7.0f %8.1f  %s\n", range, tw_layer_kind_name(layer->kind), depth,
                      layer->table_mm_per_s, layer->lanes, hottest, dwell_s, tw_binding_name(layer->binding));
        i = j;
    }
}

static void print_setup(struct tw_text *text, const struct tw_job *job, const struct tw_setup_plan *setup)
{
    const struct tw_face *face = &setup->face;

    tw_text_print(text, "\nside %s (%s)\n", face->side == TW_SIDE_A ? "A" : "B", tw_program_file_name(face->side));
    if (face->mount == TW_MOUNT_TILTED)
        line(text, "mount", "tilted %.4f deg: raise the butt end %.3f mm in %.0f mm   (%.4f in)", face->tilt_rad * 180.0 / acos(-1.0),
             tw_taper_rise_mm(job, job->fixture.sine_bar_mm), job->fixture.sine_bar_mm,
             tw_taper_rise_mm(job, job->fixture.sine_bar_mm) / 25.4);
    else
        line(text, "mount", "level (to tilt it: raise the butt end %.3f mm in %.0f mm)",
             tw_taper_rise_mm(job, job->fixture.sine_bar_mm), job->fixture.sine_bar_mm);
    if (face->side == TW_SIDE_B)
        line(text, "packing", "%.3f mm under the butt, none at the taper start   (%.4f in)",
             tw_taper_packing_mm(job, face->side, job->taper.length_mm),
             tw_taper_packing_mm(job, face->side, job->taper.length_mm) / 25.4);
    line(text, "finished height", "%.4f mm over the datum pad at the taper start   (%.5f in)", face->height_mm,
         face->height_mm / 25.4);
    line(text, "travel", "%s, %d passes", tw_travel_style_name(setup->style), setup->pass_count * job->parts);
    print_duration(text, "cycle time", setup->cycle_time_s);
    line(text, "bulk of the tang", "up to %.0f degC; %.1f s of waiting for it to cool", setup->bulk_degC,
         setup->dwell_s * job->parts);
    print_layers(text, setup);
}

enum tw_status tw_summary_table(const struct tw_job *job, const struct tw_plan *plan, char **out,
                                struct tw_findings *findings)
{
    struct tw_text text = { 0 };

    print_overall(&text, job, plan);
    print_setup(&text, job, &plan->setups[0]);
    print_setup(&text, job, &plan->setups[1]);
    tw_text_print(&text, "\nTemperatures are estimates (wheel at %.0f J/mm3 for a 0.1 um chip); prove them on scrap.\n",
                  job->wheel.specific_energy_J_per_mm3);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
