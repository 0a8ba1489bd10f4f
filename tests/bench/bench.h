/* bench.h - the parts of `make bench`, and what they share.
 *
 * Times are processor time of this process, so that what else the machine does counts as little as can be; ratios are
 * between figures taken one right after the other. A part that cannot go on prints why and ends the program. */
#ifndef BENCH_H
#define BENCH_H

#include "tangwright/plan.h"

#include <stddef.h>

/* One job, planned, with the texts of its programs. */
struct sample {
    const char *path;
    char *name;
    struct tw_job job;
    struct tw_job hardest; /* the job for the blank of the band that its plan is made for; borrows from job */
    struct tw_plan plan;
    char *texts[2];
};

/* Reads a job, and has each side ground in one program where the wheel's wear leaves that certain enough: so are the figures of
 * all times alike. */
enum tw_status bench_read_job(const char *path, struct tw_job *job, struct tw_findings *findings);

/* The jobs at these paths; what cannot be planned ends the program. */
struct sample *bench_samples(char **paths, size_t count);
void bench_samples_free(struct sample *samples, size_t count);

/* Front and back of the stock in the setup frame: the taper start and the end of the tang. */
void bench_span(const struct tw_job *job, const struct tw_face *face, double *front_mm, double *back_mm);

/* The program that takes a side's whole stock; NULL where it comes in several. */
const struct tw_setup_plan *bench_whole(const struct sample *sample, enum tw_side side);

double bench_cpu_s(void);
double bench_median(double *values, size_t count);

/* Prints the findings and ends the program unless the status is TW_OK. */
void bench_must(enum tw_status status, const char *what, struct tw_findings *findings);

/* Elements a second of a loop over arrays that stay in the first cache: a = smaller of a and b in float, as the
 * removal lowers one row to another; a = b + s * c in double, the simplest of what a heat kernel does. */
double bench_stream_float_per_s(void);
double bench_stream_double_per_s(void);

/* Runs a program for NumPy or SciPy and returns the number after the word in its output. */
double bench_python(const char *command, const char *word);

void bench_planning(const struct sample *samples, size_t count);
void bench_proof(const struct sample *samples, size_t count);
void bench_removal(void);
void bench_looser(const struct sample *samples, size_t count);
void bench_time(const struct sample *samples, size_t count);
void bench_heat(void);
void bench_hour(const char *path);

#endif
