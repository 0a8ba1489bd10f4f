/* temper.h - how far heat has tempered the steel: one number for any history of temperature.
 *
 * Model   J. H. Hollomon, L. D. Jaffe, Time-temperature relations in tempering steel, Trans. AIME 162, 223,
 *         1945: hardness after tempering depends on P = T (C + log10 t) / 1000 alone, T in kelvin, t in
 *         hours. A history is added up by asking at each new temperature how many hours there would have
 *         given the P so far.
 * Limits  They tempered plain carbon steels for minutes to days. Seconds are in use in rapid tempering
 *         (J. Mater. Eng. Perform. 2020, doi 10.1007/s11665-020-04946-z); the milliseconds of a flash are
 *         extrapolation, and the answer depends on C: report both constants. Equal P means equal hardness,
 *         not equal toughness. Nothing here holds once steel gets hot enough to harden again: keep below
 *         TW_TEMPER_CAP_degC.
 * Units   degC and s at the door; P in its usual unit, kK (log10 h). HRC Rockwell.
 * Memory  nothing here allocates or keeps state.
 * Errors  NaN for a temperature at or below absolute zero, a time below 0, or anything not finite. */
#ifndef TANGWRIGHT_TEMPER_H
#define TANGWRIGHT_TEMPER_H

#include "tangwright/heat.h"

/* The constant that is usual for low-alloy steels, and the stricter of the two for short times: a flash
 * counts for more by it. */
#define TW_TEMPER_CONSTANT 20.0

/* From here on steel hardens again: the eutectoid of the iron-carbon diagram. */
#define TW_TEMPER_HARDENS_degC 727.0

/* No flash may come near that; a cap this far below leaves room for an estimate that is half as high again. Our
 * choice. */
#define TW_TEMPER_CAP_degC 500.0

/* C for a plain carbon steel, 21.3 - 5.8 * (% carbon) for hours; Hollomon and Jaffe 1945, from memory. */
double tw_temper_constant_of_carbon(double carbon_percent);

/* P of a time (> 0) at one temperature. */
double tw_temper_parameter(double degC, double time_s, double constant);

/* P after a further time (>= 0) at a temperature, upon the `parameter` (>= 0; 0: nothing yet) that came
 * before. The same flash n times is one call with n times its duration. */
double tw_temper_add(double parameter, double degC, double time_s, double constant);

/* Temperature that gives this P in this time (> 0): what a flash of that length may reach. */
double tw_temper_equivalent_degC(double parameter, double time_s, double constant);

/* Hardness lost since the steel's own tempering, when hardness falls by slope (> 0) HRC per unit of P: never
 * below 0. Slopes of usual steels stand in docs/heat-model.md. */
double tw_temper_softening_HRC(double parameter, double own_parameter, double slope_HRC);

/* ---- What later heat may add up to ---- */

/* A steel's own tempering, and the part of it that all later heat together may add up to: what the same time at
 * a temperature lower by the margin would have done. */
struct tw_temper_limit {
    double own_degC, allowed_degC; /* tempering temperature; the same less the margin */
    double time_s;                 /* of the tempering, all of it */
    double constants[2];           /* TW_TEMPER_CONSTANT, and the steel's own */
    double allowed[2];             /* P of time_s at allowed_degC by each */
};

/* `constant` is the steel's own; 0: not known, TW_TEMPER_CONSTANT counts twice. */
struct tw_temper_limit tw_temper_limit_of(double own_degC, double margin_K, double time_s, double constant);

/* Highest temperature at which a spot may be for time_s > 0 in all, when nothing else tempers it: the lower one of
 * both constants', and at most TW_TEMPER_CAP_degC (or allowed_degC, if that is higher). */
double tw_temper_highest_degC(const struct tw_temper_limit *limit, double time_s);

/* One pass of the wheel, as the steel at some depth below the ground face feels it. */
struct tw_temper_pass {
    double peak_rise_K; /* rise of the face at the hottest point: the flash with its factors */
    double peclet;      /* as in struct tw_flash */
    double contact_s;   /* contact length / table speed */
    double contact_mm;  /* length of the heated band */
    double bulk_degC;   /* before the pass */
};

/* P after that pass at depth_mm >= 0, upon the `parameter` before. The temperature follows Jaeger's moving
 * band at that depth, from its leading end to ten contact lengths behind it; what stays longer is bulk, the
 * caller's. */
double tw_temper_after_pass(double parameter, const struct tw_temper_pass *pass, double depth_mm, double constant);

/* Depth to which `passes` such passes at one place soften steel beyond limit_parameter, from own_parameter
 * on; 0 if not even the face is softened, infinity if the bulk alone does it. To 1 %. */
double tw_temper_softened_mm(double own_parameter, double limit_parameter, const struct tw_temper_pass *pass,
                             double passes, double constant);

#endif
