/* run.h - many blanks of one job: which are ground together, and what is planned for each load.
 *
 * Request A run file (docs/run-reference.md) names the job, the stations in use, and each blank with its measured ricasso
 *         thickness and, where taken, its survey.
 * Layout  Blanks that cannot come straight, or whose thickness the run does not accept, are set aside with the reason. The
 *         others are laid into as few loads as the stations allow. Blanks of like thickness share a load: of all ways to part
 *         the sorted blanks, the one with the least largest spread of a load (dynamic programming), then the least sum.
 * Loads   Flat blanks of a load are one job with as many parts, planned for the middle of their thicknesses and proved on
 *         each as it was measured, on the thinnest and on the thickest. A survey tells of one blank, so in a load with
 *         surveyed blanks each is planned on its own station; what else stands on the fixture is in its way, as it is. Their
 *         plans are then joined to programs for the whole load, which are proved on all blanks at once, each as it is; where
 *         these do not pass, each blank keeps programs of its own.
 * Memory  Each structure owns what it points to; its free function releases it.
 * Errors  TW_BAD_INPUT: all that is wrong with a run file at once; TW_IO, TW_NO_MEMORY. A blank that is set aside, or a load
 *         that cannot be planned, is no error: it says why. */
#ifndef TANGWRIGHT_RUN_H
#define TANGWRIGHT_RUN_H

#include "tangwright/job.h"
#include "tangwright/proven.h"

#include <stdbool.h>
#include <stddef.h>

#define TW_RUN_BLANKS_MOST   500
#define TW_RUN_STATIONS_MOST 9
#define TW_RUN_NAME_MOST     40 /* bytes; with a blank's number it heads a program, which has room for 80 */
#define TW_RUN_NUMBER_BYTES  20 /* of a blank's number */

/* ---- what is asked for ---- */

enum tw_run_order { TW_RUN_BY_THICKNESS, TW_RUN_AS_LISTED };
enum tw_run_heights { TW_RUN_BY_LOAD, TW_RUN_BY_BLANK };
enum tw_run_tilt { TW_RUN_ONE_STACK, TW_RUN_STACK_BY_LOAD };

struct tw_run_blank {
    char *number;
    double thickness_mm; /* of its ricasso, measured; 0: not told */
    char *survey;        /* file, as seen from here; NULL: none, it counts as flat */
    char *remark;        /* of the maker's; NULL: none */
    const char *file;    /* where it is told of: borrowed from the request */
    int line;
    int ground_in; /* the load that it was ground in, by the run's record; 0: not yet */
};

/* By how much thicker than aimed at finished parts were gauged, in all, and so how much thinner the next are planned. */
struct tw_run_totals {
    double offset_mm;                        /* at the taper start */
    double taper_mm;                         /* more at the butt than there */
    double station_mm[TW_RUN_STATIONS_MOST]; /* more at this station of the fixture, from 0 */
    double roughing_mm; /* more everywhere: what roughing left in the loads before, as correct.h carries it */
};

/* By how much thicker than they should be the roughed parts of one load were gauged, and so how much thinner its programs grind. */
struct tw_run_roughed {
    int load;                                /* its number; 0: none */
    double station_mm[TW_RUN_STATIONS_MOST]; /* of the thickness */
    bool other_wheel; /* the wheel was dressed or changed since: they are to be roughed and gauged again */
    /* That its programs were planned with: it told its own setting, so what finished parts tell since is for loads behind it. */
    struct tw_run_totals kept;
};

/* The wheel as the run's record tells of it: what it did in loads that are ground already. */
struct tw_run_wheel {
    bool used;                            /* false: no load is ground by it yet, and it is dressed before its first */
    double removed_mm3;                   /* steel that it took off in this run */
    double since_mm3;                     /* of it, since it was dressed */
    double lost_mm;                       /* likely loss of its height, by grinding */
    size_t dressings;                     /* all of them */
    bool dressed[TW_RUN_BLANKS_MOST + 1]; /* by a load's number: the shop told that it is dressed before that one */
};

/* A finished part as it was ground and measured. */
struct tw_run_gauged {
    int load;
    bool dressed;  /* the wheel, before that load */
    double off_mm; /* mean of what it was thicker than its load aimed at */
};

