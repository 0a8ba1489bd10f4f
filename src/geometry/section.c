/* section.c - see section.h. */
#include "geometry/section.h"

#include <math.h>

/* Whether the edge from a to b crosses x, each corner belonging to one of its edges; y of the crossing. */
static bool crossing(struct tw_point a, struct tw_point b, double x_mm, double *y_mm)
{
    if ((a.x_mm <= x_mm) == (b.x_mm <= x_mm))
        return false;
    *y_mm = a.y_mm + (b.y_mm - a.y_mm) * (x_mm - a.x_mm) / (b.x_mm - a.x_mm);
    return true;
}

static double ring_mm(const struct tw_ring *ring, double x_mm, double low_y_mm, double high_y_mm)
{
    double sum_mm = 0.0;

    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point a = ring->points[i], b = ring->points[(i + 1) % ring->count];
        double y_mm;

        if (crossing(a, b, x_mm, &y_mm))
            sum_mm += (b.x_mm > a.x_mm ? -1.0 : 1.0) * fmin(fmax(y_mm, low_y_mm), high_y_mm);
    }
    return fabs(sum_mm);
}

double tw_section_mm(const struct tw_outline *outline, double x_mm, double low_y_mm, double high_y_mm)
{
    double length_mm = ring_mm(&outline->outer, x_mm, low_y_mm, high_y_mm);

    for (size_t i = 0; i < outline->hole_count; i++)
        length_mm -= ring_mm(&outline->holes[i], x_mm, low_y_mm, high_y_mm);
    return fmax(0.0, length_mm);
}

bool tw_section_range(const struct tw_ring *ring, double x_mm, double *low_y_mm, double *high_y_mm)
{
    bool found = false;

    for (size_t i = 0; i < ring->count; i++) {
        double y_mm;

        if (!crossing(ring->points[i], ring->points[(i + 1) % ring->count], x_mm, &y_mm))
            continue;
        *low_y_mm = found ? fmin(*low_y_mm, y_mm) : y_mm;
        *high_y_mm = found ? fmax(*high_y_mm, y_mm) : y_mm;
        found = true;
    }
    return found;
}
