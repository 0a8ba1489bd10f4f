/* spring.h - how far machine and wheel give way under a cut, and what passes without infeed take of that afterwards.
 *
 * Model   Wheel and part give way to each other by force over stiffness k_e. The cut is a spring too: its normal force F_n
 *         at the depth a stands for k_c = F_n/a. Of what the wheel is too high before a pass, the pass takes the share
 *         K = k_e/(k_e + k_c), and (1 - K) is left; with the same infeed pass after pass the wheel stays
 *         F_n/k_e behind.
 * Limits  k_c is the secant at the depth of the last layers: the force falls less than in proportion to the depth, so the
 *         last micrometres take a little longer than this says.
 * Source  closed form, by hand from the balance of the two forces; stiffness in shops: docs/error-budget.md.
 * Units   mm, N, N/mm. Nothing here allocates or fails. */
#ifndef TANGWRIGHT_SPRING_H
#define TANGWRIGHT_SPRING_H

struct tw_spring {
    double lag_mm; /* behind at a steady infeed */
    double share;  /* K: of what is too high before a pass, what the pass takes; 0..1 */
};

/* normal_N > 0, depth_mm > 0, stiffness_N_per_mm > 0. */
struct tw_spring tw_spring_of(double normal_N, double depth_mm, double stiffness_N_per_mm);

/* A stiffness, and behind it what bends by so much under 1 N. */
double tw_spring_in_series(double stiffness_N_per_mm, double bends_mm_per_N);

/* How far the wheel is behind after a pass that is fed in by depth_mm (0: spark-out) and found it before_mm behind. */
double tw_spring_after_mm(const struct tw_spring *spring, double before_mm, double depth_mm);

/* The same after so many passes without infeed. */
double tw_spring_left_mm(const struct tw_spring *spring, double before_mm, int passes);

/* The fewest passes without infeed after which no more than allowed_mm (> 0) is left; never more than `most`. */
int tw_spring_passes(const struct tw_spring *spring, double before_mm, double allowed_mm, int most);

#endif
