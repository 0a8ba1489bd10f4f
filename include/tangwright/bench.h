/* bench.h - what a shop's bench tests say: stiffness and wear from passes, holding from a spring scale, the coolant's film from
 * temperatures with and without it, when to dress from the spindle's power, and the conductances of faces and joint from a strip
 * that cools.
 *
 * Fit     weighted least squares by Gauss and Newton with a damped step; uncertainties from the curvature, grown by the root of
 *         chi-square over its degrees of freedom where that is above 1, as in calibrate.h.
 * Models  docs/bench-tests.md.
 * Units   mm, N, W, K; uncertainties are standard ones, "relative" in parts of the value (of its logarithm).
 * Memory  tw_bench owns its readings; tw_bench_free(). Texts are the caller's.
 * Errors  TW_BAD_INPUT with a finding per fault, or where the readings cannot determine what is asked; TW_IO, TW_NO_MEMORY. */
#ifndef TANGWRIGHT_BENCH_H
#define TANGWRIGHT_BENCH_H

#include "tangwright/job.h"

enum tw_bench_test {
    TW_BENCH_PASS,
    TW_BENCH_PULL,
    TW_BENCH_DULL,
    TW_BENCH_FILM,
    TW_BENCH_HANGING, /* a strip cools on a thread */
    TW_BENCH_SEATED,  /* and lying on the fixture */
    TW_BENCH_TESTS
};

#define TW_BENCH_READINGS_MOST 500

/* Net power up by this share asks for a dressing. Judgement; 20 to 50 % usual. */
#define TW_BENCH_DULL_SHARE 0.3

/* A strip that cools is of one temperature through its thickness as long as Biot's number stays below this. Incropera and others,
 * Fundamentals of Heat and Mass Transfer, lumped capacitance, from memory. */
#define TW_BENCH_BIOT_MOST 0.1

/* Half-times below this measure the thermocouple and the watch. Judgement. */
#define TW_BENCH_HALF_TIME_LEAST_S 1.0

struct tw_bench_reading {
    int line;
    enum tw_bench_test test;
    double passes; /* pass: since the reading before; dull: since the wheel was dressed */
    double infeed_mm,
        removed_mm; /* pass: of each pass, as commanded; height lost in all since the first reading's start */
    double width_mm, table_mm_per_s;
    double force_N, length_mm, gap_mm;               /* pull */
    double power_W, idle_W;                          /* dull */
    double depth_mm, wet_degC, dry_degC, start_degC; /* film; start NaN: the coolant's temperature */
    double thickness_mm, time_s, strip_degC;         /* hanging, seated; time: since any moment of this cooling */
    double coolant_degC;                             /* the same; NaN: the job's */
    double uncertainty;                              /* mm, K, or in parts */
};

struct tw_bench_readings {
    char *path;
    struct tw_bench_reading *items;
    size_t count;
};

/* Whether the file's heading names the column `test`, and not the columns of calibrate.h. */
bool tw_bench_is_one(const char *path);

enum tw_status tw_bench_read(const char *path, struct tw_bench_readings *out, struct tw_findings *findings);
void tw_bench_free(struct tw_bench_readings *readings);

/* A value with its standard uncertainty; known: the readings determine it. */
struct tw_bench_value {
    bool known;
    double value, uncertainty;
};

struct tw_bench {
    size_t counts[TW_BENCH_TESTS];
    double scatter[TW_BENCH_TESTS]; /* what uncertainties were grown by; 1: nothing */
    /* pass: of what the wheel is too high, the share that a pass takes; wheel lost per height removed; stiffness with the
     * wheel's force_ratio */
    struct tw_bench_value share, wear, stiffness_N_per_mm;
    /* pull: sideways force per area without a gap, the fixture's pull that it stands for, and g0 */
    struct tw_bench_value sideways_N_per_mm2, pull_N_per_mm2, gap_scale_mm;
    /* dull: net power just dressed, its growth a pass in parts of that, passes until it is up by TW_BENCH_DULL_SHARE */
    struct tw_bench_value fresh_W, growth, dress_passes;
    struct tw_bench_value film_W_per_mm2_K;
    /* hanging: of each face; seated: of the joint, with the former or, where that is not known, the profile's */
    struct tw_bench_value surface_W_per_mm2_K, joint_W_per_mm2_K;
    double half_time_s[TW_BENCH_TESTS]; /* hanging, seated: in which the excess falls to half */
};

enum tw_status tw_bench_fit(const struct tw_job *job, const struct tw_bench_readings *readings, struct tw_bench *out,
                            struct tw_findings *findings);

/* Lines to paste into the profiles, everything else behind #. */
enum tw_status tw_bench_text(const struct tw_job *job, const struct tw_bench_readings *readings,
                             const struct tw_bench *bench, char **out, struct tw_findings *findings);

/* One object, format "tangwright-bench/1". */
enum tw_status tw_bench_json(const struct tw_job *job, const struct tw_bench *bench, char **out,
                             struct tw_findings *findings);

#endif
