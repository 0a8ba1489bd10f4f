/* test_motion.c - guards the cycle time: each case has a closed form of uniform acceleration. */
#include "tangwright/motion.h"

#include "check/check.h"
#include <math.h>

static struct tw_machine machine(void)
{
    struct tw_axis along = { 'X', 1, -500.0, 500.0, 100.0, 200.0 };
    struct tw_axis across = { 'Y', 1, -500.0, 500.0, 50.0, 100.0 };
    struct tw_axis up = { 'Z', 1, -500.0, 500.0, 20.0, 50.0 };

    return (struct tw_machine){ .along = along, .across = across, .up = up };
}

/* d/v + v/a: 100 mm at 10 mm/s and 200 mm/s2 is 10 s + 0.05 s. Uniform acceleration, any textbook of mechanics. */
Test(motion, long_move_takes_distance_over_speed_plus_speed_over_acceleration)
{
    cr_expect(epsilon_eq(dbl, tw_motion_time_s(100.0, 10.0, 200.0), 10.05, 1e-12));
}

/* 2 sqrt(d/a): 0.5 mm at 200 mm/s2 is 0.1 s; the speed reached is sqrt(a d) = 10 mm/s, below the 100 asked for. */
Test(motion, short_move_never_reaches_its_speed)
{
    cr_expect(epsilon_eq(dbl, tw_motion_time_s(0.5, 100.0, 200.0), 0.1, 1e-12));
    cr_expect(epsilon_eq(dbl, tw_motion_time_s(0.0, 100.0, 200.0), 0.0, 1e-12));
}

/* Two axes: 30 along and 40 across are 50 mm. Across may do 50 mm/s and 100 mm/s2 with 0.8 of the path: 62.5 mm/s and
 * 125 mm/s2; along allows 100/0.6 and 200/0.6. Reached after 15.625 mm, so 50/62.5 + 62.5/125 = 1.3 s. */
Test(motion, slanting_rapid_goes_at_the_pace_of_the_slower_axis)
{
    struct tw_machine m = machine();

    cr_expect(epsilon_eq(dbl, tw_motion_rapid_time_s(&m, (double[3]){ 30.0, 40.0, 0.0 }), 1.3, 1e-12));
}

static void times(const struct tw_motion_leg *legs, size_t count, bool blended, double *out)
{
    struct tw_machine m = machine();

    cr_assert(eq(int, tw_motion_times(&m, legs, count, blended, out, NULL), TW_OK));
}

/* One line said in two pieces takes as long as said in one: 10.05 s. */
Test(motion, straight_on_is_one_move)
{
    struct tw_motion_leg legs[3] = { { { 30.0, 0, 0 }, 10.0, false },
                                     { { 0, 0, 0 }, 10.0, false },
                                     { { 70.0, 0, 0 }, 10.0, false } };
    double t[3];

    times(legs, 3, false, t);
    cr_expect(epsilon_eq(dbl, t[0] + t[1] + t[2], 10.05, 1e-12));
    cr_expect(epsilon_eq(dbl, t[0], 3.025, 1e-12)); /* only its own ramp */
}

/* A reversal is two moves from rest to rest: 2 * (5 + 0.05) s, blended or not. */
Test(motion, reversal_comes_to_rest)
{
    struct tw_motion_leg legs[2] = { { { 50.0, 0, 0 }, 10.0, false }, { { -50.0, 0, 0 }, 10.0, false } };
    double t[2];

    times(legs, 2, false, t);
    cr_expect(epsilon_eq(dbl, t[0] + t[1], 10.1, 1e-12));
    times(legs, 2, true, t);
    cr_expect(epsilon_eq(dbl, t[0] + t[1], 10.1, 1e-12));
}

/* A turn of 60 degrees keeps half the speed when blended. Along then across-and-along with the accelerations of the
 * single axes: leg 1 along: 200 mm/s2; leg 2 (cos 60, sin 60): across allows 100/sin 60 = 115.470 mm/s2.
 * t1 = v/a1 + (50 - v^2/2a1 - (v^2 - v^2/4)/2a1)/v + (v/2)/a1 with v = 10: 0.05 + (50 - 0.25 - 0.1875)/10 + 0.025
 *    = 5.03125 s; t2 = (v/2)/a2 + (50 - 0.75 v^2/2a2 - v^2/2a2)/v + v/a2 = 0.0433013 + 4.9242228 + 0.0866025 = 5.0541266. */
Test(motion, blended_corner_keeps_the_cosine_of_its_speed)
{
    double third = acos(-1.0) / 3.0;
    struct tw_motion_leg legs[2] = { { { 50.0, 0, 0 }, 10.0, false },
                                     { { 50.0 * cos(third), 50.0 * sin(third), 0 }, 10.0, false } };
    double t[2];

    times(legs, 2, true, t);
    cr_expect(epsilon_eq(dbl, t[0], 5.03125, 1e-9));
    cr_expect(epsilon_eq(dbl, t[1], 5.0541266, 1e-6));
    times(legs, 2, false, t);
    cr_expect(epsilon_eq(dbl, t[0], 5.05, 1e-12));
}

/* Before a stop the machine brakes over several short pieces: the whole is one ramp, v/a + d/v. */
Test(motion, braking_reaches_back_over_short_pieces)
{
    struct tw_motion_leg legs[101];
    double t[101], sum = 0.0;

    for (int i = 0; i < 101; i++)
        legs[i] = (struct tw_motion_leg){ { i < 100 ? 0.1 : 90.0, 0, 0 }, 60.0, false };
    times(legs, 101, false, t);
    for (int i = 0; i < 101; i++)
        sum += t[i];
    cr_expect(epsilon_eq(dbl, sum, 100.0 / 60.0 + 60.0 / 200.0, 1e-9));
}
