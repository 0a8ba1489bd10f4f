/* blank.h - a bar-shaped tang with a survey, as the tests of straightening want it. */
#ifndef TANGWRIGHT_TESTS_STRAIGHT_BLANK_H
#define TANGWRIGHT_TESTS_STRAIGHT_BLANK_H

#include "tangwright/straight.h"

#include <stdio.h>
#include <stdlib.h>

#define BAR_LENGTH_MM 100.0
#define BAR_ROWS_MOST 256

/* 100 mm of tang, 3 mm to 1.6 mm, so that each face falls by 0.007 mm a mm. */
struct bar {
    struct tw_point corners[4];
    struct tw_survey_row rows[BAR_ROWS_MOST];
    struct tw_job job;
};

static void bar_open(struct bar *bar)
{
    *bar =
        (struct bar){ .corners = { { 0.0, -10.0 }, { BAR_LENGTH_MM, -10.0 }, { BAR_LENGTH_MM, 10.0 }, { 0.0, 10.0 } } };
    bar->job.path = NULL;
    bar->job.taper =
        (struct tw_taper){ .ricasso_mm = 3.0, .butt_mm = 1.6, .length_mm = BAR_LENGTH_MM, .smallest_mm = 1.0 };
    bar->job.part.tang.outer = (struct tw_ring){ bar->corners, 4 };
    bar->job.straighten = (struct tw_straighten){ .cleanup_mm = 0.02,
                                                  .cleanup_from_mm = 20.0,
                                                  .tolerance_mm = 0.05,
                                                  .largest_tilt_rad = 0.0,
                                                  .largest_offset_mm = 0.0,
                                                  .largest_twist_rad = 0.01 };
    bar->job.survey = (struct tw_survey){ .resolution_mm = 0.01, .rows = bar->rows };
    bar->job.fixture.sine_bar_mm = 300.0;
}

static void bar_row(struct bar *bar, double x_mm, double y_mm, double a_mm, double b_mm)
{
    size_t row = bar->job.survey.count++;

    bar->rows[row] = (struct tw_survey_row){ x_mm, y_mm, a_mm, b_mm, (int)row + 2 }; /* below a heading */
}

/* Three places on the ricasso that read 0, then every 10 mm of the tang what `bow` says: side A high by it, B low. */
static void bar_bow(struct bar *bar, double (*bow_mm)(double x_mm), double thicker_mm)
{
    for (double x_mm = -30.0; x_mm < 0.0; x_mm += 10.0)
        bar_row(bar, x_mm, 0.0, 0.0, 0.0);
    for (double x_mm = 10.0; x_mm <= BAR_LENGTH_MM; x_mm += 10.0)
        bar_row(bar, x_mm, 0.0, bow_mm(x_mm) + thicker_mm, -bow_mm(x_mm) + thicker_mm);
}

#endif
