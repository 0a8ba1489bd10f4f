/* plan.h - from a checked job to the passes of both sides.
 *
 * Every coordinate of a move is a whole number of the controller's last decimal, so the program text says
 * exactly what was planned, and is rounded away from the finished face, never into it.
 *
 * Frames  setup frame (see taper.h): x towards the butt, y across, z up. A programmed point is a disc's lowest
 *         point at mid-width or the centre of a cup's rim face.
 * Units   mm, s, mm/s, W, N, degC.
 * Memory  a tw_plan owns its arrays; tw_plan_free() releases them.
 * Errors  TW_NO_PLAN names the limit or the obstacle that stops the plan and what would help;
 *         TW_NO_MEMORY. On failure *out is empty. */
#ifndef TANGWRIGHT_PLAN_H
#define TANGWRIGHT_PLAN_H

#include "tangwright/contacts.h"
#include "tangwright/findings.h"
#include "tangwright/history.h"
#include "tangwright/job.h"
#include "tangwright/taper.h"
#include "tangwright/wear.h"

/* What keeps a layer from being deeper. */
enum tw_binding {
    TW_BINDS_TEMPERATURE,   /* flash above the limit                              */
    TW_BINDS_BOILING,       /* one step deeper and the coolant film boils away, or lacks its reserve */
    TW_BINDS_POWER,         /* spindle power                                      */
    TW_BINDS_HOLDING,       /* tangential force against what holds the part       */
    TW_BINDS_WHEEL_INFEED,  /* largest infeed of the wheel                        */
    TW_BINDS_FINISH_INFEED, /* the job's finishing infeed                         */
    TW_BINDS_STOCK          /* nothing deeper stands there, or spark-out          */
};
const char *tw_binding_name(enum tw_binding binding);

/* The limits whose price in time a plan tells. */
enum tw_limit {
    TW_LIMIT_INFEED, /* largest infeed of the wheel */
    TW_LIMIT_HEAT,   /* temperatures of flash and bulk, and film boiling */
    TW_LIMIT_POWER,
    TW_LIMIT_HOLDING,
    TW_LIMIT_TABLE_SPEED, /* the machine's fastest feed */
    TW_LIMIT_COUNT
};
const char *tw_limit_name(enum tw_limit limit);

enum tw_layer_kind { TW_LAYER_ROUGH, TW_LAYER_FINISH, TW_LAYER_SPARK_OUT };
const char *tw_layer_kind_name(enum tw_layer_kind kind);

struct tw_layer {
    enum tw_layer_kind kind;
    double bottom_mm;      /* height of the layer's lower plane above the finished face */
    double depth_mm;       /* 0 for spark-out */
    double table_mm_per_s; /* of the first lane */
    double later_mm_per_s; /* of the lanes after it, which meet less stock beside them */
    double front_mm;       /* setup x where the layer begins */
    int lanes;             /* passes in this layer */
    double engaged_mm;     /* widest engagement of one pass */
    double peak_degC;      /* hottest, as expected: what earlier passes left, and the flash with its factors */
    double bulk_degC;      /* what earlier passes had left there */
    double flash_K;        /* of the half-space */
    double edge_factor, plate_factor;
    double reserve_degC, reserve_bulk_degC; /* peak and bulk with the reserve of energy, tw_energy_reserve() */
    double dwell_s;                         /* waited during this layer so that the tang cools */
    double flash_limit_degC;                /* what reserve_degC may come to */
    double equivalent_degC;  /* what it might come to by the equivalent limit, over all passes of the side */
    double power_W, force_N; /* at the widest engagement */
    bool boiled;             /* planned as dry: the coolant's film boils away, or would with heat.film_reserve */
    double boiling_room_K; /* with the reserve: up to film boiling, negative past it; infinite where no coolant helps */
    double film_times;     /* the film lasts up to so many times the wheel's own specific energy; infinite as above */
    double dry_degC;       /* with the reserve: the peak if the film were gone */
    double burn_share;     /* with the reserve: of the specific energy at which steel visibly burns */
    enum tw_binding binding;
};

enum tw_move_kind { TW_MOVE_RAPID, TW_MOVE_FEED, TW_MOVE_DWELL };
enum tw_move_role {
    TW_ROLE_APPROACH, /* from the clear height to just above the start of a run */
    TW_ROLE_INFEED,   /* down to the layer, off the part                        */
    TW_ROLE_CUT,      /* along a lane or loop                                   */
    TW_ROLE_OVER,     /* along a lane before or behind the steel: overtravel    */
    TW_ROLE_ACROSS,   /* to the next lane, off the part                         */
    TW_ROLE_RETURN,   /* lifted, back to the start of a run                     */
    TW_ROLE_RETRACT,  /* up and away                                            */
    TW_ROLE_COOL      /* a wait off the part, for the tang to cool              */
};

