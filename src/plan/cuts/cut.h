/* cut.h - how deep a pass may be at each table speed under the limits of heat, power, holding and wheel. */
#ifndef TANGWRIGHT_PLAN_CUTS_CUT_H
#define TANGWRIGHT_PLAN_CUTS_CUT_H

#include "heat/factors.h"
#include "plan/scene/scene.h"
#include "tangwright/heat.h"
#include "tangwright/history.h"
#include "tangwright/temper.h"

/* One choice: a depth at a table speed, and what it brings. */
struct tw_cut {
    double depth_mm, table_mm_per_s;
    double later_mm_per_s; /* what the layer's later lanes may run at, which meet less; tw_cut_later() */
    double power_W, force_N;
    double loaded_mm,
        engaged_mm;       /* depth, with what following the wheel's wear may add, and width for which these are */
    double later_force_N; /* of later lanes, at their own speed; 0: as this one or less */
    double reserve_degC;  /* hottest, with the reserve of energy like all temperatures here: what is judged */
    double flash_K;       /* of the half-space, without the factors */
    double edge_factor, plate_factor;
    double dry_degC;         /* the same without the coolant's film in the contact */
    double boiling_room_K;   /* up to film boiling; see tw_hot_spot */
    double film_times;       /* times the wheel's own specific energy at which the film begins to boil */
    double film_least_times; /* the same at the lower end of the film's range */
    double least_degC;       /* hottest with the wheel's own energy where the film is at that end */
    double burn_share;       /* of the specific energy at which steel visibly burns */
    double flash_limit_degC; /* what reserve_degC may come to */
    double equivalent_degC;  /* what it might come to under the equivalent limit */
    bool boiled;             /* the film boils, or lacks its reserve: judged as dry */
    enum tw_binding binding; /* what forbids one infeed step more */
};

/* How wide a pass is engaged: wider with its depth where a ridge stands beside it, never wider than most_mm. */
struct tw_engagement {
    double shallow_mm, per_depth, most_mm;
};

double tw_engaged_mm(const struct tw_engagement *engagement, double depth_mm);

#define TW_CUT_MENU_SIZE 144

/* The deepest cut at each of many table speeds, slowest first. */
struct tw_cut_menu {
    struct tw_cut cuts[TW_CUT_MENU_SIZE];
    size_t count;
};

/* What all cuts of a plan have in common. */
struct tw_cut_limits {
    enum tw_side side;
    double wheel_mm_per_s;
    double energy; /* times the wheel's own, with which temperatures are judged; tw_energy_reserve() */
    double limit_degC, ambient_degC; /* limit: of the bulk, and of the flash where the job's limit is strict */
    struct tw_temper_limit temper;
    bool equivalent;     /* flashes may add up to temper.allowed instead */
    double stock_mm;     /* deepest on a face: with the depth it tells how many passes a spot sees */
    int more_passes;     /* finishing and spark-out */
    double reserve;      /* so many times as many passes are counted */
    double film_reserve; /* a film is counted on that lasts with so many times the wheel's own energy */
    double film_stated;  /* the same as the job says it, with nothing kept back on top */
    double dry_K;        /* kept back from the limit of a face without its film */
    double film_K;       /* rise above ambient at which the film boils */
    double power_W, force_N;
    double infeed_mm;          /* largest that the wheel takes, less what following its wear may add */
    struct tw_wheel_loss loss; /* of the wheel: where the program follows it, cuts are judged by what may come on top */
    double finish_infeed_mm;   /* the same of what the job lets a finishing layer take */
    double lean;               /* of a cup's rim, on the way that is the worst for it; rim.h */
    double bulk_K;             /* what earlier passes are expected to leave in the tang, above ambient */
    double thinnest_mm;        /* thickness at the end of the tang when the cut is done: there the plate is hottest */
    double back_W_per_mm2_K;   /* out of the plate's other face */
    struct tw_factors *factors; /* of the thin plate; borrowed */
};

/* `holding_N`: what the fixture is trusted with, tw_holding_N(). */
struct tw_cut_limits tw_cut_limits_of(const struct tw_job *job, enum tw_side side, double wheel_mm_per_s,
                                      double holding_N, struct tw_factors *factors);

/* The lean that lanes of this style meet at worst; `lean` towards the butt. */
double tw_cut_lean(enum tw_travel_style style, double lean);

/* Estimates one cut over `engaged_mm` of width; binding is left at TW_BINDS_STOCK. Its temperature is ambient, the bulk
 * that is allowed for and the flash with its factors for the exit edge and the thin plate, with the reserve of energy;
 * power and force are those of the wheel's own. */
enum tw_status tw_cut_estimate(const struct tw_job *job, const struct tw_cut_limits *limits, double depth_mm,
                               double table_mm_per_s, double engaged_mm, struct tw_cut *out,
                               struct tw_findings *findings);

/* What the planner lets a face come to under this limit: a little less, for the dry-run finds it a little otherwise. */
double tw_cut_highest_degC(double flash_limit_degC);

/* How far a pass stays below its limits, in K; negative: too hot. Either the film of coolant lasts, with its reserve, and
 * the face stays below flash_limit_degC; or it does so even without the film. Either way it does so with the wheel's own energy where
 * the film is at the lower end of its range. */
double tw_cut_wet_room_K(const struct tw_cut_limits *limits, double peak_degC, double film_times,
                         double film_least_times, double flash_limit_degC);
double tw_cut_room_K(const struct tw_cut_limits *limits, const struct tw_history_peak *peak, double flash_limit_degC);

/* The same of a cut by itself, and whether it keeps them. */
double tw_cut_own_room_K(const struct tw_cut *cut, const struct tw_cut_limits *limits);
bool tw_cut_is_cool(const struct tw_cut *cut, const struct tw_cut_limits *limits);

/* Sets later_mm_per_s: the fastest speed, not slower than the cut's own, at which `engaged_mm` of width keeps all limits
 * at the cut's depth and gets no hotter than the temperature limit allows. */
enum tw_status tw_cut_later(const struct tw_job *job, const struct tw_cut_limits *limits, double engaged_mm,
                            struct tw_cut *cut, struct tw_findings *findings);

/* The same for each cut of a menu. */
enum tw_status tw_cut_menu_later(const struct tw_job *job, const struct tw_cut_limits *limits, double engaged_mm,
                                 struct tw_cut_menu *menu, struct tw_findings *findings);

/* Depths are whole infeed steps, at most `largest_mm` (`largest_binds` says why no more). When no speed allows
 * the wheel's and the machine's smallest infeed: TW_NO_PLAN with the limit that binds and what would help. */
enum tw_status tw_cut_menu_fill(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                                const struct tw_engagement *engagement, double largest_mm,
                                enum tw_binding largest_binds, struct tw_cut_menu *out);

#endif
