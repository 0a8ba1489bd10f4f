/* removal.c - how fast the removal is, beside a plain in-cache loop and the same work done by NumPy.
 *
 * A tang of 110 by 25 mm on cells of 0.1 mm. "an hour" is 3600 s of lanes at 150 mm/s. */
#include "bench.h"

#include "tangwright/removal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_MOTIONS = 20000 };

struct work {
    const char *name;
    int numpy; /* motions for NumPy: it is slow */
    struct tw_wheel_body body;
    double motions[MOST_MOTIONS][6];
    int count;
    double path_mm;
};

static void add(struct work *work, double x, double y, double z)
{
    double *motion = work->motions[work->count];

    if (work->count == 0)
        memcpy(motion, (double[3]){ x, y, z }, 3 * sizeof *motion);
    else
        memcpy(motion, work->motions[work->count - 1] + 3, 3 * sizeof *motion);
    motion[3] = x;
    motion[4] = y;
    motion[5] = z;
    work->path_mm +=
        sqrt(pow(motion[3] - motion[0], 2) + pow(motion[4] - motion[1], 2) + pow(motion[5] - motion[2], 2));
    work->count++;
}

/* Lanes along x to and fro, three beside each other in a layer, every layer a little deeper; `m`: the
 * slope. */
static void lanes(struct work *work, double hour_s, double m, double overtravel, double first_y, double step_y)
{
    double z = 20.0;
    int lane = 0;

    while (work->path_mm < hour_s * 150.0 && work->count < MOST_MOTIONS - 2) {
        double y = first_y + step_y * (lane % 3), from = lane % 2 ? 110 + overtravel : -overtravel;
        double to = 110 - from;

        if (lane % 3 == 0)
            z -= 0.004;
        add(work, from, y, z - m * from);
        add(work, to, y, z - m * to);
        lane++;
    }
}

/* Loops of short chords, as a small cup hollows a relief. */
static void loops(struct work *work, double hour_s)
{
    double z = 20.0;

    for (int loop = 0; work->path_mm < hour_s * 150.0 && work->count < MOST_MOTIONS - 100; loop++) {
        double radius = 1.5 + 1.3 * (loop % 5);

        if (loop % 5 == 0)
            z -= 0.01;
        for (int i = 0; i <= 64; i++)
            add(work, 55 + 5 * radius * cos(i * 0.09817477), 12.5 + radius * sin(i * 0.09817477), z);
    }
}

static void make_field(struct tw_field *field)
{
    struct tw_point corners[4] = { { 0, 0 }, { 110, 0 }, { 110, 25 }, { 0, 25 } };
    struct tw_ring ring = { corners, 4 };

    if (tw_field_new(-5, -5, 0.1, 1200, 350, 0.0, field, NULL) != TW_OK ||
        tw_field_add_stock(field, &ring, 1, (struct tw_height_plane){ 20, 0, 0 }, NULL) != TW_OK)
        exit(1);
}

static double grind(const struct work *work, int count, double *volume)
{
    struct tw_field field;
    struct tw_sweep *sweep;
    double began;

    make_field(&field);
    if (tw_sweep_new(&field, &work->body, 1.0, &sweep, NULL) != TW_OK)
        exit(1);
    *volume = 0.0;
    began = bench_cpu_s();
    for (int i = 0; i < count; i++) {
        struct tw_removal removal;

        if (tw_sweep_line(sweep, work->motions[i], work->motions[i] + 3, &removal, NULL) != TW_OK)
            exit(1);
        *volume += removal.volume_mm3;
    }
    began = bench_cpu_s() - began;
    tw_sweep_free(sweep);
    tw_field_free(&field);
    return began;
}