struct tw_run_request {
    char *path, *name;
    char *job_path;       /* as seen from here */
    char *table_path;     /* of the table of blanks; NULL: none */
    char *stations;       /* in use, as written: "1, 2, 4"; NULL: the job's parts */
    double accepted_mm;   /* a ricasso may be so much thicker or thinner than the job says; 0: its thickness_band */
    double micrometer_mm; /* to which the ricassos are measured */
    enum tw_run_order order;
    enum tw_run_heights heights;
    enum tw_run_tilt tilt;
    double gauge_mm;  /* standard uncertainty of the gauge that finished parts are measured with */
    double loading_s; /* to take one blank out and lay the next in */
    struct tw_run_blank *blanks;
    size_t blank_count;
    double wheel_left_mm;        /* of its height or radius, that may still be used up as the run begins; 0: not told */
    double wheel_new_mm;         /* of a new wheel; 0: as much as wheel_left_mm */
    double dressing_mm;          /* that a dressing takes off */
    struct tw_run_totals totals; /* nothing, as read: by the run's record */
    struct tw_run_wheel wheel;   /* the same */
    struct tw_run_gauged *gauged; /* the same, in the order of grinding */
    size_t gauged_count;
    struct tw_run_roughed roughed; /* the same */
};

enum tw_status tw_run_read(const char *path, struct tw_run_request *out, struct tw_findings *findings);
/* Whether the file tells of a run, and not of a job: by what stands in it. False where it cannot be read. */
bool tw_run_is_file(const char *path);

void tw_run_request_free(struct tw_run_request *request);

/* The run's job, without any survey. Which programs a side takes is not remarked: loads hold fewer thicknesses than the job's band, and
 * each is read for its own. */
enum tw_status tw_run_read_job(const struct tw_run_request *request, struct tw_job *out, struct tw_findings *findings);

/* ---- which blank goes where ---- */

struct tw_run_place {
    size_t blank;        /* of the request */
    int station;         /* of the job's fixture, from 0 */
    double thickness_mm; /* measured */
    double highest_mm;   /* of its top over the datum pad, as it lies: a bowed one stands higher than its ricasso */
};

/* Blanks that lie on the fixture at one time. */
struct tw_run_load {
    struct tw_run_place places[TW_RUN_STATIONS_MOST]; /* by station */
    size_t count;
    bool apart; /* a program for each blank; else one for all of them */
};

struct tw_run_aside {
    size_t blank;
    char *reason; /* a sentence */
};

struct tw_run_layout {
    struct tw_run_load *loads;
    size_t load_count;
    struct tw_run_aside *aside;
    size_t aside_count;
    size_t before;                      /* loads that are ground already: the first of `loads` has the next number */
    int stations[TW_RUN_STATIONS_MOST]; /* in use, from 0, rising */
    size_t station_count;
    double accepted_mm;
    struct tw_job job; /* as it stands */
};

enum tw_status tw_run_lay_out(const struct tw_run_request *request, struct tw_run_layout *out,
                              struct tw_findings *findings);
void tw_run_layout_free(struct tw_run_layout *layout);

/* A load's number, for people: from 1, those that are ground already counted. */
size_t tw_run_load_number(const struct tw_run_layout *layout, size_t load);

/* A blank's number, for messages and pages. */
const char *tw_run_number(const struct tw_run_request *request, const struct tw_run_place *place);

/* ---- how thick its parts are meant to come out ---- */

/* At part x, of a blank as thick as its load is planned for, `planned_mm`, and with the load's key for the butt, `butt_mm`; allowances
 * included. The key counts both faces: one alone falls half as fast (taper.h). Straight on where nothing is ground any more. */
double tw_run_aim_mm(const struct tw_job *job, double planned_mm, double butt_mm, double x_mm);

/* What a blank with a ricasso of its own comes out thicker than that. */
double tw_run_own_mm(const struct tw_job *job, double ricasso_mm, double planned_mm);

struct tw_run_blank_aim {
    double ricasso_mm, planned_mm, butt_mm; /* as measured; as its load is planned */
};

/* How thick a part comes out whose faces each keep `left_mm` for later, where the wheel stands too high by `too_high_mm` on all faces together; and how
 * much too high it stood, from the thickness. On a rest that rises a face A that lifts the part takes its own excess off side B again, so
 * that the thickness tells half of it. */
