/* passing.c - distances between bodies that pass each other. */
#include "witness/passing.h"

#include <math.h>

/* Golden sections of a stretch: 40 leave 1e-8 of it. */
#define SECTIONS 40

/* A cylinder about the programmed point: standing on `from` over it, without an upper end; or lying across with its axis `axis`
 * over it, from `from` to `to` across. */
struct body {
    bool lies;
    double radius_mm, axis_mm, from_mm, to_mm;
};

/* Wheel and nose; the number of them. */
static int bodies_of(const struct tw_job *job, struct body out[2])
{
    const struct tw_wheel *wheel = &job->wheel;
    double radius_mm = wheel->diameter_mm / 2.0, nose_mm = job->machine.spindle_nose_diameter_mm / 2.0;
    int count = 0;

    if (wheel->kind == TW_WHEEL_DISC) {
        out[count++] = (struct body){ true, radius_mm, radius_mm, -wheel->width_mm / 2.0, wheel->width_mm / 2.0 };
        if (nose_mm > 0.0)
            out[count++] = (struct body){ true, nose_mm, radius_mm, wheel->width_mm / 2.0, HUGE_VAL };
        return count;
    }
    out[count++] = (struct body){ .radius_mm = radius_mm };
    if (nose_mm > 0.0 && job->machine.wheel_overhang_mm > 0.0) /* 0: the profile does not say how far it is away */
        out[count++] = (struct body){ .radius_mm = nose_mm, .from_mm = job->machine.wheel_overhang_mm };
    return count;
}

/* One body on its way along one keep-out. */
struct passing {
    const struct body *body;
    const double *from_mm, *to_mm;
    double top_mm;
    struct tw_point a, b; /* the edge in hand */
};

static void place(const struct passing *passing, double way, double out_mm[3])
{
    for (int k = 0; k < 3; k++)
        out_mm[k] = passing->from_mm[k] + way * (passing->to_mm[k] - passing->from_mm[k]);
}

/* From the body at a place to all that stands at one point of the plan. */
static double to_column_mm(const struct passing *passing, const double at_mm[3], struct tw_point p)
{
    const struct body *body = passing->body;
    double dx = p.x_mm - at_mm[0], dy = p.y_mm - at_mm[1], over_mm, beside_mm;

    if (!body->lies) {
        over_mm = at_mm[2] + body->from_mm - passing->top_mm;
        return hypot(fmax(0.0, hypot(dx, dy) - body->radius_mm), fmax(0.0, over_mm));
    }
    over_mm = fmax(0.0, at_mm[2] + body->axis_mm - passing->top_mm);
    beside_mm = fmax(0.0, fmax(body->from_mm - dy, dy - body->to_mm));
    return hypot(beside_mm, fmax(0.0, hypot(dx, over_mm) - body->radius_mm));
}

static double on_edge_mm(const struct passing *passing, const double at_mm[3], double along)
{
    struct tw_point p = { passing->a.x_mm + along * (passing->b.x_mm - passing->a.x_mm),
                          passing->a.y_mm + along * (passing->b.y_mm - passing->a.y_mm) };

    return to_column_mm(passing, at_mm, p);
}

/* Lowest of a function with one lowest place on 0..1; *lowest: where. */
static double lowest_of(const struct passing *passing, const double at_mm[3], double *lowest,
                        double (*f)(const struct passing *passing, const double at_mm[3], double t))
{
    const double golden = (sqrt(5.0) - 1.0) / 2.0;
    double low = 0.0, high = 1.0, a = 1.0 - golden, b = golden, fa = f(passing, at_mm, a), fb = f(passing, at_mm, b);
    double end[2] = { f(passing, at_mm, 0.0), f(passing, at_mm, 1.0) };

    for (int i = 0; i < SECTIONS; i++) {
        if (fa <= fb) {
            high = b;
            b = a;
            fb = fa;
            a = high - golden * (high - low);
            fa = f(passing, at_mm, a);
        } else {
            low = a;
            a = b;
            fa = fb;
            b = low + golden * (high - low);
            fb = f(passing, at_mm, b);
        }
    }
    *lowest = fa <= fb ? a : b;
    fa = fmin(fa, fb);
    for (int i = 0; i < 2; i++)
        if (end[i] <= fa) {
            fa = end[i];
            *lowest = i;
        }
    return fa;
}

