/* heat.h - how much hotter the steel gets under the wheel during one pass (the flash).
 *
 * Model   The contact is a band of uniform heat flux that moves over the flat face of a half-space at the
 *         table speed, steady in its own frame; its hottest point counts. What part of the grinding power
 *         enters the steel follows from the grains' and the steel's thermal properties, less what chips and
 *         coolant carry away. The chain of equations, the sources of the parameters and how far each may be
 *         off stand in docs/heat-model.md. Uncalibrated, a flash is good to a factor of 2.
 * Limits  The flash is the rise above what earlier passes have left in the tang; that bulk is the caller's.
 *         Where the plate is thin or the wheel runs off an edge multiply by tw_plate_factor() and
 *         tw_exit_edge_factor().
 * Units   mm, s, W, J, N, K, g; a power or force "per_mm" is per millimetre of engaged width.
 *         Peclet number: table speed * contact length / (4 * diffusivity), as Jaeger defines it. Other
 *         authors leave out the 4.
 * Memory  nothing here allocates, keeps state or locks; every function may be called from any thread.
 * Errors  TW_BAD_INPUT with one finding, and then *out is left as it was. The functions that return a bare
 *         number return NaN when an argument is outside its range. */
#ifndef TANGWRIGHT_HEAT_H
#define TANGWRIGHT_HEAT_H

#include "tangwright/equipment.h"
#include "tangwright/findings.h"

#include <stdbool.h>

/* ---- The moving band of heat ----
 * J. C. Jaeger, Moving sources of heat and the temperature at sliding contacts, J. Proc. Roy. Soc. NSW 76
 * (1942); H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., Oxford 1959, 10.7 VII. */

/* The hottest point of the band. */
struct tw_band_peak {
    double integral;     /* I: rise = 2 * diffusivity * flux / (pi * conductivity * speed) * I */
    double shape_factor; /* C = I / (pi * sqrt(peclet)): rise = C * flux / effusivity * sqrt(length / speed) */
    double place;        /* where, from -1 (trailing end of the band) to +1 (leading end); always below 0 */
    double mean_to_max;  /* mean rise over the band divided by the largest */
};

/* By the closed form, to about 1e-12. 0 < peclet < infinity; outside of 1e-8..1e8 the limits for slow and
 * fast bands are given. On a bad peclet every member is NaN. Takes a few microseconds. */
struct tw_band_peak tw_band_peak(double peclet);

/* C alone, from a table: within 1e-9 of the closed form and fast enough for the inside of a search. */
double tw_band_shape_factor(double peclet);

/* The dimensionless rise I on the face at distance x from the middle of the band, x > 0 ahead of it, in units
 * of 2 * diffusivity / speed (so the band reaches from -peclet to +peclet). Any finite x, peclet > 0. */
double tw_band_rise_at(double x, double peclet);

/* The same at depth >= 0 below the face, all lengths in units of 2 * diffusivity / speed, by quadrature to
 * 1e-8. */
double tw_band_rise_below(double x, double depth, double peclet);

/* ---- One pass ---- */

/* What the wheel does to the steel at one place. */
struct tw_contact {
    double depth_mm;       /* > 0, real depth of cut of this pass */
    double table_mm_per_s; /* > 0, speed of the wheel's contact along the face */
    double wheel_mm_per_s; /* > 0, surface speed of the wheel */
    double contact_mm;     /* > 0, length of the heated band along the table's motion */
    double engaged_mm;     /* width of the cut, which the coolant's flow is shared over; 0: not known */
};

struct tw_flash {
    double equivalent_chip_mm; /* depth * table speed / wheel speed */
    double specific_energy_J_per_mm3;
    double power_W_per_mm;      /* all the grinding power */
    double tangential_N_per_mm; /* power / wheel speed */
    double flux_W_per_mm2;      /* power / contact length */
    double peclet;
    double shape_factor;   /* C at this Peclet number */
    double work_partition; /* of the heat that wheel and steel share, the part of the steel */
    double share;          /* of all the grinding power, what enters the steel */
    double chip_part;      /* of all the grinding power, what leaves with the chips: no more if the energy rises */
    double rise_K;         /* wet_rise_K, or dry_rise_K when the coolant boils off or there is none */
    double peak_degC;      /* bulk + rise */
    double dry_rise_K;     /* without help from the coolant inside the contact */
    double wet_rise_K;     /* with it; the same as dry_rise_K for a coolant that does not get there */
    double film_rise_K;    /* with it, were there enough of it: wet_rise_K is this, or dry_rise_K less flow_K if more */
    double film_least_rise_K; /* the same where the film takes no more than the lower end of its range says */
    double flow_K; /* what all the heat that the flow can take up is worth; infinite where it is not bounded */
    bool boiled;   /* bulk + wet_rise_K reaches the coolant's boiling temperature */
};

/* The flash of one contact above bulk_degC (finite). `findings` may be NULL. */
enum tw_status tw_flash_estimate(const struct tw_contact *contact, const struct tw_wheel *wheel,
                                 const struct tw_steel *steel, const struct tw_coolant *coolant, double bulk_degC,
                                 struct tw_flash *out, struct tw_findings *findings);

/* Specific grinding energy at an equivalent chip thickness > 0: u_ref * (0.1 um / chip)^n, never below the
 * wheel's floor. Form after R. Snoeys, J. Peters, A. Decneut, CIRP Ann. 23(2), 227, 1974. */