struct tw_place3 {
    double x_mm, y_mm, z_mm;
};

struct tw_move {
    enum tw_move_kind kind;
    enum tw_move_role role;
    int layer; /* index into the layers of this setup; -1: none */
    struct tw_place3 to;
    double feed_mm_per_s; /* feed moves */
    double dwell_s;       /* dwells */
    bool enters;          /* the wheel comes to this part, over the start of what follows, at the clear height */
};

/* How the wheel goes over a layer. */
enum tw_travel_style {
    TW_STYLE_BOTH_WAYS,    /* lanes in both directions, turning off the part */
    TW_STYLE_FROM_BUTT,    /* lanes from the butt forwards, lifted return    */
    TW_STYLE_FROM_RICASSO, /* lanes from the taper start backwards, lifted   */
    TW_STYLE_LOOPS,        /* offset loops                                   */
    TW_STYLE_TROUGHS       /* relief by a disc: to and fro along troughs     */
};
const char *tw_travel_style_name(enum tw_travel_style style);

/* A stretch of the relief's region that the wheel does not come to. */
struct tw_unreached {
    double area_mm2;
    double x_mm, y_mm; /* a place in it, setup frame */
    double wheel_mm;   /* diameter of a cup that certainly finds room there */
};

#define TW_UNREACHED_MOST 8

/* What a relief comes to. */
struct tw_relief_figures {
    double region_mm2;                           /* inside the land, less bosses */
    double reached_mm2;                          /* of it, what gets the full depth */
    double removed_mm3;                          /* below the finished face, a disc's run-outs included */
    struct tw_unreached left[TW_UNREACHED_MOST]; /* of at least 1 mm2, the largest first */
    size_t left_count;
};

/* How far the machine holds the wheel back (spring.h), where all layers of a face pass. */
struct tw_spring_back {
    double behind_mm; /* before the spark-outs */
    double share;     /* of that, what each spark-out takes */
    int spark_outs;
    double left_mm;                     /* after them: the face stands so much too high */
    double left_least_mm, left_most_mm; /* over the ranges of stiffness and normal force */
};

struct tw_setup_plan {
    struct tw_face face;
    enum tw_scope scope;
    double below_left_mm; /* stock that a later program takes off the face below; 0: it is finished, or raw */
    enum tw_travel_style style;
    double crossfeed_mm; /* that each of a disc's roughing lanes takes; 0: the first takes the wheel's width */
    struct tw_layer *layers;
    size_t layer_count, layer_capacity;
    struct tw_move *moves; /* of one part, from the clear height back to the clear height; see tw_stay */
    size_t move_count, move_capacity;
    int pass_count;      /* of one part */
    double cut_time_s;   /* of one part: wheel over stock of its layer */
    int rounds;          /* how often the wheel comes to each part: 1 when each is finished before the next */
    double part_time_s;  /* of one part: all its moves */
    double between_s;    /* from part to part, all in all */
    double cycle_time_s; /* whole program: all parts, spindle start, wheel spun dry */
    double peak_degC;    /* as expected */
    double bulk_degC;    /* hottest bulk at any time */
    double reserve_degC; /* the same two with the reserve of energy: what the limits are held against */
    double reserve_bulk_degC;
    double dwell_s;                /* of one part: waited for the tang to cool */
    struct tw_tempering tempering; /* with the reserve: of the most tempered spot of the face after all the passes */
    double lane_pitch_mm;          /* widest distance between lanes */
    double cusp_mm;                /* ridge left between lanes of a cup in the level mount */
    double dish_mm;                /* by which a head out of square leaves the middle of the face hollow */
    double clear_z_mm;             /* height of rapids across */
    double finish_z_mm;            /* programmed height that leaves the face at x = 0, tilted mount */
    double spindle_rpm;
    double wheel_mm_per_s;             /* surface speed at that rpm */
    struct tw_relief_figures relief;   /* of a relief's program; else empty */
    struct tw_spring_back spring_back; /* of any other */
    struct tw_holding holding;
    struct tw_wheel_loss loss; /* nothing of a relief's program */
    double saves_s
        [TW_LIMIT_COUNT]; /* of all parts, were this limit a tenth looser; 0: it does not bind, or saves nothing */
};

