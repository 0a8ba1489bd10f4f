/* history_ground.c - the part gets thinner where it is ground. */
#include "heat/history_parts.h"

#include <math.h>
#include <string.h>

/* The plate never gets thinner than this. */
#define THINNEST_MM 0.05

/* What a cell of this thickness adds to the number that plates ground alike share; bits mixed by multiplying and shifting. */
static unsigned long long shape_of(size_t k, double thickness_mm)
{
    unsigned long long bits;

    memcpy(&bits, &thickness_mm, sizeof bits);
    bits = (bits ^ (bits >> 29) ^ (unsigned long long)k * 0x9e3779b97f4a7c15ull) * 1099511628211ull;
    return (bits ^ (bits >> 32)) * 0xd6e8feb86659fd93ull;
}

/* Thinner where `left` says so; nothing gets thicker, and a foil's breadth always stays. */
static bool grind_cell(struct tw_history *history, size_t i, size_t j, tw_history_left left_mm, void *context)
{
    const struct tw_plate_grid *grid = &history->grid;
    size_t k = j * grid->nx + i;
    double left = left_mm(context, grid->x_mm + ((double)i + 0.5) * grid->cell_mm,
                          grid->y_mm + ((double)j + 0.5) * grid->cell_mm);
    double before_mm = history->thickness_mm[k], after_mm = left > THINNEST_MM ? left : THINNEST_MM;

    if (!(left > 0.0) || !(after_mm < before_mm))
        return false;
    history->thickness_mm[k] = after_mm;
    history->shape += shape_of(k, after_mm) - shape_of(k, before_mm);
    return true;
}

static enum tw_status grind_cells(struct tw_history *history, struct tw_plate_cells cells, tw_history_left left_mm,
                                  void *context, struct tw_findings *findings)
{
    struct tw_plate_cells ground = tw_no_cells();

    for (size_t j = cells.from_j; j < cells.to_j; j++)
        for (size_t i = cells.from_i; i < cells.to_i; i++)
            if (grind_cell(history, i, j, left_mm, context))
                ground = tw_both_cells(ground, (struct tw_plate_cells){ i, i + 1, j, j + 1 });
    if (ground.to_j == 0)
        return TW_OK;
    history->ground = tw_both_cells(history->ground, ground);
    return tw_plate_set_thickness_of(history->plate, ground, history->thickness_mm, findings);
}

enum tw_status tw_history_set_left(struct tw_history *history, tw_history_left left_mm, void *context,
                                   struct tw_findings *findings)
{
    return grind_cells(history, tw_all_cells(history), left_mm, context, findings);
}

/* The cells that a stretch touches, and one more on each side: whose middle is where is then no matter of rounding. */
static void cells_along(double from_mm, double to_mm, double start_mm, double cell_mm, size_t count, size_t *from,
                        size_t *to)
{
    *from = (size_t)fmin((double)count, fmax(0.0, floor((from_mm - start_mm) / cell_mm) - 1.0));
    *to = (size_t)fmin((double)count, fmax(0.0, floor((to_mm - start_mm) / cell_mm) + 2.0));
}

enum tw_status tw_history_set_left_in(struct tw_history *history, const struct tw_history_box *box,
                                      tw_history_left left_mm, void *context, struct tw_findings *findings)
{
    const struct tw_plate_grid *grid = &history->grid;
    struct tw_plate_cells cells;

    cells_along(box->x_from_mm, box->x_to_mm, grid->x_mm, grid->cell_mm, grid->nx, &cells.from_i, &cells.to_i);
    cells_along(box->y_from_mm, box->y_to_mm, grid->y_mm, grid->cell_mm, grid->ny, &cells.from_j, &cells.to_j);
    return grind_cells(history, cells, left_mm, context, findings);
}

/* A face over the underside. */
struct over_underside {
    double z_mm, slope_x, underside_slope, start_mm;
};

static double left_under_face(void *context, double x_mm, double y_mm)
{
    const struct over_underside *over = context;

    (void)y_mm;
    return over->z_mm + over->slope_x * x_mm - fmax(0.0, x_mm - over->start_mm) * over->underside_slope;
}

enum tw_status tw_history_set_face(struct tw_history *history, double z_mm, double slope_x,
                                   struct tw_findings *findings)
{
    struct over_underside over = { z_mm, slope_x, history->underside_slope, history->start_mm };

    return tw_history_set_left(history, left_under_face, &over, findings);
}
