/* partition.h - the share of the heat that enters the steel, from temperature marks. */
#ifndef TANGWRIGHT_CALIBRATE_PARTITION_H
#define TANGWRIGHT_CALIBRATE_PARTITION_H

#include "tangwright/calibrate.h"

/* The allowed range of wheel.work_partition, as src/input/schema.c has it. */
#define PARTITION_LEAST 0.05
#define PARTITION_MOST  1.0

/* The wheel that readings were taken with, and its speed at the planner's rpm. */
struct partition_setup {
    const struct tw_job *job;
    struct tw_wheel wheel;              /* with the specific energy to be assumed */
    const struct tw_energy_fit *energy; /* how sure that is; NULL: not known */
    double wheel_mm_per_s;
};

/* TW_BAD_INPUT when the marks do not determine the share. checks[] has one place per mark. */
enum tw_status partition_fit(const struct partition_setup *setup, const struct tw_readings *readings,
                             struct tw_partition_fit *out, struct tw_mark_check *checks, struct tw_findings *findings);

/* Surface speed of the wheel at a reading. */
double partition_wheel_mm_per_s(const struct tw_job *job, const struct tw_reading *reading, double usual_mm_per_s);

#endif
