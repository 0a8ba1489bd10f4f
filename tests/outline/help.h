/* help.h - what the outline tests share: drawings given as text, read from a folder of their own. */
#ifndef TANGWRIGHT_TESTS_OUTLINE_HELP_H
#define TANGWRIGHT_TESTS_OUTLINE_HELP_H

#include "tangwright/outline.h"

#include "../check/check.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define TOLERANCE_MM 0.01

struct reading {
    struct tw_outline outline;
    struct tw_findings findings;
    enum tw_status status;
};

static inline void write_file(const char *name, const char *data, size_t length)
{
    FILE *file = fopen(name, "wb");

    cr_assert(file != NULL);
    cr_assert(fwrite(data, 1, length, file) == length);
    cr_assert(fclose(file) == 0);
}

/* Every test runs in a process of its own, so that it may go into a folder of its own, and back. */
static char folder_before[400];

static inline void enter_folder(void)
{
    char folder[] = "/tmp/tangwright-outline-XXXXXX";

    cr_assert(getcwd(folder_before, sizeof folder_before) != NULL);
    cr_assert(mkdtemp(folder) != NULL);
    cr_assert(chdir(folder) == 0);
}

static inline void leave_folder(void)
{
    char folder[256];

    cr_assert(getcwd(folder, sizeof folder) != NULL);
    cr_assert(chdir(folder_before) == 0);
    cr_assert(rmdir(folder) == 0);
}

/* unit_mm 0: the job gives none. */
static inline struct reading read_bytes(const char *name, const char *data, size_t length, double unit_mm,
                                        double tolerance_mm, const char *pick)
{
    struct reading reading = { 0 };
    struct tw_drawing drawing = {
        .path = name, .unit_mm = unit_mm, .chord_tolerance_mm = tolerance_mm, .gap_tolerance_mm = 0.05, .pick = pick
    };

    enter_folder();
    write_file(name, data, length);
    reading.status = tw_outline_read(&drawing, &reading.outline, &reading.findings);
    remove(name);
    leave_folder();
    return reading;
}

static inline struct reading read_text(const char *name, const char *text, double unit_mm)
{
    return read_bytes(name, text, strlen(text), unit_mm, TOLERANCE_MM, NULL);
}

static inline struct reading read_sound(const char *name, const char *text, double unit_mm)
{
    struct reading reading = read_text(name, text, unit_mm);

    if (reading.status != TW_OK)
        tw_findings_print(&reading.findings, stderr);
    cr_assert(reading.status == TW_OK, "%s was refused", name);
    return reading;
}

static inline void free_reading(struct reading *reading)
{
    tw_outline_free(&reading->outline);
    tw_findings_free(&reading->findings);
}

/* First fault, remarks passed over; "" when there is none. */
static inline const char *first_fault(const struct reading *reading)
{
    for (size_t i = 0; i < reading->findings.count; i++)
        if (reading->findings.items[i].status != TW_OK)
            return reading->findings.items[i].text;
    return "";
}

static inline const char *first_remark(const struct reading *reading)
{
    for (size_t i = 0; i < reading->findings.count; i++)
        if (reading->findings.items[i].status == TW_OK)
            return reading->findings.items[i].text;
    return "";
}

/* Shoelace formula, written here again so that the tests do not lean on the code they test. */
static inline double area_of(const struct tw_ring *ring)
{
    double twice = 0.0;

    for (size_t i = 0, j = ring->count - 1; i < ring->count; j = i++)
        twice += ring->points[j].x_mm * ring->points[i].y_mm - ring->points[i].x_mm * ring->points[j].y_mm;
    return twice / 2.0;
}

static inline double distance_to_segment(struct tw_point p, struct tw_point a, struct tw_point b)
{
    double dx = b.x_mm - a.x_mm, dy = b.y_mm - a.y_mm, l2 = dx * dx + dy * dy;
    double t = l2 > 0.0 ? ((p.x_mm - a.x_mm) * dx + (p.y_mm - a.y_mm) * dy) / l2 : 0.0;

    t = fmin(1.0, fmax(0.0, t));
    return hypot(p.x_mm - a.x_mm - t * dx, p.y_mm - a.y_mm - t * dy);
}

static inline double distance_to_ring(struct tw_point p, const struct tw_ring *ring)
{
    double least = HUGE_VAL;

    for (size_t i = 0, j = ring->count - 1; i < ring->count; j = i++)
        least = fmin(least, distance_to_segment(p, ring->points[j], ring->points[i]));
    return least;
}

#endif