/* Gap under the tang at part x when this setup is clamped, to be packed. */
double tw_setup_packing_mm(const struct tw_job *job, const struct tw_setup_plan *setup, double x_mm);

#define TW_SETUPS_MOST 6

/* Each setup is a program; in the order in which they are run. */
struct tw_plan {
    struct tw_setup_plan setups[TW_SETUPS_MOST]; /* in one program a side: side A, side B */
    size_t setup_count;
    struct tw_profile roughed[2];         /* tops of the sides after roughing, where that is a program of its own */
    struct tw_profile finished[2];        /* the same of the finished faces, where a relief is to be cut into them */
    bool relief_first;                    /* the hollows are cut before the faces are tapered */
    double relief_first_s, relief_last_s; /* cycle time of all programs either way; 0: not planned, or not possible */
    double spindle_rpm;
    double wheel_mm_per_s; /* surface speed at that rpm */
    double limit_degC;     /* of the bulk, and of the flash where the limit is strict */
    enum tw_flash_limit flash_limit;
    double peak_degC;    /* as expected */
    double reserve_degC; /* with the reserve of energy: what the limit is held against */
    double holding_N;    /* sideways force the fixture is trusted with: the least of its programs */
    double removed_mm3;  /* of one part, both faces */
    double removed_g;
    int pass_count;
    double cut_time_s, cycle_time_s;
    double saves_s[TW_LIMIT_COUNT]; /* see tw_setup_plan */
};

/* Seconds for which the wheel turns on after the coolant is off, so that it throws out what it has soaked up;
 * 0 when planned dry. */
double tw_plan_spin_dry_s(const struct tw_job *job);

/* One stay of the wheel at a part: moves `first` (which enters) to `last` (which rises to the clear height again). The
 * wheel goes round the parts in rounds: a stay at each part, then the next stay at each part. */
struct tw_stay {
    size_t first, last;
};

/* The stay that begins with move `first`; ends with the last move, or before the next one that enters. */
struct tw_stay tw_plan_stay(const struct tw_setup_plan *setup, size_t first);

/* Height to which the wheel is raised after a stay, in the system of the part just left, before the next part's work offset
 * is selected: high enough in both systems. Parts count from 0; `next` is -1 when no part follows. */
double tw_plan_leave_z_mm(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_stay stay, int part,
                          int next);

/* How far every move of a plan could be raised before the machine's travel ends. */
double tw_plan_room_above_mm(const struct tw_job *job, const struct tw_plan *plan);

/* The lean of a cup's rim (rim.h) on that way of this setup which is the worst for it. */
double tw_plan_lean(const struct tw_job *job, const struct tw_setup_plan *setup);

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

const char *tw_flash_limit_name(enum tw_flash_limit limit);

/* ---- what rests on the coolant's film ---- */

struct tw_plan_film {
    bool wet;            /* there is a coolant; else nothing below holds */
    bool counted;        /* some layer counts on its film; else the next four do not hold */
    size_t setup, layer; /* where it fails first */
    double times;        /* it lasts up to so many times the wheel's own specific energy */
    double boiled_degC;  /* where it fails first, at that energy: the face without it */
    double dry_degC; /* hottest that the face gets with the reserve of energy where no coolant reaches the contact */
    bool hardens;    /* either is hot enough for the steel to harden again, TW_TEMPER_HARDENS_degC */
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

/* The same in one sentence; empty for a dry plan. */
#define TW_FILM_WORDS 300
void tw_plan_film_words(const struct tw_plan_film *film, char out[TW_FILM_WORDS]);

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

/* ---- what a relief takes out ---- */

struct tw_relief_region;
struct tw_balance;

/* Where the job's wheel takes steel out of a face for the relief, in the part frame, as pieces of even depth: a disc's
 * run-outs count with two thirds of their length. For a job that asks for none, what it would do 0.5 mm deep. TW_NO_PLAN and
 * TW_BAD_INPUT where nothing can be hollowed. */
enum tw_status tw_plan_hollowed(const struct tw_job *job, struct tw_relief_region *out, struct tw_findings *findings);

/* The same; where nothing can be hollowed *out is empty, with a remark if the job asks for a relief. */
enum tw_status tw_plan_hollowed_or_none(const struct tw_job *job, struct tw_relief_region *out,
                                        struct tw_findings *findings);

/* The weights and balance points with it. */
enum tw_status tw_plan_balance(const struct tw_job *job, struct tw_balance *out, struct tw_findings *findings);

enum tw_status tw_plan_make(const struct tw_job *job, struct tw_plan *out, struct tw_findings *findings);

void tw_plan_free(struct tw_plan *plan);

#endif