/* Upright, a circle's distance goes by the point of the edge that is nearest to its middle. */
static double to_edge_mm(const struct passing *passing, const double at_mm[3])
{
    double dx = passing->b.x_mm - passing->a.x_mm, dy = passing->b.y_mm - passing->a.y_mm, along;
    double length2 = dx * dx + dy * dy;

    if (passing->body->lies)
        return lowest_of(passing, at_mm, &along, on_edge_mm);
    along = length2 > 0.0 ? ((at_mm[0] - passing->a.x_mm) * dx + (at_mm[1] - passing->a.y_mm) * dy) / length2 : 0.0;
    return on_edge_mm(passing, at_mm, fmin(1.0, fmax(0.0, along)));
}

static double on_way_mm(const struct passing *passing, const double *unused, double way)
{
    double at_mm[3];

    (void)unused;
    place(passing, way, at_mm);
    return to_edge_mm(passing, at_mm);
}

static bool is_inside(const struct tw_ring *ring, struct tw_point p)
{
    bool inside = false;

    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point a = ring->points[i], b = ring->points[(i + 1) % ring->count];

        if ((a.y_mm > p.y_mm) != (b.y_mm > p.y_mm) &&
            p.x_mm < a.x_mm + (p.y_mm - a.y_mm) * (b.x_mm - a.x_mm) / (b.y_mm - a.y_mm))
            inside = !inside;
    }
    return inside;
}

/* At one end of the way: with the plan all under the body no edge tells how near its top is. */
static double over_plan_mm(const struct passing *passing, const struct tw_ring *plan, const double at_mm[3])
{
    struct tw_point middle = { at_mm[0], at_mm[1] + (passing->body->lies ? fmax(0.0, passing->body->from_mm) : 0.0) };

    return is_inside(plan, middle) ? to_column_mm(passing, at_mm, middle) : HUGE_VAL;
}

/* By boxes: certainly no nearer than that. */
static bool is_far(const struct passing *passing, const struct tw_ring *plan, double enough_mm)
{
    const struct body *body = passing->body;
    const double *from = passing->from_mm, *to = passing->to_mm;
    double low_over_mm = fmin(from[2], to[2]) + (body->lies ? body->axis_mm - body->radius_mm : body->from_mm);
    double beside[2] = { body->lies ? body->from_mm : -body->radius_mm, body->lies ? body->to_mm : body->radius_mm };
    struct tw_point low = { HUGE_VAL, HUGE_VAL }, high = { -HUGE_VAL, -HUGE_VAL };

    for (size_t i = 0; i < plan->count; i++) {
        low = (struct tw_point){ fmin(low.x_mm, plan->points[i].x_mm), fmin(low.y_mm, plan->points[i].y_mm) };
        high = (struct tw_point){ fmax(high.x_mm, plan->points[i].x_mm), fmax(high.y_mm, plan->points[i].y_mm) };
    }
    return low_over_mm - passing->top_mm >= enough_mm ||
           fmin(from[0], to[0]) - body->radius_mm - high.x_mm >= enough_mm ||
           low.x_mm - fmax(from[0], to[0]) - body->radius_mm >= enough_mm ||
           fmin(from[1], to[1]) + beside[0] - high.y_mm >= enough_mm ||
           low.y_mm - fmax(from[1], to[1]) - beside[1] >= enough_mm;
}

static void keep_least(double distance_mm, double at, double *least_mm, double *way)
{
    if (distance_mm < *least_mm) {
        *least_mm = distance_mm;
        *way = at;
    }
}

double tw_witness_passing_mm(const struct tw_job *job, const struct tw_keep_out *keep_out, const double from_mm[3],
                             const double to_mm[3], double enough_mm, double *way)
{
    const struct tw_ring *plan = &keep_out->plan;
    struct body bodies[2];
    int count = bodies_of(job, bodies);
    double least_mm = enough_mm;

    *way = 0.0;
    for (int i = 0; i < count; i++) {
        struct passing passing = { .body = &bodies[i], .from_mm = from_mm, .to_mm = to_mm, .top_mm = keep_out->top_mm };

        if (is_far(&passing, plan, least_mm))
            continue;
        keep_least(over_plan_mm(&passing, plan, from_mm), 0.0, &least_mm, way);
        keep_least(over_plan_mm(&passing, plan, to_mm), 1.0, &least_mm, way);
        for (size_t k = 0; k < plan->count; k++) {
            double at, distance_mm;

            passing.a = plan->points[k];
            passing.b = plan->points[(k + 1) % plan->count];
            distance_mm = lowest_of(&passing, NULL, &at, on_way_mm);
            keep_least(distance_mm, at, &least_mm, way);
        }
    }
    return least_mm;
}
