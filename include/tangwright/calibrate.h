/* calibrate.h - specific energy and heat partition of a wheel from what a maker measured with it.
 *
 * Model   That of heat.h. A reading of spindle power gives the specific energy of one cut, u = net power /
 *         (depth * table speed * width), and u = max(u_min, u_ref (0.1 um / chip)^n) is a straight line in
 *         logarithms as long as it stays above the floor u_min. A temperature mark bounds the share of the
 *         heat that enters the steel: the flash of heat.h rises with it.
 * Fit     Weighted least squares in ln u (GSL), weights from the stated uncertainty of the readings. When
 *         they scatter more than that (chi-square above its degrees of freedom), uncertainties grow by the
 *         root of the ratio, as the Particle Data Group does when it averages (Review of Particle Physics,
 *         introduction, from memory).
 * Units   mm, s, W, J, degC; uncertainties are standard uncertainties, "relative" ones in parts of the value
 *         (more exactly: of its logarithm), so that 95 % intervals are value * exp(-+ 1.96 relative).
 * Memory  tw_readings and tw_calibration own their arrays; the free functions release them. Texts are the
 *         caller's: free().
 * Errors  TW_BAD_INPUT with a finding per fault: what a file says wrongly, and what readings cannot
 *         determine; TW_IO, TW_NO_MEMORY. */
#ifndef TANGWRIGHT_CALIBRATE_H
#define TANGWRIGHT_CALIBRATE_H

#include "tangwright/job.h"

#include <stdbool.h>
#include <stddef.h>

/* The exponent is fitted from this many readings on, when their chip thickness spans this factor, and kept
 * if its standard uncertainty comes out below half the range that is known anyway (0.2 to 0.6). Our
 * choice. */
#define TW_CALIBRATE_READINGS 3
#define TW_CALIBRATE_SPAN     3.0
#define TW_CALIBRATE_LOOSEST  0.2

/* Readings contradict the model when chance scatters them so far in fewer cases than this. Our choice. */
#define TW_CALIBRATE_CHANCE 0.01

#define TW_CALIBRATE_NORMAL_95 1.959963984540054 /* 97.5 % point of the normal distribution */

/* A fit makes a wheel calibrated if, over the chips that were read, the energy is with a probability of 95 % below so
 * many times the fitted: the reserve that a plan keeps without it. */
#define TW_CALIBRATE_CLOSE 1.25

#define TW_READINGS_MOST 1000

/* ---- The readings ---- */

enum tw_reading_kind { TW_READING_POWER, TW_READING_MARK };
enum tw_mark { TW_MARK_NOT_REACHED, TW_MARK_REACHED, TW_MARK_PEAK };

struct tw_reading {
    int line; /* of its file */
    enum tw_reading_kind kind;
    double depth_mm, table_mm_per_s;
    double spindle_rpm; /* 0: what the planner would program for the job */
    /* power */
    double width_mm; /* engaged, across the motion */
    double power_W, idle_W;
    double efficiency;           /* of what the meter shows, the part that arrives at the wheel */
    double relative_uncertainty; /* of power and idle, each; 0 when uncertainty_W is given */
    double uncertainty_W;
    /* mark */
    enum tw_mark mark; /* whether the surface reached the temperature, or that was its measured peak */
    double temperature_degC, uncertainty_K;
    double start_degC;   /* of the scrap before the pass; NaN: the coolant's temperature */
    double thickness_mm; /* of the scrap, its back on the fixture; 0: thick */
};

struct tw_readings {
    char *path;
    struct tw_reading *items;
    size_t count;
};

/* Reads a file of readings (docs/calibrate.md), all faults at once. On failure *out is empty. */
enum tw_status tw_readings_read(const char *path, struct tw_readings *out, struct tw_findings *findings);

void tw_readings_free(struct tw_readings *readings);

/* ---- Specific energy ---- */

/* One power reading as the fit sees it; all above 0. */
struct tw_energy_point {
    double chip_mm; /* equivalent chip thickness */
    double energy_J_per_mm3;
    double relative; /* standard uncertainty of the energy */
};

/* How one reading agrees with the fit. */
struct tw_energy_check {
    double model_J_per_mm3;
    /* What it lies above the model, in its own standard uncertainties, the pull it had on the fit taken out;
     * NaN where the fit goes through it whatever it says. */
    double off_by;
    bool on_floor; /* the model is at u_min here: it does not help to determine u_ref */
    /* Farther off a line through the rest than chance would have the worst of so many readings in 1 of 20
     * cases; the worst is named first, then the worst of the others. */
    bool stands_off;
};

enum tw_exponent {
    TW_EXPONENT_FITTED,
    TW_EXPONENT_FEW,    /* kept: fewer than TW_CALIBRATE_READINGS above the floor */
    TW_EXPONENT_NARROW, /* kept: they span less than TW_CALIBRATE_SPAN */
    TW_EXPONENT_LOOSE,  /* kept: its uncertainty came out above TW_CALIBRATE_LOOSEST */
    TW_EXPONENT_STRANGE /* kept: it came out below 0 or above 1 */
};

