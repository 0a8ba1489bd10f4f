/* gauge.h - what measured parts say about the next ones.
 *
 * Model   The deviation of a finished thickness from the job's is taken as
 *             offset + taper (x - mean x) / L + crown ((y / half width)^2 - its mean) + the station's own + the part's own
 *             + chance,
 *         with L the taper's length; each term where the readings can tell it. Taper and crown by least squares (GSL,
 *         singular values) within the parts, each reading less its part's mean, so that what differs from part to part
 *         cannot hide in them; offset and stations by least squares over the parts' means, so that five readings of one
 *         part count as one part.
 * Parts   Their means, less the station's own, in the order of grinding: a steady drift and a single jump are each fitted,
 *         and the one that chance would make less often is named, if it hardly would. A jump may lie anywhere, so its
 *         chance counts once for each place (Bonferroni).
 * Doubt   A reading stands off when chance would hardly have one of so many so far off, judged without itself (externally
 *         studentized residual, Bonferroni: S. Weisberg, Applied Linear Regression, section on outliers, from memory).
 *         It is shown, and stays in.
 * Faults  What no grinding makes, such as a misread figure or x taken from the butt, is told apart by medians: gauge/credible.h.
 * Spread  Cp and Cpk of the parts' means with intervals; a chart of single values and moving ranges.
 * Units   mm; probabilities 0..1; "standard" is a standard uncertainty.
 * Memory  tw_gaugings and tw_gauged_run own their arrays; the free functions release them.
 * Errors  TW_BAD_INPUT: what a file says wrongly, and readings that tell nothing; TW_IO, TW_NO_MEMORY. */
#ifndef TANGWRIGHT_GAUGE_H
#define TANGWRIGHT_GAUGE_H

#include "tangwright/job.h"

#include <stdbool.h>
#include <stddef.h>

#define TW_GAUGINGS_MOST       5000
#define TW_GAUGE_PART_BYTES    32
#define TW_GAUGE_STATIONS      9
#define TW_GAUGE_TERMS         (3 + TW_GAUGE_STATIONS)
#define TW_GAUGE_PARTS_LEAST   5   /* for drift, jump, spread and chart */
#define TW_GAUGE_NO_THICKER_MM 0.1 /* grinding makes nothing thicker; two gauges may differ by this: judgement */
/* Of a face: no wear, touching off or tilt is so far off, as for a run (correct.h); judgement. */
#define TW_GAUGE_MOST_MM 0.1
#define TW_GAUGE_CHANCE  0.05 /* what chance would do as often as this is not told */

/* ---- the readings ---- */

struct tw_gauging {
    int line; /* of its file */
    char part[TW_GAUGE_PART_BYTES];
    int station; /* from 1; 0: not told */
    double x_mm, y_mm, thickness_mm;
};

struct tw_gaugings {
    char *path;
    struct tw_gauging *items; /* as they were measured, part after part in the order of grinding */
    size_t count;
    bool has_y, has_station;
};

/* Reads a table with the columns part, x, thickness and, where told, y and station (docs/gauge.md); all faults at once. On
 * failure *out is empty. */
enum tw_status tw_gaugings_read(const char *path, struct tw_gaugings *out, struct tw_findings *findings);
void tw_gaugings_free(struct tw_gaugings *gaugings);

/* ---- statistics ---- */

/* `count` rows of `terms` columns, row by row. */
struct tw_least_squares {
    const double *rows, *values;
    size_t count, terms;
    size_t absorbed; /* degrees of freedom that are gone already, such as means that were taken off */
    /* out: the caller's arrays of `terms`, and of `count` or NULL */
    double *coefficients, *standards, *leverages;
    size_t rank, degrees; /* columns that the rows can tell apart; count - absorbed - rank */
    double standard;      /* of a single value about the fit; 0 without degrees of freedom */
};

/* False where memory runs out. With less rank than terms the coefficients are of the shortest solution. */
bool tw_least_squares_fit(struct tw_least_squares *fit);

struct tw_capability {
    double cp, cp_low, cp_high; /* 95 % by chi-square */
    double cpk, cpk_low,
        cpk_high; /* 95 %, normal approximation of A. F. Bissell, How reliable is your capability index,
                                    * Applied Statistics 39 (1990) 331-340 */
};

/* From mean and standard deviation of `count` values, at least 2; s above 0. */
struct tw_capability tw_capability_of(double mean, double s, size_t count, double low, double high);

/* Single values and moving ranges of two: centre -+ 3 mean range / 1.128. */
struct tw_control_chart {
    double centre, mean_range, low, high;
};
struct tw_control_chart tw_control_chart_of(const double *values, size_t count);

/* ---- the run ---- */

enum tw_gauge_term_kind { TW_TERM_OFFSET, TW_TERM_TAPER, TW_TERM_CROWN, TW_TERM_STATION };

struct tw_gauge_term {
    enum tw_gauge_term_kind kind;
    int station;                  /* of TW_TERM_STATION */
    double value_mm, standard_mm; /* standard: the gauge's own included where it matters, which is the offset */
    double chance;                /* that chance alone makes it so large; 1 where it is not judged */
    bool judged;                  /* readings are left over to tell chance by */
    bool
        significant; /* chance below TW_GAUGE_CHANCE, larger than twice what the readings leave uncertain, and an offset
                       * larger than the gauge's own uncertainty */
};