/* Cells that the swept plan of the motions covers, on the stock: by the bounding box of each. */
static double cells_of(const struct work *work)
{
    double cells = 0.0, r = work->body.shape == TW_BODY_DISC ? 0.0 : work->body.radius_mm;
    double half = work->body.shape == TW_BODY_DISC ? work->body.width_mm / 2 : r;

    for (int i = 0; i < work->count; i++) {
        const double *m = work->motions[i];
        double x = fmin(110, fmax(m[0], m[3]) + r) - fmax(0, fmin(m[0], m[3]) - r);
        double y = fmin(25, fmax(m[1], m[4]) + half) - fmax(0, fmin(m[1], m[4]) - half);

        cells += fmax(0, x) * fmax(0, y) * 100;
    }
    return cells;
}

static double numpy_s(const struct work *work, int count)
{
    FILE *problem = fopen("build/bench-problem", "w");

    if (!problem)
        exit(1);
    fprintf(problem, "-5 -5 0.1 1200 350 0\n%s %.17g %.17g\n0 110 0 25 20\n",
            work->body.shape == TW_BODY_DISC ? "disc" : "cup", work->body.radius_mm,
            work->body.shape == TW_BODY_DISC ? work->body.width_mm : work->body.rim_mm);
    for (int i = 0; i < count; i++)
        fprintf(problem, "%.17g %.17g %.17g %.17g %.17g %.17g\n", work->motions[i][0], work->motions[i][1],
                work->motions[i][2], work->motions[i][3], work->motions[i][4], work->motions[i][5]);
    fclose(problem);
    return bench_python("/usr/bin/python3 tests/reference/removal_numpy.py build/bench-heights < build/bench-problem",
                        "seconds");
}

static void measure(struct work *work, double plain_per_s)
{
    double volume, all_s = grind(work, work->count, &volume), cells = cells_of(work);
    double part_s = grind(work, work->numpy, &volume), slow_s = numpy_s(work, work->numpy);

    printf("%-20s %8d %10.0f %10.0f %10.0f %10.2f %10.0f   %s\n", work->name, work->count,
           work->path_mm / 150.0 / all_s, cells / all_s / 1e6, plain_per_s / 1e6, cells / all_s / plain_per_s,
           slow_s / part_s, slow_s / part_s >= 50.0 ? "met" : "missed");
}

void bench_removal(void)
{
    static struct work works[] = {
        { .name = "disc, level mount",
          .numpy = 100,
          .body = { .shape = TW_BODY_DISC, .radius_mm = 100, .width_mm = 12 } },
        { .name = "disc, tilted mount",
          .numpy = 100,
          .body = { .shape = TW_BODY_DISC, .radius_mm = 100, .width_mm = 12 } },
        { .name = "cup, level mount",
          .numpy = 60,
          .body = { .shape = TW_BODY_CUP, .radius_mm = 50, .rim_mm = 6, .hollow_mm = 30 } },
        { .name = "cup, tilted mount",
          .numpy = 60,
          .body = { .shape = TW_BODY_CUP, .radius_mm = 50, .rim_mm = 6, .hollow_mm = 30 } },
        { .name = "small cup, relief", .numpy = 1500, .body = { .shape = TW_BODY_CUP, .radius_mm = 4, .rim_mm = 4 } },
    };
    double plain_per_s = bench_stream_float_per_s();

    lanes(&works[0], 3600, 0.01, 10, 5.03, 7.5);
    lanes(&works[1], 3600, 0, 10, 5.03, 7.5);
    lanes(&works[2], 3600, 0.01, 55, 5.03, 7.5);
    lanes(&works[3], 3600, 0, 55, 5.03, 7.5);
    loops(&works[4], 600);
    printf("\nRemoval kernel on cells of 0.1 mm: million cells per s, beside a plain in-cache loop (a = smaller of a "
           "and b, float),\n"
           "and how many times as long NumPy takes for the same first motions; aim: at least 50\n\n");
    printf("%-20s %8s %10s %10s %10s %10s %10s   %s\n", "", "motions", "s per s", "cells", "plain", "ratio", "NumPy",
           "aim");
    for (size_t i = 0; i < sizeof works / sizeof works[0]; i++)
        measure(&works[i], plain_per_s);
}
