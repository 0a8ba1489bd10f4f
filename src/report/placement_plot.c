/* placement_plot.c - the knife as it lies with side A up, drawn with plain characters. */
#include "tangwright/report.h"

#include "geometry/ring.h"
#include "report/placement_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A character is about twice as high as wide; each is sampled in SAMPLES by SAMPLES places. */
enum { COLUMNS = 72, ROWS_MOST = 24, SAMPLES = 3 };
#define HIGH_TO_WIDE 2.1

enum { GRID_COLUMNS = COLUMNS * SAMPLES, GRID_ROWS = ROWS_MOST * SAMPLES };

struct plot {
    double from_mm, top_mm, column_mm, row_mm;
    int columns, rows;
    unsigned char inside[GRID_ROWS][GRID_COLUMNS]; /* of the outline being drawn */
    char cells[ROWS_MOST][COLUMNS + 1];
};

/* ---- the frame ---- */

static struct tw_box box_of(const struct tw_part *part)
{
    struct tw_box box = tw_ring_box(&part->tang.outer), blade;

    if (part->blade.outer.count == 0)
        return box;
    blade = tw_ring_box(&part->blade.outer);
    return (struct tw_box){ fmin(box.min_x_mm, blade.min_x_mm), fmin(box.min_y_mm, blade.min_y_mm),
                            fmax(box.max_x_mm, blade.max_x_mm), fmax(box.max_y_mm, blade.max_y_mm) };
}

static void frame(struct plot *plot, const struct tw_part *part)
{
    struct tw_box box = box_of(part);
    double wide_mm = box.max_x_mm - box.min_x_mm, high_mm = box.max_y_mm - box.min_y_mm;

    plot->column_mm = fmax(wide_mm / COLUMNS, high_mm / ROWS_MOST / HIGH_TO_WIDE) * (1.0 + 1e-9);
    plot->row_mm = plot->column_mm * HIGH_TO_WIDE;
    plot->columns = (int)fmin(COLUMNS, ceil(wide_mm / plot->column_mm));
    plot->rows = (int)fmin(ROWS_MOST, ceil(high_mm / plot->row_mm));
    plot->from_mm = box.min_x_mm;
    plot->top_mm = box.max_y_mm + (plot->rows * plot->row_mm - high_mm) / 2.0;
    for (int row = 0; row < plot->rows; row++) {
        memset(plot->cells[row], ' ', COLUMNS);
        plot->cells[row][COLUMNS] = '\0';
    }
}

/* ---- filling ---- */

/* Every sample above a side of the ring changes from inside to outside or back. */
static void flip_above(struct plot *plot, int column, double y_mm)
{
    for (int row = 0; row < plot->rows * SAMPLES; row++) {
        double at_mm = plot->top_mm - (row + 0.5) * plot->row_mm / SAMPLES;

        if (at_mm <= y_mm)
            break;
        plot->inside[row][column] ^= 1;
    }
}

static void add_ring(struct plot *plot, const struct tw_ring *ring)
{
    double sample_mm = plot->column_mm / SAMPLES;

    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point p = ring->points[i], q = ring->points[(i + 1) % ring->count];
        struct tw_point a = p.x_mm < q.x_mm ? p : q, b = p.x_mm < q.x_mm ? q : p;
        int first = (int)ceil((a.x_mm - plot->from_mm) / sample_mm - 0.5);

        for (int column = first < 0 ? 0 : first; column < GRID_COLUMNS; column++) {
            double x_mm = plot->from_mm + (column + 0.5) * sample_mm;

            if (x_mm >= b.x_mm)
                break;
            flip_above(plot, column, a.y_mm + (x_mm - a.x_mm) / (b.x_mm - a.x_mm) * (b.y_mm - a.y_mm));
        }
    }
}

static int samples_inside(const struct plot *plot, int row, int column)
{
    int count = 0;

    for (int i = 0; i < SAMPLES; i++)
        for (int k = 0; k < SAMPLES; k++)
            count += plot->inside[row * SAMPLES + i][column * SAMPLES + k];
    return count;
}

