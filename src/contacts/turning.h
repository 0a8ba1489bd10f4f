/* turning.h - the push across a part that turns it out of what friction holds.
 *
 * Model   A flat part slides on what carries it; each place resists with friction times what presses there, against the way it
 *         moves. Of all rigid motions, each with a push that does as much work as friction takes, the one whose push is least is
 *         the one that happens: the upper-bound theorem of limit analysis (D. C. Drucker, W. Prager, H. J. Greenberg,
 *         Quarterly of Applied Mathematics 9, 1952); for friction in the plane S. Goyal, A. Ruina, J. Papadopoulos, "Planar
 *         sliding with dry friction", Wear 143, 1991 (both from memory). Motions here are turnings about any centre, with
 *         sliding across as the centre that is infinitely far away.
 * Wheel   Where the wheel pushes with F it presses as well, with at least force_ratio_least F, and friction below it resists.
 * Units   mm, N. Nothing here allocates. */
#ifndef TANGWRIGHT_CONTACTS_TURNING_H
#define TANGWRIGHT_CONTACTS_TURNING_H

#define TW_PRESSING_BINS 256

/* What presses, gathered in slices along x; each stands for a strip across with the same middle and the same spread. */
struct tw_pressing {
    double from_mm, step_mm;
    struct tw_pressing_bin {
        double force_N, x_Nmm, y_Nmm, yy_Nmm2; /* sums of force, and of force times x, y, y^2 */
    } bins[TW_PRESSING_BINS];
};

struct tw_pressing tw_pressing_over(double from_mm, double to_mm);

/* `force_N` evenly over the strip from low to high y; what lies beyond either end goes to the last slice there, in its own place. */
void tw_press(struct tw_pressing *pressing, double x_mm, double low_y_mm, double high_y_mm, double force_N);

struct tw_wheel_push {
    double x_mm;     /* where the wheel pushes, on the axis */
    double below_mm; /* x at which what it presses on is carried: the same, or where a tang that hangs free begins to */
    double friction;
    double ratio; /* of its pressing to its pushing */
};

/* The least push across that moves the part; *about_mm: x of the centre of that turning, HUGE_VAL where it slides. Where the
 * wheel's own pressing outweighs every push, HUGE_VAL. */
double tw_turning_N(const struct tw_pressing *pressing, const struct tw_wheel_push *push, double *about_mm);

#endif
