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
const char *tw_flash_limit_name(enum tw_flash_limit limit);

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
struct tw_layer;

/* What a person calls it: "rough", "finish", "spark-out", or "again". */
const char *tw_layer_name(const struct tw_layer *layer);

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
    double loaded_mm;        /* depth for which these are: with what following the wheel's wear may add; 0: depth_mm */
    double later_force_N;    /* of the lanes after the first, at their own speed; 0: no more than that */
    bool boiled;             /* planned as dry: the coolant's film boils away, or would with heat.film_reserve */
    double boiling_room_K; /* with the reserve: up to film boiling, negative past it; infinite where no coolant helps */
    double film_times;     /* the film lasts up to so many times the wheel's own specific energy; infinite as above */
    double film_least_times; /* the same at the lower end of the film's range */
    double film_least_degC;  /* the peak there, with the wheel's own energy; what the limits hold for as well */
    double dry_degC;         /* with the reserve: the peak if the film were gone */
    double burn_share;       /* with the reserve: of the specific energy at which steel visibly burns */
    enum tw_binding binding;
    size_t stay;     /* of the wheel at the part, in which it is ground; see tw_stay */
    double gone_mm3; /* off the thinnest blank when it is half ground, since that stay began */
    bool comes;      /* the wheel comes to the part anew for it: a round begins, or it may have to be dressed before */
    bool again; /* an earlier layer once more: where the wheel was dressed it takes what the worn one left standing */
    double
        caught_mm3; /* of the stay's first layer: so much may have been left of the thickest blank by the stay before */
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
    double region_mm2;  /* inside the land, less bosses */
    double reached_mm2; /* of it, what gets the full depth */
    double removed_mm3; /* below the finished face, a disc's run-outs included */
    double taken_mm3;   /* by the wheel, off the thickest blank: with what stood over that face */
    double stay_mm3;    /* of it the most in one stay, that is, before the wheel can be dressed */
    struct tw_unreached left[TW_UNREACHED_MOST]; /* of at least 1 mm2, the largest first */
    size_t left_count;
    struct tw_wheel_loss loss; /* of the wheel that hollows it: nothing follows it */
};

/* How far the machine holds the wheel back (spring.h), where all layers of a face pass. */
struct tw_spring_back {
    double behind_mm; /* before the spark-outs */
    double share;     /* of that, what each spark-out takes */
    int spark_outs;
    double left_mm;                     /* after them: the face stands so much too high */
    double left_least_mm, left_most_mm; /* over the ranges of stiffness and normal force */
};

/* Bulk temperatures are allowed for by the height in the stock. */
#define TW_BULK_PARTS 5

/* What earlier passes are expected to leave in the tang when a layer is ground, in K above ambient, by the height of its
 * lower plane: K[0] over the lowest part of the stock, which is ground last, and so on. The cuts leave room for it. */
struct tw_bulk {
    double K[TW_BULK_PARTS];
};

/* How the wheel may go over the layers. */
struct tw_way {
    enum tw_travel_style style;
    double crossfeed_mm; /* of a disc's roughing lanes: see tw_lane_rule, as the next */
    bool first_widest;
    bool by_volume; /* each layer takes the cut that removes most in its time, not the one that goes deepest in it */
    bool stays;     /* the wheel does not leave the steel from layer to layer, so that the tang cannot be waited for */
    bool lifts;     /* it leaves the steel wherever it can, so that the tang can be waited for the more often */
};

/* What the search chose a program by: with little more kept back the same will do again. */
struct tw_choice {
    struct tw_way way;
    struct tw_bulk bulk;
    size_t layers_a_round;
    double effort_s; /* of computing to plan it so once more, counted; 0: nothing was chosen */
};

struct tw_setup_plan {
    struct tw_face face;
    enum tw_scope scope;
    char *file_name,
        *air_file_name;   /* of its program, and of the same raised for the run in the air: "side-a-rough.nc" */
    double below_left_mm; /* stock that a later program takes off the face below; 0: it is finished, or raw */
    bool below_hollowed;  /* the face below has its relief already */
    enum tw_travel_style style;
    double crossfeed_mm; /* see tw_lane_rule, as the next */
    bool first_widest;
    struct tw_layer *layers;
    size_t layer_count, layer_capacity;
    struct tw_move *moves; /* of the first part, from the clear height back to the clear height; see tw_stay */
    size_t move_count, move_capacity;
    int pass_count;        /* of one part */
    double cut_time_s;     /* of one part: wheel over stock of its layer */
    int rounds;            /* how often the wheel comes to each part: 1 when each is finished before the next */
    double part_time_s;    /* of one part: all its moves */
    size_t layers_a_round; /* after so many the wheel goes on to the next part; 0: each part is finished first */
    double between_s;      /* from part to part, all in all */
    double cycle_time_s;   /* whole program: all parts, spindle start, wheel spun dry */
    double peak_degC;      /* as expected */
    double bulk_degC;      /* hottest bulk at any time */
    double reserve_degC;   /* the same two with the reserve of energy: what the limits are held against */
    double reserve_bulk_degC;
    double dwell_s;                /* of one part: waited for the tang to cool */
    struct tw_tempering tempering; /* with the reserve: of the most tempered spot of the face after all the passes */
    double lane_pitch_mm;          /* widest distance between lanes */
    double cusp_mm;                /* ridge left between lanes of a cup in the level mount, or beside the outer ones */
    double rounded_mm;             /* by which the program's decimals lift the finished face */
    double dish_mm;                /* by which a head out of square leaves the middle of the face hollow */
    double clear_z_mm;             /* height of rapids across */
    double finish_z_mm;            /* programmed height that leaves the face at x = 0, tilted mount */
    double spindle_rpm;
    double wheel_mm_per_s;             /* surface speed at that rpm */
    struct tw_relief_figures relief;   /* of a relief's program; else empty */
    struct tw_spring_back spring_back; /* of any other */
    struct tw_holding holding;
    struct tw_wheel_loss loss;    /* nothing of a relief's program */
    struct tw_wear_ledger ledger; /* what the wheel has taken off before each stay at each part */
    double begins_mm3;            /* by its wheel in the programs before, off thick blanks, since it was dressed */
    bool dress_before;            /* with this program it would take more than it may: it is dressed before */
    struct tw_reserve reserve;    /* that it was planned with */
    struct tw_choice choice;
    struct tw_findings said;          /* while it was planned */
    const struct tw_outline *hollows; /* that its face already has; the plan's */
    size_t hollow_count;
    double saves_s
        [TW_LIMIT_COUNT]; /* of all parts, were this limit a tenth looser; 0: it does not bind, or saves nothing */
};