double tw_specific_energy_J_per_mm3(double equivalent_chip_mm, const struct tw_wheel *wheel);

/* The same wheel, if all its grinding took `times` the specific energy, the floor included. */
struct tw_wheel tw_wheel_at_energy(const struct tw_wheel *wheel, double times);

/* Heat transfer to the film of coolant inside a contact: h_f = h_ref sqrt(wheel speed / 30 m/s * 1.4 mm / contact length).
 * That it goes as the root of speed over length is the laminar film over a flat plate, and the coolant that the wheel
 * carries along (T. Jin, D. J. Stephenson, W. B. Rowe, Proc. IMechE B 217, 2003, from memory); docs/heat-model.md. */
double tw_film_conductance_W_per_mm2_K(const struct tw_coolant *coolant, const struct tw_contact *contact);

/* Heat that the flow can take out of the contact: what it takes up at most, of the share that comes there. A mist whose flow
 * is not known takes nothing; a flood's is then not bounded: infinite. */
double tw_flow_W(const struct tw_coolant *coolant);

/* Share of the heat between wheel and steel that enters the steel: the wheel's own where one was measured, or
 * R. S. Hahn's grain sliding on the work, On the nature of the grinding process, Proc. 3rd MTDR Conf., 1962, as
 * used by W. B. Rowe, S. Black, B. Mills, H. Qi, M. Morgan, CIRP Ann. 44(1), 329, 1995. */
double tw_work_partition(const struct tw_wheel *wheel, const struct tw_steel *steel, double wheel_mm_per_s);

/* Heated length of a disc's arc at depth > 0 on a flat face: contact_ratio * sqrt(depth * diameter). */
double tw_disc_contact_mm(double depth_mm, const struct tw_wheel *wheel);

/* Specific energy above which the skin of the steel burns (visible colour, softened or rehardened): S. Malkin, E. Lenz,
 * Burning limit for surface and cylindrical grinding of steels, CIRP Ann. 27(1), 233, 1978, for alumina wheels on a flat
 * face u* = u0 + B D^0.25 a^-0.75 v^-0.5. With l = sqrt(a D) that is u* = u0 + B sqrt(l / v) / a, which needs no wheel's
 * shape and so serves a cup too. It marks burn, far above tempering. Depth, table speed and contact length > 0. */
double tw_burn_energy_J_per_mm3(const struct tw_contact *contact);

/* ---- Where the half-space reads low ---- */

/* Peak at an insulated edge square to the motion, which the band runs off, over the peak in the middle of the
 * face; from 2 (slow) to 1 (fast). The solution with a mirrored source, from a table within 1e-6 of it for
 * 1e-8 <= peclet <= 1e4; above 1 + 1/(2 sqrt(pi peclet)), within 1e-5; below 2, up to 4 % high. */
double tw_exit_edge_factor(double peclet);

/* Peak of a band that moves steadily over a plate of this thickness, whose back loses heat through
 * back_conductance >= 0, over the peak on a half-space. Near 1 for a plate thicker than
 * 1.5 * sqrt(4 * diffusivity * contact / speed). It already holds the part of the bulk rise that the pass in
 * hand makes below itself. Eigenfunctions over the thickness, good to 1e-6; takes some 50 microseconds. */
double tw_plate_factor(double contact_mm, double table_mm_per_s, double thickness_mm,
                       double back_conductance_W_per_mm2_K, const struct tw_steel *steel);

/* A flash where edge and plate make it hotter by `factor` (the product of both), on top of bulk_degC. The film of
 * coolant lasts while the face, all counted, stays below its boiling temperature. */
struct tw_hot_spot {
    double degC;             /* bulk + flash; wet or dry, as it is */
    double wet_degC;         /* with the coolant's help inside the contact; the same as dry_degC where there is none */
    double dry_degC;         /* without */
    double boiling_room_K;   /* from wet_degC up to film boiling, negative past it; infinite where no coolant helps */
    double film_times;       /* times the flash's own specific energy at which the film begins to boil, with a bulk that
                            * rises with it; infinite where no coolant helps */
    double film_least_times; /* the same of the film at the lower end of its range */
    double rise_K;           /* degC - bulk */
    bool boiled;
};

/* Times the wheel's own energy up to which a film is counted on: as it is stated it has to last with `reserve` times that energy,
 * at the lower end of its range with that energy itself. What is told is what misses more, in terms of the first. */
double tw_film_counted_times(double film_times, double film_least_times, double reserve);

struct tw_hot_spot tw_hot_spot(const struct tw_flash *flash, double bulk_degC, double factor,
                               const struct tw_coolant *coolant);

/* Rise of the same face with the wheel's own energy and a film at the lower end of its range, where the flash is one of `energy` times
 * the wheel's own, and bulk_degC what earlier passes have left then. No less: with the energy a rise falls at least as fast. */
double tw_least_film_rise_K(const struct tw_flash *flash, double bulk_degC, double factor, double energy,
                            const struct tw_coolant *coolant);

/* ---- Properties that follow ---- */

double tw_diffusivity_mm2_per_s(const struct tw_steel *steel);
double tw_effusivity_W_s05_per_mm2_K(const struct tw_steel *steel); /* W s^0.5 / (mm2 K) */

#endif
