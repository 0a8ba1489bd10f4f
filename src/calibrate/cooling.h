/* cooling.h - a warmed strip that cools: how fast, and which conductances let it.
 *
 * Model   The excess over the coolant falls as exp(-rate t) once the strip has its own profile through the thickness, and the
 *         rate is that of the first term of a plate's cooling: rate = a z^2 / L^2 with z tan z = Bi for a plate cooled alike on
 *         both sides (L half of it), and tan z = z (B1 + B2)/(z^2 - B1 B2) for two sides that differ (L all of it). For small Bi
 *         that is the lumped capacitance, density * specific heat * L * rate = conductance.
 * Source  Incropera and others, Fundamentals of Heat and Mass Transfer, lumped capacitance and plane wall; Carslaw and Jaeger,
 *         Conduction of Heat in Solids (1959), section 3.11, slab with radiation at both sides; both from memory.
 * Units   mm, s, K, W. */
#ifndef TANGWRIGHT_CALIBRATE_COOLING_H
#define TANGWRIGHT_CALIBRATE_COOLING_H

#include "tangwright/bench.h"

/* Readings of one strip, in the order of the file. Where the time does not rise it was warmed again. */
struct cooling {
    const struct tw_bench_reading *const *items;
    size_t count;
    double coolant_degC; /* where a reading does not say */
};

struct cooling_rate {
    double per_s, relative; /* standard uncertainty in parts */
    double scatter;
};

/* Whether reading i is the first after a warming. */
bool cooling_begins(const struct cooling *cooling, size_t i);

size_t cooling_runs(const struct cooling *cooling);

/* Of reading i over the coolant. */
double cooling_excess_K(const struct cooling *cooling, size_t i);

/* Least squares of the temperatures: one rate, a start excess for each warming, and the coolant's temperature as uncertain as a
 * reading. false when the readings do not tell a rate. */
bool cooling_fit(const struct cooling *cooling, struct cooling_rate *out);

/* Conductance of each face of a strip that hangs free; infinite where no plate of this steel could cool so fast. */
double cooling_hanging_W_per_mm2_K(double rate_per_s, double thickness_mm, const struct tw_steel *steel);

/* Of its lower face when it lies on the fixture, `surface` being that of the upper. */
double cooling_seated_W_per_mm2_K(double rate_per_s, double thickness_mm, double surface_W_per_mm2_K,
                                  const struct tw_steel *steel);

/* Biot's number of a plate: mean conductance of both faces * half the thickness / conductivity. */
double cooling_biot(double upper_W_per_mm2_K, double lower_W_per_mm2_K, double thickness_mm,
                    const struct tw_steel *steel);

#endif