struct tw_energy_fit {
    double energy_J_per_mm3; /* u_ref */
    double relative;         /* its standard uncertainty, widened by `scatter` */
    enum tw_exponent exponent_from;
    double exponent;             /* fitted, or the wheel's */
    double exponent_uncertainty; /* standard; 0 when kept */
    double tried_exponent;       /* what a fit gave that was not taken (LOOSE, STRANGE); else NaN */
    double tried_uncertainty;
    double correlation;                          /* of ln u_ref and exponent; 0 when kept */
    double mean_chip_mm;                         /* where the readings above the floor have their weight */
    double mean_energy_J_per_mm3, mean_relative; /* the model there */
    double thinnest_chip_mm, thickest_chip_mm;   /* of the readings above the floor */
    size_t above_floor;                          /* readings that determine u_ref */
    double chi_square;                           /* of all readings */
    size_t degrees;                              /* of freedom */
    double probability;  /* of so large a chi-square by chance; NaN without degrees of freedom */
    double scatter;      /* 1, or sqrt(chi_square / degrees) where that is more */
    size_t standing_off; /* readings named, all of them part of the fit; and a fit without them: */
    double rest_energy_J_per_mm3, rest_exponent, rest_probability;
};

/* Fits wheel->specific_energy, and the exponent where the points allow; only the wheel's exponent and
 * floor are used. The floor makes the model kinked: readings on it are found by trying every division into
 * thinner chips (above the floor) and thicker ones (on it). checks[count] are filled. TW_BAD_INPUT when no
 * reading stands above the floor; `place` begins the finding. */
enum tw_status tw_energy_fit_make(const struct tw_energy_point *points, size_t count, const struct tw_wheel *wheel,
                                  struct tw_place place, struct tw_energy_fit *out, struct tw_energy_check *checks,
                                  struct tw_findings *findings);

/* Relative standard uncertainty of the fitted energy at another chip thickness (above the floor). */
double tw_energy_fit_relative_at(const struct tw_energy_fit *fit, double chip_mm);

/* Whether the fit makes the wheel a calibrated one, which is planned without a reserve of energy; if not, why. */
enum tw_trust {
    TW_TRUSTED,
    TW_TRUST_ALONE,        /* no reading is left to check the others */
    TW_TRUST_CONTRADICTED, /* the readings contradict the model */
    TW_TRUST_LOOSE /* between the readings' chips the energy may be TW_CALIBRATE_CLOSE times the fitted, or more */
};
enum tw_trust tw_energy_fit_trust(const struct tw_energy_fit *fit);

/* What the energy at the readings' thinnest and thickest chips may be with a probability of 95 %, over the fitted. */
double tw_energy_fit_highest(const struct tw_energy_fit *fit);

/* ---- Partition ---- */

struct tw_mark_check {
    double share;          /* partition at which the model's peak is the mark's temperature; NaN: none */
    double rule_peak_degC; /* the model's peak with Hahn's rule */
    double peak_degC;      /* with the value found; NaN when none was */
};

struct tw_partition_fit {
    double rule;                /* Hahn's */
    double lower, upper;        /* 0.05 and 1 where no mark says more */
    int lower_line, upper_line; /* the marks that say so; 0: none */
    double from_energy;         /* `upper` moves by this with one standard uncertainty of u; NaN: not known */
    double value;               /* for the job: the hot end, `upper` */
};

/* ---- Both ---- */

struct tw_calibration {
    size_t power_count, mark_count;
    bool energy_known, partition_known; /* whether `energy` and `partition` hold an answer */
    struct tw_energy_fit energy;
    struct tw_partition_fit partition;
    double wheel_mm_per_s; /* at the planner's spindle speed */
    /* In the order of the readings of each kind, power_count and mark_count of them; NULL when there are
     * none. */
    struct tw_energy_point *points;
    struct tw_energy_check *energy_checks;
    struct tw_mark_check *mark_checks;
};

/* TW_BAD_INPUT when any asked-for value (energy if there are power readings, partition if there are marks)
 * cannot be had; *out then still holds what could, and is the caller's to free. On any other failure it is
 * empty. */
enum tw_status tw_calibrate(const struct tw_job *job, const struct tw_readings *readings, struct tw_calibration *out,
                            struct tw_findings *findings);

void tw_calibration_free(struct tw_calibration *calibration);

/* Lines for the job's wheel group in libconfig syntax, everything else on lines that begin with #. */
enum tw_status tw_calibration_text(const struct tw_job *job, const struct tw_readings *readings,
                                   const struct tw_calibration *calibration, char **out, struct tw_findings *findings);

/* One JSON object, format "tangwright-calibration/1": docs/calibrate.md. */
enum tw_status tw_calibration_json(const struct tw_job *job, const struct tw_readings *readings,
                                   const struct tw_calibration *calibration, char **out, struct tw_findings *findings);

#endif