static void fill(struct plot *plot, const struct tw_outline *outline, char mark)
{
    memset(plot->inside, 0, sizeof plot->inside);
    add_ring(plot, &outline->outer);
    for (size_t i = 0; i < outline->hole_count; i++)
        add_ring(plot, &outline->holes[i]);
    for (int row = 0; row < plot->rows; row++)
        for (int column = 0; column < plot->columns; column++)
            if (samples_inside(plot, row, column) >= 4)
                plot->cells[row][column] = mark;
}

static int column_of(const struct plot *plot, double x_mm)
{
    return (int)fmin(fmax(floor((x_mm - plot->from_mm) / plot->column_mm), 0.0), plot->columns - 1.0);
}

static int row_of(const struct plot *plot, double y_mm)
{
    return (int)fmin(fmax(floor((plot->top_mm - y_mm) / plot->row_mm), 0.0), plot->rows - 1.0);
}

/* A hole is shown, however small. */
static void mark_holes(struct plot *plot, const struct tw_placement *placement)
{
    for (size_t i = 0; i < placement->hole_count && i < TW_PLACED_HOLES_MOST; i++) {
        struct tw_point at = placement->holes[i].centre;

        plot->cells[row_of(plot, at.y_mm)][column_of(plot, at.x_mm)] = 'o';
    }
}

static void mark_start(struct plot *plot)
{
    int column = column_of(plot, 0.0);

    for (int row = 0; row < plot->rows; row++)
        if (plot->cells[row][column] != ' ' && plot->cells[row][column] != 'o')
            plot->cells[row][column] = '|';
}

/* ---- words around it ---- */

static void print_cells(struct tw_text *text, const struct plot *plot)
{
    for (int row = 0; row < plot->rows; row++) {
        int length = COLUMNS;

        while (length > 0 && plot->cells[row][length - 1] == ' ')
            length--;
        if (length == 0) /* hardly touched by the outline */
            continue;
        tw_text_print(text, "  %.*s\n", length, plot->cells[row]);
    }
}

/* Tip, start and butt below the drawing, where there is room between them. */
static void print_feet(struct tw_text *text, const struct plot *plot, const struct tw_placement *placement)
{
    const char *front = placement->shown == TW_SHOWN_KNIFE ? "tip" : "front";
    char line[COLUMNS + 1];
    int start = column_of(plot, 0.0);

    memset(line, ' ', COLUMNS);
    line[COLUMNS] = '\0';
    memcpy(line + plot->columns - 4, "butt", 4);
    if (start >= 8)
        memcpy(line, front, strlen(front));
    if (start + 13 < plot->columns - 4)
        memcpy(line + start, "| taper start", 13);
    else
        line[start] = '|';
    tw_text_print(text, "  %.*s\n", plot->columns, line);
}

enum tw_status tw_placement_plot(const struct tw_job *job, char **out, struct tw_findings *findings)
{
    struct plot *plot = calloc(1, sizeof *plot);
    struct tw_text text = { 0 };
    char up[3];

    *out = NULL;
    if (!plot)
        return tw_no_memory(findings);
    frame(plot, &job->part);
    if (job->part.blade.outer.count > 0)
        fill(plot, &job->part.blade, '=');
    fill(plot, &job->part.tang, '#');
    mark_holes(plot, &job->placement);
    mark_start(plot);
    tw_text_print(&text, "\nside A up, as it lies on the machine: # is tapered, = is not, o holes\n\n  %s: ",
                  placement_across(job, 1, up));
    placement_print_side(&text, &job->placement, 1);
    tw_text_print(&text, "\n");
    print_cells(&text, plot);
    tw_text_print(&text, "  ");
    placement_print_side(&text, &job->placement, -1);
    tw_text_print(&text, "\n");
    print_feet(&text, plot, &job->placement);
    free(plot);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
