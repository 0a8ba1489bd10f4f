/* thickness.c - how much hotter the moving band gets on a plate than on a half-space.
 *
 * The rise under a steadily moving source is a sum over the age s of the heat already laid down: how it has
 * spread along the face (error functions of the band's ends) times how it has spread through the thickness.
 * Half-space and plate differ only in the second factor, and only once heat has reached the back:
 *     half-space  1/sqrt(pi s)
 *     plate       2/H sum of exp(-l_n^2 s / H^2) / (1 + sin(2 l_n)/(2 l_n)),   l_n tan(l_n) = h H / k
 * So the plate's rise is the closed form of the half-space plus an integral of the difference over the ages
 * above H^2/40, which needs no more than a dozen of the eigenfunctions (H. S. Carslaw, J. C. Jaeger,
 * Conduction of Heat in Solids, 2nd ed., 1959, 3.11 and 14.1).
 *
 * Units: lengths in 2 * diffusivity / speed and ages in (2 / speed)^2 * diffusivity, as in band.c. */
#include "tangwright/heat.h"

#include "heat/gauss.h"
#include "heat/numbers.h"

#include <math.h>

#define MODES          13
#define YOUNGEST       0.025 /* in H^2: a difference below exp(-40); the last mode has faded to exp(-35) */
#define PANELS         128
#define NODES          (PANELS * 2 * GAUSS_PAIRS)
#define LARGEST_PECLET 1000.0
#define GOLDEN         0.38196601125010515180 /* 1 less the golden ratio's inverse */
#define FADED          42.0                   /* exp(-this) is nothing beside a sum that is found to 1e-6 */
#define PANEL_GROWTH   1.2                    /* of each panel over its beginning, and at most this */
#define PANEL_MOST     2.0

/* Differences between plate and half-space at the nodes of the integral over the age. */
struct difference {
    int count;
    double root_age[NODES];
    double weight[NODES];
};

static double eigenvalue(int n, double biot)
{
    double low = n * PI, high = low + 0.5 * PI, x = 0.5 * (low + high);

    for (int i = 0; i < 100; i++) {
        double f = x * sin(x) - biot * cos(x), next;

        if (n % 2)
            f = -f; /* rising on every branch */
        *(f > 0.0 ? &high : &low) = x;
        next = x - f / ((n % 2 ? -1.0 : 1.0) * (sin(x) * (1.0 + biot) + x * cos(x)));
        if (!(next >= low && next <= high))
            next = 0.5 * (low + high);
        if (fabs(next - x) <= 1e-15 * x)
            return next;
        x = next;
    }
    return x;
}

struct modes {
    double eigenvalue[MODES];
    double weight[MODES];
};

static void fill_modes(struct modes *modes, double biot)
{
    for (int n = 0; n < MODES; n++) {
        double x = eigenvalue(n, biot);

        modes->eigenvalue[n] = x;
        modes->weight[n] = 2.0 / (1.0 + (x > 0.0 ? sin(2.0 * x) / (2.0 * x) : 1.0));
    }
}

static double plate_less_half_space(const struct modes *modes, double age, double thickness)
{
    double sum = 0.0, decay = age / (thickness * thickness);

    for (int n = 0; n < MODES; n++) {
        double faded = modes->eigenvalue[n] * modes->eigenvalue[n] * decay;

        if (faded > FADED)
            break; /* and the later ones even more */
        sum += modes->weight[n] * exp(-faded);
    }
    return sum / thickness - 1.0 / sqrt(PI * age);
}

static void add_panel(struct difference *d, const struct modes *modes, double thickness, double from, double to)
{
    for (int i = 0; i < 2 * GAUSS_PAIRS; i++) {
        double sign = i % 2 ? 1.0 : -1.0;
        double root = 0.5 * (from + to) + 0.5 * (to - from) * sign * gauss_place[i / 2];
        double weight = 0.5 * (to - from) * gauss_weight[i / 2];

        d->root_age[d->count] = root;
        /* ds = 2 u du with u = sqrt(s) */
        d->weight[d->count++] = weight * 2.0 * root * plate_less_half_space(modes, root * root, thickness);
    }
}

/* Panels in the root of the age: there the ends of the band pass within one unit, whatever the speed. */
static void fill_difference(struct difference *d, double peclet, double thickness, double biot)
{
    double root = sqrt(YOUNGEST) * thickness, last = 3.0 + sqrt(9.0 + peclet);
    struct modes modes;

    d->count = 0;
    fill_modes(&modes, biot);
    for (int panel = 0; panel < PANELS && root < last; panel++) {
        double next = fmin(root + fmin(PANEL_GROWTH * root, PANEL_MOST), last);

        add_panel(d, &modes, thickness, root, next);
        root = next;
    }
}