/* The job as the setup's program finds it: its scope, its wheel, what lies below. A shallow copy, which owns nothing. */
struct tw_job tw_setup_job(const struct tw_job *job, const struct tw_setup_plan *setup);

/* Gap under the tang at part x when this setup is clamped, to be packed. */
double tw_setup_packing_mm(const struct tw_job *job, const struct tw_setup_plan *setup, double x_mm);

#define TW_SETUPS_MOST 6

/* The top of a side that an earlier program has left: roughed, where that is a program of its own; finished, where a relief is
 * to be cut into it. */
#define TW_TOP_ROUGHED(side)  ((size_t)(side))
#define TW_TOP_FINISHED(side) (2 + (size_t)(side))
#define TW_TOPS               4

/* What roughing leaves on a face for the finishing layers, in whole infeed steps; 0: there is none. */
double tw_plan_finish_stock_mm(const struct tw_job *job);

struct tw_relief_region;

/* Each setup is a program; in the order in which they are run. */
struct tw_plan {
    struct tw_setup_plan setups[TW_SETUPS_MOST]; /* in one program a side: side A, side B */
    size_t setup_count;
    struct tw_profile *tops; /* TW_TOPS of them, each empty where no program begins with it */
    struct tw_relief_region
        *hollowed;     /* before the faces are tapered; NULL: nothing is, or no wheel's wear asks for it */
    bool relief_first; /* the hollows are cut before the faces are tapered */
    double relief_first_s,
        relief_last_s; /* cycle time of all programs either way, of the other one maybe only about; 0: not tried, not possible, or clearly longer */
    double effort_s;   /* of computing that the search took, counted: about seconds of one core */
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

/* "side-a.nc", "air-side-b-rough.nc", "side-a-finish.nc", "side-b-relief.nc", with the ending that the job's machine wants; `air`: of
 * the program raised. For the caller to free(); NULL when memory runs out. */
char *tw_program_file_name(const struct tw_job *job, enum tw_side side, enum tw_scope scope, bool air);

/* Whether it is such a name, with whatever ending. `length` bytes of `name` count. */
bool tw_is_program_file_name(const char *name, size_t length);

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

/* How much lower a move goes at this part (from 0) than at the first one, for there the wheel has lost more. */
double tw_plan_lower_mm(const struct tw_job *job, const struct tw_setup_plan *setup, const struct tw_move *move,
                        int part);

/* What the wheel has lost when it is last at work on a part: what is followed there, and how far off its face may be. */
struct tw_wheel_loss tw_plan_part_loss(const struct tw_job *job, const struct tw_setup_plan *setup, int part);

/* How far every move of a plan could be raised before the machine's travel ends. */
double tw_plan_room_above_mm(const struct tw_job *job, const struct tw_plan *plan);

/* Seconds of each move (0 for those that enter, which come from elsewhere, and for dwells) into
 * times_s[plan->move_count]. */
enum tw_status tw_setup_times(const struct tw_machine *machine, const struct tw_setup_plan *plan, double *times_s,
                              struct tw_findings *findings);

/* Depth of the deepest layer; 0 without layers. */
double tw_setup_deepest_mm(const struct tw_setup_plan *setup);

/* The lean of a cup's rim (rim.h) on that way of this setup which is the worst for it. */
double tw_plan_lean(const struct tw_job *job, const struct tw_setup_plan *setup);

/* What layer `layer` of setup `index` really takes off where all layers pass, on a machine that gives way (spring.h): as the profiles
 * say, or as far as they allow. Of what stands before it and of its own depth its spring's share. */
double tw_plan_taken_mm(const struct tw_job *job, const struct tw_plan *plan, size_t index, size_t layer, bool softest);

/* ---- what a relief takes out ---- */

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

/* A plan of the same job and order once more, after more has been kept back from some of its programs (job->reserves, whose
 * `plans` counts that): the others stay. Where the reserves are hasty, the others go by what they were chosen by before, if that is
 * still possible. */
enum tw_status tw_plan_again(const struct tw_job *job, struct tw_plan *plan, struct tw_findings *findings);

void tw_plan_free(struct tw_plan *plan);

#endif
