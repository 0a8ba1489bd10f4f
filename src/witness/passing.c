/* passing.c - distances between bodies that pass each other. */
#include "witness/passing.h"

#include <math.h>

/* Golden sections of a stretch: 32 leave 2e-7 of it. */
#define SECTIONS 32
/* A way is halved no more often while it is shown to be far enough. */
#define HALVINGS 8

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
    const struct tw_ring *plan;
    struct tw_point low, high; /* the plan's corners */
    double top_mm;
    struct tw_point a, b; /* the edge in hand */
};

/* hypot() without its care for numbers that no machine can go to. */
static double length_mm(double a, double b)
{
    return sqrt(a * a + b * b);
}

static double larger(double a, double b)
{
    return a > b ? a : b;
}

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
        return length_mm(larger(0.0, length_mm(dx, dy) - body->radius_mm), larger(0.0, over_mm));
    }
    over_mm = larger(0.0, at_mm[2] + body->axis_mm - passing->top_mm);
    beside_mm = larger(0.0, larger(body->from_mm - dy, dy - body->to_mm));
    return length_mm(beside_mm, larger(0.0, length_mm(dx, over_mm) - body->radius_mm));
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

/* To the nearest place of the plan, which is on its edge or right under the body. */
static double to_plan_mm(struct passing *passing, const double at_mm[3])
{
    const struct tw_ring *plan = passing->plan;
    double least_mm = over_plan_mm(passing, plan, at_mm);

    for (size_t i = 0; i < plan->count; i++) {
        double distance_mm;

        passing->a = plan->points[i];
        passing->b = plan->points[i + 1 < plan->count ? i + 1 : 0];
        distance_mm = to_edge_mm(passing, at_mm);
        least_mm = distance_mm < least_mm ? distance_mm : least_mm;
    }
    return least_mm;
}

/* To the plan's box: no more than to the plan itself. */
static double to_box_mm(const struct passing *passing, const double at_mm[3])
{
    const struct tw_point *low = &passing->low, *high = &passing->high;
    double from_mm = passing->body->lies ? passing->body->from_mm : 0.0,
           to_mm = passing->body->lies ? passing->body->to_mm : 0.0;
    double y_mm = at_mm[1] + from_mm > high->y_mm ? high->y_mm
                  : at_mm[1] + to_mm < low->y_mm  ? low->y_mm
                                                  : at_mm[1] + larger(0.0, from_mm);

    return to_column_mm(passing, at_mm, (struct tw_point){ fmin(high->x_mm, larger(low->x_mm, at_mm[0])), y_mm });
}

/* Whether the body stays `enough_mm` away between two parts of its way, `length` long: no body comes nearer by more than it
 * moves. False: it does not, or that is too close to say so. */
static bool stays_away(struct passing *passing, double from, double to, double way_mm, double enough_mm, int halvings)
{
    double middle = (from + to) / 2.0, half_mm = (to - from) / 2.0 * way_mm, at_mm[3], distance_mm;

    place(passing, middle, at_mm);
    if (to_box_mm(passing, at_mm) - half_mm >= enough_mm)
        return true;
    distance_mm = to_plan_mm(passing, at_mm);
    if (distance_mm - half_mm >= enough_mm || distance_mm < enough_mm || halvings == 0)
        return distance_mm - half_mm >= enough_mm;
    return stays_away(passing, from, middle, way_mm, enough_mm, halvings - 1) &&
           stays_away(passing, middle, to, way_mm, enough_mm, halvings - 1);
}

static void set_box(struct passing *passing)
{
    const struct tw_ring *plan = passing->plan;

    passing->low = passing->high = plan->points[0];
    for (size_t i = 1; i < plan->count; i++) {
        struct tw_point p = plan->points[i];

        passing->low.x_mm = p.x_mm < passing->low.x_mm ? p.x_mm : passing->low.x_mm;
        passing->low.y_mm = p.y_mm < passing->low.y_mm ? p.y_mm : passing->low.y_mm;
        passing->high.x_mm = larger(passing->high.x_mm, p.x_mm);
        passing->high.y_mm = larger(passing->high.y_mm, p.y_mm);
    }
}

static bool is_far(struct passing *passing, double enough_mm)
{
    const struct body *body = passing->body;
    const double *from = passing->from_mm, *to = passing->to_mm;
    double low_over_mm = fmin(from[2], to[2]) + (body->lies ? body->axis_mm - body->radius_mm : body->from_mm);
    double way_mm = length_mm(length_mm(to[0] - from[0], to[1] - from[1]), to[2] - from[2]);

    return low_over_mm - passing->top_mm >= enough_mm || stays_away(passing, 0.0, 1.0, way_mm, enough_mm, HALVINGS);
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
        struct passing passing = {
            .body = &bodies[i], .from_mm = from_mm, .to_mm = to_mm, .plan = plan, .top_mm = keep_out->top_mm
        };

        set_box(&passing);
        if (is_far(&passing, least_mm))
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