/* An offset with what the readings leave uncertain of it, as so many degrees of freedom tell. */
struct tw_gauge_term tw_gauge_offset(double value_mm, double own_standard_mm, size_t degrees, double gauge_mm);

enum tw_gauge_course { TW_COURSE_STEADY, TW_COURSE_DRIFTS, TW_COURSE_JUMPS };

struct tw_gauged_part {
    const char *name; /* in the readings */
    int station;
    double mean_mm, station_free_mm; /* deviation; less its station's own */
    size_t readings;
    bool beyond;     /* outside of the chart's limits */
    double level_mm; /* deviation by medians, where the offset holds */
    bool off;        /* by more than the job's thickness_tolerance, and not all parts are */
    bool apart;      /* and so far from the others as well */
};

/* What has to be looked at before another part is ground; by bit. The first six leave no correction to be advised. */
enum tw_gauge_look {
    TW_LOOK_READING = 1 << 0,   /* a reading that its part's others do not bear out */
    TW_LOOK_APART = 1 << 1,     /* a part that the others do not bear out */
    TW_LOOK_TAPER = 1 << 2,     /* more than TW_GAUGE_MOST_MM a face from end to end */
    TW_LOOK_CROWN = 1 << 3,     /* the same from middle to edges */
    TW_LOOK_FAR = 1 << 4,       /* the same of the parts' level */
    TW_LOOK_FROM_BUTT = 1 << 5, /* beside TW_LOOK_TAPER: hardly any taper is left when x is taken from the butt */
    TW_LOOK_OFFSET = 1 << 6,    /* more than the job's thickness_tolerance: the parts' level, */
    TW_LOOK_PART = 1 << 7,      /* a part, */
    TW_LOOK_TOGETHER = 1 << 8   /* a reading, as its fellows are */
};
#define TW_LOOK_AND_CORRECT_NOTHING (TW_LOOK_FROM_BUTT * 2 - 1)

/* Of a reading. */
struct tw_gauge_doubt {
    double expected_mm; /* thickness that its part's other places, and taper and crown of all parts, make it */
    bool off;           /* from that by more than the job's thickness_tolerance */
    bool twice;         /* and the place was read twice alike */
};

struct tw_gauged_run {
    struct tw_gauge_term terms[TW_GAUGE_TERMS];
    size_t term_count;
    double mean_x_mm; /* where offset holds */
    double chance_mm; /* standard deviation of a single reading within its part; 0: not known */
    size_t degrees;   /* of freedom behind it */
    bool *stands_off; /* of each reading */
    double *left_mm;  /* of each reading: what taper, crown and the part's mean leave */
    double *deviation_mm;
    size_t off_count;    /* readings that stand off */
    unsigned look_first; /* tw_gauge_look, by bit; 0: nothing is off by more than the job's thickness_tolerance */
    struct tw_gauge_doubt *doubts;   /* of each reading */
    double load_mm;                  /* the parts' level, by medians */
    double from_butt_mm;             /* taper with x taken from the butt */
    size_t together, together_first; /* readings that are off as their fellows are; the first of them */
    struct tw_gauged_part *parts;
    size_t part_count;
    enum tw_gauge_course course; /* steady where there are too few parts */
    double drift_mm_per_part, jump_mm;
    size_t jump_after; /* parts before the jump */
    double course_chance;
    bool charted; /* enough parts: the next two are set */
    struct tw_control_chart chart;
    double mean_mm, spread_mm; /* of the parts' means */
    bool toleranced;
    size_t beyond_tolerance;         /* readings */
    struct tw_capability capability; /* with a tolerance, and charted; else empty */
};

/* `gauge_mm`: the gauge's standard uncertainty; `tolerance_mm`: allowed deviation to either side, 0: none is told. */
enum tw_status tw_gauge_run(const struct tw_job *job, const struct tw_gaugings *gaugings, double gauge_mm,
                            double tolerance_mm, struct tw_gauged_run *out, struct tw_findings *findings);
/* The run's term of this kind, NULL where the readings do not tell it; and its value, 0 then. Of stations: the first. */
const struct tw_gauge_term *tw_gauge_term_of(const struct tw_gauged_run *run, enum tw_gauge_term_kind kind);
double tw_gauge_term_mm(const struct tw_gauged_run *run, enum tw_gauge_term_kind kind);

void tw_gauged_run_free(struct tw_gauged_run *run);

/* For a person, and as one JSON object, format "tangwright-gauge/1". The texts are the caller's: free(). */
enum tw_status tw_gauge_text(const struct tw_job *job, const struct tw_gaugings *gaugings, double tolerance_mm,
                             const struct tw_gauged_run *run, char **out, struct tw_findings *findings);
/* The same without the advice: figures alone. */
enum tw_status tw_gauge_figures(const struct tw_job *job, const struct tw_gaugings *gaugings, double tolerance_mm,
                                const struct tw_gauged_run *run, char **out, struct tw_findings *findings);
enum tw_status tw_gauge_json(const struct tw_job *job, const struct tw_gaugings *gaugings, double tolerance_mm,
                             const struct tw_gauged_run *run, char **out, struct tw_findings *findings);

#endif