/* erfc() where it still differs from its limits in the last digits of a sum; beyond, underflow only costs time. */
static double erfc_within(double x)
{
    return x > 6.0 ? 0.0 : x < -6.0 ? 2.0 : erfc(x);
}

/* Rise at x on the plate, on the scale of tw_band_rise_at(). */
static double plate_rise_at(const struct difference *d, double x, double peclet)
{
    double sum = 0.0;

    for (int i = 0; i < d->count; i++) {
        double u = d->root_age[i];

        sum += d->weight[i] * (erfc_within(u + (x - peclet) / (2.0 * u)) - erfc_within(u + (x + peclet) / (2.0 * u)));
    }
    return tw_band_rise_at(x, peclet) + 0.5 * PI * sum;
}

/* Three places with their rises, the highest in the middle. */
struct summit {
    double x[3], rise[3];
};

/* Where a parabola through the three has its top, but not so near to the middle one that it would bring nothing; the golden
 * section of the longer side where it has none between the outer ones. */
static double next_place(const struct summit *s, double close)
{
    double a = s->x[0] - s->x[1], b = s->x[2] - s->x[1], longer = b > -a ? b : a;
    double to_a = (s->rise[0] - s->rise[1]) / a, to_b = (s->rise[2] - s->rise[1]) / b;
    double bend = (to_b - to_a) / (b - a), top = bend < 0.0 ? 0.5 * (a - to_a / bend) : HUGE_VAL;

    if (!(top > a + close && top < b - close))
        return s->x[1] + GOLDEN * longer;
    if (fabs(top) < close)
        return s->x[1] + (longer > 0.0 ? close : -close);
    return s->x[1] + top;
}

static void narrow(struct summit *s, double x, double rise)
{
    int side = x < s->x[1] ? 0 : 2, other = 2 - side;

    if (rise > s->rise[1]) {
        s->x[other] = s->x[1];
        s->rise[other] = s->rise[1];
        s->x[1] = x;
        s->rise[1] = rise;
    } else {
        s->x[side] = x;
        s->rise[side] = rise;
    }
}

/* The rise has one maximum under the band, not far from the half-space's: parabolas through three places close in on it.
 * About a maximum a value depends little on the place, so that this close is near enough. */
#define PLACE_CLOSE 5e-4
#define PLACES_MOST 60
static double plate_peak(const struct difference *d, double peclet, double place)
{
    double close = PLACE_CLOSE * fmin(peclet, 20.0);
    struct summit s = { .x = { -peclet, fmin(fmax(place, -0.999), 0.5) * peclet, peclet } };

    for (int i = 0; i < 3; i++)
        s.rise[i] = plate_rise_at(d, s.x[i], peclet);
    for (int i = 0; i < PLACES_MOST && s.x[2] - s.x[0] > 4.0 * close; i++) {
        double x = next_place(&s, close);

        narrow(&s, x, plate_rise_at(d, x, peclet));
    }
    return s.rise[1];
}

static bool is_positive(double value)
{
    return value > 0.0 && isfinite(value);
}

double tw_plate_factor(double contact_mm, double table_mm_per_s, double thickness_mm,
                       double back_conductance_W_per_mm2_K, const struct tw_steel *steel)
{
    double diffusivity = tw_diffusivity_mm2_per_s(steel);
    double peclet = table_mm_per_s * contact_mm / (4.0 * diffusivity);
    double thickness = table_mm_per_s * thickness_mm / (2.0 * diffusivity);
    double biot = back_conductance_W_per_mm2_K * thickness_mm / steel->conductivity_W_per_mm_K;
    struct difference difference;
    struct tw_band_peak half_space;

    if (!is_positive(peclet) || !is_positive(thickness) || !(biot >= 0.0) || !isfinite(biot))
        return NOT_A_NUMBER;
    if (peclet > LARGEST_PECLET) {
        /* So fast that heat runs only inwards: the depth it reaches under the band is all that counts. */
        thickness *= sqrt(LARGEST_PECLET / peclet);
        peclet = LARGEST_PECLET;
    }
    fill_difference(&difference, peclet, thickness, biot);
    if (difference.count == 0)
        return 1.0;
    half_space = tw_band_peak(peclet);
    return plate_peak(&difference, peclet, half_space.place) / half_space.integral;
}
