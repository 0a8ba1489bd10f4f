/* assess.h - what is to be said of a finished plan: whether either flash limit allows it, what of it rests on the coolant's
 * film, how near it comes to burning, what its hottest temperature depends on, and what the finished tang may be off by. Nothing
 * here changes a plan. */
#ifndef TANGWRIGHT_ASSESS_H
#define TANGWRIGHT_ASSESS_H

#include "tangwright/plan.h"

/* ---- what the limits say of a plan ---- */

/* The layer that is hottest with the reserve, under the flash limit that the job asks for, and under the other one. */
struct tw_plan_limits {
    enum tw_flash_limit used;
    enum tw_side side; /* of the hottest layer */
    size_t setup, layer;
    double peak_degC, reserve_degC;        /* of that layer, as expected and with the reserve */
    double strict_degC;                    /* the strict limit, which holds for the bulk either way */
    double equivalent_degC;                /* what flashes like that layer's might come to by the equivalent limit */
    bool strict_allows, equivalent_allows; /* this plan as it is */
    struct tw_tempering tempering;         /* of the more tempered side */
};

struct tw_plan_limits tw_plan_limits(const struct tw_plan *plan);

/* ---- what rests on the coolant's film ---- */

struct tw_plan_film {
    bool wet;            /* there is a coolant; else nothing below holds */
    bool counted;        /* some layer counts on its film; else the next four do not hold */
    size_t setup, layer; /* where it fails first */
    double times;        /* it lasts up to so many times the wheel's own specific energy */
    double boiled_degC;  /* where it fails first, at that energy: the face without it */
    double dry_degC; /* hottest that the face gets with the reserve of energy where no coolant reaches the contact */
    double
        least_degC; /* hottest with the wheel's own energy where the film is at the lower end of its range; -HUGE_VAL: no film */
    bool inches;  /* the machine is programmed in them, so its shop reads degF */
    bool hardens; /* either is hot enough for the steel to harden again, TW_TEMPER_HARDENS_degC */
};

/* How near to the burn line of Malkin and Lenz (tw_burn_energy_J_per_mm3) a plan comes, with the reserve of energy. It was
 * drawn for alumina wheels, which let more heat into the steel than CBN does: for CBN it errs to the safe side. */
#define TW_BURN_WARNS 0.7 /* burn points scatter by a fifth: judgement */

struct tw_plan_burn {
    double share; /* the largest of all layers */
    size_t setup, layer;
    bool warns; /* above TW_BURN_WARNS */
};

struct tw_plan_burn tw_plan_burn(const struct tw_plan *plan);

/* Of all programs, or of one. */
struct tw_plan_film tw_plan_film(const struct tw_job *job, const struct tw_plan *plan);
struct tw_plan_film tw_setup_film(const struct tw_job *job, const struct tw_plan *plan, size_t setup);

/* The same in words; empty for a dry plan. */
#define TW_FILM_WORDS 500
void tw_plan_film_words(const struct tw_plan_film *film, char out[TW_FILM_WORDS]);

/* ---- what a machine that gives way leaves to the last layers ---- */

/* The hottest of a program's finishing layers and spark-outs, with what the layers before left standing for it to take (spring.h), as
 * the profiles say or at the softest, and with the reserve of energy. Ambient, and taken_mm 0: there are none. */
struct tw_spring_heat {
    size_t layer;
    double taken_mm, degC, limit_degC;
};

struct tw_spring_heat tw_setup_spring_heat(const struct tw_job *job, const struct tw_plan *plan, size_t index);

/* Adds a remark where it is too hot. */
void tw_spring_heat_remark(const struct tw_job *job, const struct tw_plan *plan, struct tw_findings *findings);

/* How far one assumption moves the peak of the hottest layer over its honest range (docs/heat-model.md). The flash is
 * worked out anew; the bulk is taken to follow the heat that enters and, inversely, the conductance of the joint. */
struct tw_sensitivity {
    const char *what, *unit;
    double used, low, high;     /* in `unit` */
    double low_degC, high_degC; /* the peak with either */
};

#define TW_SENSITIVITY_MOST 8

/* *count rows, all others as planned. */
enum tw_status tw_plan_sensitivity(const struct tw_job *job, const struct tw_plan *plan,
                                   struct tw_sensitivity rows[TW_SENSITIVITY_MOST], size_t *count,
                                   struct tw_findings *findings);

/* ---- what the finished tang may be off by ---- */

#define TW_ERROR_ROWS 12
#define TW_CURE_SIZE  160

struct tw_error_row {
    const char *name;
    double thickness_um, flatness_um; /* at the worse end of its range */
    char cure[TW_CURE_SIZE];
};

/* docs/error-budget.md. A cause that a shop could have found out by measuring counts with its whole range. */
struct tw_error_budget {
    struct tw_error_row rows[TW_ERROR_ROWS];
    size_t count, largest_thickness, largest_flatness;
    double thickness_um, flatness_um; /* root of the sum of squares */
    double flatness_allowed_um;       /* what the job asks for */
    bool inches;                      /* the machine is programmed in them: sentences say thou */
    double warm_up_s;                 /* of the spindle, before z is set, as the budget takes for granted */
};

struct tw_error_budget tw_error_budget(const struct tw_job *job, const struct tw_plan *plan);

#define TW_ERROR_SENTENCE 400

/* Where the root sum is more than the job asks for, and why; else "". */
void tw_error_sentence(const struct tw_error_budget *budget, char *out, size_t size);

/* Free bow of a plate under an even flux through its thickness, which does not count. */
double tw_bow_mm(double flux_W_per_mm2, double length_mm, double conductivity_W_per_mm_K);

/* What a spindle that grows by growth_mm in all, with that time constant, grows by from one time after its start to another. */
double tw_growth_mm(double growth_mm, double constant_s, double from_s, double to_s);

/* The warm-up after which a program of that length sees no more than allowed_mm of it: whole steps of 5 min, 2 h at the most. */
double tw_warm_up_s(double growth_mm, double constant_s, double program_s, double allowed_mm);

/* What shims in five places would cost this setup's face in flatness, where a solid wedge costs nothing. */
double tw_shim_sag_mm(const struct tw_job *job, const struct tw_setup_plan *setup);

/* ---- remarks ---- */

/* What a person should know of a plan that keeps all limits: a film that fails into hardening, a flow too weak or not known, a
 * burn line that is near. */
void tw_assess_remark(const struct tw_job *job, const struct tw_plan *plan, struct tw_findings *findings);

#endif