double tw_run_left_mm(const struct tw_job *job, const struct tw_run_blank_aim *blank, double x_mm, double left_mm,
                      double too_high_mm);
double tw_run_too_high_mm(const struct tw_job *job, const struct tw_run_blank_aim *blank, double x_mm, double left_mm,
                          double thickness_mm);

/* A gauge's uncertainty, in what tw_run_too_high_mm() makes of it. */
double tw_run_gauge_mm(const struct tw_job *job, double gauge_mm);

/* Whether that load keeps the totals that it was planned with, as one that is roughed does; and those that it is planned with. */
bool tw_run_keeps(const struct tw_run_roughed *roughed, int load);
const struct tw_run_totals *tw_run_totals_for(const struct tw_run_request *request, size_t load_number);

/* How much less the key for the butt has to say so that the butt comes out thinner by the totals' taper. */
double tw_run_butt_lower_mm(const struct tw_job *job, const struct tw_run_totals *totals);

/* ---- one load, planned and proved ---- */

/* Blanks of a load that share their programs: all of them, or one. */
struct tw_load_part {
    size_t first, count; /* places of the load */
    struct tw_job job;
    struct tw_proven proven;
};

/* Blanks with plans of their own in programs for all of them, each proved on every blank as it is. */
struct tw_load_joined {
    struct tw_job job; /* of the load, with heights by blank */
    char *texts[TW_SETUPS_MOST], *air_texts[TW_SETUPS_MOST];
    char *names[TW_SETUPS_MOST], *air_names[TW_SETUPS_MOST];
    struct tw_card cards[TW_SETUPS_MOST], air_cards[TW_SETUPS_MOST];
    double cycle_s[TW_SETUPS_MOST];
    bool dresses[TW_SETUPS_MOST]; /* the wheel has to be dressed before it */
    double reserve_degC;
    size_t count, air_count; /* 0: there are none */
    char *why_not;           /* a sentence; NULL: there are, or the blanks share one plan anyhow */
};

struct tw_load_plan {
    struct tw_load_part parts[TW_RUN_STATIONS_MOST];
    size_t count;
    struct tw_load_joined joined;
};

/* TW_NO_PLAN says in `findings` why the load cannot be ground; *out is then empty. `load` counts from 0. */
enum tw_status tw_load_make(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                            struct tw_load_plan *out, struct tw_findings *findings);
void tw_load_free(struct tw_load_plan *plan);

/* Where load `load` is ground by the same jobs as load `older`, names aside, that one's plan becomes this one's: programs with heads of
 * their own and the same moves, which are proved. Else *alike is false and the plan is as it was. Surveyed blanks are alike to
 * none. */
enum tw_status tw_load_take_over(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t older,
                                 size_t load, struct tw_load_plan *plan, bool *alike, struct tw_findings *findings);

/* ---- what came of it, when the plans are gone ---- */

/* How one blank is ground. Two-member arrays are indexed by enum tw_side. */
struct tw_place_figures {
    double planned_mm, band_mm; /* of ricassos that its programs are for: planned less and plus the band */
    double butt_mm;             /* finished, of a blank as planned */
    double height_mm[2];        /* of the finished face at the taper start, over the program's zero */
    double packing_mm[2];       /* under the butt end */
    double rise_mm[2];          /* tilted mount: of the sine plate over its bar's length; else 0 */
    double deviation_mm;        /* surveyed: largest distance of the finished middle from the centre plane */
    char digest[17];
};

struct tw_load_figures {
    char *refusal;        /* NULL: planned; else why not, and nothing below is set */
    bool roughed_apart;   /* each side has a roughing and a finishing program */
    bool joined;          /* blanks with plans of their own are ground by programs for all of them */
    char *why_not_joined; /* a sentence; NULL: they are, or share one plan anyhow */
    double removed_mm3;   /* steel off all its blanks */
    double wheel_mm;      /* that it likely costs of the wheel's height; 0: not known */
    double wheel_most_mm; /* and at the most */
    double error_um; /* its finished thickness may be off by, each cause at the worse end of its range (assess.h) */
    const char *error_cause; /* the largest of them */
    double cycle_s;          /* of all its programs */
    double handling_s;       /* laying in and turning over, all blanks */
    double peak_degC, reserve_degC;
    size_t hottest_part; /* first place of the part that is hottest with the reserve */
    int pass_count;
    struct tw_place_figures places[TW_RUN_STATIONS_MOST];
};

