/* properties.h - what holds for every text there is, legal or not; for the fuzz target and its short slice.
 */
#ifndef TESTS_RS274_PROPERTIES_H
#define TESTS_RS274_PROPERTIES_H

#include "tangwright/rs274.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct watch {
    double at_mm[3], at_machine_mm[3], largest_mm;
    int line, events;
    const char *text;
    size_t length;
};

static inline void must(bool holds, const char *what)
{
    if (holds)
        return;
    fprintf(stderr, "property broken: %s\n", what);
    abort();
}

static inline bool close_points(const double a[3], const double b[3], double scale_mm)
{
    for (int i = 0; i < 3; i++)
        if (!(fabs(a[i] - b[i]) <= 1e-11 * (1.0 + scale_mm)))
            return false;
    return true;
}

static inline void watch_arc(const struct tw_rs274_event *event, double scale_mm)
{
    struct tw_rs274_event copy = *event;
    double end[3], end_machine[3];
    double turn = fabs(event->arc.sweep_rad);

    must(turn > 0.0 && turn <= 6.2831853071795865, "an arc turns, by one turn at most");
    must((event->arc.sweep_rad > 0.0) == (event->modes.motion == TW_RS274_MOTION_COUNTERCLOCKWISE), "G3 turns left");
    must(event->arc.start_radius_mm > 0.0 && event->arc.end_radius_mm > 0.0, "an arc has radii");
    must(fabs(event->arc.start_radius_mm - event->arc.end_radius_mm) <= 0.0051 + 1e-9 * scale_mm, "radii agree");
    scale_mm += event->length_mm + event->arc.start_radius_mm;
    /* The curve itself, not the stored end, must arrive there. */
    tw_rs274_point(&copy, 1.0 - 1e-12, end, end_machine);
    must(close_points(end, event->end_mm, scale_mm), "an arc arrives");
    must(close_points(end_machine, event->end_machine_mm, scale_mm), "an arc arrives in the machine");
}

static inline enum tw_status watch_event(const struct tw_rs274_event *event, void *context)
{
    struct watch *watch = context;
    bool motion = event->kind == TW_RS274_RAPID || event->kind == TW_RS274_FEED || event->kind == TW_RS274_ARC;

    for (int i = 0; i < 3; i++) {
        must(isfinite(event->end_mm[i]) && isfinite(event->end_machine_mm[i]), "places are numbers");
        watch->largest_mm = fmax(watch->largest_mm, fmax(fabs(event->end_mm[i]), fabs(event->end_machine_mm[i])));
    }
    must(memcmp(event->start_machine_mm, watch->at_machine_mm, sizeof watch->at_machine_mm) == 0, "no gaps");
    must(motion || memcmp(event->end_machine_mm, watch->at_machine_mm, sizeof watch->at_machine_mm) == 0,
         "only motions move");
    must(event->line >= watch->line, "lines go up");
    must(event->modes.work_system >= 1 && event->modes.work_system <= 9, "one of nine systems");
    must(event->duration_s >= 0.0 && event->dwell_s >= 0.0 && event->length_mm >= 0.0, "nothing is below zero");
    if (event->kind == TW_RS274_FEED || event->kind == TW_RS274_ARC)
        must(isfinite(event->duration_s) && event->feed_mm_per_s >= 0.0, "feed moves have a time");
    if (event->kind == TW_RS274_ARC)
        watch_arc(event, watch->largest_mm);
    if (event->text)
        must(event->text >= watch->text && event->text + event->text_length <= watch->text + watch->length,
             "texts lie in the text");
    memcpy(watch->at_mm, event->end_mm, sizeof watch->at_mm);
    memcpy(watch->at_machine_mm, event->end_machine_mm, sizeof watch->at_machine_mm);
    watch->line = event->line;
    watch->events++;
    return TW_OK;
}

/* The first byte chooses the switches, the rest is the program. */
static inline int watch_run(const char *bytes, size_t length)
{
    static const double lengths_mm[3] = { 12.5, 40.0, 0.0 };
    unsigned switches = length > 0 ? (unsigned char)bytes[0] : 0;
    struct tw_rs274_setup setup = { .tool_slots = 3 };
    struct tw_findings findings = { 0 };
    struct tw_rs274_result result;
    struct watch watch = { .text = bytes, .length = length };
    enum tw_status status;

    setup.block_delete = switches & 1 ? TW_RS274_DELETE_ON : TW_RS274_DELETE_OFF;
    setup.inch = (switches & 2) != 0;
    setup.fragment = (switches & 4) != 0;
    setup.has_home_28 = setup.has_home_30 = (switches & 8) != 0;
    setup.tool_lengths_mm = switches & 16 ? lengths_mm : NULL;
    setup.most_faults = switches & 32 ? 5 : 0;
    setup.optional_stop = (switches & 64) != 0;
    status = tw_rs274_run(bytes + (length > 0), length - (length > 0), &setup, watch_event, &watch, &result, &findings);
    must(status == TW_OK || status == TW_BAD_INPUT, "two answers");
    must((status == TW_OK) == (result.error == TW_RS274_NO_ERROR), "the kind goes with the status");
    must((status == TW_OK) == (findings.count == 0), "so do the findings");
    must(status != TW_OK || setup.fragment || result.ended, "a whole program ends");
    must(status == TW_OK || result.error_line <= result.line_count, "faults lie in the text");
    tw_findings_free(&findings);
    return watch.events;
}

#endif