struct tw_run_outcome {
    const struct tw_run_request *request; /* borrowed, and the next */
    const struct tw_run_layout *layout;
    struct tw_load_figures *loads;            /* as many as the layout has */
    double trial_s[TW_RUN_STATIONS_MOST + 1]; /* cycle time of a load on so many stations; 0: not tried, or no plan */
};

enum tw_status tw_run_outcome_open(const struct tw_run_request *request, const struct tw_run_layout *layout,
                                   struct tw_run_outcome *out, struct tw_findings *findings);
void tw_run_outcome_free(struct tw_run_outcome *outcome);

enum tw_status tw_run_note_plan(struct tw_run_outcome *outcome, size_t load, const struct tw_load_plan *plan,
                                struct tw_findings *findings);

/* Takes down the first fault of `said`. */
enum tw_status tw_run_note_refusal(struct tw_run_outcome *outcome, size_t load, const struct tw_findings *said,
                                   struct tw_findings *findings);

/* All that is planned, in sum. */
struct tw_run_sum {
    size_t blanks; /* that are ground */
    double cycle_s, handling_s;
    double parts_per_hour;     /* 0: nothing is planned */
    double reserve_degC;       /* hottest, with the reserve of energy */
    size_t hottest_load;       /* from 0 */
    const char *hottest_blank; /* its number; NULL: all blanks of that load share a program */
    double removed_mm3, wheel_mm;
    size_t dressings;           /* between loads; the one before the first load counted; 0: not told when one is due */
    size_t wheels, wheels_most; /* that likely, and at the most, are used up or in use at the end; 0: not told */
    double error_um;            /* the largest of the loads */
    const char *error_cause;    /* of it */
    double gauged_um;           /* what a gauged run leaves of it: band and twice the gauge's uncertainty */
};
struct tw_run_sum tw_run_sum_of(const struct tw_run_outcome *outcome);

/* ---- the wheel, from load to load ---- */

/* Whether it wants dressing before this load: by the steel that it took off since it was dressed, in loads that are ground too, and
 * before the first load of all; or the shop said so. */
bool tw_run_dresses_before(const struct tw_run_outcome *outcome, size_t load);

/* Whether what is left of it is likely too little for this load, so that a new one is put on. */
bool tw_run_renews_before(const struct tw_run_outcome *outcome, size_t load);

/* Wheels that the run takes, by the likely loss or the most; 0: it is not told how much is left of the wheel, or not known how fast it
 * wears. */
size_t tw_run_wheels(const struct tw_run_outcome *outcome, bool most);

/* What the same blanks would take with so many of the fixture's stations in use, for which a load was tried. */
struct tw_run_estimate {
    size_t stations, loads;
    double cycle_s, handling_s;
    bool known; /* false: it was not tried, or cannot be planned */
};
struct tw_run_estimate tw_run_estimate_of(const struct tw_run_outcome *outcome, size_t stations);

/* Plans the fullest load with programs in common as it would be on so many of the fixture's first stations. That there is no plan
 * is no error. */
enum tw_status tw_run_try_stations(struct tw_run_outcome *outcome, size_t stations, struct tw_findings *findings);

/* "load-01", below the folder of the run; and "load-01/station-2" for a blank with programs of its own. */
#define TW_LOAD_FOLDER_BYTES 48
void tw_load_folder(const struct tw_run_layout *layout, size_t load, size_t place, char out[TW_LOAD_FOLDER_BYTES]);

/* The folder of a load as a whole. */
void tw_load_own_folder(const struct tw_run_layout *layout, size_t load, char out[TW_LOAD_FOLDER_BYTES]);

/* The job of all blanks of a load whose plans are joined, as such a text. */
enum tw_status tw_load_joined_job_text(const struct tw_run_request *request, const struct tw_run_layout *layout,
                                       size_t load, const char *folder, char **out, struct tw_findings *findings);

/* The job of part `part` as a text that stands in `folder` and reads like any job; the caller's: free(). */
enum tw_status tw_load_job_text(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                                size_t part, const char *folder, char **out, struct tw_findings *findings);

#endif
